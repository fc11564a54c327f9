//! A moved surface is at its distance, does not pass through itself, and keeps its triangles.

#![allow(clippy::unwrap_used, reason = "a test may fail so")]

mod shapes;

use std::f64::consts::PI;

use geometry::mesh::TriMesh;
use geometry::mesh::crossed::crossed;
use geometry::surface::{Closest, Offset, Surface, offset};
use geometry::warned::Warned;
use glam::{DVec2, DVec3};
use proptest::prelude::*;

/// What the averaged normals reach in these tests, mm.
const REACH: f64 = 5.0;

/// Moves, and checks everything that must always hold: each vertex at its distance within 0.02 mm
/// and on its side, no crossing, no triangle without area. The triangles may miss the distance by
/// `sagitta` mm between their corners.
fn moved(mesh: &TriMesh, distance: f64, sagitta: f64) -> Warned<Offset> {
    let outcome = offset(mesh, distance, REACH);
    let Offset { mesh: out, error, folded, .. } = &outcome.value;
    assert_eq!(out.triangles, mesh.triangles);
    assert_eq!(*folded, [] as [u32; 0]);
    assert_eq!(crossed(out), None);
    assert!(*error < 0.02, "{error}");
    let closest = Closest::new(mesh);
    let surface = Surface::new(mesh).unwrap();
    for p in &out.positions {
        let foot = closest.to(*p, 0.0).unwrap();
        let off = *p - foot.position(mesh);
        assert!((off.length() - distance.abs()).abs() < 0.02, "{p}: {}", off.length());
        let toward = surface.normal(&foot);
        assert!(off.dot(toward) * distance > 0.0, "{p} is on the wrong side");
    }
    for face in 0..out.triangles.len() as u32 {
        let [a, b, c] = out.corners(face);
        for p in [(a + b + c) / 3.0, (a + b) / 2.0, (b + c) / 2.0, (c + a) / 2.0] {
            let far = closest.to(p, 0.0).unwrap().position(mesh).distance(p);
            let miss = (far - distance.abs()).abs();
            assert!(miss < sagitta, "triangle {face} misses by {miss} at {p}");
        }
    }
    outcome
}

/// A grid of places, outward up when the first coordinate runs to +x and the second to +y.
fn grid(n: usize, m: usize, at: impl Fn(usize, usize) -> DVec3) -> TriMesh {
    let positions = (0..n).flat_map(|i| (0..m).map(move |j| (i, j))).map(|(i, j)| at(i, j));
    let mut mesh = TriMesh { positions: positions.collect(), triangles: Vec::new() };
    for (i, j) in (0..n - 1).flat_map(|i| (0..m - 1).map(move |j| (i, j))) {
        let [a, b] = [i, i + 1].map(|i| (i * m + j) as u32);
        let halves = if (i + j) % 2 == 0 {
            [[a, b, b + 1], [a, b + 1, a + 1]]
        } else {
            [[a, b, a + 1], [b, b + 1, a + 1]]
        };
        mesh.triangles.extend(halves);
    }
    mesh
}

/// A profile in x and z drawn 16 mm along y.
fn swept(profile: &[DVec2]) -> TriMesh {
    grid(profile.len(), 21, |i, j| DVec3::new(profile[i].x, 0.8 * j as f64, profile[i].y))
}

/// Two flanks of 15 mm and a round between them that turns by `turn` degrees: hollow when positive,
/// sharp when the radius is 0.
fn bend(turn: f64, radius: f64) -> TriMesh {
    let half = turn.abs().to_radians() / 2.0;
    let steps = if radius == 0.0 { 0 } else { (2.0 * half * radius / 0.7).ceil() as usize + 1 };
    let round = |i: usize| {
        let angle = if steps == 0 { 0.0 } else { half * (2.0 * i as f64 / steps as f64 - 1.0) };
        radius * DVec2::new(angle.sin(), -angle.cos())
    };
    let way = DVec2::from_angle(half);
    let out = |s: usize| way * (0.75 * s as f64);
    let left = (1..=20).rev().map(|s| round(0) + out(s) * DVec2::new(-1.0, 1.0));
    let right = (1..=20).map(|s| round(steps) + out(s));
    let profile = left.chain((0..=steps).map(round)).chain(right);
    let up = DVec2::new(1.0, turn.signum());
    swept(&profile.map(|p| p * up).collect::<Vec<_>>())
}

