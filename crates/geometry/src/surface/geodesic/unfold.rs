//! Triangles laid flat, one beside the other.

use glam::DVec2;

use crate::mesh::TriMesh;
use crate::mesh::adjacency::Side;
use crate::surface::Surface;

/// A triangle seen from one of its sides, which runs from the origin along x; its third corner
/// lies above.
#[derive(Debug, Clone, Copy)]
pub(super) struct Laid {
    /// Length of the side, mm.
    pub(super) length: f64,
    /// The third corner, mm.
    pub(super) apex: DVec2,
}

/// Lays the triangle of `side` down on that side. A side without length is laid as one.
pub(super) fn lay(mesh: &TriMesh, side: Side) -> Laid {
    let corners = mesh.corners(side.face);
    let k = side.k as usize;
    let (a, b, c) = (corners[k], corners[(k + 1) % 3], corners[(k + 2) % 3]);
    let (along, up) = (b - a, c - a);
    let length = along.length();
    if length == 0.0 {
        return Laid { length, apex: DVec2::new(0.0, up.length()) };
    }
    Laid { length, apex: DVec2::new(up.dot(along), along.cross(up).length()) / length }
}

/// The angle of `face` at its corner `k`, radians.
pub(super) fn corner_angle(mesh: &TriMesh, face: u32, k: usize) -> f64 {
    let corners = mesh.corners(face);
    let (u, v) = (corners[(k + 1) % 3] - corners[k], corners[(k + 2) % 3] - corners[k]);
    u.cross(v).length().atan2(u.dot(v))
}

/// The sum of the angles around a vertex, radians.
pub(super) fn angle_around(surface: &Surface<'_>, vertex: u32) -> f64 {
    let mesh = surface.mesh;
    let at = |f: u32| mesh.triangles[f as usize].iter().position(|v| *v == vertex);
    let faces = surface.faces_around(vertex).iter();
    faces.filter_map(|f| at(*f).map(|k| corner_angle(mesh, *f, k))).sum()
}

/// Whether the surface ends at a vertex.
pub(super) fn on_rim(surface: &Surface<'_>, vertex: u32) -> bool {
    surface.faces_around(vertex).iter().any(|face| {
        let t = surface.mesh.triangles[*face as usize];
        (0..3_u8).any(|k| {
            let ends = [t[k as usize], t[(k as usize + 1) % 3]];
            ends.contains(&vertex) && surface.adjacency().across(Side { face: *face, k }).is_none()
        })
    })
}

/// The third corner of a triangle that stands on the left of the way from `a` to `b`.
pub(super) fn apex_on(laid: Laid, a: DVec2, b: DVec2) -> DVec2 {
    let along = (b - a).normalize_or(DVec2::X);
    a + along * laid.apex.x + along.perp() * laid.apex.y
}
