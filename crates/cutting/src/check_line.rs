//! The line that is measured before anything is cut.

use geometry::drawing::{Anchor, Curve, Item, Layer, Path, Stroke, Text};
use glam::DVec2;

/// Clear space between the drawing and the check line under it, mm.
const GAP: f64 = 12.0;

/// Height of the note about the unit, mm.
const LETTERS: f64 = 3.0;

/// Length of the line, mm.
pub const LENGTH: f64 = 100.0;

/// A check line of 100 mm with words that state the unit, on the text layer, below a drawing
/// whose lower left corner is `low`.
pub fn below(low: DVec2) -> Vec<Item> {
    let start = low - DVec2::new(0.0, GAP);
    let end = start + DVec2::new(LENGTH, 0.0);
    let line = |from, to| {
        let curve = Curve::polyline([from, to], false);
        Item::Path(Path { layer: Layer::Text, stroke: Stroke::Solid, curve })
    };
    let tick = DVec2::new(0.0, LETTERS / 2.0);
    let words = Item::Text(Text {
        layer: Layer::Text,
        at: start + DVec2::new(0.0, LETTERS / 2.0 + 1.0),
        height: LETTERS,
        angle: 0.0,
        anchor: Anchor::Start,
        content: "1 unit = 1 mm; the line is 100 mm long".to_owned(),
    });
    vec![line(start, end), line(start - tick, start + tick), line(end - tick, end + tick), words]
}
