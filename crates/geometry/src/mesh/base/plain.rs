//! Bodies that only something to stand on has the form of: plates, blocks, rods and cones.

use glam::DVec3;

use super::moments::Moments;
use super::planes::large_planes;
use super::reach::Reach;
use super::{Plane, span};
use crate::mesh::TriMesh;

/// A plate has this share of its area in one or two parallel planes, within this share of its
/// span on either side (noise and bending), and is no thicker than this share of its span.
const PLATE_AREA: f64 = 0.8;
const PLATE_BAND: f64 = 0.005;
const PLATE_THICK: f64 = 0.15;

/// Sections of a plain form change evenly from one end to the other, but for this share of the
/// span. A last's differ by more than ten times that, along any line.
const EVEN: f64 = 0.025;

/// Where sections are looked at, as shares of the way from end to end.
const SECTIONS: [f64; 9] = [0.06, 0.17, 0.28, 0.39, 0.5, 0.61, 0.72, 0.83, 0.94];

/// What a body looks like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Form {
    /// Nearly all of it lies in one plane or two parallel ones.
    Plate,
    /// A block, rod or cone: its sections along some line are the same or change evenly.
    Plain,
    /// Anything else.
    Other,
}

/// What `body` looks like, and its span.
pub(crate) fn form(body: &TriMesh) -> (Form, f64) {
    let span = span(&body.positions);
    if !(span > 0.0 && span.is_finite()) {
        return (Form::Plate, 0.0);
    }
    let around = body.positions[0];
    let mut sum = Moments::default();
    for face in 0..body.triangles.len() as u32 {
        sum.add(&Moments::of_triangle(body.corners(face).map(|p| p - around)));
    }
    let origin = around + sum.middle();
    let axes = sum.axes().0;
    let planes = large_planes(body, span, PLATE_BAND * span);
    let across = axes.into_iter().map(|normal| Plane { origin, normal });
    let tried: Vec<Plane> = across.chain(planes).collect();
    if tried.iter().any(|plane| is_plate(body, *plane, span)) {
        (Form::Plate, span)
    } else if tried.iter().any(|plane| is_even(body, *plane, span)) {
        (Form::Plain, span)
    } else {
        (Form::Other, span)
    }
}

fn is_plate(body: &TriMesh, plane: Plane, span: f64) -> bool {
    let (low, high) = extent(body, plane);
    if high - low > PLATE_THICK * span {
        return false;
    }
    let band = PLATE_BAND * span;
    let mut layers: Vec<(f64, f64)> = (0..body.triangles.len() as u32)
        .map(|face| {
            let middle = body.corners(face).iter().sum::<DVec3>() / 3.0;
            (plane.height(middle), body.area_vector(face).length() / 2.0)
        })
        .collect();
    layers.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let total: f64 = layers.iter().map(|(_, area)| area).sum();
    let first = fullest(&mut layers, band);
    let second = fullest(&mut layers, band);
    first + second >= PLATE_AREA * total
}

/// The most area within `band` of one height; it is taken out.
fn fullest(layers: &mut Vec<(f64, f64)>, band: f64) -> f64 {
    let (mut best, mut best_at) = (0.0, 0..0);
    let (mut sum, mut from) = (0.0, 0);
    for to in 0..layers.len() {
        sum += layers[to].1;
        while layers[to].0 - layers[from].0 > 2.0 * band {
            sum -= layers[from].1;
            from += 1;
        }
        if sum > best {
            (best, best_at) = (sum, from..to + 1);
        }
    }
    layers.drain(best_at);
    best
}

fn is_even(body: &TriMesh, plane: Plane, span: f64) -> bool {
    let (low, high) = extent(body, plane);
    let mut reaches = SECTIONS.map(|share| {
        let height = low + share * (high - low);
        (height, Reach::new(Plane { origin: plane.origin, ..plane }))
    });
    for face in 0..body.triangles.len() as u32 {
        let corners = body.corners(face);
        let heights = corners.map(|p| plane.height(p));
        let lowest = heights.iter().copied().fold(f64::INFINITY, f64::min);
        let highest = heights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        for (height, reach) in &mut reaches {
            if lowest > *height || highest <= *height {
                continue;
            }
            for (a, b) in [(0, 1), (1, 2), (2, 0)] {
                let (ha, hb) = (heights[a] - *height, heights[b] - *height);
                if (ha < 0.0) != (hb < 0.0) {
                    reach.add(corners[a].lerp(corners[b], ha / (ha - hb)));
                }
            }
        }
    }
    let [(_, first), .., (_, last)] = &reaches;
    if reaches.iter().any(|(_, reach)| reach.is_empty()) {
        return false;
    }
    let whole = SECTIONS[SECTIONS.len() - 1] - SECTIONS[0];
    reaches.iter().zip(SECTIONS).all(|((_, reach), share)| {
        let along = (share - SECTIONS[0]) / whole;
        let expected = first.farthest.iter().zip(last.farthest).map(|(a, b)| a + (b - a) * along);
        reach.farthest.iter().zip(expected).all(|(is, even)| (is - even).abs() <= EVEN * span)
    })
}

fn extent(body: &TriMesh, plane: Plane) -> (f64, f64) {
    let heights = body.positions.iter().map(|p| plane.height(*p));
    heights.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), h| (low.min(h), high.max(h)))
}
