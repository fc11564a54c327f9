//! How far a piece has turned in the plane, on the whole.

use glam::DVec2;

use crate::dirichlet::{Dirichlet, conjugate};

/// Measures the mean turn of a layout against a reference layout: the turn t for which the
/// area-weighted mean of z t⁻¹ z₀⁻ is real, z and z₀ being the conformal parts of each
/// triangle's map in the two, and ⁻ the conjugate.
///
/// A grain is given in the piece as it lies in the end, so it turns with the piece. Tying it to
/// two vertices would make these two take all the force with which the sheet wants to turn
/// against its grain; so every triangle takes its share.
pub(crate) struct MeanTurn {
    /// Conjugates of the conformal parts of the reference, times the weights.
    reference: Vec<DVec2>,
}

impl MeanTurn {
    pub(crate) fn new(geometry: &Dirichlet, reference: &[DVec2]) -> Self {
        let rests = geometry.rests().iter().enumerate();
        let part = |face: usize| conjugate(geometry.parts(face, reference).z);
        Self { reference: rests.map(|(face, rest)| part(face) * rest.weight).collect() }
    }

    /// Sum of z z₀⁻ over the area: a complex number, whose angle is the turn.
    fn sum(&self, geometry: &Dirichlet, points: &[DVec2]) -> DVec2 {
        let parts = self.reference.iter().enumerate();
        parts.map(|(face, r)| r.rotate(geometry.parts(face, points).z)).sum()
    }

    /// Radians counter-clockwise.
    pub(crate) fn angle(&self, geometry: &Dirichlet, points: &[DVec2]) -> f64 {
        self.sum(geometry, points).to_angle()
    }

    /// Adds `factor` times the gradient of the angle.
    pub(super) fn add_gradient(
        &self,
        geometry: &Dirichlet,
        points: &[DVec2],
        factor: f64,
        gradient: &mut [DVec2],
    ) {
        let sum = self.sum(geometry, points);
        let inverse = conjugate(sum) * (factor * 0.5 / sum.length_squared());
        for (face, rest) in geometry.rests().iter().enumerate() {
            let by_z = inverse.rotate(self.reference[face]);
            for (v, hat) in geometry.triangles()[face].into_iter().zip(rest.hats) {
                // z changes by conj(hat) u / 2; the angle by the imaginary part of by_z times that.
                let by_corner = by_z.rotate(conjugate(hat));
                gradient[v as usize] += DVec2::new(by_corner.y, by_corner.x);
            }
        }
    }
}
