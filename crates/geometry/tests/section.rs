//! Sections of bodies whose sections are known in closed form.

use geometry::mesh::TriMesh;
use geometry::section::{section, taut_girth};
use glam::DVec3;

/// An axis-aligned box from the origin to `size`, twelve outward triangles; without its top
/// when `open`.
fn cuboid(size: DVec3, open: bool) -> TriMesh {
    let positions = (0..8)
        .map(|i| DVec3::new((i & 1) as f64, (i >> 1 & 1) as f64, (i >> 2 & 1) as f64) * size)
        .collect();
    let mut triangles = vec![
        [0, 2, 1],
        [1, 2, 3], // bottom
        [0, 1, 5],
        [0, 5, 4], // front
        [2, 6, 3],
        [3, 6, 7], // back
        [0, 4, 2],
        [2, 4, 6], // left
        [1, 3, 5],
        [3, 7, 5], // right
    ];
    if !open {
        triangles.extend([[4, 5, 6], [5, 7, 6]]);
    }
    TriMesh { positions, triangles }
}

#[test]
fn a_box_is_cut_in_its_rectangle_counter_clockwise() {
    let mesh = cuboid(DVec3::new(3.0, 2.0, 1.0), false);
    assert!((mesh.signed_volume() - 6.0).abs() < 1e-12, "the box faces outward");
    let lines = section(&mesh, DVec3::new(0.0, 0.0, 0.25), DVec3::Z).unwrap();
    assert_eq!(lines.len(), 1);
    let line = &lines[0];
    assert!(line.closed);
    assert_eq!(line.faces.len(), line.points.len());
    assert!((line.length() - 10.0).abs() < 1e-12);
    let n = line.points.len();
    let twice_area: f64 =
        (0..n).map(|i| line.points[i].position.cross(line.points[(i + 1) % n].position).z).sum();
    assert!((twice_area - 12.0).abs() < 1e-12, "counter-clockwise seen from the normal's tip");
    for p in &line.points {
        let (a, b) = (mesh.positions[p.edge.0 as usize], mesh.positions[p.edge.1 as usize]);
        assert!(p.edge.0 < p.edge.1);
        assert!(p.position.distance(a.lerp(b, p.along)) < 1e-12);
    }
}

#[test]
fn an_open_box_is_cut_in_an_open_line() {
    let mesh = cuboid(DVec3::new(3.0, 2.0, 1.0), true);
    let lines = section(&mesh, DVec3::new(1.3, 0.0, 0.0), DVec3::X).unwrap();
    assert_eq!(lines.len(), 1);
    assert!(!lines[0].closed);
    assert_eq!(lines[0].faces.len() + 1, lines[0].points.len());
    assert!((lines[0].length() - 4.0).abs() < 1e-12, "up one wall, across, down the other");
}

#[test]
fn a_plane_through_faces_and_vertices_is_no_special_case() {
    let mesh = cuboid(DVec3::new(3.0, 2.0, 1.0), false);
    // In the bottom face: counts as above, so nothing is below and nothing is cut.
    assert!(section(&mesh, DVec3::ZERO, DVec3::Z).unwrap().is_empty());
    // In the top face: its rim.
    let top = section(&mesh, DVec3::Z, DVec3::Z).unwrap();
    assert_eq!(top.len(), 1);
    assert!(top[0].closed && (top[0].length() - 10.0).abs() < 1e-12);
    // Diagonally through four vertices.
    let across = section(&mesh, DVec3::ZERO, DVec3::new(2.0, -3.0, 0.0)).unwrap();
    assert_eq!(across.len(), 1);
    assert!(across[0].closed);
    assert!((across[0].length() - 2.0 * (1.0 + 13f64.sqrt())).abs() < 1e-12);
}

#[test]
fn two_bodies_give_two_lines_in_order() {
    let mut mesh = cuboid(DVec3::ONE, false);
    let other = cuboid(DVec3::ONE, false);
    let base = mesh.positions.len() as u32;
    mesh.positions.extend(other.positions.iter().map(|p| *p + DVec3::X * 5.0));
    mesh.triangles.extend(other.triangles.iter().map(|t| t.map(|v| v + base)));
    let lines = section(&mesh, DVec3::Z * 0.5, DVec3::Z).unwrap();
    assert_eq!(lines.len(), 2);
    assert!(lines[0].points[0].position.x < 2.0 && lines[1].points[0].position.x > 4.0);
    let all: Vec<DVec3> = lines.iter().flat_map(|l| l.points.iter().map(|p| p.position)).collect();
    assert!((taut_girth(&all, DVec3::Z) - 14.0).abs() < 1e-12, "the tape bridges the gap");
}

#[test]
fn a_taut_tape_on_few_points() {
    assert_eq!(taut_girth(&[], DVec3::Z), 0.0);
    assert_eq!(taut_girth(&[DVec3::X], DVec3::Z), 0.0);
    assert!((taut_girth(&[DVec3::X, DVec3::ZERO], DVec3::Z) - 2.0).abs() < 1e-12);
}

/// A wavy torus: 40 by 24 quads, each cut in two.
fn wavy_torus() -> TriMesh {
    use std::f64::consts::TAU;
    let (n, m) = (40u32, 24u32);
    let mut mesh = TriMesh::default();
    for i in 0..n {
        for j in 0..m {
            let (u, v) = (TAU * f64::from(i) / f64::from(n), TAU * f64::from(j) / f64::from(m));
            let r = 3.0 + 0.2 * (5.0 * u).cos() + v.cos();
            mesh.positions.push(DVec3::new(r * u.cos(), r * u.sin(), v.sin()));
            let at = |i: u32, j: u32| (i % n) * m + j % m;
            let [a, b, c, d] = [at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)];
            mesh.triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    mesh
}

/// Lengths of the section lines as computed by trimesh 5.2.0 (`Trimesh.section`), which
/// shares no code with ours.
#[test]
fn section_lengths_agree_with_trimesh() {
    let mesh = wavy_torus();
    let cases: [([f64; 3], [f64; 3], &[f64]); 3] = [
        ([0.1, 0.2, 0.3], [0.0, 0.0, 1.0], &[13.571_434_62, 25.157_843_171]),
        ([0.1, 0.2, 0.05], [1.0, 2.0, 3.0], &[8.657_397_527, 9.313_705_24]),
        ([2.9, 0.0, 0.0], [1.0, 0.1, 0.05], &[11.997_723_27]),
    ];
    for (origin, normal, expected) in cases {
        let lines = section(&mesh, DVec3::from(origin), DVec3::from(normal)).unwrap();
        let mut lengths: Vec<f64> = lines.iter().map(|l| l.length()).collect();
        lengths.sort_by(f64::total_cmp);
        assert_eq!(lengths.len(), expected.len());
        for (ours, theirs) in lengths.iter().zip(expected) {
            assert!((ours - theirs).abs() < 1e-8, "{ours} against {theirs}");
        }
    }
}

/// The perimeter of a hull as computed by scipy 1.17.1 (`ConvexHull.area` in the plane).
#[test]
fn taut_girth_agrees_with_scipy() {
    let points: Vec<DVec3> = (1..=60)
        .map(f64::from)
        .map(|k| {
            let r = k.sqrt();
            // The plane of the points is stood upright: their x to z, their y to x.
            DVec3::new(0.7 * (2.4 * k).sin() * r, 5.0, (2.4 * k).cos() * r)
        })
        .collect();
    assert!((taut_girth(&points, DVec3::Y) - 39.543_250_913_446_66).abs() < 1e-12);
}