#[test]
fn cylinder_cone_and_ball_move_to_wider_and_narrower_ones() {
    let cylinder = grid(48, 21, |i, j| {
        let (s, c) = (0.05 * (i as f64 - 23.5)).sin_cos();
        DVec3::new(20.0 * s, j as f64, 20.0 * c)
    });
    let radius = |p: &DVec3| DVec2::new(p.x, p.z).length();
    let cone = grid(40, 40, |i, j| {
        let (s, c) = (0.05 * (i as f64 - 19.5)).sin_cos();
        let along = 15.0 + j as f64;
        along * DVec3::new(0.342 * s, 0.94, 0.342 * c)
    });
    // From the axis, across the slope: r cos - y sin is the distance from the cone.
    let slope = |p: &DVec3| (radius(p) * 0.94 - p.y * 0.342) / 1.000_6_f64.sqrt();
    let ball = shapes::ball(20.0, 4);
    for distance in [2.5, -2.5] {
        // The facets lie up to 0.007 mm inside the round.
        for p in &moved(&cylinder, distance, 0.012).value.mesh.positions {
            assert!((radius(p) - 20.0 - distance).abs() < 0.01, "{p}");
        }
        for p in &moved(&cone, distance, 0.02).value.mesh.positions {
            // Beside the rims the nearest place may be on them.
            let inner = p.y > 17.0 && p.y < 50.0 && p.x.abs() < 0.8 * radius(p);
            assert!(!inner || (slope(p) - distance).abs() < 0.01, "{p}: {}", slope(p));
        }
        let round = moved(&ball, distance, 0.12).value;
        assert_eq!(round.tight, []);
        for p in &round.mesh.positions {
            assert!((p.length() - 20.0 - distance).abs() < 0.01, "{p}");
        }
    }
}

#[test]
fn a_hollow_wider_than_the_distance_stays_round() {
    for turn in [60.0, 90.0, 120.0] {
        let outcome = moved(&bend(turn, 4.0), 2.5, 0.03);
        assert_eq!(outcome.warnings, []);
    }
}

/// The two flanks meet in a crease, which a chain of vertices runs along: no triangle bridges it.
#[test]
fn a_hollow_tighter_than_the_distance_gets_a_crease() {
    for turn in [60.0, 90.0, 120.0_f64] {
        for radius in [0.0, 1.0, 2.0] {
            let outcome = moved(&bend(turn, radius), 2.5, 0.05);
            let half = turn.to_radians() / 2.0;
            // From the middle of the round: the flanks' distance is 2.5 - radius there.
            let crease = (2.5 - radius) / half.cos();
            let on = |p: &&DVec3| p.x.abs() < 0.02 && (p.z - crease).abs() < 0.02;
            let count = outcome.value.mesh.positions.iter().filter(on).count();
            assert!(count >= 21, "{turn} {radius}: {count} vertices on the crease");
            let [tight] = outcome.value.tight[..] else { panic!("{:?}", outcome.value.tight) };
            assert!(tight.place.x.abs() < 0.5 && (tight.place.y - 8.0).abs() < 0.5, "{tight:?}");
            assert_eq!(outcome.warnings.len(), 1);
            assert!(outcome.warnings[0].message.contains("more tightly than the 2.5 mm"));
        }
    }
}

#[test]
fn the_inside_of_a_ridge_is_a_hollow() {
    for radius in [0.0, 2.0, 4.0] {
        let ridge = bend(-90.0, radius);
        assert_eq!(moved(&ridge, 2.5, 0.08).value.tight, []);
        assert_eq!(moved(&ridge, -2.5, 0.03).value.tight.len(), usize::from(radius < 2.5));
    }
}

/// A slot 1 mm wide and 6 mm deep under what lies 2.5 mm above it: the plane is bridged.
#[test]
fn a_slot_is_bridged() {
    let corners = [(-12.0, 0.0), (-0.5, 0.0), (-0.5, -6.0), (0.5, -6.0), (0.5, 0.0), (12.0, 0.0)]
        .map(DVec2::from);
    let mut profile = vec![corners[0]];
    for side in corners.windows(2) {
        let n = (side[0].distance(side[1]) / 0.7).ceil();
        profile.extend((1..=n as u32).map(|i| side[0].lerp(side[1], f64::from(i) / n)));
    }
    let outcome = moved(&swept(&profile), 2.5, 0.06);
    let [tight] = outcome.value.tight[..] else { panic!("{:?}", outcome.value.tight) };
    // Both walls and the floor, 16 mm long, are 208 mm².
    assert!(tight.area > 190.0, "{tight:?}");
    for p in &outcome.value.mesh.positions {
        // Between two edges 1 mm apart the surface sinks by 0.05 mm.
        assert!((p.z - 2.5).abs() < 0.06, "{p}");
    }
}

