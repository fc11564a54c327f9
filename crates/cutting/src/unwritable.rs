//! What no format can write, found before anything is written.

use geometry::drawing::{Drawing, Item};
use glam::DVec2;

/// Why a drawing cannot be written in any format.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Unwritable {
    /// The drawing has no items.
    #[error("the drawing \"{title}\" is empty: there is nothing to write")]
    Empty {
        /// Title of the drawing.
        title: String,
    },
    /// A number is infinite or not a number.
    #[error(
        "item {item} of the drawing \"{title}\" holds a number that is not finite, near \
         ({x}, {y}) mm: derive the drawing again"
    )]
    NotFinite {
        /// Title of the drawing.
        title: String,
        /// Which item, from 1.
        item: usize,
        /// Where it is, mm.
        x: f64,
        /// Where it is, mm.
        y: f64,
    },
    /// The margin around the drawing is negative or not finite.
    #[error("a margin of {margin} mm around the drawing is not possible: give 0 or more")]
    Margin {
        /// The margin asked for, mm.
        margin: f64,
    },
}

/// Refuses a drawing without items and one with numbers that are not finite.
pub(crate) fn check(drawing: &Drawing) -> Result<(), Unwritable> {
    if drawing.bounds().is_none() {
        return Err(Unwritable::Empty { title: drawing.title.clone() });
    }
    for (i, item) in drawing.items.iter().enumerate() {
        if let Some(at) = not_finite(item) {
            let title = drawing.title.clone();
            return Err(Unwritable::NotFinite { title, item: i + 1, x: at.x, y: at.y });
        }
    }
    Ok(())
}

/// Refuses a margin that is negative or not finite.
pub(crate) fn check_margin(margin: f64) -> Result<(), Unwritable> {
    let possible = margin.is_finite() && margin >= 0.0;
    if possible { Ok(()) } else { Err(Unwritable::Margin { margin }) }
}

fn not_finite(item: &Item) -> Option<DVec2> {
    match item {
        Item::Path(path) => path
            .curve
            .knots
            .iter()
            .find(|k| !k.at.is_finite() || !k.bulge.is_finite())
            .map(|k| k.at),
        Item::Text(text) => {
            let finite = text.at.is_finite() && text.height.is_finite() && text.angle.is_finite();
            (!finite).then_some(text.at)
        }
        Item::Area(area) => area.outline.iter().copied().find(|p| !p.is_finite()),
    }
}
