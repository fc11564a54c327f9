//! The settings of a job as `job.toml` holds them: what the user entered, and nothing else.
//!
//! A field that is `None` was not entered: its default is in [`Job::brief`], or it is found.

use geometry::units::{Mm, Unit};
use glam::{DAffine3, DMat3, DVec3};
use serde::{Deserialize, Serialize};

use crate::foot::{Foot, Side};
use crate::last::grade::Follow;
use crate::size::Size;
use crate::size::fitting::Fitting;
use crate::stiffener::brief::{Construction, Kind, Length};

/// Everything the user decided.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Job {
    /// The version of the layout of the file.
    pub schema: i64,
    /// What the user calls it.
    pub name: String,
    /// Anything worth keeping with it.
    #[serde(default)]
    pub note: String,
    /// The last and how it stands.
    pub last: Last,
    /// Places set by hand.
    #[serde(default)]
    pub marks: Marks,
    /// The heel stiffener.
    #[serde(default)]
    pub stiffener: Stiffener,
    /// The wearer, where known.
    #[serde(default)]
    pub wearer: Wearer,
    /// The upper edge of the shoe, where known.
    #[serde(default)]
    pub topline: Topline,
    /// What grows from size to size.
    #[serde(default)]
    pub range: Range,
}

/// The scan of the last, and how it is to be understood.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Last {
    /// Name of the mesh file beside `job.toml`.
    pub file: String,
    /// The size that the last is made for.
    pub size: Size,
    /// The fitting (width) that the last is made for, in the words of the size's system.
    pub fitting: Option<String>,
    /// The unit of the file; found from its extent when absent.
    pub unit: Option<Unit>,
    /// Which foot; found from the shape when absent.
    pub foot: Option<Foot>,
    /// Height of the seat above the ground; measured when absent.
    pub heel_height: Option<Mm>,
    /// Rows of the matrix from the file's coordinates to the last frame in mm: a rotation, a
    /// shift and an even scale (mm per unit of the file). Found when absent.
    pub pose: Option<[[f64; 4]; 4]>,
}

impl Last {
    /// Size and fitting, as they stand on a piece.
    pub fn size_in_words(&self) -> String {
        match self.fitting() {
            Some(fitting) => format!("{}, fitting {fitting}", self.size),
            None => self.size.to_string(),
        }
    }

    /// The fitting, when the user said it.
    pub fn fitting(&self) -> Option<Fitting> {
        // Settings that were read name only fittings of the size's system.
        Fitting::read(self.size.system(), self.fitting.as_deref()?).ok()
    }

    /// The pose as a map, when the user fixed one.
    pub fn last_from_file(&self) -> Option<DAffine3> {
        self.pose.map(|[x, y, z, _]| DAffine3 {
            matrix3: DMat3::from_cols_array(&[
                x[0], y[0], z[0], x[1], y[1], z[1], x[2], y[2], z[2],
            ]),
            translation: DVec3::new(x[3], y[3], z[3]),
        })
    }
}

/// Places on the last that the user set, in the coordinates of the scan file. What is absent
/// is found by the program.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Marks {
    /// The rearmost point of the feather line.
    pub seat: Option<DVec3>,
    /// The widest place of the tread on the inside.
    pub joint_medial: Option<DVec3>,
    /// The widest place of the tread on the outside.
    pub joint_lateral: Option<DVec3>,
    /// The upper end of the centre-back line.
    pub centre_back_top: Option<DVec3>,
    /// The inside ankle.
    pub ankle_medial: Option<DVec3>,
    /// The outside ankle.
    pub ankle_lateral: Option<DVec3>,
    /// The heel breast.
    pub breast: Option<DVec3>,
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
    /// The feather line as a closed list of points, the last joined to the first.
    pub feather_line: Option<Vec<DVec3>>,
}

