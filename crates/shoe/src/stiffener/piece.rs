//! The finished piece as a drawing at full scale: what is cut, what is marked, what is read.

use geometry::drawing::{Curve, Drawing, Item, Knot, Layer, Path, Stroke};
use geometry::outline::arcs::fit_arcs;
use glam::DVec2;

use super::{Stiffener, words};

/// How far a fitted arc may leave the line it stands for, mm: a twentieth of a knife's width.
const ARC_TOLERANCE: f64 = 0.01;

/// Turns sharper than this stay corners, degrees.
const CORNER: f64 = 25.0;

/// Draws the piece: the seat at the origin, the centre back upright, the outer face up.
pub fn draw(piece: &Stiffener, job_name: &str) -> Drawing {
    let mut items = vec![line(Layer::Cut, Stroke::Solid, outline(piece))];
    for slit in &piece.margin.slits {
        items.push(stroke(Layer::Cut, Stroke::Solid, &[slit.mouth, slit.point]));
    }
    for nick in piece.nicks.iter().chain(&piece.size_nicks) {
        items.push(stroke(Layer::Cut, Stroke::Solid, &[nick.mouth, nick.point]));
    }
    for section in piece.wall.sections() {
        let feather = piece.wall.flat_line(section);
        items.push(line(Layer::Mark, Stroke::Chain, smooth(&feather)));
    }
    items.push(stroke(Layer::Mark, Stroke::Solid, &centre_back(piece)));
    if piece.margin.widths.insole > 0.0 {
        for run in piece.margin.parallel(piece.margin.widths.insole) {
            items.push(line(Layer::Mark, Stroke::Dashed, smooth(&run)));
        }
    }
    items.push(line(Layer::Mark, Stroke::Dashed, smooth(&piece.skive)));
    for run in &piece.margin_skive {
        items.push(line(Layer::Mark, Stroke::Dashed, smooth(run)));
    }
    items.extend(words::on(piece, job_name));
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
