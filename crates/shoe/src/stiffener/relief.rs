//! V's that take length away from the margin, and slits that let it open.

use glam::DVec2;

use super::margin::{Margin, STEP, Widths, lerp_at};

/// Points of V's, slits and nicks stay this far inside the insole edge, mm. Common practice,
/// no source.
pub const POINT_CLEARANCE: f64 = 2.0;

/// More than the clearance, mm: what bends of the feather edge and a knife may take from it.
const DRAWING_LOSS: f64 = 0.2;

/// Widest a V may open at the edge, mm, from what is best to what a tight seat needs: wide ones
/// leave a step under the insole, narrow ones leave tongues that tear.
const WIDEST_V: [f64; 4] = [7.0, 9.0, 11.0, 13.0];

/// Excess of length, per mm, below which the margin eases in without a V, and lack of it,
/// per mm, below which it stretches without a slit.
const EASES: f64 = 0.06;

/// Length beyond what fits that needs no V on one side of the seat, mm: spread over a hand's
/// breadth, a hammer closes it.
const LEFT_OVER: f64 = 0.5;

/// Distance between slits, mm.
const SLIT_EVERY: f64 = 12.0;

/// Shortest slit worth cutting, mm: twice a nick, so that no one takes it for one.
const SHORTEST_SLIT: f64 = 5.0;

/// Narrowest tongue left between two V's, mm: a narrower one tears off.
const NARROWEST_TONGUE: f64 = 2.0;

/// A tongue that needs no wider V's beside it, mm: it holds a nick.
pub(super) const GOOD_TONGUE: f64 = 4.0;

/// A V cut away from the margin. Places are mm along the outer edge from its left end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vee {
    /// Middle of the opening.
    pub at: f64,
    /// Width of the opening, mm.
    pub opening: f64,
    /// Where the flanks meet the edge.
    pub mouth: [DVec2; 2],
    /// The point, inside the margin.
    pub point: DVec2,
    /// Its distance from the insole edge, mm.
    pub clearance: f64,
}

impl Vee {
    /// Whether the V takes away the material at `place`.
    pub(super) fn takes_away(&self, place: DVec2) -> bool {
        in_triangle(place, [self.mouth[0], self.mouth[1], self.point])
    }
}

/// Whether `place` lies within a triangle.
pub(super) fn in_triangle(place: DVec2, [a, b, c]: [DVec2; 3]) -> bool {
    let side = |from: DVec2, to: DVec2| (to - from).perp_dot(place - from);
    let sides = [side(a, b), side(b, c), side(c, a)];
    sides.iter().all(|s| *s >= 0.0) || sides.iter().all(|s| *s <= 0.0)
}

/// A slit in the margin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slit {
    /// Along the outer edge from its left end, mm.
    pub at: f64,
    /// On the edge.
    pub mouth: DVec2,
    /// The inner end.
    pub point: DVec2,
    /// Distance of the inner end from the insole edge, mm.
    pub clearance: f64,
}

impl Widths {
    /// Where points of V's and slits lie, mm from the feather edge: past the rounding where
    /// the margin is wide enough, else as near as the clearance allows.
    pub fn point(&self) -> f64 {
        let nearest = self.insole + POINT_CLEARANCE + DRAWING_LOSS;
        let past_rounding = nearest + self.rounding;
        if self.whole() - past_rounding >= 4.0 { past_rounding } else { nearest }
    }
}

impl Margin {
    /// Places the V's, then the slits.
    pub(super) fn place_relief(&mut self) {
        self.place_vees();
        self.place_slits();
    }

    /// Length on the flat piece beyond what fits, per mm of the edge, between points i and
    /// i + 1: positive needs V's, negative slits.
    fn excess(&self, i: usize) -> f64 {
        let flat = self.outer_along[i + 1] - self.outer_along[i];
        flat - (self.under_along[i + 1] - self.under_along[i])
    }

    /// The run of steps from the seat to one side in which the margin has too much length, and how
    /// much each has, mm. The last counts as far as the excess goes, so that the V's do not leap when a
    /// step falls to the other side.
    fn gathered(&self, to_right: bool) -> Vec<(usize, f64)> {
        let steps: Box<dyn Iterator<Item = usize>> = if to_right {
            Box::new(self.seat..self.outer.len() - 1)
        } else {
            Box::new((0..self.seat).rev())
        };
        let gathered = |i: &usize| self.is_turned(*i) || self.excess(*i) > EASES;
        let run: Vec<usize> = steps.take_while(gathered).collect();
        let amount = |i: usize| match run.last() {
            Some(last) if *last == i => self.excess_to_end(i, to_right),
            _ => self.excess(i),
        };
        run.iter().filter(|i| !self.is_break(**i)).map(|i| (*i, amount(*i))).collect()
    }

    /// The excess of the last step of a run, to where it falls to what eases in. That of a step stands
    /// at its middle.
    fn excess_to_end(&self, last: usize, to_right: bool) -> f64 {
        let here = self.excess(last);
        let next = if to_right { Some(last + 1) } else { last.checked_sub(1) };
        let next = next.filter(|i| *i + 1 < self.outer.len() && !self.is_break(*i));
        let Some(beyond) = next.map(|i| self.excess(i)).filter(|e| *e <= EASES && here > EASES)
        else {
            return here;
        };
        let share = (here - EASES) / (here - beyond);
        here / 2.0 + share * (here + EASES) / 2.0
    }

