//! What a triangle costs by its two singular values alone, whatever their direction.

use glam::DMat4;

use super::local::{Local, outer, stacked};
use crate::dirichlet::{Curvature, Parts, bend, slope, stretch_cost, unit};

/// With how much force the material resists beyond its limit, besides what it does before:
/// as much as the plain sheet does when strained by an eighth. The force does not grow any
/// further, so that an excess that cannot be avoided is gathered in few places, which pipe or
/// want a cut, and not spread a little beyond the limit over many; measured on a band that a
/// board cannot follow, where a force that grows with the excess doubled the area beyond.
const HARDNESS: f64 = 1.0;
/// Over this excess the resistance builds up, so that the curvature of the energy has no jump:
/// half the least limit that is usual.
const ONSET: f64 = 2e-3;
/// The part of the way to a limit where the resistance begins, so that most of what can be kept
/// within the limit is.
const BEGINS: f64 = 0.8;
/// Singular values nearer than this are taken as one where their difference would cancel.
const SAME: f64 = 1e-7;

/// How far the material gives in any direction before it begins to resist; without limits it
/// just goes on as before.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Principal {
    /// The factor up to which the material may become longer than the flat piece.
    pub(super) longest: f64,
    /// The factor down to which it may become shorter.
    pub(super) shortest: f64,
}

impl Principal {
    /// The symmetric Dirichlet energy and nothing else.
    pub(super) const PLAIN: Self = Self { longest: f64::INFINITY, shortest: f64::NEG_INFINITY };

    /// For a material that becomes no longer and no shorter than by these factors.
    pub(super) fn within([longest, shortest]: [f64; 2]) -> Self {
        Self { longest: 1.0 + BEGINS * (longest - 1.0), shortest: 1.0 - BEGINS * (1.0 - shortest) }
    }

    pub(super) fn cost(self, parts: Parts) -> f64 {
        let [s1, s2] = parts.singular_values();
        let plain = stretch_cost(s1) + stretch_cost(s2);
        if self == Self::PLAIN { plain } else { plain + self.beyond(s1)[0] + self.beyond(s2)[0] }
    }

    pub(super) fn local(self, parts: Parts, curvature: Curvature) -> Local {
        let [s1, s2] = parts.singular_values();
        let [beyond1, beyond2] = [s1, s2].map(|s| self.beyond(s));
        let (slope1, slope2) = (slope(s1) + beyond1[1], slope(s2) + beyond2[1]);
        let (bend1, bend2) = (bend(s1) + beyond1[2], bend(s2) + beyond2[2]);

        let mut twist = (slope1 + slope2) / parts.z.length();
        if curvature == Curvature::Projected {
            twist = twist.max(0.0);
        }
        // (slope1 - slope2) / |w|, of the plain part without cancellation.
        let product = s1 * s2;
        let plain = 4.0 * (1.0 + (s1 * s1 + product + s2 * s2) / (product * product * product));
        let apart = s1 - s2;
        let flip = plain
            + if apart > SAME * s1 {
                2.0 * (beyond1[1] - beyond2[1]) / apart
            } else {
                beyond1[2] + beyond2[2]
            };

        let (z, w) = (unit(parts.z), unit(parts.w));
        let none = glam::DVec2::ZERO;
        let (along_z, along_w) = (stacked(z, none), stacked(none, w));
        let (across_z, across_w) = (stacked(z.perp(), none), stacked(none, w.perp()));
        let mixed = outer(along_z, along_w) + outer(along_w, along_z);
        let bend: DMat4 = (outer(along_z, along_z) + outer(along_w, along_w)) * (bend1 + bend2)
            + mixed * (bend1 - bend2)
            + outer(across_z, across_z) * twist
            + outer(across_w, across_w) * flip;
        Local { slope: stacked(z * (slope1 + slope2), w * (slope1 - slope2)), bend }
    }

    /// What a singular value costs beyond the limits, with its two derivatives. Convex: a
    /// convex, growing function of the excesses, which are convex in `s`.
    fn beyond(self, s: f64) -> [f64; 3] {
        // The material is stretched by 1/s from the flat piece onto the surface.
        let too_long = 1.0 / (s * self.longest) - 1.0;
        let too_short = s * self.shortest - 1.0;
        if too_long > 0.0 {
            let [cost, slope, bend] = excess(too_long);
            let (first, second) = (-1.0 / (s * s * self.longest), 2.0 / (s * s * s * self.longest));
            [cost, slope * first, bend * first * first + slope * second]
        } else if too_short > 0.0 {
            let [cost, slope, bend] = excess(too_short);
            [cost, slope * self.shortest, bend * self.shortest * self.shortest]
        } else {
            [0.0; 3]
        }
    }
}

/// About HARDNESS x e, with a soft onset: e³ / (e + ONSET)², and its derivatives.
fn excess(e: f64) -> [f64; 3] {
    let (part, rest) = (e / (e + ONSET), ONSET / (e + ONSET));
    [
        HARDNESS * e * part * part,
        HARDNESS * part * part * (1.0 + 2.0 * rest),
        HARDNESS * 6.0 * part * rest * rest / (e + ONSET),
    ]
}
