//! What cannot be tidied, and why.

use glam::DVec3;

use crate::mesh::TriMesh;
use crate::mesh::repair::place as at;

/// Coordinates in whole single precision steps (STL, most PLY) have lost the shape where a step is
/// this share of the span: 0.03 mm of 260, as coarse as a scanner's noise.
const COARSE_STEP: f64 = 1e-4;

/// The mesh has no area when it is below this share of its longest side squared: the narrowest
/// sheet of any use has a thousand times more, and rounding leaves 1e-15 of it.
const NO_AREA: f64 = 1e-9;

/// In double precision a body may lie this many spans away, which leaves a millionth of a
/// millionth of its span for areas and volumes.
const FAR: f64 = 1e4;

/// Beyond this products of coordinates overflow.
const FARTHEST: f64 = 1e50;

/// Why a mesh could not be made one clean body.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum TidyError {
    /// Nothing to tidy.
    #[error("the mesh has no triangles; scan or export it again")]
    Empty,
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
    /// Too far from the origin for its size.
    #[error(
        "the mesh lies {reach:.4e} from the origin and is only {extent:.4} across: the file's numbers cannot hold its shape there (they step by {step:.2e}); move it to the origin in the scan program and export it again"
    )]
    TooLarge {
        /// The farthest coordinate, in the unit of the mesh.
        reach: f64,
        /// The longest side of the box around the mesh.
        extent: f64,
        /// The step from one number to the next at that distance.
        step: f64,
    },
    /// The tolerance is negative or not a number.
    #[error("a welding tolerance of {tolerance} mm is impossible; 0.001 to 0.05 mm is usual")]
    Tolerance {
        /// What was given, mm.
        tolerance: f64,
    },
    /// Every triangle collapsed.
    #[error(
        "nothing is left after joining points within {tolerance} mm; lower the tolerance or correct the unit (the mesh is {extent:.4} mm across)"
    )]
    NothingLeft {
        /// The tolerance, mm.
        tolerance: f64,
        /// The longest side of the box around the mesh, mm.
        extent: f64,
    },
    /// All triangles are without area.
    #[error(
        "the triangles have no area: all points lie on one line, or in one place; export the mesh again"
    )]
    NoArea,
    /// Two or more bodies of comparable size.
    #[error(
        "two lasts in one file: keep one ({count} bodies of comparable size, with their middles at {} and {}; the second has {:.0} % of the surface of the first); delete all but one in the scan program", at(places[0], *span), at(places[1], *span), 100.0 * share
    )]
    SeveralBodies {
        /// Bodies of comparable size.
        count: usize,
        /// The middles of the largest and the next, in the coordinates of the mesh.
        places: [DVec3; 2],
        /// Surface of the next, as a share of that of the largest.
        share: f64,
        /// About how far the mesh's points are apart at most.
        span: f64,
    },
}

/// Refuses what cannot be worked on; returns the longest side of the box around the mesh.
pub(super) fn check(mesh: &TriMesh, tolerance: f64) -> Result<f64, TidyError> {
    if !(tolerance >= 0.0 && tolerance.is_finite()) {
        return Err(TidyError::Tolerance { tolerance });
    }
    if let Some(vertex) = mesh.positions.iter().position(|p| !p.is_finite()) {
        return Err(TidyError::NotFinite { vertex });
    }
    let vertices = mesh.positions.len();
    for (triangle, t) in mesh.triangles.iter().enumerate() {
        if let Some(&index) = t.iter().find(|v| **v as usize >= vertices) {
            return Err(TidyError::IndexOutOfRange { triangle, index, vertices });
        }
    }
    let (low, high) =
        mesh.bounds().filter(|_| !mesh.triangles.is_empty()).ok_or(TidyError::Empty)?;
    let reach = low.abs().max_element().max(high.abs().max_element());
    let extent = (high - low).max_element();
    let single = mesh.positions.iter().all(|p| p.as_vec3().as_dvec3() == *p);
    let step = reach * f64::from(if single { f32::EPSILON } else { f64::EPSILON as f32 });
    let lost = if single { step > COARSE_STEP * extent } else { reach > FAR * FAR * extent };
    if (lost && extent > 0.0) || reach > FARTHEST {
        return Err(TidyError::TooLarge { reach, extent, step });
    }
    if mesh.face_areas().iter().sum::<f64>() <= NO_AREA * extent * extent {
        return Err(TidyError::NoArea);
    }
    Ok(extent)
}
