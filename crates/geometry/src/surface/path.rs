//! Joins points on a surface into paths that cross one triangle at a time.

use super::{Surface, SurfacePoint, Walk};
use crate::mesh::TriMesh;

/// Why two points could not be joined.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PathError {
    /// The walk from one point did not come by the other.
    #[error(
        "no path over the surface from {from} to {to}: it left after {walked:.1} mm (they are {apart:.2} mm apart); look for a hole or a fold there"
    )]
    Lost {
        /// The starting point, mm.
        from: glam::DVec3,
        /// The goal, mm.
        to: glam::DVec3,
        /// Length walked, mm.
        walked: f64,
        /// Straight distance, mm.
        apart: f64,
    },
    /// Fewer than three different points.
    #[error("a closed path needs at least three different points, {0} given")]
    TooFew(usize),
}

/// Within this of a vertex a path goes through it even when asked not to snap, mm: it keeps
/// triangles from losing their area.
const LEAST_SNAP: f64 = 1e-3;

/// The points between `from` and `to` (both left out) of a path straight over the surface: in
/// the plane that holds both points and the mean normal. For points that lie near each other,
/// against the radius of the surface. Within `snap` mm of a vertex the path goes through it.
///
/// # Errors
/// When the plane section from `from` does not come by `to`.
pub fn path_between(
    surface: &Surface<'_>,
    from: SurfacePoint,
    to: SurfacePoint,
    snap: f64,
) -> Result<Vec<SurfacePoint>, PathError> {
    if from == to || surface.common_face(&from, &to).is_some() {
        return Ok(Vec::new());
    }
    // A vertex behind the start can draw the walk back; then it is better not to snap.
    walk_between(surface, from, to, snap)
        .or_else(|_| walk_between(surface, from, to, snap.min(LEAST_SNAP)))
}

fn walk_between(
    surface: &Surface<'_>,
    from: SurfacePoint,
    to: SurfacePoint,
    snap: f64,
) -> Result<Vec<SurfacePoint>, PathError> {
    let (a, b) = (from.position(surface.mesh), to.position(surface.mesh));
    let apart = a.distance(b);
    let up = surface.normal(&from) + surface.normal(&to);
    let mut walk = Walk::new(surface, from, (b - a).cross(up), b - a, snap);
    let mut between = Vec::new();
    let mut walked = 0.0;
    // A path over a fold is longer than the straight line, but not many times.
    while walked <= 4.0 * apart + 4.0 * snap {
        let Some(step) = walk.next() else { break };
        if step.at == to {
            return Ok(between);
        }
        between.push(step.at);
        if surface.common_face(&step.at, &to).is_some() {
            return Ok(between);
        }
        walked = step.walked;
    }
    Err(PathError::Lost { from: a, to: b, walked, apart })
}

/// A line on a surface; neighbours on it share a triangle.
#[derive(Debug, Clone, PartialEq)]
pub struct SurfacePath {
    /// The points, in order.
    pub points: Vec<SurfacePoint>,
    /// Whether the last joins the first again.
    pub closed: bool,
}

impl SurfacePath {
    /// Length of the path, mm.
    pub fn length(&self, mesh: &TriMesh) -> f64 {
        let n = self.points.len();
        let count = if self.closed { n } else { n.saturating_sub(1) };
        let at = |i: usize| self.points[i % n].position(mesh);
        (0..count).map(|i| at(i).distance(at(i + 1))).sum()
    }
}

/// Removes the places where a path runs to a point and straight back.
fn remove_spurs(points: &mut Vec<SurfacePoint>) {
    let mut kept: Vec<SurfacePoint> = Vec::with_capacity(points.len());
    for point in points.drain(..) {
        if kept.len() >= 2 && kept[kept.len() - 2] == point {
            kept.pop();
        } else if kept.last() != Some(&point) {
            kept.push(point);
        }
    }
    *points = kept;
}

/// Joins `corners` in order into one open path.
///
/// # Errors
/// When two neighbours cannot be joined.
pub fn open_path(
    surface: &Surface<'_>,
    corners: &[SurfacePoint],
    snap: f64,
) -> Result<SurfacePath, PathError> {
    let mut points: Vec<SurfacePoint> = Vec::new();
    for pair in corners.windows(2) {
        points.push(pair[0]);
        points.extend(path_between(surface, pair[0], pair[1], snap)?);
    }
    points.extend(corners.last());
    points.dedup();
    remove_spurs(&mut points);
    Ok(SurfacePath { points, closed: false })
}

/// Joins `corners` round into one closed path.
///
/// # Errors
/// When two neighbours cannot be joined, or there are fewer than three points.
pub fn closed_path(
    surface: &Surface<'_>,
    corners: &[SurfacePoint],
    snap: f64,
) -> Result<SurfacePath, PathError> {
    let round: Vec<SurfacePoint> = corners.iter().chain(corners.first()).copied().collect();
    let mut points = open_path(surface, &round, snap)?.points;
    while points.len() > 1 && points.first() == points.last() {
        points.pop();
    }
    if points.len() < 3 {
        return Err(PathError::TooFew(points.len()));
    }
    Ok(SurfacePath { points, closed: true })
}
