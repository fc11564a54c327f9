//! Nicks that tell the foot, the side and the face without reading a word.
//!
//! Our own code, all in the edge of the lasting margin: one nick at the centre back; one on the
//! outside wing; on the inside wing two for a left foot, three for a right one. With the top
//! edge up and the outer face towards the eye, the inside of a right foot lies to the left;
//! where it lies to the right instead, the piece is face down.

use glam::DVec2;

use super::margin::Margin;
use super::relief::POINT_CLEARANCE;
use super::run_through::WallVee;
use crate::foot::{Foot, Side};

/// Depth of a nick, mm: deep enough to be felt, too short to tear.
pub const DEPTH: f64 = 2.5;

/// Distance between the nicks of one group, mm.
pub const SPACING: f64 = 3.0;

/// Free edge left beside a group, mm, so that no V or slit is taken for a nick: as much as is
/// good, and what will do.
const APART: [f64; 2] = [4.0, 2.5];

/// Where the search for a group begins, mm from the centre back.
const FIRST: f64 = 20.0;

/// One nick.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nick {
    /// On the outer edge.
    pub mouth: DVec2,
    /// Its inner end.
    pub point: DVec2,
    /// The wing it belongs to; none at the centre back.
    pub side: Option<Side>,
    /// Distance of the inner end from the insole edge, mm.
    pub clearance: f64,
}

/// Why there are no nicks.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NickError {
    /// The margin is too narrow.
    #[error(
        "a margin of {margin:.1} mm leaves no room for the nicks that tell left from right (they stay {POINT_CLEARANCE:.0} mm inside the insole edge); make the margin {needed:.1} mm or more"
    )]
    MarginTooNarrow {
        /// The whole margin, mm from the feather edge.
        margin: f64,
        /// The margin needed, mm.
        needed: f64,
    },
    /// No free run of edge is long enough.
    #[error(
        "the {side} wing has no free edge for its nicks between V's and slits; make the wing longer"
    )]
    NoRoom {
        /// The side.
        side: Side,
    },
}

/// How many nicks a wing gets.
pub const fn count(foot: Foot, side: Side) -> usize {
    match (side, foot) {
        (Side::Lateral, _) => 1,
        (Side::Medial, Foot::Left) => 2,
        (Side::Medial, Foot::Right) => 3,
    }
}

/// Places the nicks on the outer edge of `margin`.
///
/// # Errors
/// When the margin is too narrow or a wing has no free edge.
pub fn place(margin: &Margin, foot: Foot) -> Result<Vec<Nick>, NickError> {
    let needed = least_width(margin);
    if margin.widths.whole() < needed {
        return Err(NickError::MarginTooNarrow { margin: margin.widths.whole(), needed });
    }
    let back = margin.outer_along[margin.seat];
    let mut nicks = vec![nick(margin, back, None)];
    for side in Side::BOTH {
        let sign = if foot.right_side() == side { 1.0 } else { -1.0 };
        let half = SPACING * (count(foot, side) - 1) as f64 / 2.0;
        let middle = free_place(margin, [back, sign], FIRST, half, needed)
            .ok_or(NickError::NoRoom { side })?;
        for k in 0..count(foot, side) {
            let at = middle + SPACING * k as f64 - half;
            nicks.push(nick(margin, at, Some(side)));
        }
    }
    Ok(nicks)
}

/// The width of a margin that leaves room for a nick, mm.
pub(super) fn least_width(margin: &Margin) -> f64 {
    margin.widths.insole + POINT_CLEARANCE + DEPTH
}

/// The middle of the first group of nicks, `half` mm to either side of it, that fits on free edge
/// from `first` mm off the centre back on, where the margin is at least `least` wide; `towards` is the
/// place of that back along the edge and the sign of the side.
pub(super) fn free_place(
    margin: &Margin,
    towards: [f64; 2],
    first: f64,
    half: f64,
    least: f64,
) -> Option<f64> {
    let beside = |apart: &f64| free_beside(margin, towards, first, [half, *apart], least);
    APART.iter().find_map(beside)
}

/// [`free_place`] with `apart` mm of free edge beside the group.
fn free_beside(
    margin: &Margin,
    [back, sign]: [f64; 2],
    first: f64,
    [half, apart]: [f64; 2],
    least: f64,
) -> Option<f64> {
    let whole = *margin.outer_along.last()?;
    let taken = |at: f64| {
        let apart = half + apart;
        let vee = margin.vees.iter().any(|v| (v.at - at).abs() < apart + v.opening / 2.0);
        let beside = |v: &WallVee| v.at - v.taken[0] - apart < at && at < v.at + v.taken[1] + apart;
        let cut = margin.wall_vees.iter().any(beside);
        vee || cut || margin.slits.iter().any(|s| (s.at - at).abs() < apart)
    };
    let wide = |at: f64| {
        let width = margin.width[margin.step_at(at).round() as usize];
        width >= least
    };
    (0..)
        .map(|i| back + sign * (first + f64::from(i)))
        .take_while(|at| *at - half > 0.0 && *at + half < whole)
        .find(|at| !taken(*at) && wide(*at - half) && wide(*at + half))
}

fn nick(margin: &Margin, along: f64, side: Option<Side>) -> Nick {
    let mouth = margin.on_outer(along);
    let inward = -margin.outward[margin.step_at(along).round() as usize];
    let point = mouth + inward * DEPTH;
    let clearance = margin.from_feather(point) - margin.widths.insole;
    Nick { mouth, point, side, clearance }
}
