//! The page before the sheets: check square, plan, and how to put them together.

use geometry::drawing::{Drawing, Item, Layer, Stroke};
use glam::DVec2;

use super::layout::{Frame, Tile, TileLayout};
use crate::line::look;
use crate::pdf::canvas::{BLACK, Canvas, Color};
use crate::pdf::document::Page;
use crate::pdf::furniture::{self, CHECK_LENGTH};
use crate::pdf::paint::{self, Placement};
use crate::text::helvetica::{CAP_HEIGHT, Style, width};
use crate::text::winansi::encode;

/// Font sizes, mm.
const TITLE_SIZE: f64 = 6.5;
const TEXT_SIZE: f64 = 3.9;

/// From one line of words to the next, mm.
const LINE: f64 = 5.6;

/// Letters on the plan, mm: no larger, however large a sheet is drawn.
const PLAN_SIZE: f64 = 6.0;

const GREY: Color = [150, 150, 150];
const WHITE: Color = [255, 255, 255];

/// Every style of line with its meaning, in the order of the legend.
const MEANINGS: [(Layer, Stroke, &str); 9] = [
    (Layer::Cut, Stroke::Solid, "cut line of the piece"),
    (Layer::Cut, Stroke::Dashed, "cut line, dashed"),
    (Layer::Cut, Stroke::Chain, "cut line, dash and dot"),
    (Layer::Mark, Stroke::Solid, "mark on the piece: do not cut"),
    (Layer::Mark, Stroke::Dashed, "mark, dashed: do not cut"),
    (Layer::Mark, Stroke::Chain, "mark, dash and dot: do not cut"),
    (Layer::Text, Stroke::Solid, "for reading only"),
    (Layer::Text, Stroke::Dashed, "for reading only, dashed"),
    (Layer::Text, Stroke::Chain, "for reading only, dash and dot"),
];

/// What to do, with only those seams that there are.
fn steps(layout: &TileLayout) -> Vec<String> {
    let has = |left: usize, below: usize| {
        let joined =
            |t: &Tile| layout.printed(t.row + below, t.column.wrapping_sub(left)).is_some();
        layout.tiles.iter().any(joined)
    };
    let edges = match (has(1, 0), has(0, 1)) {
        (true, true) => "lines at its left and lower edge.",
        (true, false) => "line at its left edge.",
        (false, true) => "line at its lower edge.",
        (false, false) => "",
    };
    let mut steps =
        vec!["1. Print at 100 %, without fitting.", "2. Measure the square: 100 mm each way."];
    let edges = format!("    {edges}");
    if !edges.trim().is_empty() {
        steps.extend([
            "3. Cut each sheet along the unbroken",
            edges.as_str(),
            "4. Lay the cut edge on the dashed line of",
            "    its neighbour, circles on circles of the",
            "    same number. Glue.",
        ]);
    }
    steps.into_iter().map(str::to_owned).collect()
}

/// Draws the cover, upright whichever way the sheets lie.
pub(super) fn page(drawing: &Drawing, frame: &Frame, layout: &TileLayout) -> Page {
    let (page_width, height) = frame.paper.size();
    let (left, right) = (frame.margin, page_width - frame.margin);
    let mut canvas = Canvas::default();
    let mut y = height - frame.margin - TITLE_SIZE;
    let title = furniture::fitted(&drawing.title, Style::Bold, TITLE_SIZE, right - left);
    canvas.ink(BLACK);
    canvas.text(&title, Style::Bold, TITLE_SIZE, DVec2::new(left, y), 0.0);
    y -= 1.5 * LINE;
    for words in summary(layout) {
        let words = furniture::fitted(&words, Style::Regular, TEXT_SIZE, right - left);
        canvas.text(&words, Style::Regular, TEXT_SIZE, DVec2::new(left, y), 0.0);
        y -= LINE;
    }
    let square = DVec2::splat(frame.margin + 0.2);
    let plan_low = DVec2::new(left, square.y + CHECK_LENGTH + 8.0);
    plan(&mut canvas, drawing, frame, layout, (plan_low, DVec2::new(right, y)));
    furniture::check_square(&mut canvas, square);
    let beside = DVec2::new(square.x + CHECK_LENGTH + 8.0, square.y + CHECK_LENGTH - TEXT_SIZE);
    instructions(&mut canvas, drawing, layout, beside);
    Page { width: page_width, height, canvas }
}

