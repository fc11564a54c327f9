//! Measures the finished piece again, apart from how it was made, and holds it against the rules.

use geometry::mesh::adjacency::AdjacencyError;
use geometry::surface::{Surface, SurfacePoint, Walk};
use glam::{DVec2, DVec3};

use super::brief::{Kind, Length};
use super::chart::Chart;
use super::limits::{ANKLE_REACH, CLEARANCE};
use super::relief::POINT_CLEARANCE;
use super::{Stiffener, cuts_said};
use crate::foot::Side;
use crate::reasons::{Check, Mark, Verdict};

/// What a line may lose between the surface where the piece lies and the flat piece, mm.
const LENGTH_LOSS: f64 = 0.5;

/// What the back height may miss, mm: what a ruler can tell.
const RULER: f64 = 0.1;

/// The height of every point of the free edge above the feather line, measured on the finished
/// piece itself: from the point down the wall, square to the feather line, to the piece's lower
/// edge. Pairs of the place (last frame, mm) and the height (mm).
///
/// # Errors
/// When the piece is not a sound surface.
pub fn edge_heights(
    piece: &Stiffener,
    chart: &Chart<'_, '_>,
) -> Result<Vec<(DVec3, f64)>, AdjacencyError> {
    let mesh = &piece.wall.on_last;
    let surface = Surface::new(mesh)?;
    let measured = piece.wall.free_edge.iter().map(|v| {
        let place = mesh.positions[*v as usize];
        let direction = chart.direction(station(chart, place));
        let walk = Walk::new(&surface, SurfacePoint::Vertex(*v), direction, DVec3::NEG_Z, 0.0);
        let walked = walk.last().map_or(0.0, |step| step.walked);
        (place, walked - piece.edge.zero)
    });
    Ok(measured.collect())
}

/// The place along the feather line that `place` lies square above.
fn station(chart: &Chart<'_, '_>, place: DVec3) -> f64 {
    let mut along = place.y.signum() * -place.truncate().length();
    // A fixed-point step converges since the wall is near the feather line in plan.
    for _ in 0..60 {
        let step = (place - chart.feather(along)).dot(chart.direction(along));
        along += 0.7 * step;
        if step.abs() < 1e-9 {
            break;
        }
    }
    along
}

/// All checks of the piece.
///
/// # Errors
/// When the piece is not a sound surface.
pub fn checks(piece: &Stiffener, chart: &Chart<'_, '_>) -> Result<Vec<Check>, AdjacencyError> {
    let heights = edge_heights(piece, chart)?;
    let mut all = vec![back_height(piece, &heights), highest(piece, &heights)];
    for side in Side::BOTH {
        all.push(ankle(piece, &heights, side));
        all.push(ankle_place(piece, side));
        all.push(wing_end(piece, side));
        all.push(end_height(piece, side));
    }
    all.extend(topline(piece));
    all.extend(lengths(piece));
    all.extend(margin(piece));
    all.extend(cuts_said::checks(piece));
    all.push(stretch(piece));
    all.push(corners(piece));
    all.push(sound(piece));
    Ok(all)
}

struct Limit<'a> {
    name: &'a str,
    unit: &'a str,
    limit: String,
    reason: &'a str,
    mark: Mark,
    place: &'a str,
}

impl Limit<'_> {
    fn held(&self, value: f64, holds: bool) -> Check {
        self.verdict(value, if holds { Verdict::Pass } else { Verdict::Fail })
    }

    fn verdict(&self, value: f64, verdict: Verdict) -> Check {
        Check {
            name: self.name.into(),
            value,
            unit: self.unit.into(),
            limit: self.limit.clone(),
            verdict,
            reason: self.reason.into(),
            mark: self.mark,
            place: self.place.into(),
        }
    }
}

fn back_height(piece: &Stiffener, heights: &[(DVec3, f64)]) -> Check {
    let top = piece.wall.centre_back.last().map(|v| piece.wall.on_last.positions[*v as usize]);
    let nearest = heights.iter().min_by(|a, b| {
        let apart = |h: &(DVec3, f64)| top.map_or(0.0, |t| t.distance_squared(h.0));
        apart(a).total_cmp(&apart(b))
    });
    let value = nearest.map_or(0.0, |h| h.1);
    let asked = piece.edge.back_height;
    Limit {
        name: "back height as measured on the bare last",
        unit: "mm",
        limit: format!("{asked:.1} mm, give or take {RULER} mm"),
        reason: &piece.edge.back_reason,
        mark: piece.edge.back_mark,
        place: "centre back",
    }
    .held(value, (value - asked).abs() <= RULER)
}

fn highest(piece: &Stiffener, heights: &[(DVec3, f64)]) -> Check {
    let value = heights.iter().map(|h| h.1).fold(0.0, f64::max);
    let asked = piece.edge.back_height;
    Limit {
        name: "highest point of the edge",
        unit: "mm",
        limit: format!("no higher than {asked:.1} mm at the centre back, give or take {RULER} mm"),
        reason: "the edge is square across the centre back and highest there",
        mark: Mark::CommonPractice,
        place: "top edge",
    }
    .held(value, value <= asked + RULER)
}

