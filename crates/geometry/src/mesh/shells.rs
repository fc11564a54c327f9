//! A second copy of a whole surface, a hair beside the first.

use super::TriMesh;
use crate::surface::Closest;

/// Two surfaces are one when the smaller lies within this share of the larger one's span:
/// 0.4 mm of 260, as far as two scans of one thing are laid beside each other; the thinnest wall of
/// a hollow last is three times thicker.
const APART: f64 = 1.5e-3;

/// This share of the smaller one's points must lie so near: stray ones may not.
const NEAR: f64 = 0.98;

/// So many points of the smaller one are looked at, evenly in their order.
const LOOKED_AT: usize = 20_000;

/// The larger surface, made ready for the search when it is first needed.
pub(super) struct Twin<'m> {
    mesh: &'m TriMesh,
    span: f64,
    closest: Option<Closest<'m>>,
}

impl<'m> Twin<'m> {
    pub(super) fn new(mesh: &'m TriMesh) -> Self {
        Self { mesh, span: super::base::span(&mesh.positions), closest: None }
    }

    /// How far off `other` lies where it is a copy of this surface or of a part of it.
    pub(super) fn doubled_by(&mut self, other: &TriMesh) -> Option<f64> {
        let apart = APART * self.span;
        let (Some((low, high)), Some((its_low, its_high))) = (self.mesh.bounds(), other.bounds())
        else {
            return None;
        };
        if (its_low - low).min_element() < -apart || (high - its_high).min_element() < -apart {
            return None;
        }
        let closest = self.closest.get_or_insert_with(|| Closest::new(self.mesh));
        let step = other.positions.len().div_ceil(LOOKED_AT).max(1);
        let (mut off, mut near, mut looked_at) = (0.0_f64, 0, 0);
        for p in other.positions.iter().step_by(step) {
            let found = closest.to(*p, 0.0);
            let distance = found.map_or(f64::INFINITY, |on| on.position(self.mesh).distance(*p));
            if distance <= apart {
                off = off.max(distance);
                near += 1;
            }
            looked_at += 1;
        }
        (f64::from(near) >= NEAR * f64::from(looked_at)).then_some(off)
    }
}
