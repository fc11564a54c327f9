//! A reduced mesh stays near its original, sound, and as it faced.

#![allow(clippy::unwrap_used, reason = "a test may fail so")]

mod shapes;

use geometry::mesh::TriMesh;
use geometry::mesh::adjacency::Adjacency;
use geometry::mesh::decimate::{Decimated, decimate, decimate_to};
use geometry::mesh::refine::refine;
use geometry::mesh::tidy::tidy;
use geometry::surface::{Closest, Surface};
use glam::DVec3;
use proptest::prelude::*;
use shapes::{ball, cuboid};

/// Reduces, and checks everything that must always hold.
fn reduced(mesh: &TriMesh, tolerance: f64) -> Decimated {
    let fewer = decimate(mesh, tolerance);
    assert!(fewer.error <= tolerance);
    assert_eq!(decimate(mesh, tolerance), fewer);
    assert_sound(mesh, &fewer.mesh);
    // Measured here once more, and more simply: the vertices either way.
    for (from, to) in [(mesh, &fewer.mesh), (&fewer.mesh, mesh)] {
        let closest = Closest::new(to);
        let off = |p: &DVec3| closest.to(*p, 0.0).unwrap().position(to).distance(*p);
        let largest = from.positions.iter().map(off).fold(0.0, f64::max);
        assert!(largest <= fewer.error + 1e-9, "{largest} against {}", fewer.error);
    }
    fewer
}

fn assert_sound(before: &TriMesh, after: &TriMesh) {
    let loops = |mesh: &TriMesh| Adjacency::new(mesh).unwrap().boundary_loops(mesh).len();
    let euler = |mesh: &TriMesh| {
        // Each edge has two sides, but for those on the boundary.
        let boundary: usize =
            Adjacency::new(mesh).unwrap().boundary_loops(mesh).iter().map(Vec::len).sum();
        let edges = (3 * mesh.triangles.len() + boundary) / 2;
        mesh.positions.len() as i64 - edges as i64 + mesh.triangles.len() as i64
    };
    assert_eq!((loops(before), euler(before)), (loops(after), euler(after)));
    // Every vertex is used and has one fan: tidying finds nothing to do.
    let tidied = tidy(after, 0.0).unwrap();
    assert_eq!(tidied.repairs, []);
    assert_eq!(tidied.mesh.triangles.len(), after.triangles.len());
    // Every triangle faces as the original does below it.
    let surface = Surface::new(before).unwrap();
    let closest = Closest::new(before);
    for face in 0..after.triangles.len() as u32 {
        let middle = after.corners(face).iter().sum::<DVec3>() / 3.0;
        let below = surface.normal(&closest.to(middle, 0.0).unwrap());
        assert!(after.area_vector(face).normalize().dot(below) > 0.0, "triangle {face}");
    }
}

#[test]
fn a_ball_loses_most_triangles_and_keeps_its_volume() {
    let fine = ball(50.0, 6);
    let fewer = reduced(&fine, 0.05);
    assert!(fewer.error > 0.02, "{}", fewer.error);
    let n = fewer.mesh.triangles.len();
    assert!(n < fine.triangles.len() / 4, "{n} of {}", fine.triangles.len());
    let (before, after) = (fine.signed_volume(), fewer.mesh.signed_volume());
    // No point moves by more than the tolerance: the volume by no more than a shell so thick.
    assert!((before - after).abs() < 0.05 * 31_416.0, "{before} {after}");
}

#[test]
fn the_edges_of_a_box_stay_exact() {
    let coarse = cuboid(DVec3::new(100.0, 60.0, 40.0));
    let fewer = reduced(&refine(&coarse, 3.0), 0.05);
    assert_eq!((fewer.mesh.positions.len(), fewer.mesh.triangles.len()), (8, 12));
    for p in &fewer.mesh.positions {
        let corner = coarse.positions.iter().map(|q| q.distance(*p)).fold(f64::INFINITY, f64::min);
        assert!(corner < 1e-9, "{p}");
    }
    assert!(fewer.error < 1e-9);
}

/// A square sheet 60 mm wide with a hole, bent to a cylinder of radius 40 mm about x.
fn bent_sheet() -> TriMesh {
    let n = 60_u32;
    let mut mesh = TriMesh::default();
    for j in 0..=n {
        for i in 0..=n {
            let angle = f64::from(j) / 40.0;
            let round = DVec3::new(f64::from(i), 40.0 * angle.sin(), 40.0 * angle.cos());
            mesh.positions.push(round);
        }
    }
    let at = |i: u32, j: u32| j * (n + 1) + i;
    for j in 0..n {
        for i in 0..n {
            if !(20..30).contains(&i) || !(25..45).contains(&j) {
                mesh.triangles.push([at(i, j), at(i, j + 1), at(i + 1, j)]);
                mesh.triangles.push([at(i + 1, j), at(i, j + 1), at(i + 1, j + 1)]);
            }
        }
    }
    tidy(&mesh, 0.0).unwrap().mesh
}

