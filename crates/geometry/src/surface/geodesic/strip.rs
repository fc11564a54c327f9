//! Strips of triangles, and the shortest path within one.
//!
//! The strip is laid flat and the path pulled taut in it by the funnel algorithm (Lee and
//! Preparata 1984): straight pieces between the corners that it bends round.

use std::ops::RangeInclusive;

use glam::DVec2;

use super::unfold::{apex_on, lay};
use crate::mesh::adjacency::Side;
use crate::surface::{Surface, SurfacePoint};

/// Triangles from one point to another, each entered across a side that it shares with the one
/// before.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Strip {
    pub(super) start: SurfacePoint,
    pub(super) end: SurfacePoint,
    /// The triangle of the start.
    pub(super) first: u32,
    /// The side of each further triangle by which it is entered.
    pub(super) sides: Vec<Side>,
}

/// A corner of the strip that the taut path bends round.
#[derive(Debug, Clone)]
pub(super) struct Bend {
    pub(super) vertex: u32,
    /// The sides of the strip that end at the vertex.
    pub(super) sides: RangeInclusive<usize>,
    /// Angle of the path on the side where the strip lies, radians.
    pub(super) angle: f64,
}

/// The shortest path in a strip.
#[derive(Debug, Clone)]
pub(super) struct Taut {
    /// Points on the sides crossed and corners touched, with start and end.
    pub(super) points: Vec<SurfacePoint>,
    pub(super) bends: Vec<Bend>,
    /// Length, mm.
    pub(super) length: f64,
}

impl Strip {
    /// The triangle before side `i`.
    pub(super) fn before(&self, i: usize) -> u32 {
        if i == 0 { self.first } else { self.sides[i - 1].face }
    }

    fn ends(&self, surface: &Surface<'_>, i: usize) -> [u32; 2] {
        let Side { face, k } = self.sides[i];
        let t = surface.mesh.triangles[face as usize];
        [t[k as usize], t[(k as usize + 1) % 3]]
    }

    /// Leaves out what leads nowhere: a triangle entered and left by the same side, and sides
    /// that the start or the end lie on.
    pub(super) fn tidy(&mut self, surface: &Surface<'_>) {
        let mut kept: Vec<Side> = Vec::with_capacity(self.sides.len());
        for side in &self.sides {
            match kept.last() {
                Some(before) if surface.adjacency().across(*side) == Some(*before) => {
                    kept.pop();
                }
                _ => kept.push(*side),
            }
        }
        self.sides = kept;
        while !self.sides.is_empty() && lies_on(&self.end, self.ends(surface, self.sides.len() - 1))
        {
            self.sides.pop();
        }
        let count = (0..self.sides.len())
            .take_while(|i| lies_on(&self.start, self.ends(surface, *i)))
            .count();
        if count > 0 {
            self.first = self.sides[count - 1].face;
            self.sides.drain(..count);
        }
    }

    /// Lays the strip flat: the places of start and end, and of the two ends of each side, left
    /// and right as one walks.
    fn laid(&self, surface: &Surface<'_>) -> (DVec2, Vec<[DVec2; 2]>, DVec2) {
        let mesh = surface.mesh;
        let base = lay(mesh, Side { face: self.first, k: 0 });
        let mut corners = [DVec2::ZERO, DVec2::new(base.length, 0.0), base.apex];
        let mut face = self.first;
        let place = |face: u32, corners: &[DVec2; 3], point: &SurfacePoint| {
            let w = surface.weights_in(face, point).unwrap_or([1.0 / 3.0; 3]);
            corners[0] * w[0] + corners[1] * w[1] + corners[2] * w[2]
        };
        let start = place(face, &corners, &self.start);
        let mut portals = Vec::with_capacity(self.sides.len());
        for (i, side) in self.sides.iter().enumerate() {
            let t = mesh.triangles[face as usize];
            let [left, right] =
                self.ends(surface, i).map(|v| corners[t.iter().position(|c| *c == v).unwrap_or(0)]);
            portals.push([left, right]);
            let k = side.k as usize;
            corners[k] = left;
            corners[(k + 1) % 3] = right;
            corners[(k + 2) % 3] = apex_on(lay(mesh, *side), left, right);
            face = side.face;
        }
        (start, portals, place(face, &corners, &self.end))
    }

    /// The shortest path within the strip.
    pub(super) fn taut(&self, surface: &Surface<'_>) -> Taut {
        let (start, portals, end) = self.laid(surface);
        let turns = funnel(start, &portals, end, |i| self.ends(surface, i));
        let mut points = vec![self.start];
        let mut bends = Vec::with_capacity(turns.len());
        let (mut at, mut next, mut length) = (start, 0, 0.0);
        for (number, turn) in turns.iter().enumerate() {
            self.cross(surface, (at, turn.place), &portals, next..*turn.sides.start(), &mut points);
            points.push(SurfacePoint::Vertex(turn.vertex));
            let onward = turns.get(number + 1).map_or(end, |t| t.place);
            bends.push(Bend {
                vertex: turn.vertex,
                sides: turn.sides.clone(),
                angle: self.angle(surface, &portals, turn, at, onward),
            });
            length += at.distance(turn.place);
            (at, next) = (turn.place, turn.sides.end() + 1);
        }
        self.cross(surface, (at, end), &portals, next..self.sides.len(), &mut points);
        points.push(self.end);
        points.dedup();
        Taut { points, bends, length: length + at.distance(end) }
    }

