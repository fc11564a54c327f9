//! Curves through points and parallel lines, against shapes known beforehand.

#![allow(clippy::unwrap_used, reason = "a test may fail so")]

mod shapes;

use std::f64::consts::{PI, TAU};

use geometry::mesh::TriMesh;
use geometry::surface::{
    Closest, CurveError, Flank, ParallelError, Surface, SurfacePath, SurfacePoint, curve_through,
    open_path, parallel,
};
use glam::{DVec2, DVec3};
use proptest::prelude::*;

/// A flat sheet of 60 by 40 mm, uneven.
fn flat() -> TriMesh {
    flat_in(1)
}

/// The same with `n` squares a mm.
fn flat_in(n: u32) -> TriMesh {
    let mut mesh = shapes::sheet(60 * n, 40 * n);
    let (n, [long, high]) = (f64::from(n), [60, 40].map(|side| f64::from(side * n)));
    for p in &mut mesh.positions {
        if p.x > 0.0 && p.x < long && p.y > 0.0 && p.y < high {
            p.x += 0.3 * (7.0 * p.y + 3.0 * p.x).sin();
            p.y += 0.3 * (5.0 * p.x - 2.0 * p.y).cos();
        }
        *p /= n;
    }
    mesh
}

/// The same rolled round a cylinder of 20 mm radius: lengths stay but for the chords.
fn rolled(p: DVec2) -> DVec3 {
    DVec3::new(20.0 * (p.x / 20.0).cos(), 20.0 * (p.x / 20.0).sin(), p.y)
}

fn points(mesh: &TriMesh, places: &[DVec2]) -> Vec<SurfacePoint> {
    let closest = Closest::new(mesh);
    places.iter().map(|p| closest.to(p.extend(0.0), 1e-12).expect("triangles")).collect()
}

fn line(surface: &Surface<'_>, places: &[DVec2]) -> SurfacePath {
    open_path(surface, &points(surface.mesh, places), 0.0).expect("flat")
}

fn on_plane(surface: &Surface<'_>, path: &SurfacePath) -> Vec<DVec2> {
    path.points.iter().map(|p| p.position(surface.mesh).truncate()).collect()
}

/// Distance of a point from a polyline in the plane.
fn off(line: &[DVec2], p: DVec2) -> f64 {
    let side = |pair: &[DVec2]| {
        let (a, b) = (pair[0], pair[1]);
        let t = ((p - a).dot(b - a) / (b - a).length_squared()).clamp(0.0, 1.0);
        p.distance(a.lerp(b, t))
    };
    line.windows(2).map(side).fold(f64::INFINITY, f64::min)
}

#[test]
fn points_in_a_row_give_a_straight_line() {
    let mesh = flat();
    let surface = Surface::new(&mesh).expect("a manifold");
    let row = [3.3, 9.1, 30.7, 50.2].map(|x| DVec2::new(x, 0.5 * x + 3.0));
    let curve = curve_through(&surface, &points(&mesh, &row), false).expect("joined");
    assert!((curve.length() - row[0].distance(row[3])).abs() < 1e-6);
    for (place, along) in row.iter().zip(&curve.at_points) {
        assert!((along - place.distance(row[0])).abs() < 1e-6);
        assert!(curve.place(*along).distance(place.extend(0.0)) < 1e-9);
        assert!(curve.direction(*along).angle_between(DVec3::new(2.0, 1.0, 0.0)) < 1e-6);
    }
    assert!(curve.place(-1.0).distance(row[0].extend(0.0)) < 1e-9);
    assert!(curve.place(1e3).distance(row[3].extend(0.0)) < 1e-9);
}

