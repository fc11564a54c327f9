//! Shortest and straightest paths, and nearest points, against answers known beforehand.

#![allow(clippy::unwrap_used, reason = "a test may fail so")]

mod shapes;

use std::f64::consts::PI;

use geometry::mesh::TriMesh;
use geometry::surface::geodesic::{
    Distances, GeodesicError, StraightestError, locally_shortest, shortest, straighten, straightest,
};
use geometry::surface::{Closest, Surface, SurfacePath, SurfacePoint};
use glam::DVec3;
use proptest::prelude::*;

fn at(mesh: &TriMesh, place: DVec3) -> SurfacePoint {
    Closest::new(mesh).to(place, 1e-12).expect("there are triangles")
}

/// A sheet of 12 by 8 mm with hills, so steep that paths go round them.
fn hills() -> TriMesh {
    let mut mesh = shapes::sheet(36, 24);
    for p in &mut mesh.positions {
        *p /= 3.0;
        p.z = 1.6 * (1.3 * p.x).sin() * (1.7 * p.y).cos();
    }
    mesh
}

fn neighbours_share_a_triangle(surface: &Surface<'_>, path: &SurfacePath) -> bool {
    path.points.windows(2).all(|pair| surface.common_face(&pair[0], &pair[1]).is_some())
}

/// The spider and the fly in a room of 30 by 12 by 12: 40, over five of its six sides, where
/// straight down and along the floor is 42 (H. E. Dudeney 1903).
#[test]
fn the_spider_takes_the_way_over_five_sides() {
    let mesh = shapes::cuboid(DVec3::new(30.0, 12.0, 12.0));
    let surface = Surface::new(&mesh).expect("a manifold");
    let spider = at(&mesh, DVec3::new(0.0, 6.0, 11.0));
    let fly = at(&mesh, DVec3::new(30.0, 6.0, 1.0));
    let way = shortest(&surface, spider, fly).expect("joined");
    assert!((way.length - 40.0).abs() < 1e-12, "{}", way.length);
    assert!(neighbours_share_a_triangle(&surface, &way.path));
    let near = locally_shortest(&surface, spider, fly).expect("joined");
    assert!(near.length >= way.length - 1e-12);
    let exact = Distances::from_points(&surface, &[fly], 100.0).at(&spider);
    assert!((exact.expect("within reach") - 40.0).abs() < 1e-12);
}

/// Straight down the end wall, along the floor and up: taut as it is, though 42 long.
#[test]
fn a_taut_path_stays_on_its_own_side() {
    let mesh = shapes::cuboid(DVec3::new(30.0, 12.0, 12.0));
    let surface = Surface::new(&mesh).expect("a manifold");
    let stations = [
        DVec3::new(0.0, 6.0, 11.0),
        DVec3::new(0.0, 1.0, 0.0),
        DVec3::new(0.0, 11.0, 0.0),
        DVec3::new(15.0, 6.0, 0.0),
        DVec3::new(30.0, 6.0, 0.0),
        DVec3::new(30.0, 6.0, 1.0),
    ];
    let mut points = Vec::new();
    for pair in stations.windows(2) {
        let leg = shortest(&surface, at(&mesh, pair[0]), at(&mesh, pair[1])).expect("joined");
        points.extend(leg.path.points);
    }
    points.dedup();
    let drawn = SurfacePath { points, closed: false };
    let taut = straighten(&surface, &drawn).expect("open");
    assert!(drawn.length(&mesh) > 50.0);
    assert!((taut.length - 42.0).abs() < 1e-12, "{}", taut.length);
    let again = straighten(&surface, &taut.path).expect("open");
    assert!((again.length - taut.length).abs() < 1e-12);
}

/// Round the corner of a hole: the path bends at the rim, which has no other side.
#[test]
fn a_path_bends_at_the_rim_of_a_hole() {
    let mut mesh = shapes::sheet(6, 6);
    let middle = |t: &[u32; 3]| t.iter().map(|v| mesh.positions[*v as usize]).sum::<DVec3>() / 3.0;
    let hole = |c: DVec3| c.x > 2.0 && c.x < 4.0 && c.y > 1.0 && c.y < 5.0;
    let kept: Vec<[u32; 3]> = mesh.triangles.iter().filter(|t| !hole(middle(t))).copied().collect();
    mesh.triangles = kept;
    let surface = Surface::new(&mesh).expect("a manifold");
    let (from, to) = (DVec3::new(0.5, 2.5, 0.0), DVec3::new(5.5, 2.5, 0.0));
    let expected = 2.0 * 1.5_f64.hypot(1.5) + 2.0;
    let way = shortest(&surface, at(&mesh, from), at(&mesh, to)).expect("joined");
    assert!((way.length - expected).abs() < 1e-12, "{} and not {expected}", way.length);
    assert!(way.path.points.contains(&SurfacePoint::Vertex(7 + 2)));
}

