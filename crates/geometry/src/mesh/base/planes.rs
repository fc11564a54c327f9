//! The planes in which much of a surface lies.

use glam::DVec3;

use super::Plane;
use super::moments::Moments;
use crate::mesh::TriMesh;

/// Patches into which the surface is taken apart; their planes are the seeds. So many that a
/// sheet of a twentieth of the surface still has fifty.
const PATCHES: usize = 1024;

/// Patches agree with a plane when they are turned from it by no more than this, as a cosine
/// (about 10 degrees: noise of 0.1 mm on a patch of 8 mm turns it by a few).
const AGREE: f64 = 0.985;

/// A plane is looked at when this share of the surface lies in it. The sheet of a last on its
/// top reaches past that top, which is a twentieth of its surface.
const LEAST_AREA: f64 = 0.03;

/// So many families of parallel planes are looked at, and layers in each.
const FAMILIES: usize = 4;
const LAYERS: usize = 4;

/// The planes that hold much of the surface within `band` on either side, those with most
/// area first; normals face either way.
pub(super) fn large_planes(mesh: &TriMesh, span: f64, band: f64) -> Vec<Plane> {
    let around = mesh.bounds().map_or(DVec3::ZERO, |(low, high)| low.midpoint(high));
    let areas = mesh.face_areas();
    let total: f64 = areas.iter().sum();
    let mut patches: Vec<(Moments, Plane)> = patches(mesh, &areas, around);
    let mut found = Vec::new();
    for _ in 0..FAMILIES {
        let near = |a: &(Moments, Plane), b: &(Moments, Plane), reach: f64| {
            a.1.normal.dot(b.1.normal).abs() > AGREE && a.1.height(b.1.origin).abs() < reach
        };
        let score = |seed: &(Moments, Plane)| -> f64 {
            patches.iter().filter(|p| near(seed, p, band)).map(|p| p.0.area).sum()
        };
        let scored = patches.iter().map(|seed| (score(seed), seed));
        let best = scored.max_by(|a, b| a.0.total_cmp(&b.0));
        let Some((area, &seed)) = best.filter(|(area, _)| *area >= LEAST_AREA * total) else {
            break;
        };
        let _ = area;
        let mut sum = Moments::default();
        for patch in patches.iter().filter(|p| near(&seed, p, band)) {
            sum.add(&patch.0);
        }
        let family = plane_of(&sum, around);
        for layer in layers(mesh, &areas, family, span, band) {
            if layer.0 >= LEAST_AREA * total {
                found.push(layer);
            }
        }
        // Parallel planes nearby belong to the same family.
        patches.retain(|p| {
            !(p.1.normal.dot(family.normal).abs() > AGREE
                && family.height(p.1.origin).abs() < 0.1 * span)
        });
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found.into_iter().map(|(_, plane)| plane).collect()
}

/// The heights along the family's normal at which much area lies, each fitted, with that area.
fn layers(mesh: &TriMesh, areas: &[f64], family: Plane, span: f64, band: f64) -> Vec<(f64, Plane)> {
    let middle = |f: usize| mesh.corners(f as u32).iter().sum::<DVec3>() / 3.0;
    // Bins of half the band, out to a tenth of the span either side.
    let half = (0.1 * span / band * 2.0) as usize;
    let mut bins = vec![0.0; 2 * half + 1];
    for (f, area) in areas.iter().enumerate() {
        let bin = (family.height(middle(f)) / (band / 2.0)).round() + half as f64;
        if let Some(sum) = bins.get_mut(bin.max(-1.0) as usize).filter(|_| bin >= 0.0) {
            *sum += area;
        }
    }
    let mut found = Vec::new();
    for _ in 0..LAYERS {
        let window =
            |k: usize| -> f64 { bins[k.saturating_sub(1)..(k + 2).min(bins.len())].iter().sum() };
        // Of windows that hold the same the one with most in its middle: beside it stands what is
        // cleared below.
        let order = |a: &usize, b: &usize| {
            window(*a).total_cmp(&window(*b)).then(bins[*a].total_cmp(&bins[*b]))
        };
        let best = (0..bins.len()).max_by(order);
        let Some(best) = best.filter(|k| window(*k) > 0.0) else { break };
        let offset = (best as f64 - half as f64) * band / 2.0;
        let seed = Plane { origin: family.origin + family.normal * offset, ..family };
        found.push(fitted(mesh, seed, band));
        for bin in &mut bins[best.saturating_sub(2)..(best + 3).min(2 * half + 1)] {
            *bin = 0.0;
        }
    }
    found
}

/// The plane through the triangles within `band` of `seed`, and their area.
fn fitted(mesh: &TriMesh, seed: Plane, band: f64) -> (f64, Plane) {
    let mut plane = seed;
    let mut area = 0.0;
    // From wide to narrow, so that a tilt at first does not lose the far ends.
    for width in [1.5, 1.25, 1.0, 1.0] {
        let mut sum = Moments::default();
        for face in 0..mesh.triangles.len() as u32 {
            let corners = mesh.corners(face);
            if corners.iter().all(|p| plane.height(*p).abs() <= width * band) {
                sum.add(&Moments::of_triangle(corners.map(|p| p - seed.origin)));
            }
        }
        area = sum.area;
        if area <= 0.0 {
            break;
        }
        let next = plane_of(&sum, seed.origin);
        let normal = if next.normal.dot(plane.normal) < 0.0 { -next.normal } else { next.normal };
        plane = Plane { normal, ..next };
    }
    (area, plane)
}

fn plane_of(sum: &Moments, around: DVec3) -> Plane {
    Plane { origin: around + sum.middle(), normal: sum.axes().0[0] }
}

/// Neighbouring triangles together, halved across their longest extent, each with its plane. A
/// triangle as large as a patch is one alone: a plate has few, and mixed with those of its other
/// face they have no plane.
fn patches(mesh: &TriMesh, areas: &[f64], around: DVec3) -> Vec<(Moments, Plane)> {
    let large = areas.iter().sum::<f64>() / PATCHES as f64;
    let (alone, many): (Vec<u32>, Vec<u32>) =
        (0..mesh.triangles.len() as u32).partition(|f| areas[*f as usize] > large);
    let middles: Vec<DVec3> = (0..mesh.triangles.len() as u32)
        .map(|f| mesh.corners(f).iter().sum::<DVec3>() / 3.0)
        .collect();
    let most = (mesh.triangles.len() / PATCHES).max(1);
    let mut waiting: Vec<Vec<u32>> = alone.into_iter().map(|face| vec![face]).collect();
    waiting.push(many);
    let mut patches = Vec::new();
    while let Some(mut faces) = waiting.pop() {
        let Some(&first) = faces.first() else { continue };
        if faces.len() <= most {
            let mut sum = Moments::default();
            for face in &faces {
                sum.add(&Moments::of_triangle(mesh.corners(*face).map(|p| p - around)));
            }
            if sum.area > 0.0 {
                patches.push((sum, plane_of(&sum, around)));
            }
            continue;
        }
        let start = middles[first as usize];
        let (low, high) = faces
            .iter()
            .map(|f| middles[*f as usize])
            .fold((start, start), |(low, high), p| (low.min(p), high.max(p)));
        let extent = high - low;
        let axis = DVec3::AXES
            .into_iter()
            .rev()
            .max_by(|a, b| extent.dot(*a).total_cmp(&extent.dot(*b)))
            .unwrap_or(DVec3::X);
        let half = faces.len() / 2;
        let along = |f: &u32| middles[*f as usize].dot(axis);
        faces.select_nth_unstable_by(half, |a, b| along(a).total_cmp(&along(b)).then(a.cmp(b)));
        waiting.push(faces.split_off(half));
        waiting.push(faces);
    }
    patches
}
