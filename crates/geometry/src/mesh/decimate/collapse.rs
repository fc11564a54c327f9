//! Collapses edges, cheapest first, as long as the surface stays near.

use glam::DVec3;

use super::quadric::Quadric;
use super::queue::{Edge, Queue};
use crate::mesh::TriMesh;
use crate::mesh::edges::{edge_uses, edges};

/// How much a plane square to the surface through a boundary edge weighs against the triangle
/// there: enough to keep the boundary when it costs little to move it.
const BOUNDARY: f64 = 10.0;

/// The least cosine between the normals of a triangle before and after: 75 degrees of turning is
/// on the way to turning over.
const LEAST_TURN: f64 = 0.25;

/// The least shape of a new triangle (1 for equal sides, 0 for a line), unless it was worse
/// before. Thinner ones cannot be worked with.
const LEAST_SHAPE: f64 = 0.05;

struct Collapsing {
    positions: Vec<DVec3>,
    triangles: Vec<[u32; 3]>,
    gone: Vec<bool>,
    /// The triangles around each vertex.
    around: Vec<Vec<u32>>,
    quadrics: Vec<Quadric>,
    /// How far the surface around each vertex may be from the original.
    off: Vec<f64>,
    on_boundary: Vec<bool>,
    moves: Vec<u32>,
    queue: Queue,
    limit: f64,
    /// Triangles that are left.
    left: usize,
}

/// The mesh with edges collapsed while each place stays within about `limit` of the original,
/// until `enough` triangles or fewer are left.
pub(super) fn collapse(mesh: &TriMesh, limit: f64, enough: usize) -> TriMesh {
    let mut work = Collapsing::new(mesh, limit);
    for uses in edges(&edge_uses(mesh)) {
        work.enter(uses[0].ends, uses.len() == 1);
    }
    while work.left > enough
        && let Some(edge) = work.queue.pop()
    {
        if work.moves_of(edge.ends) == edge.moves {
            work.try_collapse(edge.ends);
        }
    }
    work.finish()
}

impl Collapsing {
    fn new(mesh: &TriMesh, limit: f64) -> Self {
        let n = mesh.positions.len();
        let mut around: Vec<Vec<u32>> = vec![Vec::new(); n];
        let mut quadrics = vec![Quadric::NONE; n];
        for (face, t) in (0..).zip(&mesh.triangles) {
            let twice = mesh.area_vector(face);
            // A plane through the vertex itself: the quadric is about that vertex.
            let plane = Quadric::plane(twice.normalize_or_zero(), twice.length() / 6.0);
            for v in t {
                around[*v as usize].push(face);
                quadrics[*v as usize] = quadrics[*v as usize].plus(&plane);
            }
        }
        let mut on_boundary = vec![false; n];
        for uses in edges(&edge_uses(mesh)).filter(|uses| uses.len() == 1) {
            let ends = uses[0].ends;
            let along = mesh.positions[ends[1] as usize] - mesh.positions[ends[0] as usize];
            let square = along.cross(mesh.area_vector(uses[0].face)).normalize_or_zero();
            let plane = Quadric::plane(square, BOUNDARY * along.length_squared() / 6.0);
            for v in ends {
                on_boundary[v as usize] = true;
                quadrics[v as usize] = quadrics[v as usize].plus(&plane);
            }
        }
        Self {
            positions: mesh.positions.clone(),
            triangles: mesh.triangles.clone(),
            gone: vec![false; mesh.triangles.len()],
            around,
            quadrics,
            off: vec![0.0; n],
            on_boundary,
            moves: vec![0; n],
            queue: Queue::new(),
            left: mesh.triangles.len(),
            limit,
        }
    }

    /// How often the ends have moved. No end can move back, so the sum tells whether any has.
    fn moves_of(&self, ends: [u32; 2]) -> u32 {
        self.moves[ends[0] as usize] + self.moves[ends[1] as usize]
    }

    /// Puts the edge into the queue, unless it must not or cannot be collapsed.
    fn enter(&mut self, ends: [u32; 2], is_boundary_edge: bool) {
        if let Some((cost, _)) = self.best(ends, is_boundary_edge) {
            self.queue.push(cost, Edge { ends, moves: self.moves_of(ends) });
        }
    }

    /// The cost of collapsing the edge, and the best place for it, or `None` where it must not
    /// be collapsed or cannot be near enough.
    fn best(&self, ends: [u32; 2], is_boundary_edge: bool) -> Option<(f64, DVec3)> {
        let [a, b] = ends.map(|v| v as usize);
        let [pa, pb] = [self.positions[a], self.positions[b]];
        let middle = pa.midpoint(pb);
        let sum = self.quadrics[a].moved(middle - pa).plus(&self.quadrics[b].moved(middle - pb));
        let places = match (self.on_boundary[a], self.on_boundary[b]) {
            // Would pinch the surface to a point.
            (true, true) if !is_boundary_edge => return None,
            (true, false) => [Some(pa - middle), None, None],
            (false, true) => [Some(pb - middle), None, None],
            _ => [Some(pa - middle), Some(pb - middle), sum.lowest()],
        };
        let reach = pa.distance(pb);
        let best = places
            .into_iter()
            .flatten()
            .filter(|p| p.length() <= reach)
            .map(|p| (sum.at(p), p))
            .min_by(|one, other| one.0.total_cmp(&other.0))?;
        let (cost, place) = best;
        // The mean distance already is too large.
        if cost > self.limit * self.limit * sum.weight {
            return None;
        }
        // Where nothing is lost, short edges first: they leave better triangles.
        let cost = cost + 1e-9 * self.limit.min(reach).powi(2) * reach * reach;
        Some((cost, middle + place))
    }

