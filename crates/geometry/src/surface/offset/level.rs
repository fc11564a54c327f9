//! How far from a surface a place is, and the way to the places at one distance from it.

use glam::DVec3;
use parry3d_f64::query::PointQueryWithLocation;
use parry3d_f64::shape::{TriMesh as ParryMesh, TrianglePointLocation};

use crate::mesh::TriMesh;

/// A vertex is left once it is at its distance to within this, mm.
const EXACT: f64 = 1e-3;

/// The most steps along a direction, or to and fro in a crease.
const STEPS: usize = 12;

/// A direction that leaves the surface more slowly than this does not lead to the distance.
const SLOW: f64 = 0.15;

/// Nobody goes further than this many distances to get to one: a hollow sharper than 30 degrees.
const FARTHEST: f64 = 4.0;

/// What is nearest to a place.
#[derive(Debug, Clone, Copy)]
pub(super) struct Foot {
    /// How far the surface is, mm; negative on its other side.
    pub(super) gap: f64,
    /// The unit vector in which the gap grows fastest.
    pub(super) away: DVec3,
}

/// The places at one distance from a surface, on one side of it.
pub(super) struct Level<'m> {
    mesh: &'m TriMesh,
    tree: ParryMesh,
    /// Unit normals of the vertices, toward the side.
    toward: &'m [DVec3],
    pub(super) distance: f64,
}

impl<'m> Level<'m> {
    /// `None` for a mesh without triangles.
    pub(super) fn new(mesh: &'m TriMesh, toward: &'m [DVec3], distance: f64) -> Option<Self> {
        let tree = ParryMesh::new(mesh.positions.clone(), mesh.triangles.clone()).ok()?;
        Some(Self { mesh, tree, toward, distance })
    }

    pub(super) fn foot(&self, place: DVec3) -> Foot {
        self.foot_within(place, f64::MAX)
    }

    /// The same where something is known to be within `far` mm, which is found sooner.
    pub(super) fn foot_within(&self, place: DVec3, far: f64) -> Foot {
        let tree = &self.tree;
        let (near, (face, location)) = tree
            .project_local_point_and_get_location_with_max_dist(place, false, far + EXACT)
            .unwrap_or_else(|| tree.project_local_point_and_get_location(place, false));
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
            TrianglePointLocation::OnSolid => [1.0 / 3.0; 3],
        };
        let t = self.mesh.triangles[face as usize];
        let toward: DVec3 = t.iter().zip(weights).map(|(v, w)| self.toward[*v as usize] * w).sum();
        let off = place - near.point;
        let far = off.length();
        if far < EXACT {
            return Foot { gap: off.dot(toward), away: toward.normalize_or_zero() };
        }
        let side = 1.0_f64.copysign(off.dot(toward));
        Foot { gap: side * far, away: side * off / far }
    }

    /// How far from its distance a place is, mm.
    pub(super) fn error(&self, foot: &Foot) -> f64 {
        (foot.gap - self.distance).abs()
    }

    /// Whether a place is where it should be.
    pub(super) fn is_on(&self, foot: &Foot) -> bool {
        self.error(foot) <= EXACT
    }

    /// The first place from `start` along a unit vector at the distance, or `None` where there is
    /// none. `first` is what is nearest to the place one distance on.
    pub(super) fn along(&self, start: DVec3, way: DVec3, first: Foot) -> Option<(DVec3, Foot)> {
        let mut walked = self.distance;
        let mut foot = first;
        for _ in 0..STEPS {
            if self.is_on(&foot) {
                return Some((start + way * walked, foot));
            }
            let slope = foot.away.dot(way);
            if slope < SLOW {
                return None;
            }
            let step = (self.distance - foot.gap) / slope;
            let step = step.clamp(-0.5 * self.distance, 0.7 * self.distance);
            walked += step;
            if walked < 0.0 || walked > FARTHEST * self.distance {
                return None;
            }
            foot = self.foot_within(start + way * walked, foot.gap.abs() + step.abs());
        }
        None
    }

    /// A place at the distance near to `place`, by the shortest way; in a crease to and fro between
    /// its sides, and away from both then. Where that comes to no end, the last place.
    pub(super) fn nearest(&self, place: DVec3) -> (DVec3, Foot) {
        let (mut at, mut foot) = (place, self.foot(place));
        let mut before = foot.away;
        for _ in 0..4 * STEPS {
            if self.is_on(&foot) {
                break;
            }
            at += foot.away * (self.distance - foot.gap);
            before = foot.away;
            foot = self.foot(at);
        }
        foot.away = (foot.away + before).normalize_or(foot.away);
        (at, foot)
    }
}
