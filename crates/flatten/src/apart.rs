//! A layout that does not lie on itself, where the one of least energy does.
//!
//! From a layout without overlaps every step stops short of one. Where boundary sides have come
//! together and would go on into each other, their ends are held where they are, and the rest
//! goes on. Once that has come to rest they are let go again: what was in the way may have moved.

use glam::DVec2;

use crate::flattening::FlattenError;
use crate::newton::{Descent, promise};
use crate::objective::Objective;
use crate::overlap::boundary_crossings;
use crate::system::System;

/// The promised decrease, over the energy, below which nothing is gained any more.
const LAST_PROMISE: f64 = 1e-6;
/// Letting go of what was held must gain this part of the energy to be done once more.
const WORTH_LETTING_GO: f64 = 1e-5;
/// The part of a step below which what blocks it is held.
const SHORTEST: f64 = 0.1;

/// Descends from the points of `descent`, which must not overlap, without ever overlapping.
/// `boundary` is closed; the coordinates that come to be held are added to `pinned`.
pub(crate) fn descend_apart(
    descent: &mut Descent,
    objective: &mut Objective<'_>,
    boundary: &[u32],
    system: &mut System,
    max_iterations: usize,
) -> Result<(), FlattenError> {
    let free = objective.pinned.clone();
    let mut energy = objective.energy(&descent.points);
    loop {
        let before = energy;
        energy = to_rest(descent, objective, boundary, system, max_iterations)?;
        let held = objective.pinned != free;
        let gained = energy < before * (1.0 - WORTH_LETTING_GO);
        if !held || !gained || descent.iterations >= max_iterations {
            return Ok(());
        }
        objective.pinned.clone_from(&free);
    }
}

/// Descends until nothing moves any more that is not held, and returns the energy.
fn to_rest(
    descent: &mut Descent,
    objective: &mut Objective<'_>,
    boundary: &[u32],
    system: &mut System,
    max_iterations: usize,
) -> Result<f64, FlattenError> {
    descent.converged = false;
    let mut energy = objective.energy(&descent.points);
    while descent.iterations < max_iterations {
        let iteration = descent.iterations;
        let gradient = objective.gradient(&descent.points);
        let step = objective
            .projected_step(&descent.points, &gradient, system)
            .map_err(|cause| FlattenError::Unsolvable { iteration, cause })?;
        let promise = promise(&gradient, &step);
        descent.iterations += 1;
        let Some(found) = objective.search(&descent.points, &step, energy, promise) else {
            descent.converged = promise <= LAST_PROMISE * energy;
            return Ok(energy);
        };
        match clear_part(&descent.points, &found.points, boundary) {
            Clear::Part(part) => {
                descent.points = between(&descent.points, &found.points, part);
                energy = objective.energy(&descent.points);
                if part == 1.0 && promise <= LAST_PROMISE * energy {
                    descent.converged = true;
                    return Ok(energy);
                }
            }
            Clear::BlockedBy(sides) => {
                for side in sides {
                    for end in [side, (side + 1) % boundary.len()] {
                        objective.pinned[boundary[end] as usize] = [true; 2];
                    }
                }
            }
        }
    }
    Ok(energy)
}

/// How far a step is free of overlaps.
enum Clear {
    /// All of it, or this part.
    Part(f64),
    /// Hardly any; these sides of the boundary come together.
    BlockedBy(Vec<usize>),
}

fn clear_part(from: &[DVec2], to: &[DVec2], boundary: &[u32]) -> Clear {
    let mut part = 1.0;
    loop {
        let crossings = boundary_crossings(&between(from, to, part), boundary);
        if crossings.is_empty() {
            return Clear::Part(part);
        }
        part *= 0.5;
        if part < SHORTEST {
            return Clear::BlockedBy(crossings.into_iter().flatten().collect());
        }
    }
}

fn between(from: &[DVec2], to: &[DVec2], part: f64) -> Vec<DVec2> {
    if part == 1.0 {
        return to.to_vec();
    }
    from.iter().zip(to).map(|(a, b)| a.lerp(*b, part)).collect()
}
