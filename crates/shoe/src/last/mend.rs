//! From a scan as read to one sound surface, open at most at the top; what was done is told.

use geometry::mesh::TriMesh;
use geometry::mesh::adjacency::Adjacency;
use geometry::mesh::base::{BaseCut, cut_base};
use geometry::mesh::crossed::crossed;
use geometry::mesh::decimate::decimate_to;
use geometry::mesh::holes::{Filled, Limits, fill_holes};
use geometry::mesh::repair::Repair;
use geometry::mesh::tidy::{Tidied, tidy};
use geometry::warned::Warning;
use glam::DVec3;

use super::scan::ScanError;

/// Points nearer than this share of the scan's diagonal are one point: far below what any
/// scanner resolves.
const WELD_SHARE: f64 = 1e-6;
/// The largest opening is the open top when it is longer than this share of the scan: tops are
/// a third as long as the last, the hole for a hinge or a jack a twentieth.
const TOP_SHARE: f64 = 0.2;
/// No hole larger than this share of the scan is filled: 40 mm of an adult's last. What is
/// larger has too much shape of its own to be guessed.
const HOLE_SHARE: f64 = 0.15;
/// More triangles than this are more than a last's shape needs and make the work slow.
const MANY: usize = 150_000;
/// What it is thinned to: edges of about a millimetre.
const ENOUGH: usize = 100_000;
/// How far a thinned surface may lie from the scan, mm.
const THINNED_BY: f64 = 0.05;

/// A scan made sound.
#[derive(Debug, Clone)]
pub(super) struct Mended {
    /// All of the scan's triangles that were kept, in the file's coordinates.
    pub(super) mesh: TriMesh,
    /// What was done.
    pub(super) repairs: Vec<Repair>,
    /// The opening that was left.
    pub(super) opening: Option<Open>,
}

/// An opening, in the file's coordinates and unit.
#[derive(Debug, Clone, Copy)]
pub(super) struct Open {
    pub(super) middle: DVec3,
    /// The farthest its points are apart.
    pub(super) extent: f64,
}

/// Makes `scan` sound.
pub(super) fn mend(scan: &TriMesh) -> Result<Mended, ScanError> {
    let tolerance = WELD_SHARE * diagonal(scan);
    let Tidied { mesh, mut repairs } = tidy(scan, tolerance)?;
    let BaseCut { mesh, repairs: cut } = cut_base(&mesh);
    repairs.extend(cut);
    let limits = Limits { keep_open: Some(TOP_SHARE), largest: HOLE_SHARE };
    let openings = Adjacency::new(&mesh)?.boundary_loops(&mesh).len();
    let Filled { mesh, repairs: filled, opening } =
        fill_holes(&mesh, &limits).map_err(|cause| ScanError::Holed { openings, cause })?;
    repairs.extend(filled);
    repairs.extend(crossed(&mesh));
    let opening = opening.map(|o| {
        let middle = o.rim.iter().sum::<DVec3>() / o.rim.len().max(1) as f64;
        Open { middle, extent: o.extent }
    });
    Ok(Mended { mesh, repairs, opening })
}

/// A mesh to work on in place of `mesh`, where that has more triangles than are of use, with
/// how far it lies from it at most, mm; `scale` is millimetres per unit.
pub(super) fn thinned(mesh: &TriMesh, scale: f64) -> Option<(TriMesh, f64)> {
    if mesh.triangles.len() <= MANY {
        return None;
    }
    let thinned = decimate_to(mesh, THINNED_BY / scale, ENOUGH);
    let fewer = thinned.mesh.triangles.len() < mesh.triangles.len();
    fewer.then_some((thinned.mesh, thinned.error * scale))
}

/// What is told of a thinned mesh.
pub(super) fn thinned_warning(from: usize, to: usize, error: f64) -> Warning {
    Warning {
        place: "the scan".into(),
        message: format!(
            "its {from} triangles were thinned to {to} for the work; they lie within {error:.3} mm of \
             the scan"
        ),
        hint: "nothing to do".into(),
    }
}

/// From corner to corner of the box round `mesh`.
pub(super) fn diagonal(mesh: &TriMesh) -> f64 {
    mesh.bounds().map_or(0.0, |(low, high)| low.distance(high))
}
