//! Lines at a fixed distance from a line, measured along the surface.

use std::collections::{BTreeMap, BTreeSet};

use glam::DVec3;

use super::geodesic::{Distances, LEFT, RIGHT};
use super::walk::barycentric;
use super::{ImprintError, Surface, SurfacePath, SurfacePoint, imprint};
use crate::mesh::TriMesh;
use crate::mesh::adjacency::AdjacencyError;

/// A side of a line, as one walks along it with the surface's outside up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Flank {
    /// On the left.
    Left,
    /// On the right.
    Right,
}

/// Why there is no parallel line.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ParallelError {
    /// The distance is no length.
    #[error("a line at {0} mm from another was asked for; give a distance above zero")]
    Distance(f64),
    /// The surface ends, or folds back, before the distance is reached.
    #[error("no place of the surface on that side lies {0:.1} mm from the line")]
    Nowhere(f64),
    /// The line crosses itself or is no path on the surface.
    #[error(transparent)]
    Imprint(#[from] ImprintError),
    /// The surface is not sound.
    #[error(transparent)]
    Surface(#[from] AdjacencyError),
}

/// Points lie exactly at the distance; the straight pieces between them stray from it by no more
/// than this and a quarter, mm: far below what a knife follows.
const STRAY: f64 = 0.002;

/// A piece that cuts off a corner, where a line is trimmed, is halved up to so many times.
const CORNER_HALVINGS: u32 = 4;

/// No piece is shorter than this share of the distance.
const FINEST: f64 = 0.02;

/// The lines at `distance` mm from `line`, along the surface and on one side of it: every point
/// lies at that distance from the nearest point of the line. They run the same way as the line.
///
/// Round an outward bend of the line they follow an arc about it (a round join); in a hollow
/// tighter than the distance they are trimmed where they would cross themselves. Where that parts
/// them, or the other side of a hollow comes near, there are several lines, and a line may close.
/// Beside an end of an open line inside the surface they end square to it; where the line ends at
/// the surface's edge, so do they.
///
/// # Errors
/// When the line crosses itself, or nothing on that side lies so far from it.
pub fn parallel(
    surface: &Surface<'_>,
    line: &SurfacePath,
    distance: f64,
    flank: Flank,
) -> Result<Vec<SurfacePath>, ParallelError> {
    if !(distance.is_finite() && distance > 0.0) {
        return Err(ParallelError::Distance(distance));
    }
    let cut = imprint(surface, std::slice::from_ref(line))?;
    let fine = Surface::new(&cut.mesh)?;
    // A chord of an arc of this radius strays by its square over eight times the radius.
    let longest = (8.0 * distance * STRAY).sqrt().max(FINEST * distance);
    let reach = distance + 3.0 * longest;
    let chain = &cut.paths[0];
    let distances = Distances::from_chain(&fine, chain, line.closed, reach);
    let mut level = Level {
        mesh: &cut.mesh,
        distances: &distances,
        distance,
        longest,
        reach,
        known: BTreeMap::new(),
        nodes: BTreeMap::new(),
        next: BTreeMap::new(),
        with_low_on_right: flank == Flank::Left,
    };
    for face in 0..cut.mesh.triangles.len() as u32 {
        if distances.touches(face) {
            level.whole(face);
        }
    }
    let label = if flank == Flank::Left { LEFT } else { RIGHT };
    let on_old = |node: &Node| {
        let parent = cut.parents[node.face as usize];
        let corners = cut.mesh.triangles[node.face as usize];
        let mut weights = [0.0; 3];
        for (v, share) in corners.into_iter().zip(node.weights) {
            let origin = surface.weights_in(parent, &cut.origins[v as usize]).unwrap_or_default();
            weights = [0, 1, 2].map(|k| weights[k] + share * origin[k]);
        }
        SurfacePoint::in_face(surface.mesh, parent, weights, 1e-12)
    };
    let lines: Vec<SurfacePath> = level
        .lines()
        .iter()
        .flat_map(|(nodes, closed)| level.beside(nodes, *closed, label))
        .map(|(nodes, closed)| {
            let mut points: Vec<SurfacePoint> = nodes.iter().map(&on_old).collect();
            points.dedup();
            SurfacePath { points: thinned(surface, &points), closed }
        })
        .filter(|line| line.points.len() > 1)
        .collect();
    if lines.is_empty() { Err(ParallelError::Nowhere(distance)) } else { Ok(lines) }
}

/// The points without those that lie inside a triangle on a nearly straight piece.
fn thinned(surface: &Surface<'_>, points: &[SurfacePoint]) -> Vec<SurfacePoint> {
    let places: Vec<DVec3> = points.iter().map(|p| p.position(surface.mesh)).collect();
    let off = |i: usize, from: usize, to: usize| {
        let chord = (places[to] - places[from]).normalize_or_zero();
        let arm = places[i] - places[from];
        arm.distance(chord * arm.dot(chord))
    };
    let mut kept = Vec::new();
    let mut from = 0;
    while from < points.len() {
        kept.push(points[from]);
        let spans = |to: usize| {
            surface.common_face(&points[from], &points[to]).is_some()
                && (from + 1..to).all(|i| off(i, from, to) <= STRAY / 4.0)
        };
        from = (from + 2..points.len()).take_while(|to| spans(*to)).last().unwrap_or(from + 1);
    }
    kept
}

/// A place as its exact bits: two triangles that halve a side of theirs get the same one.
type Key = [u64; 3];

/// A place where a small triangle's side is at the distance: named by the ends of that side.
type NodeKey = [Key; 2];

/// A place in a triangle of the imprinted mesh.
#[derive(Debug, Clone, Copy)]
struct Corner {
    weights: [f64; 3],
    place: DVec3,
    distance: f64,
}

#[derive(Debug, Clone, Copy)]
struct Node {
    face: u32,
    weights: [f64; 3],
    place: DVec3,
    label: u8,
}

/// Collects the places at the distance: triangles are halved until their sides are short or they
/// lie clear of it, then crossed from side to side.
struct Level<'d> {
    mesh: &'d TriMesh,
    distances: &'d Distances<'d, 'd>,
    distance: f64,
    longest: f64,
    reach: f64,
    known: BTreeMap<Key, f64>,
    nodes: BTreeMap<NodeKey, Node>,
    next: BTreeMap<NodeKey, NodeKey>,
    with_low_on_right: bool,
}

