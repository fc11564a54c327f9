//! What the page is told, in the shapes it expects.

pub(super) mod last;
pub(super) mod piece;
pub(super) mod report;
pub(super) mod sizes;
pub(super) mod state;

use glam::{DVec2, DVec3};
use serde::Serialize;

pub(super) type Vec3 = [f64; 3];
pub(super) type Vec2 = [f64; 2];

pub(super) fn v3(place: DVec3) -> Vec3 {
    place.to_array()
}

pub(super) fn v2(place: DVec2) -> Vec2 {
    place.to_array()
}

/// Something noticed, with what to do about it.
#[derive(Debug, Clone, Serialize)]
pub(super) struct Notice {
    place: String,
    message: String,
    hint: String,
    /// The entry or mark at which it is mended, where there is one.
    entry: Option<&'static str>,
}

/// The places that warnings name, and the entry or mark at which each is mended.
const MENDED_AT: [(&str, &str); 22] = [
    ("size", "last.size"),
    ("foot", "last.foot"),
    ("heel height", "last.heel_height"),
    ("stiffener", "stiffener.kind"),
    ("stiffener.wall_cuts", "stiffener.wall_cuts"),
    ("wearer.ankle_medial", "wearer.ankle_medial"),
    ("wearer.ankle_lateral", "wearer.ankle_lateral"),
    ("seat", "marks.seat"),
    ("centre back", "marks.seat"),
    ("inside joint", "marks.joint_medial"),
    ("outside joint", "marks.joint_lateral"),
    ("inside ankle", "marks.ankle_medial"),
    ("outside ankle", "marks.ankle_lateral"),
    ("heel breast", "marks.breast"),
    ("top of the centre back", "marks.centre_back_top"),
    ("waist point", "marks.waist"),
    ("instep", "marks.instep"),
    ("instep point", "marks.instep"),
    ("vamp point", "marks.vamp"),
    ("toe point", "marks.toe"),
    ("front of the top", "marks.top_front"),
    ("back of the top", "marks.top_back"),
];

impl Notice {
    fn new(place: &str, message: &str, hint: &str) -> Self {
        let mended = MENDED_AT.iter().find(|(named, _)| *named == place);
        Self {
            place: place.to_owned(),
            message: message.to_owned(),
            hint: hint.to_owned(),
            entry: mended.map(|(_, key)| *key),
        }
    }
}

impl From<&geometry::warned::Warning> for Notice {
    fn from(warning: &geometry::warned::Warning) -> Self {
        Self::new(&warning.place, &warning.message, &warning.hint)
    }
}

impl From<&shoe::report::Notice> for Notice {
    fn from(notice: &shoe::report::Notice) -> Self {
        Self::new(&notice.place, &notice.message, &notice.hint)
    }
}
