//! Newton's method, kept downhill and clear of flips.

use glam::DVec2;

use crate::energy::Energy;
use crate::flattening::FlattenError;
use crate::held::HeldEdges;
use crate::objective::{FLAT_ENERGY, Objective};
use crate::patch::Patches;
use crate::secant::Secants;
use crate::start::Start;
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
/// A promise below this part of the energy shows the equations to change so little that their
/// factorisation serves once more.
const SERVES_AGAIN: f64 = 1e-2;
/// It goes on serving while each step promises less than this part of what the last one did:
/// a step with it costs a fifth to a third of one with equations of its own.
const SERVES_ON: f64 = 0.1;
/// Where no step brings a decrease any more, a promise below this counts as having arrived.
const CLOSE_ENOUGH: f64 = 1e-9;
/// A promise below this part of the energy shows the optimum near enough for the full Hessian
/// to be worth a try.
const NEAR: f64 = 0.3;
/// After the full Hessian turned out indefinite, this many steps go by before the next try.
const PATIENCE: usize = 2;

/// What an old factorisation would still move by this part of its longest move or more lies in the
/// patches that are settled by themselves.
const MOVES_MOST: f64 = 0.3;
/// So often patches are settled on the way; what is left then lies everywhere.
const MOST_PATCHES: usize = 4;

/// Where the descent ended.
pub(crate) struct Descent {
    pub(crate) points: Vec<DVec2>,
    pub(crate) iterations: usize,
    pub(crate) converged: bool,
}

/// What the first step goes by.
#[derive(Clone, Copy)]
pub(crate) enum Begin<'a> {
    /// Equations of its own.
    Afresh,
    /// The factorisation that `system` holds, of nearly the same layout.
    AsBefore,
    /// The same, for a layout that is only looked at. Patches may be settled by themselves.
    ToLookAt(Option<&'a Patches<'a>>),
}

/// Descends from `start` to the least energy of the surface and the held lines together, the
/// lines from round to round as in `rounds`.
pub(crate) fn descend(
    start: Start,
    surface: &dyn Energy,
    rounds: &[HeldEdges],
    system: &mut System,
    max_iterations: usize,
    begin: Begin<'_>,
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
pub(crate) fn descend_once(
    descent: &mut Descent,
    objective: &Objective<'_>,
    system: &mut System,
    max_iterations: usize,
    last: bool,
    begin: Begin<'_>,
) -> Result<(), FlattenError> {
    let (promise_of_round, small) = match begin {
        Begin::ToLookAt(_) => (UNSEEN_ROUND_PROMISE, UNSEEN_MOVE),
        _ => (ROUND_PROMISE, SMALL_MOVE),
    };
    let enough = if last { LAST_PROMISE } else { promise_of_round };
    let small = small * objective.surface.geometry().total_area().sqrt();
    let mut energy = objective.energy(&descent.points);
    let mut gradient = objective.gradient(&descent.points);
    descent.converged = false;
    // The step from which on the full Hessian is tried: near the optimum from the first.
    let mut full_from = match begin {
        Begin::Afresh => usize::MAX,
        Begin::AsBefore => descent.iterations,
        // A guess is too rough for it.
        Begin::ToLookAt(_) => descent.iterations + 1,
    };
    let patches = if let Begin::ToLookAt(patches) = begin { patches } else { None };
    let mut patches_left = MOST_PATCHES;
    let mut secants = Secants::default();
    // What the last step promised, where its factorisation may serve once more.
    let mut serving = (!matches!(begin, Begin::Afresh)).then_some(f64::INFINITY);
    let mut last_move: Option<f64> = None;
    let mut was_again = false;
    while descent.iterations < max_iterations {
        let iteration = descent.iterations;
        if std::mem::take(&mut was_again)
            && patches_left > 0
            && let Some(patches) = patches
        {
            patches_left -= 1;
            let step = system.solve(&gradient);
            let far = small.max(MOVES_MOST * longest_of(&step));
            let moving: Vec<bool> = step.iter().map(|d| d.length() > far).collect();
            if let Some(settled) = patches.settled(&descent.points, &moving) {
                descent.points = settled;
                energy = objective.energy(&descent.points);
                gradient = objective.gradient(&descent.points);
                secants.clear();
                serving = Some(f64::INFINITY);
            }
        }
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
        let longest = longest_of(&step);
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
        was_again = is_again;
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

fn longest_of(step: &[DVec2]) -> f64 {
    step.iter().map(|d| d.length()).fold(0.0, f64::max)
}
