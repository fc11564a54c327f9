//! Outcomes of checks: a shape, a word, what was checked and why.

use geometry::drawing::{Curve, Knot};
use glam::DVec2;

use super::blocks::BODY;
use super::flow::{Flow, GREY, PALE, Type};
use super::wrap::wrap;
use super::{Outcome, StatusRow};
use crate::pdf::canvas::{BLACK, Canvas, Color};
use crate::pdf::paint::{self, Placement};
use crate::text::helvetica::{Style, width};
use crate::text::winansi::encode;

const WORD: Type = Type { style: Style::Bold, size: BODY.size, color: BLACK };
const SUBJECT: Type = BODY;
const DETAIL: Type = Type { style: Style::Regular, size: 3.1, color: GREY };

/// Side of a shape, mm.
const SHAPE: f64 = 4.2;

/// Where the word and the subject begin, mm from the left.
const WORD_AT: f64 = 6.5;
const SUBJECT_AT: f64 = 23.0;

/// White above and under a row, mm.
const PADDING: f64 = 1.2;

const WHITE: Color = [255, 255, 255];

pub(super) fn draw(flow: &mut Flow, rows: &[StatusRow]) {
    for row in rows {
        draw_row(flow, row);
    }
}

/// Height of the first row, mm.
pub(super) fn beginning(flow: &Flow, rows: &[StatusRow]) -> f64 {
    rows.first().map_or(0.0, |row| height(&lines(flow, row)))
}

fn lines(flow: &Flow, row: &StatusRow) -> [Vec<Vec<u8>>; 2] {
    let room = flow.width() - SUBJECT_AT;
    [
        wrap(&row.subject, SUBJECT.style, SUBJECT.size, room),
        wrap(&row.detail, DETAIL.style, DETAIL.size, room),
    ]
}

fn height([subject, detail]: &[Vec<Vec<u8>>; 2]) -> f64 {
    let words = SUBJECT.leading() * subject.len() as f64 + DETAIL.leading() * detail.len() as f64;
    words.max(SHAPE) + 2.0 * PADDING
}

fn draw_row(flow: &mut Flow, row: &StatusRow) {
    let words = lines(flow, row);
    flow.need(height(&words).min(flow.full_height()));
    let (left, right) = (flow.left(), flow.left() + flow.width());
    flow.y -= PADDING;
    let top = flow.y;
    shape(&mut flow.canvas, row.outcome, DVec2::new(left, top - SHAPE));
    let word = encode(word(row.outcome));
    flow.set(&word, &WORD, DVec2::new(left + WORD_AT, top - SUBJECT.size));
    let [subject, detail] = &words;
    flow.lines(subject, &SUBJECT, left + SUBJECT_AT);
    flow.lines(detail, &DETAIL, left + SUBJECT_AT);
    // A row that went over to another page is already below its shape there.
    if flow.y < top {
        flow.y = flow.y.min(top - SHAPE);
    }
    flow.y -= PADDING;
    flow.canvas.pen(0.12, &[], PALE);
    flow.canvas.line(DVec2::new(left, flow.y), DVec2::new(right, flow.y));
}

fn word(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Pass => "pass",
        Outcome::Fail => "fail",
        Outcome::Unsure => "open",
    }
}

/// A ring with a tick, a black square with a white cross, or a triangle with a question mark.
fn shape(canvas: &mut Canvas, outcome: Outcome, low: DVec2) {
    canvas.pen(0.35, &[], BLACK);
    let at = |x: f64, y: f64| low + DVec2::new(x, y) * SHAPE;
    match outcome {
        Outcome::Pass => {
            let sides = [at(0.05, 0.5), at(0.95, 0.5)].map(|at| Knot { at, bulge: 1.0 });
            let ring = Curve { knots: sides.to_vec(), closed: true };
            paint::curve(canvas, &ring, Placement::moved(DVec2::ZERO));
            canvas.stroke();
            canvas.move_to(at(0.27, 0.5));
            canvas.line_to(at(0.44, 0.32));
            canvas.line_to(at(0.74, 0.7));
            canvas.stroke();
        }
        Outcome::Fail => {
            canvas.ink(BLACK);
            canvas.rectangle(at(0.05, 0.05), at(0.95, 0.95));
            canvas.fill();
            canvas.pen(0.5, &[], WHITE);
            canvas.line(at(0.28, 0.28), at(0.72, 0.72));
            canvas.line(at(0.28, 0.72), at(0.72, 0.28));
        }
        Outcome::Unsure => {
            polygon(canvas, low, &[(0.0, 0.15), (SHAPE, 0.15), (SHAPE / 2.0, SHAPE)]);
            canvas.stroke();
            let mark = encode("?");
            let size = SHAPE * 0.68;
            let half = size * width(&mark, Style::Bold) / 2.0;
            canvas.ink(BLACK);
            canvas.text(&mark, Style::Bold, size, at(0.5, 0.13) - DVec2::new(half, 0.0), 0.0);
        }
    }
}

/// Adds a closed polygon to the path, its corners given in mm from `low`.
pub(super) fn polygon(canvas: &mut Canvas, low: DVec2, corners: &[(f64, f64)]) {
    for (i, corner) in corners.iter().enumerate() {
        let p = low + DVec2::from(*corner);
        if i == 0 { canvas.move_to(p) } else { canvas.line_to(p) }
    }
    canvas.close();
}
