//! Newton's method, kept downhill and clear of flips.

use glam::DVec2;

use crate::dirichlet::Curvature;
use crate::energy::Energy;
use crate::held::HeldEdges;
use crate::layout::FlattenError;
use crate::secant::Secants;
use crate::start::Start;
use crate::strain::Strain;
use crate::system::System;

/// The decrease that a step promises, over the energy, below which it may be the last one.
const LAST_PROMISE: f64 = 1e-6;
/// The same while held lines are still softer than asked.
const ROUND_PROMISE: f64 = 1e-4;
/// The same where the layout is only looked at.
const UNSEEN_ROUND_PROMISE: f64 = 1e-3;
/// After the last step the points would move on by no more than this part of the width of the
/// surface: less than a thousandth of a millimetre on a piece of a shoe. The energy alone hardly
/// feels long wings turn.
const SMALL_MOVE: f64 = 3e-9;
/// The same where the layout is only looked at while it changes: a few thousandths of a
/// millimetre.
const UNSEEN_MOVE: f64 = 3e-5;
/// The last step moves the 99 % quantile of the strain by less than this, percent: what the
/// energy hardly feels may still show at the worst places.
const STILL: f64 = 0.01;
/// A promise below this part of the energy shows the equations to change so little that their
/// factorisation serves once more.
const SERVES_AGAIN: f64 = 1e-2;
/// It goes on serving while each step promises less than this part of what the last one did:
/// a step with it costs a fifth to a third of one with equations of its own.
const SERVES_ON: f64 = 0.1;
/// Where no step brings a decrease any more, a promise below this counts as having arrived.
const CLOSE_ENOUGH: f64 = 1e-9;
/// Energies below this are those of a surface that unrolls; nothing is gained beyond.
const FLAT_ENERGY: f64 = 1e-8;
/// The part of the way to the first flip that a step may go.
const SHY: f64 = 0.95;
/// The part of the promised decrease that a step must bring (L. Armijo, 1966).
const ARMIJO: f64 = 1e-4;
/// The energy is a sum of many parts; differences below this part of it are round-off, about
/// which the energy cannot judge a step, and Newton's is right.
const ROUND_OFF: f64 = 1e-13;
/// A promise below this part of the energy shows the optimum near enough for the full Hessian
/// to be worth a try.
const NEAR: f64 = 0.3;
/// After the full Hessian turned out indefinite, this many steps go by before the next try.
const PATIENCE: usize = 2;

/// Where the descent ended.
pub(crate) struct Descent {
    pub(crate) points: Vec<DVec2>,
    pub(crate) iterations: usize,
    pub(crate) converged: bool,
}

/// What the first step goes by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Begin {
    /// Equations of its own.
    Afresh,
    /// The factorisation that `system` holds, of nearly the same layout.
    AsBefore,
    /// The same, for a layout that is only looked at.
    ToLookAt,
}

/// Descends from `start` to the least energy of the surface and the held lines together, the
/// lines from round to round as in `rounds`.
pub(crate) fn descend(
    start: Start,
    surface: &dyn Energy,
    rounds: &[HeldEdges],
    system: &mut System,
    max_iterations: usize,
    begin: Begin,
) -> Result<Descent, FlattenError> {
    let mut descent = Descent { points: start.points, iterations: 0, converged: false };
    for (i, held) in rounds.iter().enumerate() {
        let objective = Objective::new(surface, held, start.anchors);
        let last = i + 1 == rounds.len();
        descend_once(&mut descent, &objective, system, max_iterations, last, begin)?;
    }
    Ok(descent)
}

