//! Exact distances over a triangulated surface, from points or from a line.
//!
//! Windows are sent across the triangles, the nearest first, as in the continuous Dijkstra method
//! (J. Mitchell, D. Mount and C. Papadimitriou 1987), with the pruning of J. Chen and Y. Han
//! (1990: of two windows that see a corner through one side, only the nearer goes on to both
//! sides of it) and of S.-Q. Xin and G.-J. Wang (2009: a window overtaken through the ends of its
//! side ends). Windows may overlap; a distance is the least of all that see a place. A line sends
//! windows of parallel rays, its corners sends those of points.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};
use std::f64::consts::PI;

use glam::{DVec2, DVec3};

use super::queue::Distance;
use super::strip::Strip;
use super::unfold::{Laid, angle_around, lay, on_rim};
use super::window::{Rays, Window};
use crate::mesh::adjacency::Side;
use crate::surface::{Surface, SurfacePath, SurfacePoint};

/// Vertices with nearly a full turn around them, radians, are bent round too: rounding must not
/// hide them.
const NEARLY: f64 = 1e-7;

/// Two windows this near in distance, as a share of it, both go on past a corner.
const SAME: f64 = 1e-10;

/// Stands for no window.
const NONE: u32 = u32::MAX;

/// How a place was reached last.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Arrival {
    /// It is a source, or lies in the triangle of source `0`.
    Straight(u32),
    /// From a vertex, in a triangle that both belong to.
    Past(u32),
    /// By a window.
    Window(u32),
}

/// Where windows come from: a source, or a vertex that paths bend round.
#[derive(Debug, Clone, Copy)]
struct Root {
    at: SurfacePoint,
    label: u8,
}

#[derive(Debug, Clone, Copy)]
struct AtVertex {
    distance: f64,
    arrival: Arrival,
    label: u8,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Event {
    Vertex(u32),
    Window(u32),
}

/// Limits of the search.
#[derive(Debug, Clone, Copy)]
pub(super) struct Limit {
    /// Farther places are not looked for, mm.
    pub(super) reach: f64,
    /// Only what may lie on a way to this place that is no longer than the reach.
    pub(super) goal: Option<DVec3>,
}

/// The distance of every place of a surface from its nearest source, exact but for rounding, up
/// to a reach.
#[derive(Debug, Clone)]
pub struct Distances<'s, 'm> {
    surface: &'s Surface<'m>,
    limit: Limit,
    sources: Vec<Root>,
    /// The label of a vertex of a chain in each triangle around it.
    flanks: BTreeMap<(u32, u32), u8>,
    roots: Vec<Root>,
    vertices: Vec<Option<AtVertex>>,
    /// Bent round: more than a full turn around it, or on the rim with more than half of one.
    wide: Vec<Option<bool>>,
    windows: Vec<Window>,
    /// The windows of each side, as lists: the first one, and the one after each.
    first: Vec<u32>,
    after: Vec<u32>,
    /// For each side, the nearest window that sees the far corner: its distance, and where.
    nearest: Vec<[f64; 2]>,
    queue: BinaryHeap<Reverse<(Distance, Event)>>,
}

impl<'s, 'm> Distances<'s, 'm> {
    /// Distances from the nearest of `sources`, up to `reach` mm.
    pub fn from_points(surface: &'s Surface<'m>, sources: &[SurfacePoint], reach: f64) -> Self {
        Self::limited(surface, sources, Limit { reach, goal: None })
    }

    pub(super) fn limited(
        surface: &'s Surface<'m>,
        sources: &[SurfacePoint],
        limit: Limit,
    ) -> Self {
        let mut distances = Self::empty(surface, limit);
        for point in sources {
            distances.add_point(*point);
        }
        distances.run();
        distances
    }

    /// Distances from a chain of edges, up to `reach` mm. What is reached from its left is
    /// labelled [`LEFT`], from its right [`RIGHT`], and from an end inside the surface 0.
    pub(in crate::surface) fn from_chain(
        surface: &'s Surface<'m>,
        chain: &[u32],
        closed: bool,
        reach: f64,
    ) -> Self {
        let mut distances = Self::empty(surface, Limit { reach, goal: None });
        distances.add_chain(chain, closed);
        distances.run();
        distances
    }

