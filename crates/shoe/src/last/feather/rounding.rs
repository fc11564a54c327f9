//! The rounding between bottom and wall in a profile: the stretch that bends more than what
//! lies on either side.

use crate::last::fit::solved;
use crate::last::profile::Profile;

/// Step of the places tried, mm.
const STEP: f64 = 0.25;
/// How far a profile is read to either side, in steps.
const READ: i32 = 60;
/// Half the chord over which directions are read, mm.
const CHORD: f64 = 0.6;
/// A rounding turns at least this much, degrees.
const LEAST_TURN: f64 = 15.0;
/// How much of bottom and wall is looked at beside the rounding, mm.
const BESIDE: f64 = 7.5;

/// The direction of a profile about a place, step by step.
#[derive(Debug, Clone)]
pub(super) struct Bend {
    /// Direction in degrees, and how much it counts; 0 beyond the ends of the profile.
    at: Vec<(f64, f64)>,
}

/// A rounding, relative to the place the bend was read about.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rounding {
    /// Arc length of its middle, mm.
    pub(super) middle: f64,
    /// Its length, mm.
    width: f64,
    /// What it turns, degrees.
    pub(super) turn: f64,
    /// How many times more it bends than bottom or wall beside it.
    pub(super) against_beside: f64,
}

impl Bend {
    /// Reads the directions of `profile` about `near`.
    pub(super) fn about(profile: &Profile, near: f64) -> Self {
        let read = |k: i32| {
            let s = near + f64::from(k) * STEP;
            let reached = s - CHORD >= profile.begin() && s + CHORD <= profile.end();
            if reached { (profile.angle(s, CHORD), 1.0) } else { (0.0, 0.0) }
        };
        Self { at: (-READ..=READ).map(read).collect() }
    }

    /// The mean of several bends, each counting as much as its weight says: what noise does to
    /// one of them, the others even out before anything is sought in them.
    pub(super) fn mean<'a>(bends: impl Iterator<Item = (&'a Bend, f64)>) -> Self {
        let mut at = vec![(0.0, 0.0); 2 * READ as usize + 1];
        for (bend, weight) in bends {
            for (sum, (direction, counts)) in at.iter_mut().zip(&bend.at) {
                sum.0 += weight * counts * direction;
                sum.1 += weight * counts;
            }
        }
        for (direction, counts) in &mut at {
            if *counts > 0.0 {
                *direction /= *counts;
            }
        }
        Self { at }
    }

    /// The rounding between `narrowest` and `widest` mm wide.
    ///
    /// The directions are fitted, by least squares, with a line of three even bends: bottom,
    /// rounding, wall. A wall that goes on bending, as over a toe, does not draw the middle
    /// towards it.
    pub(super) fn rounding(&self, narrowest: f64, widest: f64) -> Option<Rounding> {
        let first = self.fitted(0.0, 9.0, narrowest, widest)?;
        let reach = BESIDE + first.width / 2.0;
        self.fitted(first.middle, reach, narrowest, widest).or(Some(first))
    }

    /// The same, looking `reach` mm to either side of `centre`; what is further off counts less.
    fn fitted(&self, centre: f64, reach: f64, narrowest: f64, widest: f64) -> Option<Rounding> {
        let xs: Vec<f64> = (-READ..=READ).map(|k| f64::from(k) * STEP).collect();
        let tails = self.tails(&xs, centre, reach);
        // The breaks keep off the ends, so that every stretch is seen.
        let near = |x: f64| (x - centre).abs() <= reach - 2.0;
        let better = |best: Option<Fit>, a: f64, b: f64| -> Option<Fit> {
            let allowed = near(a) && near(b) && b - a >= narrowest && b - a <= widest;
            let found = if allowed { Fit::with_breaks(&tails, a, b) } else { None };
            match (best, found) {
                (Some(best), Some(found)) if found.explained <= best.explained => Some(best),
                (best, found) => found.or(best),
            }
        };
        let mut best = None;
        let tried: Vec<f64> = xs.iter().copied().step_by(2).filter(|x| near(*x)).collect();
        for (i, a) in tried.iter().enumerate() {
            for b in &tried[i + 1..] {
                best = better(best, *a, *b);
            }
        }
        // Then closer and closer about the best.
        let mut step = STEP;
        for _ in 0..5 {
            let Fit { a, b, .. } = best?;
            for (da, db) in [(step, 0.0), (-step, 0.0), (0.0, step), (0.0, -step)] {
                best = better(best, a + da, b + db);
            }
            for (da, db) in [(step, step), (-step, -step), (step, -step), (-step, step)] {
                best = better(best, a + da, b + db);
            }
            step /= 2.0;
        }
        best.map(|fit| fit.rounding())
    }

    /// For each place the sums over all from it on.
    fn tails(&self, xs: &[f64], centre: f64, reach: f64) -> Vec<Tail> {
        let mut tails: Vec<Tail> = vec![[0.0; 5]; xs.len() + 1];
        for (k, x) in xs.iter().enumerate().rev() {
            let (d, counts) = self.at[k];
            let w = counts * (1.0 - ((x - centre) / reach).powi(2)).max(0.0);
            let one = [w, w * x, w * x * x, w * d, w * x * d];
            tails[k] = std::array::from_fn(|i| tails[k + 1][i] + one[i]);
        }
        tails
    }
}

