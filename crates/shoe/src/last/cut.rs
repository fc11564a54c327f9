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
