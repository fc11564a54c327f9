//! The mesh of a built last: closed, evenly triangled, sharp where it should be and nowhere
//! else.

use geometry::mesh::TriMesh;
use geometry::mesh::adjacency::{Adjacency, Side};
use glam::{DVec2, DVec3};
use shoe::last::build::{BuiltLast, Foot, LastMeasures, build_last};

fn asked(sll: f64, heel_height: f64, edge_radius: f64) -> LastMeasures {
    LastMeasures { heel_height, edge_radius, ..LastMeasures::for_size(sll, Foot::Right) }
}

/// The bend in degrees and the middle of every edge.
fn bends(mesh: &TriMesh) -> Vec<(f64, DVec3)> {
    let adjacency = Adjacency::new(mesh).expect("built meshes are manifold");
    let mut bends = Vec::new();
    for face in 0..mesh.triangles.len() as u32 {
        for k in 0..3u8 {
            let other = adjacency.across(Side { face, k }).expect("built meshes are closed").face;
            if face < other {
                let bend = mesh.area_vector(face).angle_between(mesh.area_vector(other));
                let c = mesh.corners(face);
                bends.push((bend.to_degrees(), (c[k as usize] + c[(k as usize + 1) % 3]) / 2.0));
            }
        }
    }
    bends
}

fn distance(line: &[DVec3], p: DVec3) -> f64 {
    line.iter().map(|q| q.distance_squared(p)).fold(f64::MAX, f64::min).sqrt()
}

#[test]
fn the_mesh_is_closed_outward_and_well_shaped() {
    for measures in [
        asked(240.0, 10.0, 0.0),
        asked(240.0, 60.0, 5.0),
        asked(270.0, 25.0, 0.0),
        asked(270.0, 25.0, 2.0),
        asked(306.0, 10.0, 5.0),
        asked(306.0, 60.0, 0.0),
    ] {
        let BuiltLast { mesh, .. } = build_last(&measures).unwrap();
        let adjacency = Adjacency::new(&mesh).unwrap();
        assert!(adjacency.boundary_loops(&mesh).is_empty());
        // A sphere: V - E + F = 2.
        let faces = mesh.triangles.len();
        assert_eq!(mesh.positions.len() + faces, faces * 3 / 2 + 2);
        assert!(mesh.signed_volume() > 4e5, "{}", mesh.signed_volume());
        // A rounding is divided evenly all round, so that its strips are narrow where the edge
        // bends least.
        let (mut worst, mut slim, mut sum, mut longest) = (f64::MAX, 0, 0.0, 0.0_f64);
        for face in 0..faces as u32 {
            let c = mesh.corners(face);
            let least = (0..3)
                .map(|k| (c[(k + 1) % 3] - c[k]).angle_between(c[(k + 2) % 3] - c[k]).to_degrees())
                .fold(f64::MAX, f64::min);
            worst = worst.min(least);
            slim += usize::from(least < 25.0);
            for k in 0..3 {
                let length = c[k].distance(c[(k + 1) % 3]);
                sum += length;
                longest = longest.max(length);
            }
        }
        let mean = sum / (3 * faces) as f64;
        assert!(worst > 12.0, "least angle {worst}; {measures:?}");
        assert!(slim * 200 < faces, "{slim} of {faces} below 25 degrees; {measures:?}");
        assert!((mean - 2.5).abs() < 0.2, "mean edge {mean}; {measures:?}");
        assert!(longest < 4.5, "longest edge {longest}; {measures:?}");
    }
}

#[test]
fn a_sharp_feather_edge_runs_along_mesh_edges() {
    for heel in [10.0, 25.0, 60.0] {
        let built = build_last(&asked(270.0, heel, 0.0)).unwrap();
        let line = &built.truth.feather_line;
        let run: f64 = (0..line.len()).map(|i| line[i].distance(line[(i + 1) % line.len()])).sum();
        let sharp: Vec<f64> = bends(&built.mesh)
            .into_iter()
            .filter(|(bend, middle)| *bend > 50.0 && distance(line, *middle) < 0.5)
            .map(|(bend, _)| bend)
            .collect();
        // One sharp edge for each step of the resolution: the whole round is sharp.
        assert!((sharp.len() as f64 - run / 2.5).abs() < 4.0, "{} over {run} mm", sharp.len());
        let least = sharp.iter().fold(f64::MAX, |a, &b| a.min(b));
        let most = sharp.iter().fold(0.0, |a: f64, &b| a.max(b));
        assert!(least > 60.0 && most < 100.0, "bends {least} to {most} at heel {heel}");
    }
}