/// Eight points of a circle of 15 mm radius: the periodic cubic spline through them (scipy's
/// `CubicSpline`) strays from it by 0.0173 mm and is 0.057 mm shorter; differences of
/// twelve samples from point to point instead of the integral, and chords, add a little.
#[test]
fn eight_points_of_a_circle_give_a_circle() {
    let mesh = flat();
    let surface = Surface::new(&mesh).expect("a manifold");
    let middle = DVec2::new(29.7, 20.2);
    let ring: Vec<DVec2> =
        (0..8).map(|i| middle + DVec2::from_angle(0.1 + TAU * f64::from(i) / 8.0) * 15.0).collect();
    let curve = curve_through(&surface, &points(&mesh, &ring), true).expect("joined");
    for p in on_plane(&surface, &curve.path) {
        assert!((p.distance(middle) - 15.0).abs() < 0.025, "{}", p.distance(middle));
    }
    assert!((curve.length() - 30.0 * PI + 0.057).abs() < 0.025, "{}", curve.length());
    assert!(curve.place(-1.0).distance(curve.place(curve.length() - 1.0)) < 1e-9);
}

#[test]
fn a_curve_that_cannot_be_is_refused() {
    let mesh = flat();
    let surface = Surface::new(&mesh).expect("a manifold");
    let two = points(&mesh, &[DVec2::splat(5.0), DVec2::splat(9.0)]);
    let error = curve_through(&surface, &two, true).expect_err("two points close to nothing");
    assert_eq!(error, CurveError::TooFew { least: 3, given: 2 });
    let twice = [two[0], two[1], two[1]];
    let error = curve_through(&surface, &twice, false).expect_err("the same twice");
    assert_eq!(error, CurveError::Same(1, 2));
}

#[test]
fn beside_a_straight_line_runs_a_straight_line() {
    let mesh = flat();
    let surface = Surface::new(&mesh).expect("a manifold");
    let drawn = line(&surface, &[DVec2::new(10.2, 20.1), DVec2::new(50.4, 20.1)]);
    for (flank, up) in [(Flank::Left, 1.0), (Flank::Right, -1.0)] {
        let found = parallel(&surface, &drawn, 7.5, flank).expect("wide enough");
        assert_eq!(found.len(), 1);
        let places = on_plane(&surface, &found[0]);
        // Square beside its ends, and the same way round.
        assert!(places[0].distance(DVec2::new(10.2, 20.1 + 7.5 * up)) < 0.01, "{}", places[0]);
        let last = places[places.len() - 1];
        assert!(last.distance(DVec2::new(50.4, 20.1 + 7.5 * up)) < 0.01, "{last}");
        // The drawn line is cut in at whole millionths of the triangles' sides.
        let inner = places[1..places.len() - 1].iter();
        assert!(inner.clone().all(|p| (p.y - 20.1 - 7.5 * up).abs() < 3e-6), "{places:?}");
    }
}

/// Round the outside of a square corner an arc, on its inside a sharp corner: trimmed.
#[test]
fn a_corner_is_rounded_outside_and_trimmed_inside() {
    let mesh = flat();
    let surface = Surface::new(&mesh).expect("a manifold");
    let corner = DVec2::new(30.3, 20.4);
    let bent = [corner - DVec2::X * 18.0, corner, corner - DVec2::Y * 15.0];
    let drawn = line(&surface, &bent);
    let outer = &parallel(&surface, &drawn, 6.0, Flank::Left).expect("wide enough")[0];
    assert!((outer.length(&mesh) - (18.0 + 15.0 + 3.0 * PI)).abs() < 0.02);
    let inner = &parallel(&surface, &drawn, 6.0, Flank::Right).expect("wide enough")[0];
    assert!((inner.length(&mesh) - (12.0 + 9.0)).abs() < 0.2, "{}", inner.length(&mesh));
    for (path, tolerance) in [(outer, 0.004), (inner, 0.1)] {
        for p in on_plane(&surface, path) {
            assert!((off(&bent, p) - 6.0).abs() < tolerance, "{p}");
        }
    }
}

/// Into a hollow tighter than the distance: two branches meet, and nothing lies nearer.
#[test]
fn a_tight_hollow_is_trimmed() {
    let mesh = flat();
    let surface = Surface::new(&mesh).expect("a manifold");
    let hollow: Vec<DVec2> = (0..=40)
        .map(|i| f64::from(i) - 20.0)
        .map(|x| DVec2::new(30.0 + x, 8.0 + 18.0 * (1.0 - (-x * x / 18.0).exp())))
        .collect();
    let drawn = line(&surface, &hollow);
    let found = parallel(&surface, &drawn, 7.0, Flank::Left).expect("wide enough");
    assert_eq!(found.len(), 1);
    for p in on_plane(&surface, &found[0]) {
        assert!((off(&hollow, p) - 7.0).abs() < 0.004, "{}", off(&hollow, p));
    }
}

