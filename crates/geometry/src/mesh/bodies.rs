//! Separate bodies of a mesh, and the cutting apart of places where a surface only touches itself.

use std::collections::BTreeMap;

use glam::DVec3;

use super::TriMesh;
use super::edges::{Sets, edge_uses, edges};
use super::weld::without_unused;

/// The triangles of each body: connected across edges that two triangles share, largest surface
/// first (of equal ones the earlier). Bodies that touch only at points or along edges with more
/// than two triangles count as separate. Within a body the triangles ascend.
///
/// # Panics
/// When a triangle names a vertex that does not exist.
pub fn bodies(mesh: &TriMesh) -> Vec<Vec<u32>> {
    let mut sets = Sets::new(mesh.triangles.len());
    for uses in edges(&edge_uses(mesh)) {
        if let [a, b] = uses {
            sets.join(a.face, b.face);
        }
    }
    let mut by_name: BTreeMap<u32, Vec<u32>> = BTreeMap::new();
    for face in 0..mesh.triangles.len() as u32 {
        by_name.entry(sets.find(face)).or_default().push(face);
    }
    let areas = mesh.face_areas();
    let mut sized: Vec<(f64, Vec<u32>)> =
        by_name.into_values().map(|faces| (surface(&areas, &faces), faces)).collect();
    sized.sort_by(|a, b| b.0.total_cmp(&a.0));
    sized.into_iter().map(|(_, faces)| faces).collect()
}

/// The body with the largest surface, alone; an empty mesh gives an empty mesh.
///
/// # Panics
/// When a triangle names a vertex that does not exist.
pub fn largest_body(mesh: &TriMesh) -> TriMesh {
    bodies(mesh).first().map_or_else(TriMesh::default, |faces| only(mesh, faces))
}

/// The given triangles alone, in the given order, without unused vertices.
///
/// # Panics
/// When a number in `faces` or a triangle's vertex does not exist.
pub fn only(mesh: &TriMesh, faces: &[u32]) -> TriMesh {
    let triangles = faces.iter().map(|f| mesh.triangles[*f as usize]).collect();
    without_unused(&TriMesh { positions: mesh.positions.clone(), triangles })
}

/// The area of `faces`, mm², given that of every triangle.
pub(crate) fn surface(areas: &[f64], faces: &[u32]) -> f64 {
    faces.iter().map(|f| areas[*f as usize]).sum()
}

/// The middle of `faces`: the mean of their corners.
pub(crate) fn middle(mesh: &TriMesh, faces: &[u32]) -> DVec3 {
    let corners = faces.iter().flat_map(|f| mesh.corners(*f));
    corners.fold(DVec3::ZERO, |sum, p| sum + p) / (3 * faces.len().max(1)) as f64
}

/// Gives each fan of triangles its own vertex where several fans meet in one, so that around
/// every vertex the surface is one disk or part of a disk, and no edge has more than two triangles
/// (a fan runs through triangles one after another, so at most two of them, its ends, lie at the
/// same branching edge). New vertices stand at the end, in the
/// same places as the old ones. Also returns how many were added.
///
/// # Panics
/// When a triangle names a vertex that does not exist.
pub fn split_touching(mesh: &TriMesh) -> (TriMesh, usize) {
    // Corner k of a triangle has the number 3 * face + k.
    let corner_of = |face: u32, v: u32| {
        let k = mesh.triangles[face as usize].iter().position(|w| *w == v).unwrap_or(0);
        3 * face + k as u32
    };
    let mut fans = Sets::new(3 * mesh.triangles.len());
    for uses in edges(&edge_uses(mesh)) {
        if let [a, b] = uses {
            for v in a.ends {
                fans.join(corner_of(a.face, v), corner_of(b.face, v));
            }
        }
    }
    let mut split = mesh.clone();
    let mut first_fan: Vec<Option<u32>> = vec![None; mesh.positions.len()];
    let mut copies: BTreeMap<u32, u32> = BTreeMap::new();
    for (face, t) in mesh.triangles.iter().enumerate() {
        for (k, v) in t.iter().enumerate() {
            let fan = fans.find((3 * face + k) as u32);
            if *first_fan[*v as usize].get_or_insert(fan) != fan {
                split.triangles[face][k] = *copies.entry(fan).or_insert_with(|| {
                    split.positions.push(mesh.positions[*v as usize]);
                    (split.positions.len() - 1) as u32
                });
            }
        }
    }
    let added = copies.len();
    (split, added)
}
