//! What a triangle costs for changes of length along and across the grain.

use glam::{DMat4, DVec4};

use super::local::{Local, outer};
use crate::dirichlet::Parts;

/// What a fibre along the grain and one across it resist beyond what the sheet does in every
/// direction, which is 1.
///
/// The grain lies in the flat sheet, so the stretch of its fibres is measured there. With the
/// Jacobian J from the surface to the plane, the sheet is deformed by the inverse of J, and a
/// fibre along the unit vector e of the plane becomes |J⁻¹ e| = sqrt(eᵀ (J Jᵀ)⁻¹ e) times as
/// long: the left Cauchy-Green tensor J Jᵀ takes the place of the right one. Turning the
/// surface in space changes nothing; turning the piece in the plane does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Fibres {
    pub(super) along: f64,
    pub(super) across: f64,
}

impl Fibres {
    /// `parts` in the frame whose x is the grain.
    pub(super) fn cost(self, parts: Parts) -> f64 {
        let [along, across] = Fibre::both(parts);
        self.along * length_cost(along.square()) + self.across * length_cost(across.square())
    }

    /// As it is, nothing cut off.
    pub(super) fn local(self, parts: Parts) -> Local {
        let [along, across] = Fibre::both(parts);
        along.local(self.along) + across.local(self.across)
    }
}

/// (l - 1/l)² by the square of l, as for a singular value.
fn length_cost(square: f64) -> f64 {
    (square - 1.0) * (square - 1.0) / square
}

/// The square of a fibre's stretch is `over / det²`: with the rows a, b of J along and across
/// the grain, |b|² / (a x b)² along it.
struct Fibre {
    over: f64,
    over_slope: DVec4,
    over_bend: DMat4,
    det: f64,
    det_slope: DVec4,
}

/// The curvature of the determinant |z|² - |w|².
const DET_BEND: DVec4 = DVec4::new(2.0, 2.0, -2.0, -2.0);

impl Fibre {
    /// Along the grain and across it.
    fn both(Parts { z, w }: Parts) -> [Self; 2] {
        let det = z.length_squared() - w.length_squared();
        let det_slope = DVec4::new(2.0 * z.x, 2.0 * z.y, -2.0 * w.x, -2.0 * w.y);
        [-1.0, 1.0].map(|sign| {
            // Across: (z.x + w.x, w.y - z.y). Along: (z.y + w.y, z.x - w.x).
            let u = DVec4::new(1.0, 0.0, sign, 0.0);
            let v = DVec4::new(0.0, 1.0, 0.0, -sign);
            let (x, y) = (z.x + sign * w.x, z.y - sign * w.y);
            Self {
                over: x * x + y * y,
                over_slope: (u * x + v * y) * 2.0,
                over_bend: (outer(u, u) + outer(v, v)) * 2.0,
                det,
                det_slope,
            }
        })
    }

    fn square(&self) -> f64 {
        self.over / (self.det * self.det)
    }

    fn local(&self, stiffness: f64) -> Local {
        let square = self.square();
        let first = stiffness * (square - 1.0) * (square + 1.0) / (square * square);
        let second = stiffness * 2.0 / (square * square * square);
        let per_det2 = 1.0 / (self.det * self.det);
        let slope = (self.over_slope - self.det_slope * (2.0 * self.over / self.det)) * per_det2;
        let crossed = outer(self.over_slope, self.det_slope);
        let bend = (self.over_bend
            - (crossed + crossed.transpose()) * (2.0 / self.det)
            - DMat4::from_diagonal(DET_BEND) * (2.0 * self.over / self.det)
            + outer(self.det_slope, self.det_slope) * (6.0 * self.over * per_det2))
            * per_det2;
        Local { slope: slope * first, bend: outer(slope, slope) * second + bend * first }
    }
}
