//! What is drawn where: which sheets stay empty, and where there is room for the check square.

use geometry::drawing::{Drawing, Item, Layer};
use glam::DVec2;

use super::layout::Tile;
use crate::pdf::furniture::CHECK_LENGTH;
use crate::text::extent::text_box;

/// Chords this near to their arcs are good enough to see where something is drawn, mm.
const TOLERANCE: f64 = 0.05;

/// Half of the thickest line, rounded up, mm.
const HALF_LINE: f64 = 0.2;

/// Clear space around the check square, mm.
const CLEARANCE: f64 = 2.0;

/// Step in which a place for the check square is sought, mm.
const STEP: f64 = 5.0;

/// The lines of a drawing, and the rings that hold paper together.
pub(super) struct Content {
    segments: Vec<(DVec2, DVec2)>,
    rings: Vec<Vec<DVec2>>,
}

impl Content {
    pub(super) fn of(drawing: &Drawing) -> Self {
        let mut content = Self { segments: Vec::new(), rings: Vec::new() };
        for item in &drawing.items {
            match item {
                Item::Path(path) => {
                    let points = path.curve.flatten(TOLERANCE);
                    let closed = path.curve.closed;
                    content.add(&points, closed);
                    if closed && path.layer == Layer::Cut {
                        content.rings.push(points);
                    }
                }
                Item::Text(text) => content.add(&text_box(text), true),
                Item::Area(area) => {
                    content.add(&area.outline, true);
                    content.rings.push(area.outline.clone());
                }
            }
        }
        content
    }

    fn add(&mut self, points: &[DVec2], closed: bool) {
        self.segments.extend(points.windows(2).map(|pair| (pair[0], pair[1])));
        if let (true, [first, .., last]) = (closed, points) {
            self.segments.push((*last, *first));
        }
    }

    /// Whether a line, text or area shows in the box, or the box lies within a closed cut line.
    pub(super) fn fills(&self, low: DVec2, high: DVec2) -> bool {
        let pad = DVec2::splat(HALF_LINE);
        let middle = (low + high) / 2.0;
        self.segments.iter().any(|(a, b)| crosses(*a, *b, low - pad, high + pad))
            || self.rings.iter().any(|ring| contains(ring, middle))
    }

    /// The lower left corner of a place for the check square on a sheet that covers nothing.
    pub(super) fn free_square(&self, tile: &Tile) -> Option<DVec2> {
        let room = tile.high - tile.low - DVec2::splat(CHECK_LENGTH + 2.0 * CLEARANCE);
        if room.min_element() < 0.0 {
            return None;
        }
        let [columns, rows] = (room / STEP).to_array().map(|n| n.floor() as u32);
        let places = (0..=rows).flat_map(|row| (0..=columns).map(move |column| (column, row)));
        places
            .map(|(column, row)| tile.low + STEP * DVec2::new(column.into(), row.into()))
            .find(|low| !self.fills(*low, *low + DVec2::splat(CHECK_LENGTH + 2.0 * CLEARANCE)))
            .map(|low| low + DVec2::splat(CLEARANCE))
    }
}

/// Whether any part of the segment lies in the box (Liang and Barsky's clipping).
fn crosses(a: DVec2, b: DVec2, low: DVec2, high: DVec2) -> bool {
    let (mut enter, mut leave) = (0.0_f64, 1.0_f64);
    for axis in 0..2 {
        let (from, step) = (a[axis], b[axis] - a[axis]);
        if step == 0.0 {
            if from < low[axis] || from > high[axis] {
                return false;
            }
            continue;
        }
        let (s, t) = ((low[axis] - from) / step, (high[axis] - from) / step);
        enter = enter.max(s.min(t));
        leave = leave.min(s.max(t));
    }
    enter <= leave
}

/// Whether a point lies within a ring, by the parity of crossings to its right.
fn contains(ring: &[DVec2], p: DVec2) -> bool {
    let next = ring.iter().cycle().skip(1);
    ring.iter().zip(next).fold(false, |inside, (a, b)| {
        let straddles = (a.y > p.y) != (b.y > p.y);
        let right = straddles && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x);
        inside != right
    })
}
