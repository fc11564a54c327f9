//! The smooth moves by which a built last comes to its girths and its back curve.
//!
//! The feather line and the bottom stay what they were built to, but for the stretch along and the
//! widths, by fractions of a millimetre: the moves begin above the feather line and grow to their
//! full size up the wall.

use glam::{DVec3, dvec3};

use super::super::place::{Axis, Bottom, Place, hump, place, smooth_step};
use super::super::ridge::{INSTEP_ABOUT, WAIST_ABOUT};
use super::super::spline::Spline;
use super::super::stand::Last;
use super::entries::BACK_POINTS;

/// Height above the bottom at which the moves have grown to their full size, in standard last
/// lengths: 26 mm on an adult's last.
const GROWN: f64 = 0.10;

/// How far a girth's move reaches along to either side, in standard last lengths.
const REACH: f64 = 0.15;

/// How far the moves of the throat and of the heel's sides reach, likewise.
const WIDE_REACH: f64 = 0.20;

/// The ball goes forward whole within this to either side, and with it, less and less, what lies
/// behind it up to here; in standard last lengths.
const BEFORE_BALL: f64 = 0.04;
const HEEL: f64 = 0.12;

/// The middle of the heel's sides, in standard last lengths.
const HEEL_SIDE: f64 = 0.22;

/// The back curve's move fades out between these, in standard last lengths from the seat.
const BACK: (f64, f64) = (0.0, 0.30);

/// Between these the width of the seat becomes that of the tread, likewise.
const SEAT_TO_TREAD: (f64, f64) = (0.25, 0.55);

/// How many moves there are.
pub(super) const MOVES: usize = 14 + BACK_POINTS;

/// How far each move goes.
pub(super) type Moves = [f64; MOVES];

/// The moves, by their places in [`Moves`]: lengths in mm, the others as logarithms.
///
/// Along, of a standard last length.
const LONGER: usize = 0;
/// Across: at the seat, at the tread.
const SEAT_WIDER: usize = 1;
const TREAD_WIDER: usize = 2;
/// Up the wall: at the ball, the waist, the instep.
const BALL_HIGHER: usize = 3;
const WAIST_HIGHER: usize = 4;
const INSTEP_HIGHER: usize = 5;
/// Across, above the feather line: at the ball, the waist, the instep, between heel and instep.
const BALL_WIDER: usize = 6;
const WAIST_WIDER: usize = 7;
const INSTEP_WIDER: usize = 8;
const HEEL_WIDER: usize = 9;
/// The instep forward.
const INSTEP_FORWARD: usize = 10;
/// The front end of the top, away from the seat.
const THROAT: usize = 11;
/// The toe, up.
const TOE: usize = 12;
/// The ball forward, and what lies about it.
const BALL_FORWARD: usize = 13;
/// The back forward, at the heights entered.
const BACK_FORWARD: usize = 14;

/// What each move costs the likeness to a last: moves that are this large cost alike. Lengths in
/// mm, the others as logarithms.
pub(super) const COSTS: Moves =
    [3.0, 0.02, 0.02, 0.03, 0.03, 0.03, 0.03, 0.03, 0.03, 0.03, 2.0, 6.0, 3.0, 2.0, 3.0, 3.0, 3.0];

/// A built last, ready to be moved.
#[derive(Debug, Clone)]
pub(super) struct Base<'a> {
    last: &'a Last,
    axis: Axis,
    bottom: Bottom,
    vertices: Vec<Place>,
    joints: f64,
    /// Front end of the top.
    throat: DVec3,
    /// Heights of the back curve that are entered.
    pub(super) heights: &'a [f64],
    top: f64,
}

