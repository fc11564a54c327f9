//! How lines look: told apart by weight and dash, so that a black-and-white print is enough.

use geometry::drawing::{Layer, Stroke};

/// A line's looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Look {
    /// Weight, mm.
    pub(crate) weight: f64,
    /// Lengths of dash and gap in turn, mm; empty for an unbroken line.
    pub(crate) dashes: &'static [f64],
    /// Red, green, blue on a screen; paper is always black.
    pub(crate) screen: [u8; 3],
}

/// Wide enough to see and thin enough to cut along its middle to a tenth.
const CUT_WEIGHT: f64 = 0.25;

/// Half the weight of a cut line: told apart at arm's length, and still printed by any printer.
const MARK_WEIGHT: f64 = 0.12;

/// The looks of a line of a layer. Unbroken lines that are only read are dotted.
pub(crate) fn look(layer: Layer, stroke: Stroke) -> Look {
    let dashes: &[f64] = match (layer, stroke) {
        (Layer::Text, Stroke::Solid) => &[0.4, 0.8],
        (_, Stroke::Solid) => &[],
        (_, Stroke::Dashed) => &[3.0, 1.5],
        (_, Stroke::Chain) => &[8.0, 1.5, 1.5, 1.5],
    };
    let (weight, screen) = match layer {
        Layer::Cut => (CUT_WEIGHT, [0, 0, 0]),
        Layer::Mark => (MARK_WEIGHT, [20, 80, 170]),
        Layer::Text => (MARK_WEIGHT, [90, 90, 90]),
    };
    Look { weight, dashes, screen }
}
