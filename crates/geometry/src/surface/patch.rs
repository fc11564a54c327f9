//! Lifts a piece out of a surface.

use std::collections::{BTreeMap, BTreeSet};

use super::Imprinted;
use crate::mesh::TriMesh;
use crate::mesh::adjacency::{Adjacency, Side};

/// A piece of a surface.
#[derive(Debug, Clone)]
pub struct Patch {
    /// The piece.
    pub mesh: TriMesh,
    /// The cut paths as vertices of the piece, the first of them its boundary,
    /// counter-clockwise.
    pub paths: Vec<Vec<u32>>,
    /// For each vertex of the piece, that of the surface it was lifted out of.
    pub vertices: Vec<u32>,
}

/// Why no piece could be lifted out.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PatchError {
    /// The surface is not manifold.
    #[error(transparent)]
    Adjacency(#[from] crate::mesh::adjacency::AdjacencyError),
    /// The path does not bound a piece on its left.
    #[error("the line does not enclose a piece of the surface; look for a hole in the last there")]
    NotEnclosed,
}

/// The piece to the left of the first, closed path that was cut (which runs counter-clockwise
/// round it). Other paths must lie in the piece.
///
/// # Errors
/// When the path does not enclose a piece, or another path leaves it.
pub fn patch_left_of(cut: &Imprinted) -> Result<Patch, PatchError> {
    patch_within(&cut.mesh, &cut.paths)
}

/// The piece of `mesh` to the left of the first of `paths`, which are chains of its edges: a closed
/// one, counter-clockwise round the piece. The others must lie in the piece.
///
/// # Errors
/// When the path does not enclose a piece, or another path leaves it.
pub fn patch_within(mesh: &TriMesh, paths: &[Vec<u32>]) -> Result<Patch, PatchError> {
    let adjacency = Adjacency::new(mesh)?;
    let path = paths.first().ok_or(PatchError::NotEnclosed)?;
    let n = path.len();
    let walls: BTreeSet<(u32, u32)> = (0..n).map(|i| (path[i], path[(i + 1) % n])).collect();
    let ends = |face: u32, k: u8| {
        let t = mesh.triangles[face as usize];
        (t[k as usize], t[(k as usize + 1) % 3])
    };
    let faces = 0..mesh.triangles.len() as u32;
    let mut waiting: Vec<u32> =
        faces.filter(|f| (0..3).any(|k| walls.contains(&ends(*f, k)))).collect();
    let mut inside: BTreeSet<u32> = waiting.iter().copied().collect();
    while let Some(face) = waiting.pop() {
        for k in 0..3 {
            let (a, b) = ends(face, k);
            if walls.contains(&(a, b)) {
                continue;
            }
            if walls.contains(&(b, a)) {
                return Err(PatchError::NotEnclosed);
            }
            let Some(Side { face: other, .. }) = adjacency.across(Side { face, k }) else {
                return Err(PatchError::NotEnclosed);
            };
            if inside.insert(other) {
                waiting.push(other);
            }
        }
    }
    if inside.is_empty() {
        return Err(PatchError::NotEnclosed);
    }
    lift(mesh, paths, &inside).ok_or(PatchError::NotEnclosed)
}

fn lift(mesh: &TriMesh, paths: &[Vec<u32>], inside: &BTreeSet<u32>) -> Option<Patch> {
    let used: BTreeSet<u32> = inside.iter().flat_map(|f| mesh.triangles[*f as usize]).collect();
    let vertices: Vec<u32> = used.into_iter().collect();
    let new_of: BTreeMap<u32, u32> =
        vertices.iter().enumerate().map(|(new, old)| (*old, new as u32)).collect();
    let piece = TriMesh {
        positions: vertices.iter().map(|v| mesh.positions[*v as usize]).collect(),
        triangles: inside.iter().map(|f| mesh.triangles[*f as usize].map(|v| new_of[&v])).collect(),
    };
    let renumber = |path: &Vec<u32>| path.iter().map(|v| new_of.get(v).copied()).collect();
    let paths = paths.iter().map(renumber).collect::<Option<Vec<Vec<u32>>>>()?;
    Some(Patch { mesh: piece, paths, vertices })
}
