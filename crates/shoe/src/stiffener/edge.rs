//! The top edge: one smooth line through the back height, under every limit, to the wing ends.

use super::batten::Batten;
use super::brief::{Brief, Length};
use super::chart::{Chart, ChartError};
use super::heights;
use super::limits::{Ceiling, Landmarks, LimitError, ceilings, zero};
use super::neighbour::{self, Neighbour};
use crate::foot::Side;
use crate::reasons::Mark;

/// Half the length of edge that runs square across the centre back, mm. Common practice, no
/// source.
const SQUARE_HALF: f64 = 6.0;

/// Step at which the edge is computed, mm.
const STEP: f64 = 1.0;

/// How far corners of the wish are rounded, mm: about the thickness of a thumb, so that the
/// edge can be cut in one stroke.
const ROUNDING: f64 = 9.0;

/// The edge may not fall steeper than this: beyond it a knife or a lasting edge turns a corner.
const STEEPEST: f64 = 1.2;

/// How far a short stiffener reaches past the heel breast, mm. Common practice, no source (one
/// handbook, West 1912, gives 6.35 mm).
const PAST_BREAST: f64 = 10.0;

/// How far the end of a short stiffener leans back over its height, as a share. Common
/// practice, no source.
const RAKE: f64 = 0.35;

/// Largest radius of the rounded upper corner of a wing, mm. Common practice, no source.
const CORNER: f64 = 10.0;

/// The end of one wing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WingEnd {
    /// The side.
    pub side: Side,
    /// Along the axis from the seat, mm.
    pub along_axis: f64,
    /// Along the feather line from the seat, mm, signed as in the chart.
    pub along: f64,
    /// Height asked for at the end, mm above the feather line.
    pub height: f64,
    /// How far the upper corner leans back, mm.
    pub lean: f64,
}

impl WingEnd {
    /// Where the leaning end meets the top edge, mm along the feather line.
    pub fn tip(&self) -> f64 {
        self.along - self.along.signum() * self.lean
    }
}

/// The top edge as designed. Heights are above the feather line, mm.
#[derive(Debug, Clone)]
pub struct TopEdge {
    /// Height at the centre back.
    pub back_height: f64,
    /// How it was computed.
    pub back_formula: String,
    /// Why.
    pub back_reason: String,
    /// How well founded it is.
    pub back_mark: Mark,
    /// The wing that ends at the wearer's left and the one at the right.
    pub ends: [WingEnd; 2],
    /// What limits the edge.
    pub ceilings: Vec<Ceiling>,
    /// The places the heights belong to, mm along the feather line, ascending.
    pub samples: Vec<f64>,
    /// The heights.
    pub heights: Vec<f64>,
    /// How far the true feather line lies above the edge found on the mesh, mm.
    pub zero: f64,
}

/// Why there is no edge.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum EdgeError {
    /// A ceiling could not be found.
    #[error(transparent)]
    Limit(#[from] LimitError),
    /// A place could not be found on the wall.
    #[error(transparent)]
    Chart(#[from] ChartError),
    /// Two limits exclude each other.
    #[error(
        "{upper} and {lower} cannot both be met: they conflict by {by:.1} mm at the {place}. Change one of them"
    )]
    Conflict {
        /// The one that asks for height.
        upper: String,
        /// The one that forbids it.
        lower: String,
        /// By how much, mm.
        by: f64,
        /// Where.
        place: String,
        /// The keys in `job.toml` of what can be changed, the nearest to hand first.
        keys: Vec<String>,
    },
    /// A wing has no room.
    #[error(
        "the {side} wing would end {:.1} mm {} the seat, which leaves no wing; check the {side} joint and the breast",
        along_axis.abs(),
        if *along_axis < 0.0 { "behind" } else { "forward of" }
    )]
    NoWing {
        /// The side.
        side: Side,
        /// Where it would end, mm along the axis, forward of the seat.
        along_axis: f64,
    },
}

/// The key of the back height in `job.toml`.
pub(super) const BACK_HEIGHT: &str = "stiffener.back_height";

/// The key of the height of a wing's end in `job.toml`.
pub(super) fn end_height_key(side: Side) -> String {
    format!("stiffener.{}.end_height", side.key())
}

impl TopEdge {
    /// Designs the edge.
    ///
    /// # Errors
    /// When limits exclude each other (both named, with the millimetres) or a place is missing.
    pub fn design(
        chart: &Chart<'_, '_>,
        brief: &Brief,
        marks: &Landmarks,
    ) -> Result<Self, EdgeError> {
        Self::design_under_all(chart, brief, marks, &[])
    }

