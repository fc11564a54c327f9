//! The boundary and the lines as curves between corners, along which vertices may slide.

use std::collections::{BTreeMap, BTreeSet};

use glam::DVec3;

use super::super::TriMesh;
use super::super::edges::{edge_uses, edges};
use super::{RemeshError, Sizes};

/// A curve from corner to corner, as the polyline it was given as.
#[derive(Debug, Clone)]
pub(super) struct Curve {
    /// Corners at its ends; a closed curve has the same one twice.
    pub(super) ends: [u32; 2],
    points: Vec<DVec3>,
    along: Vec<f64>,
}

impl Curve {
    fn new(vertices: &[u32], mesh: &TriMesh) -> Self {
        let points: Vec<DVec3> = vertices.iter().map(|v| mesh.positions[*v as usize]).collect();
        let mut along = vec![0.0];
        for pair in points.windows(2) {
            along.push(along[along.len() - 1] + pair[0].distance(pair[1]));
        }
        Self { ends: [vertices[0], vertices[vertices.len() - 1]], points, along }
    }

    /// Its length, mm.
    pub(super) fn length(&self) -> f64 {
        self.along[self.along.len() - 1]
    }

    /// The point `along` mm from its first end.
    pub(super) fn at(&self, along: f64) -> DVec3 {
        let i = self.along.partition_point(|s| *s <= along).clamp(1, self.along.len() - 1);
        let (from, to) = (self.along[i - 1], self.along[i]);
        let share = if to > from { ((along - from) / (to - from)).clamp(0.0, 1.0) } else { 0.0 };
        self.points[i - 1].lerp(self.points[i], share)
    }
}

/// What a vertex is bound to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Bound {
    /// It moves over the surface.
    Free,
    /// It slides along a curve.
    On {
        /// The curve.
        curve: u32,
        /// Its place on it, mm.
        along: f64,
    },
    /// It stays.
    Corner,
}

/// An edge, its smaller end first.
pub(super) fn edge(a: u32, b: u32) -> (u32, u32) {
    (a.min(b), a.max(b))
}

/// All curves of a patch.
#[derive(Debug, Clone)]
pub(super) struct Features {
    /// The curves.
    pub(super) curves: Vec<Curve>,
    /// What each vertex of the patch is bound to.
    pub(super) bound: Vec<Bound>,
    /// The edges along curves, and the curve.
    pub(super) marked: BTreeMap<(u32, u32), u32>,
    /// For each line and then for the boundary the curves it runs along, in order, and whether it runs
    /// along with them.
    pub(super) routes: Vec<Vec<(u32, bool)>>,
}

impl Features {
    /// The curves of `lines` and of the boundary `ring`.
    pub(super) fn new(
        mesh: &TriMesh,
        ring: &[u32],
        lines: &[Vec<u32>],
        sizes: &Sizes,
    ) -> Result<Self, RemeshError> {
        check(mesh, lines)?;
        let mut closed = ring.to_vec();
        closed.push(ring[0]);
        let mut around: BTreeMap<u32, BTreeSet<u32>> = BTreeMap::new();
        for chain in lines.iter().chain([&closed]) {
            for pair in chain.windows(2) {
                around.entry(pair[0]).or_default().insert(pair[1]);
                around.entry(pair[1]).or_default().insert(pair[0]);
            }
        }
        let mut corners: BTreeSet<u32> =
            around.iter().filter(|(_, near)| near.len() != 2).map(|(v, _)| *v).collect();
        for line in lines {
            corners.extend(line.first());
            corners.extend(line.last());
        }
        for chain in lines.iter().chain([&closed]) {
            corners.extend(turns(chain, mesh, sizes));
        }
        // A closed curve needs a place to begin.
        if !ring.iter().any(|v| corners.contains(v)) {
            corners.extend(ring.iter().min());
        }
        let mut found = Self {
            curves: Vec::new(),
            bound: vec![Bound::Free; mesh.positions.len()],
            marked: BTreeMap::new(),
            routes: Vec::new(),
        };
        for v in &corners {
            found.bound[*v as usize] = Bound::Corner;
        }
        for line in lines {
            let route = found.route(line, &corners, mesh);
            found.routes.push(route);
        }
        let first = ring.iter().position(|v| corners.contains(v)).unwrap_or(0);
        let mut from_corner = ring[first..].to_vec();
        from_corner.extend(&ring[..=first]);
        let route = found.route(&from_corner, &corners, mesh);
        found.routes.push(route);
        Ok(found)
    }

