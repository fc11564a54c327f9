//! Finer meshes: the same surface with shorter edges, or Loop's smooth one.

#![allow(clippy::unwrap_used, reason = "a test may fail so")]

mod shapes;

use geometry::mesh::TriMesh;
use geometry::mesh::adjacency::Adjacency;
use geometry::mesh::refine::refine;
use geometry::mesh::subdivide::subdivide_smooth;
use glam::DVec3;
use proptest::prelude::*;
use shapes::{area, ball, cuboid, longest_edge, mesh, rim_edges, sheet};

fn assert_close(a: f64, b: f64) {
    assert!((a - b).abs() <= 1e-12 * a.abs().max(b.abs()).max(1.0), "{a} is not {b}");
}

#[test]
fn refining_shortens_edges_and_keeps_area_volume_and_manifold() {
    let coarse = cuboid(DVec3::new(260.0, 90.0, 70.0));
    for max_edge in [500.0, 120.0, 50.0, 7.3] {
        let fine = refine(&coarse, max_edge);
        assert!(longest_edge(&fine) <= max_edge);
        assert!((area(&fine) / area(&coarse) - 1.0).abs() < 1e-12);
        assert!((fine.signed_volume() / coarse.signed_volume() - 1.0).abs() < 1e-12);
        assert_eq!(rim_edges(&fine), 0);
        assert_eq!(fine.positions[..8], coarse.positions[..]);
        // Euler's number of a closed body without holes.
        assert_eq!(fine.positions.len() as i64 - fine.triangles.len() as i64 / 2, 2);
        assert_eq!(refine(&fine, max_edge), fine);
    }
    assert_eq!(refine(&coarse, 300.0), coarse);
}

#[test]
fn each_number_of_split_sides_makes_its_pieces() {
    let triangle = |b: [f64; 3], c: [f64; 3]| mesh(&[[0.0; 3], b, c], &[[0, 1, 2]]);
    let pieces = |t: TriMesh| refine(&t, 1.0).triangles.len();
    assert_eq!(pieces(triangle([0.9, 0.0, 0.0], [0.0, 0.3, 0.0])), 1);
    assert_eq!(pieces(triangle([0.9, 0.0, 0.0], [0.0, 0.8, 0.0])), 2);
    assert_eq!(pieces(triangle([1.6, 0.0, 0.0], [0.0, 0.3, 0.0])), 3);
    assert_eq!(pieces(triangle([1.2, 0.0, 0.0], [0.6, 1.0, 0.0])), 4);
}

#[test]
fn a_senseless_length_changes_nothing() {
    let cuboid = cuboid(DVec3::ONE);
    for max_edge in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(refine(&cuboid, max_edge), cuboid);
    }
}

proptest! {
    #[test]
    fn refining_any_triangle_keeps_its_area(
        corners in [[-9.0..9.0_f64, -9.0..9.0, -9.0..9.0], [-9.0..9.0, -9.0..9.0, -9.0..9.0], [-9.0..9.0, -9.0..9.0, -9.0..9.0]],
        max_edge in 0.5..10.0_f64,
    ) {
        let one = mesh(&corners, &[[0, 1, 2]]);
        let fine = refine(&one, max_edge);
        prop_assert!(longest_edge(&fine) <= max_edge);
        prop_assert!((area(&fine) - area(&one)).abs() < 1e-9);
        Adjacency::new(&fine).unwrap();
        let normal = one.area_vector(0).normalize_or_zero();
        for face in 0..fine.triangles.len() as u32 {
            prop_assert!(fine.area_vector(face).dot(normal) > -1e-12);
        }
    }
}

/// By hand from the rules in C. Loop 1987: three neighbours weigh 3/16 each, an edge takes 3/8 of
/// its ends and 1/8 of the corners across.
#[test]
fn a_tetrahedron_is_smoothed_as_by_hand() {
    let corners = [[1.0, 1.0, 1.0], [1.0, -1.0, -1.0], [-1.0, 1.0, -1.0], [-1.0, -1.0, 1.0]];
    let sides = [[0, 1, 2], [0, 3, 1], [0, 2, 3], [1, 3, 2]];
    let smooth = subdivide_smooth(&mesh(&corners, &sides));
    assert_eq!((smooth.positions.len(), smooth.triangles.len()), (10, 16));
    // 7/16 of itself, and the other three add up to minus itself: 7/16 - 3/16 = 1/4.
    for (p, corner) in smooth.positions.iter().zip(corners) {
        assert_close(p.distance(DVec3::from_array(corner) / 4.0), 0.0);
    }
    // On each edge (3/8 - 1/8) of the sum of its ends, which is twice a unit axis: length 1/2.
    for p in &smooth.positions[4..] {
        assert_close(p.length(), 0.5);
    }
    assert_eq!(rim_edges(&smooth), 0);
}

/// Six neighbours weigh 1/16 each and a flat even grid stays where it is.
#[test]
fn a_flat_sheet_stays_flat_and_its_inside_stays_in_place() {
    let sheet = sheet(4, 4);
    let smooth = subdivide_smooth(&sheet);
    assert!(smooth.positions.iter().all(|p| p.z == 0.0));
    for inner in [6, 7, 8, 11, 12, 13, 16, 17, 18] {
        assert_close(smooth.positions[inner].distance(sheet.positions[inner]), 0.0);
    }
    // Along a straight rim nothing moves; a corner moves by an eighth of each side's step.
    assert_close(smooth.positions[2].distance(sheet.positions[2]), 0.0);
    assert_close(smooth.positions[0].distance(DVec3::new(0.125, 0.125, 0.0)), 0.0);
}

#[test]
fn smoothing_keeps_closed_closed_and_outward() {
    let coarse = ball(50.0, 2);
    let smooth = subdivide_smooth(&coarse);
    assert_eq!(smooth.triangles.len(), 4 * coarse.triangles.len());
    assert_eq!(rim_edges(&smooth), 0);
    let shrunk = smooth.signed_volume() / coarse.signed_volume();
    assert!(shrunk > 0.9 && shrunk < 1.0, "{shrunk}");
}
