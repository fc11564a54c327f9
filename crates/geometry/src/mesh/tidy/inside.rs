//! Whether one body lies inside another.

use glam::DVec3;

use crate::mesh::TriMesh;
use crate::mesh::bodies::only;
use crate::mesh::orient::orient_outward;

/// Whether `inner` lies inside `outer`: by the box around them, and by the winding number of
/// `outer` (A. Jacobson, L. Kavan, O. Sorkine-Hornung 2013, generalised to open surfaces, eq. 5)
/// around a point of `inner`.
pub(super) fn lies_inside(mesh: &TriMesh, inner: &[u32], outer: &[u32]) -> bool {
    let outer = orient_outward(&only(mesh, outer)).mesh;
    let inner = only(mesh, inner);
    let (Some((low, high)), Some((inner_low, inner_high))) = (outer.bounds(), inner.bounds())
    else {
        return false;
    };
    let in_box = inner_low.cmpge(low).all() && inner_high.cmple(high).all();
    in_box && winding_number(&outer, inner.positions[0]) > 0.5
}

/// How often the surface goes round `point`: 1 inside a closed outward surface, 0 outside.
fn winding_number(mesh: &TriMesh, point: DVec3) -> f64 {
    let angles = (0..mesh.triangles.len() as u32).map(|face| {
        // Solid angle of a triangle: A. van Oosterom, J. Strackee 1983.
        let [a, b, c] = mesh.corners(face).map(|p| p - point);
        let (la, lb, lc) = (a.length(), b.length(), c.length());
        let below = la * lb * lc + a.dot(b) * lc + b.dot(c) * la + c.dot(a) * lb;
        2.0 * a.dot(b.cross(c)).atan2(below)
    });
    angles.sum::<f64>() / (4.0 * std::f64::consts::PI)
}
