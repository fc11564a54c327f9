//! Opens lines that run in from the boundary: each vertex but the tip becomes two.

use std::collections::{BTreeMap, BTreeSet};

use geometry::mesh::TriMesh;
use geometry::mesh::adjacency::{Adjacency, AdjacencyError, Side};

/// The two sides of a cut, as vertices from the mouth to the tip, which both share. Seen from
/// outside with the tip up, they are the left and the right one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lips {
    /// From the mouth to the tip.
    pub left: Vec<u32>,
    /// From the mouth to the tip.
    pub right: Vec<u32>,
}

/// Opens `lines` (vertices along edges of `mesh`, from the boundary inward, apart from each
/// other) into slits. New vertices are put behind the others. `None` where a line touches the
/// boundary elsewhere than at its mouth.
pub(super) fn open(
    mesh: &mut TriMesh,
    lines: &[Vec<u32>],
) -> Result<Option<Vec<Lips>>, AdjacencyError> {
    let adjacency = Adjacency::new(mesh)?;
    let on_rim: BTreeSet<u32> = adjacency.boundary_loops(mesh).into_iter().flatten().collect();
    let mut opened = Vec::with_capacity(lines.len());
    for line in lines {
        let meets_rim_once = line.len() > 1
            && on_rim.contains(&line[0])
            && line[1..].iter().all(|v| !on_rim.contains(v));
        if !meets_rim_once {
            return Ok(None);
        }
        opened.push(open_one(mesh, &adjacency, line));
    }
    Ok(Some(opened))
}

fn open_one(mesh: &mut TriMesh, adjacency: &Adjacency, line: &[u32]) -> Lips {
    let walls: BTreeSet<[u32; 2]> =
        line.windows(2).map(|e| [e[0].min(e[1]), e[0].max(e[1])]).collect();
    let mut near: BTreeMap<u32, Vec<(u32, [u32; 3])>> =
        line.iter().map(|v| (*v, Vec::new())).collect();
    for (t, face) in mesh.triangles.iter().zip(0..) {
        for v in t {
            if let Some(faces) = near.get_mut(v) {
                faces.push((face, *t));
            }
        }
    }
    let mut right = Vec::with_capacity(line.len());
    for pair in line.windows(2) {
        let (vertex, next) = (pair[0], pair[1]);
        let fresh = mesh.positions.len() as u32;
        mesh.positions.push(mesh.positions[vertex as usize]);
        // The triangle on the right of the line runs along it backward.
        for face in fan(&near[&vertex], adjacency, [next, vertex], &walls) {
            for corner in &mut mesh.triangles[face as usize] {
                if *corner == vertex {
                    *corner = fresh;
                }
            }
        }
        right.push(fresh);
    }
    right.extend(line.last());
    Lips { left: line.to_vec(), right }
}

/// Those triangles of `around` a vertex that hang together, without crossing a wall, with the
/// one that has the side `from`, which ends at the vertex.
fn fan(
    around: &[(u32, [u32; 3])],
    adjacency: &Adjacency,
    from: [u32; 2],
    walls: &BTreeSet<[u32; 2]>,
) -> Vec<u32> {
    let side = |t: &[u32; 3], k: usize| [t[k], t[(k + 1) % 3]];
    let first = around.iter().find(|(_, t)| (0..3).any(|k| side(t, k) == from));
    let mut found: Vec<(u32, [u32; 3])> = first.into_iter().copied().collect();
    let mut next = 0;
    while let Some((face, t)) = found.get(next).copied() {
        next += 1;
        for k in 0..3 {
            let [a, b] = side(&t, k);
            if !(a == from[1] || b == from[1]) || walls.contains(&[a.min(b), a.max(b)]) {
                continue;
            }
            let Some(across) = adjacency.across(Side { face, k: k as u8 }) else { continue };
            let other = around.iter().find(|(f, _)| *f == across.face);
            if let Some(other) = other.filter(|o| !found.contains(o)) {
                found.push(*other);
            }
        }
    }
    found.into_iter().map(|(face, _)| face).collect()
}
