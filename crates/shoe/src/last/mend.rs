//! From a scan as read to one sound surface, open at most at the top; what was done is told. Very
//! many triangles are thinned.

use geometry::mesh::TriMesh;
use geometry::mesh::adjacency::Adjacency;
use geometry::mesh::base::{BaseCut, cut_base};
use geometry::mesh::crossed::crossed;
use geometry::mesh::decimate::decimate_to;
use geometry::mesh::holes::{Filled, HoleError, Limits, fill_holes};
use geometry::mesh::repair::Repair;
use geometry::mesh::tidy::{Tidied, tidy};
use geometry::warned::{Warned, Warning};
use glam::DVec3;

use super::given::{Given, scale};
use super::scan::{ScanError, Standing, stand_mended};
use super::stand::StandError;

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
/// The same for a scan whose own roughness lies beyond that: thinned, it is also smoother.
const ROUGH_THINNED_BY: f64 = 0.5;

/// A scan made sound.
#[derive(Debug, Clone)]
pub struct Mended {
    /// All of the scan's triangles that were kept, in the file's coordinates.
    pub mesh: TriMesh,
    /// What was done.
    pub repairs: Vec<Repair>,
    /// The opening that was left.
    pub opening: Option<Open>,
}

/// An opening, in the file's coordinates and unit.
#[derive(Debug, Clone, Copy)]
pub struct Open {
    /// The middle of its rim.
    pub middle: DVec3,
    /// The farthest its points are apart.
    pub extent: f64,
}

/// Fewer triangles to work on.
#[derive(Debug, Clone)]
pub struct Thinned {
    /// The mesh, in the file's coordinates.
    pub mesh: TriMesh,
    /// How far it lies from the scan at most, mm.
    pub error: f64,
}

/// Makes `scan` sound, whatever its unit.
///
/// # Errors
/// When the scan is no sound body, or has holes too large to be guessed.
pub fn mend(scan: &TriMesh) -> Result<Mended, ScanError> {
    let tolerance = WELD_SHARE * diagonal(scan);
    let Tidied { mesh, mut repairs } = tidy(scan, tolerance)?;
    let BaseCut { mesh, repairs: cut } = cut_base(&mesh);
    repairs.extend(cut);
    let limits = Limits { keep_open: Some(TOP_SHARE), largest: HOLE_SHARE };
    let Filled { mesh, repairs: filled, opening } =
        fill_holes(&mesh, &limits).map_err(|cause| holed(&mesh, cause))?;
    repairs.extend(filled);
    repairs.extend(crossed(&mesh));
    let opening = opening.map(|o| {
        let middle = o.rim.iter().sum::<DVec3>() / o.rim.len().max(1) as f64;
        Open { middle, extent: o.extent }
    });
    Ok(Mended { mesh, repairs, opening })
}

/// Why the openings of `mesh` could not be filled, and how many there are.
fn holed(mesh: &TriMesh, cause: HoleError) -> ScanError {
    match Adjacency::new(mesh) {
        Ok(adjacency) => ScanError::Holed { openings: adjacency.boundary_loops(mesh).len(), cause },
        Err(error) => error.into(),
    }
}

/// A mesh to work on in place of `mesh` (mended, in the file's coordinates), where that has more
/// triangles than are of use.
///
/// # Errors
/// When the unit is neither given nor to be told by the extent.
pub fn thinned(mesh: &TriMesh, given: &Given) -> Result<Option<Thinned>, StandError> {
    let scale = scale(mesh, given)?;
    if mesh.triangles.len() <= MANY {
        return Ok(None);
    }
    let fewer = |tolerance: f64| {
        let thinned = decimate_to(mesh, tolerance / scale, ENOUGH);
        (thinned.mesh.triangles.len() < mesh.triangles.len())
            .then_some(Thinned { mesh: thinned.mesh, error: thinned.error * scale })
    };
    Ok(fewer(THINNED_BY).or_else(|| fewer(ROUGH_THINNED_BY)))
}

/// A scan mended once, to be stood again and again as more is said about it.
#[derive(Debug, Clone)]
pub struct Workpiece {
    mended: Mended,
    /// The thinned mesh, and the scale for which it was thinned.
    thinned: Option<(f64, Option<Thinned>)>,
}

impl Workpiece {
    /// Mends `scan`, as read from its file.
    ///
    /// # Errors
    /// When the scan is no sound body, or has holes too large to be guessed.
    pub fn new(scan: &TriMesh) -> Result<Self, ScanError> {
        Ok(Self { mended: mend(scan)?, thinned: None })
    }

    /// Stands it: the same as [`stand_scan`](super::scan::stand_scan) of the scan itself.
    ///
    /// # Errors
    /// When the scan is not shaped like a last.
    pub fn stand(&mut self, given: &Given) -> Result<Warned<Standing>, ScanError> {
        let scale = scale(&self.mended.mesh, given)?;
        let known = self.thinned.take().filter(|(thinned_for, _)| *thinned_for == scale);
        let thin = match known {
            Some((_, thin)) => thin,
            None => thinned(&self.mended.mesh, given)?,
        };
        self.thinned = Some((scale, thin.clone()));
        stand_mended(self.mended.clone(), thin, given)
    }
}

/// What is told of a thinned mesh.
pub(super) fn thinned_warning(from: usize, to: usize, error: f64) -> Warning {
    let (rough, hint) = if error > THINNED_BY {
        let rough = format!(
            ": its surface is rougher than {THINNED_BY} mm, and what the piece lies on is smoother"
        );
        (rough, "look at the last from all sides; a calmer scan gives a truer piece")
    } else {
        (String::new(), "nothing to do")
    };
    Warning {
        place: "the scan".into(),
        message: format!(
            "its {from} triangles were thinned to {to} for the work; they lie within {error:.3} mm of \
             the scan{rough}"
        ),
        hint: hint.into(),
    }
}

/// From corner to corner of the box round `mesh`.
pub(super) fn diagonal(mesh: &TriMesh) -> f64 {
    mesh.bounds().map_or(0.0, |(low, high)| low.distance(high))
}
