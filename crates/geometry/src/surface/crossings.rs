//! Finds where paths cross each other or themselves, and gives both a point there.

use std::collections::BTreeMap;

use super::imprint::{EDGE_STEPS, on_steps};
use super::{Surface, SurfacePath, SurfacePoint};

/// A place in a triangle, in whole steps along its first and last side: sums and products of
/// these are exact.
type Place = [i64; 2];

/// A piece of a path in a triangle: path, its number on the path, ends.
#[derive(Debug, Clone, Copy)]
struct Segment {
    path: usize,
    index: usize,
    from: Place,
    to: Place,
}

/// Rounding a crossing to whole steps bends both lines by a millionth of the triangle, which can
/// bring about another crossing beside it. More rounds than this were never seen to be needed.
const ROUNDS: usize = 12;

/// The same paths with a common point wherever two of them cross or touch, or one crosses or
/// touches itself inside a triangle. Points are rounded as for `imprint`. Neighbours that share
/// no triangle are left for `imprint` to refuse.
///
/// # Errors
/// With the triangle where crossings could not be resolved: lines lie over each other there.
pub(super) fn with_crossings(
    surface: &Surface<'_>,
    paths: &[SurfacePath],
) -> Result<Vec<SurfacePath>, u32> {
    let mut paths: Vec<SurfacePath> = paths.to_vec();
    for path in &mut paths {
        path.points = path.points.iter().map(on_steps).collect();
        tidy(path);
    }
    let mut left = 0;
    for _ in 0..ROUNDS {
        let mut added: BTreeMap<(usize, usize), Vec<SurfacePoint>> = BTreeMap::new();
        for (face, segments) in &segments(surface, &paths) {
            for (i, one) in segments.iter().enumerate() {
                for other in &segments[i + 1..] {
                    for (segment, place) in meetings(one, other) {
                        let point = from_steps(surface, *face, place);
                        added.entry((segment.path, segment.index)).or_default().push(point);
                        left = *face;
                    }
                }
            }
        }
        if added.is_empty() {
            return Ok(paths);
        }
        for (number, path) in paths.iter_mut().enumerate() {
            insert(surface, path, number, &added);
        }
    }
    Err(left)
}

/// Removes points that repeat the one before them.
fn tidy(path: &mut SurfacePath) {
    path.points.dedup();
    while path.closed && path.points.len() > 1 && path.points.first() == path.points.last() {
        path.points.pop();
    }
}

/// By triangle, the segments that run through its inside.
fn segments(surface: &Surface<'_>, paths: &[SurfacePath]) -> BTreeMap<u32, Vec<Segment>> {
    let mut by_face: BTreeMap<u32, Vec<Segment>> = BTreeMap::new();
    for (path, line) in paths.iter().enumerate() {
        let n = line.points.len();
        let count = if line.closed { n } else { n.saturating_sub(1) };
        for index in 0..count {
            let (p, q) = (line.points[index], line.points[(index + 1) % n]);
            if along_an_edge(surface, &p, &q) {
                continue;
            }
            let Some(face) = surface.common_face(&p, &q) else { continue };
            let [from, to] = [p, q].map(|point| to_steps(surface, face, &point));
            by_face.entry(face).or_default().push(Segment { path, index, from, to });
        }
    }
    by_face
}

/// Both ends lie on one edge, which two triangles may share.
fn along_an_edge(surface: &Surface<'_>, p: &SurfacePoint, q: &SurfacePoint) -> bool {
    let on = |point: &SurfacePoint, a: u32, b: u32| match *point {
        SurfacePoint::Vertex(v) => v == a || v == b,
        SurfacePoint::Edge { ends, .. } => ends == [a.min(b), a.max(b)],
        SurfacePoint::Face { .. } => false,
    };
    let Some(face) = surface.common_face(p, q) else { return false };
    let t = surface.mesh.triangles[face as usize];
    (0..3).any(|k| on(p, t[k], t[(k + 1) % 3]) && on(q, t[k], t[(k + 1) % 3]))
}

fn to_steps(surface: &Surface<'_>, face: u32, point: &SurfacePoint) -> Place {
    let [_, b, c] = surface.weights_in(face, point).unwrap_or([1.0, 0.0, 0.0]);
    [b, c].map(|w| (w * EDGE_STEPS).round() as i64)
}

fn from_steps(surface: &Surface<'_>, face: u32, [b, c]: Place) -> SurfacePoint {
    let whole = EDGE_STEPS as i64;
    let weights = [whole - b - c, b, c].map(|w| w as f64 / EDGE_STEPS);
    on_steps(&SurfacePoint::in_face(surface.mesh, face, weights, 0.0))
}

/// Twice the area of the triangle: above zero when it runs counter-clockwise.
fn turn(a: Place, b: Place, c: Place) -> i64 {
    (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
}

/// Where each of the two needs a point that it does not have yet.
fn meetings(one: &Segment, other: &Segment) -> Vec<(Segment, Place)> {
    let (a, b, c, d) = (one.from, one.to, other.from, other.to);
    let [side_c, side_d, side_a, side_b] =
        [turn(a, b, c), turn(a, b, d), turn(c, d, a), turn(c, d, b)];
    let mut found = Vec::new();
    // An end of one on the other: with a turn of zero it is within the box of its ends.
    let touches = |line: &Segment, place: Place, turn: i64| {
        let inside = |k: usize| {
            place[k] >= line.from[k].min(line.to[k]) && place[k] <= line.from[k].max(line.to[k])
        };
        turn == 0 && inside(0) && inside(1) && place != line.from && place != line.to
    };
    for (line, place, turn) in
        [(one, c, side_c), (one, d, side_d), (other, a, side_a), (other, b, side_b)]
    {
        if touches(line, place, turn) {
            found.push((*line, place));
        }
    }
    if side_c.signum() * side_d.signum() < 0 && side_a.signum() * side_b.signum() < 0 {
        let share = side_a as f64 / (side_a - side_b) as f64;
        let at = |k: usize| a[k] + ((b[k] - a[k]) as f64 * share).round() as i64;
        let place = [at(0), at(1)];
        found.extend([one, other].map(|line| (*line, place)));
        found.retain(|(line, place)| *place != line.from && *place != line.to);
    }
    found
}

/// Puts the points added to a path's segments in, in their order along it.
fn insert(
    surface: &Surface<'_>,
    path: &mut SurfacePath,
    number: usize,
    added: &BTreeMap<(usize, usize), Vec<SurfacePoint>>,
) {
    let mut points = Vec::with_capacity(path.points.len() + added.len());
    for (index, point) in path.points.iter().enumerate() {
        points.push(*point);
        let Some(new) = added.get(&(number, index)) else { continue };
        let from = point.position(surface.mesh);
        let mut new: Vec<(f64, SurfacePoint)> =
            new.iter().map(|p| (p.position(surface.mesh).distance(from), *p)).collect();
        new.sort_by(|a, b| a.0.total_cmp(&b.0));
        points.extend(new.into_iter().map(|(_, p)| p));
    }
    path.points = points;
    tidy(path);
}
