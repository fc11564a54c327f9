//! The rounding between bottom and wall in one profile: the stretch that bends more than what
//! lies on either side.

use crate::last::fit::solved;
use crate::last::profile::Profile;

/// Step of the places tried, mm.
const STEP: f64 = 0.25;
/// How far the profile is read to either side, mm; what is further off counts less.
const READ: f64 = 9.0;
/// Half the chord over which directions are read, mm.
const CHORD: f64 = 0.6;
/// A rounding turns at least this much, degrees.
const LEAST_TURN: f64 = 15.0;

/// Arc length of the middle of the rounding about `near`, between `narrowest` and `widest` mm wide.
///
/// The direction of the profile is fitted, by least squares, with a line of three even bends:
/// bottom, rounding, wall. Noise averages out over the whole stretch, and a wall that goes on
/// bending, as over a toe, does not draw the middle towards it.
pub(super) fn rounding(profile: &Profile, near: f64, narrowest: f64, widest: f64) -> Option<f64> {
    let first = fitted(profile, near, narrowest, widest)?;
    fitted(profile, first, narrowest, widest).or(Some(first))
}

/// Sums over all samples from one on: of w, w x, w x x, w d and w x d.
type Tail = [f64; 5];

fn fitted(profile: &Profile, near: f64, narrowest: f64, widest: f64) -> Option<f64> {
    let half = (READ / STEP) as i32;
    let xs: Vec<f64> = (-half..=half).map(|k| f64::from(k) * STEP).collect();
    let n = xs.len();
    let mut tails: Vec<Tail> = vec![[0.0; 5]; n + 1];
    for (k, x) in xs.iter().enumerate().rev() {
        let s = near + x;
        let reached = s - CHORD >= profile.begin() && s + CHORD <= profile.end();
        let w = if reached { 1.0 - (x / (READ + STEP)).powi(2) } else { 0.0 };
        let d = if reached { profile.angle(s, CHORD) } else { 0.0 };
        let one = [w, w * x, w * x * x, w * d, w * x * d];
        tails[k] = std::array::from_fn(|i| tails[k + 1][i] + one[i]);
    }
    let all = tails[0];
    let (low, high) = ((narrowest / STEP) as usize, (widest / STEP) as usize);
    let within = (2.0 / STEP) as usize..n - (2.0 / STEP) as usize;
    let mut best: Option<(f64, f64)> = None;
    for i in within.clone() {
        for j in i + low..=(i + high).min(within.end - 1) {
            let (a, b) = (xs[i], xs[j]);
            let (ta, tb) = (tails[i], tails[j]);
            // The bases: 1, x, and what lies beyond a and beyond b.
            let with_one = |t: Tail, from: f64| t[1] - from * t[0];
            let with_x = |t: Tail, from: f64| t[2] - from * t[1];
            let both = tb[2] - (a + b) * tb[1] + a * b * tb[0];
            let own = |t: Tail, from: f64| t[2] - 2.0 * from * t[1] + from * from * t[0];
            let right = [all[3], all[4], ta[4] - a * ta[3], tb[4] - b * tb[3]];
            let sums = [
                [all[0], all[1], with_one(ta, a), with_one(tb, b), right[0]],
                [all[1], all[2], with_x(ta, a), with_x(tb, b), right[1]],
                [with_one(ta, a), with_x(ta, a), own(ta, a), both, right[2]],
                [with_one(tb, b), with_x(tb, b), both, own(tb, b), right[3]],
            ];
            let Some(c) = solved(sums) else { continue };
            let (bottom, bend, wall) = (c[1], c[1] + c[2], c[1] + c[2] + c[3]);
            if bend * (b - a) < LEAST_TURN || bend < bottom || bend < wall {
                continue;
            }
            let explained: f64 = (0..4).map(|k| c[k] * right[k]).sum();
            if best.is_none_or(|(most, _)| explained > most) {
                best = Some((explained, near + (a + b) / 2.0));
            }
        }
    }
    best.map(|(_, middle)| middle)
}
