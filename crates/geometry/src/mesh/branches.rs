//! Edges with more than two triangles: fins are dropped, the rest is cut apart.

use std::collections::BTreeMap;

use glam::DVec3;

use super::TriMesh;
use super::bodies::{bodies, middle, split_touching, surface};
use super::edges::{edge_uses, edges};
use super::repair::largest_places;

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
    /// The middles of what was dropped, the largest first.
    pub dropped_places: Vec<DVec3>,
    /// Where branching edges were left after that, the longest first.
    pub parted_places: Vec<DVec3>,
}

/// Removes edges with more than two triangles.
///
/// The surface is taken apart into patches along these edges. From the smallest upward a patch
/// is dropped when it still lies at such an edge and has less than a fifth of the surface of the
/// largest. What then still branches touches itself or something of comparable size: it is
/// parted there by doubling vertices: sheets that only touch come apart whole, others keep a rim.
///
/// # Panics
/// When a triangle names a vertex that does not exist.
pub fn unbranch(mesh: &TriMesh) -> Unbranched {
    let uses = edge_uses(mesh);
    let branching = edges(&uses).filter(|uses| uses.len() > 2).count();
    if branching == 0 {
        let mesh = mesh.clone();
        let (dropped_places, parted_places) = (Vec::new(), Vec::new());
        return Unbranched {
            mesh,
            branching,
            dropped: 0,
            parted: 0,
            dropped_places,
            parted_places,
        };
    }
    let (without_fins, dropped_places) = drop_fins(mesh);
    let dropped = mesh.triangles.len() - without_fins.triangles.len();
    let rest = edge_uses(&without_fins);
    let branching_left = edges(&rest).filter(|uses| uses.len() > 2).map(|uses| {
        let [a, b] = uses[0].ends.map(|v| without_fins.positions[v as usize]);
        (a.distance(b), a.midpoint(b))
    });
    let parted_places = largest_places(branching_left.collect());
    let (mesh, parted) = split_touching(&without_fins);
    Unbranched { mesh, branching, dropped, parted, dropped_places, parted_places }
}

/// The mesh without its fins, and where they were.
fn drop_fins(mesh: &TriMesh) -> (TriMesh, Vec<DVec3>) {
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
    let fins = patches.iter().zip(&dropped).filter(|(_, d)| **d);
    let places = fins.map(|(faces, _)| (surface(&areas, faces), middle(mesh, faces)));
    let places = largest_places(places.collect());
    let mut face = 0..;
    let mut kept = mesh.clone();
    kept.triangles.retain(|_| face.next().is_none_or(|f: usize| !dropped[patch_of[f]]));
    (kept, places)
}
