//! Bodies broken in ways that scans are: held by rods, hollow, folded, cracked, far from sound.

#![allow(clippy::unwrap_used, reason = "a test may fail so")]

mod shapes;

use geometry::mesh::TriMesh;
use geometry::mesh::adjacency::Adjacency;
use geometry::mesh::base::cut_base;
use geometry::mesh::crossed::crossed;
use geometry::mesh::refine::refine;
use geometry::mesh::repair::{Repair, RepairKind};
use geometry::mesh::tidy::{Tidied, TidyError, tidy};
use geometry::mesh::weld::weld;
use glam::DVec3;
use shapes::{as_set, ball, cuboid, mesh, rim_edges, sheet, together};

/// The mesh by turning a line (radius and height from point to point) about z in `n` steps.
fn turned(line: &[[f64; 2]], n: u32) -> TriMesh {
    let mut positions = Vec::new();
    let mut triangles = Vec::new();
    for k in 0..n {
        let angle = f64::from(k) / f64::from(n) * std::f64::consts::TAU;
        positions.extend(line.iter().map(|[r, z]| [r * angle.cos(), r * angle.sin(), *z]));
        let (own, next) = (k * line.len() as u32, (k + 1) % n * line.len() as u32);
        for i in 0..line.len() as u32 - 1 {
            triangles.push([own + i, next + i, next + i + 1]);
            triangles.push([own + i, next + i + 1, own + i + 1]);
        }
    }
    let loose = mesh(&positions, &triangles);
    weld(&loose, 1e-9)
}

/// Turned and moved: no axis of it lies along one of the frame.
fn posed(mesh: &TriMesh) -> TriMesh {
    let turn = glam::DQuat::from_euler(glam::EulerRot::XYZ, 0.6, -1.1, 2.3);
    let positions = mesh.positions.iter().map(|p| turn * *p + DVec3::new(70.0, -900.0, 33.0));
    TriMesh { positions: positions.collect(), triangles: mesh.triangles.clone() }
}

fn only_repair(repairs: &[Repair]) -> &Repair {
    let [repair] = repairs else { panic!("{repairs:?}") };
    repair
}

// ---- rods and plates ----

/// A cone with a flat top of radius 20 at height 60, and a rod of this radius and length on it.
fn on_a_rod(radius: f64, long: f64) -> TriMesh {
    let line = [[0.0, 0.0], [60.0, 0.0], [20.0, 60.0], [radius, 60.0], [radius, 60.0 + long]];
    turned(&[&line[..], &[[0.0, 60.0 + long]]].concat(), 32)
}

#[test]
fn a_rod_on_a_flat_face_is_cut_off_with_the_face() {
    for (radius, long) in [(4.0, 100.0), (8.0, 60.0), (6.0, 150.0)] {
        for scale in [1e-3, 1.0] {
            let mut form = posed(&on_a_rod(radius, long));
            form.positions.iter_mut().for_each(|p| *p *= scale);
            let cut = cut_base(&form);
            let repair = only_repair(&cut.repairs);
            assert_eq!(repair.kind, RepairKind::BaseCut);
            assert!(repair.message.contains("a rod"), "{}", repair.message);
            Adjacency::new(&cut.mesh).unwrap();
            // Bottom and side of the cone, whose slant is 72.1 long, less a slice below its face.
            let whole = std::f64::consts::PI * (3600.0 + 80.0 * 5200.0_f64.sqrt());
            let left = shapes::area(&cut.mesh) / (scale * scale);
            assert!(left < whole && left > 0.94 * whole, "{left} of {whole}");
        }
    }
}

#[test]
fn a_knob_a_tip_and_a_cone_are_no_rods() {
    // Too short, too thick, widening, and with no face to stand on.
    let widening = turned(
        &[[0.0, 0.0], [60.0, 0.0], [20.0, 60.0], [4.0, 60.0], [12.0, 140.0], [0.0, 140.0]],
        32,
    );
    let tip = turned(&[[0.0, 0.0], [60.0, 0.0], [5.0, 60.0], [5.0, 140.0], [0.0, 140.0]], 32);
    let cone = turned(&[[0.0, 0.0], [60.0, 0.0], [0.0, 200.0]], 32);
    for form in [on_a_rod(4.0, 8.0), on_a_rod(16.0, 100.0), widening, tip, cone] {
        assert_eq!(cut_base(&posed(&form)).repairs, []);
    }
}

#[test]
fn a_slab_of_few_triangles_is_found_whatever_its_thickness() {
    // A fine cone that stands on the middle of a square slab, one surface with it.
    for thick in [2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 12.0, 20.0] {
        for half in [75.0, 100.0, 150.0, 200.0] {
            let wide = half * 2.0_f64.sqrt();
            let line = [
                [0.0, -thick],
                [wide, -thick],
                [wide, 0.0],
                [45.0, 0.0],
                [30.0, 60.0],
                [0.0, 90.0],
            ];
            let slab = turned(&line[..4], 4);
            let cone = refine(&turned(&line[3..], 64), 4.0);
            let mut form = TriMesh::default();
            for part in [&slab, &cone] {
                form = together(&form, part, DVec3::ZERO);
            }
            // The slab's face ends in a square, the cone in a circle: both have the slab's face.
            let cut = cut_base(&tidy(&posed(&joined_foot(&form, 45.0)), 1e-6).unwrap().mesh);
            assert_eq!(only_repair(&cut.repairs).kind, RepairKind::BaseCut, "{thick} {half}");
        }
    }
}

/// The foot of a cone of this radius drawn in to the square hole that a slab of four sides has.
fn joined_foot(form: &TriMesh, radius: f64) -> TriMesh {
    let mut form = form.clone();
    for p in &mut form.positions {
        if p.z.abs() < 1e-9 && (p.truncate().length() - radius).abs() < 0.5 {
            let reach = p.x.abs() + p.y.abs();
            *p *= radius / reach;
        }
    }
    form
}