    /// Designs the edge of a piece that is to serve `others` too: as high as the lowest of them
    /// allows.
    ///
    /// # Errors
    /// As [`TopEdge::design`].
    pub fn design_under_all(
        chart: &Chart<'_, '_>,
        brief: &Brief,
        marks: &Landmarks,
        others: &[Neighbour<'_>],
    ) -> Result<Self, EdgeError> {
        let right = chart.foot().right_side();
        let left = if right == Side::Medial { Side::Lateral } else { Side::Medial };
        let ends = [wing_end(chart, brief, marks, left)?, wing_end(chart, brief, marks, right)?];
        let first = (ends[0].along / STEP).floor() - 3.0;
        let last = (ends[1].along / STEP).ceil() + 3.0;
        let samples: Vec<f64> =
            (0..=(last - first) as usize).map(|i| (first + i as f64) * STEP).collect();
        let mut ceilings = ceilings(chart, brief, marks, &samples)?;
        let mut lowest_back = back(brief, &ceilings, &samples);
        for other in others {
            let of_it = other.ceilings(&samples)?;
            let mut its_back = back(other.brief, &of_it, &samples);
            if its_back.0 < lowest_back.0 {
                its_back.1 = format!("{}, for {}", its_back.1, other.brief.size);
                lowest_back = its_back;
            }
            neighbour::lower(&mut ceilings, of_it, &other.brief.size);
        }
        let (back_height, back_formula, back_reason, back_mark) = lowest_back;
        let mut edge = Self {
            back_height,
            back_formula,
            back_reason,
            back_mark,
            ends,
            ceilings,
            samples,
            heights: Vec::new(),
            zero: zero(brief),
        };
        edge.refuse_conflicts()?;
        edge.bend(brief);
        edge.refuse_corners()?;
        Ok(edge)
    }

    /// The height of the edge at `along`, mm above the feather line.
    pub fn height(&self, along: f64) -> f64 {
        let n = self.samples.len();
        let place = ((along - self.samples[0]) / STEP).clamp(0.0, (n - 1) as f64);
        let i = (place as usize).clamp(1, n.saturating_sub(3).max(1));
        let t = place - i as f64;
        let h = &self.heights[i - 1..i + 3];
        // Cubic through four neighbours (Lagrange).
        -t * (t - 1.0) * (t - 2.0) / 6.0 * h[0] + (t + 1.0) * (t - 1.0) * (t - 2.0) / 2.0 * h[1]
            - (t + 1.0) * t * (t - 2.0) / 2.0 * h[2]
            + (t + 1.0) * t * (t - 1.0) / 6.0 * h[3]
    }

    /// The height at `along` straight between the samples, as the batten holds it there.
    fn straight_height(&self, along: f64) -> f64 {
        let last = self.samples.len() - 1;
        let place = ((along - self.samples[0]) / STEP).clamp(0.0, last as f64);
        let i = (place as usize).min(last.saturating_sub(1));
        let share = place - i as f64;
        self.heights[i] * (1.0 - share) + self.heights[(i + 1).min(last)] * share
    }

    /// The end of the wing on one side.
    pub fn end(&self, side: Side) -> &WingEnd {
        if self.ends[0].side == side { &self.ends[0] } else { &self.ends[1] }
    }

    /// The whole free edge from the wearer's right wing end, up, over the back and down to the
    /// left one: pairs of `along` and `up` (above the edge found on the mesh), mm. The first
    /// and last lie on the feather line itself.
    pub fn free_edge(&self) -> Vec<(f64, f64)> {
        let [left, right] = &self.ends;
        let mut points = self.end_line(right, 1.0);
        let rest = |along: &f64| {
            *along > left.tip() + self.corner(left) && *along < right.tip() - self.corner(right)
        };
        let top = self.samples.iter().copied().filter(rest).rev();
        points.extend(top.map(|along| (along, self.height(along) + self.zero)));
        let mut down = self.end_line(left, -1.0);
        down.reverse();
        points.extend(down);
        points
    }

    fn corner(&self, end: &WingEnd) -> f64 {
        CORNER.min(0.6 * self.height(end.tip()))
    }

    /// From the feather line up the end of a wing and round its corner into the top edge.
    fn end_line(&self, end: &WingEnd, outward: f64) -> Vec<(f64, f64)> {
        let radius = self.corner(end);
        let whole = self.height(end.tip());
        // The corner, turned from the upright end to the level top; it leans back with the end,
        // in proportion to the height.
        let turns = 16;
        let corner = (0..=turns).map(|i| {
            let angle = std::f64::consts::FRAC_PI_2 * f64::from(i) / f64::from(turns);
            let drop = radius * (1.0 - angle.sin());
            let lean = end.lean * (whole - drop) / whole;
            let along = end.along - outward * (radius * (1.0 - angle.cos()) + lean);
            (along, self.height(along) - drop + self.zero)
        });
        let corner: Vec<(f64, f64)> = corner.collect();
        let (foot, first) = ((end.along, 0.0), corner[0]);
        let steps = (first.1 / STEP).ceil();
        let straight = (0..steps as usize).map(|i| {
            let share = i as f64 / steps;
            (foot.0 + (first.0 - foot.0) * share, first.1 * share)
        });
        straight.chain(corner).collect()
    }

    /// The height of the wing where its end meets the top edge, mm above the feather line.
    pub fn end_height(&self, side: Side) -> f64 {
        self.height(self.end(side).tip())
    }

    fn limit_at(&self, i: usize) -> f64 {
        self.ceilings.iter().map(|c| c.drawn[i]).fold(f64::INFINITY, f64::min)
    }

    /// The centre back as the place of a conflict, with what may have brought the ceiling there.
    fn at_the_back(&self, ceiling: &Ceiling) -> String {
        match ceiling.side {
            Some(side) => format!("centre back; look where the {side} ankle is marked"),
            None => "centre back".into(),
        }
    }

    fn refuse_conflicts(&self) -> Result<(), EdgeError> {
        for (i, along) in self.samples.iter().enumerate() {
            if along.abs() > SQUARE_HALF {
                continue;
            }
            for ceiling in &self.ceilings {
                let by = self.back_height - ceiling.drawn[i];
                if by > 1e-9 {
                    return Err(EdgeError::Conflict {
                        upper: format!("back height {:.1} mm", self.back_height),
                        lower: ceiling.in_words(i),
                        by,
                        place: self.at_the_back(ceiling),
                        keys: [BACK_HEIGHT.into()]
                            .into_iter()
                            .chain(ceiling.keys.clone())
                            .collect(),
                    });
                }
            }
        }
        for end in &self.ends {
            // What the edge must pass under before its end, it may not rise above again.
            let before = |i: &usize| {
                let along = self.samples[*i] * end.along.signum();
                along >= 0.0 && along <= end.along.abs() + STEP
            };
            for ceiling in &self.ceilings {
                let passed = (0..self.samples.len()).filter(before);
                let lowest = passed.min_by(|a, b| ceiling.drawn[*a].total_cmp(&ceiling.drawn[*b]));
                let Some(i) = lowest else { continue };
                let by = end.height - ceiling.drawn[i];
                if by > 1e-9 {
                    return Err(EdgeError::Conflict {
                        upper: format!(
                            "height {:.1} mm of the {} wing's end",
                            end.height, end.side
                        ),
                        lower: ceiling.in_words(i),
                        by,
                        place: format!("{} wing", end.side),
                        keys: [end_height_key(end.side)]
                            .into_iter()
                            .chain(ceiling.keys.iter().rev().cloned())
                            .collect(),
                    });
                }
            }
        }
        Ok(())
    }

    /// Bends the batten: from the square run at the back straight to each ceiling, and on
    /// straight to the wing ends.
    fn bend(&mut self, brief: &Brief) {
        let limit: Vec<f64> =
            (0..self.samples.len()).map(|i| self.limit_at(i).min(self.back_height)).collect();
        let mut wish = vec![self.back_height; self.samples.len()];
        for end in self.ends {
            let sign = end.along.signum();
            let under_ankle = self
                .ceilings
                .iter()
                .filter(|c| c.side == Some(end.side))
                .flat_map(|c| {
                    let at_samples = self.samples.iter().copied().zip(c.drawn.iter().copied());
                    at_samples.chain(c.borders.iter().copied())
                })
                .filter(|(along, drawn)| {
                    drawn.is_finite() && along.abs() < end.tip().abs() - CORNER
                })
                .map(|(along, drawn)| (along.abs(), drawn))
                .min_by(|a, b| a.0.total_cmp(&b.0));
            let mut corners = vec![(SQUARE_HALF, self.back_height)];
            // A short stiffener falls to its end without a dip under the ankle.
            let dips = brief.wing(end.side).length != Length::Short;
            corners.extend(under_ankle.filter(|(along, _)| dips && *along > SQUARE_HALF));
            corners.push((end.tip().abs(), end.height));
            for (i, along) in self.samples.iter().enumerate() {
                if along * sign > SQUARE_HALF {
                    wish[i] = if dips {
                        straight_through(&corners, along.abs())
                    } else {
                        dome(self.back_height, end.height, end.tip().abs(), along.abs())
                    };
                }
            }
        }
        let pins: Vec<(usize, f64)> = self
            .samples
            .iter()
            .enumerate()
            .filter(|(_, along)| along.abs() <= SQUARE_HALF)
            .map(|(i, _)| (i, self.back_height))
            .collect();
        let borders = self.ceilings.iter().flat_map(|c| &c.borders);
        let borders: Vec<(f64, f64)> =
            borders.map(|(along, drawn)| ((along - self.samples[0]) / STEP, *drawn)).collect();
        let batten = Batten {
            step: STEP,
            wish: &wish,
            limit: &limit,
            borders: &borders,
            pins: &pins,
            rounding: ROUNDING,
        };
        self.heights = batten.heights();
    }

    /// The steepest fall tells which limits are too far apart for one smooth edge.
    fn refuse_corners(&self) -> Result<(), EdgeError> {
        let steepest = self
            .heights
            .windows(2)
            .enumerate()
            .max_by(|a, b| (a.1[1] - a.1[0]).abs().total_cmp(&(b.1[1] - b.1[0]).abs()));
        let Some((i, pair)) = steepest else { return Ok(()) };
        let slope = (pair[1] - pair[0]).abs() / STEP;
        if slope <= STEEPEST {
            return Ok(());
        }
        let end = if self.samples[i] > 0.0 { &self.ends[1] } else { &self.ends[0] };
        let side = end.side;
        // The ceiling is to blame where the edge lies on it, else the wing's end.
        let touches = |c: &&Ceiling| {
            let at_samples = c.drawn.iter().zip(&self.heights);
            let between = |(along, drawn): &(f64, f64)| drawn - self.straight_height(*along) < 0.05;
            at_samples.into_iter().any(|(drawn, height)| drawn - height < 0.05)
                || c.borders.iter().any(between)
        };
        let ceiling = self.ceilings.iter().filter(|c| c.side == Some(side)).find(touches);
        let lower = ceiling.map_or_else(
            || format!("the {side} wing, which ends {:.0} mm high", end.height),
            |c| format!("{} {:.1} mm", c.name, c.height),
        );
        let limits = ceiling.map_or_else(|| vec![end_height_key(side)], |c| c.keys.clone());
        let fall = self.back_height - self.heights[i].min(self.heights[i + 1]);
        Err(EdgeError::Conflict {
            upper: format!("back height {:.1} mm", self.back_height),
            lower,
            by: fall * (1.0 - STEEPEST / slope),
            place: format!(
                "{side}, {:.0} mm from the centre back, where one smooth edge would have to fall too steeply",
                self.samples[i].abs()
            ),
            keys: [BACK_HEIGHT.into()].into_iter().chain(limits).collect(),
        })
    }
}

fn straight_through(corners: &[(f64, f64)], along: f64) -> f64 {
    let i = corners.partition_point(|(a, _)| *a <= along).clamp(1, corners.len() - 1);
    let ((a0, h0), (a1, h1)) = (corners[i - 1], corners[i]);
    h0 + (h1 - h0) * (along - a0) / (a1 - a0)
}

/// The fall of a short stiffener: level at the back, steeper towards its end, without a dip.
fn dome(from: f64, to: f64, end: f64, along: f64) -> f64 {
    let share = (along - SQUARE_HALF) / (end - SQUARE_HALF);
    from - (from - to) * share.max(0.0).powf(1.5)
}

/// The back height with its formula and reason.
fn back(brief: &Brief, ceilings: &[Ceiling], samples: &[f64]) -> (f64, String, String, Mark) {
    if let Some(height) = brief.back_height {
        return (height, "entered".into(), "entered in the job".into(), Mark::Own);
    }
    let rule = heights::back_height(brief.standard_last_length) + brief.settling;
    let square = |along: f64| along.abs() <= SQUARE_HALF;
    let under_topline = ceilings
        .iter()
        .filter(|c| c.side.is_none())
        .flat_map(|c| samples.iter().zip(&c.drawn))
        .filter(|(along, _)| square(**along))
        .map(|(_, drawn)| *drawn)
        .fold(f64::INFINITY, f64::min);
    if under_topline < rule {
        let formula = format!("topline at the back less {:.1} mm", brief.below_topline);
        let reason = format!(
            "the topline is lower than the rule's {rule:.1} mm, and the stiffener stays below it"
        );
        return (under_topline, formula, reason, Mark::CommonPractice);
    }
    let formula = format!("standard last length / 5 + {:.1} mm for settling", brief.settling);
    let reason = "above it the edge meets the tendon; lower, the heel slips".into();
    (rule, formula, reason, Mark::CommonPractice)
}

fn wing_end(
    chart: &Chart<'_, '_>,
    brief: &Brief,
    marks: &Landmarks,
    side: Side,
) -> Result<WingEnd, EdgeError> {
    let wing = brief.wing(side);
    let joint = marks.joint(side);
    let along_axis = match wing.length {
        Length::Long => joint - wing.behind_joint,
        Length::MidWaist => (marks.breast + joint) / 2.0,
        Length::Short => marks.breast + PAST_BREAST,
    };
    if along_axis < 2.0 * CORNER {
        return Err(EdgeError::NoWing { side, along_axis });
    }
    let lean = if wing.length == Length::Short { RAKE * wing.end_height } else { 0.0 };
    let along = chart.along_at(side, along_axis)?;
    Ok(WingEnd { side, along_axis, along, height: wing.end_height, lean })
}
