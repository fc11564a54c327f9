//! Turns all triangles of a body the same way round, then outward.

use glam::DVec3;

use super::TriMesh;
use super::bodies::{bodies, middle, surface};
use super::edges::{EdgeUse, Sets, edge_uses, edges};

/// A surface counts as flat, with no outside, where the volume it encloses is below this part of
/// area^1.5. A ball has 0.094, a thin insole (270 by 90 by 3 mm) 0.006, a bowl of a tenth of its
/// width in depth 0.04; rounding leaves 1e-12.
const FLAT: f64 = 1e-6;

/// A mesh after turning, and what was done to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Oriented {
    /// The mesh, with the same vertices and triangles in the same order, some turned.
    pub mesh: TriMesh,
    /// Triangles that were turned.
    pub flipped: usize,
    /// Bodies without an outside by volume (flat sheets): they face as most of their surface did.
    pub flat: usize,
    /// Pairs of neighbours that cannot face the same way, as on a Moebius band.
    pub twisted: Vec<[u32; 2]>,
}

/// Turns the triangles of each body the same way round, from neighbour to neighbour across edges
/// that two triangles share, and then the body outward.
///
/// Outward is where the signed volume is positive. A body with openings is closed for that by a
/// cone from each opening's rim to the mean of its points: right for anything like a last with
/// an open top; a shallow sheet faces its bulging side. A flat sheet has no outside: it faces the
/// way most of its surface did, and is counted in [`Oriented::flat`].
///
/// # Panics
/// When a triangle names a vertex that does not exist.
pub fn orient_outward(mesh: &TriMesh) -> Oriented {
    let uses = edge_uses(mesh);
    let bodies = bodies(mesh);
    let (mut turned, twisted) = consistent(mesh.triangles.len(), &uses, &bodies);
    let flat = face_outward(mesh, &uses, &bodies, &mut turned);
    let mut out = mesh.clone();
    for (t, turn) in out.triangles.iter_mut().zip(&turned) {
        if *turn {
            t.swap(1, 2);
        }
    }
    Oriented { mesh: out, flipped: turned.iter().filter(|t| **t).count(), flat, twisted }
}

/// The pairs of neighbours that cannot face the same way; empty for nearly every mesh.
pub(crate) fn twisted(mesh: &TriMesh) -> Vec<[u32; 2]> {
    consistent(mesh.triangles.len(), &edge_uses(mesh), &bodies(mesh)).1
}

/// Which triangles to turn so that neighbours agree; and the pairs that cannot.
fn consistent(n: usize, uses: &[EdgeUse], bodies: &[Vec<u32>]) -> (Vec<bool>, Vec<[u32; 2]>) {
    // Up to three neighbours each, and whether that neighbour runs along the edge the same way.
    let mut neighbours: Vec<[Option<(u32, bool)>; 3]> = vec![[None; 3]; n];
    let mut add = |face: u32, neighbour: u32, same: bool| {
        if let Some(free) = neighbours[face as usize].iter_mut().find(|s| s.is_none()) {
            *free = Some((neighbour, same));
        }
    };
    for uses in edges(uses) {
        if let [a, b] = uses {
            add(a.face, b.face, a.forward == b.forward);
            add(b.face, a.face, a.forward == b.forward);
        }
    }
    let mut turned: Vec<Option<bool>> = vec![None; n];
    let mut twisted = Vec::new();
    for body in bodies {
        let Some(&start) = body.first() else { continue };
        turned[start as usize] = Some(false);
        let mut front = std::collections::VecDeque::from([start]);
        while let Some(face) = front.pop_front() {
            let own = turned[face as usize] == Some(true);
            for (neighbour, same) in neighbours[face as usize].iter().flatten() {
                let wanted = own != *same;
                match turned[*neighbour as usize] {
                    None => {
                        turned[*neighbour as usize] = Some(wanted);
                        front.push_back(*neighbour);
                    }
                    Some(is) if is != wanted && face < *neighbour => {
                        twisted.push([face, *neighbour]);
                    }
                    Some(_) => {}
                }
            }
        }
    }
    twisted.sort_unstable();
    (turned.into_iter().map(|t| t == Some(true)).collect(), twisted)
}

/// Turns whole bodies so that they face outward. Returns how many are flat.
fn face_outward(
    mesh: &TriMesh,
    uses: &[EdgeUse],
    bodies: &[Vec<u32>],
    turned: &mut [bool],
) -> usize {
    let areas = mesh.face_areas();
    let mut body_of: Vec<u32> = vec![0; mesh.triangles.len()];
    for (body, faces) in bodies.iter().enumerate() {
        for face in faces {
            body_of[*face as usize] = body as u32;
        }
    }
    let centres: Vec<DVec3> = bodies.iter().map(|faces| middle(mesh, faces)).collect();
    let sign = |face: u32| if turned[face as usize] { -1.0 } else { 1.0 };
    let mut volumes: Vec<f64> = vec![0.0; bodies.len()];
    for (face, &body) in body_of.iter().enumerate() {
        let [a, b, c] = mesh.corners(face as u32).map(|p| p - centres[body as usize]);
        volumes[body as usize] += sign(face as u32) * a.dot(b.cross(c));
    }
    for (edge, apex) in rims(mesh, uses) {
        let body = body_of[edge.face as usize] as usize;
        let [a, b] = edge.ends.map(|v| mesh.positions[v as usize] - centres[body]);
        let along = if edge.forward { 1.0 } else { -1.0 };
        // The cone's triangle runs along the edge against its neighbour.
        volumes[body] += along * sign(edge.face) * b.dot(a.cross(apex - centres[body]));
    }
    let mut flat = 0;
    for (faces, volume) in bodies.iter().zip(volumes) {
        let area = surface(&areas, faces);
        let is_flat = volume.abs() / 6.0 < FLAT * area.powf(1.5);
        let turned_area: f64 =
            faces.iter().filter(|f| turned[**f as usize]).map(|f| areas[*f as usize]).sum();
        let turn = if is_flat { turned_area > area / 2.0 } else { volume < 0.0 };
        flat += usize::from(is_flat);
        if turn {
            for face in faces {
                turned[*face as usize] ^= true;
            }
        }
    }
    flat
}

/// The edges with one triangle, each with the mean of the points of the rim it belongs to.
fn rims(mesh: &TriMesh, uses: &[EdgeUse]) -> Vec<(EdgeUse, DVec3)> {
    let single = edges(uses).filter_map(|uses| match uses {
        [edge] => Some(*edge),
        _ => None,
    });
    let rim: Vec<EdgeUse> = single.collect();
    let mut sets = Sets::new(mesh.positions.len());
    for edge in &rim {
        sets.join(edge.ends[0], edge.ends[1]);
    }
    let mut sums: Vec<(DVec3, usize)> = vec![(DVec3::ZERO, 0); mesh.positions.len()];
    for edge in &rim {
        for v in edge.ends {
            let (sum, count) = &mut sums[sets.find(v) as usize];
            *sum += mesh.positions[v as usize];
            *count += 1;
        }
    }
    rim.into_iter()
        .map(|edge| {
            let (sum, count) = sums[sets.find(edge.ends[0]) as usize];
            (edge, sum / count as f64)
        })
        .collect()
}
