//! How far a reduced mesh is from its original, both ways.

use glam::DVec3;

use crate::mesh::TriMesh;
use crate::surface::Closest;

/// The most steps along one side of a triangle where it is measured.
const MOST: usize = 64;

/// The least number of those steps, where there are triangles enough to spare: three at least,
/// so that the middle is one of the places.
const LEAST: std::ops::RangeInclusive<usize> = 3..=8;

/// The length of a step over the square root of the mean area of an original triangle: one and a
/// half sides of such a triangle with equal sides.
const STEP: f64 = 2.3;

/// The original, ready to be measured against many times.
pub(super) struct Original<'m> {
    mesh: &'m TriMesh,
    closest: Closest<'m>,
    /// How far apart the places are where a reduced mesh is measured.
    step: f64,
}

impl<'m> Original<'m> {
    pub(super) fn new(mesh: &'m TriMesh) -> Self {
        let area = mesh.face_areas().iter().sum::<f64>() / mesh.triangles.len().max(1) as f64;
        Self { mesh, closest: Closest::new(mesh), step: STEP * area.sqrt() }
    }

    /// The largest distance; once one exceeds `enough`, that one.
    pub(super) fn distance_to(&self, fewer: &TriMesh, enough: f64) -> f64 {
        let closest = Closest::new(fewer);
        let used = self.used_vertices();
        let there = used.map(|p| distance(&closest, fewer, p));
        // As many places as the original has triangles, about: a grid of n rows has n²/2 of them.
        let spare = 2 * self.mesh.triangles.len() / fewer.triangles.len().max(1);
        let least = spare.isqrt().clamp(*LEAST.start(), *LEAST.end());
        let back = samples(fewer, self.step, least).map(|p| distance(&self.closest, self.mesh, p));
        let mut largest = 0.0_f64;
        for d in there.chain(back) {
            largest = largest.max(d);
            if largest > enough {
                break;
            }
        }
        largest
    }

    /// Vertices that no triangle uses are no part of the surface.
    fn used_vertices(&self) -> impl Iterator<Item = DVec3> {
        let mut used = vec![false; self.mesh.positions.len()];
        self.mesh.triangles.iter().flatten().for_each(|v| used[*v as usize] = true);
        self.mesh.positions.iter().zip(used).filter(|(_, used)| *used).map(|(p, _)| *p)
    }
}

fn distance(closest: &Closest<'_>, mesh: &TriMesh, p: DVec3) -> f64 {
    closest.to(p, 0.0).map_or(f64::INFINITY, |place| place.position(mesh).distance(p))
}

/// Places spread over each triangle, its sides and corners too, at most about `step` apart and
/// in at least `least` rows.
fn samples(mesh: &TriMesh, step: f64, least: usize) -> impl Iterator<Item = DVec3> {
    (0..mesh.triangles.len() as u32).flat_map(move |face| {
        let [a, b, c] = mesh.corners(face);
        let longest = a.distance(b).max(b.distance(c)).max(c.distance(a));
        let rows = ((longest / step).ceil() as usize).clamp(least, MOST);
        (0..=rows).flat_map(move |i| (0..=rows - i).map(move |j| (i, j))).map(move |(i, j)| {
            let share = 1.0 / rows as f64;
            a + (b - a) * (i as f64 * share) + (c - a) * (j as f64 * share)
        })
    })
}
