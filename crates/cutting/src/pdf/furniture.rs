//! What stands on a page beside the drawing: check line and check square.

use glam::DVec2;

use super::canvas::{BLACK, Canvas};
use crate::text::helvetica::{Style, width};
use crate::text::winansi::encode;

/// Length of the check line and side of the check square, mm.
pub(crate) const CHECK_LENGTH: f64 = 100.0;

/// Weight of the lines to be measured, mm.
const WEIGHT: f64 = 0.2;

/// Length of the ticks at the ends of the check line, mm.
const TICK: f64 = 3.0;

/// Font size beside the things to be measured, mm.
const SIZE: f64 = 3.2;

/// A line of 100 mm to the right of `start`, with a tick every 10 mm and the words above its middle.
pub(crate) fn check_line(canvas: &mut Canvas, start: DVec2) {
    canvas.pen(WEIGHT, &[], BLACK);
    canvas.line(start, start + DVec2::new(CHECK_LENGTH, 0.0));
    for i in 0..=10 {
        let reach = if i % 10 == 0 { TICK / 2.0 } else { TICK / 5.0 };
        let at = start + DVec2::new(f64::from(i) * CHECK_LENGTH / 10.0, 0.0);
        let reach = DVec2::new(0.0, reach);
        canvas.line(at - reach, at + reach);
    }
    let words = "check line: 100 mm";
    centered(canvas, words, Style::Regular, SIZE, start + DVec2::new(CHECK_LENGTH / 2.0, 1.4));
}

/// A square of 100 mm with its lower left corner at `corner` and the words inside.
pub(crate) fn check_square(canvas: &mut Canvas, corner: DVec2) {
    canvas.pen(WEIGHT, &[], BLACK);
    canvas.rectangle(corner, corner + DVec2::splat(CHECK_LENGTH));
    canvas.stroke();
    let middle = corner + DVec2::splat(CHECK_LENGTH / 2.0);
    let lines = ["print at 100 %, no fitting;", "measure this square: 100 mm"];
    for (i, words) in (0_u8..).zip(lines) {
        let down = DVec2::new(0.0, -1.5 * SIZE * f64::from(i));
        centered(canvas, words, Style::Regular, SIZE * 1.25, middle + down);
    }
}

/// Text centred on `at`, on the base line; `size` in mm.
pub(crate) fn centered(canvas: &mut Canvas, text: &str, style: Style, size: f64, at: DVec2) {
    let codes = encode(text);
    let back = DVec2::new(size * width(&codes, style) / 2.0, 0.0);
    canvas.ink(BLACK);
    canvas.text(&codes, style, size, at - back, 0.0);
}

/// The codes of a text, cut short with three dots where it would be wider than `room` mm.
pub(crate) fn fitted(text: &str, style: Style, size: f64, room: f64) -> Vec<u8> {
    let codes = encode(text);
    if size * width(&codes, style) <= room {
        return codes;
    }
    let fits = |length: &usize| size * width(&shortened(&codes, *length), style) <= room;
    let length = (0..codes.len()).rev().find(fits).unwrap_or(0);
    shortened(&codes, length)
}

fn shortened(codes: &[u8], length: usize) -> Vec<u8> {
    [&codes[..length], b"..."].concat()
}
