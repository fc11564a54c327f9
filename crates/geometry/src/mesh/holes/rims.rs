//! The rims of a mesh, each as one loop of vertices.

use std::collections::BTreeMap;

use super::HoleError;
use crate::mesh::TriMesh;
use crate::mesh::bodies::split_touching;
use crate::mesh::edges::{Sets, edge_uses, edges};

/// The loops of a mesh.
pub(super) struct Rims {
    /// The mesh; vertices in which one loop touched itself are joined in `joined`.
    pub(super) mesh: TriMesh,
    /// Each loop in the direction of the triangles along it: the surface on its left.
    pub(super) loops: Vec<Vec<u32>>,
    /// Vertices that went into another one in the same place; no triangle uses them.
    pub(super) joined: Vec<u32>,
}

/// Finds the rims. A rim that comes back to the place of one of its vertices is a loop for each
/// hole around that place, or closes up without one, like a seam: there the vertices are joined.
pub(super) fn rims(mesh: &TriMesh) -> Result<Rims, HoleError> {
    check(mesh)?;
    let mut mesh = mesh.clone();
    let next = match successors(&mesh)? {
        Some(next) => next,
        None => {
            mesh = split_touching(&mesh).0;
            successors(&mesh)?.unwrap_or_default()
        }
    };
    let loops = traced(next);
    let mut parts = Vec::new();
    let mut joins = Vec::new();
    for whole in &loops {
        match pinched_off(&mesh, whole) {
            Some((pieces, new)) => {
                parts.extend(pieces);
                joins.extend(new);
            }
            None => parts.push(whole.clone()),
        }
    }
    if joins.is_empty() {
        return Ok(Rims { mesh, loops, joined: Vec::new() });
    }
    let mut closed_up = mesh.clone();
    let to: BTreeMap<u32, u32> = joins.iter().copied().collect();
    for v in closed_up.triangles.iter_mut().flatten() {
        *v = to.get(v).copied().unwrap_or(*v);
    }
    // Joining may bring two sheets together along an edge; then the loops stay as they were.
    let collapsed = closed_up.triangles.iter().any(|[a, b, c]| a == b || b == c || c == a);
    if collapsed || successors(&closed_up).is_err() {
        return Ok(Rims { mesh, loops, joined: Vec::new() });
    }
    Ok(Rims { mesh: closed_up, loops: parts, joined: to.into_keys().collect() })
}

fn check(mesh: &TriMesh) -> Result<(), HoleError> {
    let vertices = mesh.positions.len();
    if let Some(vertex) = mesh.positions.iter().position(|p| !p.is_finite()) {
        return Err(HoleError::NotFinite { vertex });
    }
    for (triangle, t) in mesh.triangles.iter().enumerate() {
        if let Some(&index) = t.iter().find(|v| **v as usize >= vertices) {
            return Err(HoleError::IndexOutOfRange { triangle, index, vertices });
        }
        let [a, b, c] = *t;
        if a == b || b == c || c == a {
            return Err(HoleError::NotManifold { ends: [a, if a == b { c } else { b }] });
        }
    }
    Ok(())
}

/// For each vertex the next one along its rim, or `u32::MAX`; `None` when one has two.
fn successors(mesh: &TriMesh) -> Result<Option<Vec<u32>>, HoleError> {
    let mut next = vec![u32::MAX; mesh.positions.len()];
    let mut twice = false;
    for uses in edges(&edge_uses(mesh)) {
        let ends = uses[0].ends;
        match uses {
            [one] => {
                let [from, to] = if one.forward { ends } else { [ends[1], ends[0]] };
                twice |= next[from as usize] != u32::MAX;
                next[from as usize] = to;
            }
            [one, other] if one.forward != other.forward => {}
            _ => return Err(HoleError::NotManifold { ends }),
        }
    }
    Ok((!twice).then_some(next))
}

/// The loops that the successors make.
fn traced(mut next: Vec<u32>) -> Vec<Vec<u32>> {
    let mut loops = Vec::new();
    for start in 0..next.len() {
        let mut ring = Vec::new();
        let mut at = start;
        while next[at] != u32::MAX {
            ring.push(at as u32);
            at = std::mem::replace(&mut next[at], u32::MAX) as usize;
        }
        if !ring.is_empty() {
            loops.push(ring);
        }
    }
    loops
}

/// Loops of three and more, and the vertices to be joined for them (the second into the first).
type Pinched = (Vec<Vec<u32>>, Vec<(u32, u32)>);

/// The loops that a rim falls into where it meets itself in one place. `None` when it does not,
/// or when an edge would collapse by it.
fn pinched_off(mesh: &TriMesh, whole: &[u32]) -> Option<Pinched> {
    // Adding zero makes minus zero plain zero.
    let place = |v: u32| mesh.positions[v as usize].to_array().map(|x| (x + 0.0).to_bits());
    let mut open: Vec<u32> = Vec::new();
    let mut depth_at: BTreeMap<[u64; 3], usize> = BTreeMap::new();
    let (mut pieces, mut joins) = (Vec::new(), Vec::new());
    for &v in whole {
        let Some(&depth) = depth_at.get(&place(v)) else {
            depth_at.insert(place(v), open.len());
            open.push(v);
            continue;
        };
        let piece = open[depth..].to_vec();
        for inner in &piece[1..] {
            depth_at.remove(&place(*inner));
        }
        open.truncate(depth + 1);
        joins.push((v, piece[0]));
        match piece.len() {
            1 => return None,
            2 => {}
            _ => pieces.push(piece),
        }
    }
    match open.len() {
        _ if joins.is_empty() => None,
        // A single edge is left, or nothing at all is left to close.
        1 => None,
        2 => Some((pieces, joins)),
        _ => {
            pieces.push(open);
            Some((pieces, joins))
        }
    }
}

/// A triangle, and how many there are, of the largest of the other bodies that have a rim.
pub(super) fn loose_piece(mesh: &TriMesh) -> Option<(u32, usize)> {
    let uses = edge_uses(mesh);
    let mut sets = Sets::new(mesh.triangles.len());
    for pair in edges(&uses).filter(|uses| uses.len() == 2) {
        sets.join(pair[0].face, pair[1].face);
    }
    let mut sizes: BTreeMap<u32, usize> = BTreeMap::new();
    for face in 0..mesh.triangles.len() as u32 {
        *sizes.entry(sets.find(face)).or_default() += 1;
    }
    if sizes.len() < 2 {
        return None;
    }
    let largest = sizes.iter().max_by_key(|(_, n)| **n).map(|(name, _)| *name)?;
    let rimmed = edges(&uses).filter(|uses| uses.len() == 1).map(|uses| uses[0].face);
    let mut names: Vec<u32> = rimmed.map(|face| sets.find(face)).collect();
    names.sort_unstable();
    names.dedup();
    let others = names.into_iter().filter(|name| *name != largest);
    others.map(|name| (name, sizes[&name])).max_by_key(|(_, n)| *n)
}
