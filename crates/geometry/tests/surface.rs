//! Walking, joining and cutting on surfaces with known answers.

use std::f64::consts::PI;

use geometry::mesh::TriMesh;
use geometry::surface::{
    Closest, Surface, SurfacePath, SurfacePoint, Walk, closed_path, imprint, offset, patch_left_of,
};
use glam::{DVec2, DVec3};
use proptest::prelude::*;

/// An open cylinder of radius 30 round the z axis, 0 to 60 mm high, with uneven triangles.
fn cylinder(around: usize, up: usize) -> TriMesh {
    let mut mesh = TriMesh::default();
    for j in 0..=up {
        for i in 0..around {
            let shift = if j % 2 == 0 { 0.0 } else { 0.37 };
            let angle = (i as f64 + shift) * 2.0 * PI / around as f64;
            let z = 60.0 * (j as f64 / up as f64).powf(1.2);
            mesh.positions.push(DVec3::new(30.0 * angle.cos(), 30.0 * angle.sin(), z));
        }
    }
    let at = |i: usize, j: usize| (j * around + i % around) as u32;
    for j in 0..up {
        for i in 0..around {
            mesh.triangles.push([at(i, j), at(i + 1, j), at(i, j + 1)]);
            mesh.triangles.push([at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)]);
        }
    }
    mesh
}

fn rolled(p: DVec2) -> DVec3 {
    let angle = p.x / 30.0;
    DVec3::new(30.0 * angle.cos(), 30.0 * angle.sin(), p.y)
}

/// A closed curve drawn flat and rolled round the cylinder, as points of the mesh.
fn drawn(mesh: &TriMesh, flat: &[DVec2]) -> Vec<SurfacePoint> {
    let closest = Closest::new(mesh);
    flat.iter().map(|p| closest.to(rolled(*p), 1e-3).expect("the mesh has triangles")).collect()
}

fn ellipse(center: DVec2, half: DVec2, n: usize) -> Vec<DVec2> {
    (0..n).map(|i| center + half * DVec2::from_angle(i as f64 * 2.0 * PI / n as f64)).collect()
}

#[test]
fn a_walk_up_a_cylinder_is_as_long_as_it_is_high() {
    let mesh = cylinder(120, 25);
    let surface = Surface::new(&mesh).expect("a manifold");
    let start = Closest::new(&mesh).to(rolled(DVec2::new(11.3, 2.0)), 1e-9).expect("a point");
    let from = start.position(&mesh);
    let normal = DVec3::Z.cross(from.normalize());
    let mut walk = Walk::new(&surface, start, normal, DVec3::Z, 0.0);
    let end = walk.point_at(41.5).expect("the cylinder is high enough").position(&mesh);
    // The mesh is a polyhedron: its faces slope a little, the walk is at most a hair longer.
    assert!((end.z - from.z - 41.5).abs() < 0.02, "reached {}", end.z - from.z);
    assert!((end - from).dot(normal).abs() < 1e-9, "left its plane");
    let lost =
        Walk::new(&surface, start, normal, DVec3::Z, 0.0).point_at(80.0).expect_err("too high");
    assert!(lost.to_string().contains("ends after 58.0 mm"), "{lost}");
}

#[test]
fn a_walk_round_the_cylinder_follows_the_polygon() {
    let mesh = cylinder(90, 10);
    let surface = Surface::new(&mesh).expect("a manifold");
    let start = SurfacePoint::Vertex(0);
    let polygon: f64 = 2.0 * 30.0 * 90.0 * (PI / 90.0).sin();
    let mut walk = Walk::new(&surface, start, DVec3::Z, DVec3::Y, 0.0);
    let back = walk.point_at(polygon - 1e-6).expect("it goes round").position(&mesh);
    assert!(back.distance(mesh.positions[0]) < 1e-5, "{back}");
}

/// A floor (y below 0) and a wall (z above 0), between them a sliver 0.02 mm wide that is folded
/// down under the floor.
fn folded_sliver() -> TriMesh {
    let [left, right, fold] = [[-1.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, -0.02, -0.002]];
    let positions = [left, right, fold, [0.0, -5.0, 0.0], [-1.0, 0.0, 6.0], [1.0, 0.0, 6.0]];
    TriMesh {
        positions: positions.map(DVec3::from).to_vec(),
        triangles: vec![[0, 3, 1], [0, 1, 2], [0, 2, 4], [2, 5, 4], [2, 1, 5]],
    }
}

#[test]
fn a_walk_that_looks_ahead_finds_the_way_out_of_a_folded_sliver() {
    let mesh = folded_sliver();
    let surface = Surface::new(&mesh).expect("a manifold");
    let walk = |start| Walk::new(&surface, start, DVec3::X, DVec3::new(0.0, 0.7, 1.0), 0.0);
    let on_the_fold = SurfacePoint::on_edge(0, 1, 0.6, 1e-12);
    walk(on_the_fold).point_at(3.0).expect_err("no way leads up from the fold");
    // Within the sliver the way to the floor rises, and the one to the wall falls.
    let within = SurfacePoint::in_face(&mesh, 1, [0.3, 0.5, 0.2], 1e-12);
    let floor = walk(within).point_at(3.0).expect("over the fold").position(&mesh);
    assert!(floor.y < -2.9, "{floor}");
    for start in [on_the_fold, within] {
        let end = walk(start).looking_ahead(0.5).point_at(3.0).expect("up the wall");
        let end = end.position(&mesh);
        assert!(end.z > 2.9 && (end.x - 0.2).abs() < 1e-9, "{end}");
    }
}

