//! The girths: ball, waist, instep, short heel and long heel.
//!
//! Where each tape lies is common practice, no source; houses differ.
//!
//! - ball: the upright plane through both joints;
//! - waist and instep: through the mark, straight across (the plane holds y), tipped to where
//!   a taut tape settles, that is to its least length;
//! - long heel: straight across, round the rear lower corner of the seat (the seat point) and
//!   over the instep point;
//! - short heel: likewise round the rear lower corner of the seat, and over the front at the
//!   throat: where, between the instep point and the front end of the top, the tape is
//!   shortest.

use glam::DVec3;

use geometry::mesh::TriMesh;
use geometry::warned::Warning;

use super::sureness;
use super::tape::{Girth, Plane, across, settled, tape, tape_length};
use crate::last::cut::around;
use crate::last::marks::Found;
use crate::last::stand::Last;

/// How far a tape through a mark of the ridge may lean: from lying along the waist, its lower
/// part back, to the upper part leaning back, radians. No last has its least girth outside.
pub(in crate::last) const LEANS: (f64, f64) = (-1.15, 0.45);

/// The names of the girths.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GirthName {
    /// Round the ball.
    Ball,
    /// Round the waist.
    Waist,
    /// Round the instep.
    Instep,
    /// Round the heel and the throat.
    ShortHeel,
    /// Round the heel and the instep.
    LongHeel,
}

impl GirthName {
    /// As in data: `ball_girth`.
    pub const fn key(self) -> &'static str {
        match self {
            GirthName::Ball => "ball_girth",
            GirthName::Waist => "waist_girth",
            GirthName::Instep => "instep_girth",
            GirthName::ShortHeel => "short_heel_girth",
            GirthName::LongHeel => "long_heel_girth",
        }
    }

    /// In words: `ball girth`.
    pub const fn words(self) -> &'static str {
        match self {
            GirthName::Ball => "ball girth",
            GirthName::Waist => "waist girth",
            GirthName::Instep => "instep girth",
            GirthName::ShortHeel => "short heel girth",
            GirthName::LongHeel => "long heel girth",
        }
    }

    /// Where the tape lies, for people.
    pub const fn how(self) -> &'static str {
        match self {
            GirthName::Ball => "taut tape, upright, over both joints",
            GirthName::Waist => "taut tape straight across over the waist point, where it settles",
            GirthName::Instep => {
                "taut tape straight across over the instep point, where it settles"
            }
            GirthName::ShortHeel => "taut tape round the rear corner of the seat and the throat",
            GirthName::LongHeel => {
                "taut tape round the rear corner of the seat and the instep point"
            }
        }
    }
}

/// All girths of a last.
#[derive(Debug, Clone, PartialEq)]
pub struct Girths {
    /// Round the ball.
    pub ball: Girth,
    /// Round the waist.
    pub waist: Girth,
    /// Round the instep.
    pub instep: Girth,
    /// Round the heel and the throat.
    pub short_heel: Girth,
    /// Round the heel and the instep.
    pub long_heel: Girth,
}

impl Girths {
    /// Every girth with its name, from the ball back.
    pub fn named(&self) -> [(GirthName, &Girth); 5] {
        [
            (GirthName::Ball, &self.ball),
            (GirthName::Waist, &self.waist),
            (GirthName::Instep, &self.instep),
            (GirthName::ShortHeel, &self.short_heel),
            (GirthName::LongHeel, &self.long_heel),
        ]
    }
}

/// The upright plane through both joints.
pub(in crate::last) fn ball_plane(medial: DVec3, lateral: DVec3) -> Plane {
    let upright = (medial - lateral).cross(DVec3::Z).normalize_or_zero();
    Plane { origin: medial, normal: if upright.x < 0.0 { -upright } else { upright } }
}

