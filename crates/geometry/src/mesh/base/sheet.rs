//! A flat sheet or slab around the place where a body stands on it.

use glam::DVec3;

use super::planes::large_planes;
use super::reach::Reach;
use super::{Plane, clip, span};
use crate::mesh::TriMesh;
use crate::mesh::bodies::largest_body;

/// Half the thickness of the layer that counts as the sheet, as a share of the whole span:
/// 1 mm of 260, for noise of 0.1 mm and a sheet that is bent by 0.3.
const BAND: f64 = 0.004;

/// The cut lies this share of the body's span above the sheet: 1 mm of 260, past the
/// fillet that scanners leave in the corner.
pub(super) const ABOVE: f64 = 0.004;

/// The sheet reaches past the body by this share of the body's span (5 mm of 260), in this share
/// of all directions. Right above its own flat face a body is as wide as that face, but for
/// the flare of its sides: within the height of the cut that is a fifth of this at 45 degrees.
const BEYOND: f64 = 0.02;
const AROUND: f64 = 0.75;

/// This share of the ring between the body's hull and the sheet's hull is sheet; the rest may
/// have lain in the body's shadow while it was scanned.
const FILLED: f64 = 0.3;

/// What lies below the sheet's face reaches no farther out than the sheet, by this share of the
/// body's span, and no deeper than this share of the height above: a slab.
const SLAB_OUT: f64 = 0.04;
const SLAB_DEEP: f64 = 0.5;

/// A body without its sheet.
pub(super) struct Freed {
    /// What is left.
    pub(super) body: TriMesh,
    /// How far above the sheet's face it was cut.
    pub(super) above: f64,
    /// That as a share of the body's span.
    pub(super) share: f64,
    /// The middle of the sheet.
    pub(super) place: DVec3,
}

/// The body without the sheet it stands on, if there is one.
pub(super) fn free(mesh: &TriMesh) -> Option<Freed> {
    let span = span(&mesh.positions);
    if !(span > 0.0 && span.is_finite()) {
        return None;
    }
    let band = BAND * span;
    for plane in large_planes(mesh, span, band) {
        for normal in [plane.normal, -plane.normal] {
            if let Some(freed) = freed_from(mesh, Plane { normal, ..plane }, band) {
                return Some(freed);
            }
        }
    }
    None
}

fn freed_from(mesh: &TriMesh, plane: Plane, band: f64) -> Option<Freed> {
    let heights: Vec<f64> = mesh.positions.iter().map(|p| plane.height(*p)).collect();
    let higher = |limit: f64| {
        mesh.positions.iter().zip(&heights).filter(move |(_, h)| **h > limit).map(|(p, _)| *p)
    };
    let top = heights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let depth = -heights.iter().copied().fold(f64::INFINITY, f64::min);
    if top <= 2.0 * band || depth.max(0.0) > SLAB_DEEP * top {
        return None;
    }
    let body_span = span(&higher(band).collect::<Vec<_>>());
    let mut layer = Layer::of(mesh, &heights, plane, band);
    // First by all that crosses the plane, which is cheap, then by what will be left.
    let raised = |height: f64| Plane { origin: plane.origin + plane.normal * height, ..plane };
    let section = crossings(mesh, raised(band + ABOVE * body_span));
    if section.is_empty() || !stands_out(&layer, &section, body_span) {
        return None;
    }
    let above = ABOVE * body_span;
    let cut = raised(layer.upper(&section)?.max(0.0) + above);
    let below = mesh.positions.iter().zip(&heights).filter(|(_, h)| **h < -band);
    let sheet = &layer.reach;
    if below.into_iter().any(|(p, _)| sheet.outside(*p) > SLAB_OUT * body_span) {
        return None;
    }
    let body = largest_body(&clip::above(mesh, cut, 1e-9 * body_span));
    let at_cut = body.positions.iter().filter(|p| cut.height(**p) <= 1e-6 * body_span);
    let foot = Reach::of(cut, at_cut.copied());
    if foot.is_empty() || !stands_out(&layer, &foot, body_span) {
        return None;
    }
    // What lies round the foot is sheet, not air.
    layer.faces.retain(|face| foot.outside(face.middle) > 0.0);
    let around: f64 = layer.faces.iter().map(|face| face.area).sum();
    if around < FILLED * (layer.reach.area() - foot.area()) {
        return None;
    }
    let sum = layer.faces.iter().fold(DVec3::ZERO, |sum, face| sum + face.middle * face.area);
    let share = above / span(&body.positions);
    Some(Freed { body, above, share, place: sum / around })
}

fn stands_out(layer: &Layer, foot: &Reach, body_span: f64) -> bool {
    layer.reach.share_beyond(foot, BEYOND * body_span) >= AROUND
}

/// Where edges cross the plane.
pub(super) fn crossings(mesh: &TriMesh, plane: Plane) -> Reach {
    let mut reach = Reach::new(plane);
    for face in 0..mesh.triangles.len() as u32 {
        let corners = mesh.corners(face);
        let heights = corners.map(|p| plane.height(p));
        for k in 0..3 {
            let (a, b) = (k, (k + 1) % 3);
            if (heights[a] < 0.0) != (heights[b] < 0.0) {
                let along = heights[a] / (heights[a] - heights[b]);
                reach.add(corners[a].lerp(corners[b], along));
            }
        }
    }
    reach
}

/// The triangles that lie in the plane.
struct Layer {
    reach: Reach,
    faces: Vec<Face>,
}

#[derive(Clone, Copy)]
struct Face {
    middle: DVec3,
    area: f64,
    /// The height of its highest corner.
    top: f64,
}

impl Layer {
    fn of(mesh: &TriMesh, heights: &[f64], plane: Plane, band: f64) -> Self {
        let mut used = vec![false; mesh.positions.len()];
        let mut faces = Vec::new();
        for (face, t) in (0..).zip(&mesh.triangles) {
            if t.iter().any(|v| heights[*v as usize].abs() > band) {
                continue;
            }
            t.iter().for_each(|v| used[*v as usize] = true);
            faces.push(Face {
                middle: mesh.corners(face).iter().sum::<DVec3>() / 3.0,
                area: mesh.area_vector(face).length() / 2.0,
                top: t.iter().map(|v| heights[*v as usize]).fold(f64::NEG_INFINITY, f64::max),
            });
        }
        let points = mesh.positions.iter().zip(&used).filter(|(_, used)| **used);
        Self { reach: Reach::of(plane, points.map(|(p, _)| *p)), faces }
    }

    /// The height that all but a hundredth of the layer outside of `foot` stays below.
    fn upper(&self, foot: &Reach) -> Option<f64> {
        let outside = self.faces.iter().filter(|face| foot.outside(face.middle) > 0.0);
        let mut tops: Vec<(f64, f64)> = outside.map(|face| (face.top, face.area)).collect();
        tops.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let total: f64 = tops.iter().map(|(_, area)| area).sum();
        let mut sum = 0.0;
        let reached = tops.iter().find(|(_, area)| {
            sum += area;
            sum >= 0.99 * total
        });
        reached.map(|(top, _)| *top)
    }
}
