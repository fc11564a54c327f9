//! A plane through the surface as loose segments, and the taut tape around them.
//!
//! Every triangle is looked at: it asks nothing of the mesh, which may be open, doubled or in
//! any order, and the segments are what any other program finds in the same plane.

use glam::{DVec2, DVec3};

use geometry::mesh::TriMesh;

/// The straight pieces in which the plane through `origin` square to `normal` cuts `mesh`.
///
/// A vertex in the plane counts as lying on the side of the normal.
pub(super) fn cut(mesh: &TriMesh, origin: DVec3, normal: DVec3) -> Vec<[DVec3; 2]> {
    let heights: Vec<f64> = mesh.positions.iter().map(|p| (*p - origin).dot(normal)).collect();
    let mut pieces = Vec::new();
    for triangle in &mesh.triangles {
        let [a, b, c] = triangle.map(|v| heights[v as usize] >= 0.0);
        if a == b && b == c {
            continue;
        }
        let mut ends = [DVec3::ZERO; 2];
        let mut found = 0;
        for k in 0..3 {
            // The smaller index first, so that both neighbours of an edge find the same point.
            let (i, j) = (triangle[k], triangle[(k + 1) % 3]);
            let (i, j) = (i.min(j) as usize, i.max(j) as usize);
            let (hi, hj) = (heights[i], heights[j]);
            if (hi >= 0.0) != (hj >= 0.0) && found < 2 {
                ends[found] = mesh.positions[i].lerp(mesh.positions[j], hi / (hi - hj));
                found += 1;
            }
        }
        pieces.push(ends);
    }
    pieces
}

