//! Normals averaged over a fixed distance, at a cost that does not grow with their number.

use glam::DVec3;

use crate::mesh::TriMesh;

/// Cells in one reach: fine enough that the mean is that of the single triangles to within a few
/// tenths of a degree.
const CELLS_IN_REACH: i64 = 4;

/// Cells along a side of the block whose vertices look for their neighbours together.
const BLOCK: i64 = 3;

/// A triangle counts in full while the cosine between it and the vertex is above the first, and not
/// at all below the second: the far side of something thin is no neighbour.
const SAME_SIDE: [f64; 2] = [-0.2, -0.8];

/// Triangles of one cell that face the same way, taken together.
struct Cluster {
    cell: [i64; 3],
    middle: DVec3,
    /// The sum of the area vectors.
    area: DVec3,
    toward: DVec3,
}

/// A unit normal for each vertex: the mean of those of the triangles within `reach` mm, weighted by
/// area and nearness. `own` are the vertex normals, for vertices that no middle of a triangle is
/// within reach of. A vertex without either gets the zero vector.
pub(super) fn averaged(mesh: &TriMesh, own: &[DVec3], reach: f64) -> Vec<DVec3> {
    let size = reach / CELLS_IN_REACH as f64;
    let cell = |p: DVec3| (p / size).floor().as_i64vec3().to_array();
    let clusters = clusters(mesh, cell);
    let block = |p: DVec3| cell(p).map(|x| x.div_euclid(BLOCK));
    let mut order: Vec<([i64; 3], u32)> =
        mesh.positions.iter().zip(0..).map(|(p, v)| (block(*p), v)).collect();
    order.sort_unstable();
    let mut normals = own.to_vec();
    let mut near: Vec<&Cluster> = Vec::new();
    for together in order.chunk_by(|a, b| a.0 == b.0) {
        near.clear();
        let low = together[0].0.map(|x| x * BLOCK - CELLS_IN_REACH);
        let high = together[0].0.map(|x| (x + 1) * BLOCK - 1 + CELLS_IN_REACH);
        for (x, y) in (low[0]..=high[0]).flat_map(|x| (low[1]..=high[1]).map(move |y| (x, y))) {
            let from = clusters.partition_point(|c| c.cell < [x, y, low[2]]);
            near.extend(clusters[from..].iter().take_while(|c| c.cell <= [x, y, high[2]]));
        }
        for (_, v) in together {
            let (p, own) = (mesh.positions[*v as usize], own[*v as usize]);
            let mut sum = DVec3::ZERO;
            for cluster in &near {
                let far = cluster.middle.distance_squared(p) / (reach * reach);
                if far < 1.0 {
                    let [all, none] = SAME_SIDE;
                    let side = ((cluster.toward.dot(own) - none) / (all - none)).clamp(0.0, 1.0);
                    sum += cluster.area * ((1.0 - far).powi(2) * side);
                }
            }
            let mean = sum.normalize_or_zero();
            if mean != DVec3::ZERO {
                normals[*v as usize] = mean;
            }
        }
    }
    normals
}

fn clusters(mesh: &TriMesh, cell: impl Fn(DVec3) -> [i64; 3]) -> Vec<Cluster> {
    let mut faces: Vec<([i64; 3], usize, u32)> = (0..mesh.triangles.len() as u32)
        .map(|face| {
            let middle = mesh.corners(face).iter().sum::<DVec3>() / 3.0;
            (cell(middle), facing(mesh.area_vector(face)), face)
        })
        .collect();
    faces.sort_unstable();
    let together = faces.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1));
    let gather = |faces: &[([i64; 3], usize, u32)]| {
        let (mut middle, mut area, mut weight) = (DVec3::ZERO, DVec3::ZERO, 0.0);
        for (_, _, face) in faces {
            let vector = mesh.area_vector(*face);
            middle += mesh.corners(*face).iter().sum::<DVec3>() / 3.0 * vector.length();
            weight += vector.length();
            area += vector;
        }
        let toward = area.normalize_or_zero();
        (weight > 0.0).then(|| Cluster { cell: faces[0].0, middle: middle / weight, area, toward })
    };
    together.filter_map(gather).collect()
}

/// Which of the six directions along the axes is nearest.
fn facing(vector: DVec3) -> usize {
    let largest = vector.abs().max_element();
    let axis = vector.abs().to_array().iter().position(|x| *x == largest).unwrap_or(0);
    2 * axis + usize::from(vector[axis] < 0.0)
}
