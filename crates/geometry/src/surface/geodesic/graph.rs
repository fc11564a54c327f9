//! The shortest way along the edges of the mesh, as a start.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::queue::Distance;
use crate::surface::{Surface, SurfacePath, SurfacePoint};

/// The shortest path from `from` to `to` that follows edges, with its first and last piece across
/// a triangle (Dijkstra, led on by the straight distance to the goal). `None` when the two lie on
/// parts of the surface that are not joined.
pub(super) fn along_edges(
    surface: &Surface<'_>,
    from: &SurfacePoint,
    to: &SurfacePoint,
) -> Option<SurfacePath> {
    if surface.common_face(from, to).is_some() {
        return Some(SurfacePath { points: vec![*from, *to], closed: false });
    }
    let mesh = surface.mesh;
    let (start, goal) = (from.position(mesh), to.position(mesh));
    let left = |v: u32| mesh.positions[v as usize].distance(goal);
    let corners = |point: &SurfacePoint| -> Vec<u32> {
        if let SurfacePoint::Vertex(v) = point {
            return vec![*v];
        }
        let faces = surface.faces_at(point);
        let mut all: Vec<u32> = faces.iter().flat_map(|f| mesh.triangles[*f as usize]).collect();
        all.sort_unstable();
        all.dedup();
        all
    };
    let goals = corners(to);
    let mut walked = vec![f64::INFINITY; mesh.positions.len()];
    let mut came = vec![u32::MAX; mesh.positions.len()];
    let mut queue = BinaryHeap::new();
    for v in corners(from) {
        walked[v as usize] = start.distance(mesh.positions[v as usize]);
        queue.push(Reverse((Distance(walked[v as usize] + left(v)), v)));
    }
    while let Some(Reverse((Distance(most), v))) = queue.pop() {
        // The straight distance never overstates: the first goal taken out is the nearest.
        if goals.contains(&v) {
            let mut points = vec![*to, SurfacePoint::Vertex(v)];
            let mut at = v;
            while came[at as usize] != u32::MAX {
                at = came[at as usize];
                points.push(SurfacePoint::Vertex(at));
            }
            points.push(*from);
            points.reverse();
            points.dedup();
            return Some(SurfacePath { points, closed: false });
        }
        let here = walked[v as usize];
        if most > here + left(v) {
            continue;
        }
        for face in surface.faces_around(v) {
            for w in mesh.triangles[*face as usize] {
                let step = mesh.positions[v as usize].distance(mesh.positions[w as usize]);
                if here + step < walked[w as usize] {
                    walked[w as usize] = here + step;
                    came[w as usize] = v;
                    queue.push(Reverse((Distance(here + step + left(w)), w)));
                }
            }
        }
    }
    None
}