/// The corners of a taut tape round `points`, which lie in one plane square to `normal`: their
/// convex hull, counter-clockwise seen from the tip of the normal. It bridges hollows.
pub(super) fn taut(points: impl Iterator<Item = DVec3>, normal: DVec3) -> Vec<DVec3> {
    let e1 = normal.any_orthogonal_vector().normalize_or_zero();
    let e2 = normal.normalize_or_zero().cross(e1);
    let mut flat: Vec<(DVec2, DVec3)> =
        points.map(|p| (DVec2::new(p.dot(e1), p.dot(e2)), p)).collect();
    flat.sort_by(|(a, _), (b, _)| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    flat.dedup_by(|a, b| a.0 == b.0);
    // Andrew's monotone chain (1979).
    let chain = |points: &mut dyn Iterator<Item = (DVec2, DVec3)>| -> Vec<(DVec2, DVec3)> {
        let mut out: Vec<(DVec2, DVec3)> = Vec::new();
        for p in points {
            while let [.., a, b] = out[..] {
                if (b.0 - a.0).perp_dot(p.0 - b.0) > 0.0 {
                    break;
                }
                out.pop();
            }
            out.push(p);
        }
        out.pop();
        out
    };
    let mut hull = chain(&mut flat.iter().copied());
    hull.extend(chain(&mut flat.iter().rev().copied()));
    hull.into_iter().map(|(_, p)| p).collect()
}

/// Length of a closed line through `corners`.
pub(super) fn around(corners: &[DVec3]) -> f64 {
    (0..corners.len()).map(|i| corners[i].distance(corners[(i + 1) % corners.len()])).sum()
}

/// The heights of `mesh` straight above and below (x, y): lowest and highest. `None` where it
/// has nothing there.
pub(super) fn heights_at(mesh: &TriMesh, x: f64, y: f64) -> Option<(f64, f64)> {
    let at = DVec2::new(x, y);
    let mut span: Option<(f64, f64)> = None;
    for f in 0..mesh.triangles.len() as u32 {
        let corners = mesh.corners(f);
        let [a, b, c] = corners.map(|p| p.truncate() - at);
        let weights = [b.perp_dot(c), c.perp_dot(a), a.perp_dot(b)];
        let whole: f64 = weights.iter().sum();
        if whole == 0.0 || weights.iter().any(|w| w * whole < 0.0) {
            continue;
        }
        let z = weights.iter().zip(corners).map(|(w, p)| w * p.z).sum::<f64>() / whole;
        let (low, high) = span.unwrap_or((z, z));
        span = Some((low.min(z), high.max(z)));
    }
    span
}

#[cfg(test)]
mod tests {
    use std::f64::consts::TAU;

    use glam::DMat3;

    use super::*;

    /// The upright walls of a box, open at both ends, 40 x 30 mm, from z = -50 to 50.
    fn walls() -> TriMesh {
        let corners = [(-20.0, -15.0), (20.0, -15.0), (20.0, 15.0), (-20.0, 15.0)];
        let positions =
            [-50.0, 50.0].iter().flat_map(|z| corners.map(|(x, y)| DVec3::new(x, y, *z))).collect();
        let triangles = (0..4u32)
            .flat_map(|k| {
                let next = (k + 1) % 4;
                [[k, next, next + 4], [k, next + 4, k + 4]]
            })
            .collect();
        TriMesh { positions, triangles }
    }

    fn girth(mesh: &TriMesh, origin: DVec3, normal: DVec3) -> f64 {
        around(&taut(cut(mesh, origin, normal).into_iter().flatten(), normal))
    }

    #[test]
    fn a_box_is_girthed_by_its_sides() {
        assert!((girth(&walls(), DVec3::ZERO, DVec3::Z) - 140.0).abs() < 1e-9);
        // Tipped by 60 degrees about y the long sides double.
        let normal = DVec3::new(60.0_f64.to_radians().sin(), 0.0, 60.0_f64.to_radians().cos());
        assert!((girth(&walls(), DVec3::Z * 3.0, normal) - 220.0).abs() < 1e-9);
        // Through vertices, and of any length of the normal.
        assert!((girth(&walls(), DVec3::Z * 50.0, DVec3::Z * 7.0) - 140.0).abs() < 1e-9);
        assert_eq!(girth(&walls(), DVec3::Z * 60.0, DVec3::Z), 0.0, "beside it");
    }

    #[test]
    fn a_tape_bridges_what_is_open() {
        let mut open = walls();
        open.triangles.truncate(4);
        // Two sides are left: the tape closes the triangle.
        let expected = 40.0 + 30.0 + 50.0;
        assert!((girth(&open, DVec3::ZERO, DVec3::Z) - expected).abs() < 1e-9);
    }

    #[test]
    fn a_cylinder_is_girthed_by_its_polygon_in_any_pose() {
        let (n, radius) = (360u32, 35.0);
        let turned = DMat3::from_rotation_x(0.7) * DMat3::from_rotation_y(-1.1);
        let ring = |k: u32, z: f64| {
            let angle = TAU * f64::from(k) / f64::from(n);
            turned * DVec3::new(radius * angle.cos(), radius * angle.sin(), z)
        };
        let positions = (0..n).flat_map(|k| [ring(k, -40.0), ring(k, 40.0)]).collect();
        let triangles = (0..n)
            .flat_map(|k| {
                let (a, b) = (2 * k, 2 * ((k + 1) % n));
                [[a, b, b + 1], [a, b + 1, a + 1]]
            })
            .collect();
        let mesh = TriMesh { positions, triangles };
        let axis = turned * DVec3::Z;
        let expected = TAU * radius;
        assert!((girth(&mesh, axis * 3.0, axis) / expected - 1.0).abs() < 1e-4);
        // Tipped, an ellipse with half axes r and r / cos: Ramanujan's perimeter (1914).
        let tip = 0.5_f64;
        let normal = turned * DVec3::new(tip.sin(), 0.0, tip.cos());
        let (a, b) = (radius / tip.cos(), radius);
        let ellipse = TAU / 2.0 * (3.0 * (a + b) - ((3.0 * a + b) * (a + 3.0 * b)).sqrt());
        assert!((girth(&mesh, DVec3::ZERO, normal) / ellipse - 1.0).abs() < 1e-4);
    }

    #[test]
    fn heights_are_those_of_the_surface() {
        let mut roof = walls();
        for p in &mut roof.positions {
            p.z = 0.1 * p.x + if p.z > 0.0 { 20.0 } else { 0.0 };
        }
        roof.triangles = vec![[0, 2, 1], [0, 3, 2], [4, 5, 6], [4, 6, 7]];
        let (low, high) = heights_at(&roof, 5.0, 3.0).expect("inside");
        assert!((low - 0.5).abs() < 1e-9 && (high - 20.5).abs() < 1e-9);
        assert_eq!(heights_at(&roof, 25.0, 0.0), None);
    }
}
