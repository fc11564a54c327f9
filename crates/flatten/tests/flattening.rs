//! Every surface of the suite laid flat; what is no disk refused; small disks at random.

mod surfaces;

use flatten::{DiskError, FlattenError, Flattener, Options, flatten};
use geometry::mesh::TriMesh;
use glam::{DVec2, DVec3};
use proptest::prelude::*;
use surfaces::{cap, cone, cylinder, grid, heel_band, ramp, saddle};

fn plain(mesh: &TriMesh) -> flatten::Flattening {
    let flat = flatten(mesh, &Options::default()).expect("the surface is a disk");
    assert!(flat.converged);
    assert_eq!(flat.flipped, 0);
    assert!(flat.iterations < 30, "{} iterations", flat.iterations);
    flat
}

#[test]
fn cylinder_and_cone_unroll() {
    for mesh in [cylinder(30, 20), cone(30, 20)] {
        let flat = plain(&mesh);
        // The grid follows the rulings, so the mesh itself unrolls exactly.
        assert!(flat.energy < 1e-20, "{}", flat.energy);
        assert!(flat.strain.p99 < 1e-8);
        assert_eq!(flat.overlaps, 0);
    }
}

#[test]
fn doubly_curved_surfaces_reach_a_minimum() {
    for mesh in [cap(24, 24, 1.0), saddle(24, 24), heel_band(120, 20)] {
        let flat = plain(&mesh);
        assert_eq!(flat.overlaps, 0);
        assert!(flat.strain.mean > 0.1 && flat.strain.mean < flat.strain.p95);
        assert!(flat.strain.p95 < flat.strain.p99);
        assert_least_energy(&mesh, &flat.points, flat.energy);
    }
}

/// Moves single vertices a little every way: nothing may cost less.
fn assert_least_energy(mesh: &TriMesh, points: &[DVec2], energy: f64) {
    assert!((energy_by_definition(mesh, points) - energy).abs() < 1e-9 * energy);
    for v in (0..points.len()).step_by(7) {
        for way in [DVec2::X, DVec2::Y, DVec2::NEG_X, DVec2::NEG_Y] {
            let mut moved = points.to_vec();
            moved[v] += way * 1e-3;
            assert!(energy_by_definition(mesh, &moved) > energy);
        }
    }
}

/// s1² + s2² + 1/s1² + 1/s2² - 4 from the lengths of the sides alone: with E, F, G and e, f, g
/// the products of two sides before and after, the sum of the squares is
/// (eG - 2fF + gE) / (EG - F²), and the product of the values is the ratio of the areas.
fn energy_by_definition(mesh: &TriMesh, points: &[DVec2]) -> f64 {
    let (mut sum, mut whole) = (0.0, 0.0);
    for t in &mesh.triangles {
        let [a, b, c] = t.map(|v| mesh.positions[v as usize]);
        let [p, q, r] = t.map(|v| points[v as usize]);
        let (e0, f0, g0) = ((b - a).dot(b - a), (b - a).dot(c - a), (c - a).dot(c - a));
        let (e, f, g) = ((q - p).dot(q - p), (q - p).dot(r - p), (r - p).dot(r - p));
        let squared_area = e0 * g0 - f0 * f0;
        let squares = (e * g0 - 2.0 * f * f0 + g * e0) / squared_area;
        let squared_product = (e * g - f * f) / squared_area;
        let area = squared_area.sqrt() / 2.0;
        sum += area * (squares + squares / squared_product - 4.0);
        whole += area;
    }
    sum / whole
}

#[test]
fn a_single_triangle_lies_as_it_is() {
    let mesh = TriMesh {
        positions: vec![
            DVec3::new(1.0, 2.0, 3.0),
            DVec3::new(8.0, 2.0, -3.0),
            DVec3::new(4.0, 9.0, 5.0),
        ],
        triangles: vec![[0, 1, 2]],
    };
    let flat = plain(&mesh);
    for (i, j) in [(0, 1), (1, 2), (2, 0)] {
        let on = mesh.positions[i].distance(mesh.positions[j]);
        assert!((flat.points[i].distance(flat.points[j]) - on).abs() < 1e-12);
    }
}

#[test]
fn a_deep_cup_starts_from_the_disc_or_the_conformal_map_and_flips_nothing() {
    for opening in [2.0, 2.6, 3.0] {
        let mesh = cap(40, 40, opening);
        let flat = flatten(&mesh, &Options::default()).unwrap();
        assert!(flat.converged && flat.flipped == 0);
    }
}

