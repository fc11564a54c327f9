//! The shortest path between two points of a surface.

use super::distances::{Distances, Limit};
use super::graph::along_edges;
use super::straighten::straighten;
use super::{Geodesic, GeodesicError};
use crate::surface::{Surface, SurfacePoint};

/// Of two lengths that differ by less than this share, either is the shortest: rounding.
const SAME_LENGTH: f64 = 1e-12;

/// The shortest path between two points of a surface, exact but for rounding: no other path is
/// shorter, on whichever side of a hole, a handle or a bump it runs. Where several are equally
/// short it is one of them, always the same.
///
/// A locally shortest path bounds the length; exact windows then search what can lie on a shorter
/// one, which is little unless the path leads far round the surface.
///
/// # Errors
/// When the two points lie on parts of the surface that are not joined.
pub fn shortest(
    surface: &Surface<'_>,
    from: SurfacePoint,
    to: SurfacePoint,
) -> Result<Geodesic, GeodesicError> {
    let near = locally_shortest(surface, from, to)?;
    if surface.common_face(&from, &to).is_some() {
        return Ok(near);
    }
    let limit =
        Limit { reach: near.length * (1.0 + SAME_LENGTH), goal: Some(to.position(surface.mesh)) };
    let distances = Distances::limited(surface, &[from], limit);
    let shorter =
        distances.path_to(&to).map(|path| Geodesic { length: path.length(surface.mesh), path });
    Ok(match shorter {
        Some(shorter) if shorter.length < near.length * (1.0 - SAME_LENGTH) => shorter,
        _ => near,
    })
}

/// A path between two points that no small change makes shorter: the shortest way along the
/// edges, pulled taut. Fast, and most often the shortest; [`shortest`] makes sure.
///
/// # Errors
/// When the two points lie on parts of the surface that are not joined.
pub fn locally_shortest(
    surface: &Surface<'_>,
    from: SurfacePoint,
    to: SurfacePoint,
) -> Result<Geodesic, GeodesicError> {
    let start = along_edges(surface, &from, &to).ok_or_else(|| GeodesicError::Separate {
        from: from.position(surface.mesh),
        to: to.position(surface.mesh),
    })?;
    straighten(surface, &start)
}
