//! What a descent makes least, and how far it may go at once.

use glam::DVec2;

use crate::dirichlet::Curvature;
use crate::energy::Energy;
use crate::held::HeldEdges;
use crate::strain::Strain;
use crate::system::System;

/// The last step moves the 99 % quantile of the strain by less than this, percent: what the
/// energy hardly feels may still show at the worst places.
const STILL: f64 = 0.01;
/// Energies below this are those of a surface that unrolls; nothing is gained beyond.
pub(crate) const FLAT_ENERGY: f64 = 1e-8;
/// The part of the way to the first flip that a step may go.
const SHY: f64 = 0.95;
/// The part of the promised decrease that a step must bring (L. Armijo, 1966).
const ARMIJO: f64 = 1e-4;
/// The energy is a sum of many parts; differences below this part of it are round-off, about
/// which the energy cannot judge a step, and Newton's is right.
const ROUND_OFF: f64 = 1e-13;

/// What the search along a step found.
pub(crate) struct Found {
    pub(crate) points: Vec<DVec2>,
    pub(crate) energy: f64,
    /// The part of the step that was taken.
    pub(crate) length: f64,
}

/// What is made least.
pub(crate) struct Objective<'a> {
    pub(crate) surface: &'a dyn Energy,
    held: &'a HeldEdges,
    /// The coordinates that stay: those that hold the pose, and others if need be.
    pub(crate) pinned: Vec<[bool; 2]>,
}

impl<'a> Objective<'a> {
    /// The pose is held at the first of `anchors` and by the direction to the second.
    pub(crate) fn new(surface: &'a dyn Energy, held: &'a HeldEdges, anchors: [u32; 2]) -> Self {
        let mut pinned = vec![[false; 2]; surface.geometry().vertex_count()];
        pinned[anchors[0] as usize] = [true, true];
        pinned[anchors[1] as usize][1] = true;
        Self::pinned_at(surface, held, pinned)
    }

    /// The same, with any coordinates that stay.
    pub(crate) fn pinned_at(
        surface: &'a dyn Energy,
        held: &'a HeldEdges,
        pinned: Vec<[bool; 2]>,
    ) -> Self {
        Self { surface, held, pinned }
    }

    /// Whether the worst strains are the same in both layouts.
    pub(crate) fn is_still(&self, before: &[DVec2], after: &[DVec2]) -> bool {
        let [before, after] =
            [before, after].map(|points| Strain::p99(self.surface.geometry(), points));
        (after - before).abs() < STILL
    }

    pub(crate) fn energy(&self, points: &[DVec2]) -> f64 {
        self.surface.energy(points) + self.held.energy(points)
    }

    pub(crate) fn gradient(&self, points: &[DVec2]) -> Vec<DVec2> {
        let mut gradient = vec![DVec2::ZERO; points.len()];
        self.surface.add_gradient(points, &mut gradient);
        self.held.add_gradient(points, &mut gradient);
        for (g, pins) in gradient.iter_mut().zip(&self.pinned) {
            for k in 0..2 {
                if pins[k] {
                    g[k] = 0.0;
                }
            }
        }
        gradient
    }

    fn assemble(&self, points: &[DVec2], curvature: Curvature, system: &mut System) {
        system.clear();
        self.surface.add_hessian(points, curvature, system);
        self.held.add_hessian(points, curvature, system);
        let zero = vec![DVec2::ZERO; points.len()];
        system.pin(&self.pinned, &zero, &mut zero.clone());
    }

    /// Newton's own step, or `None` where the energy is not convex.
    pub(crate) fn full_step(
        &self,
        points: &[DVec2],
        gradient: &[DVec2],
        system: &mut System,
    ) -> Option<Vec<DVec2>> {
        self.assemble(points, Curvature::Full, system);
        system.factor().ok()?;
        Some(negated(system.solve(gradient)))
    }

    /// The step of the projected Hessian, always downhill; where round-off spoils even that
    /// matrix, its diagonal is lifted until it can be factored.
    pub(crate) fn projected_step(
        &self,
        points: &[DVec2],
        gradient: &[DVec2],
        system: &mut System,
    ) -> Result<Vec<DVec2>, String> {
        self.assemble(points, Curvature::Projected, system);
        let mut lift = 1e-14 * system.largest_diagonal();
        let mut outcome = system.factor();
        for _ in 0..12 {
            if outcome.is_ok() {
                break;
            }
            system.shift_diagonal(lift);
            lift *= 10.0;
            outcome = system.factor();
        }
        outcome.map(|()| negated(system.solve(gradient)))
    }