/// Hollow round a tube of radius 2 in one direction, and round a ring of 12 in the other.
#[test]
fn a_saddle_tighter_one_way_is_unfolded() {
    let saddle = grid(14, 45, |i, j| {
        let (s, c) = (0.2 * (i as f64 - 6.5)).sin_cos();
        let (t, d) = (0.05 * (j as f64 - 22.0)).sin_cos();
        let r = 12.0 - 2.0 * c;
        DVec3::new(2.0 * s, r * t, r * d)
    });
    let outcome = moved(&saddle, 2.5, 0.06);
    assert_eq!(outcome.value.tight.len(), 1);
    assert_eq!(moved(&saddle, -2.5, 0.06).value.tight, []);
}

/// 0.1 mm of noise: the moved surface is smoother than the scan, and nothing is called too tight.
#[test]
fn noise_is_bridged_and_not_taken_for_hollows() {
    let mut state = 1_u64;
    let mut even = || {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1_u64 << 53) as f64
    };
    let mut normal = || (-2.0 * (1.0 - even()).ln()).sqrt() * (2.0 * PI * even()).cos();
    let noise: Vec<f64> = (0..40 * 40).map(|_| 0.1 * normal()).collect();
    let plane = grid(40, 40, |i, j| DVec3::new(0.7 * i as f64, 0.7 * j as f64, noise[40 * i + j]));
    for distance in [2.5, -2.5] {
        let outcome = moved(&plane, distance, 0.4);
        assert_eq!(outcome.warnings, []);
        let rough = |mesh: &TriMesh| {
            let heights: Vec<f64> = mesh.positions.iter().map(|p| p.z).collect();
            let mean = heights.iter().sum::<f64>() / heights.len() as f64;
            (heights.iter().map(|h| (h - mean).powi(2)).sum::<f64>() / heights.len() as f64).sqrt()
        };
        let (before, after) = (rough(&plane), rough(&outcome.value.mesh));
        assert!(after < 0.75 * before, "{after} of {before}");
        let out = &outcome.value.mesh;
        let area = |mesh: &TriMesh| shapes::area(mesh);
        assert!(area(out) < area(&plane), "{} of {}", area(out), area(&plane));
    }
}

#[test]
fn what_is_no_distance_moves_nothing() {
    let sheet = shapes::sheet(4, 4);
    for (distance, told) in [(0.0, 0), (f64::NAN, 1), (f64::INFINITY, 1)] {
        let outcome = offset(&sheet, distance, REACH);
        assert_eq!(outcome.value.mesh, sheet);
        assert_eq!(outcome.warnings.len(), told);
    }
    assert_eq!(offset(&TriMesh::default(), 1.0, REACH).warnings, []);
}

/// A ball of radius 2 has nothing 2.5 mm inside it: said, not pretended.
#[test]
fn what_cannot_be_reached_is_told() {
    let outcome = offset(&shapes::ball(2.0, 3), -2.5, REACH);
    assert!(outcome.value.error > 0.02);
    assert!(outcome.warnings.iter().any(|w| w.message.contains("off its distance")));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn bumpy_surfaces_are_moved_without_crossing(
        bumps in prop::collection::vec((0.0..24.0, 0.0..24.0, -2.5..2.5, 2.5..5.0), 1..20),
        distance in prop_oneof![1.0..3.0, -3.0..-1.0],
    ) {
        let height = |p: DVec2| -> f64 {
            let bump = |(x, y, h, w): &(f64, f64, f64, f64)| {
                h * (-p.distance_squared(DVec2::new(*x, *y)) / (w * w)).exp()
            };
            bumps.iter().map(bump).sum()
        };
        let mesh = grid(37, 37, |i, j| {
            let p = DVec2::new(i as f64, j as f64) / 1.5;
            p.extend(height(p))
        });
        moved(&mesh, distance, 0.3);
    }
}