/// The heel stiffener, as far as the user decided.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Stiffener {
    /// How the shoe is put together.
    pub construction: Option<Construction>,
    /// What the stiffener is made of.
    pub kind: Option<Kind>,
    /// Whether the insole was on the last when it was scanned.
    pub insole_on_last: Option<bool>,
    /// Thickness of the insole.
    pub insole_thickness: Option<Mm>,
    /// Thickness of the lining, which lies between the last and the stiffener.
    pub lining_thickness: Option<Mm>,
    /// Thickness of the stiffener itself.
    pub thickness: Option<Mm>,
    /// What the back height gains for the foot settling into the shoe.
    pub settling: Option<Mm>,
    /// The back height, settling included, in place of the rule.
    pub back_height: Option<Mm>,
    /// How far the stiffener stays below the topline.
    pub below_topline: Option<Mm>,
    /// Width of the lasting margin.
    pub margin: Option<Mm>,
    /// The face of the material that is drawn.
    pub face: Option<Face>,
    /// The most cuts that may be made in the wall.
    pub wall_cuts: Option<u8>,
    /// How far up into the wall they may reach, from the feather line.
    pub wall_cut_depth: Option<Mm>,
    /// The inside wing.
    pub medial: Wing,
    /// The outside wing.
    pub lateral: Wing,
}

impl Stiffener {
    /// The wing of one side.
    pub fn wing(&self, side: Side) -> &Wing {
        match side {
            Side::Medial => &self.medial,
            Side::Lateral => &self.lateral,
        }
    }
}

/// One wing of the stiffener, as far as the user decided.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Wing {
    /// How far forward it reaches.
    pub length: Option<Length>,
    /// How far behind the joint a long wing ends.
    pub behind_joint: Option<Mm>,
    /// Height of the wing at its end.
    pub end_height: Option<Mm>,
    /// The greatest height under the ankle on this side, in place of the rule.
    pub ceiling: Option<Mm>,
}

/// What is known of the wearer of this foot. Wins over every rule of thumb.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Wearer {
    /// Upright height of the lower border of the inside ankle bone above the insole.
    pub ankle_medial: Option<Mm>,
    /// Upright height of the lower border of the outside ankle bone above the insole.
    pub ankle_lateral: Option<Mm>,
    /// How far the lower border of an ankle bone is taken to lie below the point that surveys
    /// measured.
    pub ankle_drop: Option<Mm>,
    /// How high the feather line lies above the lowest place of the seat, where the foot stands.
    pub feather_height: Option<Mm>,
}

/// Heights of the topline above the feather line, read as a ruler laid on the last reads them.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Topline {
    /// At the centre back.
    pub back: Option<Mm>,
    /// Along the sides, from back to front.
    pub heights: Vec<ToplineHeight>,
}

/// What stays and what grows with the last when other sizes are made of it, as far as the user
/// decided; what was not is kept.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Range {
    /// The heel height.
    pub heel_height: Option<Follow>,
    /// The toe spring.
    pub toe_spring: Option<Follow>,
    /// The height of the top above the seat.
    pub top: Option<Follow>,
}

/// The topline on both sides at one place along the shoe.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ToplineHeight {
    /// Distance forward of the seat, along the axis of the last.
    pub along: Mm,
    /// Height on the inside.
    pub medial: Mm,
    /// Height on the outside.
    pub lateral: Mm,
}

/// The face of the material that lies up when the piece is drawn and cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Face {
    /// The grain of leather.
    Grain,
    /// The flesh side of leather.
    Flesh,
    /// The side that carries the adhesive.
    AdhesiveSide,
    /// The smoother side of a board or sheet.
    Smooth,
    /// The rougher side of a board or sheet.
    Rough,
}

impl Face {
    /// The face in words, for paper.
    pub const fn words(self) -> &'static str {
        match self {
            Face::Grain => "grain",
            Face::Flesh => "flesh side",
            Face::AdhesiveSide => "adhesive side",
            Face::Smooth => "smooth side",
            Face::Rough => "rough side",
        }
    }
}
