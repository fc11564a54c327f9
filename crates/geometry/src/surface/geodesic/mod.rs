//! Geodesics: shortest and straightest paths, and distances along the surface.

mod distances;
mod graph;
mod queue;
mod shortest;
mod straighten;
mod straightest;
mod strip;
mod unfold;
mod window;

pub use distances::Distances;
pub(super) use distances::{LEFT, RIGHT};
pub use shortest::{locally_shortest, shortest};
pub use straighten::straighten;
pub use straightest::{StraightestError, straightest};

use super::SurfacePath;

/// A path that is shortest among its neighbours or among all.
#[derive(Debug, Clone, PartialEq)]
pub struct Geodesic {
    /// The path, with a point on every edge that it crosses.
    pub path: SurfacePath,
    /// Its length, mm.
    pub length: f64,
}

/// Why there is no shortest path.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum GeodesicError {
    /// The two points lie on parts of the surface that are not joined.
    #[error("no way over the surface from {from:.1} mm to {to:.1} mm: it is in separate parts")]
    Separate {
        /// One point, mm.
        from: glam::DVec3,
        /// The other, mm.
        to: glam::DVec3,
    },
    /// A closed path has no ends to hold it.
    #[error("a closed path cannot be pulled taut between its ends; open it")]
    Closed,
    /// The path has no points.
    #[error("the path has no points")]
    NoPoints,
    /// Two neighbours on the path lie in no common triangle.
    #[error("points {0} and the one after it on the path share no triangle")]
    Apart(usize),
}