    /// Goes along `step` as far as it brings what it promises and flips nothing; `None` when
    /// no part of it does.
    pub(crate) fn search(
        &self,
        points: &[DVec2],
        step: &[DVec2],
        energy: f64,
        promise: f64,
    ) -> Option<Found> {
        let blind = ROUND_OFF * energy.max(FLAT_ENERGY);
        let mut length =
            f64::min(1.0, SHY * first_flip(points, step, self.surface.geometry().triangles()));
        loop {
            let moved = advance(points, step, length);
            let moved_energy = self.energy(&moved);
            if moved_energy <= energy - ARMIJO * 2.0 * promise * length + blind {
                return Some(Found { points: moved, energy: moved_energy, length });
            }
            length *= 0.5;
            let worth_halving = promise * length > blind;
            if !worth_halving {
                return None;
            }
        }
    }
}

fn negated(mut step: Vec<DVec2>) -> Vec<DVec2> {
    for d in &mut step {
        *d = -*d;
    }
    step
}

fn advance(points: &[DVec2], step: &[DVec2], length: f64) -> Vec<DVec2> {
    points.iter().zip(step).map(|(p, d)| *p + *d * length).collect()
}

/// How far `points` can go along `step` until the first triangle collapses (J. Smith and
/// S. Schaefer, "Bijective Parameterization with Free Boundaries", 2015).
fn first_flip(points: &[DVec2], step: &[DVec2], triangles: &[[u32; 3]]) -> f64 {
    let mut first = f64::INFINITY;
    for t in triangles {
        let [i, j, k] = t.map(|v| v as usize);
        let (u, v) = (points[j] - points[i], points[k] - points[i]);
        let (du, dv) = (step[j] - step[i], step[k] - step[i]);
        let root =
            smallest_positive_root(du.perp_dot(dv), du.perp_dot(v) + u.perp_dot(dv), u.perp_dot(v));
        first = first.min(root);
    }
    first
}

/// The smallest positive root of `a x² + b x + c` with `c > 0`, infinite if there is none.
fn smallest_positive_root(a: f64, b: f64, c: f64) -> f64 {
    let discriminant = b * b - 4.0 * a * c;
    if discriminant < 0.0 {
        return f64::INFINITY;
    }
    // With c > 0 this form has no cancellation when b < 0, and when b >= 0 a positive root
    // needs a < 0, where the two terms have one sign as well.
    let root = if b < 0.0 {
        2.0 * c / (-b + discriminant.sqrt())
    } else {
        (-b - discriminant.sqrt()) / (2.0 * a)
    };
    if root > 0.0 { root } else { f64::INFINITY }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn roots_of_quadratics() {
        let cases = [
            // (1 - x)(2 - x), (1 - x)(1 + x), 1 - x, 1 + x, 1 + x², (1 - x)², (1 + x)(2 + x), 1
            ((1.0, -3.0, 2.0), 1.0),
            ((-1.0, 0.0, 1.0), 1.0),
            ((0.0, -1.0, 1.0), 1.0),
            ((0.0, 1.0, 1.0), f64::INFINITY),
            ((1.0, 0.0, 1.0), f64::INFINITY),
            ((1.0, -2.0, 1.0), 1.0),
            ((1.0, 3.0, 2.0), f64::INFINITY),
            ((0.0, 0.0, 1.0), f64::INFINITY),
            // Nearly linear: the other root is far away.
            ((1e-14, -1.0, 1.0), 1.0),
            ((-1e-14, -1.0, 1.0), 1.0),
        ];
        for ((a, b, c), expected) in cases {
            let root = smallest_positive_root(a, b, c);
            assert!(root == expected || (root - expected).abs() < 1e-12, "{a} {b} {c}: {root}");
        }
    }

    #[test]
    fn a_corner_pushed_across_the_opposite_side_flips_half_way() {
        let points = [DVec2::ZERO, DVec2::X, DVec2::Y];
        let step = [DVec2::ZERO, DVec2::ZERO, DVec2::new(0.3, -2.0)];
        assert_eq!(first_flip(&points, &step, &[[0, 1, 2]]), 0.5);
    }
}