/// Away from the feather edge and the rim of the flat top no edge bends by more than its share
/// of a radius of 5 mm, at any heel.
#[test]
fn nothing_else_is_creased() {
    for heel in [10.0, 25.0, 60.0, 80.0] {
        let built = build_last(&asked(255.0, heel, 0.0)).unwrap();
        let line = &built.truth.feather_line;
        for (bend, middle) in bends(&built.mesh) {
            if bend > 16.0 && middle.z < built.truth.top_back.z - 0.5 {
                assert!(distance(line, middle) < 3.0, "{bend} at {middle}, heel {heel}");
            }
        }
    }
}

#[test]
fn a_rounded_edge_has_its_radius() {
    has_its_radius(2.0);
}

#[test]
fn a_widely_rounded_edge_has_its_radius() {
    has_its_radius(5.0);
}

fn has_its_radius(radius: f64) {
    let fine = LastMeasures { resolution: 0.6, ..asked(240.0, 25.0, radius) };
    let built = build_last(&fine).expect("measures that agree");
    let line = &built.truth.feather_line;
    for (bend, middle) in bends(&built.mesh) {
        assert!(bend < 35.0 || distance(line, middle) > radius, "{bend} at {middle}");
    }
    let near: Vec<DVec2> =
        section_at_seat(&built.mesh).into_iter().filter(|p| p.length() < 0.5 * radius).collect();
    let fitted = circle_radius(&near);
    assert!((fitted - radius).abs() < 0.05 * radius, "{fitted} for {radius}");
    // The feather line is the middle of the rounding: the seat point lies on it.
    let nearest = near.iter().map(|p| p.length()).fold(f64::MAX, f64::min);
    assert!(nearest < 0.05, "{nearest}");
}

/// The section by y = 0, as points (x, z).
fn section_at_seat(mesh: &TriMesh) -> Vec<DVec2> {
    let mut points = Vec::new();
    for face in 0..mesh.triangles.len() as u32 {
        let c = mesh.corners(face);
        for k in 0..3 {
            let (p, q) = (c[k], c[(k + 1) % 3]);
            if (p.y < 0.0) != (q.y < 0.0) {
                let at = p + (q - p) * (p.y / (p.y - q.y));
                points.push(DVec2::new(at.x, at.z));
            }
        }
    }
    points
}

/// Radius of the circle nearest to `points` (algebraic least squares after Kåsa, 1976).
fn circle_radius(points: &[DVec2]) -> f64 {
    let n = points.len() as f64;
    let mean = points.iter().sum::<DVec2>() / n;
    let (mut xx, mut xy, mut yy, mut right, mut square) = (0.0, 0.0, 0.0, DVec2::ZERO, 0.0);
    for p in points {
        let d = *p - mean;
        let s = d.length_squared();
        xx += d.x * d.x;
        xy += d.x * d.y;
        yy += d.y * d.y;
        right += d * s / 2.0;
        square += s / n;
    }
    let centre =
        DVec2::new(right.x * yy - right.y * xy, right.y * xx - right.x * xy) / (xx * yy - xy * xy);
    (centre.length_squared() + square).sqrt()
}

/// What makes a wall ripple is bending that changes sign again and again: round the back of
/// the heel, and up the middle of the back, it changes at most once on a last.
#[test]
fn the_heel_has_no_ripples() {
    let fine = LastMeasures { resolution: 2.0, ..asked(270.0, 25.0, 0.0) };
    let built = build_last(&fine).unwrap();
    let back: Vec<DVec2> = built.truth.back_line.iter().map(|p| DVec2::new(p.x, p.z)).collect();
    let bends: Vec<f64> = back
        .windows(3)
        .map(|w| {
            let (u, v) = (w[1] - w[0], w[2] - w[1]);
            u.angle_to(v) / ((u.length() + v.length()) / 2.0)
        })
        .collect();
    let mut signs: Vec<bool> = bends.iter().filter(|b| b.abs() > 5e-4).map(|b| *b > 0.0).collect();
    signs.dedup();
    assert!(signs.len() <= 3, "the back line bends {} ways", signs.len());
    // No jump in bending from one point to the next: C2.
    let jump = bends.windows(2).map(|w| (w[1] - w[0]).abs()).fold(0.0, f64::max);
    assert!(jump < 0.002, "bending jumps by {jump} per mm");
}
