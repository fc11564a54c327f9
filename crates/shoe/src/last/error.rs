//! Why a mesh could not be stood as a last.

use geometry::mesh::adjacency::AdjacencyError;
use geometry::units::Unit;

use super::feather::NoEdge;

/// Why a mesh could not be stood as a last.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum StandError {
    /// The mesh has no area.
    #[error("the mesh has no surface; choose another file")]
    Empty,
    /// The mesh is not one tidy surface.
    #[error("the mesh is not tidy: {0}; repair it first")]
    Untidy(#[from] AdjacencyError),
    /// The surface faces inward.
    #[error(
        "the surface faces inward (it encloses {volume:.0} cubic units); turn its triangles over"
    )]
    InsideOut {
        /// Signed volume about its middle, in cubed units of the file.
        volume: f64,
    },
    /// In no unit is it as long as a last.
    #[error(
        "the form is {} units long, which is a last in no unit (100 to 380 mm); choose another \
         file, scale it, or take away what stands beside it", digits(*length)
    )]
    NoUnit {
        /// Longest extent, in units of the file.
        length: f64,
    },
    /// Too large in the given unit.
    #[error("the form is {length:.0} mm long when read in {unit}, a last at most 380 mm; {fits}")]
    TooLarge {
        /// Longest extent, mm.
        length: f64,
        /// The unit given.
        unit: Unit,
        /// Which units would fit.
        fits: String,
    },
    /// Too small in the given unit.
    #[error("the form is {length:.2} mm long when read in {unit}, a last at least 100 mm; {fits}")]
    TooSmall {
        /// Longest extent, mm.
        length: f64,
        /// The unit given.
        unit: Unit,
        /// Which units would fit.
        fits: String,
    },
    /// Not the proportions of a last.
    #[error(
        "this is not shaped like a last: {length:.0} x {middle:.0} x {smallest:.0} mm, {sign}; \
         choose another file, or cut away what is not the last"
    )]
    NotLastShaped {
        /// Longest extent, mm.
        length: f64,
        /// Middle extent, mm.
        middle: f64,
        /// Smallest extent, mm.
        smallest: f64,
        /// What is wrong with it.
        sign: String,
    },
    /// The feather line did not show.
    #[error(
        "no line between bottom and wall shows: only {found} of {of} sections have one; check \
         that the bottom was scanned too"
    )]
    NoFeatherLine {
        /// Sections with an edge.
        found: usize,
        /// Sections tried.
        of: usize,
    },
    /// A value given by the user cannot be used.
    #[error("the given {what} cannot be used: {why}")]
    BadGiven {
        /// Which value.
        what: &'static str,
        /// Why not, and what would do.
        why: String,
    },
}

/// A length of any size.
fn digits(length: f64) -> String {
    if (0.01..1e6).contains(&length) { format!("{length:.3}") } else { format!("{length:.2e}") }
}

impl From<NoEdge> for StandError {
    fn from(e: NoEdge) -> Self {
        StandError::NoFeatherLine { found: e.found, of: e.of }
    }
}
