//! Makes one clean body of what a scanner or another program wrote.

use glam::DVec3;

use super::TriMesh;
use super::base::plain::{Form, form};
use super::bodies::{bodies, largest_body, middle, only, split_touching, surface};
use super::branches::unbranch;
use super::caps::mend_caps;
use super::orient::{Oriented, orient_outward, twisted};
use super::repair::{Repair, RepairKind, largest_places};
use super::seams::{close_seams, loose_tolerance};
use super::shells;
use super::spikes::flatten_spikes;
use super::weld::{size_and_middle, weld_counted};

/// A second body with more than this part of the first one's surface is a second last, not a
/// crumb. A last's surface varies by less than half over all sizes.
const COMPARABLE: f64 = 0.2;

/// Bodies below this part of the largest surface are not looked at closely: a last on a ground
/// sheet of 1 by 1 m, scanned from both sides, still has more.
const LARGE: f64 = 0.02;

/// A body beside a plate is the main one when it spans this part of the plate.
const LARGE_SPAN: f64 = 0.1;

/// No more bodies than this are looked at closely.
const MOST_LARGE: usize = 16;

/// The hint where a repair changed nothing of the surface.
const NOTHING: &str = "nothing to do";

/// Coordinates in whole single precision steps (STL, most PLY) have lost the shape where a step is
/// this share of the span: 0.03 mm of 260, as coarse as a scanner's noise.
const COARSE_STEP: f64 = 1e-4;

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
    /// Two or more bodies of comparable size.
    #[error(
        "two lasts in one file: keep one ({count} bodies of comparable size; the largest have {first:.0} and {second:.0} mm² of surface; delete all but one in the scan program)"
    )]
    SeveralBodies {
        /// Bodies of comparable size.
        count: usize,
        /// Surface of the largest, mm².
        first: f64,
        /// Surface of the next, mm².
        second: f64,
    },
}

/// One clean body, and what was done to get it.
#[derive(Debug, Clone, PartialEq)]
pub struct Tidied {
    /// The body.
    pub mesh: TriMesh,
    /// What was done, in the order in which it was done.
    pub repairs: Vec<Repair>,
}

/// Makes one clean body of `mesh`: joins points within `tolerance`, drops collapsed and doubled
/// triangles, mends edges with more than two triangles, keeps the largest body, and turns it
/// outward. Lengths are in the unit of the mesh, whatever it is. The result has an
/// [`Adjacency`](super::adjacency::Adjacency), and every vertex is used and has one fan of
/// triangles. A repair tells each thing that was done, with counts and places.
///
/// A smaller body is dropped; one that lies inside the largest (the inner wall of a hollow model)
/// also when it is large. Holes are not filled here.
///
/// # Errors
/// When the mesh is empty, damaged or far too large, or holds several bodies of comparable size.
pub fn tidy(mesh: &TriMesh, tolerance: f64) -> Result<Tidied, TidyError> {
    let extent = check(mesh, tolerance)?;
    let mut repairs = Vec::new();

    let mended = unbranch(&welded(mesh, tolerance, extent, &mut repairs)?);
    if mended.dropped > 0 {
        repairs.push(Repair::new(
            RepairKind::FinsRemoved,
            mended.dropped,
            mended.dropped_places,
            format!(
                "edges with more than two triangles: {}; triangles of fins removed: {}",
                mended.branching, mended.dropped
            ),
            "look at the surface there: a fin or an inner wall was cut off",
        ));
    }
    if mended.parted > 0 {
        repairs.push(parted(mended.parted, mended.parted_places));
    }
    let zipped = zipped(mended.mesh, &mut repairs);
    let untwisted = untwist(zipped, &mut repairs);
    let body = main_body(&untwisted, &mut repairs)?;
    let (body, touching) = split_touching(&body);
    if touching > 0 {
        let added = &body.positions[body.positions.len() - touching..];
        repairs.push(parted(touching, largest_places(added.iter().map(|p| (0.0, *p)).collect())));
    }
    let mut body = turned(&body, &mut repairs);
    despiked(&mut body, &mut repairs);
    let mesh = without_caps(body, &mut repairs);
    if mesh.triangles.is_empty() {
        return Err(TidyError::NothingLeft { tolerance, extent });
    }
    Ok(Tidied { mesh, repairs })
}