    fn place_vees(&mut self) {
        for widest in WIDEST_V {
            let vees =
                [false, true].iter().flat_map(|right| self.vees_on(*right, widest)).collect();
            self.vees = self.beside_wall_vees(vees);
            self.vees.sort_by(|a, b| a.at.total_cmp(&b.at));
            if self.narrowest_tongue().0 >= GOOD_TONGUE {
                return;
            }
        }
    }

    /// The fewest V's on one side that open no wider than `widest` and leave no more than
    /// [`LEFT_OVER`], each in the middle of an equal share of the length that does not fit.
    fn vees_on(&self, to_right: bool, widest: f64) -> Vec<Vee> {
        // Between cuts of the wall each tongue has to fit by itself.
        let steps = self.gathered(to_right);
        let tongues = steps.chunk_by(|a, b| a.0.abs_diff(b.0) == 1);
        tongues.flat_map(|steps| self.vees_in(steps, to_right, widest)).collect()
    }

    fn vees_in(&self, steps: &[(usize, f64)], to_right: bool, widest: f64) -> Vec<Vee> {
        let whole: f64 = steps.iter().map(|(_, excess)| excess).sum();
        let count = ((whole - LEFT_OVER) / widest).ceil();
        if count < 1.0 {
            return Vec::new();
        }
        let each = whole / count;
        let mut vees = Vec::new();
        let mut sum = 0.0;
        for (i, here) in steps.iter().copied() {
            while here > 0.0 && each * (vees.len() as f64 + 0.5) < sum + here {
                let share = (each * (vees.len() as f64 + 0.5) - sum) / here;
                let share = if to_right { share } else { 1.0 - share };
                vees.push(self.vee(i as f64 + share, each.min(widest)));
            }
            sum += here;
        }
        vees
    }

    fn vee(&self, step: f64, opening: f64) -> Vee {
        let at = lerp_at(&self.outer_along, step);
        let mouth = [self.on_outer(at - opening / 2.0), self.on_outer(at + opening / 2.0)];
        let (point, clearance) = self.point_at(step);
        Vee { at, opening, mouth, point, clearance }
    }

    /// The innermost place for a point at `step`, and its distance from the insole edge.
    fn point_at(&self, step: f64) -> (DVec2, f64) {
        let i = (step as usize).min(self.feather.len() - 2);
        let share = step - i as f64;
        let from = self.feather[i].lerp(self.feather[i + 1], share);
        let outward = self.outward[i].lerp(self.outward[i + 1], share).normalize_or_zero();
        let point = from + outward * self.widths.point();
        (point, self.from_feather(point) - self.widths.insole)
    }

    /// Slits where the margin is too short for its place: in the hollow of the waist, or round
    /// the seat of a margin turned outward.
    fn place_slits(&mut self) {
        let mut slits = Vec::new();
        for (from, to) in self.runs_short_of_length() {
            let length = (to - from) * STEP;
            let count = (length / SLIT_EVERY).round() as usize;
            let place = |k: usize| from + (to - from) * (k as f64 + 0.5) / count as f64;
            slits.extend((0..count).map(place));
        }
        // None at the centre back.
        let seat = self.seat as f64;
        slits.retain(|step| (step - seat).abs() * STEP > SLIT_EVERY / 3.0);
        let near =
            |cut: usize, step: f64| (cut as f64 + 0.5 - step).abs() * STEP < SLIT_EVERY / 2.0;
        slits.retain(|step| !self.wall_vees.iter().any(|v| near(v.step, *step)));
        for step in slits {
            let at = lerp_at(&self.outer_along, step);
            let (point, clearance) = self.point_at(step);
            self.slits.push(Slit { at, mouth: self.on_outer(at), point, clearance });
        }
    }

    /// Where the margin is too short and deep enough for a slit: pairs of steps, with fractions, so
    /// that a slit does not leap when a step falls to the other side.
    fn runs_short_of_length(&self) -> Vec<(f64, f64)> {
        // Above 0 in a run; that of a step stands at its middle.
        let depth = |i: usize| (self.width[i] + self.width[i + 1]) / 2.0;
        let spare: Vec<f64> = (0..self.outer.len() - 1)
            .map(|i| {
                let deep = depth(i) - self.widths.point() - SHORTEST_SLIT;
                deep.min(-EASES - self.excess(i))
            })
            .collect();
        let crossing = |i: usize| i as f64 + 0.5 + spare[i] / (spare[i] - spare[i + 1]);
        let mut runs = Vec::new();
        let mut from = (spare[0] > 0.0).then_some(0.0);
        for i in 0..spare.len() - 1 {
            match (spare[i] > 0.0, spare[i + 1] > 0.0) {
                (false, true) => from = Some(crossing(i)),
                (true, false) => runs.extend(from.take().map(|from| (from, crossing(i)))),
                _ => {}
            }
        }
        runs.extend(from.map(|from| (from, spare.len() as f64)));
        runs
    }

    /// Smallest tongue between two V's along the edge, mm, and what it may be.
    pub fn narrowest_tongue(&self) -> (f64, f64) {
        let between = |w: &[Vee]| w[1].at - w[1].opening / 2.0 - w[0].at - w[0].opening / 2.0;
        let narrowest = self.vees.windows(2).map(between).fold(f64::INFINITY, f64::min);
        let narrowest = narrowest.min(self.narrowest_beside_wall_vees());
        (narrowest, NARROWEST_TONGUE)
    }
}