    fn empty(surface: &'s Surface<'m>, limit: Limit) -> Self {
        let (vertices, faces) = (surface.mesh.positions.len(), surface.mesh.triangles.len());
        Self {
            surface,
            limit,
            sources: Vec::new(),
            flanks: BTreeMap::new(),
            roots: Vec::new(),
            vertices: vec![None; vertices],
            wide: vec![None; vertices],
            windows: Vec::new(),
            first: vec![NONE; 3 * faces],
            after: Vec::new(),
            nearest: vec![[f64::INFINITY, 0.0]; 3 * faces],
            queue: BinaryHeap::new(),
        }
    }

    /// The distance of a point, mm; `None` beyond the reach.
    pub fn at(&self, point: &SurfacePoint) -> Option<f64> {
        self.reached(point).map(|(distance, _)| distance)
    }

    /// A shortest path from the nearest source to a point; `None` beyond the reach.
    pub fn path_to(&self, point: &SurfacePoint) -> Option<SurfacePath> {
        let (_, mut arrival) = self.reached(point)?;
        let mut points = vec![*point];
        let mut at = *point;
        loop {
            let from = match arrival {
                Arrival::Straight(source) => {
                    points.push(self.sources[source as usize].at);
                    break;
                }
                Arrival::Past(v) => SurfacePoint::Vertex(v),
                Arrival::Window(last) => {
                    let root = self.roots[self.windows[last as usize].root as usize];
                    let back = self.strip(last, root.at, at).taut(self.surface).points;
                    points.extend(back.iter().rev().skip(1));
                    if self.sources.iter().any(|s| s.at == root.at) {
                        break;
                    }
                    root.at
                }
            };
            points.push(from);
            let SurfacePoint::Vertex(v) = from else { break };
            arrival = self.vertices[v as usize]?.arrival;
            at = from;
            if arrival == Arrival::Past(v) {
                return None;
            }
        }
        points.dedup();
        points.reverse();
        Some(SurfacePath { points, closed: false })
    }

    fn strip(&self, last: u32, start: SurfacePoint, end: SurfacePoint) -> Strip {
        let mut sides = Vec::new();
        let mut window = Some(last);
        while let Some(w) = window {
            sides.push(self.windows[w as usize].side);
            window = self.windows[w as usize].parent;
        }
        sides.reverse();
        let before = sides.first().and_then(|side| self.surface.adjacency().across(*side));
        let first = before.map_or(0, |side| side.face);
        let mut strip = Strip { start, end, first, sides };
        strip.tidy(self.surface);
        strip
    }

