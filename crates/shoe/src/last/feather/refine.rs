//! From a place near the edge to the edge itself: the kind of edge, and the exact place.

use super::EdgeKind;
use super::rounding::Bend;
use crate::last::profile::Profile;

/// Half the width over which a rounded edge must have turned, mm.
const EDGE_HALF: f64 = 4.0;
/// The widest rounding sought, mm.
const WIDEST: f64 = 14.0;
/// A vertex this near to a corner found by fitting is the corner, mm: noise alone bends the
/// profile elsewhere too.
const CORNER_KNOWN: f64 = 0.6;
/// How far inside and outside the edge the bottom's and the wall's directions are read, mm.
const READ_AT: f64 = 8.0;

/// The kind of edge most profiles show about their middle, and how clearly, 0 to 1.
///
/// At an edge one stretch bends far more than bottom and wall on either side of it, and turns
/// most of the way from the one to the other; on a foot the whole side is one bend.
pub(super) fn edge_kind(profiles: &[Profile], spacing: f64) -> (EdgeKind, f64) {
    /// Measured in the mean of neighbouring profiles: lasts with an edge of up to 6 mm, EU 20
    /// to 48 and noise of 0.1 mm turn 70 to 80 degrees there, a foot 33 to 39.
    const LEAST_TURN: f64 = 55.0;
    /// Likewise: the lasts bend 4 times as much and more there than beside, a foot twice.
    const LEAST_RATIO: f64 = 3.0;
    let places: Vec<f64> = profiles.iter().map(|p| strongest(p, 0.0, 5.0)).collect();
    let around = Around::new(profiles.len(), 6.0, spacing);
    let bends: Vec<Bend> = profiles.iter().zip(&places).map(|(p, s)| Bend::about(p, *s)).collect();
    let (mut turns, mut ratios) = (Vec::new(), Vec::new());
    for i in (0..profiles.len()).step_by(4) {
        let found = around.mean(&bends, i).rounding(1.0, WIDEST);
        turns.push(found.map_or(0.0, |r| r.turn));
        ratios.push(found.map_or(1.0, |r| r.against_beside));
    }
    let sharp: Vec<f64> = profiles
        .iter()
        .zip(&places)
        .map(|(p, at)| {
            let turn = p.angle(at + EDGE_HALF, 1.0) - p.angle(at - EDGE_HALF, 1.0);
            ridge(p, *at).1 / turn.max(20.0)
        })
        .collect();
    let (turn, ratio, sharp) = (median(&turns), median(&ratios), median(&sharp));
    let clear = (turn / 75.0).min(1.0) * ratio / (ratio + 1.0);
    match () {
        () if turn < LEAST_TURN || ratio < LEAST_RATIO => (EdgeKind::Absent, 0.4),
        () if sharp > 0.6 => (EdgeKind::Sharp, 0.6 + 0.4 * clear),
        () => (EdgeKind::Rounded, 0.3 + 0.6 * clear),
    }
}

/// Where, within `reach` of `near`, the profile turns most within the width of an edge.
fn strongest(p: &Profile, near: f64, reach: f64) -> f64 {
    let steps = (reach / 0.25) as i32;
    let turn = |s: f64| p.angle(s + EDGE_HALF, 1.5) - p.angle(s - EDGE_HALF, 1.5);
    (-steps..=steps)
        .map(|k| near + f64::from(k) * 0.25)
        .max_by(|a, b| turn(*a).total_cmp(&turn(*b)))
        .unwrap_or(near)
}

/// The section's vertex of the sharpest turn within 2.5 mm of `near`, and the turn, degrees.
fn ridge(p: &Profile, near: f64) -> (f64, f64) {
    p.vertices(near - 2.5, near + 2.5)
        .map(|s| (s, p.angle(s + 0.5, 0.5) - p.angle(s - 0.5, 0.5)))
        .fold((near, 0.0), |best, v| if v.1 > best.1 { v } else { best })
}

/// The place nearest to `near` where the direction rises through `degrees`.
fn crossing(p: &Profile, near: f64, degrees: f64, half: f64) -> Option<f64> {
    let step = 0.1;
    let mut best: Option<f64> = None;
    let mut before = p.angle(near - READ_AT, half);
    for k in 1..=(2.0 * READ_AT / step) as i32 {
        let s = near - READ_AT + f64::from(k) * step;
        let after = p.angle(s, half);
        if before < degrees && after >= degrees {
            let at = s - step * (after - degrees) / (after - before);
            if best.is_none_or(|b| (at - near).abs() < (b - near).abs()) {
                best = Some(at);
            }
        }
        before = after;
    }
    best
}

/// The exact places, outliers put back between their neighbours; and the share of profiles
/// that were no outliers.
pub(super) fn settle(
    profiles: &[Profile],
    places: &[f64],
    edge: EdgeKind,
    spacing: f64,
) -> (Vec<f64>, f64) {
    let exact: Vec<f64> = match edge {
        EdgeKind::Sharp => profiles.iter().zip(places).map(|(p, s)| corner(p, *s)).collect(),
        EdgeKind::Rounded => middles(profiles, places, spacing),
        EdgeKind::Absent => profiles
            .iter()
            .zip(places)
            .map(|(p, s)| crossing(p, *s, 45.0, 4.0).unwrap_or(*s))
            .collect(),
    };
    smoothed(&exact, places, edge, spacing)
}