fn ankle(piece: &Stiffener, heights: &[(DVec3, f64)], side: Side) -> Check {
    let ankle = piece.landmarks.ankle(side);
    let y = piece.foot.medial_sign() * if side == Side::Medial { 1.0 } else { -1.0 };
    let near = |place: &DVec3| place.y * y > 0.0 && (place.x - ankle).abs() <= ANKLE_REACH;
    let value = heights.iter().filter(|h| near(&h.0)).map(|h| h.1).fold(0.0, f64::max);
    let ceiling = piece.edge.ceilings.iter().find(|c| c.side == Some(side));
    let height = ceiling.map_or(f64::INFINITY, |c| c.height);
    Limit {
        name: &format!("edge under the {side} ankle"),
        unit: "mm",
        limit: format!("{CLEARANCE:.0} mm or more under {height:.1} mm"),
        reason: ceiling.map_or("", |c| &c.reason),
        mark: ceiling.map_or(Mark::CommonPractice, |c| c.mark),
        place: &format!(
            "{side}, {:.0} to {:.0} mm forward of the seat",
            ankle - ANKLE_REACH,
            ankle + ANKLE_REACH
        ),
    }
    .held(value, value <= height - CLEARANCE)
}

/// Where the ankle is was found by no survey: unless the user placed it, the check is open.
fn ankle_place(piece: &Stiffener, side: Side) -> Check {
    let placed = piece.ankles_placed.0 && side == Side::Medial
        || piece.ankles_placed.1 && side == Side::Lateral;
    let limit = Limit {
        name: &format!("place of the {side} ankle"),
        unit: "mm",
        limit: "placed by you on the last".into(),
        reason: "no source was found for the place of the ankle on a last; the default is a share of the standard last length",
        mark: Mark::CommonPractice,
        place: &format!("{side} ankle"),
    };
    let verdict = if placed { Verdict::Pass } else { Verdict::Unsure };
    limit.verdict(piece.landmarks.ankle(side), verdict)
}

fn wing_end(piece: &Stiffener, side: Side) -> Check {
    let end = piece.edge.end(side);
    let joint = piece.landmarks.joint(side);
    let value = joint - end.along_axis;
    let long = piece.brief.wing(side).length == Length::Long;
    let limit =
        if long { "10 to 20 mm behind the joint" } else { "10 mm or more behind the joint" };
    let reason = if long && value > 20.0 {
        "a long wing that ends too far back leaves the waist without hold"
    } else {
        "a wing that reaches the joint breaks where the shoe bends"
    };
    Limit {
        name: &format!("{side} wing ends behind the joint"),
        unit: "mm",
        limit: limit.into(),
        reason,
        mark: Mark::CommonPractice,
        place: &format!("{side} wing end"),
    }
    .held(value, value >= 10.0 && (!long || value <= 20.0))
}

fn end_height(piece: &Stiffener, side: Side) -> Check {
    let value = piece.edge.end_height(side);
    Limit {
        name: &format!("{side} wing, height at the end"),
        unit: "mm",
        limit: "15 to 20 mm".into(),
        reason: "enough to hold the wall, low enough to run out",
        mark: Mark::CommonPractice,
        place: &format!("{side} wing end"),
    }
    .held(value, (15.0 - RULER..=20.0 + RULER).contains(&value))
}

fn topline(piece: &Stiffener) -> Option<Check> {
    let ceiling = piece.edge.ceilings.iter().find(|c| c.side.is_none())?;
    let over = piece.edge.heights.iter().zip(&ceiling.drawn).map(|(h, limit)| limit - h);
    let value = over.fold(f64::INFINITY, f64::min) + piece.brief.below_topline;
    let limit = Limit {
        name: "edge below the topline",
        unit: "mm",
        limit: format!("{:.1} mm or more", piece.brief.below_topline),
        reason: &ceiling.reason,
        mark: ceiling.mark,
        place: "top edge",
    };
    Some(limit.held(value, value >= piece.brief.below_topline - RULER))
}

fn lengths(piece: &Stiffener) -> Vec<Check> {
    let wall = &piece.wall;
    let (left, right) = wall.wings();
    let (medial, lateral) =
        if piece.foot.right_side() == Side::Medial { (right, left) } else { (left, right) };
    let kept: [(&str, &[u32]); 3] =
        [("centre back", &wall.centre_back), ("inside wing", medial), ("outside wing", lateral)];
    let mut all: Vec<Check> = kept
        .iter()
        .map(|(name, chain)| {
            let [_, lies, flat] = wall.lengths(chain);
            Limit {
                name: &format!("{name} flat against where it lies"),
                unit: "mm",
                limit: format!("the same within {LENGTH_LOSS} mm"),
                reason: "a pattern maker lays a ruler on both",
                mark: Mark::CommonPractice,
                place: name,
            }
            .held(flat - lies, (flat - lies).abs() <= LENGTH_LOSS)
        })
        .collect();
    let [_, lies, flat] = wall.lengths(&wall.free_edge);
    let gape = Limit {
        name: "top edge flat against where it lies",
        unit: "mm",
        limit: "not longer".into(),
        reason: "a longer one would gape",
        mark: Mark::CommonPractice,
        place: "top edge",
    };
    all.push(gape.held(flat - lies, flat <= lies));
    all.push(smooth(piece));
    all
}

