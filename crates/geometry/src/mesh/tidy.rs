//! Makes one clean body of what a scanner or another program wrote.

use glam::DVec3;

use super::TriMesh;
use super::bodies::{bodies, only, split_touching, surface};
use super::branches::unbranch;
use super::orient::{Oriented, orient_outward};
use super::weld::weld_counted;
use crate::warned::{Warned, Warning};

/// A second body with more than this part of the first one's surface is a second last, not a
/// crumb. A last's surface varies by less than half over all sizes; stands and plates that are
/// scanned along are reported too, and must be cut off by hand.
const COMPARABLE: f64 = 0.2;

/// The largest extent that is taken for millimetres, mm. Far above any last; keeps the
/// arithmetic of areas and volumes exact enough.
const LARGEST_EXTENT: f64 = 1e6;

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
    /// Too far across for millimetres.
    #[error("the mesh is {extent:.0} mm across (the most is {limit:.0} mm); correct its unit")]
    TooLarge {
        /// The longest side of the box around it, or the farthest coordinate, mm.
        extent: f64,
        /// The most that is taken.
        limit: f64,
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

/// Makes one clean body of `mesh`, in mm: joins points within `tolerance` mm, drops collapsed
/// and doubled triangles, mends edges with more than two triangles, keeps the largest body, and
/// turns it outward. The result has an [`Adjacency`](super::adjacency::Adjacency), and every
/// vertex is used and has one fan of triangles. A warning tells each thing that was done, with counts.
///
/// A smaller body is dropped; one that lies inside the largest (the inner wall of a hollow model)
/// also when it is large. Holes are not filled here.
///
/// # Errors
/// When the mesh is empty, damaged or far too large, or holds several bodies of comparable size.
pub fn tidy(mesh: &TriMesh, tolerance: f64) -> Result<Warned<TriMesh>, TidyError> {
    let extent = check(mesh, tolerance)?;
    let mut warnings = Vec::new();

    let welded = weld_counted(mesh, tolerance);
    if welded.mesh.triangles.is_empty() {
        return Err(TidyError::NothingLeft { tolerance, extent });
    }
    say(&mut warnings, welded.joined, "points were welded to a neighbour", "nothing to do");
    say(&mut warnings, welded.degenerate, "triangles without area were removed", "nothing to do");
    say(&mut warnings, welded.doubled, "doubled triangles were removed", "nothing to do");
    say(&mut warnings, welded.unused, "points without a triangle were removed", "nothing to do");

    let mended = unbranch(&welded.mesh);
    if mended.branching > 0 {
        let message = format!(
            "{} edges had more than two triangles: {} triangles of fins were removed, {} points parted",
            mended.branching, mended.dropped, mended.parted
        );
        say_text(
            &mut warnings,
            message,
            "look at the mesh there, and repair it in the scan program",
        );
    }
    let untwisted = untwist(mended.mesh, &mut warnings);
    let body = main_body(&untwisted, &mut warnings)?;
    let (body, _) = split_touching(&body);
    let Oriented { mesh, flipped, flat, .. } = orient_outward(&body);
    say(&mut warnings, flipped, "triangles were flipped to face outward", "nothing to do");
    if flat > 0 {
        let message = "the surface is flat: inside and outside cannot be told".to_owned();
        say_text(&mut warnings, message, "flip it by hand if it faces the wrong way");
    }
    Ok(Warned { value: mesh, warnings })
}

fn say(warnings: &mut Vec<Warning>, count: usize, what: &str, hint: &str) {
    if count > 0 {
        say_text(warnings, format!("{count} {what}"), hint);
    }
}

fn say_text(warnings: &mut Vec<Warning>, message: String, hint: &str) {
    warnings.push(Warning { place: "mesh".to_owned(), message, hint: hint.to_owned() });
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
    let farthest = low.abs().max_element().max(high.abs().max_element());
    let extent = (high - low).max_element();
    if farthest > LARGEST_EXTENT {
        return Err(TidyError::TooLarge { extent: farthest, limit: LARGEST_EXTENT });
    }
    Ok(extent)
}

/// Drops the smaller triangle of each pair that cannot face the same way.
fn untwist(mesh: TriMesh, warnings: &mut Vec<Warning>) -> TriMesh {
    let twisted = orient_outward(&mesh).twisted;
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
    say(
        warnings,
        count,
        "triangles were removed where the surface is twisted so that it has no outside",
        "look at the mesh there, and repair it in the scan program",
    );
    only(&mesh, &kept)
}

/// The largest body alone, if it is the only large one.
fn main_body(mesh: &TriMesh, warnings: &mut Vec<Warning>) -> Result<TriMesh, TidyError> {
    let areas = mesh.face_areas();
    let mut bodies = bodies(mesh).into_iter();
    let main = bodies.next().ok_or(TidyError::Empty)?;
    let first = surface(&areas, &main);
    let (mut comparable, mut inner, mut small) = (Vec::new(), 0, 0);
    for faces in bodies {
        let area = surface(&areas, &faces);
        if area <= COMPARABLE * first {
            small += 1;
        } else if lies_inside(mesh, &faces, &main) {
            inner += 1;
        } else {
            comparable.push(area);
        }
    }
    if let Some(&second) = comparable.first() {
        return Err(TidyError::SeveralBodies { count: comparable.len() + 1, first, second });
    }
    say(
        warnings,
        small,
        "small bodies were removed",
        "nothing to do, if they were dust or a stand",
    );
    say(
        warnings,
        inner,
        "bodies inside the largest were removed",
        "nothing to do, if the model was hollow",
    );
    Ok(only(mesh, &main))
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
