//! Edges with more than two triangles: fins are dropped, the rest is cut apart.

use std::collections::BTreeMap;

use super::TriMesh;
use super::bodies::{bodies, split_touching, surface};
use super::edges::{edge_uses, edges};

/// A patch at a branching edge is a fin, to be dropped, when its surface is below this part of
/// the largest patch: the bound at which a second body is no longer taken for a crumb.
const FIN: f64 = 0.2;

/// A mesh after mending its branching edges, and what was done to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Unbranched {
    /// The mesh: no edge has more than two triangles.
    pub mesh: TriMesh,
    /// Branching edges that there were.
    pub branching: usize,
    /// Triangles that were dropped.
    pub dropped: usize,
    /// Places where vertices were doubled to part surfaces that only touched.
    pub parted: usize,
}

/// Removes edges with more than two triangles.
///
/// The surface is taken apart into patches along these edges. From the smallest upward a patch
/// is dropped when it still lies at such an edge and has less than a fifth of the surface of the
/// largest. What then still branches touches itself or something of comparable size: it is
/// parted there by doubling vertices, which leaves rims. Where even that is impossible (all
/// triangles of the edge meet again around both its ends), only the two largest triangles stay.
///
/// # Panics
/// When a triangle names a vertex that does not exist.
pub fn unbranch(mesh: &TriMesh) -> Unbranched {
    let uses = edge_uses(mesh);
    let branching = edges(&uses).filter(|uses| uses.len() > 2).count();
    let without_fins = drop_fins(mesh);
    let (parted_mesh, parted) = split_touching(&without_fins);
    let last = keep_two(&parted_mesh);
    let dropped = mesh.triangles.len() - last.triangles.len();
    Unbranched { mesh: last, branching, dropped, parted }
}

fn drop_fins(mesh: &TriMesh) -> TriMesh {
    let patches = bodies(mesh);
    let areas = mesh.face_areas();
    let mut patch_of = vec![0; mesh.triangles.len()];
    for (patch, faces) in patches.iter().enumerate() {
        for face in faces {
            patch_of[*face as usize] = patch;
        }
    }
    // Triangles left along each branching edge, and the branching edges of each patch.
    let mut left: Vec<usize> = Vec::new();
    let mut edges_of: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for uses in edges(&edge_uses(mesh)).filter(|uses| uses.len() > 2) {
        for side in uses {
            edges_of.entry(patch_of[side.face as usize]).or_default().push(left.len());
        }
        left.push(uses.len());
    }
    let largest = patches.first().map_or(0.0, |faces| surface(&areas, faces));
    let mut dropped = vec![false; patches.len()];
    // From the smallest upward: the patches come largest first.
    for (patch, own) in edges_of.iter().rev() {
        let is_fin = surface(&areas, &patches[*patch]) < FIN * largest;
        if is_fin && own.iter().any(|edge| left[*edge] > 2) {
            dropped[*patch] = true;
            for edge in own {
                left[*edge] -= 1;
            }
        }
    }
    let mut face = 0..;
    let mut kept = mesh.clone();
    kept.triangles.retain(|_| face.next().is_none_or(|f: usize| !dropped[patch_of[f]]));
    kept
}

/// Drops all but the two largest triangles at edges that still branch.
fn keep_two(mesh: &TriMesh) -> TriMesh {
    let areas = mesh.face_areas();
    let mut dropped = vec![false; mesh.triangles.len()];
    for uses in edges(&edge_uses(mesh)).filter(|uses| uses.len() > 2) {
        let mut faces: Vec<u32> =
            uses.iter().map(|u| u.face).filter(|f| !dropped[*f as usize]).collect();
        faces.sort_by(|a, b| areas[*b as usize].total_cmp(&areas[*a as usize]).then(a.cmp(b)));
        for face in faces.iter().skip(2) {
            dropped[*face as usize] = true;
        }
    }
    let mut is_dropped = dropped.into_iter();
    let mut kept = mesh.clone();
    kept.triangles.retain(|_| !is_dropped.next().unwrap_or(false));
    kept
}