impl<'a> Base<'a> {
    /// `None` where the feather line does not reach from heel to toe.
    pub(super) fn new(last: &'a Last, heights: &'a [f64]) -> Option<Self> {
        let (low, high) = last.mesh.bounds()?;
        let marks = &last.marks;
        let axis = Axis::new(last.standard_last_length, [low.x, high.x], marks);
        let bottom = Bottom::new(&axis, marks)?;
        let joints = (marks.joint_medial.at.x + marks.joint_lateral.at.x) / 2.0;
        Some(Self {
            vertices: last.mesh.positions.iter().map(|p| place(&axis, &bottom, *p)).collect(),
            joints: axis.along(joints),
            throat: marks.top_front.at,
            heights,
            top: high.z,
            axis,
            bottom,
            last,
        })
    }

    /// The last moved by `moves`, with its marks.
    pub(super) fn moved(&self, moves: &Moves) -> Last {
        let back = self.back(moves);
        let at = |p: DVec3, place: &Place| self.point(p, place, moves, back.as_ref());
        let positions = &self.last.mesh.positions;
        let mut last = self.last.clone();
        for ((to, from), place) in last.mesh.positions.iter_mut().zip(positions).zip(&self.vertices)
        {
            *to = at(*from, place);
        }
        last.marks = self.last.marks.moved(|p| at(p, &place(&self.axis, &self.bottom, p)));
        last
    }

    /// How far the back goes forward, by its height.
    fn back(&self, moves: &Moves) -> Option<Spline> {
        let last = *self.heights.last()?;
        let forward = &moves[BACK_FORWARD..];
        let end = forward[self.heights.len() - 1];
        // Nothing below the seat; above the last height entered all goes with it.
        let mut points = vec![(-20.0, 0.0), (0.0, 0.0)];
        points.extend(self.heights.iter().copied().zip(forward.iter().copied()));
        points.push((self.top.max(last + 10.0), end));
        Some(Spline::through(&points))
    }

    fn point(&self, p: DVec3, place: &Place, moves: &Moves, back: Option<&Spline>) -> DVec3 {
        let sll = self.last.standard_last_length;
        let along = place.along;
        let grown = smooth_step((0.0, GROWN * sll), place.above);
        let at = |place: f64, reach: f64| hump((along - place) / reach);
        let [ball, waist, instep] =
            [1.0, WAIST_ABOUT, INSTEP_ABOUT].map(|share| at(share * self.joints, REACH));
        let higher =
            moves[BALL_HIGHER] * ball + moves[WAIST_HIGHER] * waist + moves[INSTEP_HIGHER] * instep;
        let fuller = moves[BALL_WIDER] * ball
            + moves[WAIST_WIDER] * waist
            + moves[INSTEP_WIDER] * instep
            + moves[HEEL_WIDER] * at(HEEL_SIDE, WIDE_REACH);
        let seat = 1.0 - smooth_step(SEAT_TO_TREAD, along);
        let wider = moves[SEAT_WIDER] * seat + moves[TREAD_WIDER] * (1.0 - seat) + fuller * grown;

        let toe = ((along - self.joints) / (self.bottom.end - self.joints)).max(0.0).powi(3);
        let up = place.above * grown * higher.exp_m1() + moves[TOE] * toe;
        let mut moved = dvec3(p.x * (1.0 + moves[LONGER] / sll), p.y * wider.exp(), p.z + up);

        let behind = smooth_step((HEEL, self.joints - BEFORE_BALL), along);
        let before = 1.0 - smooth_step((self.joints + BEFORE_BALL, self.bottom.end), along);
        moved.x += moves[BALL_FORWARD] * behind * before;
        moved.x += moves[INSTEP_FORWARD] * instep * grown;
        let near = hump((p - self.throat).with_y(0.0).length() / (WIDE_REACH * sll));
        moved += self.throat.with_y(0.0).normalize_or_zero() * (moves[THROAT] * near);
        if let Some(back) = back {
            let share = 1.0 - smooth_step(BACK, along);
            moved.x += share * back.at(p.z.clamp(-20.0, self.top));
        }
        moved
    }
}
