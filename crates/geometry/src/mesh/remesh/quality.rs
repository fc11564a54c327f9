//! What came out: angles, and how far two surfaces lie apart.

use glam::DVec3;

use super::super::TriMesh;
use crate::surface::Closest;

/// The least angle of any triangle, degrees; 0 where one has no area, 180 for an empty mesh.
pub fn least_angle(mesh: &TriMesh) -> f64 {
    let least = |face: u32| {
        let c = mesh.corners(face);
        let angle = |k: usize| (c[(k + 1) % 3] - c[k]).angle_between(c[(k + 2) % 3] - c[k]);
        let angles = [0, 1, 2].map(angle);
        if angles.iter().all(|a| a.is_finite()) {
            angles.into_iter().fold(f64::INFINITY, f64::min).to_degrees()
        } else {
            0.0
        }
    };
    (0..mesh.triangles.len() as u32).map(least).fold(180.0, f64::min)
}

/// The largest distance found between two surfaces, mm: from the vertices and centres of each to
/// the other. 0 where one has no triangles.
pub fn apart(one: &TriMesh, other: &TriMesh) -> f64 {
    from_to(one, other).max(from_to(other, one))
}

fn from_to(from: &TriMesh, to: &TriMesh) -> f64 {
    let closest = Closest::new(to);
    let centers =
        (0..from.triangles.len() as u32).map(|f| from.corners(f).iter().sum::<DVec3>() / 3.0);
    let corners = from.triangles.iter().flatten();
    let mut used = vec![false; from.positions.len()];
    corners.for_each(|v| used[*v as usize] = true);
    let vertices = from.positions.iter().zip(&used).filter(|(_, used)| **used).map(|(p, _)| *p);
    vertices
        .chain(centers)
        .filter_map(|p| closest.to(p, 0.0).map(|q| q.position(to).distance(p)))
        .fold(0.0, f64::max)
}