#[test]
fn boundaries_stay_within_the_tolerance() {
    let mesh = bent_sheet();
    let fewer = reduced(&mesh, 0.05).mesh;
    assert!(fewer.triangles.len() < mesh.triangles.len() / 10, "{}", fewer.triangles.len());
    let rims = |mesh: &TriMesh| -> Vec<[DVec3; 2]> {
        let loops = Adjacency::new(mesh).unwrap().boundary_loops(mesh);
        let sides = loops.iter().flat_map(|l| {
            (0..l.len()).map(|i| [l[i], l[(i + 1) % l.len()]].map(|v| mesh.positions[v as usize]))
        });
        sides.collect()
    };
    let (before, after) = (rims(&mesh), rims(&fewer));
    for (from, to) in [(&before, &after), (&after, &before)] {
        for [p, _] in from {
            let off = to.iter().map(|side| to_segment(*p, *side)).fold(f64::INFINITY, f64::min);
            assert!(off <= 0.05, "{p}: {off}");
        }
    }
}

fn to_segment(p: DVec3, [a, b]: [DVec3; 2]) -> f64 {
    let along = b - a;
    let t = ((p - a).dot(along) / along.length_squared()).clamp(0.0, 1.0);
    p.distance(a + along * t)
}

/// A ball of radius 50 mm whose points are moved along it by up to `noise` mm either way.
fn rough_ball(noise: f64) -> TriMesh {
    let mut mesh = ball(50.0, 5);
    let mut state = 1_u64;
    for p in &mut mesh.positions {
        // Knuth's MMIX generator.
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let share = (state >> 11) as f64 / (1_u64 << 53) as f64;
        *p *= 1.0 + noise * (2.0 * share - 1.0) / 50.0;
    }
    mesh
}

#[test]
fn noise_above_the_tolerance_keeps_nearly_all_triangles() {
    let rough = rough_ball(0.1);
    let kept = reduced(&rough, 0.02).mesh.triangles.len();
    assert!(kept > rough.triangles.len() * 9 / 10, "{kept} of {}", rough.triangles.len());
    // With room for the noise, most can go.
    let kept = reduced(&rough, 0.5).mesh.triangles.len();
    assert!(kept < rough.triangles.len() / 4, "{kept}");
}

#[test]
fn a_surface_rough_beyond_the_tolerance_is_left_where_less_than_half_would_go() {
    let rough = rough_ball(0.1);
    let kept = decimate(&rough, 0.02).mesh.triangles.len();
    assert!(2 * kept > rough.triangles.len(), "{kept} of {}", rough.triangles.len());
    let left = decimate_to(&rough, 0.02, 100);
    assert_eq!(left, Decimated { mesh: rough, error: 0.0 });
}

#[test]
fn a_surface_rough_below_the_tolerance_is_reduced_to_what_is_enough() {
    let rough = rough_ball(0.005);
    let count = rough.triangles.len();
    // More than half may stay where no fewer are asked for.
    for enough in [count / 4, count / 4 * 3] {
        let fewer = decimate_to(&rough, 0.2, enough);
        let left = fewer.mesh.triangles.len();
        assert!((enough - 2..=enough).contains(&left), "{left} against {enough}");
        assert!(fewer.error <= 0.2, "{}", fewer.error);
    }
}

#[test]
fn what_cannot_be_reduced_comes_back_as_it_is() {
    let tetrahedron = TriMesh {
        positions: vec![DVec3::ZERO, DVec3::X, DVec3::Y, DVec3::Z],
        triangles: vec![[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]],
    };
    let mut doubled = ball(10.0, 2);
    doubled.triangles.push(doubled.triangles[0]);
    let mut lost = ball(10.0, 2);
    lost.positions[3].x = f64::NAN;
    let mut beyond = ball(10.0, 2);
    beyond.triangles[5][1] = 10_000;
    for mesh in [tetrahedron, doubled, beyond, TriMesh::default()] {
        let same = Decimated { mesh: mesh.clone(), error: 0.0 };
        assert_eq!(decimate(&mesh, 50.0), same);
    }
    assert_eq!(decimate(&lost, 1.0).mesh.triangles, lost.triangles);
    for tolerance in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(decimate(&ball(10.0, 2), tolerance).mesh, ball(10.0, 2));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    #[test]
    fn any_bumpy_ball_stays_sound(
        bumps in proptest::collection::vec(-1.0..1.0_f64, 6),
        holes in proptest::collection::vec(0..1280_usize, 0..5),
        tolerance in 0.001..8.0_f64,
    ) {
        let mut mesh = ball(20.0, 3);
        for p in &mut mesh.positions {
            let q = *p / 20.0;
            let wave = bumps[0] * (3.0 * q.x).sin() + bumps[1] * (5.0 * q.y + bumps[2]).sin()
                + bumps[3] * (7.0 * q.z).cos() * q.x + bumps[4] * q.y;
            *p *= (1.0 + 0.2 * wave).max(0.2);
            p.z *= 0.3 + bumps[5].abs();
        }
        for hole in holes {
            mesh.triangles.swap_remove(hole % mesh.triangles.len());
        }
        if let Ok(whole) = tidy(&mesh, 0.0) {
            let fewer = decimate(&whole.mesh, tolerance);
            prop_assert!(fewer.error <= tolerance);
            let loops = |mesh: &TriMesh| Adjacency::new(mesh).unwrap().boundary_loops(mesh).len();
            prop_assert_eq!(loops(&whole.mesh), loops(&fewer.mesh));
            let tidied = tidy(&fewer.mesh, 0.0).unwrap();
            prop_assert_eq!(tidied.mesh.triangles.len(), fewer.mesh.triangles.len());
        }
    }
}
