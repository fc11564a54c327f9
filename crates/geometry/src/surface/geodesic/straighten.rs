//! Pulls a path taut on the surface, until no small change makes it shorter.

use std::f64::consts::PI;

use super::strip::{Bend, Strip, Taut};
use super::unfold::{angle_around, on_rim};
use super::{Geodesic, GeodesicError};
use crate::mesh::adjacency::Side;
use crate::surface::{Surface, SurfacePath, SurfacePoint};

/// An angle must be this much smaller than a straight one, radians, before the path is led round
/// the vertex on the other side: the gain would be rounding.
const STRAIGHT: f64 = 1e-9;

/// Every step makes the path shorter, so that it ends; this stops what rounding could keep going.
const MOST_STEPS: usize = 100_000;

/// The path pulled taut: it keeps its ends and stays on the same side of holes and handles, and
/// no small change makes it shorter. Straight across triangles, it bends only at vertices with at
/// least 180 degrees on both sides.
///
/// In each strip of triangles the shortest path is found exactly, then led round the vertices it
/// bends at on the other side where that is shorter (S.-Q. Xin and G.-J. Wang 2007). The result is
/// *locally* shortest, as with edge flips (N. Sharp and K. Crane 2020): a shorter path may exist
/// elsewhere.
///
/// # Errors
/// When the path is closed or has no points, or neighbours on it share no triangle.
pub fn straighten(surface: &Surface<'_>, path: &SurfacePath) -> Result<Geodesic, GeodesicError> {
    if path.closed {
        return Err(GeodesicError::Closed);
    }
    let mut strip = along(surface, &path.points)?;
    strip.tidy(surface);
    let mut taut = strip.taut(surface);
    for _ in 0..MOST_STEPS {
        let Some(bend) = sharpest(surface, &taut) else { break };
        let Some(mut other) = around(surface, &strip, bend) else { break };
        other.tidy(surface);
        let shorter = other.taut(surface);
        if shorter.length >= taut.length {
            break;
        }
        (strip, taut) = (other, shorter);
    }
    let path = SurfacePath { points: taut.points, closed: false };
    Ok(Geodesic { length: path.length(surface.mesh), path })
}

/// The bend with the least angle on the side away from the strip, if that is below 180 degrees.
fn sharpest<'t>(surface: &Surface<'_>, taut: &'t Taut) -> Option<&'t Bend> {
    let angle = |bend: &Bend| angle_around(surface, bend.vertex) - bend.angle;
    taut.bends
        .iter()
        .filter(|bend| !on_rim(surface, bend.vertex))
        .map(|bend| (angle(bend), bend))
        .filter(|(angle, _)| *angle < PI - STRAIGHT)
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, bend)| bend)
}

/// The strip led round the vertex of a bend on the other side.
fn around(surface: &Surface<'_>, strip: &Strip, bend: &Bend) -> Option<Strip> {
    let (first, last) = (*bend.sides.start(), *bend.sides.end());
    let from = strip.before(first);
    // The side of `from` that is crossed now; the other way leaves by its other side at the vertex.
    let crossed = surface.adjacency().across(strip.sides[first])?.k;
    let fan = turn(surface, bend.vertex, Side { face: from, k: crossed }, strip.sides[last].face)?;
    let mut sides = strip.sides[..first].to_vec();
    sides.extend(fan);
    sides.extend(&strip.sides[last + 1..]);
    Some(Strip { sides, ..strip.clone() })
}

/// The sides by which triangles are entered on the way round `vertex`, from the triangle of
/// `from` away from that side, to the triangle `to`. `None` when the surface ends between.
fn turn(surface: &Surface<'_>, vertex: u32, from: Side, to: u32) -> Option<Vec<Side>> {
    let mut entered = Vec::new();
    let mut at = from;
    while at.face != to || entered.is_empty() {
        let t = surface.mesh.triangles[at.face as usize];
        let corner = t.iter().position(|v| *v == vertex)? as u8;
        let other = if at.k == corner { (corner + 2) % 3 } else { corner };
        at = surface.adjacency().across(Side { face: at.face, k: other })?;
        entered.push(at);
        if entered.len() > surface.faces_around(vertex).len() {
            return None;
        }
    }
    Some(entered)
}

/// The strip that a path runs through.
fn along(surface: &Surface<'_>, points: &[SurfacePoint]) -> Result<Strip, GeodesicError> {
    let (Some(start), Some(end)) = (points.first(), points.last()) else {
        return Err(GeodesicError::NoPoints);
    };
    let faces: Option<Vec<u32>> =
        points.windows(2).map(|pair| surface.common_face(&pair[0], &pair[1])).collect();
    let faces = faces.ok_or_else(|| {
        let apart = points.windows(2).position(|p| surface.common_face(&p[0], &p[1]).is_none());
        GeodesicError::Apart(apart.unwrap_or(0))
    })?;
    let first = match faces.first() {
        Some(face) => *face,
        None => *surface.faces_at(start).first().ok_or(GeodesicError::NoPoints)?,
    };
    let mut sides = Vec::new();
    for (i, pair) in faces.windows(2).enumerate() {
        if pair[0] != pair[1] {
            let link = link(surface, &points[i + 1], pair[0], pair[1]);
            sides.extend(link.ok_or(GeodesicError::Apart(i))?);
        }
    }
    Ok(Strip { start: *start, end: *end, first, sides })
}

/// The sides entered on the way from one triangle at `point` to another.
fn link(surface: &Surface<'_>, point: &SurfacePoint, from: u32, to: u32) -> Option<Vec<Side>> {
    let sides = (0..3_u8).map(|k| Side { face: from, k });
    match *point {
        SurfacePoint::Vertex(vertex) => {
            // Both ways round the vertex; the one over fewer triangles.
            let at_vertex = |side: &Side| {
                let t = surface.mesh.triangles[side.face as usize];
                t[side.k as usize] == vertex || t[(side.k as usize + 1) % 3] == vertex
            };
            sides
                .filter(at_vertex)
                .filter_map(|side| turn(surface, vertex, side, to))
                .min_by_key(Vec::len)
        }
        SurfacePoint::Edge { .. } => sides
            .filter_map(|side| surface.adjacency().across(side))
            .find(|other| other.face == to)
            .map(|other| vec![other]),
        SurfacePoint::Face { .. } => None,
    }
}