/// Points joined, and what collapsed by it removed.
fn welded(
    mesh: &TriMesh,
    tolerance: f64,
    extent: f64,
    repairs: &mut Vec<Repair>,
) -> Result<TriMesh, TidyError> {
    let mut welded = weld_counted(mesh, tolerance);
    if let Some(wider) = loose_tolerance(&welded.mesh, tolerance) {
        welded = weld_counted(mesh, wider);
    }
    if welded.mesh.triangles.is_empty() {
        return Err(TidyError::NothingLeft { tolerance, extent });
    }
    // With as many left as removed, the whole surface was there twice.
    let twice = welded.doubled >= welded.mesh.triangles.len();
    let doubled_kind =
        if twice { RepairKind::DoubledShellRemoved } else { RepairKind::DoubledTrianglesRemoved };
    let steps = [
        (
            RepairKind::PointsJoined,
            welded.joined,
            welded.joined_places,
            "points welded to a neighbour",
        ),
        (
            RepairKind::EmptyTrianglesRemoved,
            welded.degenerate,
            welded.degenerate_places,
            "triangles without area removed",
        ),
        (doubled_kind, welded.doubled, welded.doubled_places, "doubled triangles removed"),
        (
            RepairKind::UnusedPointsRemoved,
            welded.unused,
            Vec::new(),
            "points without a triangle removed",
        ),
    ];
    for (kind, count, places, what) in steps {
        if count > 0 {
            repairs.push(Repair::new(kind, count, places, format!("{what}: {count}"), NOTHING));
        }
    }
    Ok(welded.mesh)
}

fn parted(count: usize, places: Vec<DVec3>) -> Repair {
    Repair::new(
        RepairKind::TouchingParted,
        count,
        places,
        format!("points parted where the surface only touched itself: {count}"),
        "look at the surface there",
    )
}

/// Rims that nearly match joined.
fn zipped(mesh: TriMesh, repairs: &mut Vec<Repair>) -> TriMesh {
    let Some(zipped) = close_seams(&mesh) else { return mesh };
    let length: f64 = zipped.closed.iter().map(|(length, _)| length / 2.0).sum();
    repairs.push(Repair::new(
        RepairKind::SeamsClosed,
        zipped.closed.len(),
        largest_places(zipped.closed),
        format!("rims that nearly match closed like a seam, over a length of {length:.4}"),
        NOTHING,
    ));
    split_touching(&zipped.mesh).0
}

/// Points that stand out alone pulled back.
fn despiked(mesh: &mut TriMesh, repairs: &mut Vec<Repair>) {
    let spikes = flatten_spikes(mesh);
    if !spikes.is_empty() {
        repairs.push(Repair::new(
            RepairKind::SpikesRemoved,
            spikes.len(),
            largest_places(spikes.clone()),
            format!("single points far off the surface pulled back into it: {}", spikes.len()),
            "look at the surface there, if it should have a point",
        ));
    }
}

/// Turned outward, each triangle that was not.
fn turned(body: &TriMesh, repairs: &mut Vec<Repair>) -> TriMesh {
    let Oriented { mesh, flipped, flat, .. } = orient_outward(body);
    if flipped > 0 {
        let was = (0..).zip(mesh.triangles.iter().zip(&body.triangles));
        let places = was.filter(|(_, (new, old))| new != old);
        let places = places.map(|(face, _)| size_and_middle(body.corners(face))).collect();
        repairs.push(Repair::new(
            RepairKind::TurnedOutward,
            flipped,
            largest_places(places),
            format!("triangles flipped to face outward: {flipped}"),
            NOTHING,
        ));
    }
    if flat > 0 {
        repairs.push(Repair::new(
            RepairKind::FlatLeft,
            flat,
            Vec::new(),
            "the surface is flat: inside and outside cannot be told",
            "flip it by hand if it faces the wrong way",
        ));
    }
    mesh
}

/// Refuses what cannot be worked on; returns the longest side of the box around the mesh.
fn check(mesh: &TriMesh, tolerance: f64) -> Result<f64, TidyError> {
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
    Ok(extent)
}

