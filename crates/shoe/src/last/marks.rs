//! The marks of a last, who set each, and how sure the program is of what it found.

use geometry::units::Unit;
use glam::{DAffine3, DVec3};

use super::feather::FeatherLine;
pub use crate::foot::Foot;

/// Who set a mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// The program, from the surface or by a rule.
    Found,
    /// The user; the program never moves it on the last.
    User,
}

/// A mark with who set it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mark<T> {
    /// Where it is, in the last frame, mm.
    pub at: T,
    /// Who set it.
    pub source: Source,
}

impl<T> Mark<T> {
    /// A mark found by the program.
    pub const fn found(at: T) -> Self {
        Self { at, source: Source::Found }
    }

    /// The user's mark where there is one, else the program's.
    pub fn user_or(user: Option<T>, found: T) -> Self {
        match user {
            Some(at) => Self { at, source: Source::User },
            None => Self::found(found),
        }
    }
}

/// The marks of a standing last, in the last frame, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Marks {
    /// The rearmost point of the feather line: the origin of the frame.
    pub seat: Mark<DVec3>,
    /// The foremost point of the feather line.
    pub toe: Mark<DVec3>,
    /// Where the ball plane (upright, through both joints) meets the ridge.
    pub vamp: Mark<DVec3>,
    /// On the ridge, between vamp and instep.
    pub waist: Mark<DVec3>,
    /// On the ridge, further back.
    pub instep: Mark<DVec3>,
    /// The front end of the top in the plane y = 0 of the seat; of the rim where the last is
    /// open.
    pub top_front: Mark<DVec3>,
    /// The rear end of the top, likewise.
    pub top_back: Mark<DVec3>,
    /// The inside joint: the widest place of the feather line on the inside.
    pub joint_medial: Mark<DVec3>,
    /// The outside joint.
    pub joint_lateral: Mark<DVec3>,
    /// Where the upper meets the bottom.
    pub feather_line: FeatherLine,
    /// Where the heel breast stands: x.
    pub breast: Mark<f64>,
    /// Where the inside ankle stands: x.
    pub ankle_medial_x: Mark<f64>,
    /// Where the outside ankle stands: x.
    pub ankle_lateral_x: Mark<f64>,
    /// The inside ankle itself, where the user placed it.
    pub ankle_medial: Option<DVec3>,
    /// The outside ankle itself, where the user placed it.
    pub ankle_lateral: Option<DVec3>,
    /// The wall in the plane y = 0 of the seat, from the seat up to `centre_back_top`; its
    /// points lie on the surface. Empty where no wall rises from the seat.
    pub centre_back: Vec<DVec3>,
    /// The upper end of the wall at the centre back.
    pub centre_back_top: Mark<DVec3>,
}

impl Marks {
    /// The same marks where `point` puts them; places along the axis go as points of it.
    pub(super) fn moved(&self, point: impl Fn(DVec3) -> DVec3) -> Marks {
        let mark = |mark: Mark<DVec3>| Mark { at: point(mark.at), source: mark.source };
        let along = |mark: Mark<f64>| Mark { at: point(DVec3::X * mark.at).x, source: mark.source };
        let line = |points: &[DVec3]| points.iter().map(|p| point(*p)).collect();
        Marks {
            seat: mark(self.seat),
            toe: mark(self.toe),
            vamp: mark(self.vamp),
            waist: mark(self.waist),
            instep: mark(self.instep),
            top_front: mark(self.top_front),
            top_back: mark(self.top_back),
            joint_medial: mark(self.joint_medial),
            joint_lateral: mark(self.joint_lateral),
            feather_line: FeatherLine {
                points: line(&self.feather_line.points),
                ..self.feather_line
            },
            breast: along(self.breast),
            ankle_medial_x: along(self.ankle_medial_x),
            ankle_lateral_x: along(self.ankle_lateral_x),
            ankle_medial: self.ankle_medial.map(&point),
            ankle_lateral: self.ankle_lateral.map(&point),
            centre_back: line(&self.centre_back),
            centre_back_top: mark(self.centre_back_top),
        }
    }
}