/// Takes every girth of `last` on `mesh`.
pub(super) fn all(last: &Last, mesh: &TriMesh, warnings: &mut Vec<Warning>) -> Girths {
    let marks = &last.marks;
    let (medial, lateral) = (marks.joint_medial.at, marks.joint_lateral.at);
    let joints = sureness(last, |f| matches!(f, Found::JointMedial))
        .min(sureness(last, |f| matches!(f, Found::JointLateral)));
    let ball = ball_plane(medial, lateral);
    let mut take = |name: GirthName, plane: Plane, slipping: bool, sureness: f64| {
        let tape = tape(mesh, plane);
        let girth = Girth {
            length: around(&tape),
            plane,
            over_top: over_top(&tape, marks.top_front.at, marks.top_back.at),
            tape,
            sureness: if slipping { 0.5 * sureness } else { sureness },
        };
        told(name, &girth, slipping, warnings);
        girth
    };

    let over = |mark: DVec3| {
        let (lean, slipping) = settled(mesh, mark, LEANS.0, LEANS.1);
        (across(mark, lean), slipping)
    };
    let ball = take(GirthName::Ball, ball, false, joints);
    let waist_sure = sureness(last, |f| matches!(f, Found::Waist));
    let (plane, slipping) = over(marks.waist.at);
    let waist = take(GirthName::Waist, plane, slipping, waist_sure);
    let instep_sure = sureness(last, |f| matches!(f, Found::Instep));
    let (plane, slipping) = over(marks.instep.at);
    let instep = take(GirthName::Instep, plane, slipping, instep_sure);

    let seat = marks.seat.at;
    let lean_over = |at: DVec3| (seat.x - at.x).atan2(at.z - seat.z);
    let (to_instep, to_front) = (lean_over(marks.instep.at), lean_over(marks.top_front.at));
    let line = super::line_sureness(last);
    let (throat, at_top) = throat(mesh, seat, to_instep, to_front);
    let top_sure = sureness(last, |f| matches!(f, Found::TopFront));
    // Away from the end of the top it does not matter where that is.
    let throat_sure = line.min(instep_sure).min(if at_top { 0.7 * top_sure } else { 1.0 });
    let short_heel = take(GirthName::ShortHeel, across(seat, throat), false, throat_sure);
    let long_heel =
        take(GirthName::LongHeel, across(seat, to_instep), false, line.min(instep_sure));
    if at_top {
        warnings.push(Warning {
            place: GirthName::ShortHeel.words().into(),
            message:
                "the tape is shortest at the front end of the top, so it tells where the last \
                      is cut off as well"
                    .into(),
            hint: "compare it only with lasts of the same height at the top".into(),
        });
    }
    Girths { ball, waist, instep, short_heel, long_heel }
}

/// The lean at which the tape round the seat is shortest, from over the instep to over the
/// front end of the top; and whether it is at that end.
fn throat(mesh: &TriMesh, seat: DVec3, to_instep: f64, to_front: f64) -> (f64, bool) {
    /// A tape this much nearer to the end lies at the end, radians: half a millimetre there.
    const AT_END: f64 = 4e-3;
    let (from, to) = (to_instep.min(to_front), to_instep.max(to_front));
    let (lean, _) = settled(mesh, seat, from, to);
    // A last is mostly shortest at the very end: there the tape lies at the mark itself.
    let best = [lean, from, to]
        .map(|lean| (lean, tape_length(mesh, across(seat, lean))))
        .into_iter()
        .filter(|(_, length)| *length > 0.0)
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map_or(to_front, |(lean, _)| lean);
    (best, (best - to_front).abs() < AT_END)
}

/// Whether a side of the tape runs along or over the top between its two ends: some corner of
/// it lies on the top, further in than the ends.
fn over_top(tape: &[DVec3], front: DVec3, back: DVec3) -> bool {
    /// Corners nearer to an end than this are at the end, mm.
    const AT_END: f64 = 3.0;
    /// Corners that lie further below the straight line between the ends are on the wall, mm.
    const BELOW: f64 = 1.0;
    let length = front.x - back.x;
    tape.iter().any(|p| {
        let share = (p.x - back.x) / length.max(1e-9);
        let level = back.z + (front.z - back.z) * share;
        p.x > back.x + AT_END && p.x < front.x - AT_END && p.z > level - BELOW
    })
}

fn told(name: GirthName, girth: &Girth, slipping: bool, warnings: &mut Vec<Warning>) {
    let place = name.words();
    if girth.tape.is_empty() {
        warnings.push(Warning {
            place: place.into(),
            message: "its plane misses the last, so the girth is 0".into(),
            hint: "check the marks that it goes over".into(),
        });
        return;
    }
    if girth.over_top {
        warnings.push(Warning {
            place: place.into(),
            message: "the tape runs over the top of the last, which it bridges in a straight line"
                .into(),
            hint: "take it as a comparison only; a last cut off higher reads more".into(),
        });
    }
    if slipping {
        warnings.push(Warning {
            place: place.into(),
            message: "a taut tape would slip further than any tape is laid".into(),
            hint: "check the mark that it goes over, or place it by hand".into(),
        });
    }
}
