//! What holds where the user entered nothing. Common practice, no source, unless noted.

use geometry::units::Mm;

use super::settings::{Construction, Face, Kind, Side, Stiffener, Wing, WingLength};

/// The stiffener with every default filled in.
#[derive(Debug, Clone, PartialEq)]
pub struct FilledStiffener {
    /// How the shoe is put together.
    pub construction: Construction,
    /// What the stiffener is made of.
    pub kind: Kind,
    /// Whether the insole was on the last when it was scanned.
    pub insole_on_last: bool,
    /// Thickness of the insole.
    pub insole_thickness: Mm,
    /// Thickness of the lining.
    pub lining_thickness: Mm,
    /// Thickness of the stiffener.
    pub thickness: Mm,
    /// What the back height gains for settling.
    pub settling: Mm,
    /// The back height, settling included, where the user overrides the rule.
    pub back_height: Option<Mm>,
    /// How far the stiffener stays below the topline.
    pub below_topline: Mm,
    /// Width of the lasting margin.
    pub margin: Mm,
    /// The face that is drawn.
    pub face: Face,
    /// The inside wing.
    pub medial: FilledWing,
    /// The outside wing.
    pub lateral: FilledWing,
}

/// A wing with every default filled in.
#[derive(Debug, Clone, PartialEq)]
pub struct FilledWing {
    /// How far forward it reaches.
    pub length: WingLength,
    /// How far behind the joint a long wing ends.
    pub behind_joint: Mm,
    /// Height at its end.
    pub end_height: Mm,
    /// The greatest height under the ankle, where the user overrides the rule.
    pub ceiling: Option<Mm>,
}

impl FilledStiffener {
    /// The wing of one side.
    pub fn wing(&self, side: Side) -> &FilledWing {
        match side {
            Side::Medial => &self.medial,
            Side::Lateral => &self.lateral,
        }
    }
}

impl Stiffener {
    /// The settings with the defaults for this construction and kind where nothing was entered.
    pub fn filled(&self) -> FilledStiffener {
        let construction = self.construction.unwrap_or(Construction::Cemented);
        let kind = self.kind.unwrap_or(Kind::Leather);
        FilledStiffener {
            construction,
            kind,
            insole_on_last: self.insole_on_last.unwrap_or(false),
            insole_thickness: self.insole_thickness.unwrap_or(insole_thickness(construction)),
            lining_thickness: self.lining_thickness.unwrap_or(Mm::new(1.0)),
            thickness: self.thickness.unwrap_or(thickness(kind)),
            settling: self.settling.unwrap_or(Mm::new(3.0)),
            back_height: self.back_height,
            below_topline: self.below_topline.unwrap_or(Mm::new(5.0)),
            margin: self.margin.unwrap_or(margin(construction)),
            face: self.face.unwrap_or(face(kind)),
            medial: self.medial.filled(),
            lateral: self.lateral.filled(),
        }
    }
}

impl Wing {
    fn filled(&self) -> FilledWing {
        FilledWing {
            length: self.length.unwrap_or(WingLength::Long),
            behind_joint: self.behind_joint.unwrap_or(Mm::new(15.0)),
            end_height: self.end_height.unwrap_or(Mm::new(18.0)),
            ceiling: self.ceiling,
        }
    }
}

/// 2 mm cemented, the middle of 3.5 to 4.5 mm welted; the sock of a strobel shoe is thinner.
fn insole_thickness(construction: Construction) -> Mm {
    Mm::new(match construction {
        Construction::Cemented | Construction::StitchedOutward => 2.0,
        Construction::Welted => 4.0,
        Construction::Strobel => 1.5,
    })
}

/// Leather at the border between its light and heavy run; board and sheet within 0.6 to
/// 3.0 mm, the range that an article by a maker of such sheet gives.
fn thickness(kind: Kind) -> Mm {
    Mm::new(match kind {
        Kind::Leather => 2.5,
        Kind::Fibreboard | Kind::Moulded => 1.5,
        Kind::Thermoplastic => 1.0,
    })
}

/// Within the usual ranges: cemented 12 to 15, welted 15 to 20, strobel 3 to 6.
fn margin(construction: Construction) -> Mm {
    Mm::new(match construction {
        Construction::Cemented => 14.0,
        Construction::Welted => 18.0,
        Construction::Strobel => 5.0,
        Construction::StitchedOutward => 12.0,
    })
}

fn face(kind: Kind) -> Face {
    match kind {
        Kind::Leather => Face::Grain,
        Kind::Fibreboard | Kind::Moulded => Face::Smooth,
        Kind::Thermoplastic => Face::AdhesiveSide,
    }
}
