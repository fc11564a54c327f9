//! Why holes could not be filled.

use glam::DVec3;

use crate::mesh::repair::{digits, place as at};

/// Why holes could not be filled. Lengths and places are in the unit and frame of the mesh.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum HoleError {
    /// A triangle names a vertex that does not exist.
    #[error(
        "triangle {triangle}: vertex {index} is named, but there are {vertices}, counted from 0; export the mesh again"
    )]
    IndexOutOfRange {
        /// The triangle, from 0.
        triangle: usize,
        /// The vertex it names.
        index: u32,
        /// How many there are.
        vertices: usize,
    },
    /// A coordinate that is not a number, or infinite.
    #[error("vertex {vertex}: a coordinate is not a finite number; export the mesh again")]
    NotFinite {
        /// The vertex, from 0.
        vertex: usize,
    },
    /// An edge with more than two triangles, or two in the same direction.
    #[error(
        "the surface is doubled, inverted or branches at the edge between vertices {} and {}; tidy the mesh first", ends[0], ends[1]
    )]
    NotManifold {
        /// The ends of the edge.
        ends: [u32; 2],
    },
    /// Larger than what may be filled.
    #[error(
        "the hole at {} is {} across, {:.0} % of the surface (at most {:.0} % is filled); scan that part again", at(*place, *span), digits(*extent), 100.0 * extent / span, 100.0 * largest
    )]
    TooLarge {
        /// Its middle.
        place: DVec3,
        /// The farthest its points are apart.
        extent: f64,
        /// The same of the whole surface.
        span: f64,
        /// The part of the span that may be filled.
        largest: f64,
    },
    /// A separate piece with a rim of its own.
    #[error(
        "a loose piece of {triangles} triangles lies at {}, apart from the surface; delete it, or join it, in the scan program", at(*place, *span)
    )]
    LoosePiece {
        /// A place on it.
        place: DVec3,
        /// Its triangles.
        triangles: usize,
        /// The span of the whole mesh.
        span: f64,
    },
    /// The rim goes round a sheet, so that a fill would lie on its back.
    #[error(
        "the rim at {}, {} across, is the border of a thin sheet and not a hole; a closed surface is needed", at(*place, *span), digits(*extent)
    )]
    Sheet {
        /// The middle of the rim.
        place: DVec3,
        /// The farthest its points are apart.
        extent: f64,
        /// The span of the whole mesh.
        span: f64,
    },
    /// Every fill that was tried passes through the surface.
    #[error(
        "the hole at {}, {} across, cannot be filled without passing through the surface; its rim is folded or twisted: trim it in the scan program", at(*place, *span), digits(*extent)
    )]
    Crossing {
        /// The middle of the hole.
        place: DVec3,
        /// The farthest its points are apart.
        extent: f64,
        /// The span of the whole mesh.
        span: f64,
    },
}
