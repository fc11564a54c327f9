//! Takes V's out of a surface: what lies between two lines that run from the boundary to one tip.

use std::collections::BTreeSet;

use geometry::mesh::TriMesh;
use geometry::mesh::adjacency::{Adjacency, AdjacencyError, Side};

use super::slit::Lips;

/// Takes away what lies between the two sides of each of `wedges` (vertices along edges of
/// `mesh`). Vertices of that alone go too, and the others keep their order; all of `slits` and
/// `wedges` get their new numbers. Whether each wedge was one: two lines with nothing in common
/// but their ends at the tip.
pub(super) fn take_away(
    mesh: &mut TriMesh,
    slits: &mut [Lips],
    wedges: &mut [Lips],
) -> Result<bool, AdjacencyError> {
    let adjacency = Adjacency::new(mesh)?;
    let mut gone = vec![false; mesh.triangles.len()];
    for wedge in wedges.iter_mut() {
        // Near the tip both lines may have been drawn through the same vertices.
        let before_tip = |line: &[u32]| line.len().checked_sub(2).map(|i| line[i]);
        while before_tip(&wedge.left).is_some()
            && before_tip(&wedge.left) == before_tip(&wedge.right)
        {
            wedge.left.pop();
            wedge.right.pop();
        }
        let Some(inside) = between(mesh, &adjacency, wedge) else { return Ok(false) };
        for face in inside {
            gone[face as usize] = true;
        }
    }
    let kept = mesh.triangles.iter().zip(&gone).filter(|(_, gone)| !**gone).map(|(t, _)| *t);
    mesh.triangles = kept.collect();
    let mut used = vec![false; mesh.positions.len()];
    for v in mesh.triangles.iter().flatten() {
        used[*v as usize] = true;
    }
    let mut renamed = vec![u32::MAX; used.len()];
    let mut positions = Vec::with_capacity(used.len());
    for (v, _) in used.iter().enumerate().filter(|(_, used)| **used) {
        renamed[v] = positions.len() as u32;
        positions.push(mesh.positions[v]);
    }
    mesh.positions = positions;
    let lines = slits.iter_mut().chain(wedges).flat_map(|lips| [&mut lips.left, &mut lips.right]);
    for v in mesh.triangles.iter_mut().flatten().chain(lines.flatten()) {
        *v = renamed[*v as usize];
    }
    Ok(true)
}

/// The triangles between the two sides of a wedge.
fn between(mesh: &TriMesh, adjacency: &Adjacency, wedge: &Lips) -> Option<BTreeSet<u32>> {
    let (left, right) = (&wedge.left, &wedge.right);
    let tip = left.last()?;
    let on_left: BTreeSet<u32> = left.iter().copied().collect();
    let only_tip_shared = right.iter().all(|v| on_left.contains(v) == (v == tip));
    if left.len() < 2 || right.len() < 2 || !only_tip_shared {
        return None;
    }
    let edge = |e: &[u32]| [e[0].min(e[1]), e[0].max(e[1])];
    let walls: BTreeSet<[u32; 2]> = left.windows(2).chain(right.windows(2)).map(edge).collect();
    let side = |face: u32, k: usize| {
        let t = mesh.triangles[face as usize];
        [t[k], t[(k + 1) % 3]]
    };
    // The triangle on the right of the left side runs along it backward.
    let back = [left[1], left[0]];
    let first = (0..mesh.triangles.len() as u32).find(|f| (0..3).any(|k| side(*f, k) == back))?;
    let mut inside = BTreeSet::from([first]);
    let mut waiting = vec![first];
    while let Some(face) = waiting.pop() {
        for k in 0..3 {
            let [a, b] = side(face, k);
            if walls.contains(&[a.min(b), a.max(b)]) {
                continue;
            }
            if let Some(other) = adjacency.across(Side { face, k: k as u8 })
                && inside.insert(other.face)
            {
                waiting.push(other.face);
            }
        }
    }
    // Where the lines do not part the surface, all of it is inside.
    let ahead = [left[0], left[1]];
    let leaks = inside.iter().any(|f| (0..3).any(|k| side(*f, k) == ahead));
    (!leaks).then_some(inside)
}
