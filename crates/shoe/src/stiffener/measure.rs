//! Every dimension of the piece, with its formula, reason and mark.

use super::Stiffener;
use super::brief::{Construction, Length};
use super::{heights, skive};
use crate::foot::Side;
use crate::reasons::{Dimension, Mark};

const PART: &str = "stiffener";

fn mm(name: &str, value: f64, formula: &str, reason: &str, mark: Mark) -> Dimension {
    Dimension {
        part: PART.into(),
        name: name.into(),
        value,
        unit: "mm".into(),
        formula: formula.into(),
        reason: reason.into(),
        mark,
    }
}

/// The dimensions, in the order in which a pattern maker sets them.
pub fn dimensions(piece: &Stiffener) -> Vec<Dimension> {
    let brief = &piece.brief;
    let edge = &piece.edge;
    let length = brief.standard_last_length;
    let mut all = vec![
        mm(
            "standard last length",
            length,
            "from the size",
            "never from the tape: a pointed or extended toe misleads it",
            Mark::Published,
        ),
        mm("back height", edge.back_height, &edge.back_formula, &edge.back_reason, edge.back_mark),
        mm(
            "back height without settling",
            heights::back_height(length),
            "standard last length / 5",
            "the height beyond which the tendon meets the edge",
            Mark::CommonPractice,
        ),
    ];
    for ceiling in &edge.ceilings {
        all.push(mm(
            &ceiling.name,
            ceiling.height,
            &ceiling.formula,
            &ceiling.reason,
            ceiling.mark,
        ));
    }
    for side in Side::BOTH {
        all.extend(wing(piece, side));
    }
    all.extend(lengths(piece));
    all.extend(margin(piece));
    all.extend(layers(piece));
    all
}

fn wing(piece: &Stiffener, side: Side) -> Vec<Dimension> {
    let wing = piece.brief.wing(side);
    let end = piece.edge.end(side);
    let formula = match wing.length {
        Length::Long => format!("{side} joint less {:.1} mm", wing.behind_joint),
        Length::MidWaist => "half-way from the heel breast to the joint".to_owned(),
        Length::Short => "heel breast plus 10 mm".to_owned(),
    };
    let reason = match wing.length {
        Length::Long => "a wing that reaches the joint breaks where the shoe bends",
        Length::MidWaist => "holds the waist, leaves the bend free",
        Length::Short => "ends just past the breast; its end leans back",
    };
    vec![
        mm(
            &format!("{side} ankle, along the axis"),
            piece.landmarks.ankle(side),
            "placed by you, or a share of the standard last length",
            "no source was found for the place of the ankle on a last: place it yourself",
            Mark::CommonPractice,
        ),
        mm(
            &format!("{side} wing ends, along the axis"),
            end.along_axis,
            &formula,
            reason,
            Mark::CommonPractice,
        ),
        mm(
            &format!("{side} wing, height at the end"),
            end.height,
            "15 to 20 mm",
            "enough to hold the wall, low enough to run out",
            Mark::CommonPractice,
        ),
    ]
}

/// Lengths on the bare last, on the surface where the piece lies, and on the flat piece.
fn lengths(piece: &Stiffener) -> Vec<Dimension> {
    let wall = &piece.wall;
    let (left, right) = wall.wings();
    let (medial, lateral) =
        if piece.foot.right_side() == Side::Medial { (right, left) } else { (left, right) };
    let lines: [(&str, &[u32]); 4] = [
        ("centre back", &wall.centre_back),
        ("inside wing along the feather line", medial),
        ("outside wing along the feather line", lateral),
        ("top edge with both ends", &wall.free_edge),
    ];
    let states = [
        ("on the last", "over the surface of the bare last"),
        ("where the piece lies", "over the middle of its thickness, outside the lining"),
        ("flat", "on the pattern"),
    ];
    let mut all = Vec::new();
    for (name, chain) in lines {
        for ((state, reason), value) in states.iter().zip(wall.lengths(chain)) {
            let name = format!("{name}, {state}");
            all.push(mm(&name, value, "length of the line", reason, Mark::Measured));
        }
    }
    all
}

fn margin(piece: &Stiffener) -> Vec<Dimension> {
    let widths = &piece.margin.widths;
    let brief = &piece.brief;
    let reason = match brief.construction {
        Construction::Cemented => "cemented: 12 to 15 mm under the insole",
        Construction::Welted => "welted: 15 to 20 mm",
        Construction::Strobel => "strobel: 3 to 6 mm or none",
        Construction::StitchedOutward => "stitched outward: turned out and stitched down",
    };
    let own = if brief.margin.is_some() { Mark::Own } else { Mark::CommonPractice };
    let count = |name: &str, value: usize, formula: &str, reason: &str| Dimension {
        unit: "count".into(),
        ..mm(name, value as f64, formula, reason, Mark::CommonPractice)
    };
    vec![
        mm("lasting margin, net", widths.net, "by construction", reason, own),
        mm(
            "insole edge below the feather line",
            widths.insole,
            "insole thickness, or nothing where the insole was on the last",
            "the margin passes the insole's edge before it turns under",
            Mark::Measured,
        ),
        mm(
            "used up by the rounding",
            widths.rounding,
            "1.6 x (lining + half the stiffener)",
            "a quarter turn round what lies beneath",
            Mark::CommonPractice,
        ),
        mm(
            "lasting margin as drawn",
            widths.whole(),
            "sum of the three",
            "from the feather line to the edge of the piece",
            own,
        ),
        mm(
            "lasting margin the upper needs",
            widths.whole() + 4.0,
            "margin as drawn + 4 mm",
            "the stiffener stays 4 mm inside the upper's own margin",
            Mark::CommonPractice,
        ),
        count(
            "V's in the margin",
            piece.margin.vees.len(),
            "excess length / 7 mm, rounded up on each side; wider where tongues would tear",
            "their openings take away the length that does not fit under the insole",
        ),
        count(
            "slits in the margin",
            piece.margin.slits.len(),
            "one to 12 mm where the margin is too short",
            "it must open in the hollow of the waist",
        ),
    ]
}

fn layers(piece: &Stiffener) -> Vec<Dimension> {
    let brief = &piece.brief;
    vec![
        mm(
            "lining thickness",
            brief.lining,
            "entered, or 1.0 mm",
            "it lies beneath the stiffener",
            Mark::CommonPractice,
        ),
        mm(
            "stiffener thickness",
            brief.thickness,
            "entered, or by kind",
            "half of it lies beneath its middle",
            Mark::CommonPractice,
        ),
        mm(
            "distance of the piece from the last",
            brief.neutral_offset(),
            "lining + half the stiffener",
            "the piece is flattened where it lies, not on the bare last",
            Mark::Measured,
        ),
        mm(
            "skive, width",
            skive::width(brief.thickness),
            "4.5 x thickness",
            "top and ends to nothing; margin to a third or half; on the inner side (towards the foot)",
            Mark::CommonPractice,
        ),
    ]
}
