//! One smooth line under many limits: the way a thin batten lies when it is bent along a wish
//! and held down where it may not pass.

/// The line asked for, sampled at even steps.
#[derive(Debug, Clone)]
pub struct Batten<'a> {
    /// Step between samples, mm.
    pub step: f64,
    /// Where the line would like to run, mm.
    pub wish: &'a [f64],
    /// What it may not pass, mm; infinite where nothing limits it.
    pub limit: &'a [f64],
    /// What it may not pass at places between samples, where a limit begins or ends: in steps from
    /// the first sample, and mm.
    pub borders: &'a [(f64, f64)],
    /// Samples at which the line is held exactly, and where.
    pub pins: &'a [(usize, f64)],
    /// How far a corner of the wish is rounded, mm.
    pub rounding: f64,
}

/// Weight of a pin against the wish's 1: holds to a millionth of a millimetre.
const PINNED: f64 = 1e9;

/// Rounds of adjusting where the batten touches its limits; a few suffice, beyond this it only
/// ever adds contacts.
const FREE_ROUNDS: usize = 40;

impl Batten<'_> {
    /// The heights of the line that bends least while it stays near the wish, goes through the
    /// pins and under the limits: minimises the sum of (height - wish)² and of
    /// rounding⁴ x (second derivative)², by a primal-dual active set.
    pub fn heights(&self) -> Vec<f64> {
        let limits = self.limits();
        let mut touching = vec![false; limits.len()];
        let mut heights = self.solve(&limits, &touching);
        // Each round after the free ones only adds contacts, so that as many more as there are
        // limits must end it.
        for round in 0..FREE_ROUNDS + limits.len() {
            // A held place sits a hair above its limit while the limit pushes it down.
            let keep = round >= FREE_ROUNDS;
            let above = |limit: &Held| limit.of(&heights) > limit.height;
            let now: Vec<bool> =
                limits.iter().zip(&touching).map(|(l, t)| above(l) || (keep && *t)).collect();
            if now == touching {
                break;
            }
            touching = now;
            heights = self.solve(&limits, &touching);
        }
        heights
    }

    fn limits(&self) -> Vec<Held> {
        let at_samples = self.limit.iter().enumerate().filter(|(_, limit)| limit.is_finite());
        let last = self.wish.len() - 1;
        let between = self.borders.iter().filter(|(at, _)| *at >= 0.0 && *at <= last as f64);
        at_samples
            .map(|(i, limit)| Held { sample: i, share: 0.0, height: *limit })
            .chain(between.map(|(at, limit)| {
                let sample = (*at as usize).min(last.saturating_sub(1));
                Held { sample, share: at - sample as f64, height: *limit }
            }))
            .collect()
    }

    fn solve(&self, limits: &[Held], touching: &[bool]) -> Vec<f64> {
        let n = self.wish.len();
        let bend = (self.rounding / self.step).powi(4);
        // Rows hold the diagonal and the two entries to its right.
        let mut matrix = vec![[1.0, 0.0, 0.0]; n];
        let mut right: Vec<f64> = self.wish.to_vec();
        for i in 1..n.saturating_sub(1) {
            let second = [1.0, -2.0, 1.0];
            for a in 0..3 {
                for b in a..3 {
                    matrix[i - 1 + a][b - a] += bend * second[a] * second[b];
                }
            }
        }
        let weight = PINNED * bend.max(1.0);
        let touched = limits.iter().zip(touching).filter(|(_, t)| **t).map(|(l, _)| *l);
        let pins = self.pins.iter().map(|(i, h)| Held { sample: *i, share: 0.0, height: *h });
        for Held { sample, share, height } in touched.chain(pins) {
            matrix[sample][0] += weight * (1.0 - share).powi(2);
            right[sample] += weight * (1.0 - share) * height;
            if share > 0.0 {
                matrix[sample][1] += weight * (1.0 - share) * share;
                matrix[sample + 1][0] += weight * share.powi(2);
                right[sample + 1] += weight * share * height;
            }
        }
        solve_banded(matrix, right)
    }
}

/// A height at a share of the way from one sample to the next.
#[derive(Debug, Clone, Copy)]
struct Held {
    sample: usize,
    share: f64,
    height: f64,
}

impl Held {
    fn of(&self, heights: &[f64]) -> f64 {
        let next = heights.get(self.sample + 1).copied().unwrap_or(0.0);
        heights[self.sample] * (1.0 - self.share) + next * self.share
    }
}