/// Drops the smaller triangle of each pair that cannot face the same way.
fn untwist(mesh: TriMesh, repairs: &mut Vec<Repair>) -> TriMesh {
    let twisted = twisted(&mesh);
    if twisted.is_empty() {
        return mesh;
    }
    let areas = mesh.face_areas();
    let mut dropped = vec![false; mesh.triangles.len()];
    for [a, b] in twisted {
        if !dropped[a as usize] && !dropped[b as usize] {
            let smaller = if areas[b as usize] <= areas[a as usize] { b } else { a };
            dropped[smaller as usize] = true;
        }
    }
    let kept: Vec<u32> = (0..).zip(&dropped).filter(|(_, d)| !**d).map(|(f, _)| f).collect();
    let count = mesh.triangles.len() - kept.len();
    let gone = (0..).zip(&dropped).filter(|(_, d)| **d);
    repairs.push(Repair::new(
        RepairKind::TwistedRemoved,
        count,
        largest_places(gone.map(|(f, _)| size_and_middle(mesh.corners(f))).collect()),
        format!(
            "triangles removed where the surface is twisted so that it has no outside: {count}"
        ),
        "look at the surface there; a strip that turns over does not belong to a solid form",
    ));
    only(&mesh, &kept)
}

/// Mends triangles without height.
fn without_caps(mesh: TriMesh, repairs: &mut Vec<Repair>) -> TriMesh {
    let mended = mend_caps(&mesh);
    let count = mended.flipped + mended.dropped;
    if count > 0 {
        repairs.push(Repair::new(
            RepairKind::SliversMended,
            count,
            mended.mended_places,
            format!("triangles without height mended: {count}"),
            NOTHING,
        ));
    }
    if mended.left > 0 {
        repairs.push(Repair::new(
            RepairKind::SliversLeft,
            mended.left,
            mended.left_places,
            format!("triangles without height left as they are: {}", mended.left),
            "look at the surface there; scan or export it again if it is crumpled",
        ));
    }
    // Without a triangle at its rim the body may hang together at a point only.
    if mended.dropped > 0 { split_touching(&largest_body(&mended.mesh)).0 } else { mended.mesh }
}

/// The main body alone, if it is the only large one of its kind.
fn main_body(mesh: &TriMesh, repairs: &mut Vec<Repair>) -> Result<TriMesh, TidyError> {
    let areas = mesh.face_areas();
    let mut found: Vec<Body> = bodies(mesh)
        .into_iter()
        .map(|faces| Body { area: surface(&areas, &faces), faces, form: None })
        .collect();
    if found.len() > 1 {
        let least = LARGE * found[0].area;
        for body in found.iter_mut().take(MOST_LARGE).filter(|body| body.area >= least) {
            body.form = Some(form(&only(mesh, &body.faces)));
        }
    }
    let main = main_of(&found).ok_or(TidyError::Empty)?;
    let main = found.remove(main);
    let (mut comparable, mut sorted) = (Vec::new(), Sorted::default());
    let main_mesh = only(mesh, &main.faces);
    let mut twin = shells::Twin::new(&main_mesh);
    for body in found {
        let sized = (body.area, middle(mesh, &body.faces));
        if body.is_base_of(&main) {
            sorted.bases.push(sized);
        } else if body.area <= COMPARABLE * main.area {
            sorted.small.push(sized);
        } else if twin.is_doubled_by(&only(mesh, &body.faces)) {
            sorted.doubled.push(sized);
        } else if lies_inside(mesh, &body.faces, &main.faces) {
            sorted.inner.push(sized);
        } else {
            comparable.push(body.area);
        }
    }
    if let Some(&second) = comparable.first() {
        let (first, second) = (main.area.max(second), main.area.min(second));
        return Err(TidyError::SeveralBodies { count: comparable.len() + 1, first, second });
    }
    sorted.report(repairs);
    drop(twin);
    Ok(main_mesh)
}

/// One of the bodies of a mesh.
struct Body {
    faces: Vec<u32>,
    area: f64,
    /// What it looks like and its span, for the large ones.
    form: Option<(Form, f64)>,
}

