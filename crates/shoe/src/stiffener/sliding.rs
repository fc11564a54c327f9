//! Vertices that slide along their line when an end of it is moved.

use glam::DVec2;

use super::plane_line::{PlaneLine, lengths, shares};

/// How much of a run at its end gives way when that is moved, mm, and the most as a share of it: a
/// wing that is shortened by a third of this still has sound triangles.
const GIVING: f64 = 45.0;
const MOST_GIVING: f64 = 0.7;

/// The end of a run at which its vertices stay in place as far as they can.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Fixed {
    Start,
    End,
    Neither,
}

/// A part of a line on which vertices are shared out, from `from` to `to`, mm along it.
pub(super) struct Run<'a> {
    pub(super) line: &'a PlaneLine,
    pub(super) from: f64,
    pub(super) to: f64,
    /// Whether it is the line on which they lay at home.
    pub(super) same: bool,
}

/// Where the vertices of a run, at `home` from its start to its end, go on its line: how far along
/// it, mm. Near the fixed end each goes to the nearest place, so that none is
/// drawn past a corner that stays; near the other end they share what the run gained or lost.
pub(super) fn slid(home: &[DVec2], run: &Run<'_>, fixed: Fixed) -> Vec<f64> {
    let Run { line, from, to, same } = *run;
    let lengths = match same {
        true => home.iter().map(|p| line.nearest(*p)).collect(),
        false => lengths(home),
    };
    let shares = shares(&lengths);
    let along = |share: f64| from + (to - from) * share;
    let last = home.len() - 1;
    let length = lengths[last] - lengths[0];
    let giving = (GIVING / length.max(f64::MIN_POSITIVE)).min(MOST_GIVING);
    let turn = match fixed {
        Fixed::Neither => return shares.into_iter().map(along).collect(),
        Fixed::Start => shares.partition_point(|s| *s < 1.0 - giving).clamp(1, last),
        Fixed::End => shares.partition_point(|s| *s <= giving).clamp(1, last) - 1,
    };
    let at_turn = line.nearest(home[turn]).clamp(from.min(to), from.max(to));
    let mut all: Vec<f64> = (0..=last)
        .map(|i| match fixed {
            _ if i == 0 => from,
            _ if i == last => to,
            Fixed::Start if i > turn => {
                at_turn + (to - at_turn) * (shares[i] - shares[turn]) / (1.0 - shares[turn])
            }
            Fixed::End if i < turn => from + (at_turn - from) * shares[i] / shares[turn],
            _ => line.nearest(home[i]).clamp(from.min(to), from.max(to)),
        })
        .collect();
    // Nearest places on a bent line may pass each other.
    for i in 1..=last {
        all[i] = all[i].max(all[i - 1]);
    }
    all
}