    fn try_collapse(&mut self, ends: [u32; 2]) {
        let [a, b] = ends;
        let removed: Vec<u32> = self.shared(a, b);
        let Some((_, place)) = self.best(ends, removed.len() == 1) else { return };
        if !self.stays_manifold(a, b, &removed) {
            return;
        }
        let off = self.off[a as usize].max(self.off[b as usize]) + self.distance(a, b, place);
        if off > self.limit || !self.keeps_shape(a, b, place) || !self.keeps_shape(b, a, place) {
            return;
        }
        self.join(a, b, place, &removed);
        self.off[a as usize] = off;
        for v in self.neighbours(a) {
            let is_boundary_edge = self.shared(a, v).len() == 1;
            let ends = [a.min(v), a.max(v)];
            self.enter(ends, is_boundary_edge);
        }
    }

    /// The triangles along the edge.
    fn shared(&self, a: u32, b: u32) -> Vec<u32> {
        let around = self.around[a as usize].iter().copied();
        around.filter(|f| self.triangles[*f as usize].contains(&b)).collect()
    }

    fn neighbours(&self, v: u32) -> Vec<u32> {
        let around = self.around[v as usize].iter();
        let mut ring: Vec<u32> =
            around.flat_map(|f| self.triangles[*f as usize]).filter(|other| *other != v).collect();
        ring.sort_unstable();
        ring.dedup();
        ring
    }

    /// The link condition, and that no two sides of the same triangle would fall together.
    fn stays_manifold(&self, a: u32, b: u32, removed: &[u32]) -> bool {
        let others = self.neighbours(b);
        let common = self.neighbours(a).iter().filter(|v| others.binary_search(v).is_ok()).count();
        if removed.is_empty() || common != removed.len() {
            return false;
        }
        removed.iter().all(|f| {
            let third = self.triangles[*f as usize].into_iter().find(|v| *v != a && *v != b);
            third.is_some_and(|c| {
                let inner = !self.on_boundary[c as usize];
                let least = if inner { 4 } else { 2 };
                self.around[c as usize].len() >= least
            })
        })
    }

    /// How far `place` is from the triangles and boundary edges around the edge.
    fn distance(&self, a: u32, b: u32, place: DVec3) -> f64 {
        let mut largest = 0.0_f64;
        for v in [a, b] {
            for f in &self.around[v as usize] {
                let [p, q, r] = self.triangles[*f as usize].map(|v| self.positions[v as usize]);
                let normal = (q - p).cross(r - p).normalize_or_zero();
                largest = largest.max(normal.dot(place - self.positions[v as usize]).abs());
            }
            if self.on_boundary[v as usize] {
                for other in self.neighbours(v) {
                    if self.on_boundary[other as usize] && self.shared(v, other).len() == 1 {
                        let from = self.positions[v as usize];
                        let along = (self.positions[other as usize] - from).normalize_or_zero();
                        largest = largest.max((place - from).cross(along).length());
                    }
                }
            }
        }
        largest
    }

    /// Whether the triangles that keep `moving` and not `other` neither turn over nor get thin.
    fn keeps_shape(&self, moving: u32, other: u32, place: DVec3) -> bool {
        self.around[moving as usize].iter().all(|f| {
            let t = self.triangles[*f as usize];
            if t.contains(&other) {
                return true;
            }
            let before = t.map(|v| self.positions[v as usize]);
            let after = t.map(|v| if v == moving { place } else { self.positions[v as usize] });
            let [(n, shape), (m, new_shape)] = [before, after].map(normal_and_shape);
            let turned = n.dot(m) < LEAST_TURN * n.length() * m.length();
            !(turned || new_shape < LEAST_SHAPE && new_shape < shape)
        })
    }

    fn join(&mut self, a: u32, b: u32, place: DVec3, removed: &[u32]) {
        self.left -= removed.len();
        for f in removed {
            self.gone[*f as usize] = true;
            for v in self.triangles[*f as usize] {
                self.around[v as usize].retain(|g| g != f);
            }
        }
        let moved = std::mem::take(&mut self.around[b as usize]);
        for f in &moved {
            for v in &mut self.triangles[*f as usize] {
                if *v == b {
                    *v = a;
                }
            }
        }
        let (a, b) = (a as usize, b as usize);
        self.around[a].extend(moved);
        self.quadrics[a] = self.quadrics[a]
            .moved(place - self.positions[a])
            .plus(&self.quadrics[b].moved(place - self.positions[b]));
        self.positions[a] = place;
        self.on_boundary[a] |= self.on_boundary[b];
        self.moves[a] += 1;
        self.moves[b] += 1;
    }

    /// What is left, in the order it had.
    fn finish(self) -> TriMesh {
        let mut mesh = TriMesh::default();
        let mut new: Vec<u32> = vec![u32::MAX; self.positions.len()];
        for (v, around) in self.around.iter().enumerate() {
            if !around.is_empty() {
                new[v] = mesh.positions.len() as u32;
                mesh.positions.push(self.positions[v]);
            }
        }
        let kept = self.triangles.iter().zip(&self.gone).filter(|(_, gone)| !**gone);
        mesh.triangles.extend(kept.map(|(t, _)| t.map(|v| new[v as usize])));
        mesh
    }
}

/// Twice the area along the normal, and the shape: 1 for equal sides, 0 for a line.
fn normal_and_shape([a, b, c]: [DVec3; 3]) -> (DVec3, f64) {
    let n = (b - a).cross(c - a);
    let sides = a.distance_squared(b) + b.distance_squared(c) + c.distance_squared(a);
    (n, if sides > 0.0 { 2.0 * 3.0_f64.sqrt() * n.length() / sides } else { 0.0 })
}