impl Body {
    /// Whether this is what `main` stood on: a plate, or a plain form where `main` is none.
    fn is_base_of(&self, main: &Self) -> bool {
        let (Some((own, span)), Some((main_form, main_span))) = (self.form, main.form) else {
            return false;
        };
        match own {
            Form::Plate => main_form != Form::Plate,
            Form::Plain => main_form == Form::Other && (span < main_span || self.area > main.area),
            Form::Other => false,
        }
    }
}

/// Which body is the main one: the largest, unless that is a plate, block or rod and another of
/// fair size is none.
fn main_of(found: &[Body]) -> Option<usize> {
    let (form, span) = found.first()?.form.unwrap_or((Form::Other, 0.0));
    let fair = |body: &Body| match (form, body.form) {
        (Form::Plate, Some((Form::Other, its))) => its >= LARGE_SPAN * span,
        (Form::Plate, Some((Form::Plain, its))) => its >= COMPARABLE * span,
        (Form::Plain, Some((Form::Other, its))) => {
            its >= 0.5 * span && body.area >= COMPARABLE * found[0].area
        }
        _ => false,
    };
    let better = |wanted: Form| {
        found.iter().position(|body| fair(body) && body.form.is_some_and(|(is, _)| is == wanted))
    };
    Some(better(Form::Other).or_else(|| better(Form::Plain)).unwrap_or(0))
}

/// The smaller bodies by what they are, each with its size and place.
#[derive(Default)]
struct Sorted {
    bases: Vec<(f64, DVec3)>,
    small: Vec<(f64, DVec3)>,
    doubled: Vec<(f64, DVec3)>,
    inner: Vec<(f64, DVec3)>,
}

impl Sorted {
    fn report(self, repairs: &mut Vec<Repair>) {
        let kinds = [
            (
                RepairKind::BaseCut,
                self.bases,
                "plates, blocks or rods beside the body removed",
                "nothing to do, if the body stood on them",
            ),
            (
                RepairKind::CrumbsRemoved,
                self.small,
                "small bodies removed",
                "nothing to do, if they were dust or a stand",
            ),
            (
                RepairKind::DoubledShellRemoved,
                self.doubled,
                "second copies of the surface, a hair beside it, removed",
                NOTHING,
            ),
            (
                RepairKind::InnerShellRemoved,
                self.inner,
                "bodies inside the largest removed",
                "nothing to do, if the model was hollow",
            ),
        ];
        for (kind, found, what, hint) in kinds {
            let count = found.len();
            if count > 0 {
                let places = largest_places(found);
                repairs.push(Repair::new(kind, count, places, format!("{what}: {count}"), hint));
            }
        }
    }
}

/// Whether `inner` lies inside `outer`: by the box around them, and by the winding number of
/// `outer` (A. Jacobson, L. Kavan, O. Sorkine-Hornung 2013, generalised to open surfaces, eq. 5)
/// around a point of `inner`.
fn lies_inside(mesh: &TriMesh, inner: &[u32], outer: &[u32]) -> bool {
    let outer = orient_outward(&only(mesh, outer)).mesh;
    let inner = only(mesh, inner);
    let (Some((low, high)), Some((inner_low, inner_high))) = (outer.bounds(), inner.bounds())
    else {
        return false;
    };
    let in_box = inner_low.cmpge(low).all() && inner_high.cmple(high).all();
    in_box && winding_number(&outer, inner.positions[0]) > 0.5
}

/// How often the surface goes round `point`: 1 inside a closed outward surface, 0 outside.
fn winding_number(mesh: &TriMesh, point: DVec3) -> f64 {
    let angles = (0..mesh.triangles.len() as u32).map(|face| {
        // Solid angle of a triangle: A. van Oosterom, J. Strackee 1983.
        let [a, b, c] = mesh.corners(face).map(|p| p - point);
        let (la, lb, lc) = (a.length(), b.length(), c.length());
        let below = la * lb * lc + a.dot(b) * lc + b.dot(c) * la + c.dot(a) * lb;
        2.0 * a.dot(b.cross(c)).atan2(below)
    });
    angles.sum::<f64>() / (4.0 * std::f64::consts::PI)
}
