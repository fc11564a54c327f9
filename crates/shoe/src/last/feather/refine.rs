//! From a place near the edge to the edge itself: the kind of edge, and the exact place.

use super::EdgeKind;
use super::rounding::Bend;
use crate::last::profile::Profile;

/// Half the width over which a rounded edge must have turned, mm.
const EDGE_HALF: f64 = 4.0;
/// A vertex this near to a corner found by fitting is the corner, mm: noise alone bends the
/// profile elsewhere too.
const CORNER_KNOWN: f64 = 0.6;
/// How far inside and outside the edge the bottom's and the wall's directions are read, mm.
const READ_AT: f64 = 8.0;

/// The kind of edge most profiles show about their middle, and how clearly, 0 to 1.
///
/// An edge stands out: it turns far more than any other stretch as wide beside it. On a
/// smooth or a coarsely faceted surface the stretches beside turn about as much.
pub(super) fn edge_kind(profiles: &[Profile]) -> (EdgeKind, f64) {
    let mut sharp: Vec<f64> = Vec::new();
    let mut firm: Vec<f64> = Vec::new();
    for p in profiles {
        let at = strongest(p, 0.0, 5.0);
        // Over chords long enough for noise to matter little: it adds to the greatest of many.
        let turn = |s: f64| p.angle(s + EDGE_HALF, 2.0) - p.angle(s - EDGE_HALF, 2.0);
        let near = turn(at).max(1.0);
        let beside = (0..=8)
            .map(|k| 2.0 * EDGE_HALF + f64::from(k) * 0.5)
            .map(|away| turn(at + away).max(turn(at - away)))
            .fold(0.0, f64::max);
        let (_, kink) = ridge(p, at);
        firm.push(1.0 - beside / near);
        sharp.push(kink / near.max(20.0));
    }
    let (firm, sharp) = (median(&firm), median(&sharp));
    // A quarter circle of radius r turns 8/(pi/2 r) of its angle within +-4 mm: half of it,
    // twice what is left on either side, at r = 10 mm. Beyond, no one would call it an edge.
    match () {
        () if firm < 0.5 => (EdgeKind::Absent, 0.4),
        () if sharp > 0.6 => (EdgeKind::Sharp, (0.6 + 0.4 * firm).min(1.0)),
        () => (EdgeKind::Rounded, (0.3 + 0.6 * firm).min(0.9)),
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
    const BELL: f64 = 3.0;
    let n = profiles.len();
    let reach = ((2.0 * BELL / spacing).round() as usize).clamp(1, n / 2 - 1);
    let around = |i: usize| {
        (0..=2 * reach).map(move |k| {
            let away = (k as f64 - reach as f64) * spacing;
            ((i + n + k - reach) % n, (-0.5 * (away / BELL).powi(2)).exp())
        })
    };
    let even = |values: &[f64], i: usize| {
        let (sum, total) = around(i).fold((0.0, 0.0), |(sum, total), (j, weight)| {
            (sum + weight * values[j], total + weight)
        });
        sum / total
    };
    let steady: Vec<f64> = (0..n).map(|i| even(places, i)).collect();
    let bends: Vec<Bend> = profiles.iter().zip(&steady).map(|(p, s)| Bend::about(p, *s)).collect();
    (0..n)
        .map(|i| {
            let mean = Bend::mean(around(i).map(|(j, weight)| (&bends[j], weight)));
            mean.rounding(1.0, 14.0).map_or(places[i], |r| steady[i] + r.middle)
        })
        .collect()
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