    /// The curves that a chain runs along; those not there yet are made.
    fn route(
        &mut self,
        chain: &[u32],
        corners: &BTreeSet<u32>,
        mesh: &TriMesh,
    ) -> Vec<(u32, bool)> {
        let mut route = Vec::new();
        let mut from = 0;
        for to in 1..chain.len() {
            if !corners.contains(&chain[to]) {
                continue;
            }
            let part = &chain[from..=to];
            from = to;
            if let Some(&known) = self.marked.get(&edge(part[0], part[1])) {
                let curve = &self.curves[known as usize];
                let forward = if curve.ends[0] != curve.ends[1] {
                    curve.ends[0] == part[0]
                } else {
                    part.get(1).is_some_and(|v| mesh.positions[*v as usize] == curve.points[1])
                };
                route.push((known, forward));
                continue;
            }
            let curve = Curve::new(part, mesh);
            let number = self.curves.len() as u32;
            for (v, along) in part.iter().zip(&curve.along) {
                if self.bound[*v as usize] == Bound::Free {
                    self.bound[*v as usize] = Bound::On { curve: number, along: *along };
                }
            }
            for pair in part.windows(2) {
                self.marked.insert(edge(pair[0], pair[1]), number);
            }
            self.curves.push(curve);
            route.push((number, true));
        }
        route
    }
}

fn check(mesh: &TriMesh, lines: &[Vec<u32>]) -> Result<(), RemeshError> {
    let uses = edge_uses(mesh);
    let known: Vec<[u32; 2]> = edges(&uses).map(|e| e[0].ends).collect();
    for (line, chain) in lines.iter().enumerate() {
        if chain.len() < 2 {
            let only = chain.first().copied().unwrap_or(0);
            return Err(RemeshError::OffEdges { line, from: only, to: only });
        }
        let mut seen = BTreeSet::new();
        if let Some(vertex) = chain.iter().find(|v| !seen.insert(**v)) {
            return Err(RemeshError::PassesTwice { line, vertex: *vertex });
        }
        for pair in chain.windows(2) {
            let (from, to) = (pair[0], pair[1]);
            if known.binary_search(&[from.min(to), from.max(to)]).is_err() {
                return Err(RemeshError::OffEdges { line, from, to });
            }
        }
    }
    Ok(())
}

/// The vertices at which a chain turns sharply, seen over the least edge to either side: of
/// neighbours that all see the same turn, the one that sees most of it.
fn turns(chain: &[u32], mesh: &TriMesh, sizes: &Sizes) -> Vec<u32> {
    let n = chain.len();
    let closed = n > 3 && chain[0] == chain[n - 1];
    let place = |i: usize| mesh.positions[chain[i] as usize];
    let reach = |i: usize, forward: bool| -> DVec3 {
        let mut j = i;
        for _ in 0..n {
            let next = match (forward, closed) {
                (true, true) => (j + 1) % (n - 1),
                (false, true) => (j + n - 2) % (n - 1),
                (true, false) => (j + 1).min(n - 1),
                (false, false) => j.saturating_sub(1),
            };
            if next == j {
                break;
            }
            j = next;
            if place(j).distance(place(i)) >= sizes.least {
                break;
            }
        }
        place(j)
    };
    let inner = if closed { 0..n - 1 } else { 1..n.saturating_sub(1) };
    let mut sharp: Vec<(f64, usize)> = inner
        .map(|i| {
            let (before, after) = (place(i) - reach(i, false), reach(i, true) - place(i));
            (before.angle_between(after).to_degrees(), i)
        })
        .filter(|(turn, _)| *turn > sizes.corner)
        .collect();
    sharp.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let mut kept: Vec<usize> = Vec::new();
    for (_, i) in sharp {
        if kept.iter().all(|k| place(*k).distance(place(i)) >= sizes.least) {
            kept.push(i);
        }
    }
    kept.into_iter().map(|i| chain[i]).collect()
}
