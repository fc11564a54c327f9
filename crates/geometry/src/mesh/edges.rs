//! Every edge with the triangles along it, found by sorting: the ground for all mending.

use super::TriMesh;

/// One triangle's side, filed under its undirected edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct EdgeUse {
    /// The ends, the smaller first.
    pub(crate) ends: [u32; 2],
    /// The triangle.
    pub(crate) face: u32,
    /// Whether the triangle runs from the smaller end to the larger.
    pub(crate) forward: bool,
}

/// The sides of all triangles, sorted: those of one edge stand together.
pub(crate) fn edge_uses(mesh: &TriMesh) -> Vec<EdgeUse> {
    let mut uses: Vec<EdgeUse> = Vec::with_capacity(3 * mesh.triangles.len());
    for (face, t) in mesh.triangles.iter().enumerate() {
        for (a, b) in [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])] {
            let ends = [a.min(b), a.max(b)];
            uses.push(EdgeUse { ends, face: face as u32, forward: a < b });
        }
    }
    uses.sort_unstable();
    uses
}

/// The edges one after another, each with its uses.
pub(crate) fn edges(uses: &[EdgeUse]) -> impl Iterator<Item = &[EdgeUse]> {
    uses.chunk_by(|a, b| a.ends == b.ends)
}

/// Sets that can be joined; each is named by its smallest member.
#[derive(Debug, Clone)]
pub(crate) struct Sets {
    parent: Vec<u32>,
}

impl Sets {
    /// `n` sets of one member each.
    pub(crate) fn new(n: usize) -> Self {
        Self { parent: (0..n as u32).collect() }
    }

    /// The name of the set of `i`.
    pub(crate) fn find(&mut self, i: u32) -> u32 {
        let mut at = i;
        while self.parent[at as usize] != at {
            let up = self.parent[self.parent[at as usize] as usize];
            self.parent[at as usize] = up;
            at = up;
        }
        at
    }

    /// Makes one set of those of `a` and `b`.
    pub(crate) fn join(&mut self, a: u32, b: u32) {
        let (a, b) = (self.find(a), self.find(b));
        self.parent[a.max(b) as usize] = a.min(b);
    }
}
