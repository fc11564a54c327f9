//! Moves the samples of a curve along the surface until it bends as little as it can.
//!
//! Least bending within the surface, as of a batten that lies flat on it: the integral of the
//! squared geodesic acceleration (L. Noakes, G. Heinzinger and B. Paden 1989), in differences of
//! samples that keep to the surface (M. Hofer and H. Pottmann 2004). How the surface itself bends
//! costs nothing, so that neither its facets nor its roundness draw the curve aside.

use glam::{DVec2, DVec3};

use super::banded::Banded;
use crate::mesh::TriMesh;
use crate::surface::{Closest, Surface, SurfacePoint};

/// A sample of the curve.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sample {
    pub(super) point: SurfacePoint,
    pub(super) place: DVec3,
    /// One of the given points, which stays.
    pub(super) fixed: bool,
    /// The way to the next sample, mm.
    pub(super) step: f64,
}

/// The curve is found when no sample moves further than this, mm: a hundredth of what shows.
const STILL: f64 = 2e-4;

/// Rounds of improvement at most; a handful is usual.
const ROUNDS: usize = 60;

/// No sample moves further than this many steps at once: the plane it moves in is that of its
/// old place.
const STRIDE: f64 = 3.0;

/// Moves below this share of a step are taken as they are, as long as they grow shorter: facets
/// make the bending uneven on that scale, and asking for less of it would stop too soon.
const NEAR: f64 = 0.5;

/// Holds samples in place where bending leaves them free, against the stiffness of the curve.
const RIDGE: f64 = 1e-12;

/// Fairs the samples in place.
pub(super) fn fair(
    surface: &Surface<'_>,
    closest: &Closest<'_>,
    normals: &[DVec3],
    samples: &mut Vec<Sample>,
    closed: bool,
) {
    let mut bending = Bending::of(surface, normals, samples, closed);
    let mut last = f64::INFINITY;
    for _ in 0..ROUNDS {
        let Some(moves) = bending.step(samples) else { break };
        let far = moves.iter().map(|m| m.length()).fold(0.0, f64::max);
        let least = samples.iter().map(|s| s.step).filter(|s| *s > 0.0).fold(f64::MAX, f64::min);
        let near = far < NEAR * least;
        if far < STILL || (near && far > last) {
            break;
        }
        last = far;
        let mut share = (STRIDE * least / far).min(1.0);
        let mut better = None;
        for _ in 0..8 {
            let moved = moved(surface.mesh, closest, samples, &moves, share);
            let trial = Bending::of(surface, normals, &moved, closed);
            if near || trial.energy < bending.energy {
                better = Some((moved, trial));
                break;
            }
            share /= 2.0;
        }
        let Some((moved, trial)) = better else { break };
        *samples = moved;
        bending = trial;
    }
}

fn moved(
    mesh: &TriMesh,
    closest: &Closest<'_>,
    samples: &[Sample],
    moves: &[DVec3],
    share: f64,
) -> Vec<Sample> {
    let shifted = samples.iter().zip(moves).map(|(sample, by)| {
        if sample.fixed {
            return *sample;
        }
        let point = closest.to(sample.place + *by * share, 1e-12).unwrap_or(sample.point);
        Sample { point, place: point.position(mesh), ..*sample }
    });
    shifted.collect()
}

/// A second difference: three samples and their shares in it, weighted by the root of the length
/// it stands for.
#[derive(Debug, Clone, Copy)]
struct Difference {
    samples: [usize; 3],
    shares: [f64; 3],
}

struct Bending {
    differences: Vec<Difference>,
    /// The tangent plane of each sample.
    planes: Vec<[DVec3; 2]>,
    residuals: Vec<DVec2>,
    energy: f64,
    closed: bool,
}

impl Bending {
    fn of(surface: &Surface<'_>, normals: &[DVec3], samples: &[Sample], closed: bool) -> Self {
        let n = samples.len();
        let planes: Vec<[DVec3; 2]> = samples
            .iter()
            .map(|s| {
                let normal = smooth_normal(surface, normals, &s.point);
                let (u, v) = normal.any_orthonormal_pair();
                [u, v]
            })
            .collect();
        let inner = if closed { 0..n } else { 1..n.saturating_sub(1) };
        let differences: Vec<Difference> = inner
            .map(|i| {
                let three = [(i + n - 1) % n, i, (i + 1) % n];
                let (back, on) = (samples[three[0]].step, samples[i].step);
                let root = ((back + on) / 2.0).sqrt();
                let shares =
                    [2.0 / (back * (back + on)), -2.0 / (back * on), 2.0 / (on * (back + on))];
                Difference { samples: three, shares: shares.map(|s| s * root) }
            })
            .collect();
        let residuals: Vec<DVec2> = differences
            .iter()
            .map(|d| {
                let sum: DVec3 = (0..3).map(|k| samples[d.samples[k]].place * d.shares[k]).sum();
                let [u, v] = planes[d.samples[1]];
                DVec2::new(u.dot(sum), v.dot(sum))
            })
            .collect();
        let energy = residuals.iter().map(|r| r.length_squared()).sum();
        Self { differences, planes, residuals, energy, closed }
    }