/// Goes on until a step promises little of the energy, and in the `last` round neither the points
/// nor the worst strains move any more.
fn descend_once(
    descent: &mut Descent,
    objective: &Objective<'_>,
    system: &mut System,
    max_iterations: usize,
    last: bool,
    begin: Begin,
) -> Result<(), FlattenError> {
    let enough = match begin {
        _ if last => LAST_PROMISE,
        Begin::ToLookAt => UNSEEN_ROUND_PROMISE,
        _ => ROUND_PROMISE,
    };
    let mut energy = objective.energy(&descent.points);
    let mut gradient = objective.gradient(&descent.points);
    let small = if begin == Begin::ToLookAt { UNSEEN_MOVE } else { SMALL_MOVE };
    let small = small * objective.surface.geometry().total_area().sqrt();
    descent.converged = false;
    // The step from which on the full Hessian is tried: near the optimum from the first.
    let mut full_from = match begin {
        Begin::Afresh => usize::MAX,
        Begin::AsBefore => descent.iterations,
        // A guess is too rough for it.
        Begin::ToLookAt => descent.iterations + 1,
    };
    let mut secants = Secants::default();
    // What the last step promised, where its factorisation may serve once more.
    let mut serving = (begin != Begin::Afresh).then_some(f64::INFINITY);
    let mut last_move: Option<f64> = None;
    while descent.iterations < max_iterations {
        let iteration = descent.iterations;
        let points = &descent.points;
        let again = serving.take().and_then(|before| {
            let step = secants.step(&gradient, |g| system.solve(g));
            let worth = 0.0..=SERVES_ON * before;
            worth.contains(&promise(&gradient, &step)).then_some(step)
        });
        let is_again = again.is_some();
        let mut is_full = false;
        let step = match again {
            Some(step) => step,
            None => {
                secants.clear();
                let full = (iteration >= full_from)
                    .then(|| objective.full_step(points, &gradient, system))
                    .flatten();
                is_full = full.is_some();
                if !is_full && iteration >= full_from {
                    full_from = iteration + PATIENCE;
                }
                match full {
                    Some(step) => step,
                    None => objective
                        .projected_step(points, &gradient, system)
                        .map_err(|cause| FlattenError::Unsolvable { iteration, cause })?,
                }
            }
        };

        let promise = promise(&gradient, &step);
        let scale = energy.max(FLAT_ENERGY);
        let Some(found) = objective.search(points, &step, energy, promise) else {
            if is_again {
                continue;
            }
            descent.converged = promise <= CLOSE_ENOUGH * scale;
            return Ok(());
        };
        let longest = step.iter().map(|d| d.length()).fold(0.0, f64::max);
        let moved = found.length * longest;
        let from = std::mem::replace(&mut descent.points, found.points);
        descent.iterations += usize::from(!is_again);
        energy = found.energy;
        // The part of the step that the next one will be long. Newton's error falls with its
        // square; with the projected Hessian, or an old one, it falls by the same factor again.
        let rate = match (is_full, is_again) {
            (true, _) => (promise / scale).sqrt(),
            (_, true) => last_move.map_or(1.0, |last| moved / last),
            _ => 1.0,
        };
        last_move = Some(moved);
        let is_settled = || rate * longest <= small && objective.is_still(&from, &descent.points);
        if promise <= enough * scale && (!last || is_settled()) {
            descent.converged = true;
            return Ok(());
        }
        if found.length == 1.0 && promise <= SERVES_AGAIN * scale {
            serving = Some(promise);
        }
        let here = objective.gradient(&descent.points);
        if serving.is_some() {
            secants.learn(step, &gradient, &here);
        }
        gradient = here;
        if full_from == usize::MAX && found.length == 1.0 && promise <= NEAR * energy {
            full_from = iteration + 1;
        }
    }
    Ok(())
}

/// The decrease that a Newton step promises: half its decrement squared.
pub(crate) fn promise(gradient: &[DVec2], step: &[DVec2]) -> f64 {
    -0.5 * gradient.iter().zip(step).map(|(g, d)| g.dot(*d)).sum::<f64>()
}

/// What the search along a step found.
pub(crate) struct Found {
    pub(crate) points: Vec<DVec2>,
    energy: f64,
    /// The part of the step that was taken.
    length: f64,
}

/// What is made least.
pub(crate) struct Objective<'a> {
    surface: &'a dyn Energy,
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
        Self { surface, held, pinned }
    }

    /// Whether the worst strains are the same in both layouts.
    fn is_still(&self, before: &[DVec2], after: &[DVec2]) -> bool {
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
    fn full_step(
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