/// The corner of a sharp edge: a vertex of the section where one is the corner, else the place
/// that bottom and wall speak for.
fn corner(p: &Profile, near: f64) -> f64 {
    let about = strongest(p, near, 1.5);
    let at = Bend::about(p, about).rounding(0.25, 3.0).map_or(about, |r| about + r.middle);
    let (vertex, kink) = ridge(p, at);
    let turn = p.angle(at + EDGE_HALF, 1.0) - p.angle(at - EDGE_HALF, 1.0);
    if kink > 0.75 * turn && (vertex - at).abs() < CORNER_KNOWN { vertex } else { at }
}

/// The middles of a rounding, each sought in the mean of the profiles around.
fn middles(profiles: &[Profile], places: &[f64], spacing: f64) -> Vec<f64> {
    /// Width of the bell over which profiles, and first their places, are averaged, mm.
    const BELL: f64 = 5.0;
    let around = Around::new(profiles.len(), BELL, spacing);
    let steady: Vec<f64> = (0..profiles.len())
        .map(|i| {
            let (sum, total) = around.of(i).fold((0.0, 0.0), |(sum, total), (j, weight)| {
                (sum + weight * places[j], total + weight)
            });
            sum / total
        })
        .collect();
    let bends: Vec<Bend> = profiles.iter().zip(&steady).map(|(p, s)| Bend::about(p, *s)).collect();
    (0..profiles.len())
        .map(|i| {
            let mean = around.mean(&bends, i);
            mean.rounding(1.0, WIDEST).map_or(places[i], |r| steady[i] + r.middle)
        })
        .collect()
}

/// The neighbours of a place on a ring, weighted by a bell.
struct Around {
    count: usize,
    reach: usize,
    /// Width of the bell, in steps.
    bell: f64,
}

impl Around {
    fn new(count: usize, bell: f64, spacing: f64) -> Self {
        let bell = bell / spacing;
        let reach = ((2.0 * bell).round() as usize).clamp(1, (count / 2).saturating_sub(1));
        Self { count, reach, bell }
    }

    fn of(&self, i: usize) -> impl Iterator<Item = (usize, f64)> + '_ {
        (0..=2 * self.reach).map(move |k| {
            let away = (k as f64 - self.reach as f64) / self.bell;
            ((i + self.count + k - self.reach) % self.count, (-0.5 * away * away).exp())
        })
    }

    fn mean(&self, bends: &[Bend], i: usize) -> Bend {
        Bend::mean(self.of(i).map(|(j, weight)| (&bends[j], weight)))
    }
}

/// The exact places along a ring, `spacing` apart, with outliers replaced and, but for a sharp
/// edge, the rest averaged a little.
fn smoothed(exact: &[f64], places: &[f64], edge: EdgeKind, spacing: f64) -> (Vec<f64>, f64) {
    let n = exact.len();
    let around = |i: usize, reach: usize| (0..=2 * reach).map(move |k| (i + n + k - reach) % n);
    let steps = |mm: f64| ((mm / spacing).round() as usize).clamp(2, n / 2 - 1);
    let strays: Vec<f64> = (0..n)
        .map(|i| {
            let near: Vec<f64> = around(i, steps(7.0)).map(|j| exact[j]).collect();
            (exact[i] - median(&near)).abs()
        })
        .collect();
    let scatter = median(&strays);
    let (least, bell): (f64, f64) = match edge {
        EdgeKind::Sharp => (1.0, 0.0),
        EdgeKind::Rounded => (1.0, 2.0),
        // Nothing there has an edge to lose, and rulers stand square to this line.
        EdgeKind::Absent => (3.0, 12.0),
    };
    let allowed = f64::max(least, 4.0 * scatter);
    let outlying: Vec<bool> = strays.iter().map(|s| *s > allowed).collect();
    let width = bell.max(2.0);
    let reach = steps(2.5 * width);
    let settled = (0..n)
        .map(|i| {
            if bell == 0.0 && !outlying[i] {
                return exact[i];
            }
            let (mut sum, mut total) = (0.0, 0.0);
            for (k, j) in around(i, reach).enumerate() {
                if !outlying[j] {
                    let away = (k as f64 - reach as f64) * spacing;
                    let w = (-0.5 * (away / width).powi(2)).exp();
                    sum += w * exact[j];
                    total += w;
                }
            }
            if total > 0.0 { sum / total } else { places[i] }
        })
        .collect();
    let steady = outlying.iter().filter(|o| !**o).count() as f64 / n as f64;
    (settled, steady)
}

/// The middle value; 0 of none.
fn median(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted.get(sorted.len() / 2).copied().unwrap_or(0.0)
}
