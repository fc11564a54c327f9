//! One sheet: its part of the drawing, and what is needed to join it to its neighbours.

use geometry::drawing::{Curve, Drawing, Knot};
use glam::DVec2;

use super::layout::{Frame, Tile, TileLayout};
use crate::pdf::canvas::{BLACK, Canvas, Color};
use crate::pdf::furniture::{self, CHECK_LENGTH};
use crate::pdf::paint::{self, Placement};
use crate::text::helvetica::Style;
use crate::text::winansi::encode;

/// Radius of the circle of a mark, mm; with its cross it fits in the overlap.
const MARK_RADIUS: f64 = 2.5;

/// Reach of the cross of a mark, mm.
const CROSS: f64 = 4.0;

/// Weight of lines that help to join, mm.
const HELP_WEIGHT: f64 = 0.12;

/// Dashes of the line on which the neighbour's edge is laid, mm.
const GLUE_DASHES: [f64; 2] = [4.0, 2.0];

const GREY: Color = [110, 110, 110];

/// Font sizes, mm: the sheet's name, its title, the words of a seam.
const NAME_SIZE: f64 = 4.4;
const TITLE_SIZE: f64 = 3.0;
const SEAM_SIZE: f64 = 2.6;

/// A place that two neighbouring sheets share, on the edge of the one that lies on top.
pub(super) struct Mark {
    number: usize,
    at: DVec2,
    sheets: [(usize, usize); 2],
}

/// Two marks for every seam between two printed sheets, numbered along the rows.
pub(super) fn marks(layout: &TileLayout, overlap: f64) -> Vec<Mark> {
    let mut marks = Vec::new();
    for tile in &layout.tiles {
        let inner = DVec2::splat(overlap);
        let (low, high) = (tile.low + inner, tile.high - inner);
        let along = |share: f64| low + (high - low) * share;
        let left = (tile.row, tile.column.wrapping_sub(1));
        let below = (tile.row + 1, tile.column);
        let mut add = |at: DVec2, neighbour| {
            let sheets = [(tile.row, tile.column), neighbour];
            marks.push(Mark { number: marks.len() + 1, at, sheets });
        };
        for share in [0.2, 0.8] {
            if layout.printed(left.0, left.1).is_some() {
                add(DVec2::new(tile.low.x, along(share).y), left);
            }
        }
        for share in [0.2, 0.8] {
            if layout.printed(below.0, below.1).is_some() {
                add(DVec2::new(along(share).x, tile.low.y), below);
            }
        }
    }
    marks
}

/// Draws a sheet; `square` is the lower left corner of a check square in the drawing.
pub(super) fn draw(
    drawing: &Drawing,
    frame: &Frame,
    layout: &TileLayout,
    tile: &Tile,
    marks: &[Mark],
    square: Option<DVec2>,
) -> Canvas {
    let mut canvas = Canvas::default();
    let page_from_drawing = frame.low - tile.low;
    canvas.apart(|canvas| {
        canvas.clip(frame.low, frame.high);
        paint::drawing(canvas, drawing, Placement::moved(page_from_drawing));
    });
    seams(&mut canvas, frame, layout, tile);
    canvas.apart(|canvas| {
        canvas.clip(DVec2::splat(frame.margin), frame.size - DVec2::splat(frame.margin));
        for mark in marks.iter().filter(|m| m.sheets.contains(&(tile.row, tile.column))) {
            draw_mark(canvas, mark.at + page_from_drawing, mark.number);
        }
    });
    if let Some(corner) = square {
        furniture::check_square(&mut canvas, corner + page_from_drawing);
    }
    strip(&mut canvas, drawing, frame, layout, tile);
    canvas
}

