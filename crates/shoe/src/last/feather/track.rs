//! One smooth choice over many sections: the cheapest closed path through all profiles.

use crate::last::profile::Profile;

/// How the path is sought.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wanted {
    /// Step of the tried places along a profile, mm.
    pub(super) step: f64,
    /// Distance between profiles, mm.
    pub(super) spacing: f64,
    /// Cost of a slope of one between neighbouring profiles.
    pub(super) stiffness: f64,
}

/// For each profile the arc length, within its span, of the closed path of least total cost
/// (dynamic programming; the ring is run round twice and the settled middle kept, so that the
/// joint is as smooth as the rest up to one step).
pub(super) fn smoothest(
    profiles: &[Profile],
    spans: &[(f64, f64)],
    wanted: Wanted,
    cost: impl Fn(&Profile, f64) -> f64,
) -> Vec<f64> {
    let n = profiles.len();
    let places: Vec<Vec<f64>> = spans
        .iter()
        .map(|(lo, hi)| {
            let steps = ((hi - lo) / wanted.step).floor().max(0.0) as usize;
            (0..=steps).map(|k| lo + k as f64 * wanted.step).collect()
        })
        .collect();
    let costs: Vec<Vec<f64>> = profiles
        .iter()
        .zip(&places)
        .map(|(p, places)| places.iter().map(|s| cost(p, *s)).collect())
        .collect();
    // No leap of more than this is tried: a line does not run three times steeper than that.
    let leap = 3.0 * wanted.spacing;
    let mut total = costs[0].clone();
    let mut came_from: Vec<Vec<usize>> = Vec::with_capacity(2 * n);
    for round in 1..2 * n {
        let (i, j) = ((round - 1) % n, round % n);
        let mut next = Vec::with_capacity(places[j].len());
        let mut from = Vec::with_capacity(places[j].len());
        for (k, s) in places[j].iter().enumerate() {
            let mut best = (f64::INFINITY, 0);
            for (l, before) in places[i].iter().enumerate() {
                let slope = (s - before) / wanted.spacing;
                let price = total[l] + wanted.stiffness * slope * slope;
                let price = if (s - before).abs() > leap { price + 3.0 } else { price };
                if price < best.0 {
                    best = (price, l);
                }
            }
            next.push(best.0 + costs[j][k]);
            from.push(best.1);
        }
        total = next;
        came_from.push(from);
    }
    let mut at = (0..total.len()).min_by(|a, b| total[*a].total_cmp(&total[*b])).unwrap_or(0);
    let mut path = vec![0.0; n];
    let middle = n / 2..n / 2 + n;
    for round in (0..2 * n).rev() {
        if middle.contains(&round) {
            path[round % n] = places[round % n][at];
        }
        if round > 0 {
            at = came_from[round - 1][at];
        }
    }
    path
}
