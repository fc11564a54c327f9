//! Newton's method, kept downhill and clear of flips.

use glam::DVec2;

use crate::dirichlet::{Curvature, Dirichlet};
use crate::held::HeldEdges;
use crate::layout::FlattenError;
use crate::start::Start;
use crate::system::System;

/// The decrease a step promises, over the energy, below which it is the last one. Newton's
/// error falls with its square, so after that step the rest is lost in round-off.
const LAST_PROMISE: f64 = 1e-10;
/// Energies below this are those of a surface that unrolls; nothing is gained beyond.
const FLAT_ENERGY: f64 = 1e-8;
/// The part of the way to the first flip that a step may go.
const SHY: f64 = 0.95;
/// The part of the promised decrease that a step must bring (L. Armijo, 1966).
const ARMIJO: f64 = 1e-4;
/// The energy is a sum of many parts; differences below this part of it are round-off.
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
    let objective = Objective { dirichlet, held };
    let mut pinned = vec![[false; 2]; start.points.len()];
    pinned[start.anchors[0] as usize] = [true, true];
    pinned[start.anchors[1] as usize][1] = true;

    let mut points = start.points;
    let mut energy = objective.energy(&points);
    let mut try_full_at = usize::MAX;
    for iteration in 0..max_iterations {
        let gradient = objective.gradient(&points, &pinned);
        let unsolvable = |cause| FlattenError::Unsolvable { iteration, cause };
        let mut used = Curvature::Projected;
        let step = match (iteration >= try_full_at)
            .then(|| objective.step(&points, &gradient, &pinned, Curvature::Full, system))
        {
            Some(Ok(step)) => {
                used = Curvature::Full;
                step
            }
            tried => {
                if tried.is_some() {
                    try_full_at = iteration + 1 + PATIENCE;
                }
                objective.projected_step(&points, &gradient, &pinned, system).map_err(unsolvable)?
            }
        };
        let promise = -0.5 * gradient.iter().zip(&step).map(|(g, d)| g.dot(*d)).sum::<f64>();
        let scale = energy.max(FLAT_ENERGY);
        let free = first_flip(&points, &step, dirichlet.triangles());
        let mut length = f64::min(1.0, SHY * free);
        // Below round-off the energy cannot judge a step, and Newton's is right.
        let blind = ROUND_OFF * scale;
        let mut moved;
        loop {
            moved = advance(&points, &step, length);
            let new_energy = objective.energy(&moved);
            if new_energy <= energy - ARMIJO * 2.0 * promise * length + blind {
                energy = new_energy;
                break;
            }
            length *= 0.5;
            if 2.0 * promise * length < blind {
                return Ok(Descent {
                    points,
                    iterations: iteration,
                    converged: promise < blind * 1e3,
                });
            }
        }
        points = moved;
        let full_worth_it = used == Curvature::Full || try_full_at < usize::MAX;
        if promise <= LAST_PROMISE * scale {
            if used == Curvature::Full || promise <= 0.01 * blind {
                return Ok(Descent { points, iterations: iteration + 1, converged: true });
            }
        }
        if !full_worth_it && promise <= NEAR * energy && length == 1.0 {
            try_full_at = iteration + 1;
        }
    }
    Ok(Descent { points, iterations: max_iterations, converged: false })
}

struct Objective<'a> {
    dirichlet: &'a Dirichlet,
    held: &'a HeldEdges,
}

impl Objective<'_> {
    fn energy(&self, points: &[DVec2]) -> f64 {
        self.dirichlet.energy(points) + self.held.energy(points)
    }

    fn gradient(&self, points: &[DVec2], pinned: &[[bool; 2]]) -> Vec<DVec2> {
        let mut gradient = vec![DVec2::ZERO; points.len()];
        self.dirichlet.add_gradient(points, &mut gradient);
        self.held.add_gradient(points, &mut gradient);
        for (g, pins) in gradient.iter_mut().zip(pinned) {
            for k in 0..2 {
                if pins[k] {
                    g[k] = 0.0;
                }
            }
        }
        gradient
    }

    fn assemble(
        &self,
        points: &[DVec2],
        pinned: &[[bool; 2]],
        curvature: Curvature,
        system: &mut System,
    ) {
        system.clear();
        self.dirichlet.add_hessian(points, curvature, system);
        self.held.add_hessian(points, curvature, system);
        let zero = vec![DVec2::ZERO; points.len()];
        system.pin(pinned, &zero, &mut zero.clone());
    }

    fn step(
        &self,
        points: &[DVec2],
        gradient: &[DVec2],
        pinned: &[[bool; 2]],
        curvature: Curvature,
        system: &mut System,
    ) -> Result<Vec<DVec2>, String> {
        self.assemble(points, pinned, curvature, system);
        system.factor()?;
        Ok(negated(system.solve(gradient)))
    }

    /// The step of the projected Hessian; where round-off spoils even that, its diagonal is
    /// lifted until it can be factored.
    fn projected_step(
        &self,
        points: &[DVec2],
        gradient: &[DVec2],
        pinned: &[[bool; 2]],
        system: &mut System,
    ) -> Result<Vec<DVec2>, String> {
        self.assemble(points, pinned, Curvature::Projected, system);
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
