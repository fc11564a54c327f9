//! Fewer triangles for the same surface, within a distance that is measured afterwards.
//!
//! Edges are collapsed in the order of their quadric error (M. Garland, P. Heckbert 1997, "Surface
//! simplification using quadric error metrics"), each only if it keeps the surface a manifold
//! (T. Dey, H. Edelsbrunner, S. Guha, D. Nekhayev 1999, the link condition), turns no triangle
//! over, and stays near what it replaces. That nearness is an estimate, so the result is measured
//! against the original both ways, and the collapse repeated more strictly where it is too far.

mod collapse;
mod measure;
mod quadric;
mod queue;

use self::measure::Original;
use super::TriMesh;
use super::edges::{edge_uses, edges};

/// The estimate of a collapse errs on the safe side; allowing it this many times the tolerance
/// at first makes the measured error come out just below (found by trial on balls, tubes and
/// last-like bodies).
const FIRST: f64 = 1.6;

/// After a result that is too far off, how much more the estimate is tightened than the measured
/// error asks for.
const TIGHTER: f64 = 0.75;

/// How often the collapse is repeated before the mesh is left as it was.
const TRIES: usize = 6;

/// A mesh with fewer triangles.
#[derive(Debug, Clone, PartialEq)]
pub struct Decimated {
    /// The mesh.
    pub mesh: TriMesh,
    /// The largest distance that was measured between it and the original, in the unit of the
    /// mesh: from each original vertex to the new surface, and from each new vertex and places
    /// spread over the new triangles to the original surface. Not more than the tolerance.
    pub error: f64,
}

/// Reduces `mesh` as far as `tolerance` (in the unit of the mesh) allows.
///
/// Boundaries stay in place within the tolerance, each as a loop of its own; sharp edges stay, as
/// moving a point off them costs its full distance. The result is manifold and oriented as the
/// original, and the same every time. A rough surface (noise above the tolerance) keeps nearly
/// all of its triangles.
///
/// Made for meshes from [`tidy`](super::tidy::tidy). One with an edge that has more than two
/// triangles, or two in the same direction, and any mesh under a tolerance that is not positive,
/// comes back as it is, with an error of 0.
pub fn decimate(mesh: &TriMesh, tolerance: f64) -> Decimated {
    reduced(mesh, tolerance, 0, usize::MAX)
}

/// Reduces `mesh` as [`decimate`] does, but no further than to `enough` triangles: then they stay
/// more even, and the surface nearer, than the tolerance asks for.
///
/// Where that many cannot be reached and fewer than half of the triangles would go, it comes back
/// as it is: such a surface is rough beyond the tolerance, and the little that could go is not
/// worth the long search for it.
pub fn decimate_to(mesh: &TriMesh, tolerance: f64, enough: usize) -> Decimated {
    reduced(mesh, tolerance, enough, enough.max(mesh.triangles.len() / 2))
}

/// Reduces `mesh` down to `enough` triangles, unless the first try, which allows the most, leaves
/// more than `most`.
fn reduced(mesh: &TriMesh, tolerance: f64, enough: usize, most: usize) -> Decimated {
    let unchanged = || Decimated { mesh: mesh.clone(), error: 0.0 };
    if !(tolerance > 0.0 && tolerance.is_finite() && is_manifold(mesh)) {
        return unchanged();
    }
    let mut original = None;
    let mut limit = FIRST * tolerance;
    for _ in 0..TRIES {
        let fewer = collapse::collapse(mesh, limit, enough);
        if fewer.triangles.len() == mesh.triangles.len() {
            return unchanged();
        }
        // Later tries allow less, so none of them leaves less.
        if original.is_none() && fewer.triangles.len() > most {
            return unchanged();
        }
        let original = original.get_or_insert_with(|| Original::new(mesh));
        let error = original.distance_to(&fewer, tolerance);
        if error <= tolerance {
            return Decimated { mesh: fewer, error };
        }
        limit *= TIGHTER * (tolerance / error).clamp(0.3, 1.0);
    }
    unchanged()
}

/// Whether each edge has one triangle, or two that run along it in opposite directions.
fn is_manifold(mesh: &TriMesh) -> bool {
    let n = mesh.positions.len();
    if mesh.positions.iter().any(|p| !p.is_finite())
        || mesh.triangles.iter().flatten().any(|v| *v as usize >= n)
        || mesh.triangles.iter().any(|[a, b, c]| a == b || b == c || c == a)
    {
        return false;
    }
    edges(&edge_uses(mesh)).all(|uses| match uses {
        [_] => true,
        [one, other] => one.forward != other.forward,
        _ => false,
    })
}