fn draw_mark(canvas: &mut Canvas, at: DVec2, number: usize) {
    canvas.pen(HELP_WEIGHT, &[], BLACK);
    let side = DVec2::new(MARK_RADIUS, 0.0);
    let knots = [at - side, at + side].map(|at| Knot { at, bulge: 1.0 });
    let circle = Curve { knots: knots.to_vec(), closed: true };
    paint::curve(canvas, &circle, Placement::moved(DVec2::ZERO));
    canvas.stroke();
    for arm in [DVec2::new(CROSS, 0.0), DVec2::new(0.0, CROSS)] {
        canvas.line(at - arm, at + arm);
    }
    canvas.ink(BLACK);
    let beside = at + DVec2::new(MARK_RADIUS, MARK_RADIUS - 0.5);
    canvas.text(&encode(&number.to_string()), Style::Regular, SEAM_SIZE, beside, 0.0);
}

/// The edge along which this sheet is cut where it lies on top, and the dashed line for the edge of
/// a neighbour that lies on top of it.
fn seams(canvas: &mut Canvas, frame: &Frame, layout: &TileLayout, tile: &Tile) {
    let Frame { low, high, overlap, .. } = *frame;
    let printed = |row, column| layout.printed(row, column);
    canvas.pen(HELP_WEIGHT, &[], BLACK);
    if printed(tile.row, tile.column.wrapping_sub(1)).is_some() {
        canvas.line(low, DVec2::new(low.x, high.y));
    }
    if printed(tile.row + 1, tile.column).is_some() {
        canvas.line(low, DVec2::new(high.x, low.y));
    }
    canvas.pen(HELP_WEIGHT, &GLUE_DASHES, BLACK);
    canvas.ink(GREY);
    let middle = (low + high) / 2.0;
    let inset = overlap / 2.0 - SEAM_SIZE / 3.0;
    if let Some(right) = printed(tile.row, tile.column + 1) {
        let x = high.x - overlap;
        canvas.line(DVec2::new(x, low.y), DVec2::new(x, high.y));
        let at = DVec2::new(high.x - inset, middle.y);
        seam_words(canvas, &right.name, at, 90.0);
    }
    if let Some(above) = printed(tile.row.wrapping_sub(1), tile.column) {
        let y = high.y - overlap;
        canvas.line(DVec2::new(low.x, y), DVec2::new(high.x, y));
        let at = DVec2::new(middle.x, y + inset);
        seam_words(canvas, &above.name, at, 0.0);
    }
}

fn seam_words(canvas: &mut Canvas, top: &str, at: DVec2, angle: f64) {
    let codes = encode(&format!("glue {top} on top, its edge on the dashed line"));
    let half = SEAM_SIZE * crate::text::helvetica::width(&codes, Style::Regular) / 2.0;
    let back = DVec2::from_angle(angle.to_radians()) * half;
    canvas.text(&codes, Style::Regular, SEAM_SIZE, at - back, angle);
}

/// Name, title and check line under the window.
fn strip(canvas: &mut Canvas, drawing: &Drawing, frame: &Frame, layout: &TileLayout, tile: &Tile) {
    let corner = DVec2::splat(frame.margin);
    let right = frame.size.x - frame.margin;
    canvas.ink(BLACK);
    let (rows, columns) = (layout.rows, layout.columns);
    let Tile { name, row, column, .. } = tile;
    let place = format!("{name} · row {row} of {rows}, column {column} of {columns}");
    let room = right - corner.x - CHECK_LENGTH - 6.0;
    let place = furniture::fitted(&place, Style::Bold, NAME_SIZE, room);
    canvas.text(&place, Style::Bold, NAME_SIZE, corner + DVec2::new(0.0, 6.2), 0.0);
    let title = furniture::fitted(&drawing.title, Style::Regular, TITLE_SIZE, room);
    canvas.text(&title, Style::Regular, TITLE_SIZE, corner + DVec2::new(0.0, 1.2), 0.0);
    let start = DVec2::new(right - CHECK_LENGTH - 0.2, frame.margin + 3.0);
    furniture::check_line(canvas, start);
}
