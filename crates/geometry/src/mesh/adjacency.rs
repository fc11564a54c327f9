//! Who touches whom: the neighbour of each triangle across each of its sides, and the boundary.

use std::collections::BTreeMap;

use super::TriMesh;

/// Side `k` of a triangle runs from its corner `k` to its corner `(k + 1) % 3`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Side {
    /// The triangle.
    pub face: u32,
    /// 0, 1 or 2.
    pub k: u8,
}

/// The neighbours of a manifold, consistently oriented mesh.
#[derive(Debug, Clone)]
pub struct Adjacency {
    across: Vec<[Option<Side>; 3]>,
}

/// Why a mesh has no adjacency.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum AdjacencyError {
    /// More than two triangles share an edge, or two run along it in the same direction.
    #[error(
        "the edge between vertices {0} and {1} is used twice in the same direction; the surface is doubled, inverted or branches there"
    )]
    NotManifold(u32, u32),
}

impl Adjacency {
    /// Finds the neighbours of every side of `mesh`.
    ///
    /// # Errors
    /// When an edge is run along twice in the same direction.
    pub fn new(mesh: &TriMesh) -> Result<Self, AdjacencyError> {
        // By edge, the two directions of one edge after another. Sorting is several times faster
        // than a map for a million triangles.
        let mut sides: Vec<([u32; 2], bool, Side)> = Vec::with_capacity(3 * mesh.triangles.len());
        for (t, face) in mesh.triangles.iter().zip(0..) {
            for k in 0..3u8 {
                let (a, b) = (t[k as usize], t[(k as usize + 1) % 3]);
                sides.push(([a.min(b), a.max(b)], a < b, Side { face, k }));
            }
        }
        sides.sort_unstable();
        let again =
            sides.windows(2).filter(|pair| (pair[0].0, pair[0].1) == (pair[1].0, pair[1].1));
        if let Some(Side { face, k }) = again.map(|pair| pair[1].2).min() {
            let t = mesh.triangles[face as usize];
            return Err(AdjacencyError::NotManifold(t[k as usize], t[(k as usize + 1) % 3]));
        }
        let mut across = vec![[None; 3]; mesh.triangles.len()];
        for edge in sides.chunk_by(|a, b| a.0 == b.0) {
            // A side from a vertex to itself is its own other direction.
            let [one, other] = match edge {
                [(ends, _, one)] if ends[0] == ends[1] => [one, one],
                [(.., one), (.., other)] => [one, other],
                _ => continue,
            };
            across[one.face as usize][one.k as usize] = Some(*other);
            across[other.face as usize][other.k as usize] = Some(*one);
        }
        Ok(Self { across })
    }

    /// The same edge seen from the neighbour, or `None` on the boundary.
    pub fn across(&self, side: Side) -> Option<Side> {
        self.across[side.face as usize][side.k as usize]
    }

    /// The boundary as closed loops of vertices, each counter-clockwise seen from outside
    /// (the surface on the left), the loops in the order of their smallest vertex, each
    /// starting at it. Where the surface touches itself at a vertex, loops may pass it twice.
    pub fn boundary_loops(&self, mesh: &TriMesh) -> Vec<Vec<u32>> {
        let mut next: BTreeMap<u32, Vec<u32>> = BTreeMap::new();
        for (face, sides) in self.across.iter().enumerate() {
            for (k, other) in sides.iter().enumerate() {
                if other.is_none() {
                    let t = mesh.triangles[face];
                    next.entry(t[k]).or_default().push(t[(k + 1) % 3]);
                }
            }
        }
        let mut loops = Vec::new();
        while let Some((&start, _)) = next.iter().find(|(_, to)| !to.is_empty()) {
            let mut ring = vec![start];
            let mut at = start;
            while let Some(to) = next.get_mut(&at).and_then(Vec::pop) {
                if to == start {
                    break;
                }
                ring.push(to);
                at = to;
            }
            loops.push(ring);
            next.retain(|_, to| !to.is_empty());
        }
        loops
    }
}
