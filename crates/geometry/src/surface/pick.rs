//! Where a ray from the eye, or a place near a surface, meets it: what a finger points at.

use glam::DVec3;
use parry3d_f64::query::{PointQuery, Ray, RayCast};
use parry3d_f64::shape::TriMesh as ParryMesh;

use crate::mesh::TriMesh;

/// A surface to be pointed at. It keeps its own copy of the triangles.
pub struct Pick {
    tree: Option<ParryMesh>,
}

impl Pick {
    /// Prepares the search.
    pub fn new(mesh: &TriMesh) -> Self {
        Self { tree: ParryMesh::new(mesh.positions.clone(), mesh.triangles.clone()).ok() }
    }

    /// The first place of the surface on the way from `from` in the direction `along`, of any
    /// length but none; `None` where the ray passes by.
    pub fn ray(&self, from: DVec3, along: DVec3) -> Option<DVec3> {
        let along = along.try_normalize().filter(|_| from.is_finite())?;
        let ray = Ray::new(from, along);
        let far = self.tree.as_ref()?.cast_local_ray(&ray, f64::MAX, false)?;
        Some(from + along * far)
    }

    /// The place of the surface nearest to `place`; `None` where there is no surface, or the place
    /// is no number.
    pub fn nearest(&self, place: DVec3) -> Option<DVec3> {
        let tree = self.tree.as_ref().filter(|_| place.is_finite())?;
        Some(tree.project_local_point(place, false).point)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A square of two triangles at z = 1 and one behind it at z = 0.
    fn squares() -> TriMesh {
        let square = |z: f64| {
            [[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [0.0, 2.0]].map(|[x, y]| DVec3::new(x, y, z))
        };
        TriMesh {
            positions: [square(1.0), square(0.0)].concat(),
            triangles: vec![[0, 1, 2], [0, 2, 3], [4, 5, 6], [4, 6, 7]],
        }
    }

    #[test]
    fn the_first_of_two_is_met_from_either_side() {
        let pick = Pick::new(&squares());
        let near = |found: Option<DVec3>, x: f64, y: f64, z: f64| {
            assert!(found.is_some_and(|p| p.distance(DVec3::new(x, y, z)) < 1e-12), "{found:?}");
        };
        near(pick.ray(DVec3::new(0.5, 0.7, 9.0), DVec3::new(0.0, 0.0, -3.0)), 0.5, 0.7, 1.0);
        near(pick.ray(DVec3::new(0.5, 0.7, -9.0), DVec3::Z), 0.5, 0.7, 0.0);
        near(pick.nearest(DVec3::new(3.0, 1.0, 1.2)), 2.0, 1.0, 1.0);
    }

    #[test]
    fn past_it_there_is_nothing() {
        let pick = Pick::new(&squares());
        assert_eq!(pick.ray(DVec3::new(5.0, 5.0, 9.0), DVec3::NEG_Z), None);
        assert_eq!(pick.ray(DVec3::new(0.5, 0.5, 9.0), DVec3::ZERO), None);
        assert_eq!(pick.ray(DVec3::NAN, DVec3::NEG_Z), None);
        assert_eq!(Pick::new(&TriMesh::default()).nearest(DVec3::ZERO), None);
    }
}
