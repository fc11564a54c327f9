//! How far a reduced mesh is from its original, both ways.

use glam::DVec3;

use crate::mesh::TriMesh;
use crate::surface::Closest;

/// The most places along one side of a triangle where it is measured.
const MOST: usize = 64;

/// The original, ready to be measured against many times.
pub(super) struct Original<'m> {
    mesh: &'m TriMesh,
    closest: Closest<'m>,
    /// Mean area of a triangle.
    area: f64,
}

impl<'m> Original<'m> {
    pub(super) fn new(mesh: &'m TriMesh) -> Self {
        let area = mesh.face_areas().iter().sum::<f64>() / mesh.triangles.len().max(1) as f64;
        Self { mesh, closest: Closest::new(mesh), area }
    }

    /// The largest distance; once one exceeds `enough`, that one.
    pub(super) fn distance_to(&self, fewer: &TriMesh, enough: f64) -> f64 {
        let closest = Closest::new(fewer);
        let used = self.used_vertices();
        let there = used.map(|p| distance(&closest, fewer, p));
        let back = samples(fewer, self.area).map(|p| distance(&self.closest, self.mesh, p));
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

/// Corners and places spread over each triangle, about one to each `area`.
fn samples(mesh: &TriMesh, area: f64) -> impl Iterator<Item = DVec3> {
    let inside = (0..mesh.triangles.len() as u32).flat_map(move |face| {
        let [a, b, c] = mesh.corners(face);
        let share = mesh.area_vector(face).length() / 2.0 / area;
        // Rows of a triangular grid; the middle of the triangle at least.
        let rows = ((2.0 * share).sqrt().ceil().max(1.0) as usize).min(MOST);
        (0..rows).flat_map(move |i| (0..rows - i).map(move |j| (i, j))).map(move |(i, j)| {
            let step = 1.0 / rows as f64;
            let (u, v) = ((i as f64 + 1.0 / 3.0) * step, (j as f64 + 1.0 / 3.0) * step);
            a + (b - a) * u + (c - a) * v
        })
    });
    mesh.positions.iter().copied().chain(inside)
}
