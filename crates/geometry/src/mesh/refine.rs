//! Makes a mesh finer without changing its surface: long edges are halved.

use glam::DVec3;

use super::TriMesh;
use super::edges::{edge_uses, edges};

/// No more triangles than this are made: about 1 GB of memory while at it, far
/// beyond what any later step could work on. Stops a mistaken length before the memory is full.
pub const MAX_TRIANGLES: usize = 10_000_000;

/// Halves every edge longer than `max_edge` mm at its midpoint, again and again until none is
/// left.
///
/// Neighbours split a shared edge together, so no cracks arise; orientation, branching and rims
/// stay as they are, and so does the surface itself. Old vertices keep their numbers. The pieces
/// of a triangle stand where it stood.
///
/// A `max_edge` that is not above zero gives the mesh unchanged. Edges may stay longer when the
/// mesh would pass [`MAX_TRIANGLES`].
///
/// # Panics
/// When a triangle names a vertex that does not exist.
pub fn refine(mesh: &TriMesh, max_edge: f64) -> TriMesh {
    let mut fine = mesh.clone();
    if max_edge.is_nan() || max_edge <= 0.0 {
        return fine;
    }
    while 4 * fine.triangles.len() <= MAX_TRIANGLES {
        let middles = Middles::of_edges(&mut fine, |a, b| splits(a, b, max_edge));
        if middles.edges.is_empty() {
            break;
        }
        let mut pieces = Vec::with_capacity(2 * fine.triangles.len());
        for t in &fine.triangles {
            split(*t, &middles, &fine.positions, &mut pieces);
        }
        fine.triangles = pieces;
    }
    fine
}

/// Whether the edge is too long, and there is a number between its ends to split it at.
fn splits(a: DVec3, b: DVec3, max_edge: f64) -> bool {
    let middle = a.midpoint(b);
    a.distance(b) > max_edge && middle != a && middle != b
}

/// New vertices on edges, to be looked up by the ends of the edge.
pub(super) struct Middles {
    /// Ends, the smaller first, sorted.
    pub(super) edges: Vec<[u32; 2]>,
    first: u32,
}

impl Middles {
    /// Adds to `mesh` the midpoint of every edge that `wanted` (from the positions of its ends).
    pub(super) fn of_edges(mesh: &mut TriMesh, wanted: impl Fn(DVec3, DVec3) -> bool) -> Self {
        let first = mesh.positions.len() as u32;
        let mut chosen = Vec::new();
        for uses in edges(&edge_uses(mesh)) {
            let ends = uses[0].ends;
            let [a, b] = ends.map(|v| mesh.positions[v as usize]);
            if wanted(a, b) {
                chosen.push(ends);
                mesh.positions.push(a.midpoint(b));
            }
        }
        Self { edges: chosen, first }
    }

    /// The vertex on the edge from `a` to `b`, if it has one.
    pub(super) fn on(&self, a: u32, b: u32) -> Option<u32> {
        let found = self.edges.binary_search(&[a.min(b), a.max(b)]).ok()?;
        Some(self.first + found as u32)
    }
}

/// Replaces a triangle by the pieces that its split sides make of it.
fn split(t: [u32; 3], middles: &Middles, positions: &[DVec3], pieces: &mut Vec<[u32; 3]>) {
    let on = [0, 1, 2].map(|k| middles.on(t[k], t[(k + 1) % 3]));
    // Turned so that the split sides come first; then three patterns are all there are.
    let turn = match on {
        [None, Some(_), _] => 1,
        [_, None, Some(_)] => 2,
        _ => 0,
    };
    let [a, b, c] = [0, 1, 2].map(|k| t[(k + turn) % 3]);
    match [0, 1, 2].map(|k| on[(k + turn) % 3]) {
        [Some(ab), Some(bc), Some(ca)] => {
            pieces.extend([[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]]);
        }
        [Some(ab), Some(bc), None] => {
            pieces.push([ab, b, bc]);
            let length = |v: u32, w: u32| positions[v as usize].distance(positions[w as usize]);
            // The shorter way across the rest makes the better triangles.
            if length(a, bc) <= length(ab, c) {
                pieces.extend([[a, ab, bc], [a, bc, c]]);
            } else {
                pieces.extend([[a, ab, c], [ab, bc, c]]);
            }
        }
        [Some(ab), None, _] => pieces.extend([[a, ab, c], [ab, b, c]]),
        _ => pieces.push(t),
    }
}
