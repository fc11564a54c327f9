//! Fewer triangles for a picture, where the surface is finer than the picture shows.

use std::collections::BTreeMap;

use geometry::mesh::TriMesh;
use glam::DVec3;

/// More triangles than this show no more on a sheet of A4.
const ENOUGH: usize = 25_000;
/// Cells of the grid along the longest side.
const CELLS: f64 = 85.0;

/// The surface for a picture, with a normal for every vertex: points in one cell of a grid
/// become one. It lies within a cell of the true surface, which serves no measure.
pub(super) fn for_picture(mesh: &TriMesh) -> (TriMesh, Vec<DVec3>) {
    let normals = mesh.vertex_normals();
    if mesh.triangles.len() <= ENOUGH {
        return (mesh.clone(), normals);
    }
    let (low, high) = mesh.bounds().unwrap_or_default();
    let cell = (high - low).max_element() / CELLS;
    let mut cells: BTreeMap<[i64; 3], u32> = BTreeMap::new();
    let mut sums: Vec<(DVec3, DVec3, f64)> = Vec::new();
    let cell_of: Vec<u32> = mesh
        .positions
        .iter()
        .zip(&normals)
        .map(|(p, normal)| {
            let key = ((*p - low) / cell).floor().to_array().map(|c| c as i64);
            let i = *cells.entry(key).or_insert(sums.len() as u32);
            if i as usize == sums.len() {
                sums.push((DVec3::ZERO, DVec3::ZERO, 0.0));
            }
            let sum = &mut sums[i as usize];
            *sum = (sum.0 + *p, sum.1 + *normal, sum.2 + 1.0);
            i
        })
        .collect();
    let positions = sums.iter().map(|(p, _, n)| *p / *n).collect();
    let normals = sums.iter().map(|(_, normal, _)| normal.normalize_or_zero()).collect();
    let mut triangles: Vec<[u32; 3]> = mesh
        .triangles
        .iter()
        .map(|t| t.map(|v| cell_of[v as usize]))
        .filter(|[a, b, c]| a != b && b != c && c != a)
        .collect();
    triangles.sort_unstable();
    triangles.dedup();
    (TriMesh { positions, triangles }, normals)
}
