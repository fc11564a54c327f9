//! Cuts of the wall that run straight on through the lasting margin, to its outer edge.

use glam::DVec2;

use super::margin::{Margin, STEP};
use super::relief::{GOOD_TONGUE, Vee, in_triangle};

/// The margin's direction turns into that of the side of a cut over this length, mm: less would
/// let its outer edge run backward, more reach to the next cut.
const TURNS_OVER: f64 = 8.0;

/// The V of a cut in the wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WallVee {
    /// The last point of the feather edge before it.
    pub step: usize,
    /// Along the outer edge from its left end, mm.
    pub at: f64,
    /// What it takes from the outer edge beyond its straight sides, to the left and to the right,
    /// mm: the length that does not fit under the insole, where it leaves no room for a V beside.
    pub taken: [f64; 2],
    /// Where its sides meet the outer edge.
    pub mouth: [DVec2; 2],
    /// Where its sides turn to take more, as far from the feather edge as points of V's.
    pub knees: [DVec2; 2],
    /// Its point, in the wall.
    pub point: DVec2,
}

/// The directions `outward` from a section of the feather edge, turned at an end where a cut with
/// its point at one of `ends` parts it, so that the side of the cut runs straight on.
pub(super) fn towards_flanks(
    section: &[DVec2],
    mut outward: Vec<DVec2>,
    ends: [Option<DVec2>; 2],
) -> Vec<DVec2> {
    let last = section.len() - 1;
    for (end, point) in [0, last].into_iter().zip(ends) {
        let Some(point) = point else { continue };
        let flank = (section[end] - point).normalize_or_zero();
        for (i, direction) in outward.iter_mut().enumerate() {
            let away = i.abs_diff(end) as f64 * STEP;
            let share = (1.0 - away / TURNS_OVER).max(0.0);
            if share > 0.0 {
                *direction = direction.lerp(flank, share).normalize_or_zero();
            }
        }
    }
    outward
}

impl Margin {
    /// Whether a cut of the wall lies between step `i` and the next.
    pub(super) fn is_break(&self, i: usize) -> bool {
        self.wall_vees.iter().any(|v| v.step == i)
    }

    /// Whether the direction of the margin is turned at step `i`, which says nothing about the
    /// length that fits.
    pub(super) fn is_turned(&self, i: usize) -> bool {
        let turned = (TURNS_OVER / STEP) as usize;
        self.wall_vees.iter().any(|v| v.step.abs_diff(i) <= turned + 1)
    }

    /// `vees` without those that would leave no good tongue beside a cut of the wall: what they
    /// would take is taken from the side of the cut instead.
    pub(super) fn beside_wall_vees(&mut self, vees: Vec<Vee>) -> Vec<Vee> {
        for cut in &mut self.wall_vees {
            cut.taken = [0.0; 2];
        }
        // The least tongue left beside `vee`, the cut there, and on which side of it.
        let beside = |cuts: &[WallVee], vee: &Vee| {
            let tongues = cuts.iter().enumerate().map(|(i, cut)| {
                let right = usize::from(vee.at > cut.at);
                ((vee.at - cut.at).abs() - vee.opening / 2.0 - cut.taken[right], i, right)
            });
            tongues.min_by(|a, b| a.0.total_cmp(&b.0))
        };
        let mut left = vees;
        // What a cut takes more leaves less room for the next V.
        while let Some((k, (_, i, right))) = left
            .iter()
            .enumerate()
            .filter_map(|(k, vee)| Some((k, beside(&self.wall_vees, vee)?)))
            .find(|(_, (tongue, ..))| *tongue < GOOD_TONGUE)
        {
            self.wall_vees[i].taken[right] += left.remove(k).opening;
        }
        let wider: Vec<WallVee> = self.wall_vees.iter().map(|cut| self.widened(cut)).collect();
        self.wall_vees = wider;
        left
    }

    fn widened(&self, cut: &WallVee) -> WallVee {
        let ends = [cut.step, cut.step + 1];
        let [to_left, to_right] = cut.taken;
        let straight = ends.map(|i| self.outer[i]);
        let mouth = [
            if to_left > 0.0 { self.on_outer(cut.at - to_left) } else { straight[0] },
            if to_right > 0.0 { self.on_outer(cut.at + to_right) } else { straight[1] },
        ];
        let knees = ends.map(|i| self.feather[i] + self.outward[i] * self.widths.point());
        WallVee { mouth, knees, ..*cut }
    }

    /// The least distance along the edge between a cut of the wall and the next V or cut, mm.
    pub(super) fn narrowest_beside_wall_vees(&self) -> f64 {
        let ends = |v: &WallVee| [v.at - v.taken[0], v.at + v.taken[1]];
        let apart = |[a, b]: [f64; 2], [c, d]: [f64; 2]| (c - b).max(a - d);
        let own = self.vees.iter().map(|v| [v.at - v.opening / 2.0, v.at + v.opening / 2.0]);
        let of_vees = own.flat_map(|v| self.wall_vees.iter().map(move |cut| apart(v, ends(cut))));
        let of_cuts = self.wall_vees.windows(2).map(|w| apart(ends(&w[0]), ends(&w[1])));
        of_vees.chain(of_cuts).fold(f64::INFINITY, f64::min)
    }
}

impl WallVee {
    /// Whether it takes away the material at `place` of the margin.
    pub(super) fn takes_away(&self, place: DVec2) -> bool {
        let ([left, right], [left_knee, right_knee]) = (self.mouth, self.knees);
        [
            [left_knee, right_knee, self.point],
            [left, left_knee, right_knee],
            [left, right_knee, right],
        ]
        .into_iter()
        .any(|corners| in_triangle(place, corners))
    }

    /// Its sides from the outer edge to the point, and back out.
    pub fn sides(&self) -> [Vec<DVec2>; 2] {
        let mut sides = [0, 1].map(|k| match self.taken[k] > 0.0 {
            true => vec![self.mouth[k], self.knees[k], self.point],
            false => vec![self.mouth[k], self.point],
        });
        sides[1].reverse();
        sides
    }
}
