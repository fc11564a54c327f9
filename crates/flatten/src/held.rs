//! Lines whose length is held while the rest of the surface gives way.

use geometry::mesh::TriMesh;
use glam::{DMat2, DVec2};

use crate::dirichlet::Curvature;
use crate::layout::FlattenError;
use crate::system::{Slot, System};

/// A chain of mesh edges whose length is held.
#[derive(Debug, Clone, PartialEq)]
pub struct HeldLine {
    /// The vertices it passes, each joined to the next by a mesh edge. The first again at the
    /// end closes it.
    pub vertices: Vec<u32>,
    /// Which way it is held.
    pub hold: Hold,
    /// How hard, in mm: an edge of rest length L and length l costs
    /// stiffness x L x (l/L - 1)², where each mm² of the surface costs (s - 1/s)². So a line
    /// of stiffness k resists about as a strip of the surface k/4 mm wide would. To hold a
    /// heel-sized line within 0.1 mm in 200 mm, 1e5 is enough.
    pub stiffness: f64,
}

/// Which changes of length are resisted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hold {
    /// Neither longer nor shorter.
    Keep,
    /// It may shrink, but not grow.
    NotLonger,
}

struct HeldEdge {
    ends: [u32; 2],
    slot: Slot,
    rest: f64,
    hold: Hold,
    /// Stiffness over the area of the surface, 1/mm.
    stiffness: f64,
}

/// The edges of all held lines, and their energy on the scale of the surface's.
pub(crate) struct HeldEdges {
    edges: Vec<HeldEdge>,
}

impl HeldEdges {
    pub(crate) fn new(
        mesh: &TriMesh,
        lines: &[HeldLine],
        system: &System,
        total_area: f64,
    ) -> Result<Self, FlattenError> {
        let mut edges = Vec::new();
        for (line, held) in lines.iter().enumerate() {
            let stiffness = held.stiffness;
            if !(stiffness.is_finite() && stiffness > 0.0) {
                return Err(FlattenError::HeldStiffness { line, stiffness });
            }
            for pair in held.vertices.windows(2) {
                let ends = [pair[0], pair[1]];
                let slot = system.slot(ends[0], ends[1]).ok_or(FlattenError::HeldOffEdges {
                    line,
                    from: ends[0],
                    to: ends[1],
                })?;
                let [a, b] = ends.map(|v| mesh.positions[v as usize]);
                let rest = a.distance(b);
                edges.push(HeldEdge {
                    ends,
                    slot,
                    rest,
                    hold: held.hold,
                    stiffness: stiffness / total_area,
                });
            }
        }
        Ok(Self { edges })
    }

    pub(crate) fn energy(&self, points: &[DVec2]) -> f64 {
        self.edges
            .iter()
            .map(|e| {
                let strain = e.resisted_strain(e.span(points).length());
                e.stiffness * e.rest * strain * strain
            })
            .sum()
    }

    pub(crate) fn add_gradient(&self, points: &[DVec2], gradient: &mut [DVec2]) {
        for e in &self.edges {
            let span = e.span(points);
            let length = span.length();
            let pull = span * (2.0 * e.stiffness * e.resisted_strain(length) / length);
            gradient[e.ends[0] as usize] -= pull;
            gradient[e.ends[1] as usize] += pull;
        }
    }

    pub(crate) fn add_hessian(&self, points: &[DVec2], curvature: Curvature, system: &mut System) {
        for e in &self.edges {
            let span = e.span(points);
            let length = span.length();
            let strain = e.resisted_strain(length);
            if strain == 0.0 && e.hold == Hold::NotLonger {
                continue;
            }
            let along = span / length;
            let across = along.perp();
            let mut turn = 2.0 * e.stiffness * strain / length;
            if curvature == Curvature::Projected {
                turn = turn.max(0.0);
            }
            let stretch = 2.0 * e.stiffness / e.rest;
            let block = DMat2::from_cols(along * along.x, along * along.y) * stretch
                + DMat2::from_cols(across * across.x, across * across.y) * turn;
            let [a, b] = e.ends;
            system.add_vertex(a, block);
            system.add_vertex(b, block);
            system.add_edge(e.slot, a, b, -block);
        }
    }
}

impl HeldEdge {
    fn span(&self, points: &[DVec2]) -> DVec2 {
        points[self.ends[1] as usize] - points[self.ends[0] as usize]
    }

    /// The part of the strain that costs.
    fn resisted_strain(&self, length: f64) -> f64 {
        let strain = (length - self.rest) / self.rest;
        match self.hold {
            Hold::Keep => strain,
            Hold::NotLonger => strain.max(0.0),
        }
    }
}