#[test]
fn an_imprinted_curve_bounds_a_disk_of_the_same_area() {
    let mesh = cylinder(120, 25);
    let surface = Surface::new(&mesh).expect("a manifold");
    let half = DVec2::new(40.0, 21.0);
    let flat = ellipse(DVec2::new(3.0, 29.0), half, 300);
    let path = closed_path(&surface, &drawn(&mesh, &flat), 0.0).expect("joined");
    let cut = imprint(&surface, &[path]).expect("cut");
    let before: f64 = mesh.face_areas().iter().sum();
    let after: f64 = cut.mesh.face_areas().iter().sum();
    assert!((before - after).abs() < 1e-6, "cutting changes no area: {before} {after}");
    let patch = patch_left_of(&cut).expect("enclosed");
    let loops =
        Surface::new(&patch.mesh).expect("a manifold").adjacency().boundary_loops(&patch.mesh);
    assert_eq!(loops.len(), 1, "a disk has one edge");
    assert_eq!(loops[0].len(), patch.paths[0].len());
    let area: f64 = patch.mesh.face_areas().iter().sum();
    let exact = PI * half.x * half.y;
    assert!((area / exact - 1.0).abs() < 5e-4, "{area} against {exact}");
    // Every vertex of the cut lies on the drawn line: no staircase.
    for v in &patch.paths[0] {
        let p = patch.mesh.positions[*v as usize];
        let d = DVec2::new(p.y.atan2(p.x) * 30.0, p.z) - DVec2::new(3.0, 29.0);
        let level = (d / half).length();
        assert!(
            (level - 1.0).abs() * half.y < 0.02,
            "off the line by {} mm",
            (level - 1.0) * half.y
        );
    }
}

#[test]
fn the_other_side_of_the_line_is_not_enclosed() {
    let mesh = cylinder(60, 12);
    let surface = Surface::new(&mesh).expect("a manifold");
    let mut flat = ellipse(DVec2::new(0.0, 30.0), DVec2::new(20.0, 15.0), 80);
    flat.reverse();
    let path = closed_path(&surface, &drawn(&mesh, &flat), 0.0).expect("joined");
    let error = patch_left_of(&imprint(&surface, &[path]).expect("cut")).expect_err("open");
    assert!(error.to_string().contains("does not enclose"), "{error}");
}

#[test]
fn a_line_that_crosses_itself_is_refused() {
    let mesh = cylinder(60, 12);
    let surface = Surface::new(&mesh).expect("a manifold");
    let eight: Vec<DVec2> = (0..160)
        .map(|i| i as f64 * 2.0 * PI / 160.0)
        .map(|a| DVec2::new(25.0 * a.sin(), 30.0 + 20.0 * a.sin() * a.cos()))
        .collect();
    let path = closed_path(&surface, &drawn(&mesh, &eight), 0.0).expect("joined");
    let outcome = imprint(&surface, &[path]).map(|cut| patch_left_of(&cut));
    assert!(matches!(outcome, Err(_) | Ok(Err(_))), "an eight has no inside");
}

/// A second path may start on a side of a triangle that the first runs along from end to end.
#[test]
fn a_path_passes_every_point_that_another_puts_on_its_way() {
    let mesh = cylinder(60, 12);
    let surface = Surface::new(&mesh).expect("a manifold");
    // Round one pair of triangles along their sides, and across it from the middle of one.
    let [a, b, d] = mesh.triangles[200];
    let [_, c, _] = mesh.triangles[201];
    let ring = [a, b, c, d].map(SurfacePoint::Vertex).to_vec();
    let middle = SurfacePoint::on_edge(a, b, 0.3, 0.0);
    let across = SurfacePath { points: vec![middle, SurfacePoint::Vertex(d)], closed: false };
    let cut =
        imprint(&surface, &[SurfacePath { points: ring, closed: true }, across]).expect("cut");
    assert_eq!(cut.paths[0].len(), 5, "the ring passes the new point: {:?}", cut.paths[0]);
    let patch = patch_left_of(&cut).expect("enclosed");
    assert_eq!(patch.mesh.triangles.len(), 3);
}

#[test]
fn an_offset_cylinder_is_a_wider_cylinder() {
    let wide = offset(&cylinder(240, 30), 1.6, 3.0).value.mesh;
    for p in &wide.positions {
        assert!((p.truncate().length() - 31.6).abs() < 4e-3, "{p}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]
    #[test]
    fn any_smooth_curve_is_cut_exactly(
        cx in -50.0..50.0f64, cy in 25.0..35.0f64, a in 2.0..24.0f64, b in 2.0..20.0f64,
        n in 12usize..200, around in 12usize..90, up in 3usize..25, snap in 0.0..0.03f64,
    ) {
        let mesh = cylinder(around, up);
        let surface = Surface::new(&mesh).expect("a manifold");
        let flat = ellipse(DVec2::new(cx, cy), DVec2::new(a, b), n);
        let path = closed_path(&surface, &drawn(&mesh, &flat), snap).expect("joined");
        let patch = patch_left_of(&imprint(&surface, &[path]).expect("cut")).expect("enclosed");
        let rim = Surface::new(&patch.mesh).expect("a manifold");
        prop_assert_eq!(rim.adjacency().boundary_loops(&patch.mesh).len(), 1);
        let edges = (patch.mesh.triangles.len() * 3 + patch.paths[0].len()) / 2;
        let euler = patch.mesh.positions.len() as i64 - edges as i64
            + patch.mesh.triangles.len() as i64;
        prop_assert_eq!(euler, 1);
    }
}
