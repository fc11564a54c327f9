//! Smooth curves on a surface through a few points.

mod banded;
mod fair;
mod space;

use glam::DVec3;

use self::fair::{Sample, fair};
use self::space::SpaceSpline;
use super::geodesic::{GeodesicError, shortest};
use super::{Closest, Surface, SurfacePath, SurfacePoint, path_between};
use crate::mesh::TriMesh;

/// Why no curve could be drawn.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CurveError {
    /// Too few points.
    #[error("a curve needs at least {least} points, {given} given")]
    TooFew {
        /// Points needed.
        least: usize,
        /// Points given.
        given: usize,
    },
    /// Two neighbours are the same.
    #[error("points {0} and {1} of the curve are the same; leave one out")]
    Same(usize, usize),
    /// Two points are not joined by the surface.
    #[error(transparent)]
    Geodesic(#[from] GeodesicError),
}

/// Points nearer than this are the same, mm.
const SAME: f64 = 1e-9;

/// Step between the samples that are faired, mm. Differences stand for the bending between them:
/// with steps of 3 mm, sharply wound curves lay 0.25 mm aside.
const STEP: f64 = 1.0;

/// Samples from one given point to the next, at least.
const LEAST_SAMPLES: usize = 12;

/// Samples from one given point to the next, at most.
const MOST_SAMPLES: usize = 400;

/// Step between the points of the finished curve, mm: its chords stray by less than 0.005 mm from
/// an arc of 6 mm radius.
const FINE: f64 = 0.5;

/// A curve on a surface, with its place and direction at any length along it.
#[derive(Debug, Clone)]
pub struct SurfaceCurve {
    /// The curve, with a point on every edge that it crosses. It passes the given points.
    pub path: SurfacePath,
    /// Length along the curve of each given point, mm.
    pub at_points: Vec<f64>,
    /// Points of the path in space.
    places: Vec<DVec3>,
    /// Length along the curve of each point of the path, ascending, mm; round to the first again
    /// when it is closed.
    along: Vec<f64>,
    /// Length along the curve and direction there, ascending.
    directions: Vec<(f64, DVec3)>,
}

impl SurfaceCurve {
    /// The whole length, mm.
    pub fn length(&self) -> f64 {
        self.along.last().copied().unwrap_or(0.0)
    }

    /// The place at `along` mm from the first point: on the surface. Round and round on a closed
    /// curve; on an open one, no further than its ends.
    pub fn place(&self, along: f64) -> DVec3 {
        let along = self.within(along);
        let i = self.along.partition_point(|s| *s <= along).clamp(1, self.along.len() - 1);
        let (from, to) = (self.along[i - 1], self.along[i]);
        let share = if to > from { (along - from) / (to - from) } else { 0.0 };
        self.places[i - 1].lerp(self.places[i], share)
    }

    /// The direction at `along` mm from the first point, of length 1. It turns without jumps, over
    /// an edge between two facets within some millimetres.
    pub fn direction(&self, along: f64) -> DVec3 {
        let along = self.within(along);
        let i = self.directions.partition_point(|(s, _)| *s <= along);
        let i = i.clamp(1, self.directions.len() - 1);
        let ((from, a), (to, b)) = (self.directions[i - 1], self.directions[i]);
        let share = if to > from { (along - from) / (to - from) } else { 0.0 };
        a.lerp(b, share).normalize_or(a)
    }

    fn within(&self, along: f64) -> f64 {
        let whole = self.length();
        if self.path.closed { along.rem_euclid(whole) } else { along.clamp(0.0, whole) }
    }
}

/// The smooth curve through `points`, open or closed: it passes them exactly, and between them
/// bends within the surface as little as it can, like a batten laid flat on it. Through two points
/// it is nearly the shortest path.
///
/// Place and direction run on without jumps through the given points. The curve depends on the
/// shape of the surface, not on its triangles: on another mesh of the same surface it lies within
/// some hundredths of a millimetre. Where it would swing out beyond the surface's edge, it runs along
/// the edge, and is found to within a millimetre only.
///
/// What is found is a curve from which no small change leads to less bending; it starts from the
/// shortest paths between the points, and keeps to their side of holes and bumps.
///
/// # Errors
/// With fewer than two points (three when closed), with the same point twice in a row, or when the
/// surface does not join them.
pub fn curve_through(
    surface: &Surface<'_>,
    points: &[SurfacePoint],
    closed: bool,
) -> Result<SurfaceCurve, CurveError> {
    let least = if closed { 3 } else { 2 };
    if points.len() < least {
        return Err(CurveError::TooFew { least, given: points.len() });
    }
    let closest = Closest::new(surface.mesh);
    let normals = smoothed_normals(surface.mesh);
    let mut samples = first_samples(surface, points, closed)?;
    fair(surface, &closest, &normals, &mut samples, closed);
    finish(surface, &closest, &samples, closed)
}

/// Rounds in which each normal becomes the mean of those around it.
const NORMAL_ROUNDS: usize = 2;

/// Normals of the vertices, averaged with their neighbours': the facets of a mesh lean them aside
/// by a degree or so, which would draw a curve with far apart points aside with them.
fn smoothed_normals(mesh: &TriMesh) -> Vec<DVec3> {
    let mut normals = mesh.vertex_normals();
    for _ in 0..NORMAL_ROUNDS {
        let mut sums = normals.clone();
        for t in &mesh.triangles {
            for k in 0..3 {
                sums[t[k] as usize] += normals[t[(k + 1) % 3] as usize];
            }
        }
        normals = sums.into_iter().map(DVec3::normalize_or_zero).collect();
    }
    normals
}

