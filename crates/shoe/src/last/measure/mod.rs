//! What a tape, a ruler and a size stick read on a standing last.
//!
//! Every measure says how it is taken and how sure it is; every girth gives the plane it was
//! measured in. All in mm, in the last frame.

mod back_curve;
mod feather;
mod girths;
mod size;
mod tape;

use glam::DVec3;

use geometry::mesh::TriMesh;
use geometry::warned::{Warned, Warning};

use super::cut::heights_at;
use super::marks::{Found, Source};
use super::stand::Last;
use crate::size::Size;
pub use back_curve::BackPoint;
pub(super) use back_curve::set_back_at;
pub use feather::RoundHeel;
pub use girths::{GirthName, Girths};
pub(super) use girths::{LEANS, ball_plane};
pub use size::NearestSizes;
pub use tape::{Girth, Plane};
pub(super) use tape::{across, settled, tape, tape_length};

/// The measures of a last.
#[derive(Debug, Clone, PartialEq)]
pub struct Measures {
    /// From the rearmost to the foremost point, along x.
    pub length: f64,
    /// Across the widest, along y.
    pub width: f64,
    /// From the lowest to the highest point, along z.
    pub height: f64,
    /// Height of the seat point above the ground; without an edge of the lowest point of the
    /// heel.
    pub heel_height: f64,
    /// Height of the foremost point of the feather line above the ground.
    pub toe_spring: f64,
    /// Width in y of the feather line over its rear 30 %.
    pub seat_width: f64,
    /// Width in y of the feather line over its front half.
    pub tread_width: f64,
    /// The girths.
    pub girths: Girths,
    /// Along the feather line round the heel.
    pub round_heel: RoundHeel,
    /// The standard last length.
    pub standard_last_length: f64,
    /// The sizes nearest to it.
    pub sizes: NearestSizes,
    /// How far the centre back is set back from the seat, every 10 mm up.
    pub back_curve: Vec<BackPoint>,
    /// How far the inside and the outside joint lie from the rearmost point of the last, as
    /// shares of its length.
    pub joint_shares: (f64, f64),
    /// The bottom at the heel breast, in the middle of the feather line there.
    pub breast: DVec3,
}

/// An instep point less sure than this was not found at all.
const NO_UPPER_SIDE: f64 = 0.15;

/// Measures `last` on `mesh`, which stands in the last frame: its own, or the scan at full
/// resolution. `size` is the user's, if known.
pub fn measure(last: &Last, mesh: &TriMesh, size: Option<Size>) -> Warned<Measures> {
    let mut warnings = Vec::new();
    let (low, high) = mesh.bounds().unwrap_or_default();
    let extent = high - low;
    let marks = &last.marks;
    let line = &marks.feather_line.points;
    let reach = marks.toe.at.x;
    let girths = girths::all(last, mesh, &mut warnings);
    let round_heel = feather::round_heel(line, marks.joint_medial.at, marks.joint_lateral.at);
    if marks.centre_back.is_empty() {
        warnings.push(Warning {
            place: "centre back".into(),
            message: "no wall rises from the seat, so there is no back curve".into(),
            hint: "check the seat, and place it by hand where it is wrong".into(),
        });
    }
    if sureness(last, |f| matches!(f, Found::Instep)) < NO_UPPER_SIDE {
        warnings.push(Warning {
            place: "instep".into(),
            message:
                "no upper side shows at waist and instep: the girths there and round the heel are \
                      guesses"
                    .into(),
            hint: "scan the last up to its top".into(),
        });
    }
    let share = |x: f64| (x - low.x) / extent.x.max(1e-9);
    let breast_y = feather::middle_at(line, marks.breast.at);
    let breast_z = heights_at(mesh, marks.breast.at, breast_y).map_or(0.0, |(z, _)| z);
    let value = Measures {
        length: extent.x,
        width: extent.y,
        height: extent.z,
        heel_height: last.heel_height,
        toe_spring: marks.toe.at.z - last.ground,
        seat_width: feather::width(line, reach, |p| p.x < 0.3 * reach),
        tread_width: feather::width(line, reach, |p| p.x > 0.5 * reach),
        girths,
        round_heel,
        standard_last_length: last.standard_last_length,
        sizes: NearestSizes::of(last.standard_last_length, size),
        back_curve: back_curve::every_ten(&marks.centre_back),
        joint_shares: (share(marks.joint_medial.at.x), share(marks.joint_lateral.at.x)),
        breast: DVec3::new(marks.breast.at, breast_y, breast_z),
    };
    Warned { value, warnings }
}

/// How sure `last` is of something it found: 1 where the user set it.
pub(super) fn sureness(last: &Last, of: impl Fn(&Found) -> bool) -> f64 {
    last.found.iter().find(|f| of(&f.what)).map_or(1.0, |f| f.sureness)
}

/// How sure the feather line is: 1 where the user set it.
pub(super) fn line_sureness(last: &Last) -> f64 {
    match last.marks.feather_line.source {
        Source::User => 1.0,
        Source::Found => last.marks.feather_line.sureness,
    }
}

impl Measures {
    /// How sure each measure is that rests on something found, by its name, 0 to 1: no surer
    /// than the least sure of what it rests on. A rule of thumb, no probability.
    pub fn sureness(&self, last: &Last) -> Vec<(&'static str, f64)> {
        let unit = sureness(last, |f| matches!(f, Found::Unit(_)));
        let heel = sureness(last, |f| matches!(f, Found::HeelHeight(_)));
        let line = line_sureness(last);
        let joints = sureness(last, |f| matches!(f, Found::JointMedial))
            .min(sureness(last, |f| matches!(f, Found::JointLateral)));
        let back = sureness(last, |f| matches!(f, Found::CentreBackTop));
        let size = sureness(last, |f| matches!(f, Found::StandardLength(_)));
        // A wrong pitch moves the length little and the heights much.
        let pitch = 0.5 + 0.5 * heel;
        let mut all = vec![
            ("length", unit.min(pitch)),
            ("width", unit),
            ("height", unit.min(pitch)),
            ("standard_last_length", size),
            ("heel_height", unit.min(heel)),
            ("toe_spring", unit.min(heel).min(line)),
            ("seat_width", unit.min(line)),
            ("tread_width", unit.min(line)),
            ("length_round_heel", unit.min(line).min(joints)),
            ("back_curve", unit.min(pitch).min(back)),
        ];
        for (name, girth) in self.girths.named() {
            all.push((name.key(), unit.min(girth.sureness)));
        }
        all
    }
}
