//! The lasting margin: folded under on the shoe, drawn flat below the feather edge, with V's
//! where it has too much length and slits where it has too little.
//!
//! From the feather edge outward the flat margin passes the insole's edge (where the insole was
//! not on the last), the rounding over what lies beneath, and the net margin that lies under
//! the insole.

use std::cmp::Ordering;

use geometry::outline::distance_to_line;
use glam::{DVec2, DVec3};

use super::brief::{Brief, Construction};
use super::plane_line::{closed_lengths, lengths};
use super::relief::{Slit, Vee};
use super::run_through::{WallVee, towards_flanks};

/// Rounding over the insole edge uses up this many times what lies beneath: a quarter turn,
/// pi / 2. Common practice says 1.6.
const ROUNDING_SHARE: f64 = 1.6;

/// The margin runs out over this much of the feather edge at a wing end, mm, and over no more
/// than this share of the shorter wing.
pub(super) const FULL_FROM_END: (f64, f64) = (35.0, 0.3);

/// Half the length over which the direction of the feather edge is taken, mm.
const DIRECTION_REACH: f64 = 4.0;

/// Step along the feather edge, mm.
pub(super) const STEP: f64 = 1.0;

/// Widths that make up the margin, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Widths {
    /// From the feather edge to the fold: the insole's edge.
    pub insole: f64,
    /// Used up by the rounding.
    pub rounding: f64,
    /// Lies under the insole (or outward, for a stitched-outward shoe).
    pub net: f64,
}

impl Widths {
    /// The widths by the rules: the net margin by construction, in the middle of its range.
    pub fn by_rule(brief: &Brief) -> Self {
        let net = brief.margin.unwrap_or(match brief.construction {
            Construction::Cemented => 13.5,
            Construction::Welted => 17.5,
            Construction::Strobel => 4.5,
            Construction::StitchedOutward => 10.0,
        });
        if brief.construction == Construction::StitchedOutward {
            // Turned outward at the feather edge it passes no insole edge.
            return Self { insole: 0.0, rounding: 0.0, net };
        }
        let insole = if brief.insole_on_last { 0.0 } else { brief.insole };
        Self { insole, rounding: ROUNDING_SHARE * brief.neutral_offset(), net }
    }

    /// From the feather edge to the edge of the piece, mm.
    pub fn whole(&self) -> f64 {
        self.insole + self.rounding + self.net
    }
}

/// The lower edge of the flat wall, which the margin is drawn to.
#[derive(Debug, Clone)]
pub struct LowerEdge {
    /// From left to right between the cuts in the wall: its points flat, and place for place on
    /// the last.
    pub sections: Vec<(Vec<DVec2>, Vec<DVec3>)>,
    /// The section of the seat, and its index there.
    pub seat: (usize, usize),
    /// The points of the cuts between the sections, flat.
    pub points: Vec<DVec2>,
}

/// The margin of a flat piece.
#[derive(Debug, Clone)]
pub struct Margin {
    /// The widths in the middle of the piece.
    pub widths: Widths,
    /// The feather edge, resampled at even steps from the left wing end to the right, mm.
    pub feather: Vec<DVec2>,
    /// Outward from each of its points.
    pub outward: Vec<DVec2>,
    /// Width of the margin at each of its points, mm.
    pub width: Vec<f64>,
    /// The outer edge before anything is cut, point for point.
    pub outer: Vec<DVec2>,
    /// Length of the outer edge up to each point, mm; nothing across a cut of the wall, which
    /// closes on the shoe.
    pub outer_along: Vec<f64>,
    /// Length there is for the outer edge under the insole up to each point, mm.
    pub under_along: Vec<f64>,
    /// Index of the seat.
    pub seat: usize,
    /// Where cuts of the wall run on through the margin, left to right.
    pub wall_vees: Vec<WallVee>,
    /// The V's, left to right.
    pub vees: Vec<Vee>,
    /// The slits, left to right.
    pub slits: Vec<Slit>,
}

