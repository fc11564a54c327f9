//! What the rules are asked, from what the user entered; defaults where nothing was entered.
//!
//! The defaults are common practice, no source, unless noted.

use flatten::Material;
use geometry::units::Mm;

use super::settings::{Face, Job, Topline, Wing};
use crate::stiffener::brief::{self, Brief, Construction, Kind, Length};
use crate::survey;

impl Job {
    /// Everything the rules of the stiffener need to know besides the last and its marks, the
    /// defaults for this construction and kind filled in. What stays `None` has a rule of its
    /// own (back height, ceilings, margin).
    pub fn brief(&self) -> Brief {
        let given = &self.stiffener;
        let size = self.last.size;
        let construction = given.construction.unwrap_or(Construction::Cemented);
        let kind = given.kind.unwrap_or(Kind::Leather);
        let or = |entered: Option<Mm>, default: f64| entered.map_or(default, Mm::get);
        Brief {
            standard_last_length: size.standard_last_length().get(),
            size: self.last.size_in_words(),
            child: size.is_child(),
            construction,
            kind,
            insole_on_last: given.insole_on_last.unwrap_or(false),
            insole: or(given.insole_thickness, insole_thickness(construction)),
            lining: or(given.lining_thickness, 1.0),
            thickness: or(given.thickness, thickness(kind)),
            settling: or(given.settling, 3.0),
            back_height: given.back_height.map(Mm::get),
            below_topline: or(given.below_topline, 5.0),
            topline: topline(&self.topline),
            margin: given.margin.map(Mm::get),
            face: given.face.unwrap_or(face(kind)).words().to_owned(),
            wall_cuts: given.wall_cuts.unwrap_or(0).into(),
            wall_cut_depth: or(given.wall_cut_depth, 20.0),
            foot_length: size.foot_length().get(),
            ankle_drop: or(self.wearer.ankle_drop, survey::DROP),
            feather_height: self.wearer.feather_height.map(Mm::get),
            medial: wing(&given.medial, self.wearer.ankle_medial),
            lateral: wing(&given.lateral, self.wearer.ankle_lateral),
        }
    }
}

fn wing(given: &Wing, wearer_ankle: Option<Mm>) -> brief::Wing {
    brief::Wing {
        length: given.length.unwrap_or(Length::Long),
        behind_joint: given.behind_joint.map_or(15.0, Mm::get),
        end_height: given.end_height.map_or(18.0, Mm::get),
        ceiling: given.ceiling.map(Mm::get),
        wearer_ankle: wearer_ankle.map(Mm::get),
    }
}

/// The heights along the sides, with the height of the centre back standing above the seat.
fn topline(given: &Topline) -> Vec<brief::ToplineHeight> {
    let mut heights: Vec<_> = given
        .heights
        .iter()
        .map(|h| brief::ToplineHeight {
            along: h.along.get(),
            medial: h.medial.get(),
            lateral: h.lateral.get(),
        })
        .collect();
    if let Some(back) = given.back.map(Mm::get) {
        heights.retain(|h| h.along != 0.0);
        let at = heights.partition_point(|h| h.along < 0.0);
        heights.insert(at, brief::ToplineHeight { along: 0.0, medial: back, lateral: back });
    }
    heights
}

/// 2 mm cemented, the middle of 3.5 to 4.5 mm welted; the sock of a strobel shoe is thinner.
const fn insole_thickness(construction: Construction) -> f64 {
    match construction {
        Construction::Cemented | Construction::StitchedOutward => 2.0,
        Construction::Welted => 4.0,
        Construction::Strobel => 1.5,
    }
}

/// That of the sheet; what is moulded and bought in is as thick as board.
fn thickness(kind: Kind) -> f64 {
    kind.material().unwrap_or_else(Material::board).thickness
}

const fn face(kind: Kind) -> Face {
    match kind {
        Kind::Leather => Face::Grain,
        Kind::Fibreboard | Kind::Moulded => Face::Smooth,
        Kind::Thermoplastic => Face::AdhesiveSide,
    }
}
