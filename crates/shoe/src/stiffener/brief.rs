//! What is asked before a stiffener is drawn, answered in full.

use geometry::units::Mm;

use crate::foot::Side;
pub use crate::job::{Construction, Kind, WingLength};
use crate::job::{Face, FilledWing, Job};

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
    /// The net lasting margin.
    pub margin: f64,
    /// Whether the user entered it.
    pub margin_entered: bool,
    /// Which face of the material is drawn.
    pub face: Face,
    /// The inside wing.
    pub medial: Wing,
    /// The outside wing.
    pub lateral: Wing,
}

/// What is asked of each side.
#[derive(Debug, Clone, PartialEq)]
pub struct Wing {
    /// How far it reaches.
    pub length: WingLength,
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
    /// What a job asks for, with the defaults where it says nothing.
    pub fn from_job(job: &Job) -> Self {
        let asked = job.stiffener.filled();
        let wing = |wing: &FilledWing, wearer_ankle: Option<Mm>| Wing {
            length: wing.length,
            behind_joint: wing.behind_joint.get(),
            end_height: wing.end_height.get(),
            ceiling: wing.ceiling.map(Mm::get),
            wearer_ankle: wearer_ankle.map(Mm::get),
        };
        Self {
            standard_last_length: job.last.size.standard_last_length().get(),
            size: job.last.size.to_string(),
            child: job.last.size.is_child(),
            construction: asked.construction,
            kind: asked.kind,
            insole_on_last: asked.insole_on_last,
            insole: asked.insole_thickness.get(),
            lining: asked.lining_thickness.get(),
            thickness: asked.thickness.get(),
            settling: asked.settling.get(),
            back_height: asked.back_height.map(Mm::get),
            below_topline: asked.below_topline.get(),
            topline: topline(job),
            margin: asked.margin.get(),
            margin_entered: job.stiffener.margin.is_some(),
            face: asked.face,
            medial: wing(&asked.medial, job.wearer.ankle_medial),
            lateral: wing(&asked.lateral, job.wearer.ankle_lateral),
        }
    }

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

/// The topline's heights from back to front; one at the back only holds all along.
fn topline(job: &Job) -> Vec<ToplineHeight> {
    let back = job.topline.back.map(|height| {
        let height = height.get();
        ToplineHeight { along: 0.0, medial: height, lateral: height }
    });
    let mut heights: Vec<ToplineHeight> = back.into_iter().collect();
    heights.extend(job.topline.heights.iter().map(|h| ToplineHeight {
        along: h.along.get(),
        medial: h.medial.get(),
        lateral: h.lateral.get(),
    }));
    heights.sort_by(|a, b| a.along.total_cmp(&b.along));
    heights
}

/// The kind in words, for paper.
pub const fn kind_in_words(kind: Kind) -> &'static str {
    match kind {
        Kind::Leather => "leather, lasted wet",
        Kind::Fibreboard => "fibreboard",
        Kind::Thermoplastic => "thermoplastic, lasted hot",
        Kind::Moulded => "moulded, bought in",
    }
}

/// The face in words, for paper.
pub const fn face_in_words(face: Face) -> &'static str {
    match face {
        Face::Grain => "grain side",
        Face::Flesh => "flesh side",
        Face::AdhesiveSide => "adhesive side",
        Face::Smooth => "smooth side",
        Face::Rough => "rough side",
    }
}
