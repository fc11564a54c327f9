//! One taut tape in one plane.

use glam::DVec3;

use geometry::mesh::TriMesh;

use crate::last::cut::{around, cut, taut};

/// A plane in the last frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plane {
    /// A point of it, mm.
    pub origin: DVec3,
    /// Square to it, one long; x is never below 0.
    pub normal: DVec3,
}

/// A girth as a taut tape reads it.
#[derive(Debug, Clone, PartialEq)]
pub struct Girth {
    /// Its length, mm: the perimeter of the convex hull of the whole section.
    pub length: f64,
    /// The plane the tape lies in.
    pub plane: Plane,
    /// The corners of the tape, closed, mm.
    pub tape: Vec<DVec3>,
    /// Whether the tape runs across the top, which it bridges.
    pub over_top: bool,
    /// How sure, 0 to 1.
    pub sureness: f64,
}

/// The taut tape round `mesh` in `plane`; empty where the plane misses it.
pub(in crate::last) fn tape(mesh: &TriMesh, plane: Plane) -> Vec<DVec3> {
    taut(cut(mesh, plane.origin, plane.normal).into_iter().flatten(), plane.normal)
}

/// The length of the taut tape round `mesh` in `plane`, mm.
pub(in crate::last) fn tape_length(mesh: &TriMesh, plane: Plane) -> f64 {
    around(&tape(mesh, plane))
}

/// The plane through `origin` that holds the direction across (y); its upper part leans back
/// by `lean` radians from upright.
pub(in crate::last) fn across(origin: DVec3, lean: f64) -> Plane {
    Plane { origin, normal: DVec3::new(lean.cos(), 0.0, lean.sin()) }
}

/// The lean, within these two, at which the tape is shortest: where it settles when it is
/// pulled. Also whether that is at either border, so that the tape would slip further.
pub(in crate::last) fn settled(mesh: &TriMesh, origin: DVec3, from: f64, to: f64) -> (f64, bool) {
    /// Steps of the first look; a section of a last has one least girth, wider than this.
    const STEP: f64 = 0.09;
    /// Nearer than this the girth no longer changes.
    const CLOSE: f64 = 1e-4;
    let girth = |lean: f64| {
        let length = tape_length(mesh, across(origin, lean));
        if length > 0.0 { length } else { f64::INFINITY }
    };
    let steps = ((to - from) / STEP).ceil().max(2.0) as usize;
    let lean_at = |k: usize| from + (to - from) * k as f64 / steps as f64;
    let lengths: Vec<f64> = (0..=steps).map(|k| girth(lean_at(k))).collect();
    let best = (0..=steps).min_by(|a, b| lengths[*a].total_cmp(&lengths[*b])).unwrap_or(0);
    let (mut low, mut high) = (lean_at(best.saturating_sub(1)), lean_at((best + 1).min(steps)));
    // Golden section.
    let part = (5.0_f64.sqrt() - 1.0) / 2.0;
    let (mut a, mut b) = (high - part * (high - low), low + part * (high - low));
    let (mut at_a, mut at_b) = (girth(a), girth(b));
    while high - low > CLOSE {
        if at_a <= at_b {
            (high, b, at_b) = (b, a, at_a);
            a = high - part * (high - low);
            at_a = girth(a);
        } else {
            (low, a, at_a) = (a, b, at_b);
            b = low + part * (high - low);
            at_b = girth(b);
        }
    }
    let lean = (low + high) / 2.0;
    (lean, lean - from < 2.0 * CLOSE || to - lean < 2.0 * CLOSE)
}

#[cfg(test)]
mod tests {
    use std::f64::consts::TAU;

    use super::*;

    /// A long cylinder whose axis rises forward by `slope` radians, open at both ends.
    fn pipe(radius: f64, slope: f64) -> TriMesh {
        let n = 240u32;
        let axis = DVec3::new(slope.cos(), 0.0, slope.sin());
        let up = DVec3::new(-slope.sin(), 0.0, slope.cos());
        let positions = (0..n)
            .flat_map(|k| {
                let angle = TAU * f64::from(k) / f64::from(n);
                let rim = (DVec3::Y * angle.cos() + up * angle.sin()) * radius;
                [rim - axis * 300.0, rim + axis * 300.0]
            })
            .collect();
        let triangles = (0..n)
            .flat_map(|k| {
                let (a, b) = (2 * k, 2 * ((k + 1) % n));
                [[a, b, b + 1], [a, b + 1, a + 1]]
            })
            .collect();
        TriMesh { positions, triangles }
    }

    #[test]
    fn a_tape_settles_square_to_a_pipe() {
        for slope in [-0.8, -0.3, 0.0, 0.25] {
            let (lean, slipping) = settled(&pipe(35.0, slope), DVec3::Z * 10.0, -1.15, 0.45);
            assert!((lean - slope).abs() < 2e-3, "{lean} on a slope of {slope}");
            assert!(!slipping);
            let girth = tape_length(&pipe(35.0, slope), across(DVec3::ZERO, lean));
            assert!((girth / (TAU * 35.0) - 1.0).abs() < 2e-4);
        }
    }

    #[test]
    fn a_tape_that_would_slip_on_is_told() {
        let (lean, slipping) = settled(&pipe(35.0, 0.9), DVec3::ZERO, -1.15, 0.45);
        assert!(slipping && (lean - 0.45).abs() < 1e-3, "{lean}");
    }
}
