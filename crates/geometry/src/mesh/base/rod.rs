//! A rod that stands on a flat face of a body, as on a turntable.

use std::collections::BTreeSet;

use glam::DVec3;

use super::moments::symmetric_axes;
use super::reach::{DIRECTIONS, Reach};
use super::sheet::crossings;
use super::{Plane, clip, span};
use crate::mesh::TriMesh;
use crate::mesh::bodies::largest_body;

/// A rod is at least this long and at most this thick, as shares of the span: 26 mm and 31 mm of
/// 260. The plugs and sleeves of lasts are shorter.
const LONG: f64 = 0.1;
const THICK: f64 = 0.12;

/// It is longer than thick, and nowhere thicker or thinner than near its tip by more than this.
const SLIM: f64 = 1.5;
const EVEN: f64 = 1.2;

/// The face that it stands on reaches past it by this share of the span (2.6 mm of 260), in this
/// share of directions, within this share of the span below its foot (1 mm).
const BEYOND: f64 = 0.01;
const AROUND: f64 = 0.75;
const BELOW: f64 = 0.004;

/// Directions in which a tip is looked for, evenly spread: 16 degrees apart.
const TIPS: usize = 160;

/// A body without its rod.
pub(super) struct Freed {
    /// What is left.
    pub(super) body: TriMesh,
    /// How long the rod was.
    pub(super) long: f64,
    /// How thick.
    pub(super) thick: f64,
    /// How far below its foot the body was cut.
    pub(super) below: f64,
    /// The middle of the rod.
    pub(super) place: DVec3,
}

/// The body without the rod it is held by, if there is one.
pub(super) fn free(mesh: &TriMesh) -> Option<Freed> {
    let span = span(&mesh.positions);
    if !(span > 0.0 && span.is_finite()) {
        return None;
    }
    let tips: BTreeSet<usize> =
        (0..TIPS).filter_map(|k| farthest(mesh, direction(k)).map(|(v, _)| v)).collect();
    // Of tips within a rod's thickness one is enough.
    let mut apart: Vec<DVec3> = Vec::new();
    for tip in tips.into_iter().map(|v| mesh.positions[v]) {
        if apart.iter().all(|other| other.distance(tip) > THICK * span / 2.0) {
            apart.push(tip);
        }
    }
    apart.into_iter().find_map(|tip| freed_at(mesh, tip, span))
}

/// Points of a spiral spread evenly over a ball.
fn direction(k: usize) -> DVec3 {
    let z = 1.0 - (2.0 * k as f64 + 1.0) / TIPS as f64;
    let turn = k as f64 * std::f64::consts::PI * (3.0 - 5.0_f64.sqrt());
    let across = (1.0 - z * z).sqrt();
    DVec3::new(across * turn.cos(), across * turn.sin(), z)
}

/// The vertex that reaches farthest, and how far.
fn farthest(mesh: &TriMesh, direction: DVec3) -> Option<(usize, f64)> {
    let reach = mesh.positions.iter().map(|p| p.dot(direction)).enumerate();
    reach.max_by(|a, b| a.1.total_cmp(&b.1))
}

fn freed_at(mesh: &TriMesh, tip: DVec3, span: f64) -> Option<Freed> {
    let normal = axis_at(mesh, tip, span)?;
    let (_, top) = farthest(mesh, normal)?;
    let at = |below: f64| Plane { origin: tip + normal * (top - below - tip.dot(normal)), normal };
    let section = |below: f64| crossings(mesh, at(below));
    let near_tip = section(LONG * span / 4.0);
    let thick = width(&near_tip);
    if near_tip.is_empty() || thick > THICK * span {
        return None;
    }
    let even = |below: f64| {
        let section = section(below);
        let its = width(&section);
        !section.is_empty() && its <= EVEN * thick && its >= thick / EVEN
    };
    // Down from the tip to where it widens, and that place by halving.
    let step = LONG * span / 4.0;
    let mut long = step;
    while long < span && even(long + step) {
        long += step;
    }
    let mut wide = long + step;
    for _ in 0..16 {
        let middle = f64::midpoint(long, wide);
        if even(middle) {
            long = middle;
        } else {
            wide = middle;
        }
    }
    if long >= span || long < LONG * span || long < SLIM * thick {
        return None;
    }
    let below = BELOW * span;
    let (foot, face) = (section(long - below), section(long + below));
    if foot.is_empty() || face.is_empty() || face.share_beyond(&foot, BEYOND * span) < AROUND {
        return None;
    }
    let cut = at(long + below);
    let body = largest_body(&clip::above(mesh, Plane { normal: -normal, ..cut }, 1e-9 * span));
    let place = foot.middle() + normal * (long / 2.0);
    Some(Freed { body, long, thick, below, place })
}

/// The direction to which the surface around a tip is most nearly parallel, pointing out.
fn axis_at(mesh: &TriMesh, tip: DVec3, span: f64) -> Option<DVec3> {
    let near: Vec<bool> = mesh.positions.iter().map(|p| p.distance(tip) <= THICK * span).collect();
    let mut sum = [[0.0; 3]; 3];
    for (face, t) in (0..).zip(&mesh.triangles) {
        if t.iter().any(|v| near[*v as usize]) {
            let twice = mesh.area_vector(face);
            let (weight, n) = (twice.length(), twice.normalize_or_zero().to_array());
            for (row, a) in sum.iter_mut().zip(n) {
                for (entry, b) in row.iter_mut().zip(n) {
                    *entry += weight * a * b;
                }
            }
        }
    }
    let ([axis, ..], [least, middle, _]) = symmetric_axes(sum);
    // On a rod half of its side faces one way across it and half the other.
    if middle <= 0.0 || least > middle / 2.0 {
        return None;
    }
    let centre = mesh.positions.iter().sum::<DVec3>() / mesh.positions.len().max(1) as f64;
    Some(if axis.dot(tip - centre) < 0.0 { -axis } else { axis })
}

/// The farthest across.
fn width(reach: &Reach) -> f64 {
    let half = DIRECTIONS / 2;
    (0..half).map(|k| reach.farthest[k] + reach.farthest[k + half]).fold(0.0, f64::max)
}