    /// The points where a straight piece crosses some of the sides.
    fn cross(
        &self,
        surface: &Surface<'_>,
        (from, to): (DVec2, DVec2),
        portals: &[[DVec2; 2]],
        sides: std::ops::Range<usize>,
        points: &mut Vec<SurfacePoint>,
    ) {
        for i in sides {
            let [left, right] = portals[i];
            let (along, across) = (to - from, right - left);
            let share = (from - left).perp_dot(along) / across.perp_dot(along);
            let share = if share.is_finite() { share.clamp(0.0, 1.0) } else { 0.5 };
            let [a, b] = self.ends(surface, i);
            points.push(SurfacePoint::on_edge(a, b, share, ON_CORNER));
        }
    }

    /// The angle at a turn, on the side of the strip, for a path that comes from `from` and
    /// goes on to `to`.
    fn angle(
        &self,
        surface: &Surface<'_>,
        portals: &[[DVec2; 2]],
        turn: &Turn,
        from: DVec2,
        to: DVec2,
    ) -> f64 {
        let (first, last) = (*turn.sides.start(), *turn.sides.end());
        let other = |i: usize| portals[i][usize::from(turn.left)];
        let between = |p: DVec2, q: DVec2| {
            let (u, v) = (p - turn.place, q - turn.place);
            u.perp_dot(v).abs().atan2(u.dot(v))
        };
        let mut sum = between(from, other(first)) + between(other(last), to);
        for side in &self.sides[first..last] {
            let t = surface.mesh.triangles[side.face as usize];
            let corner = t.iter().position(|v| *v == turn.vertex).unwrap_or(0);
            sum += super::unfold::corner_angle(surface.mesh, side.face, corner);
        }
        sum
    }
}

/// Crossings nearer to the end of a side than this share are at the end: rounding.
const ON_CORNER: f64 = 1e-12;

/// Whether a point lies on the edge between two vertices.
fn lies_on(point: &SurfacePoint, [a, b]: [u32; 2]) -> bool {
    match *point {
        SurfacePoint::Vertex(v) => v == a || v == b,
        SurfacePoint::Edge { ends, .. } => ends == [a.min(b), a.max(b)],
        SurfacePoint::Face { .. } => false,
    }
}

#[derive(Debug, Clone)]
struct Turn {
    vertex: u32,
    place: DVec2,
    left: bool,
    sides: RangeInclusive<usize>,
}

/// The corners that the shortest way through `portals` (left and right ends) bends round.
fn funnel(
    start: DVec2,
    portals: &[[DVec2; 2]],
    end: DVec2,
    ends: impl Fn(usize) -> [u32; 2],
) -> Vec<Turn> {
    let mut turns: Vec<Turn> = Vec::new();
    let (mut apex, mut next) = (start, 0);
    'legs: while next < portals.len() {
        let [mut left, mut right] = portals[next];
        let (mut at_left, mut at_right) = (next, next);
        for i in next + 1..=portals.len() {
            let [l, r] = if i < portals.len() { portals[i] } else { [end, end] };
            let (to_left, to_right) = (left - apex, right - apex);
            let crossed = if to_right.perp_dot(r - apex) >= 0.0 {
                if to_left.perp_dot(r - apex) > 0.0 {
                    Some((true, at_left, left))
                } else {
                    (right, at_right) = (r, i);
                    None
                }
            } else {
                None
            };
            let to_right = right - apex;
            let crossed = crossed.or_else(|| {
                if to_left.perp_dot(l - apex) > 0.0 {
                    return None;
                }
                // The end itself may just have become the right side.
                if to_right.perp_dot(l - apex) < 0.0 {
                    return Some((false, at_right, right));
                }
                (left, at_left) = (l, i);
                None
            });
            let Some((on_left, at, place)) = crossed else { continue };
            let vertex = ends(at)[usize::from(!on_left)];
            let first = (next..=at).rev().take_while(|i| ends(*i).contains(&vertex)).last();
            let last = (at..portals.len()).take_while(|i| ends(*i).contains(&vertex)).last();
            let sides = first.unwrap_or(at)..=last.unwrap_or(at);
            next = sides.end() + 1;
            apex = place;
            turns.push(Turn { vertex, place, left: on_left, sides });
            continue 'legs;
        }
        break;
    }
    turns
}
