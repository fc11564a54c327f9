//! Even triangles for a piece of a surface: split, collapse, flip and relax until the edges have
//! the length asked for (M. Botsch and L. Kobbelt, "A remeshing approach to multiresolution
//! modeling", 2004), finer where the surface bends.
//!
//! In the order of the work: `disk` (what may come in), `chains` (the boundary and the lines as
//! curves), `field` on its `cells` (how long edges shall be where), `mesher` with `change` and `relax` (the
//! work itself), `quality` (what came out), `smooth` (without the roughness of a scan), `through` (a line between its vertices).

mod cells;
mod chains;
mod change;
mod disk;
mod field;
mod mesher;
mod quality;
mod relax;
mod smooth;
#[cfg(test)]
mod tests;
mod through;

use super::TriMesh;
use super::adjacency::AdjacencyError;
pub use quality::{apart, least_angle};
pub use smooth::{smooth, smooth_line};
pub use through::smooth_through;

/// How fine the triangles shall be.
#[derive(Debug, Clone, PartialEq)]
pub struct Sizes {
    /// No edge is asked to be shorter, mm.
    pub least: f64,
    /// No edge is asked to be longer, mm.
    pub most: f64,
    /// How far the middle of an edge may lie from the surface, mm: edges are shorter where the
    /// surface or a line bends.
    pub sag: f64,
    /// By how much of the way between two places the lengths asked for there may differ.
    pub growth: f64,
    /// Turns of a line sharper than this, in degrees, stay corners.
    pub corner: f64,
}

impl Sizes {
    /// Edges about `length` mm long, a third of it where the surface bends.
    pub fn about(length: f64) -> Self {
        Self { least: length / 3.0, most: length, sag: length * 0.01, growth: 0.2, corner: 40.0 }
    }
}

/// A piece with even triangles.
#[derive(Debug, Clone)]
pub struct Remeshed {
    /// The piece.
    pub mesh: TriMesh,
    /// Its boundary, counter-clockwise seen from outside.
    pub boundary: Vec<u32>,
    /// The lines, each a chain of edges of `mesh` with the ends it had.
    pub lines: Vec<Vec<u32>>,
    /// The least angle of a triangle, degrees.
    pub least_angle: f64,
}

/// Why a piece could not be remeshed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RemeshError {
    /// The surface is not manifold.
    #[error(transparent)]
    Adjacency(#[from] AdjacencyError),
    /// A coordinate is no number.
    #[error("vertex {0} has a coordinate that is not finite")]
    NotFinite(usize),
    /// The surface has holes or handles, several pieces, or none.
    #[error(
        "the surface is no disk: {pieces} pieces, {boundaries} boundaries, Euler characteristic {euler}"
    )]
    NotADisk {
        /// Pieces that hang together.
        pieces: usize,
        /// Closed boundaries.
        boundaries: usize,
        /// Vertices less edges plus triangles; 1 for a disk.
        euler: i64,
    },
    /// A line steps between vertices that no edge joins.
    #[error("line {line} steps from vertex {from} to {to}, which is no edge of the surface")]
    OffEdges {
        /// Place among the lines.
        line: usize,
        /// The vertex it leaves.
        from: u32,
        /// The vertex it goes to.
        to: u32,
    },
    /// A line passes a vertex twice.
    #[error("line {line} passes vertex {vertex} twice")]
    PassesTwice {
        /// Place among the lines.
        line: usize,
        /// The vertex.
        vertex: u32,
    },
    /// The lengths asked for make no sense.
    #[error("edges of {least} to {most} mm with a sag of {sag} mm cannot be made")]
    Sizes {
        /// Least length.
        least: f64,
        /// Most length.
        most: f64,
        /// Sag.
        sag: f64,
    },
}

/// Rounds of remeshing; the shapes settle after about ten.
const ROUNDS: usize = 8;

/// Remeshes a disk-shaped `patch` to even triangles of the lengths `sizes` asks for.
///
/// The boundary and `lines` (chains of vertices along edges of the patch, of two vertices or more, which
/// pass no vertex twice and may meet each other and run along the boundary) are divided anew
/// along themselves. Their ends, the places where they meet, and sharp turns keep a vertex. All
/// other vertices lie on the patch. The result is a disk, whatever the shapes that come in;
/// angles are measured, not promised, and how far it lies off by [`apart`].
///
/// # Errors
/// When the patch is no disk, a line does not run along its edges, or the sizes make no sense.
pub fn remesh(patch: &TriMesh, lines: &[Vec<u32>], sizes: &Sizes) -> Result<Remeshed, RemeshError> {
    let sensible = sizes.least > 0.0
        && sizes.most >= sizes.least
        && sizes.most.is_finite()
        && sizes.sag > 0.0
        && sizes.growth > 0.0;
    if !sensible {
        let Sizes { least, most, sag, .. } = *sizes;
        return Err(RemeshError::Sizes { least, most, sag });
    }
    let ring = disk::boundary(patch)?;
    let features = chains::Features::new(patch, &ring, lines, sizes)?;
    let field = field::Field::new(patch, &features.curves, sizes);
    let ground = mesher::Ground::new(patch);
    let mut work = mesher::Mesher::new(patch, &ground, &features, &field);
    for _ in 0..ROUNDS {
        work.split();
        work.collapse();
        work.flip(mesher::Mesher::more_regular);
        work.relax();
        work.relax();
    }
    for _ in 0..4 {
        work.flip(mesher::Mesher::fatter);
        work.relax();
    }
    work.flip(mesher::Mesher::fatter);
    let (mesh, lines, boundary) = work.finish(lines.len());
    Ok(Remeshed { least_angle: least_angle(&mesh), mesh, boundary, lines })
}