impl Margin {
    /// Draws the margin below a flat feather edge.
    pub fn draw(brief: &Brief, edge: &LowerEdge) -> Self {
        let widths = Widths::by_rule(brief);
        let (mut feather, mut places, mut outward) = (Vec::new(), Vec::new(), Vec::new());
        let (mut seat, mut breaks) = (0, Vec::new());
        for (k, (flat, on_last)) in edge.sections.iter().enumerate() {
            // Other sections are stepped from their end towards the seat.
            let from = match k.cmp(&edge.seat.0) {
                Ordering::Less => flat.len() - 1,
                Ordering::Equal => edge.seat.1,
                Ordering::Greater => 0,
            };
            let (points, on_last, start) = even_steps(flat, on_last, from);
            if k == edge.seat.0 {
                seat = feather.len() + start;
            }
            let ends = [k.checked_sub(1), Some(k)].map(|i| edge.points.get(i?).copied());
            outward.extend(towards_flanks(&points, normals(&points), ends));
            feather.extend(points);
            places.extend(on_last);
            breaks.push(feather.len() - 1);
        }
        breaks.pop();
        let n = feather.len();
        // Along the edge, not in steps: a wing a hair longer may have one step more.
        let along = closed_lengths(&feather, &breaks);
        let from_end = |i: usize| along[i].min(along[n - 1] - along[i]);
        let shorter = from_end(seat);
        let run_out = FULL_FROM_END.0.min(FULL_FROM_END.1 * shorter);
        let width: Vec<f64> =
            (0..n).map(|i| widths.whole() * smooth(from_end(i) / run_out)).collect();
        let outer: Vec<DVec2> = (0..n).map(|i| feather[i] + outward[i] * width[i]).collect();
        // Under the insole the edge lies inward of the insole's edge by the net margin that is
        // left there; turned outward it lies outside by as much.
        let outward_turned = brief.construction == Construction::StitchedOutward;
        let plan: Vec<DVec2> = places.iter().map(|p| p.truncate()).collect();
        let plan_outward = normals(&plan);
        let wall = brief.neutral_offset();
        let under: Vec<DVec2> = (0..n)
            .map(|i| {
                let beyond = (width[i] - widths.insole - widths.rounding).max(0.0);
                let from_wall = if outward_turned { wall + beyond } else { -beyond };
                plan[i] + plan_outward[i] * from_wall
            })
            .collect();
        let outer_along = closed_lengths(&outer, &breaks);
        let wall_vees = breaks.iter().zip(&edge.points).map(|(step, point)| WallVee {
            step: *step,
            at: outer_along[*step],
            taken: [0.0; 2],
            mouth: [outer[*step], outer[*step + 1]],
            knees: [feather[*step], feather[*step + 1]],
            point: *point,
        });
        let wall_vees = wall_vees.collect();
        let under_along = signed_lengths(&under, &plan);
        let mut margin = Self {
            widths,
            feather,
            outward,
            width,
            outer,
            outer_along,
            under_along,
            seat,
            wall_vees,
            vees: Vec::new(),
            slits: Vec::new(),
        };
        margin.place_relief();
        margin
    }

    /// Distance of a point of the margin from the feather edge, mm.
    pub fn from_feather(&self, point: DVec2) -> f64 {
        distance_to_line(point, &self.feather)
    }

    /// The place `along` mm along the outer edge from its left end.
    pub fn on_outer(&self, along: f64) -> DVec2 {
        let n = self.outer.len();
        let i = self.outer_along.partition_point(|a| *a <= along).clamp(1, n - 1);
        let (a, b) = (self.outer_along[i - 1], self.outer_along[i]);
        self.outer[i - 1].lerp(self.outer[i], ((along - a) / (b - a)).clamp(0.0, 1.0))
    }

    /// The step (index with a fraction) of the place `along` mm along the outer edge.
    pub fn step_at(&self, along: f64) -> f64 {
        let n = self.outer.len();
        let i = self.outer_along.partition_point(|a| *a <= along).clamp(1, n - 1);
        let (a, b) = (self.outer_along[i - 1], self.outer_along[i]);
        (i - 1) as f64 + ((along - a) / (b - a)).clamp(0.0, 1.0)
    }

    /// The outer edge with its V's, from the left wing end to the right, as runs between
    /// corners: edge, flank, flank, edge and so on. Cuts of the wall are among the V's.
    pub fn cut_edge(&self) -> Vec<Vec<DVec2>> {
        let own = self.vees.iter().map(|v| {
            let half = v.opening / 2.0;
            (v.at - half, v.at + half, [vec![v.mouth[0], v.point], vec![v.point, v.mouth[1]]])
        });
        let of_wall = self.wall_vees.iter().map(|v| {
            let [to_left, to_right] = v.taken;
            (v.at - to_left, v.at + to_right, v.sides())
        });
        let mut all: Vec<_> = own.chain(of_wall).collect();
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut runs = Vec::new();
        let mut from = (0.0, self.on_outer(0.0));
        for (left, right, [inward, back]) in all {
            let (mouth, after) = (inward[0], back[back.len() - 1]);
            runs.push(self.outer_between(from, (left, mouth)));
            runs.extend([inward, back]);
            from = (right, after);
        }
        let whole = self.outer_along[self.outer.len() - 1];
        runs.push(self.outer_between(from, (whole, self.on_outer(whole))));
        runs
    }