    fn reached(&self, point: &SurfacePoint) -> Option<(f64, Arrival)> {
        if let SurfacePoint::Vertex(v) = *point {
            return self.vertices[v as usize]
                .filter(|at| at.distance <= self.limit.reach)
                .map(|at| (at.distance, at.arrival));
        }
        let faces = self.surface.faces_at(point);
        faces
            .into_iter()
            .filter_map(|face| {
                let weights = self.surface.weights_in(face, point)?;
                self.in_face(face, weights).map(|(distance, arrival, _)| (distance, arrival))
            })
            .filter(|(distance, _)| *distance <= self.limit.reach)
            .min_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// Whether anything within reach came into a triangle or to a corner of it.
    pub(in crate::surface) fn touches(&self, face: u32) -> bool {
        let corners = self.surface.mesh.triangles[face as usize];
        let reached = |v: u32| self.vertices[v as usize].map(|at| at.distance);
        corners.into_iter().filter_map(reached).any(|distance| distance <= self.limit.reach)
            || (0..3).any(|k| self.first[3 * face as usize + k] != NONE)
    }

    /// Distance and label of a place in a triangle; `None` where nothing came near.
    pub(in crate::surface) fn labelled(&self, face: u32, weights: [f64; 3]) -> Option<(f64, u8)> {
        self.in_face(face, weights).map(|(distance, _, label)| (distance, label))
    }

    fn in_face(&self, face: u32, weights: [f64; 3]) -> Option<(f64, Arrival, u8)> {
        let mesh = self.surface.mesh;
        let corners = mesh.corners(face);
        let place = corners[0] * weights[0] + corners[1] * weights[1] + corners[2] * weights[2];
        let mut best: Option<(f64, Arrival, u8)> = None;
        let take = |best: &mut Option<(f64, Arrival, u8)>, found: (f64, Arrival, u8)| {
            if best.is_none_or(|(least, ..)| found.0 < least) {
                *best = Some(found);
            }
        };
        for (number, source) in self.sources.iter().enumerate() {
            let in_it = |point: &SurfacePoint| self.surface.weights_in(face, point).is_some();
            if !matches!(source.at, SurfacePoint::Vertex(_)) && in_it(&source.at) {
                let distance = source.at.position(mesh).distance(place);
                take(&mut best, (distance, Arrival::Straight(number as u32), source.label));
            }
        }
        for (k, v) in mesh.triangles[face as usize].into_iter().enumerate() {
            if let Some(at) = self.vertices[v as usize] {
                let label = self.flanks.get(&(v, face)).copied().unwrap_or(at.label);
                let distance = at.distance + corners[k].distance(place);
                take(&mut best, (distance, Arrival::Past(v), label));
            }
        }
        for k in 0..3_u8 {
            let mut w = self.first[3 * face as usize + k as usize];
            if w == NONE {
                continue;
            }
            let laid = lay(mesh, Side { face, k });
            let [_, along, up] = [0, 1, 2].map(|i| weights[(k as usize + i) % 3]);
            let flat = DVec2::new(along * laid.length, 0.0) + laid.apex * up;
            while w != NONE {
                let window = &self.windows[w as usize];
                let (distance, straight) = window.distance(flat);
                // Round the end of a window a place is reached as well from what is seen there.
                if straight || best.is_none_or(|(least, ..)| distance < least * (1.0 - SAME)) {
                    let label = self.roots[window.root as usize].label;
                    take(&mut best, (distance, Arrival::Window(w), label));
                }
                w = self.after[w as usize];
            }
        }
        best
    }

    fn add_point(&mut self, at: SurfacePoint) {
        let source = self.sources.len() as u32;
        self.sources.push(Root { at, label: 0 });
        if let SurfacePoint::Vertex(v) = at {
            // A source sends windows whatever the angle around it.
            self.wide[v as usize] = Some(true);
            self.offer(v, AtVertex { distance: 0.0, arrival: Arrival::Straight(source), label: 0 });
            return;
        }
        let root = self.roots.len() as u32;
        self.roots.push(Root { at, label: 0 });
        let mesh = self.surface.mesh;
        let place = at.position(mesh);
        for face in self.surface.faces_at(&at) {
            let Some(weights) = self.surface.weights_in(face, &at) else { continue };
            for (k, v) in mesh.triangles[face as usize].into_iter().enumerate() {
                let distance = mesh.positions[v as usize].distance(place);
                let arrival = Arrival::Straight(source);
                self.offer(v, AtVertex { distance, arrival, label: 0 });
                // Out by the side across from the corner, unless the source lies on it.
                if weights[k] > 0.0 {
                    let side = Side { face, k: ((k + 1) % 3) as u8 };
                    self.send(side, root, 0.0, |laid| {
                        // In the frame of the side, whose corners weigh so much in the source.
                        let along = weights[(k + 2) % 3] * laid.length + weights[k] * laid.apex.x;
                        DVec2::new(along, weights[k] * laid.apex.y)
                    });
                }
            }
        }
    }

    fn add_chain(&mut self, chain: &[u32], closed: bool) {
        let mesh = self.surface.mesh;
        let n = chain.len();
        let count = if closed { n } else { n.saturating_sub(1) };
        let sides: BTreeMap<[u32; 2], Side> = chain
            .iter()
            .flat_map(|v| self.surface.faces_around(*v))
            .flat_map(|face| (0..3_u8).map(move |k| Side { face: *face, k }))
            .map(|side| {
                let t = mesh.triangles[side.face as usize];
                ([t[side.k as usize], t[(side.k as usize + 1) % 3]], side)
            })
            .collect();
        for i in 0..count {
            let (a, b) = (chain[i], chain[(i + 1) % n]);
            for (ends, label) in [([a, b], LEFT), ([b, a], RIGHT)] {
                let Some(side) = sides.get(&ends) else { continue };
                let root = self.roots.len() as u32;
                self.roots.push(Root { at: SurfacePoint::Vertex(a), label });
                let length = lay(mesh, *side).length;
                self.push(Window {
                    side: *side,
                    part: [0.0, length],
                    rays: Rays::Square(DVec2::Y, 0.0),
                    before: 0.0,
                    parent: None,
                    root,
                });
            }
        }
        for i in 0..n {
            let source = self.sources.len() as u32;
            let v = chain[i];
            self.sources.push(Root { at: SurfacePoint::Vertex(v), label: 0 });
            let arrival = Arrival::Straight(source);
            self.vertices[v as usize] = Some(AtVertex { distance: 0.0, arrival, label: 0 });
            self.wide[v as usize] = Some(true);
            let (before, next) = (chain[(i + n - 1) % n], chain[(i + 1) % n]);
            let (comes, goes) = (closed || i > 0, closed || i + 1 < n);
            // The side to the left of the way in, or that of the way out.
            let left = match (comes, goes) {
                (true, true) => self.fan_from(v, sides.get(&[before, v]), Some(next), true),
                (true, false) => self.fan_from(v, sides.get(&[before, v]), None, true),
                _ => self.fan_from(v, sides.get(&[v, next]), None, false),
            };
            // Round an end inside the surface one comes from left to right.
            let inner = comes && goes;
            let free_end = !inner && !on_rim(self.surface, v);
            for face in self.surface.faces_around(v) {
                let label = match left.contains(face) {
                    _ if free_end => 0,
                    true => LEFT,
                    false => RIGHT,
                };
                self.flanks.insert((v, *face), label);
                self.fan(v, *face, label);
            }
        }
    }

    /// The triangles around `v` from that of `side` on, which `v` is the end of when going
    /// `clockwise`, else the start of; up to the edge to `last`, or the rim.
    fn fan_from(
        &self,
        v: u32,
        side: Option<&Side>,
        last: Option<u32>,
        clockwise: bool,
    ) -> Vec<u32> {
        let mut fan = Vec::new();
        let mut side = side.copied();
        while let Some(Side { face, k }) = side {
            if fan.contains(&face) {
                break;
            }
            fan.push(face);
            let t = self.surface.mesh.triangles[face as usize];
            let onward = Side { face, k: (k + if clockwise { 1 } else { 2 }) % 3 };
            let ends = [t[onward.k as usize], t[(onward.k as usize + 1) % 3]];
            debug_assert!(ends.contains(&v), "the fan turns about its vertex");
            if last.is_some_and(|last| ends.contains(&last)) {
                break;
            }
            side = self.surface.adjacency().across(onward);
        }
        fan
    }

    /// A shorter distance of a vertex, if it is one.
    fn offer(&mut self, v: u32, at: AtVertex) {
        let slot = &mut self.vertices[v as usize];
        if slot.is_none_or(|old| at.distance < old.distance) {
            *slot = Some(at);
            if self.is_wide(v) {
                self.queue.push(Reverse((Distance(at.distance), Event::Vertex(v))));
            }
        }
    }

    fn is_wide(&mut self, v: u32) -> bool {
        let surface = self.surface;
        *self.wide[v as usize].get_or_insert_with(|| {
            let straight = if on_rim(surface, v) { PI } else { 2.0 * PI };
            angle_around(surface, v) > straight - NEARLY
        })
    }

    fn run(&mut self) {
        while let Some(Reverse((Distance(least), event))) = self.queue.pop() {
            if least > self.limit.reach {
                break;
            }
            match event {
                Event::Vertex(v) => {
                    let at = self.vertices[v as usize];
                    let Some(at) = at.filter(|at| at.distance == least) else { continue };
                    if self.too_far(at.distance, self.surface.mesh.positions[v as usize]) {
                        continue;
                    }
                    for face in self.surface.faces_around(v) {
                        self.fan(v, *face, at.label);
                    }
                }
                Event::Window(w) => self.advance(w),
            }
        }
        self.queue = BinaryHeap::new();
    }

    fn too_far(&self, distance: f64, place: DVec3) -> bool {
        self.limit.goal.is_some_and(|goal| distance + place.distance(goal) > self.limit.reach)
    }

    /// Sends a window out of `face` from its corner `v`, and offers their distances to the two
    /// others.
    fn fan(&mut self, v: u32, face: u32, label: u8) {
        let mesh = self.surface.mesh;
        let t = mesh.triangles[face as usize];
        let Some(corner) = t.iter().position(|c| *c == v) else { return };
        let Some(before) = self.vertices[v as usize].map(|at| at.distance) else { return };
        for w in [t[(corner + 1) % 3], t[(corner + 2) % 3]] {
            let edge = mesh.positions[v as usize].distance(mesh.positions[w as usize]);
            let arrival = Arrival::Past(v);
            self.offer(w, AtVertex { distance: before + edge, arrival, label });
        }
        let root = self.roots.len() as u32;
        self.roots.push(Root { at: SurfacePoint::Vertex(v), label });
        let side = Side { face, k: ((corner + 1) % 3) as u8 };
        self.send(side, root, before, |laid| laid.apex);
    }

    /// Sends a window out of a triangle by the whole of `side`, from a source in the triangle.
    fn send(&mut self, side: Side, root: u32, before: f64, source: impl Fn(Laid) -> DVec2) {
        let Some(other) = self.surface.adjacency().across(side) else { return };
        let laid = lay(self.surface.mesh, side);
        let place = source(laid);
        // The neighbour runs along the side the other way.
        let rays = Rays::From(DVec2::new(laid.length - place.x, -place.y));
        let part = [0.0, laid.length];
        self.push(Window { side: other, part, rays, before, parent: None, root });
    }

    fn overtaken(&self, window: &Window) -> bool {
        let t = self.surface.mesh.triangles[window.side.face as usize];
        let k = window.side.k as usize;
        let ends = [t[k], t[(k + 1) % 3]];
        let reached = |v: u32| self.vertices[v as usize].map_or(f64::INFINITY, |at| at.distance);
        let place = |v: u32| self.surface.mesh.positions[v as usize];
        window.overtaken(place(ends[0]).distance(place(ends[1])), ends.map(reached))
    }

    /// Puts a window in the queue, unless it is of no use.
    fn push(&mut self, window: Window) {
        let least = window.least();
        if least > self.limit.reach || self.overtaken(&window) {
            return;
        }
        if let Some(goal) = self.limit.goal {
            let mesh = self.surface.mesh;
            let corners = mesh.corners(window.side.face);
            let k = window.side.k as usize;
            let (a, b) = (corners[k], corners[(k + 1) % 3]);
            let along = (b - a).normalize_or_zero();
            let nearest = a + along * along.dot(goal - a).clamp(window.part[0], window.part[1]);
            if self.too_far(least, nearest) {
                return;
            }
        }
        let number = self.windows.len() as u32;
        self.windows.push(window);
        self.after.push(NONE);
        self.queue.push(Reverse((Distance(least), Event::Window(number))));
    }

    /// Takes a window across its triangle.
    fn advance(&mut self, number: u32) {
        let window = self.windows[number as usize];
        // The first windows of a chain lie along it: its vertices do not overtake them.
        if self.overtaken(&window) {
            return;
        }
        let mesh = self.surface.mesh;
        let Side { face, k } = window.side;
        let slot = 3 * face as usize + k as usize;
        self.after[number as usize] = self.first[slot];
        self.first[slot] = number;

        let laid = lay(mesh, window.side);
        let mut seen = window.seen(laid);
        if let Some(entry) = seen.corner {
            let (distance, _) = window.distance(laid.apex);
            let [least, winner] = self.nearest[slot];
            if distance < least {
                self.nearest[slot] = [distance, entry];
            } else if distance > least * (1.0 + SAME) {
                // The nearer one's ray to the corner stops what lies beyond it.
                if entry < winner {
                    seen.right = None;
                } else {
                    seen.left = None;
                }
            }
            let label = self.roots[window.root as usize].label;
            let far = mesh.triangles[face as usize][(k as usize + 2) % 3];
            self.offer(far, AtVertex { distance, arrival: Arrival::Window(number), label });
        }
        let far = DVec2::new(laid.length, 0.0);
        let left = (Side { face, k: (k + 2) % 3 }, DVec2::ZERO, laid.apex, seen.left);
        let right = (Side { face, k: (k + 1) % 3 }, laid.apex, far, seen.right);
        for (side, from, to, part) in [left, right] {
            let Some(part) = part else { continue };
            let Some(other) = self.surface.adjacency().across(side) else { continue };
            let along = (to - from).normalize_or(DVec2::X);
            let rays = window.rays.seen_from(from, along);
            self.push(Window { side: other, part, rays, parent: Some(number), ..window });
        }
    }
}

/// Labels of what is reached from the left and from the right of a chain.
pub(in crate::surface) const LEFT: u8 = 1;
pub(in crate::surface) const RIGHT: u8 = 2;
