//! Newton's method, kept downhill and clear of flips.

use glam::DVec2;

use crate::dirichlet::{Curvature, Dirichlet};
use crate::held::HeldEdges;
use crate::layout::FlattenError;
use crate::start::Start;
use crate::system::System;

/// The decrease a full Newton step promises, over the energy, below which it is the last one.
/// Newton's error falls with its square, so after that step the rest is lost in round-off.
const LAST_PROMISE: f64 = 1e-9;
/// The same for steps of the projected Hessian, whose error falls only by a factor a step.
const LAST_PROJECTED_PROMISE: f64 = 1e-15;
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

/// Descends from `start` to the least energy of the surface and the held lines together.
pub(crate) fn descend(
    start: Start,
    dirichlet: &Dirichlet,
    held: &HeldEdges,
    system: &mut System,
    max_iterations: usize,
) -> Result<Descent, FlattenError> {
    let mut pinned = vec![[false; 2]; start.points.len()];
    pinned[start.anchors[0] as usize] = [true, true];
    pinned[start.anchors[1] as usize][1] = true;
    let objective = Objective { dirichlet, held, pinned };

    let mut points = start.points;
    let mut energy = objective.energy(&points);
    // The step from which on the full Hessian is tried.
    let mut full_from = usize::MAX;
    for iteration in 0..max_iterations {
        let gradient = objective.gradient(&points);
        let full = (iteration >= full_from)
            .then(|| objective.full_step(&points, &gradient, system))
            .flatten();
        let is_full = full.is_some();
        if !is_full && iteration >= full_from {
            full_from = iteration + PATIENCE;
        }
        let step = match full {
            Some(step) => step,
            None => objective
                .projected_step(&points, &gradient, system)
                .map_err(|cause| FlattenError::Unsolvable { iteration, cause })?,
        };

        let promise = -0.5 * gradient.iter().zip(&step).map(|(g, d)| g.dot(*d)).sum::<f64>();
        let scale = energy.max(FLAT_ENERGY);
        let Some(found) = objective.search(&points, &step, energy, promise) else {
            let converged = promise <= CLOSE_ENOUGH * scale;
            return Ok(Descent { points, iterations: iteration, converged });
        };
        points = found.points;
        energy = found.energy;
        let last = if is_full { LAST_PROMISE } else { LAST_PROJECTED_PROMISE };
        if promise <= last * scale {
            return Ok(Descent { points, iterations: iteration + 1, converged: true });
        }
        if full_from == usize::MAX && found.length == 1.0 && promise <= NEAR * energy {
            full_from = iteration + 1;
        }
    }
    Ok(Descent { points, iterations: max_iterations, converged: false })
}

/// What the search along a step found.
struct Found {
    points: Vec<DVec2>,
    energy: f64,
    /// The part of the step that was taken.
    length: f64,
}

struct Objective<'a> {
    dirichlet: &'a Dirichlet,
    held: &'a HeldEdges,
    /// The coordinates that hold the pose.
    pinned: Vec<[bool; 2]>,
}

impl Objective<'_> {
    fn energy(&self, points: &[DVec2]) -> f64 {
        self.dirichlet.energy(points) + self.held.energy(points)
    }

    fn gradient(&self, points: &[DVec2]) -> Vec<DVec2> {
        let mut gradient = vec![DVec2::ZERO; points.len()];
        self.dirichlet.add_gradient(points, &mut gradient);
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
        self.dirichlet.add_hessian(points, curvature, system);
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
    fn projected_step(
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
    fn search(&self, points: &[DVec2], step: &[DVec2], energy: f64, promise: f64) -> Option<Found> {
        let blind = ROUND_OFF * energy.max(FLAT_ENERGY);
        let mut length = f64::min(1.0, SHY * first_flip(points, step, self.dirichlet.triangles()));
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