    fn outer_between(&self, from: (f64, DVec2), to: (f64, DVec2)) -> Vec<DVec2> {
        let mut points = vec![from.1];
        let inside = self.outer.iter().zip(&self.outer_along);
        points.extend(
            inside.filter(|(_, a)| **a > from.0 + 1e-6 && **a < to.0 - 1e-6).map(|(p, _)| *p),
        );
        points.push(to.1);
        points
    }

    /// The skive line `width` mm inside the outer edge, as far as the margin has its full width,
    /// in runs between the V's.
    pub fn skive(&self, width: f64) -> Vec<Vec<DVec2>> {
        let distance = (self.widths.whole() - width).max(0.0);
        self.runs(|i| {
            let place = self.feather[i] + self.outward[i] * distance;
            let full = self.width[i] >= 0.999 * self.widths.whole();
            let gone = self.vees.iter().any(|v| v.takes_away(place))
                || self.wall_vees.iter().any(|v| v.takes_away(place));
            (full && !gone).then_some(place)
        })
    }

    /// The line at `distance` mm from the feather edge, as far as the margin is wider, in runs
    /// between the cuts of the wall.
    pub fn parallel(&self, distance: f64) -> Vec<Vec<DVec2>> {
        self.runs(|i| {
            let inside = self.width[i] >= distance;
            inside.then(|| self.feather[i] + self.outward[i] * distance)
        })
    }

    /// The lines through what `place` says for each step, broken where it says nothing and at
    /// the cuts of the wall.
    fn runs(&self, place: impl Fn(usize) -> Option<DVec2>) -> Vec<Vec<DVec2>> {
        let mut runs: Vec<Vec<DVec2>> = Vec::new();
        let mut open = false;
        for i in 0..self.feather.len() {
            let place = place(i);
            match (place, runs.last_mut().filter(|_| open)) {
                (Some(place), Some(run)) => run.push(place),
                (Some(place), None) => runs.push(vec![place]),
                (None, _) => {}
            }
            open = place.is_some() && !self.is_break(i);
        }
        runs.retain(|run| run.len() > 1);
        runs
    }
}

/// 0 to 1 with level ends.
fn smooth(t: f64) -> f64 {
    let t = t.clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

/// The value between samples at a step with a fraction.
pub(super) fn lerp_at(values: &[f64], step: f64) -> f64 {
    let i = (step as usize).min(values.len() - 2);
    values[i] + (values[i + 1] - values[i]) * (step - i as f64)
}

/// Lengths along `line`, counted backwards where it runs against `guide`: a line laid far
/// inside a tight bend turns back on itself, and such length is missing, not there.
fn signed_lengths(line: &[DVec2], guide: &[DVec2]) -> Vec<f64> {
    let mut sum = 0.0;
    let mut all = vec![0.0];
    all.extend(line.windows(2).zip(guide.windows(2)).map(|(l, g)| {
        let step = l[1] - l[0];
        sum += step.length() * step.dot(g[1] - g[0]).signum();
        sum
    }));
    all
}

/// Resamples the flat line at even steps from the seat both ways; the ends are kept.
fn even_steps(flat: &[DVec2], on_last: &[DVec3], seat: usize) -> (Vec<DVec2>, Vec<DVec3>, usize) {
    let along = lengths(flat);
    let whole = along[along.len() - 1];
    let to_left = (along[seat] / STEP).floor() as i64;
    let to_right = ((whole - along[seat]) / STEP).floor() as i64;
    let wanted: Vec<f64> = (-to_left..=to_right).map(|i| along[seat] + i as f64 * STEP).collect();
    let mut points = Vec::new();
    let mut places = Vec::new();
    let mut add = |a: f64| {
        let i = along.partition_point(|x| *x <= a).clamp(1, along.len() - 1);
        let span = along[i] - along[i - 1];
        let t = if span > 0.0 { ((a - along[i - 1]) / span).clamp(0.0, 1.0) } else { 0.0 };
        points.push(flat[i - 1].lerp(flat[i], t));
        places.push(on_last[i - 1].lerp(on_last[i], t));
    };
    let keep_left = wanted[0] > 1e-6;
    if keep_left {
        add(0.0);
    }
    wanted.iter().for_each(|a| add(*a));
    if whole - wanted[wanted.len() - 1] > 1e-6 {
        add(whole);
    }
    (points, places, to_left as usize + usize::from(keep_left))
}

/// Unit normals to the right of a line's direction. Flat, the feather edge runs left to right
/// and this is down; in plan it runs from the wearer's left round the back to the right, and
/// this is out of the foot.
fn normals(line: &[DVec2]) -> Vec<DVec2> {
    let reach = (DIRECTION_REACH / STEP) as usize;
    let n = line.len();
    (0..n)
        .map(|i| {
            let (a, b) = (i.saturating_sub(reach), (i + reach).min(n - 1));
            -(line[b] - line[a]).perp().normalize_or_zero()
        })
        .collect()
}