/// Marks placed by the user, in the coordinates of the file.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct GivenMarks {
    /// The seat point.
    pub seat: Option<DVec3>,
    /// The inside joint.
    pub joint_medial: Option<DVec3>,
    /// The outside joint.
    pub joint_lateral: Option<DVec3>,
    /// The inside ankle.
    pub ankle_medial: Option<DVec3>,
    /// The outside ankle.
    pub ankle_lateral: Option<DVec3>,
    /// Any point at the heel breast; only its place along the axis counts.
    pub breast: Option<DVec3>,
    /// The upper end of the centre back.
    pub centre_back_top: Option<DVec3>,
    /// The waist point, on the ridge of the upper side.
    pub waist: Option<DVec3>,
    /// The instep point, on the ridge of the upper side.
    pub instep: Option<DVec3>,
    /// The vamp point, where the ball plane meets the ridge.
    pub vamp: Option<DVec3>,
    /// The foremost point of the feather line.
    pub toe: Option<DVec3>,
    /// The front end of the top, along the centre line.
    pub top_front: Option<DVec3>,
    /// The rear end of the top, along the centre line.
    pub top_back: Option<DVec3>,
    /// The feather line, closed: the last point is joined to the first.
    pub feather_line: Option<Vec<DVec3>>,
}

/// The name of the heel breast, the one mark that need not lie on the surface.
pub(super) const BREAST: &str = "heel breast";

impl GivenMarks {
    /// The same marks in another frame.
    pub(super) fn moved(&self, by: &DAffine3) -> GivenMarks {
        let moved = |p: Option<DVec3>| p.map(|p| by.transform_point3(p));
        GivenMarks {
            seat: moved(self.seat),
            joint_medial: moved(self.joint_medial),
            joint_lateral: moved(self.joint_lateral),
            ankle_medial: moved(self.ankle_medial),
            ankle_lateral: moved(self.ankle_lateral),
            breast: moved(self.breast),
            centre_back_top: moved(self.centre_back_top),
            waist: moved(self.waist),
            instep: moved(self.instep),
            vamp: moved(self.vamp),
            toe: moved(self.toe),
            top_front: moved(self.top_front),
            top_back: moved(self.top_back),
            feather_line: self
                .feather_line
                .as_ref()
                .map(|line| line.iter().map(|p| by.transform_point3(*p)).collect()),
        }
    }

    /// Every given mark with its name, the points of the feather line too.
    pub(super) fn points(&self) -> impl Iterator<Item = (&'static str, DVec3)> + '_ {
        let single = [
            ("seat", self.seat),
            ("inside joint", self.joint_medial),
            ("outside joint", self.joint_lateral),
            ("inside ankle", self.ankle_medial),
            ("outside ankle", self.ankle_lateral),
            (BREAST, self.breast),
            ("top of the centre back", self.centre_back_top),
            ("waist point", self.waist),
            ("instep point", self.instep),
            ("vamp point", self.vamp),
            ("toe point", self.toe),
            ("front of the top", self.top_front),
            ("back of the top", self.top_back),
        ];
        let line = self.feather_line.iter().flatten().map(|p| ("feather line", *p));
        single.into_iter().filter_map(|(name, p)| Some((name, p?))).chain(line)
    }
}

/// What a [`Finding`] is about.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Found {
    /// The unit of the file.
    Unit(Unit),
    /// Which side is the bottom.
    BottomSide,
    /// Which end is the heel.
    HeelEnd,
    /// The standard last length, mm.
    StandardLength(f64),
    /// The foot.
    Foot(Foot),
    /// The heel height, mm.
    HeelHeight(f64),
    /// The feather line.
    FeatherLine,
    /// The inside joint.
    JointMedial,
    /// The outside joint.
    JointLateral,
    /// The top of the centre back.
    CentreBackTop,
    /// The vamp point.
    Vamp,
    /// The waist point.
    Waist,
    /// The instep point.
    Instep,
    /// The front end of the top.
    TopFront,
    /// The rear end of the top.
    TopBack,
}

/// Something the program found out rather than was told.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// What about, with the value where it is one.
    pub what: Found,
    /// How sure: 0 a guess, 1 certain. A rule of thumb, not a probability.
    pub sureness: f64,
    /// A sentence for the user: what was found and by what sign.
    pub sentence: String,
}