#[test]
fn what_has_no_path_is_told() {
    let one = shapes::sheet(2, 2);
    let mesh = shapes::together(&one, &one, DVec3::Z * 5.0);
    let surface = Surface::new(&mesh).expect("a manifold");
    let error = shortest(&surface, SurfacePoint::Vertex(0), SurfacePoint::Vertex(12));
    assert!(matches!(error, Err(GeodesicError::Separate { .. })), "{error:?}");
    let nowhere = Distances::from_points(&surface, &[SurfacePoint::Vertex(0)], 1.5);
    assert_eq!(nowhere.at(&SurfacePoint::Vertex(12)), None);
    assert_eq!(nowhere.at(&SurfacePoint::Vertex(8)), None, "beyond the reach");
    assert_eq!(nowhere.at(&SurfacePoint::Vertex(4)), Some(2.0_f64.sqrt()));
    let round = SurfacePath { points: vec![SurfacePoint::Vertex(0)], closed: true };
    assert_eq!(straighten(&surface, &round), Err(GeodesicError::Closed));
    let none = SurfacePath { points: Vec::new(), closed: false };
    assert_eq!(straighten(&surface, &none), Err(GeodesicError::NoPoints));
    let leap = [0, 8].map(SurfacePoint::Vertex).to_vec();
    let leap = straighten(&surface, &SurfacePath { points: leap, closed: false });
    assert_eq!(leap, Err(GeodesicError::Apart(0)));
}

/// At the corner of a box there are 270 degrees: the straightest path leaves 135 on each side.
#[test]
fn a_straightest_path_halves_the_angle_at_a_corner() {
    let mesh = shapes::cuboid(DVec3::splat(10.0));
    let surface = Surface::new(&mesh).expect("a manifold");
    // On the top, towards the corner (10, 10, 10) at 45 degrees; then down the vertical edge,
    // which lies 45 + 90 degrees on from either side of the way in.
    let from = at(&mesh, DVec3::new(4.0, 4.0, 10.0));
    let way = straightest(&surface, from, DVec3::new(1.0, 1.0, 0.0), 6.0 * 2_f64.sqrt() + 3.0);
    let end = way.expect("closed").path.points.last().expect("points").position(&mesh);
    assert!(end.distance(DVec3::new(10.0, 10.0, 7.0)) < 1e-9, "{end}");
}

#[test]
fn a_straightest_path_round_a_box_comes_back() {
    let mesh = shapes::cuboid(DVec3::new(30.0, 12.0, 9.0));
    let surface = Surface::new(&mesh).expect("a manifold");
    let start = DVec3::new(3.0, 5.0, 9.0);
    let way = straightest(&surface, at(&mesh, start), DVec3::X, 78.0).expect("closed");
    assert!((way.length - 78.0).abs() < 1e-12);
    let end = way.path.points.last().expect("points").position(&mesh);
    assert!(end.distance(start) < 1e-9, "{end}");
    assert!((way.path.length(&mesh) - 78.0).abs() < 1e-9);
    let sheet = shapes::sheet(5, 5);
    let flat = Surface::new(&sheet).expect("a manifold");
    let over = straightest(&flat, at(&sheet, DVec3::new(1.2, 1.4, 0.0)), DVec3::X, 9.0);
    let Err(StraightestError::SurfaceEnds { walked, asked: 9.0 }) = over else {
        panic!("{over:?}")
    };
    assert!((walked - 3.8).abs() < 1e-9, "{walked}");
    let up = straightest(&flat, at(&sheet, DVec3::new(1.2, 1.4, 0.0)), DVec3::Z, 9.0);
    assert_eq!(up, Err(StraightestError::NoDirection));
}

fn in_triangle(mesh: &TriMesh, v: [f64; 3]) -> SurfacePoint {
    let (a, b) = (v[1], v[2] * (1.0 - v[1]));
    let face = (v[0] * mesh.triangles.len() as f64) as u32;
    SurfacePoint::in_face(mesh, face, [a, b, 1.0 - a - b], 1e-3)
}