fn summary(layout: &TileLayout) -> Vec<String> {
    let mut lines = vec![format!("Full scale on {layout}.")];
    if !layout.empty.is_empty() {
        let names: Vec<&str> = layout.empty.iter().map(|t| t.name.as_str()).collect();
        lines.push(format!("Not printed, because nothing is drawn there: {}.", names.join(", ")));
    }
    lines
}

fn instructions(canvas: &mut Canvas, drawing: &Drawing, layout: &TileLayout, start: DVec2) {
    let mut at = start;
    canvas.ink(BLACK);
    for words in steps(layout) {
        canvas.text(&encode(&words), Style::Regular, TEXT_SIZE, at, 0.0);
        at.y -= LINE;
    }
    at.y -= LINE;
    let occurs = |layer: Layer, stroke: Stroke| {
        drawing
            .items
            .iter()
            .any(|item| matches!(item, Item::Path(p) if p.layer == layer && p.stroke == stroke))
    };
    for (layer, stroke, words) in MEANINGS.into_iter().filter(|(l, s, _)| occurs(*l, *s)) {
        let looks = look(layer, stroke);
        canvas.pen(looks.weight, looks.dashes, BLACK);
        let middle = at + DVec2::new(0.0, TEXT_SIZE / 3.0);
        canvas.line(middle, middle + DVec2::new(20.0, 0.0));
        canvas.text(&encode(words), Style::Regular, TEXT_SIZE, at + DVec2::new(24.0, 0.0), 0.0);
        at.y -= LINE;
    }
}

/// The sheets as they come to lie, small, with the cut lines across them.
fn plan(
    canvas: &mut Canvas,
    drawing: &Drawing,
    frame: &Frame,
    layout: &TileLayout,
    room: (DVec2, DVec2),
) {
    let every = || layout.tiles.iter().chain(&layout.empty);
    let low = every().map(|t| t.low).reduce(DVec2::min).unwrap_or_default();
    let high = every().map(|t| t.high).reduce(DVec2::max).unwrap_or_default();
    let scale = ((room.1 - room.0) / (high - low)).min_element();
    let centered = (room.0 + room.1 - (high - low) * scale) / 2.0;
    let place = Placement { scale, offset: centered - low * scale, least_text: 0.0 };

    let shown = |tile: &Tile| {
        let full = tile.high - tile.low;
        let step = full - DVec2::splat(frame.overlap);
        let x = if tile.column == layout.columns { full.x } else { step.x };
        let y = if tile.row == 1 { full.y } else { step.y };
        (tile.low * scale + place.offset, (tile.low + DVec2::new(x, y)) * scale + place.offset)
    };
    canvas.pen(0.15, &[], GREY);
    for tile in every() {
        let (a, b) = shown(tile);
        canvas.rectangle(a, b);
        canvas.stroke();
    }
    for (a, b) in layout.empty.iter().map(shown) {
        canvas.line(a, b);
        canvas.line(DVec2::new(a.x, b.y), DVec2::new(b.x, a.y));
    }
    let cut = drawing.items.iter().filter(|i| matches!(i, Item::Path(p) if p.layer == Layer::Cut));
    let cut = Drawing { title: String::new(), items: cut.cloned().collect() };
    paint::drawing(canvas, &cut, place);
    for (tile, printed) in
        layout.tiles.iter().map(|t| (t, true)).chain(layout.empty.iter().map(|t| (t, false)))
    {
        let (a, b) = shown(tile);
        let size = PLAN_SIZE.min((b - a).min_element() / 3.0);
        let words = if printed { tile.name.clone() } else { format!("{}: empty", tile.name) };
        let size = if printed { size } else { size * 0.6 };
        let codes = encode(&words);
        // In the corner, where the piece's own lines cross it least, and cleared of them.
        let at = DVec2::new(a.x + size * 0.4, b.y - size * 1.1);
        let length = size * width(&codes, Style::Bold);
        let clear = DVec2::splat(size * 0.15);
        canvas.ink(WHITE);
        canvas.rectangle(at - clear, at + DVec2::new(length, size * CAP_HEIGHT) + clear);
        canvas.fill();
        canvas.ink(BLACK);
        canvas.text(&codes, Style::Bold, size, at, 0.0);
    }
}
