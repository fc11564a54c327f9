//! All sizes of a part drawn over each other, aligned at the centre back.

use geometry::drawing::{Anchor, Drawing, Item, Layer, Path, Stroke, Text};
use glam::DVec2;

use super::Piece;
use crate::foot::Foot;
use crate::stiffener::piece;

/// Height of the size's name, mm.
const NAME: f64 = 2.2;

/// The outlines of one foot, the seat at the origin and the centre back upright, as every piece is
/// drawn; the number of the size stands at the tip of each wing. The largest is drawn first.
pub fn nest(pieces: &[Piece], foot: Foot, job_name: &str) -> Drawing {
    let mut pieces: Vec<&Piece> = pieces.iter().filter(|p| p.wanted.foot == foot).collect();
    pieces.sort_by(|a, b| b.wanted.size.number().total_cmp(&a.wanted.size.number()));
    let mut items = Vec::new();
    for (i, of) in pieces.iter().enumerate() {
        items.extend(nested(of, i));
    }
    let sizes = match (pieces.last(), pieces.first()) {
        (Some(least), Some(most)) => {
            let smallest = least.shared.as_ref().and_then(|shared| shared.smallest());
            format!("{} to {}", smallest.unwrap_or(least.wanted.size), most.wanted.size)
        }
        _ => String::new(),
    };
    let title = format!("{job_name}: heel stiffener, {foot} foot, {sizes}, over each other");
    Drawing { title, items }
}

/// One piece of a nest: its outline, its feather line, and the number at the tips of its wings;
/// `nth` counts from the largest.
pub fn nested(of: &Piece, nth: usize) -> Vec<Item> {
    let part = &of.drafted.stiffener;
    let curve = piece::outline(part);
    let feather = &part.margin.feather;
    let along = geometry::drawing::Curve::polyline(feather.iter().copied(), false);
    let mut items = vec![
        Item::Path(Path { layer: Layer::Cut, stroke: Stroke::Solid, curve }),
        Item::Path(Path { layer: Layer::Mark, stroke: Stroke::Chain, curve: along }),
    ];
    for (tip, side) in [(feather.first(), -1.0), (feather.last(), 1.0)] {
        let Some(tip) = tip else { continue };
        // Half sizes are wider to write and stand closer: every other one stands higher.
        let up = 1.0 + 1.7 * NAME * (nth % 2) as f64;
        items.push(Item::Text(Text {
            layer: Layer::Text,
            at: *tip + DVec2::new(-side * 0.5 * NAME, up),
            height: NAME,
            angle: 0.0,
            anchor: Anchor::Middle,
            content: name(of),
        }));
    }
    items
}

/// The number of the size, or of those it serves, with the fitting where one was asked for.
fn name(piece: &Piece) -> String {
    let number = piece.wanted.size.number();
    let smallest = piece.shared.as_ref().and_then(|shared| shared.smallest());
    let number = match smallest {
        Some(smallest) => format!("{}-{number}", smallest.number()),
        None => number.to_string(),
    };
    piece.wanted.fitting.map_or(number.clone(), |fitting| format!("{number}/{fitting}"))
}