/// From rim to rim, the parallel line runs from rim to rim.
#[test]
fn beside_a_line_across_the_sheet_runs_one_across_the_sheet() {
    let mesh = flat();
    let surface = Surface::new(&mesh).expect("a manifold");
    let slant = [DVec2::new(10.0, 0.0), DVec2::new(40.0, 40.0)];
    let drawn = line(&surface, &slant);
    let found = parallel(&surface, &drawn, 5.0, Flank::Right).expect("wide enough");
    assert_eq!(found.len(), 1);
    let places = on_plane(&surface, &found[0]);
    assert!(places[0].y < 1e-9 && (places[places.len() - 1].y - 40.0).abs() < 1e-9);
    for p in places {
        assert!((off(&slant, p) - 5.0).abs() < 0.004);
    }
}

#[test]
fn no_line_where_the_surface_ends_before() {
    let mesh = flat();
    let surface = Surface::new(&mesh).expect("a manifold");
    let drawn = line(&surface, &[DVec2::new(0.0, 20.0), DVec2::new(60.0, 20.0)]);
    assert_eq!(parallel(&surface, &drawn, 20.5, Flank::Left), Err(ParallelError::Nowhere(20.5)));
    for wrong in [0.0, -3.0, f64::INFINITY] {
        let error = parallel(&surface, &drawn, wrong, Flank::Left);
        assert_eq!(error, Err(ParallelError::Distance(wrong)));
    }
    let error = parallel(&surface, &drawn, f64::NAN, Flank::Left).expect_err("no length");
    assert!(error.to_string().contains("NaN"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// Flat or rolled up, the curve is the same: it depends on lengths in the surface only.
    #[test]
    fn a_curve_is_the_same_on_the_flat_and_on_the_roll(
        heights in prop::collection::vec(12.0..28.0f64, 5), closed in proptest::bool::ANY,
    ) {
        let flat_mesh = flat_in(2);
        let mut roll = flat_mesh.clone();
        for p in &mut roll.positions {
            *p = rolled(p.truncate());
        }
        let mut through: Vec<DVec2> =
            heights.iter().enumerate().map(|(i, y)| DVec2::new(8.0 + 11.0 * i as f64, *y)).collect();
        if closed {
            through = through.iter().map(|p| DVec2::new(p.x, 5.0 + (p.y - 12.0) / 3.0)).collect();
            through.push(DVec2::new(45.0, 33.0));
            through.push(DVec2::new(15.0, 32.0));
        }
        let given = points(&flat_mesh, &through);
        let (even, round) = (
            Surface::new(&flat_mesh).expect("a manifold"),
            Surface::new(&roll).expect("a manifold"),
        );
        let one = curve_through(&even, &given, closed).expect("joined");
        let two = curve_through(&round, &given, closed).expect("joined");
        // The curve passes each given point, and turns there without a leap.
        for (point, along) in given.iter().zip(&one.at_points) {
            prop_assert!(one.place(*along).distance(point.position(&flat_mesh)) < 1e-9);
            let turn = one.direction(along - 1e-6).angle_between(one.direction(along + 1e-6));
            prop_assert!(turn < 1e-4, "{turn}");
        }
        prop_assert!((two.length() / one.length() - 1.0).abs() < 1e-3);
        let mut drawn = on_plane(&even, &one.path);
        drawn.extend(closed.then(|| drawn[0]));
        for point in &two.path.points {
            let q = point.position(&roll);
            let p = DVec2::new(q.y.atan2(q.x).rem_euclid(TAU) * 20.0, q.z);
            prop_assert!(off(&drawn, p) < 0.05, "{} mm apart", off(&drawn, p));
        }
    }
}
