//! The nearest point of a surface to a point in space.

use glam::DVec3;
use parry3d_f64::query::PointQueryWithLocation;
use parry3d_f64::shape::{TriMesh as ParryMesh, TrianglePointLocation};

use super::SurfacePoint;
use crate::mesh::TriMesh;

/// Finds nearest points on one mesh.
pub struct Closest<'m> {
    mesh: &'m TriMesh,
    tree: Option<ParryMesh>,
}

impl<'m> Closest<'m> {
    /// Prepares the search.
    pub fn new(mesh: &'m TriMesh) -> Self {
        let tree = ParryMesh::new(mesh.positions.clone(), mesh.triangles.clone()).ok();
        Self { mesh, tree }
    }

    /// The point of the surface nearest to `place`, or `None` for a mesh without triangles or a
    /// place that is no number. Barycentric weights below `snap` count as nothing. Of several
    /// nearest points it is any one, the same each time.
    pub fn to(&self, place: DVec3, snap: f64) -> Option<SurfacePoint> {
        if !place.is_finite() {
            return None;
        }
        let tree = self.tree.as_ref()?;
        let (_, (face, location)) = tree.project_local_point_and_get_location(place, false);
        let weights = match location {
            TrianglePointLocation::OnVertex(i) => {
                let mut w = [0.0; 3];
                w[i as usize % 3] = 1.0;
                w
            }
            TrianglePointLocation::OnEdge(0, [a, b]) => [a, b, 0.0],
            TrianglePointLocation::OnEdge(1, [b, c]) => [0.0, b, c],
            TrianglePointLocation::OnEdge(_, [a, c]) => [a, 0.0, c],
            TrianglePointLocation::OnFace(_, w) => w,
            TrianglePointLocation::OnSolid => return None,
        };
        Some(SurfacePoint::in_face(self.mesh, face, weights, snap))
    }
}