#[test]
fn a_ramp_past_a_full_turn_overlaps_and_a_shorter_one_does_not() {
    assert_eq!(plain(&ramp(60, 6, 5.0)).overlaps, 0);
    assert!(plain(&ramp(90, 6, 7.8)).overlaps > 0);
}

/// A little more than a full turn: its ends would lie on each other.
#[test]
fn ends_that_would_just_overlap_are_kept_apart() {
    for turn in [6.33, 6.4] {
        let mesh = ramp(90, 6, turn);
        let flat = plain(&mesh);
        assert!(flat.kept_apart && flat.overlaps == 0, "{turn}");
        assert!(flat.energy > 1e-8, "it would unroll if it could");
        assert!(flat.strain.mean < 2.0, "{turn}: {}", flat.strain.mean);
    }
    assert!(!plain(&ramp(60, 6, 6.1)).kept_apart);
}

#[test]
fn the_same_mesh_gives_the_same_bytes() {
    let mesh = heel_band(60, 10);
    assert_eq!(plain(&mesh), plain(&mesh));
}

#[test]
fn too_few_steps_are_reported() {
    let options = Options { max_iterations: 1, ..Options::default() };
    let flat = flatten(&cap(20, 20, 1.2), &options).unwrap();
    assert!(!flat.converged);
    assert_eq!((flat.iterations, flat.flipped), (1, 0));
}

fn refused(mesh: &TriMesh) -> String {
    match flatten(mesh, &Options::default()) {
        Err(FlattenError::NotADisk(what)) => what.to_string(),
        other => panic!("expected to be refused, got {other:?}"),
    }
}

/// Joins vertices of equal position (to 1e-9 mm) and drops what is no longer used.
fn welded(mesh: &TriMesh) -> TriMesh {
    let mut positions: Vec<DVec3> = Vec::new();
    let mut place = Vec::new();
    for p in &mesh.positions {
        let known = positions.iter().position(|q| q.distance(*p) < 1e-9);
        place.push(known.unwrap_or(positions.len()) as u32);
        if known.is_none() {
            positions.push(*p);
        }
    }
    let triangles = mesh.triangles.iter().map(|t| t.map(|v| place[v as usize])).collect();
    TriMesh { positions, triangles }
}

/// A point of a ring of radius 10 and thickness 3, by two turns.
fn on_ring(u: f64, v: f64) -> DVec3 {
    let (a, b) = (std::f64::consts::TAU * u, std::f64::consts::TAU * v);
    DVec3::new((10.0 + 3.0 * b.cos()) * a.cos(), (10.0 + 3.0 * b.cos()) * a.sin(), 3.0 * b.sin())
}

