//! Title, headings, text, pictures, legends and cautions.

use geometry::drawing::Drawing;
use glam::DVec2;

use super::flow::{Flow, GREY, Type};
use super::wrap::wrap;
use super::{Block, status, table};
use crate::pdf::canvas::{BLACK, Canvas};
use crate::pdf::paint::{self, Placement};
use crate::text::extent;
use crate::text::helvetica::{Style, width};
use crate::text::winansi::encode;

const TITLE: Type = Type { style: Style::Bold, size: 7.4, color: BLACK };
const SUBTITLE: Type = Type { style: Style::Regular, size: 4.0, color: GREY };
const HEADING: Type = Type { style: Style::Bold, size: 4.7, color: BLACK };
pub(super) const BODY: Type = Type { style: Style::Regular, size: 3.6, color: BLACK };
const CAPTION: Type = Type { style: Style::Regular, size: 3.1, color: GREY };

/// White between blocks, and above a heading, mm.
const GAP: f64 = 3.2;
const HEADING_GAP: f64 = 4.5;

/// Letters in a picture get no smaller than this, mm: the height of a capital.
const LEAST_TEXT: f64 = 1.6;

/// Side of a colour field in a legend, mm.
const FIELD: f64 = 4.0;

/// White around the words of a caution, and room for its sign, mm.
const PADDING: f64 = 3.0;
const SIGN: f64 = 9.0;

pub(super) fn title(flow: &mut Flow, title: &str, subtitle: &str) {
    for (words, look) in [(title, &TITLE), (subtitle, &SUBTITLE)] {
        let lines = wrap(words, look.style, look.size, flow.width());
        flow.lines(&lines, look, flow.left());
        flow.y -= 0.8;
    }
    flow.y -= GAP;
}

/// Draws a block; `next` is what follows it, so that a heading is not left alone.
pub(super) fn draw(flow: &mut Flow, block: &Block, next: Option<&Block>) {
    match block {
        Block::Heading(words) => heading(flow, words, next),
        Block::Paragraph(words) => {
            let lines = wrap(words, BODY.style, BODY.size, flow.width());
            flow.lines(&lines, &BODY, flow.left());
        }
        Block::Table(content) => table::draw(flow, content),
        Block::Picture { drawing, height_mm, caption } => {
            picture(flow, drawing, *height_mm, caption);
        }
        Block::Legend { entries, caption } => legend(flow, entries, caption),
        Block::Note(words) => note(flow, words),
        Block::Status(rows) => status::draw(flow, rows),
    }
    flow.space(if matches!(block, Block::Heading(_)) { 0.6 } else { GAP });
}

fn heading(flow: &mut Flow, words: &str, next: Option<&Block>) {
    let lines = wrap(words, HEADING.style, HEADING.size, flow.width());
    let own = HEADING.leading() * lines.len() as f64 + HEADING_GAP;
    let following = next.map_or(0.0, |block| beginning(flow, block));
    flow.need((own + following).min(flow.full_height()));
    flow.space(HEADING_GAP);
    flow.lines(&lines, &HEADING, flow.left());
}

/// The height that the first part of a block takes at least, mm.
fn beginning(flow: &Flow, block: &Block) -> f64 {
    match block {
        Block::Heading(_) => HEADING.leading() + HEADING_GAP + 2.0 * BODY.leading(),
        Block::Paragraph(_) => 2.0 * BODY.leading() + 1.0,
        Block::Table(content) => table::beginning(flow, content),
        Block::Picture { drawing, height_mm, caption } => {
            picture_room(flow, drawing, *height_mm, caption).total
        }
        Block::Legend { .. } => 2.0 * FIELD + CAPTION.leading(),
        Block::Note(words) => note_height(&note_lines(flow, words)).min(flow.full_height()),
        Block::Status(rows) => status::beginning(flow, rows),
    }
}

/// How large a picture is drawn, and the room it takes with its caption, mm.
struct PictureRoom {
    scale: f64,
    low: DVec2,
    size: DVec2,
    caption: Vec<Vec<u8>>,
    total: f64,
}