/// Samples along the shortest paths from point to point.
fn first_samples(
    surface: &Surface<'_>,
    points: &[SurfacePoint],
    closed: bool,
) -> Result<Vec<Sample>, CurveError> {
    let mesh = surface.mesh;
    let n = points.len();
    let spans = if closed { n } else { n - 1 };
    let mut samples = Vec::new();
    for i in 0..spans {
        let j = (i + 1) % n;
        let (from, to) = (points[i], points[j]);
        if from.position(mesh).distance(to.position(mesh)) < SAME {
            return Err(CurveError::Same(i, j));
        }
        let way = shortest(surface, from, to)?;
        let count = ((way.length / STEP).ceil() as usize).clamp(LEAST_SAMPLES, MOST_SAMPLES);
        let step = way.length / count as f64;
        let mut along = 0.0;
        let mut leg = way.path.points.windows(2);
        let mut pair = leg.next();
        samples.push(Sample { point: from, place: from.position(mesh), fixed: true, step });
        for k in 1..count {
            let wanted = step * k as f64;
            while let Some([a, b]) = pair {
                let (p, q) = (a.position(mesh), b.position(mesh));
                let length = p.distance(q);
                if along + length < wanted && leg.len() > 0 {
                    along += length;
                    pair = leg.next();
                    continue;
                }
                let share = ((wanted - along) / length).clamp(0.0, 1.0);
                let point = between(surface, a, b, if share.is_finite() { share } else { 0.0 });
                samples.push(Sample { point, place: point.position(mesh), fixed: false, step });
                break;
            }
        }
    }
    if !closed {
        let last = points[n - 1];
        samples.push(Sample { point: last, place: last.position(mesh), fixed: true, step: 0.0 });
    }
    Ok(samples)
}

/// The point at `share` of the way between two points of one triangle.
fn between(surface: &Surface<'_>, a: &SurfacePoint, b: &SurfacePoint, share: f64) -> SurfacePoint {
    let Some(face) = surface.common_face(a, b) else { return *a };
    let weights = |p: &SurfacePoint| surface.weights_in(face, p).unwrap_or_default();
    let (from, to) = (weights(a), weights(b));
    let weights = [0, 1, 2].map(|k| from[k] + (to[k] - from[k]) * share);
    SurfacePoint::in_face(surface.mesh, face, weights, 1e-12)
}

/// Draws the fine curve through the samples.
fn finish(
    surface: &Surface<'_>,
    closest: &Closest<'_>,
    samples: &[Sample],
    closed: bool,
) -> Result<SurfaceCurve, CurveError> {
    let mesh = surface.mesh;
    let places: Vec<DVec3> = samples.iter().map(|s| s.place).collect();
    let steps: Vec<f64> = samples.iter().map(|s| s.step).collect();
    let spline = SpaceSpline::new(&places, &steps, closed);
    // Knots of the fine curve: the point, its direction, and whether it is a given one.
    let mut knots: Vec<(SurfacePoint, DVec3, bool)> = Vec::new();
    let spans = if closed { samples.len() } else { samples.len() - 1 };
    for i in 0..spans {
        let count = (samples[i].step / FINE).ceil().max(1.0) as usize;
        for k in 0..count {
            let share = k as f64 / count as f64;
            let (place, direction) = spline.at(i, share);
            let point = match k {
                0 => samples[i].point,
                _ => closest.to(place, 1e-12).unwrap_or(samples[i].point),
            };
            knots.push((point, direction, k == 0 && samples[i].fixed));
        }
    }
    if !closed {
        let last = samples[samples.len() - 1];
        knots.push((last.point, spline.at(samples.len() - 2, 1.0).1, true));
    }
    let mut points: Vec<SurfacePoint> = Vec::new();
    let mut curve = SurfaceCurve {
        path: SurfacePath { points: Vec::new(), closed },
        at_points: Vec::new(),
        places: Vec::new(),
        along: Vec::new(),
        directions: Vec::new(),
    };
    let n = knots.len();
    let mut length = 0.0;
    for (i, (point, direction, given)) in knots.iter().enumerate() {
        let here = point.position(mesh);
        length += curve.places.last().map_or(0.0, |p: &DVec3| p.distance(here));
        if *given {
            curve.at_points.push(length);
        }
        curve.directions.push((length, *direction));
        points.push(*point);
        curve.places.push(here);
        curve.along.push(length);
        if i + 1 == n && !closed {
            break;
        }
        let next = knots[(i + 1) % n].0;
        let way = match path_between(surface, *point, next, 0.0) {
            Ok(way) => way,
            // Where a walk in a plane loses itself in a fold, the shortest path does not.
            Err(_) => {
                let way = shortest(surface, *point, next)?.path.points;
                way[1..way.len().saturating_sub(1).max(1)].to_vec()
            }
        };
        for point in way {
            let place = point.position(mesh);
            length += curve.places.last().map_or(0.0, |p| p.distance(place));
            points.push(point);
            curve.places.push(place);
            curve.along.push(length);
        }
    }
    if closed {
        let first = curve.places[0];
        length += curve.places[curve.places.len() - 1].distance(first);
        curve.places.push(first);
        curve.along.push(length);
        curve.directions.push((length, curve.directions[0].1));
    }
    points.dedup();
    curve.path.points = points;
    Ok(curve)
}