#[test]
fn what_is_no_disk_is_named() {
    let tube = welded(&grid(9, 4, |u, v| {
        let angle = std::f64::consts::TAU * u;
        DVec3::new(angle.cos(), angle.sin(), v)
    }));
    assert!(refused(&tube).contains("two boundary loops"), "{}", refused(&tube));

    let mut ring = welded(&grid(13, 9, on_ring));
    assert!(refused(&ring).contains("closed"), "{}", refused(&ring));
    ring.triangles.remove(30);
    assert!(refused(&ring).contains("1 handle"), "{}", refused(&ring));

    let mut pieces = cap(4, 4, 0.5);
    for shift in [100.0, 200.0] {
        let other = cap(4, 4, 0.5);
        let first = pieces.positions.len() as u32;
        pieces.positions.extend(other.positions.iter().map(|p| *p + DVec3::X * shift));
        pieces.triangles.extend(other.triangles.iter().map(|t| t.map(|v| v + first)));
    }
    assert!(refused(&pieces).contains("3 pieces"), "{}", refused(&pieces));

    let mut line = saddle(5, 5);
    let [a, b, c] = line.triangles[17];
    let middle = line.positions[a as usize].midpoint(line.positions[b as usize]);
    line.positions[c as usize] = middle;
    assert!(refused(&line).contains("triangle 17 has no area"), "{}", refused(&line));

    let mut turned = saddle(5, 5);
    turned.triangles[3].swap(0, 1);
    assert!(refused(&turned).contains("same direction"), "{}", refused(&turned));

    let mut loose = saddle(5, 5);
    loose.positions.push(DVec3::ZERO);
    assert!(refused(&loose).contains("vertex 25 belongs to no triangle"), "{}", refused(&loose));

    let mut infinite = saddle(5, 5);
    infinite.positions[4].y = f64::NAN;
    assert!(refused(&infinite).contains("vertex 4"), "{}", refused(&infinite));

    let mut beyond = saddle(5, 5);
    beyond.triangles[2][1] = 99;
    assert!(refused(&beyond).contains("triangle 2 names vertex 99"), "{}", refused(&beyond));

    // Two triangles that share one corner.
    let mut bow = saddle(2, 2);
    bow.positions.push(DVec3::new(200.0, 40.0, 0.0));
    bow.positions.push(DVec3::new(200.0, 90.0, 0.0));
    bow.triangles.push([3, 4, 5]);
    assert!(refused(&bow).contains("vertex 3 only"), "{}", refused(&bow));

    assert_eq!(refused(&TriMesh::default()), DiskError::Empty.to_string());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Rough small disks, far wilder than any shoe: never a panic, never a flip.
    #[test]
    fn random_disks_are_laid_flat_without_flips(
        columns in 2usize..7,
        rows in 2usize..7,
        heights in prop::collection::vec(-3.0f64..3.0, 49),
        shakes in prop::collection::vec((-0.45f64..0.45, -0.45f64..0.45), 49),
    ) {
        let spacing = 10.0;
        let mut mesh = grid(columns, rows, |u, v| {
            DVec3::new(u * (columns - 1) as f64, v * (rows - 1) as f64, 0.0) * spacing
        });
        for (v, p) in mesh.positions.iter_mut().enumerate() {
            *p += DVec3::new(shakes[v].0, shakes[v].1, heights[v]) * spacing;
        }
        match flatten(&mesh, &Options::default()) {
            Ok(flat) => {
                prop_assert_eq!(flat.flipped, 0);
                prop_assert!(flat.converged);
                prop_assert!(flat.energy.is_finite() && flat.energy >= 0.0);
            }
            Err(FlattenError::NotADisk(DiskError::NoArea { .. })) => {}
            Err(other) => prop_assert!(false, "{}", other),
        }
    }

    /// Any triangles at all over few vertices: an error or a layout, never a panic.
    #[test]
    fn any_soup_is_answered(
        points in prop::collection::vec(prop::array::uniform3(-2.0f64..2.0), 0..7),
        triangles in prop::collection::vec(prop::array::uniform3(0u32..7), 0..8),
    ) {
        let positions = points.into_iter().map(DVec3::from_array).collect();
        let _ = flatten(&TriMesh { positions, triangles }, &Options::default());
    }
}

/// A surface that moved a little is laid flat as from scratch, whatever was laid flat before.
#[test]
fn a_moved_surface_is_laid_flat_as_from_scratch() {
    let mesh = heel_band(90, 16);
    let mut flattener = Flattener::new(&mesh, &Options::default()).unwrap();
    let first = flattener.flatten().unwrap();
    for by in [0.0, 0.002, 0.02, 0.2] {
        let mut moved = mesh.clone();
        for p in &mut moved.positions {
            p.z *= 1.0 + by * (p.x / 60.0).sin();
        }
        let warm = flattener.flatten_moved(&moved.positions).unwrap();
        let cold = plain(&moved);
        assert!(warm.converged && warm.flipped == 0);
        assert!((warm.energy - cold.energy).abs() < 1e-9 * cold.energy, "{by}");
        let apart = apart_after_alignment(&warm.points, &cold.points);
        assert!(apart < 1e-3, "{by}: {apart} mm apart");
        assert!(by == 0.0 || apart_after_alignment(&warm.points, &first.points) > 1e-3);
    }
    assert_eq!(flattener.flatten_moved(&mesh.positions).unwrap().overlaps, 0);
    assert_eq!(flattener.flatten().unwrap(), first, "from scratch the bytes are the same");
}

/// The furthest that points lie apart when the second lot is turned and moved onto the first.
fn apart_after_alignment(a: &[DVec2], b: &[DVec2]) -> f64 {
    let middle = |points: &[DVec2]| points.iter().sum::<DVec2>() / points.len() as f64;
    let (to, from) = (middle(a), middle(b));
    let turn: DVec2 = a
        .iter()
        .zip(b)
        .map(|(a, b)| {
            let (a, b) = (*a - to, *b - from);
            DVec2::new(a.dot(b), b.perp_dot(a))
        })
        .sum();
    let turn = turn.normalize();
    a.iter().zip(b).map(|(a, b)| (*a - to).distance(turn.rotate(*b - from))).fold(0.0, f64::max)
}

#[test]
fn a_surface_that_became_bad_is_refused_when_moved() {
    let mesh = saddle(6, 6);
    let mut flattener = Flattener::new(&mesh, &Options::default()).unwrap();
    let mut positions = mesh.positions;
    positions[8].x = f64::NAN;
    let error = flattener.flatten_moved(&positions).unwrap_err();
    assert!(error.to_string().contains("vertex 8"), "{error}");
}