/// Sums of w, w x, w x x, w d and w x d.
type Tail = [f64; 5];

/// Directions fitted with a line broken at `a` and `b`.
#[derive(Debug, Clone, Copy)]
struct Fit {
    a: f64,
    b: f64,
    /// The three slopes, degrees each mm: bottom, rounding, wall.
    slopes: [f64; 3],
    /// How much of the directions it explains.
    explained: f64,
}

impl Fit {
    /// The least squares; `None` where no rounding stands out between the breaks.
    fn with_breaks(tails: &[Tail], a: f64, b: f64) -> Option<Self> {
        let from = |x: f64| tails[((x / STEP).ceil() as i32 + READ) as usize];
        let (all, ta, tb) = (tails[0], from(a), from(b));
        // The bases: 1, x, and what lies beyond a and beyond b.
        let with_one = |t: Tail, from: f64| t[1] - from * t[0];
        let with_x = |t: Tail, from: f64| t[2] - from * t[1];
        let own = |t: Tail, from: f64| t[2] - 2.0 * from * t[1] + from * from * t[0];
        let both = tb[2] - (a + b) * tb[1] + a * b * tb[0];
        let right = [all[3], all[4], ta[4] - a * ta[3], tb[4] - b * tb[3]];
        let c = solved([
            [all[0], all[1], with_one(ta, a), with_one(tb, b), right[0]],
            [all[1], all[2], with_x(ta, a), with_x(tb, b), right[1]],
            [with_one(ta, a), with_x(ta, a), own(ta, a), both, right[2]],
            [with_one(tb, b), with_x(tb, b), both, own(tb, b), right[3]],
        ])?;
        let [bottom, bend, wall] = [c[1], c[1] + c[2], c[1] + c[2] + c[3]];
        if bend * (b - a) < LEAST_TURN || bend < bottom || bend < wall {
            return None;
        }
        let explained = (0..4).map(|k| c[k] * right[k]).sum();
        Some(Self { a, b, slopes: [bottom, bend, wall], explained })
    }

    fn rounding(self) -> Rounding {
        let [bottom, bend, wall] = self.slopes;
        let width = self.b - self.a;
        Rounding {
            middle: (self.a + self.b) / 2.0,
            width,
            turn: bend * width,
            // Beside a corner nothing may bend at all; a degree in 10 mm is nothing.
            against_beside: bend / bottom.max(wall).max(0.1),
        }
    }
}