/// Solves a symmetric positive definite system with two bands beside the diagonal (L D Lᵀ).
fn solve_banded(mut matrix: Vec<[f64; 3]>, mut right: Vec<f64>) -> Vec<f64> {
    let n = right.len();
    for i in 0..n {
        let [diagonal, near, far] = matrix[i];
        if i + 1 < n {
            matrix[i + 1][0] -= near * near / diagonal;
            matrix[i + 1][1] -= near * far / diagonal;
            right[i + 1] -= near / diagonal * right[i];
        }
        if i + 2 < n {
            matrix[i + 2][0] -= far * far / diagonal;
            right[i + 2] -= far / diagonal * right[i];
        }
    }
    for i in (0..n).rev() {
        let [diagonal, near, far] = matrix[i];
        let mut value = right[i];
        if i + 1 < n {
            value -= near * right[i + 1];
        }
        if i + 2 < n {
            value -= far * right[i + 2];
        }
        right[i] = value / diagonal;
    }
    right
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_straight_wish_is_met() {
        let wish: Vec<f64> = (0..50).map(|i| 40.0 - 0.3 * f64::from(i)).collect();
        let limit = vec![f64::INFINITY; 50];
        let batten = Batten {
            step: 1.0,
            wish: &wish,
            limit: &limit,
            borders: &[],
            pins: &[],
            rounding: 8.0,
        };
        for (h, w) in batten.heights().iter().zip(&wish) {
            assert!((h - w).abs() < 1e-6, "{h} {w}");
        }
    }

    /// A limit in the middle holds the line down and leaves no corner: the slope of a batten
    /// changes by no more per step than bending to the rounding allows.
    #[test]
    fn a_limit_is_kept_without_a_corner() {
        let wish = vec![50.0; 121];
        let limit: Vec<f64> =
            (0..121).map(|i| if (45..=75).contains(&i) { 40.0 } else { f64::INFINITY }).collect();
        let pins = [(0, 50.0), (120, 50.0)];
        let batten = Batten {
            step: 1.0,
            wish: &wish,
            limit: &limit,
            borders: &[],
            pins: &pins,
            rounding: 6.0,
        };
        let heights = batten.heights();
        assert!(heights[45..=75].iter().all(|h| *h <= 40.0 + 1e-5));
        assert!((heights[60] - 40.0).abs() < 1.0, "touches: {}", heights[60]);
        assert!((heights[0] - 50.0).abs() < 1e-5);
        let bends = heights.windows(3).map(|w| (w[0] - 2.0 * w[1] + w[2]).abs());
        assert!(bends.fold(0.0, f64::max) < 0.25, "a corner");
    }

    /// Where a limit begins between two samples the line begins to be held there, not at the next
    /// sample: it was up to 0.3 mm lower as soon as the limit reached that.
    #[test]
    fn a_limit_that_moves_moves_the_line_evenly() {
        let wish: Vec<f64> = (0..121).map(|i| 55.0 - 0.25 * f64::from(i)).collect();
        let heights = |begin: f64| {
            let on = |i: i32| f64::from(i) >= begin && i <= 80;
            let limit: Vec<f64> =
                (0..121).map(|i| if on(i) { 33.0 } else { f64::INFINITY }).collect();
            let borders = [(begin, 33.0)];
            let pins = [(0, 55.0)];
            let batten = Batten {
                step: 1.0,
                wish: &wish,
                limit: &limit,
                borders: &borders,
                pins: &pins,
                rounding: 9.0,
            };
            batten.heights()
        };
        let mut before = heights(40.0);
        for k in 1..=60 {
            let now = heights(40.0 + 0.05 * f64::from(k));
            let moved = now.iter().zip(&before).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            assert!(moved < 0.05, "{moved} mm at step {k}");
            before = now;
        }
    }

    proptest! {
        #[test]
        fn never_above_a_limit(
            wish in proptest::collection::vec(10.0..60.0f64, 30..200),
            cap in 15.0..60.0f64, from in 0.1..0.5f64, width in 0.05..0.4f64,
        ) {
            let n = wish.len();
            let inside = |i: usize| {
                let share = i as f64 / n as f64;
                share >= from && share <= from + width
            };
            let limit: Vec<f64> =
                (0..n).map(|i| if inside(i) { cap } else { f64::INFINITY }).collect();
            let batten =
                Batten { step: 1.0, wish: &wish, limit: &limit, borders: &[], pins: &[], rounding: 6.0 };
            for (i, h) in batten.heights().iter().enumerate() {
                prop_assert!(*h <= limit[i] + 1e-4, "{h} above {} at {i}", limit[i]);
            }
        }
    }
}