    /// How each sample should move for the least bending, were its plane the surface (Gauss and
    /// Newton). `None` when there is nothing to move.
    fn step(&self, samples: &[Sample]) -> Option<Vec<DVec3>> {
        let n = samples.len();
        // Round a closed curve the samples are taken from both sides in turn, so that those which
        // meet stay near each other in the order.
        let fold = |i: usize| match self.closed {
            true if 2 * i < n => 2 * i,
            true => 2 * (n - 1 - i) + 1,
            false => i,
        };
        let mut order: Vec<usize> = (0..n).filter(|i| !samples[*i].fixed).collect();
        order.sort_by_key(|i| fold(*i));
        if order.is_empty() {
            return None;
        }
        let mut number = vec![None; n];
        for (at, i) in order.iter().enumerate() {
            number[*i] = Some(at);
        }
        let spread = |d: &Difference| {
            let numbers = d.samples.iter().filter_map(|i| number[*i]);
            let (low, high) = numbers.fold((usize::MAX, 0), |(l, h), i| (l.min(i), h.max(i)));
            high.saturating_sub(low)
        };
        let reach = 2 * self.differences.iter().map(spread).max().unwrap_or(0) + 1;
        let mut matrix = Banded::new(2 * order.len(), reach);
        let mut right = vec![0.0; 2 * order.len()];
        let mut stiffest = 0.0_f64;
        for (d, residual) in self.differences.iter().zip(&self.residuals) {
            let own = self.planes[d.samples[1]];
            // What one unit of each unknown adds to the two parts of the residual.
            let parts = |k: usize| {
                let plane = self.planes[d.samples[k]];
                [0, 1].map(|c| {
                    let by = carried(plane, own, plane[c]);
                    DVec2::new(own[0].dot(by), own[1].dot(by)) * d.shares[k]
                })
            };
            for k in 0..3 {
                let Some(row) = number[d.samples[k]] else { continue };
                for (c, part) in parts(k).into_iter().enumerate() {
                    right[2 * row + c] -= part.dot(*residual);
                    stiffest = stiffest.max(part.length_squared());
                    for l in 0..3 {
                        let Some(column) = number[d.samples[l]] else { continue };
                        for (e, other) in parts(l).into_iter().enumerate() {
                            matrix.add(2 * row + c, 2 * column + e, part.dot(other));
                        }
                    }
                }
            }
        }
        for i in 0..2 * order.len() {
            matrix.add(i, i, RIDGE * stiffest);
        }
        if !matrix.solve(&mut right) {
            return None;
        }
        let mut moves = vec![DVec3::ZERO; n];
        for (at, i) in order.iter().enumerate() {
            let [u, v] = self.planes[*i];
            moves[*i] = u * right[2 * at] + v * right[2 * at + 1];
        }
        Some(moves)
    }
}

/// A direction in plane `from`, carried along the surface into plane `to`: turned as the normals
/// turn, by the least angle. A step that only looked at the neighbours' directions as they are
/// would leave out that a sample's own plane turns as it moves, and stop beside the least bending.
fn carried(from: [DVec3; 2], to: [DVec3; 2], direction: DVec3) -> DVec3 {
    let (a, b) = (from[0].cross(from[1]), to[0].cross(to[1]));
    direction - (a + b) * (b.dot(direction) / (1.0 + a.dot(b)).max(1e-3))
}

/// The unit normal at a point, run smoothly from vertex to vertex.
pub(super) fn smooth_normal(
    surface: &Surface<'_>,
    normals: &[DVec3],
    point: &SurfacePoint,
) -> DVec3 {
    let face = surface.faces_at(point).first().copied().unwrap_or(0);
    let weights = surface.weights_in(face, point).unwrap_or([1.0 / 3.0; 3]);
    let t = surface.mesh.triangles[face as usize];
    let sum: DVec3 = (0..3).map(|k| normals[t[k] as usize] * weights[k]).sum();
    sum.try_normalize().unwrap_or_else(|| surface.normal(point).try_normalize().unwrap_or(DVec3::Z))
}