/// The distance to a triangle by its plane and its three sides.
fn far([a, b, c]: [DVec3; 3], p: DVec3) -> f64 {
    let n = (b - a).cross(c - a);
    let inside =
        [(a, b), (b, c), (c, a)].iter().all(|(u, v)| (*v - *u).cross(p - *u).dot(n) >= 0.0);
    let side = |u: DVec3, v: DVec3| {
        let t = ((p - u).dot(v - u) / (v - u).length_squared()).clamp(0.0, 1.0);
        p.distance(u + (v - u) * t)
    };
    let sides = side(a, b).min(side(b, c)).min(side(c, a));
    if inside && n.length() > 0.0 { (p - a).dot(n.normalize()).abs() } else { sides }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn the_nearest_point_is_that_of_a_search_through_all(
        x in -3.0..15.0f64, y in -3.0..11.0f64, z in -5.0..5.0f64,
    ) {
        let mesh = hills();
        let place = DVec3::new(x, y, z);
        let found = at(&mesh, place).position(&mesh).distance(place);
        let all = (0..mesh.triangles.len() as u32).map(|f| far(mesh.corners(f), place));
        let least = all.fold(f64::INFINITY, f64::min);
        prop_assert!((found - least).abs() < 1e-12, "{found} and not {least}");
    }

    #[test]
    fn on_a_flat_sheet_the_shortest_path_is_straight(
        p in prop::array::uniform3(0.0..1.0f64), q in prop::array::uniform3(0.0..1.0f64),
    ) {
        let mesh = shapes::sheet(7, 5);
        let surface = Surface::new(&mesh).expect("a manifold");
        let (from, to) = (in_triangle(&mesh, p), in_triangle(&mesh, q));
        let straight = from.position(&mesh).distance(to.position(&mesh));
        let way = shortest(&surface, from, to).expect("joined");
        prop_assert!((way.length - straight).abs() < 1e-12);
        prop_assert!(neighbours_share_a_triangle(&surface, &way.path));
    }

    #[test]
    fn distances_and_paths_agree_both_ways(
        p in prop::array::uniform3(0.0..1.0f64), q in prop::array::uniform3(0.0..1.0f64),
        r in prop::array::uniform3(0.0..1.0f64),
    ) {
        let mesh = hills();
        let surface = Surface::new(&mesh).expect("a manifold");
        let [p, q, r] = [p, q, r].map(|v| in_triangle(&mesh, v));
        let there = shortest(&surface, p, q).expect("joined");
        let back = shortest(&surface, q, p).expect("joined");
        prop_assert!((there.length - back.length).abs() < 1e-11);
        prop_assert!((there.length - there.path.length(&mesh)).abs() < 1e-11);
        prop_assert!(neighbours_share_a_triangle(&surface, &there.path));
        prop_assert!(locally_shortest(&surface, p, q).expect("joined").length > there.length - 1e-11);
        let distances = Distances::from_points(&surface, &[p, r], 100.0);
        let to_r = shortest(&surface, r, q).expect("joined").length;
        let nearest = distances.at(&q).expect("within reach");
        prop_assert!((nearest - there.length.min(to_r)).abs() < 1e-11);
        let path = distances.path_to(&q).expect("within reach");
        prop_assert!((path.length(&mesh) - nearest).abs() < 1e-11);
    }

    #[test]
    fn a_straightest_path_is_taut_unless_it_meets_a_vertex(
        p in prop::array::uniform3(0.0..1.0f64), angle in 0.0..(2.0 * PI), length in 0.1..6.0f64,
    ) {
        let mesh = hills();
        let surface = Surface::new(&mesh).expect("a manifold");
        let from = in_triangle(&mesh, p);
        let direction = DVec3::new(angle.cos(), angle.sin(), 0.0);
        let Ok(way) = straightest(&surface, from, direction, length) else { return Ok(()) };
        prop_assert!((way.path.length(&mesh) - length).abs() < 1e-9);
        let taut = straighten(&surface, &way.path).expect("open");
        prop_assert!(taut.length <= length + 1e-9);
        let meets = way.path.points[1..].iter().any(|p| matches!(p, SurfacePoint::Vertex(_)));
        prop_assert!(meets || (taut.length - length).abs() < 1e-9, "{}", taut.length);
    }
}
