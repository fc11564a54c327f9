//! Cuts a mesh along a plane and keeps one side.

use std::collections::BTreeMap;

use glam::DVec3;

use super::Plane;
use crate::mesh::TriMesh;
use crate::mesh::weld::without_unused;

/// What of `mesh` lies on the side of the plane's normal, with new points where edges cross it:
/// neighbours share them, so no crack arises. A point nearer to the plane than `snap` counts as
/// lying in it and on the side that is kept.
pub(super) fn above(mesh: &TriMesh, plane: Plane, snap: f64) -> TriMesh {
    let heights: Vec<f64> = mesh
        .positions
        .iter()
        .map(|p| {
            let height = plane.height(*p);
            if height.abs() <= snap { 0.0 } else { height }
        })
        .collect();
    let mut kept = TriMesh { positions: mesh.positions.clone(), triangles: Vec::new() };
    let mut crossings: BTreeMap<[u32; 2], u32> = BTreeMap::new();
    for t in &mesh.triangles {
        let [low, high] = [0, 1]
            .map(|side| t.iter().filter(|v| (heights[**v as usize] < 0.0) == (side == 0)).count());
        if low == 0 {
            kept.triangles.push(*t);
            continue;
        }
        if high == 0 || t.iter().all(|v| heights[*v as usize] <= 0.0) {
            continue;
        }
        let mut corners = Vec::with_capacity(4);
        for k in 0..3 {
            let (a, b) = (t[k], t[(k + 1) % 3]);
            let (ha, hb) = (heights[a as usize], heights[b as usize]);
            if ha >= 0.0 {
                corners.push(a);
            }
            if (ha > 0.0 && hb < 0.0) || (ha < 0.0 && hb > 0.0) {
                corners.push(crossing(&mut crossings, &mut kept.positions, &heights, a, b));
            }
        }
        for k in 1..corners.len().saturating_sub(1) {
            kept.triangles.push([corners[0], corners[k], corners[k + 1]]);
        }
    }
    without_unused(&kept)
}

fn crossing(
    crossings: &mut BTreeMap<[u32; 2], u32>,
    positions: &mut Vec<DVec3>,
    heights: &[f64],
    a: u32,
    b: u32,
) -> u32 {
    let [a, b] = [a.min(b), a.max(b)];
    *crossings.entry([a, b]).or_insert_with(|| {
        let (ha, hb) = (heights[a as usize], heights[b as usize]);
        let (pa, pb) = (positions[a as usize], positions[b as usize]);
        positions.push(pa + (pb - pa) * (ha / (ha - hb)));
        (positions.len() - 1) as u32
    })
}
