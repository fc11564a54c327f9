//! Paints a drawing on a page.

use geometry::drawing::{Anchor, Arc, Area, Curve, Drawing, Item, Path, Text};
use glam::DVec2;

use super::canvas::{BLACK, Canvas, Color};
use crate::line::look;
use crate::text::helvetica::{CAP_HEIGHT, Style, width};
use crate::text::winansi::encode;

/// Furthest that a Bézier piece may lie from its arc, mm.
const ARC_TOLERANCE: f64 = 0.000_3;

/// Areas are outlined this wide in their own colour, mm, to close the seams that smoothing leaves.
const SEAM: f64 = 0.1;

/// Where a drawing lies on a page: first scaled, then moved by `offset` mm.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Placement {
    pub(crate) scale: f64,
    pub(crate) offset: DVec2,
    /// Letters get no smaller than this, mm; for pictures that are scaled down.
    pub(crate) least_text: f64,
}

impl Placement {
    /// At full scale.
    pub(crate) fn moved(offset: DVec2) -> Self {
        Self { scale: 1.0, offset, least_text: 0.0 }
    }

    fn point(&self, p: DVec2) -> DVec2 {
        p * self.scale + self.offset
    }
}

/// Paints the items in their order. Areas that follow each other are taken not to overlap: they are
/// gathered by colour.
pub(crate) fn drawing(canvas: &mut Canvas, drawing: &Drawing, place: Placement) {
    let mut items = drawing.items.as_slice();
    while let Some((first, rest)) = items.split_first() {
        match first {
            Item::Path(line) => path(canvas, line, place),
            Item::Text(words) => text(canvas, words, place),
            Item::Area(_) => {
                let run: Vec<&Area> = items.iter().map_while(as_area).collect();
                areas(canvas, &run, place);
                items = &items[run.len()..];
                continue;
            }
        }
        items = rest;
    }
}

fn as_area(item: &Item) -> Option<&Area> {
    if let Item::Area(area) = item { Some(area) } else { None }
}

fn path(canvas: &mut Canvas, path: &Path, place: Placement) {
    let looks = look(path.layer, path.stroke);
    canvas.pen(looks.weight, looks.dashes, BLACK);
    curve(canvas, &path.curve, place);
    canvas.stroke();
}

/// Adds a curve to the page's path, arcs by cubic pieces.
pub(crate) fn curve(canvas: &mut Canvas, curve: &Curve, place: Placement) {
    if let Some(first) = curve.knots.first() {
        canvas.move_to(place.point(first.at));
    }
    for (a, b) in curve.pieces() {
        match Arc::between(a, b) {
            None => canvas.line_to(place.point(b.at)),
            Some(arc) => arc_to(canvas, arc, b.at, place),
        }
    }
    if curve.closed {
        canvas.close();
    }
}

fn arc_to(canvas: &mut Canvas, arc: Arc, end: DVec2, place: Placement) {
    let count = cubic_pieces(arc.radius * place.scale, arc.sweep);
    let step = arc.sweep / f64::from(count);
    let arm = arc.radius * 4.0 / 3.0 * (step / 4.0).tan();
    let on_circle = |i: u32| {
        let outward = DVec2::from_angle(arc.start + f64::from(i) * step);
        (arc.center + arc.radius * outward, outward.perp() * arm)
    };
    for i in 1..=count {
        let (from, forward) = on_circle(i - 1);
        let (to, onward) = on_circle(i);
        let to_knot = if i == count { end } else { to };
        canvas.curve_to(
            place.point(from + forward),
            place.point(to - onward),
            place.point(to_knot),
        );
    }
}

/// How many equal cubic pieces keep within the tolerance of an arc.
///
/// The usual cubic, with arms of 4/3 tan(step/4), lies outside its circle by at most
/// 2/27 sin^6(step/4) / cos^2(step/4) of the radius (Goldapp 1991, *Approximation of circular arcs
/// by cubic polynomials*, from memory; measured in the tests).
fn cubic_pieces(radius: f64, sweep: f64) -> u32 {
    let error = |count: u32| {
        let quarter = sweep.abs() / f64::from(count) / 4.0;
        radius * 2.0 / 27.0 * quarter.sin().powi(6) / quarter.cos().powi(2)
    };
    let least = (sweep.abs() / std::f64::consts::FRAC_PI_2).ceil().max(1.0) as u32;
    (least..least + 64).find(|&count| error(count) <= ARC_TOLERANCE).unwrap_or(least + 64)
}

fn text(canvas: &mut Canvas, text: &Text, place: Placement) {
    let codes = encode(&text.content);
    let size = (text.height * place.scale).max(place.least_text) / CAP_HEIGHT;
    let length = size * width(&codes, Style::Regular);
    let back = match text.anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => length / 2.0,
        Anchor::End => length,
    };
    let along = DVec2::from_angle(text.angle.to_radians());
    canvas.ink(BLACK);
    canvas.text(&codes, Style::Regular, size, place.point(text.at) - along * back, text.angle);
}

/// Areas in one path per colour, the colours in the order in which they first come.
fn areas(canvas: &mut Canvas, areas: &[&Area], place: Placement) {
    let mut rank = std::collections::BTreeMap::new();
    let mut by_color: Vec<(Color, Vec<&Area>)> = Vec::new();
    for area in areas {
        let i = *rank.entry(area.color).or_insert(by_color.len());
        if i == by_color.len() {
            by_color.push((area.color, Vec::new()));
        }
        by_color[i].1.push(area);
    }
    canvas.apart(|canvas| {
        canvas.round_pen();
        for (color, same) in by_color {
            canvas.pen(SEAM, &[], color);
            canvas.ink(color);
            for area in same {
                let counter_clockwise = signed_area(&area.outline) >= 0.0;
                let points = area.outline.iter().map(|p| place.point(*p));
                // One sense of turning for all, or overlapping outlines would cut holes.
                if counter_clockwise {
                    canvas.coarse_polygon(points);
                } else {
                    canvas.coarse_polygon(points.rev());
                }
            }
            canvas.fill_and_stroke();
        }
    });
}

fn signed_area(outline: &[DVec2]) -> f64 {
    let next = outline.iter().cycle().skip(1);
    outline.iter().zip(next).map(|(a, b)| a.perp_dot(*b)).sum::<f64>() / 2.0
}
