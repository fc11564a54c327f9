//! Stiffness against bending of a held line, which keeps it straight under pressure.

use geometry::mesh::TriMesh;
use glam::{DMat2, DVec2};

use crate::held::HeldLine;
use crate::system::{Slot, System};

/// The bend of a held line at one of its inner vertices. Its vector is the difference between
/// the directions of the two edges (each over its rest length), which is 0 where the line runs
/// straight at its rest length.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Bend {
    vertices: [u32; 3],
    /// Of the pairs 0-1, 1-2 and 0-2.
    slots: [Slot; 3],
    /// What each vertex's place counts for in the vector, 1/mm.
    shares: [f64; 3],
    /// Over the area of the surface.
    stiffness: f64,
}

/// The pairs of vertices that the bends of `lines` join besides the edges of the mesh.
pub(crate) fn pairs(lines: &[HeldLine]) -> Vec<(u32, u32)> {
    let stiff = lines.iter().filter(|line| line.bending > 0.0);
    stiff.flat_map(|line| line.vertices.windows(3).map(|w| (w[0], w[2]))).collect()
}

/// The bends of one line; none where it has no stiffness against bending, or turns back.
pub(crate) fn bends(mesh: &TriMesh, line: &HeldLine, system: &System, area: f64) -> Vec<Bend> {
    if line.bending <= 0.0 {
        return Vec::new();
    }
    let bend = |w: &[u32]| {
        let vertices = [w[0], w[1], w[2]];
        let slot = |i: usize, j: usize| system.slot(vertices[i], vertices[j]);
        let slots = [slot(0, 1)?, slot(1, 2)?, slot(0, 2)?];
        let [a, b, c] = vertices.map(|v| mesh.positions[v as usize]);
        let (before, after) = (a.distance(b) * line.share, b.distance(c) * line.share);
        let shares = [1.0 / before, -1.0 / before - 1.0 / after, 1.0 / after];
        let stiffness = 2.0 * line.bending / (before + after) / area;
        Some(Bend { vertices, slots, shares, stiffness })
    };
    line.vertices.windows(3).filter_map(bend).collect()
}

impl Bend {
    /// The same bend with `factor` of its stiffness.
    pub(crate) fn softer(&self, factor: f64) -> Self {
        Self { stiffness: self.stiffness * factor, ..*self }
    }

    fn vector(&self, points: &[DVec2]) -> DVec2 {
        (0..3).map(|i| points[self.vertices[i] as usize] * self.shares[i]).sum()
    }

    pub(crate) fn energy(&self, points: &[DVec2]) -> f64 {
        self.stiffness * self.vector(points).length_squared()
    }

    pub(crate) fn add_gradient(&self, points: &[DVec2], gradient: &mut [DVec2]) {
        let pull = 2.0 * self.stiffness * self.vector(points);
        for (v, share) in self.vertices.iter().zip(self.shares) {
            gradient[*v as usize] += pull * share;
        }
    }

    /// The energy is quadratic: the Hessian is the same everywhere.
    pub(crate) fn add_hessian(&self, system: &mut System) {
        let block = |i: usize, j: usize| {
            DMat2::IDENTITY * (2.0 * self.stiffness * self.shares[i] * self.shares[j])
        };
        for i in 0..3 {
            system.add_vertex(self.vertices[i], block(i, i));
        }
        for (slot, (i, j)) in self.slots.into_iter().zip([(0, 1), (1, 2), (0, 2)]) {
            system.add_edge(slot, self.vertices[i], self.vertices[j], block(i, j));
        }
    }
}
