//! One last laid on another as well as it goes without bending it.

use geometry::mesh::TriMesh;
use geometry::mesh::adjacency::AdjacencyError;
use geometry::surface::{Closest, Surface};
use glam::{DAffine3, DQuat, DVec3};

use crate::last::fit::{add, solved};

/// Places that are compared, at most.
const PLACES: usize = 4000;

/// Rounds at most; each moves less than the one before.
const ROUNDS: usize = 60;

/// A last that moves less than this in a round lies still, mm.
const STILL: f64 = 1e-6;

/// Differences of this size count a quarter, mm: what was built up on one last alone is not to push the whole
/// last aside.
const QUARTER_AT: f64 = 1.0;

/// Half the length of a last, about, mm: what a turn moves its ends by.
const REACH: f64 = 150.0;

/// A surface on which nearest places are sought.
pub(super) struct Kept<'m> {
    surface: Surface<'m>,
    closest: Closest<'m>,
}

impl<'m> Kept<'m> {
    /// # Errors
    /// When the surface is not sound.
    pub(super) fn new(mesh: &'m TriMesh) -> Result<Self, AdjacencyError> {
        Ok(Self { surface: Surface::new(mesh)?, closest: Closest::new(mesh) })
    }

    /// The nearest place to `place`, the direction outward there, and how far outside `place` lies, mm.
    pub(super) fn nearest(&self, place: DVec3) -> Option<(DVec3, f64)> {
        let point = self.closest.to(place, 0.0)?;
        let apart = place - point.position(self.surface.mesh);
        let outward = self.surface.normal(&point);
        Some((outward, apart.length() * apart.dot(outward).signum()))
    }
}

/// The rigid motion that lays `moved` on `kept`, both standing alike to begin with.
pub(super) fn laid(moved: &TriMesh, kept: &Kept<'_>) -> DAffine3 {
    let step = moved.positions.len().div_ceil(PLACES).max(1);
    let places: Vec<DVec3> = moved.positions.iter().step_by(step).copied().collect();
    let mut motion = DAffine3::IDENTITY;
    for _ in 0..ROUNDS {
        // Six unknowns: a small turn and a small shift, from how far each place lies off along the
        // normal of the other surface.
        let mut sums = [[0.0; 7]; 6];
        for place in &places {
            let place = motion.transform_point3(*place);
            let Some((outward, off)) = kept.nearest(place) else { continue };
            let turn = place.cross(outward);
            let row = [turn.x, turn.y, turn.z, outward.x, outward.y, outward.z];
            let weight = 1.0 / (1.0 + (off / QUARTER_AT).powi(2)).powi(2);
            add(&mut sums, row, -off, weight);
        }
        let Some([a, b, c, x, y, z]) = solved(sums) else { break };
        let (turn, shift) = (DVec3::new(a, b, c), DVec3::new(x, y, z));
        let turned = DQuat::from_scaled_axis(turn);
        motion = DAffine3::from_rotation_translation(turned, shift) * motion;
        if turn.length() * REACH + shift.length() < STILL {
            break;
        }
    }
    motion
}
