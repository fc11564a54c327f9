//! Whether a surface is a disk.

use super::super::TriMesh;
use super::super::adjacency::Adjacency;
use super::super::edges::{Sets, edge_uses, edges};
use super::RemeshError;

/// The boundary of a disk, counter-clockwise.
pub(super) fn boundary(mesh: &TriMesh) -> Result<Vec<u32>, RemeshError> {
    if let Some(bad) = mesh.positions.iter().position(|p| !p.is_finite()) {
        return Err(RemeshError::NotFinite(bad));
    }
    let adjacency = Adjacency::new(mesh)?;
    let loops = adjacency.boundary_loops(mesh);
    let mut sets = Sets::new(mesh.positions.len());
    let mut used = vec![false; mesh.positions.len()];
    for t in &mesh.triangles {
        sets.join(t[0], t[1]);
        sets.join(t[1], t[2]);
        t.iter().for_each(|v| used[*v as usize] = true);
    }
    let count = used.iter().filter(|u| **u).count();
    let pieces =
        (0..used.len() as u32).filter(|v| used[*v as usize] && sets.find(*v) == *v).count();
    let euler = count as i64 - edges(&edge_uses(mesh)).count() as i64 + mesh.triangles.len() as i64;
    let distinct = |ring: &[u32]| {
        let mut sorted = ring.to_vec();
        sorted.sort_unstable();
        sorted.windows(2).all(|w| w[0] != w[1])
    };
    // One piece with one simple boundary and this characteristic is a disk, unless two parts of
    // it touch at an inner vertex; such a vertex would lower the count by one.
    match &loops[..] {
        [ring] if pieces == 1 && euler == 1 && distinct(ring) && ring.len() >= 3 => {
            Ok(ring.clone())
        }
        _ => Err(RemeshError::NotADisk { pieces, boundaries: loops.len(), euler }),
    }
}
