//! The finished piece as a drawing at full scale: what is cut, what is marked, what is read.

use geometry::drawing::{Anchor, Curve, Drawing, Item, Knot, Layer, Path, Stroke, Text};
use geometry::outline::arcs::fit_arcs;
use glam::DVec2;

use super::Stiffener;
use crate::foot::Side;

/// How far a fitted arc may leave the line it stands for, mm: a twentieth of a knife's width.
const ARC_TOLERANCE: f64 = 0.01;

/// Turns sharper than this stay corners, degrees.
const CORNER: f64 = 25.0;

/// Height of capital letters, mm: readable at arm's length, and smaller ones beside lines.
const NAME_HEIGHT: f64 = 5.0;
const LINE_HEIGHT: f64 = 3.2;
const SMALL_HEIGHT: f64 = 2.2;

/// Room the words need, mm.
const TEXT_WIDTH: f64 = 54.0;

/// Draws the piece: the seat at the origin, the centre back upright, the outer face up.
pub fn draw(piece: &Stiffener, job_name: &str) -> Drawing {
    let mut items = vec![line(Layer::Cut, Stroke::Solid, outline(piece))];
    for slit in &piece.margin.slits {
        items.push(stroke(Layer::Cut, Stroke::Solid, &[slit.mouth, slit.point]));
    }
    for nick in &piece.nicks {
        items.push(stroke(Layer::Cut, Stroke::Solid, &[nick.mouth, nick.point]));
    }
    let feather = piece.wall.flat_line(&piece.wall.feather);
    items.push(line(Layer::Mark, Stroke::Chain, smooth(&feather)));
    items.push(stroke(Layer::Mark, Stroke::Solid, &centre_back(piece)));
    if piece.margin.widths.insole > 0.0 {
        items.push(line(
            Layer::Mark,
            Stroke::Dashed,
            smooth(&piece.margin.parallel(piece.margin.widths.insole)),
        ));
    }
    items.push(line(Layer::Mark, Stroke::Dashed, smooth(&piece.skive)));
    if piece.margin_skive.len() > 1 {
        items.push(line(Layer::Mark, Stroke::Dashed, smooth(&piece.margin_skive)));
    }
    items.extend(words(piece, job_name));
    Drawing {
        title: format!("{job_name}: heel stiffener, {} foot, {}", piece.foot, piece.brief.size),
        items,
    }
}

/// The outline of the piece, closed, counter-clockwise: the margin's edge with its V's from
/// the left wing end to the right, then the free edge back over the top.
pub fn outline(piece: &Stiffener) -> Curve {
    let mut runs = piece.margin.cut_edge();
    runs.push(piece.wall.flat_line(&piece.wall.free_edge));
    let mut knots: Vec<Knot> = Vec::new();
    for run in runs {
        let fitted = smooth(&run);
        // Each run ends where the next begins.
        let keep = fitted.knots.len().saturating_sub(1);
        knots.extend(&fitted.knots[..keep]);
    }
    Curve { knots, closed: true }
}

/// The centre back on the flat piece, from the feather edge to the top.
pub fn centre_back(piece: &Stiffener) -> Vec<DVec2> {
    piece.wall.flat_line(&piece.wall.centre_back)
}

fn smooth(points: &[DVec2]) -> Curve {
    fit_arcs(points, false, ARC_TOLERANCE, CORNER)
}

fn line(layer: Layer, stroke: Stroke, curve: Curve) -> Item {
    Item::Path(Path { layer, stroke, curve })
}

fn stroke(layer: Layer, style: Stroke, points: &[DVec2]) -> Item {
    line(layer, style, Curve::polyline(points.iter().copied(), false))
}

fn text(at: DVec2, height: f64, angle: f64, anchor: Anchor, content: String) -> Item {
    Item::Text(Text { layer: Layer::Text, at, height, angle, anchor, content })
}