fn picture_room(flow: &Flow, drawing: &Drawing, height: f64, caption: &str) -> PictureRoom {
    let caption = wrap(caption, CAPTION.style, CAPTION.size, flow.width());
    let words = CAPTION.leading() * caption.len() as f64 + 1.5;
    let (low, high) = extent::bounds(drawing).unwrap_or_default();
    // A drawing without height or width is still drawn, at a scale set by its other side.
    let drawn = (high - low).max(DVec2::splat(1e-3));
    let room = DVec2::new(flow.width(), height.min(flow.full_height() - words));
    let scale = (room / drawn).min_element();
    let size = drawn * scale;
    PictureRoom { scale, low, size, caption, total: size.y + words }
}

fn picture(flow: &mut Flow, drawing: &Drawing, height: f64, caption: &str) {
    let room = picture_room(flow, drawing, height, caption);
    flow.need(room.total);
    let corner = DVec2::new(flow.left() + (flow.width() - room.size.x) / 2.0, flow.y - room.size.y);
    let offset = corner - room.low * room.scale;
    let place = Placement { scale: room.scale, offset, least_text: LEAST_TEXT };
    flow.canvas.apart(|canvas| paint::drawing(canvas, drawing, place));
    flow.y -= room.size.y + 1.5;
    flow.lines(&room.caption, &CAPTION, flow.left());
}

fn legend(flow: &mut Flow, entries: &[([u8; 3], String)], caption: &str) {
    let row = FIELD + 1.6;
    let right = flow.left() + flow.width();
    let mut x = flow.left();
    flow.need(row + CAPTION.leading());
    for (color, words) in entries {
        let codes = encode(words);
        let taken = FIELD + 1.6 + CAPTION.size * width(&codes, CAPTION.style) + 5.0;
        if x > flow.left() && x + taken > right + 5.0 {
            flow.y -= row;
            flow.need(row);
            x = flow.left();
        }
        let low = DVec2::new(x, flow.y - FIELD);
        flow.canvas.pen(0.12, &[], BLACK);
        flow.canvas.ink(*color);
        flow.canvas.rectangle(low, low + DVec2::splat(FIELD));
        flow.canvas.fill_and_stroke();
        let look = Type { color: BLACK, ..CAPTION };
        flow.set(&codes, &look, low + DVec2::new(FIELD + 1.6, FIELD / 2.0 - CAPTION.size * 0.36));
        x += taken;
    }
    flow.y -= row;
    let lines = wrap(caption, CAPTION.style, CAPTION.size, flow.width());
    flow.lines(&lines, &CAPTION, flow.left());
}

fn note_lines(flow: &Flow, words: &str) -> Vec<Vec<u8>> {
    wrap(words, BODY.style, BODY.size, flow.width() - 2.0 * PADDING - SIGN)
}

fn note_height(lines: &[Vec<u8>]) -> f64 {
    (BODY.leading() * lines.len() as f64 + 2.0 * PADDING - 1.0).max(SIGN + 2.0)
}

/// A boxed caution with a sign; one longer than a page gets a box on every page.
fn note(flow: &mut Flow, words: &str) {
    let lines = note_lines(flow, words);
    flow.need(note_height(&lines).min(flow.full_height()));
    let per_page = ((flow.full_height() - 2.0 * PADDING) / BODY.leading()).floor().max(1.0);
    for part in lines.chunks(per_page as usize) {
        let height = note_height(part);
        flow.need(height);
        let high = DVec2::new(flow.left() + flow.width(), flow.y);
        let low = DVec2::new(flow.left(), flow.y - height);
        flow.canvas.pen(0.35, &[], BLACK);
        flow.canvas.rectangle(low, high);
        flow.canvas.stroke();
        caution_sign(&mut flow.canvas, DVec2::new(low.x + PADDING, high.y - PADDING - 5.0));
        let set = BODY.leading() * part.len() as f64;
        flow.y -= (height - set + BODY.leading() - BODY.size) / 2.0;
        for line in part {
            flow.line(line, &BODY, low.x + PADDING + SIGN);
        }
        flow.y = low.y;
    }
}

/// A triangle with an exclamation mark, 6 x 5.2 mm.
fn caution_sign(canvas: &mut Canvas, low: DVec2) {
    canvas.pen(0.35, &[], BLACK);
    status::polygon(canvas, low, &[(0.0, 0.0), (6.0, 0.0), (3.0, 5.2)]);
    canvas.stroke();
    canvas.ink(BLACK);
    let mark = encode("!");
    let size = 3.9;
    let half = size * width(&mark, Style::Bold) / 2.0;
    canvas.text(&mark, Style::Bold, size, low + DVec2::new(3.0 - half, 0.8), 0.0);
}
