//! From a scan as read to a standing last: tidied, fine enough to draw on, stood, its marks
//! found.

use geometry::mesh::TriMesh;
use geometry::mesh::adjacency::{Adjacency, AdjacencyError};
use geometry::mesh::refine::refine;
use geometry::mesh::subdivide::subdivide_smooth;
use geometry::mesh::tidy::{Tidied, TidyError, tidy};
use geometry::warned::{Warned, Warning};

use super::feather::EdgeKind;
use super::stand::{Given, Last, StandError, stand};

/// Points nearer than this share of the scan's diagonal are one point: far below what any
/// scanner resolves.
const WELD_SHARE: f64 = 1e-6;

/// A scan is coarse when its mean edge is longer than this share of its diagonal (4 mm on a
/// last of 260 mm), and its triangles are then divided down to the second share (3 mm).
const COARSE_SHARE: f64 = 1.0 / 65.0;
const FINE_SHARE: f64 = 1.0 / 87.0;

/// A last on its feet.
#[derive(Debug, Clone)]
pub struct Standing {
    /// The last with its marks.
    pub last: Last,
    /// How many openings its surface has; one is usual, the top.
    pub openings: usize,
}

/// Why a scan is no last.
#[derive(Debug, thiserror::Error)]
pub enum ScanError {
    /// It is no sound body.
    #[error(transparent)]
    Tidy(#[from] TidyError),
    /// Its surface is not sound.
    #[error("the scan's surface is not sound")]
    Surface(#[from] AdjacencyError),
    /// It could not be stood.
    #[error(transparent)]
    Stand(#[from] StandError),
    /// It could not be stood, and it has holes, which may be why.
    #[error("the scan has {openings} openings; close all but the top in the scanning program")]
    Holed {
        /// How many openings the surface has, the top among them.
        openings: usize,
        /// What went wrong.
        #[source]
        cause: StandError,
    },
}

/// Stands a scan as read from its file.
///
/// A coarse scan is divided without changing its surface. Where no edge shows between bottom
/// and wall (a foot), its facets cannot be meant either, and it is smoothed as well.
///
/// # Errors
/// When the scan is no sound body, or not shaped like a last.
pub fn stand_scan(scan: &TriMesh, given: &Given) -> Result<Warned<Standing>, ScanError> {
    let diagonal = scan.bounds().map_or(0.0, |(low, high)| low.distance(high));
    let Tidied { mesh: tidied, repairs } = tidy(scan, WELD_SHARE * diagonal)?;
    let mut warnings: Vec<Warning> = repairs.into_iter().map(Warning::from).collect();
    let openings = Adjacency::new(&tidied)?.boundary_loops(&tidied).len();
    let scanned = tidied.triangles.len();
    let coarse = mean_edge(&tidied) > COARSE_SHARE * diagonal;
    let divided = if coarse { refine(&tidied, FINE_SHARE * diagonal) } else { tidied.clone() };
    let refused = |cause| match openings {
        0 | 1 => ScanError::Stand(cause),
        _ => ScanError::Holed { openings, cause },
    };
    let mut stood = stand(&divided, given).map_err(refused)?;
    let smooth = coarse && stood.value.marks.feather_line.edge == EdgeKind::Absent;
    if smooth {
        let mut smoothed = tidied;
        while mean_edge(&smoothed) > FINE_SHARE * diagonal {
            smoothed = subdivide_smooth(&smoothed);
        }
        stood = stand(&smoothed, given).map_err(refused)?;
    }
    if coarse {
        let how = if smooth { "and smoothed" } else { "without changing the surface" };
        warnings.push(Warning {
            place: "the scan".into(),
            message: format!(
                "its triangles are coarse; they were divided from {} into {} {how}",
                scanned,
                stood.value.mesh.triangles.len()
            ),
            hint: "a finer scan gives a truer piece".into(),
        });
    }
    warnings.extend(stood.warnings);
    Ok(Warned { value: Standing { last: stood.value, openings }, warnings })
}

fn mean_edge(mesh: &TriMesh) -> f64 {
    let sides = mesh.triangles.iter().flat_map(|t| [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])]);
    let total: f64 =
        sides.map(|(a, b)| mesh.positions[a as usize].distance(mesh.positions[b as usize])).sum();
    total / (3 * mesh.triangles.len()).max(1) as f64
}
