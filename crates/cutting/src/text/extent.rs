//! The room that a drawing takes with its texts.

use geometry::drawing::{Anchor, Drawing, Item, Text};
use glam::DVec2;

use super::helvetica::{CAP_HEIGHT, DESCENT, Style, width};
use super::winansi::encode;

/// The four corners of the box around a text set in Helvetica, mm, counter-clockwise from the one
/// below its beginning.
pub fn text_box(text: &Text) -> [DVec2; 4] {
    let size = text.height / CAP_HEIGHT;
    let length = size * width(&encode(&text.content), Style::Regular);
    let start = match text.anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => -length / 2.0,
        Anchor::End => -length,
    };
    let along = DVec2::from_angle(text.angle.to_radians());
    let (below, above) = (-size * DESCENT, text.height);
    [(start, below), (start + length, below), (start + length, above), (start, above)]
        .map(|(x, y)| text.at + along * x + along.perp() * y)
}

/// Smallest and largest coordinates of everything drawn, texts with the room they take, mm.
pub(crate) fn bounds(drawing: &Drawing) -> Option<(DVec2, DVec2)> {
    let (mut low, mut high) = drawing.bounds()?;
    for item in &drawing.items {
        if let Item::Text(text) = item {
            for corner in text_box(text) {
                low = low.min(corner);
                high = high.max(corner);
            }
        }
    }
    Some((low, high))
}
