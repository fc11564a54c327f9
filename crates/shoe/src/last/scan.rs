//! From a scan as read to a standing last: tidied, fine enough to draw on, stood, its marks
//! found.

use geometry::mesh::TriMesh;
use geometry::mesh::adjacency::AdjacencyError;
use geometry::mesh::holes::HoleError;
use geometry::mesh::refine::refine;
use geometry::mesh::repair::{Repair, RepairKind};
use geometry::mesh::subdivide::subdivide_smooth;
use geometry::mesh::tidy::TidyError;
use geometry::warned::{Warned, Warning};
use glam::DVec3;

use super::feather::EdgeKind;
use super::given::scale;
use super::marks::{Foot, Found};
use super::mend::{Mended, Thinned, diagonal, mend, thinned, thinned_warning};
use super::stand::{Given, Last, StandError, stand};

/// A scan is coarse when its mean edge is longer than this share of its diagonal (4 mm on a
/// last of 260 mm), and its triangles are then divided down to the second share (3 mm).
const COARSE_SHARE: f64 = 1.0 / 65.0;
const FINE_SHARE: f64 = 1.0 / 87.0;

/// An opening longer than this share of the scan is no top: those are a third as long as the
/// last.
const OPEN_SHARE: f64 = 0.6;

/// A last on its feet.
#[derive(Debug, Clone)]
pub struct Standing {
    /// The last with its marks. Its mesh is the one to work on: divided where the scan is
    /// coarse, thinned where it is very fine.
    pub last: Last,
    /// The scan itself, mended, with all its triangles, in the last frame: to be measured.
    pub scan: TriMesh,
    /// How many openings its surface has: the top, or none.
    pub openings: usize,
    /// What was mended, in the file's coordinates.
    pub repairs: Vec<Repair>,
}

/// Why a scan is no last.
#[derive(Debug, Clone, thiserror::Error)]
pub enum ScanError {
    /// It is no sound body.
    #[error(transparent)]
    Tidy(#[from] TidyError),
    /// Its surface is not sound.
    #[error("the scan's surface is not sound")]
    Surface(#[from] AdjacencyError),
    /// It has a hole that cannot be filled.
    #[error(
        "the scan is open in {openings} place{}, and only the top may be",
        if *openings == 1 { "" } else { "s" }
    )]
    Holed {
        /// How many openings the surface has, the top among them.
        openings: usize,
        /// What is wrong with one.
        #[source]
        cause: HoleError,
    },
    /// Its opening is not at the top.
    #[error(
        "the scan is open at the {side} ({size:.0} mm across): that part of the last is missing; scan \
         it again, standing on its top"
    )]
    OpenBelow {
        /// Which side, in words.
        side: &'static str,
        /// How far across, mm.
        size: f64,
    },
    /// Its opening is too long for a top.
    #[error(
        "the scan is open along {size:.0} mm, which no top is: a whole side of the last is missing, its \
         bottom or its wall; scan it again from all sides"
    )]
    OpenAllAlong {
        /// How long the opening is, mm.
        size: f64,
    },
    /// It could not be stood.
    #[error(transparent)]
    Stand(#[from] StandError),
}

/// Stands a scan as read from its file.
///
/// It is mended first. A coarse scan is divided without changing its surface. Where no edge
/// shows between bottom and wall (a foot), its facets cannot be meant either, and it is smoothed
/// as well. A very fine one is thinned within a twentieth of a millimetre.
///
/// # Errors
/// When the scan is no sound body, or not shaped like a last.
pub fn stand_scan(scan: &TriMesh, given: &Given) -> Result<Warned<Standing>, ScanError> {
    let mended = mend(scan)?;
    let thin = thinned(&mended.mesh, given)?;
    stand_mended(mended, thin, given)
}

/// The last step of [`stand_scan`] alone: stands a mended scan, working on the thinned one where
/// there is one.
///
/// # Errors
/// When the scan is not shaped like a last.
pub fn stand_mended(
    mended: Mended,
    thin: Option<Thinned>,
    given: &Given,
) -> Result<Warned<Standing>, ScanError> {
    let Mended { mesh, repairs, opening } = mended;
    let mut warnings = Vec::new();
    let size = diagonal(&mesh);
    let scanned = mesh.triangles.len();
    if let Some(open) = opening.as_ref().filter(|open| open.extent > OPEN_SHARE * size) {
        return Err(ScanError::OpenAllAlong { size: open.extent * scale(&mesh, given)? });
    }
    let working = thin.as_ref().map_or(&mesh, |thin| &thin.mesh);
    let coarse = mean_edge(working) > COARSE_SHARE * size;
    let mut stood = if coarse {
        stand(&refine(working, FINE_SHARE * size), given)?
    } else {
        stand(working, given)?
    };
    let smooth = coarse && stood.value.marks.feather_line.edge == EdgeKind::Absent;
    if smooth {
        let mut smoothed = working.clone();
        while mean_edge(&smoothed) > FINE_SHARE * size {
            smoothed = subdivide_smooth(&smoothed);
        }
        stood = stand(&smoothed, given)?;
    }
    let worked = stood.value.mesh.triangles.len();
    if let Some(Thinned { error, .. }) = thin {
        warnings.push(thinned_warning(scanned, worked, error));
    }
    if coarse {
        let how = if smooth { "and smoothed" } else { "without changing the surface" };
        warnings.push(Warning {
            place: "the scan".into(),
            message: format!(
                "its triangles are coarse; they were divided from {scanned} into {worked} {how}"
            ),
            hint: "a finer scan gives a truer piece".into(),
        });
    }
    warnings.extend(stood.warnings);
    let mut last = stood.value;
    if opening.is_some() && last.marks.feather_line.edge == EdgeKind::Absent {
        warnings.push(maybe_upside_down(&mut last));
    }
    let mut scan = mesh;
    for p in &mut scan.positions {
        *p = last.last_from_file.transform_point3(*p);
    }
    if let Some(opening) = &opening {
        open_at_the_top(&scan, last.last_from_file.transform_point3(opening.middle))?;
    }
    let openings = usize::from(opening.is_some());
    warnings.extend(ends_filled(&repairs, &scan, &last));
    let repairs = repairs.into_iter().map(|repair| placed(repair, &last)).collect();
    Ok(Warned { value: Standing { last, scan, openings, repairs }, warnings })
}

