//! Triangles without height: their middle corner lies on their longest side. Dropping one would
//! leave a crack, so the side is flipped into the neighbour.

use std::collections::BTreeSet;

use glam::DVec3;

use super::TriMesh;
use super::edges::{EdgeUse, edge_uses};
use super::repair::largest_places;
use super::weld::size_and_middle;

/// A triangle is without height below this part of its longest side. Its angle there is then
/// below a millionth, and directions along it have lost half of the digits of f64; a scan's own
/// thin triangles are a thousand times higher.
const HEIGHT: f64 = 1e-6;

/// Rounds of flipping; each resolves the outermost of triangles stacked on one line.
const ROUNDS: usize = 32;

/// A mesh after mending triangles without height, and what was done to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Uncapped {
    /// The mesh: same vertices; flipped triangles stand in their places.
    pub mesh: TriMesh,
    /// Triangles that were mended together with their neighbour.
    pub flipped: usize,
    /// Triangles that lay with their longest side at a rim, and were dropped.
    pub dropped: usize,
    /// Triangles without height that could not be mended.
    pub left: usize,
    /// Where triangles were mended, the longest first.
    pub mended_places: Vec<DVec3>,
    /// Where triangles without height are left, the longest first.
    pub left_places: Vec<DVec3>,
}

/// Mends triangles whose height is below a millionth of their longest side, on a mesh whose
/// triangles face the same way. The surface moves by no more than that height. Such a triangle
/// is left as it is where the flip would double an edge or make another one without height.
///
/// # Panics
/// When a triangle names a vertex that does not exist.
pub fn mend_caps(mesh: &TriMesh) -> Uncapped {
    let mut mesh = mesh.clone();
    let (mut flipped, mut dropped) = (0, 0);
    let (mut found, mut left) = (Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        let flat: Vec<u32> =
            (0..mesh.triangles.len() as u32).filter(|f| is_flat(mesh.corners(*f))).collect();
        left = flat.iter().map(|f| size_and_middle(mesh.corners(*f))).collect();
        if left.is_empty() {
            break;
        }
        if found.is_empty() {
            found.clone_from(&left);
        }
        let round = Round::new(&mut mesh).mend(&flat);
        flipped += round.0;
        dropped += round.1;
        if round == (0, 0) {
            break;
        }
    }
    Uncapped {
        mesh,
        flipped,
        dropped,
        left: left.len(),
        mended_places: largest_places(found),
        left_places: largest_places(left),
    }
}

fn is_flat([a, b, c]: [DVec3; 3]) -> bool {
    let longest = a.distance_squared(b).max(b.distance_squared(c)).max(c.distance_squared(a));
    (b - a).cross(c - a).length() <= HEIGHT * longest
}

struct Round<'a> {
    mesh: &'a mut TriMesh,
    uses: Vec<EdgeUse>,
    touched: Vec<bool>,
    new_edges: BTreeSet<[u32; 2]>,
}

impl<'a> Round<'a> {
    fn new(mesh: &'a mut TriMesh) -> Self {
        let uses = edge_uses(mesh);
        let touched = vec![false; mesh.triangles.len()];
        Self { mesh, uses, touched, new_edges: BTreeSet::new() }
    }

    /// Flips or drops what it can; returns how many of each.
    fn mend(mut self, flat: &[u32]) -> (usize, usize) {
        let mut flipped = 0;
        let mut dropped = vec![false; self.mesh.triangles.len()];
        for &face in flat {
            if self.touched[face as usize] {
                continue;
            }
            let [a, b, c] = self.longest_last(face);
            match self.along(a, c) {
                [_] => {
                    self.touched[face as usize] = true;
                    dropped[face as usize] = true;
                }
                [one, two] => {
                    let other = if one.face == face { two.face } else { one.face };
                    flipped += usize::from(self.flip(face, other, [a, b, c]));
                }
                _ => {}
            }
        }
        let mut face = 0..;
        self.mesh.triangles.retain(|_| face.next().is_none_or(|f: usize| !dropped[f]));
        (flipped, dropped.iter().filter(|d| **d).count())
    }

    /// The corners of `face`, turned so that the longest side leads from the last to the first.
    fn longest_last(&self, face: u32) -> [u32; 3] {
        let mut t = self.mesh.triangles[face as usize];
        let corners = self.mesh.corners(face);
        let length = |k: usize| corners[k].distance_squared(corners[(k + 1) % 3]);
        // The first of equally long ones.
        let longest = (0..3).rev().max_by(|a, b| length(*a).total_cmp(&length(*b))).unwrap_or(2);
        t.rotate_left((longest + 1) % 3);
        t
    }

    fn along(&self, a: u32, b: u32) -> &[EdgeUse] {
        let ends = [a.min(b), a.max(b)];
        let from = self.uses.partition_point(|u| u.ends < ends);
        let count = self.uses[from..].iter().take_while(|u| u.ends == ends).count();
        &self.uses[from..from + count]
    }

    /// Replaces (a, b, c) and its neighbour (c, a's other side, d) by (a, b, d) and (b, c, d).
    fn flip(&mut self, face: u32, other: u32, [a, b, c]: [u32; 3]) -> bool {
        let opposite = self.mesh.triangles[other as usize].into_iter().find(|v| *v != a && *v != c);
        let Some(d) = opposite else { return false };
        let ends = [b.min(d), b.max(d)];
        let taken = b == d || !self.along(b, d).is_empty() || self.new_edges.contains(&ends);
        if self.touched[other as usize] || taken {
            return false;
        }
        let at = |t: [u32; 3]| t.map(|v| self.mesh.positions[v as usize]);
        let pieces = [[a, b, d], [b, c, d]];
        if pieces.iter().any(|t| is_flat(at(*t))) {
            return false;
        }
        self.new_edges.insert(ends);
        for (place, piece) in [face, other].into_iter().zip(pieces) {
            self.touched[place as usize] = true;
            self.mesh.triangles[place as usize] = piece;
        }
        true
    }
}
