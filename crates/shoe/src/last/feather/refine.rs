//! From a place near the edge to the edge itself: the kind of edge, and the exact place.

use super::EdgeKind;
use crate::last::profile::Profile;

/// Half the width over which a rounded edge must have turned, mm.
const EDGE_HALF: f64 = 4.0;
/// How far inside and outside the edge the bottom's and the wall's directions are read, mm.
const READ_AT: f64 = 8.0;

/// The kind of edge most profiles show about their middle, and how clearly, 0 to 1.
pub(super) fn edge_kind(profiles: &[Profile]) -> (EdgeKind, f64) {
    let mut sharp: Vec<f64> = Vec::new();
    let mut firm: Vec<f64> = Vec::new();
    for p in profiles {
        let at = strongest(p, 0.0, 5.0);
        let whole = (p.angle(at + 14.0, 2.0) - p.angle(at - 14.0, 2.0)).max(30.0);
        let near = p.angle(at + EDGE_HALF, 1.0) - p.angle(at - EDGE_HALF, 1.0);
        let (_, kink) = ridge(p, at);
        firm.push(near / whole);
        sharp.push(kink / near.max(20.0));
    }
    let (firm, sharp) = (median(&firm), median(&sharp));
    // A quarter circle of radius r turns 8/(pi/2 r) of its angle within +-4 mm: half of it at
    // r = 10 mm, beyond which no one would call it an edge.
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

/// The middle of the turn nearest to `near`: where the direction is half-way between the
/// bottom's and the wall's.
fn middle(p: &Profile, near: f64) -> f64 {
    let half_way = (p.angle(near - READ_AT, 1.5) + p.angle(near + READ_AT, 1.5)) / 2.0;
    crossing(p, near, half_way, 1.0).unwrap_or(near)
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
    let exact: Vec<f64> = profiles
        .iter()
        .zip(places)
        .map(|(p, s)| match edge {
            EdgeKind::Sharp => {
                let at = strongest(p, *s, 1.5);
                let (vertex, kink) = ridge(p, at);
                let near = p.angle(at + EDGE_HALF, 1.0) - p.angle(at - EDGE_HALF, 1.0);
                if kink > 0.5 * near { vertex } else { middle(p, at) }
            }
            EdgeKind::Rounded => middle(p, *s),
            EdgeKind::Absent => crossing(p, *s, 45.0, 4.0).unwrap_or(*s),
        })
        .collect();
    let n = exact.len();
    let reach = ((6.0 / spacing).round() as usize).max(2);
    let around = |i: usize| (0..=2 * reach).map(move |k| (i + n + k - reach) % n);
    let allowed = if edge == EdgeKind::Absent { 3.0 } else { 1.0 };
    let outlying: Vec<bool> = (0..n)
        .map(|i| {
            let near: Vec<f64> = around(i).map(|j| exact[j]).collect();
            (exact[i] - median(&near)).abs() > allowed
        })
        .collect();
    let sigma = match edge {
        EdgeKind::Sharp => 0.0,
        EdgeKind::Rounded => 1.5,
        EdgeKind::Absent => 4.0,
    };
    let settled = (0..n)
        .map(|i| {
            if sigma == 0.0 && !outlying[i] {
                return exact[i];
            }
            let width = f64::max(sigma, 2.0);
            let (mut sum, mut total) = (0.0, 0.0);
            for (k, j) in around(i).enumerate() {
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
