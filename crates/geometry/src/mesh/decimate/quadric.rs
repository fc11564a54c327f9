//! The squared distances to many planes, as one quadratic function of a place.

use glam::{DMat3, DVec3};

/// How strongly a place that no plane decides is drawn to the middle of its edge, as a share of
/// the planes' own pull. Small enough to move nothing that is decided.
const TO_MIDDLE: f64 = 1e-6;

/// The sum over planes of weight times squared distance, about a place of its own: near it the
/// value is exact to the last digits, which it would not be about a far origin.
#[derive(Debug, Clone, Copy)]
pub(super) struct Quadric {
    /// Second, first and zeroth order.
    a: DMat3,
    b: DVec3,
    c: f64,
    /// Sum of the weights.
    pub(super) weight: f64,
}

impl Quadric {
    /// Of no planes.
    pub(super) const NONE: Self = Self { a: DMat3::ZERO, b: DVec3::ZERO, c: 0.0, weight: 0.0 };

    /// The plane through the origin of the quadric.
    pub(super) fn plane(normal: DVec3, weight: f64) -> Self {
        let n = normal * weight;
        let a = DMat3::from_cols(n * normal.x, n * normal.y, n * normal.z);
        Self { a, b: DVec3::ZERO, c: 0.0, weight }
    }

    /// The same function about the place `by` further.
    pub(super) fn moved(&self, by: DVec3) -> Self {
        let ab = self.a * by;
        let c = self.c + 2.0 * self.b.dot(by) + by.dot(ab);
        Self { a: self.a, b: self.b + ab, c: c.max(0.0), weight: self.weight }
    }

    /// Both together; they must be about the same place.
    pub(super) fn plus(&self, other: &Self) -> Self {
        Self {
            a: self.a + other.a,
            b: self.b + other.b,
            c: self.c + other.c,
            weight: self.weight + other.weight,
        }
    }

    /// The value at `p` from the quadric's own place.
    pub(super) fn at(&self, p: DVec3) -> f64 {
        (p.dot(self.a * p) + 2.0 * self.b.dot(p) + self.c).max(0.0)
    }

    /// Where the value is least; of all such places about the one nearest to the quadric's own.
    pub(super) fn lowest(&self) -> Option<DVec3> {
        let pull = TO_MIDDLE * (self.a.x_axis.x + self.a.y_axis.y + self.a.z_axis.z);
        let a = self.a + DMat3::from_diagonal(DVec3::splat(pull));
        let p = a.inverse() * -self.b;
        p.is_finite().then_some(p)
    }
}