/// A line pressed together can keep its length by running in zigzag, which no ruler would
/// accept: 1 % is where a line held by force begins to do so.
fn smooth(piece: &Stiffener) -> Check {
    let value = piece.wall.zigzag;
    Limit {
        name: "ripple in the lines that keep their lengths",
        unit: "%",
        limit: "under 1 %".into(),
        reason: "a line must keep its length by lying smooth",
        mark: Mark::Measured,
        place: "feather line, centre back and top edge",
    }
    .held(value, value < 1.0)
}

fn margin(piece: &Stiffener) -> Vec<Check> {
    let margin = &piece.margin;
    let vees = margin.vees.iter().map(|v| v.clearance);
    let slits = margin.slits.iter().map(|s| s.clearance);
    let points = vees.chain(slits).fold(f64::INFINITY, f64::min);
    let nicks = piece.nicks.iter().map(|n| n.clearance).fold(f64::INFINITY, f64::min);
    let clear = |name: &str, value: f64| {
        let value = if value.is_finite() { value } else { margin.widths.net };
        Limit {
            name,
            unit: "mm",
            limit: format!("{POINT_CLEARANCE:.0} mm or more inside the insole edge"),
            reason: "a cut that comes nearer opens at the edge of the shoe",
            mark: Mark::CommonPractice,
            place: "lasting margin",
        }
        .held(value, value >= POINT_CLEARANCE - 1e-6)
    };
    let (tongue, least) = margin.narrowest_tongue();
    let tongues = Limit {
        name: "narrowest tongue between two V's",
        unit: "mm",
        limit: format!("{least:.0} mm or more"),
        reason: "a narrower one tears off, and V's may not overlap",
        mark: Mark::CommonPractice,
        place: "lasting margin",
    };
    let mut all = vec![clear("points of V's and slits", points), clear("points of nicks", nicks)];
    if tongue.is_finite() {
        all.push(tongues.held(tongue, tongue >= least));
    }
    all
}

/// What nineteen twentieths of the piece must change by on the last, against what the material
/// gives. More is no mistake of the piece, but a warning about the heel: verdict open.
fn stretch(piece: &Stiffener) -> Check {
    let kind = piece.brief.kind;
    let most = kind.material().map_or(f64::INFINITY, |material| material.stretch);
    let words = match kind {
        Kind::Leather => format!("{most} %: leather in its loose direction, wet"),
        Kind::Fibreboard => format!("{most} %: board, damp"),
        Kind::Thermoplastic => format!("{most} %: sheet, hot"),
        Kind::Moulded => "no limit: moulded to shape".into(),
    };
    let value = piece.wall.strain.p95;
    let limit = Limit {
        name: "change of length on the last, all but a twentieth of the piece",
        unit: "%",
        limit: words,
        reason: "the bulge of the heel must come out of the material; beyond its limit pull it over in stages, wetter or hotter, and try one piece first",
        mark: Mark::CommonPractice,
        place: "bulge of the heel",
    };
    limit.verdict(value, if value <= most { Verdict::Pass } else { Verdict::Unsure })
}

/// The sharpest turn of the free edge over a stroke of the knife: a barb or a step shows here.
fn corners(piece: &Stiffener) -> Check {
    /// Length over which a turn is measured, mm: what a knife follows in one stroke.
    const STROKE: f64 = 3.0;
    /// The rounded corner of a low wing turns by about as much over one stroke, degrees.
    const SHARPEST: f64 = 60.0;
    let mut stations: Vec<DVec2> = Vec::new();
    for p in piece.wall.flat_line(&piece.wall.free_edge) {
        if stations.last().is_none_or(|last| last.distance(p) >= STROKE) {
            stations.push(p);
        }
    }
    let turn = |w: &[DVec2]| (w[1] - w[0]).angle_to(w[2] - w[1]).abs().to_degrees();
    let value = stations.windows(3).map(turn).fold(0.0, f64::max);
    Limit {
        name: "sharpest turn of the top edge and the wing ends",
        unit: "degrees",
        limit: format!("{SHARPEST:.0} degrees or less over {STROKE:.0} mm"),
        reason: "a knife follows a smooth edge; a barb or a step rubs and tears",
        mark: Mark::CommonPractice,
        place: "top edge",
    }
    .held(value, value <= SHARPEST)
}

fn sound(piece: &Stiffener) -> Check {
    let (flipped, overlaps) = piece.wall.faults;
    Limit {
        name: "folds and crossings of the flat piece",
        unit: "count",
        limit: "none".into(),
        reason: "a piece that overlaps itself cannot be cut",
        mark: Mark::Measured,
        place: "flat piece",
    }
    .held((flipped + overlaps) as f64, flipped + overlaps == 0)
}