// ---- hollow ----

#[test]
fn the_inner_wall_of_an_open_hollow_body_is_removed() {
    // A bowl with a wall of 3, closed round its rim.
    let at = |r: f64, k: u32| {
        let angle = f64::from(k) * 0.1;
        [r * angle.sin(), -r * angle.cos()]
    };
    let mut line: Vec<[f64; 2]> = (0..=22).map(|k| at(50.0, k)).collect();
    line.extend((0..=22).rev().map(|k| at(47.0, k)));
    let bowl = turned(&line, 48);
    assert!(bowl.signed_volume() > 0.0 && rim_edges(&bowl) == 0);
    let Tidied { mesh, repairs } = tidy(&posed(&bowl), 1e-6).unwrap();
    assert_eq!(only_repair(&repairs).kind, RepairKind::InnerShellRemoved);
    let lip = 2.0 * std::f64::consts::PI * 48.5 * 2.2_f64.sin() * 3.0;
    let outer = shapes::area(&turned(&line[..23], 48));
    assert!((shapes::area(&mesh) - outer - lip).abs() < 0.01 * outer);
    assert_eq!(rim_edges(&mesh), 48);
}

#[test]
fn thin_bodies_and_plates_under_bodies_are_not_hollow() {
    let plate = cuboid(DVec3::new(260.0, 90.0, 3.0));
    let on_a_plate = on_a_rod(19.0, 3.0);
    for form in [plate, on_a_plate, sheet(20, 20)] {
        let tidied = tidy(&posed(&form), 1e-6).unwrap();
        assert!(tidied.repairs.iter().all(|r| r.kind != RepairKind::InnerShellRemoved));
    }
}

// ---- folds ----

#[test]
fn a_surface_that_passes_through_itself_is_told_with_the_place() {
    let mut dented = ball(50.0, 4);
    let tip = DVec3::new(0.0, 0.0, 50.0);
    for p in &mut dented.positions {
        let weight = (-(p.distance(tip) / 8.0).powi(2)).exp();
        *p += DVec3::new(5.0, 3.0, -120.0) * weight;
    }
    let told = crossed(&posed(&dented)).unwrap();
    assert_eq!((told.kind, told.count, told.places.len()), (RepairKind::CrossingLeft, 1, 1));
    let at = posed(&mesh(&[[0.0, 0.0, -50.0]], &[])).positions[0];
    assert!(told.places[0].distance(at) < 15.0, "{}", told.places[0].distance(at));
}

#[test]
fn a_fold_that_only_lies_over_is_told_too() {
    let mut folded = sheet(60, 60);
    for p in &mut folded.positions {
        let weight = (1.0 - p.distance(DVec3::new(30.0, 30.0, 0.0)) / 12.0).max(0.0).sqrt();
        *p += DVec3::new(10.0, 0.0, -1.0) * weight;
    }
    assert_eq!(crossed(&folded).unwrap().kind, RepairKind::CrossingLeft);
}

#[test]
fn sound_bodies_and_noise_do_not_cross() {
    let mut noisy = ball(50.0, 5);
    let mut state = 7_u64;
    for p in &mut noisy.positions {
        for k in 0..3 {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            p[k] += ((state >> 40) as f64 / (1 << 24) as f64 - 0.5) * 0.3;
        }
    }
    for form in
        [ball(50.0, 5), noisy, cuboid(DVec3::splat(9.0)), sheet(30, 30), on_a_rod(4.0, 90.0)]
    {
        assert_eq!(crossed(&posed(&form)), None);
    }
    assert_eq!(crossed(&TriMesh::default()), None);
}

// ---- two of one ----

#[test]
fn a_second_scan_a_tenth_beside_the_first_is_removed_and_the_distance_told() {
    let one = ball(130.0, 4);
    let both = together(&one, &one, DVec3::new(0.06, -0.08, 0.0));
    let Tidied { mesh, repairs } = tidy(&both, 1e-4).unwrap();
    let repair = only_repair(&repairs);
    assert_eq!(repair.kind, RepairKind::DoubledShellRemoved);
    assert!(repair.message.contains("up to 0.10"), "{}", repair.message);
    assert_eq!(as_set(&mesh), as_set(&one));
    // Three times as far off as two scans of one thing are, it is another body.
    let two = together(&one, &one, DVec3::X * 1.5);
    assert!(matches!(tidy(&two, 1e-4), Err(TidyError::SeveralBodies { count: 2, .. })));
}

// ---- seams of small triangles ----

#[test]
fn t_junctions_closer_together_than_a_seam_is_wide_are_closed() {
    // A ball of 260 across: a seam may be 0.26 wide, the points on it stand 0.05 apart.
    let mut form = ball(130.0, 3);
    let t = form.triangles[0];
    let [a, b, c] = t;
    let (pa, pb) = (form.positions[a as usize], form.positions[b as usize]);
    let first = form.positions.len() as u32;
    form.positions
        .extend((1..5).map(|k| pa.lerp(pb, 0.5) + (pb - pa).normalize() * 0.05 * f64::from(k)));
    let line = [a, first, first + 1, first + 2, first + 3, b];
    form.triangles[0] = [c, line[0], line[1]];
    form.triangles.extend(line.windows(2).skip(1).map(|w| [c, w[0], w[1]]));
    let before = form.triangles.len();
    let Tidied { mesh, repairs } = tidy(&form, 1e-4).unwrap();
    assert_eq!(only_repair(&repairs).kind, RepairKind::SeamsClosed);
    assert_eq!((mesh.triangles.len(), rim_edges(&mesh)), (before + 4, 0));
}