/// A scan whose sole is missing is open on one side and shows no edge on the other, as a foot does.
fn maybe_upside_down(last: &mut Last) -> Warning {
    const UNSURE: f64 = 0.4;
    for finding in &mut last.found {
        if matches!(finding.what, Found::BottomSide | Found::HeelHeight(_) | Found::Foot(_)) {
            finding.sureness = finding.sureness.min(UNSURE);
        }
    }
    Warning {
        place: "the opening".into(),
        message:
            "it is taken for the top, and no edge shows at the bottom: a foot looks so, but also a \
                  last whose sole was not scanned, standing upside down"
                .into(),
        hint: "look at the pictures; if it stands on its head, scan the sole too".into(),
    }
}

/// Where the foremost or rearmost place of the last lies about a hole that was filled.
fn ends_filled(repairs: &[Repair], scan: &TriMesh, last: &Last) -> Option<Warning> {
    /// A filled hole this near to an end may have made it, as a share of the length.
    const NEAR: f64 = 0.06;
    let (low, high) = scan.bounds()?;
    let near = NEAR * (high.x - low.x);
    let holes = repairs.iter().filter(|repair| repair.kind == RepairKind::HoleFilled);
    let mut places = holes.flat_map(|repair| &repair.places);
    let x = |place: &DVec3| last.last_from_file.transform_point3(*place).x;
    places.any(|p| x(p) < low.x + near || x(p) > high.x - near).then(|| Warning {
        place: "length".into(),
        message:
            "a hole was filled at the very front or back, so length, size and toe spring rest on \
                  what was made up there"
                .into(),
        hint: "measure the length on the last itself, or scan that end again".into(),
    })
}

/// The repair told in millimetres, a single one with its place on the last in words.
fn placed(repair: Repair, last: &Last) -> Repair {
    let mut told = repair.in_unit(last.unit.in_mm(), "mm");
    let sought = [RepairKind::HoleFilled, RepairKind::SpikesRemoved, RepairKind::CrossingLeft];
    if let ([place], true) = (&told.places[..], sought.contains(&told.kind)) {
        let at = last.last_from_file.transform_point3(*place);
        let inside = (at.y >= 0.0) == (last.foot == Foot::Right);
        let side = if at.y.abs() < 5.0 {
            "in the middle"
        } else if inside {
            "on the inside"
        } else {
            "on the outside"
        };
        told.message += &format!(
            "; {:.0} mm {} the seat and {:.0} mm {} it, {side}",
            at.x.abs(),
            if at.x < 0.0 { "behind" } else { "in front of" },
            at.z.abs(),
            if at.z < 0.0 { "below" } else { "above" },
        );
    }
    told
}

/// Refuses a standing scan whose `opening` is not at its top.
fn open_at_the_top(scan: &TriMesh, opening: DVec3) -> Result<(), ScanError> {
    let Some((low, high)) = scan.bounds() else { return Ok(()) };
    // The area that is missing faces where the areas that are there do not.
    let missing = -(0..scan.triangles.len() as u32).map(|f| scan.area_vector(f)).sum::<DVec3>();
    let middle = (low + high) / 2.0;
    let share = missing.normalize_or_zero();
    if share.z > 0.5 && opening.z > middle.z {
        return Ok(());
    }
    let side = match share {
        s if s.z < -0.5 => "bottom",
        s if s.x > 0.5 => "toe",
        s if s.x < -0.5 => "back",
        _ => "side",
    };
    Err(ScanError::OpenBelow { side, size: (missing.length() / 2.0).sqrt() })
}

fn mean_edge(mesh: &TriMesh) -> f64 {
    let sides = mesh.triangles.iter().flat_map(|t| [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])]);
    let total: f64 =
        sides.map(|(a, b)| mesh.positions[a as usize].distance(mesh.positions[b as usize])).sum();
    total / (3 * mesh.triangles.len()).max(1) as f64
}