fn key(place: DVec3) -> Key {
    // Zero has two signs.
    place.to_array().map(|c| (c + 0.0).to_bits())
}

impl Level<'_> {
    fn corner(&mut self, face: u32, weights: [f64; 3], place: DVec3) -> Corner {
        let reach = self.reach;
        let distances = self.distances;
        let distance = *self.known.entry(key(place)).or_insert_with(|| {
            distances.labelled(face, weights).map_or(reach, |(distance, _)| distance.min(reach))
        });
        Corner { weights, place, distance }
    }

    fn whole(&mut self, face: u32) {
        let places = self.mesh.corners(face);
        let units = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
        let corners = [0, 1, 2].map(|k| self.corner(face, units[k], places[k]));
        let mut waiting = vec![corners];
        while let Some(corners) = waiting.pop() {
            let side = |k: usize| corners[k].place.distance(corners[(k + 1) % 3].place);
            let sides = [0, 1, 2].map(side);
            let longest = sides.into_iter().fold(0.0, f64::max);
            // Along a straight line the distance changes no faster than the place.
            let clear = |c: &Corner| (c.distance - self.distance).abs() > longest;
            if corners.iter().any(clear) {
                continue;
            }
            let Some(k) = (0..3).find(|k| sides[*k] == longest) else { continue };
            if longest <= self.longest {
                self.cross(face, corners);
                continue;
            }
            // The side decides by its own length, so that its two triangles agree.
            let [a, b, c] = [0, 1, 2].map(|i| corners[(k + i) % 3]);
            let half = [0, 1, 2].map(|i| (a.weights[i] + b.weights[i]) / 2.0);
            let middle = self.corner(face, half, (a.place + b.place) / 2.0);
            waiting.push([a, middle, c]);
            waiting.push([middle, b, c]);
        }
    }

    /// Takes the line across a small triangle.
    fn cross(&mut self, face: u32, corners: [Corner; 3]) {
        let low = corners.map(|c| c.distance < self.distance);
        let Some(k) = (0..3).find(|k| low[*k] != low[(k + 1) % 3] && low[*k] != low[(k + 2) % 3])
        else {
            return;
        };
        let [a, b, c] = [0, 1, 2].map(|i| corners[(k + i) % 3]);
        let (first, second) = (self.node(face, a, b), self.node(face, a, c));
        // From the first to the second, the lone corner lies on the left.
        let lone_on_right = low[k] == self.with_low_on_right;
        let (from, to) = if lone_on_right { (second, first) } else { (first, second) };
        self.join(face, from, to, CORNER_HALVINGS);
    }

    /// Joins two places by a straight piece or, where that cuts off a corner of the line, by pieces
    /// over a place between them.
    fn join(&mut self, face: u32, from: NodeKey, to: NodeKey, halvings: u32) {
        let ends = [self.nodes[&from].place, self.nodes[&to].place];
        let middle = (ends[0] + ends[1]) / 2.0;
        let corners = self.mesh.corners(face);
        let across = (corners[1] - corners[0])
            .cross(corners[2] - corners[0])
            .cross(ends[1] - ends[0])
            .normalize_or_zero();
        let at = |by: f64| {
            let weights = barycentric(corners, middle + across * by);
            let inside = weights.iter().all(|w| *w > 0.0);
            let found = inside.then(|| self.distances.labelled(face, weights)).flatten();
            found.map(|(distance, label)| (distance - self.distance, label, weights))
        };
        let off = at(0.0).map_or(0.0, |here| here.0);
        if halvings == 0 || off.abs() <= STRAY {
            self.next.insert(from, to);
            return;
        }
        // No place changes its distance faster than it moves; a corner may lie further off.
        let node = [1.5, -1.5, 4.0, -4.0].into_iter().find_map(|times| {
            let far = times * off.abs();
            let beyond = at(far).filter(|beyond| (beyond.0 > 0.0) != (off > 0.0))?;
            let by = far * root(|t| at(far * t).map_or(off, |here| here.0), off, beyond.0);
            at(by).map(|(_, label, weights)| Node {
                face,
                weights,
                place: middle + across * by,
                label,
            })
        });
        let Some(node) = node else {
            self.next.insert(from, to);
            return;
        };
        let name = [key(node.place), key(node.place)];
        self.nodes.insert(name, node);
        self.join(face, from, name, halvings - 1);
        self.join(face, name, to, halvings - 1);
    }

    /// The place between two corners that lies at the distance.
    fn node(&mut self, face: u32, a: Corner, b: Corner) -> NodeKey {
        let (a, b) = if key(a.place) < key(b.place) { (a, b) } else { (b, a) };
        let name = [key(a.place), key(b.place)];
        if self.nodes.contains_key(&name) {
            return name;
        }
        let weights_at =
            |t: f64| [0, 1, 2].map(|i| a.weights[i] + (b.weights[i] - a.weights[i]) * t);
        let off = |t: f64| {
            let found = self.distances.labelled(face, weights_at(t));
            found.map_or(self.reach, |(distance, _)| distance) - self.distance
        };
        let share = root(off, a.distance - self.distance, b.distance - self.distance);
        let weights = weights_at(share);
        let label = self.distances.labelled(face, weights).map_or(0, |(_, label)| label);
        let place = a.place.lerp(b.place, share);
        self.nodes.insert(name, Node { face, weights, place, label });
        name
    }

    /// The lines as nodes, each with whether it closes.
    fn lines(&self) -> Vec<(Vec<Node>, bool)> {
        let ends: BTreeSet<&NodeKey> = self.next.values().collect();
        let starts = self.next.keys().filter(|k| !ends.contains(k));
        let mut done: BTreeSet<NodeKey> = BTreeSet::new();
        let mut lines = Vec::new();
        for start in starts.chain(self.next.keys()) {
            if done.contains(start) {
                continue;
            }
            let mut nodes = Vec::new();
            let mut at = Some(*start);
            while let Some(name) = at {
                if !done.insert(name) {
                    break;
                }
                nodes.push(self.nodes[&name]);
                at = self.next.get(&name).copied();
            }
            lines.push((nodes, at == Some(*start)));
        }
        lines
    }

    /// The parts of a line that lie beside the drawn one on the side of `label`.
    fn beside(&self, nodes: &[Node], closed: bool, label: u8) -> Vec<(Vec<Node>, bool)> {
        if nodes.iter().all(|node| node.label == label) {
            return vec![(nodes.to_vec(), closed)];
        }
        let n = nodes.len();
        // Begin where a part begins, so that none is torn at the seam of a closed line.
        let seam = (0..n).find(|i| nodes[*i].label != label).unwrap_or(0);
        let turned: Vec<Node> =
            if closed { (0..=n).map(|i| nodes[(seam + i) % n]).collect() } else { nodes.to_vec() };
        let mut parts = Vec::new();
        let mut part: Vec<Node> = Vec::new();
        for (i, node) in turned.iter().enumerate() {
            let before = i.checked_sub(1).map(|i| turned[i]);
            match (before, node.label == label) {
                (Some(before), true) if before.label != label => {
                    part.extend(self.edge(&before, node, label));
                    part.push(*node);
                }
                (_, true) => part.push(*node),
                (Some(before), false) if before.label == label => {
                    part.extend(self.edge(node, &before, label));
                    parts.push((std::mem::take(&mut part), false));
                }
                _ => {}
            }
        }
        if !part.is_empty() {
            parts.push((part, false));
        }
        parts
    }

    /// The last place with the label on the way from a node that has it back to one that has not.
    fn edge(&self, outside: &Node, inside: &Node, label: u8) -> Option<Node> {
        // Both nodes lie on sides of one small triangle; either's triangle may be the neighbour.
        let in_face = |node: &Node, face: u32| {
            if node.face == face {
                return Some(node.weights);
            }
            let weights = super::walk::barycentric(self.mesh.corners(face), node.place);
            weights.iter().all(|w| *w > -1e-9).then_some(weights)
        };
        let (face, from, to) = [inside.face, outside.face]
            .into_iter()
            .find_map(|face| Some((face, in_face(outside, face)?, in_face(inside, face)?)))?;
        let weights_at = |t: f64| [0, 1, 2].map(|i| (from[i] + (to[i] - from[i]) * t).max(0.0));
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..30 {
            let middle = (low + high) / 2.0;
            let found = self.distances.labelled(face, weights_at(middle));
            if found.is_some_and(|(_, l)| l == label) { high = middle } else { low = middle }
        }
        let place = outside.place.lerp(inside.place, high);
        Some(Node { face, weights: weights_at(high), place, label })
    }
}

/// The root of `f` between 0 and 1, whose values there have different signs (regula falsi in the
/// Illinois form, M. Dowell and P. Jarratt 1971).
fn root(f: impl Fn(f64) -> f64, at_0: f64, at_1: f64) -> f64 {
    let (mut low, mut high) = ((0.0, at_0), (1.0, at_1));
    let mut last = 0;
    for _ in 0..60 {
        let t = (low.0 * high.1 - high.0 * low.1) / (high.1 - low.1);
        let t = if t.is_finite() { t.clamp(0.0, 1.0) } else { (low.0 + high.0) / 2.0 };
        let value = f(t);
        if value.abs() < 1e-11 || high.0 - low.0 < 1e-13 {
            return t;
        }
        if (value < 0.0) == (low.1 < 0.0) {
            low = (t, value);
            if last == -1 {
                high.1 /= 2.0;
            }
            last = -1;
        } else {
            high = (t, value);
            if last == 1 {
                low.1 /= 2.0;
            }
            last = 1;
        }
    }
    (low.0 + high.0) / 2.0
}