fn words(piece: &Stiffener, job_name: &str) -> Vec<Item> {
    let brief = &piece.brief;
    let material = format!("{}, {:.1} mm", brief.kind.words(), brief.thickness);
    let lines = [
        (NAME_HEIGHT, "Heel stiffener".to_owned()),
        (LINE_HEIGHT, format!("{} · {} foot · cut 1", brief.size, piece.foot)),
        (LINE_HEIGHT, material),
        (LINE_HEIGHT, format!("{} up", brief.face)),
        (LINE_HEIGHT, job_name.to_owned()),
    ];
    let back = centre_back(piece);
    let height = back.last().map_or(0.0, |p| p.y);
    // On the inside, where the wall is higher, under the skive line.
    let x = if piece.foot.right_side() == Side::Medial { 6.0 } else { -TEXT_WIDTH - 6.0 };
    let above =
        piece.skive.iter().filter(|p| p.x > x && p.x < x + TEXT_WIDTH && p.y > 0.4 * height);
    let roof = above.map(|p| p.y).fold(height, f64::min);
    let mut items = Vec::new();
    let mut y = roof - NAME_HEIGHT - 1.5;
    for (size, words) in lines {
        items.push(text(DVec2::new(x, y), size, 0.0, Anchor::Start, words));
        y -= 1.75 * LINE_HEIGHT;
    }
    items.push(text(
        DVec2::new(-1.5, 0.12 * height),
        SMALL_HEIGHT,
        90.0,
        Anchor::Start,
        "centre back".into(),
    ));
    for side in Side::BOTH {
        items.push(side_label(piece, side));
    }
    items.extend(line_labels(piece));
    items
}

/// The side's name on its wing, along the wing.
fn side_label(piece: &Stiffener, side: Side) -> Item {
    let feather = &piece.margin.feather;
    let to_right = piece.foot.right_side() == side;
    let wing = if to_right { feather.len() - 1 - piece.margin.seat } else { piece.margin.seat };
    let i = if to_right {
        piece.margin.seat + wing * 6 / 10
    } else {
        piece.margin.seat - wing * 6 / 10
    };
    let (a, b) = (i.saturating_sub(8), (i + 8).min(feather.len() - 1));
    let angle = (feather[b] - feather[a]).to_angle().to_degrees();
    let at = feather[i] - piece.margin.outward[i] * 8.0;
    text(at, NAME_HEIGHT, angle, Anchor::Middle, side.to_string())
}

/// Small words beside the lines that are not cut.
fn line_labels(piece: &Stiffener) -> Vec<Item> {
    let feather = &piece.margin.feather;
    let beside = |share: f64, up: f64, words: &str| {
        let i = ((feather.len() - 1) as f64 * share) as usize;
        let (a, b) = (i.saturating_sub(6), (i + 6).min(feather.len() - 1));
        let angle = (feather[b] - feather[a]).to_angle().to_degrees();
        let at = feather[i] - piece.margin.outward[i] * up;
        text(at, SMALL_HEIGHT, angle, Anchor::Middle, words.into())
    };
    let mut labels = vec![beside(0.36, 1.2, "feather line")];
    let insole = piece.margin.widths.insole;
    if insole > 0.0 {
        labels.push(beside(0.64, -insole - 3.0, "insole edge"));
    }
    // Beside the top edge of the outside; the skive line runs from the right end to the left.
    let share = if piece.foot.right_side() == Side::Lateral { 0.36 } else { 0.64 };
    let i = (piece.skive.len() as f64 * share) as usize;
    if let Some(p) = piece.skive.get(i) {
        let before = piece.skive[i.saturating_sub(6)];
        let after = piece.skive[(i + 6).min(piece.skive.len() - 1)];
        let angle = (before - after).to_angle().to_degrees();
        let below = (after - before).perp().normalize_or_zero() * (SMALL_HEIGHT + 1.0);
        labels.push(text(
            *p + below,
            SMALL_HEIGHT,
            angle,
            Anchor::Middle,
            "skive to nothing".into(),
        ));
    }
    labels
}
