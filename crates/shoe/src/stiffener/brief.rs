//! What is asked before a stiffener is drawn, answered in full.

use flatten::Material;
use serde::{Deserialize, Serialize};

use crate::foot::Side;

/// Everything the rules need to know besides the last and its marks. Lengths in mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Brief {
    /// Standard last length.
    pub standard_last_length: f64,
    /// The size as the user wrote it.
    pub size: String,
    /// Whether the size is a child's: no rule and no survey covers its ankles.
    pub child: bool,
    /// How the shoe is made.
    pub construction: Construction,
    /// What the stiffener is made of.
    pub kind: Kind,
    /// Whether the insole was on the last when it was scanned.
    pub insole_on_last: bool,
    /// Thickness of the insole at its edge.
    pub insole: f64,
    /// Thickness of the lining beneath the stiffener.
    pub lining: f64,
    /// Thickness of the stiffener itself.
    pub thickness: f64,
    /// Allowance for the foot and shoe settling.
    pub settling: f64,
    /// The user's own back height, in place of the rule's.
    pub back_height: Option<f64>,
    /// How far the stiffener stays below a topline.
    pub below_topline: f64,
    /// The topline, where given: heights above the feather line along the axis.
    pub topline: Vec<ToplineHeight>,
    /// The user's own net lasting margin, in place of the rule's.
    pub margin: Option<f64>,
    /// Which face of the material is drawn.
    pub face: String,
    /// The most cuts that may be made in the wall.
    pub wall_cuts: usize,
    /// How far up into the wall they may reach, from the feather line.
    pub wall_cut_depth: f64,
    /// Length of the foot that the size is for.
    pub foot_length: f64,
    /// How far the lower border of an ankle bone is taken to lie below its surveyed point.
    pub ankle_drop: f64,
    /// How high the feather line lies above the lowest place of the seat; measured on the last when
    /// absent.
    pub feather_height: Option<f64>,
    /// The inside wing.
    pub medial: Wing,
    /// The outside wing.
    pub lateral: Wing,
}

/// How the shoe is put together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Construction {
    /// The margin is cemented under the insole.
    Cemented,
    /// The margin is sewn to a rib or holdfast.
    Welted,
    /// The upper is sewn to a sock; the stiffener hardly turns under.
    Strobel,
    /// The margin is turned outward and stitched down.
    StitchedOutward,
}

/// What the stiffener is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// Leather, lasted wet.
    Leather,
    /// Fibreboard.
    Fibreboard,
    /// Thermoplastic, lasted hot.
    Thermoplastic,
    /// Moulded and bought in.
    Moulded,
}

impl Kind {
    /// The kind in words, for paper.
    pub const fn words(self) -> &'static str {
        match self {
            Kind::Leather => "leather, lasted wet",
            Kind::Fibreboard => "fibreboard",
            Kind::Thermoplastic => "thermoplastic, lasted hot",
            Kind::Moulded => "moulded, bought in",
        }
    }

    /// The sheet it is cut from, with the numbers of common practice; none where nothing is cut
    /// from a sheet.
    pub fn material(self) -> Option<Material> {
        match self {
            Kind::Leather => Some(Material::wet_leather()),
            Kind::Fibreboard => Some(Material::board()),
            Kind::Thermoplastic => Some(Material::hot_thermoplastic()),
            Kind::Moulded => None,
        }
    }
}

/// How far a wing reaches.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Length {
    /// To behind the joint.
    Long,
    /// Half-way along the waist.
    MidWaist,
    /// Just past the heel breast, the end raked backwards.
    Short,
}

/// What is asked of each side.
#[derive(Debug, Clone, PartialEq)]
pub struct Wing {
    /// How far it reaches.
    pub length: Length,
    /// How far behind the joint a long wing ends, mm.
    pub behind_joint: f64,
    /// How high the wing is at its end, mm.
    pub end_height: f64,
    /// The user's own ceiling under the ankle, mm.
    pub ceiling: Option<f64>,
    /// The wearer's own ankle height, mm above the feather line.
    pub wearer_ankle: Option<f64>,
}

/// The height of the topline at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToplineHeight {
    /// Along the axis from the seat, mm.
    pub along: f64,
    /// Above the feather line on the inside, mm.
    pub medial: f64,
    /// Above the feather line on the outside, mm.
    pub lateral: f64,
}

impl Brief {
    /// What is asked of one side.
    pub fn wing(&self, side: Side) -> &Wing {
        match side {
            Side::Medial => &self.medial,
            Side::Lateral => &self.lateral,
        }
    }

    /// How far outside the last the middle of the stiffener's thickness lies, mm.
    pub fn neutral_offset(&self) -> f64 {
        self.lining + self.thickness / 2.0
    }
}
