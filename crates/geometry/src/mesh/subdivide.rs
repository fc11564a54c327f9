//! Makes a coarse mesh finer and smoother at once: one step of Loop's subdivision.

use glam::DVec3;

use super::TriMesh;
use super::edges::{edge_uses, edges};
use super::refine::Middles;

/// What lies around one vertex.
#[derive(Clone, Copy, Default)]
struct Ring {
    sum: DVec3,
    count: usize,
    rim_sum: DVec3,
    rim_count: usize,
}

/// One step of Loop's subdivision (C. Loop 1987, "Smooth subdivision surfaces based on
/// triangles"): four triangles for one, vertices moved toward a smooth surface.
///
/// On the rim, only the rim itself counts (midpoints; 1/8, 3/4, 1/8), so it stays a smooth curve
/// of its own. Where a rim passes a vertex twice, or an edge has more than two triangles, the
/// vertex stays in its place. Old vertices keep their numbers; the orientation stays. The surface
/// shrinks a little where it is curved: this is for meshes whose corners are an artefact.
///
/// # Panics
/// When a triangle names a vertex that does not exist.
pub fn subdivide_smooth(mesh: &TriMesh) -> TriMesh {
    let uses = edge_uses(mesh);
    let mut rings = vec![Ring::default(); mesh.positions.len()];
    let mut on_edges = Vec::new();
    for uses in edges(&uses) {
        let ends = uses[0].ends;
        let [p, q] = ends.map(|v| mesh.positions[v as usize]);
        for (v, other) in [(ends[0], q), (ends[1], p)] {
            let ring = &mut rings[v as usize];
            ring.sum += other;
            ring.count += 1;
            if uses.len() != 2 {
                ring.rim_sum += other;
                ring.rim_count += 1;
            }
        }
        let middle = p.midpoint(q);
        on_edges.push(match uses {
            [left, right] => {
                let across = opposite(mesh, left.face, ends) + opposite(mesh, right.face, ends);
                0.75 * middle + across / 8.0
            }
            _ => middle,
        });
    }
    let mut fine = mesh.clone();
    let middles = Middles::of_edges(&mut fine, |_, _| true);
    let moved = mesh.positions.iter().zip(&rings).map(|(p, ring)| moved(*p, ring));
    for (place, new) in fine.positions.iter_mut().zip(moved.chain(on_edges)) {
        *place = new;
    }
    let on = |a, b| middles.on(a, b).expect("every edge has got a vertex above");
    fine.triangles = mesh
        .triangles
        .iter()
        .flat_map(|&[a, b, c]| {
            let (ab, bc, ca) = (on(a, b), on(b, c), on(c, a));
            [[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]]
        })
        .collect();
    fine
}

/// The corner of `face` that is not one of `ends`.
fn opposite(mesh: &TriMesh, face: u32, ends: [u32; 2]) -> DVec3 {
    let t = mesh.triangles[face as usize];
    let v = t.iter().find(|v| !ends.contains(v)).unwrap_or(&t[0]);
    mesh.positions[*v as usize]
}

fn moved(p: DVec3, ring: &Ring) -> DVec3 {
    match ring.rim_count {
        0 if ring.count > 0 => {
            let n = ring.count as f64;
            let term = 0.375 + (std::f64::consts::TAU / n).cos() / 4.0;
            // Loop's own weight of one neighbour; 3/16 for three of them.
            let weight = (0.625 - term * term) / n;
            p * (1.0 - n * weight) + ring.sum * weight
        }
        2 => 0.75 * p + ring.rim_sum / 8.0,
        _ => p,
    }
}
