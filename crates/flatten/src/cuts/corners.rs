//! The four sides of a piece that has four corners.

use geometry::mesh::TriMesh;
use glam::DVec3;

use crate::disk;
use crate::flattening::FlattenError;

/// How far to either side of a vertex the direction of the boundary is taken, as a part of its
/// whole length: longer than the sides of a rough edge, shorter than a side of any piece.
const REACH: f64 = 0.015;

/// The boundary must turn in by more than this at a corner, degrees.
const LEAST_TURN: f64 = 40.0;

/// The boundary of a disk, parted at its four sharpest corners.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FourSides {
    /// The two opposite sides that are longer together, as vertices from corner to corner,
    /// counter-clockwise seen from outside.
    pub long: [Vec<u32>; 2],
    /// The other two.
    pub short: [Vec<u32>; 2],
}

/// Why the boundary has no four sides.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SidesError {
    /// The surface is no disk.
    #[error(transparent)]
    Flatten(#[from] FlattenError),
    /// There are fewer than four corners.
    #[error(
        "the edge of the piece has {found} corner(s) that turn by more than {LEAST_TURN} degrees; four are needed to tell its sides apart"
    )]
    TooFew {
        /// How many there are.
        found: usize,
    },
}

/// Parts the boundary of `mesh` at the four vertices where, seen along the normal, it turns in
/// most.
///
/// # Errors
/// When the surface is no disk, or has fewer than four corners.
pub fn four_sides(mesh: &TriMesh) -> Result<FourSides, SidesError> {
    let rim = disk::boundary_of_disk(mesh).map_err(FlattenError::from)?;
    let n = rim.len();
    let at = |i: usize| mesh.positions[rim[i % n] as usize];
    let mut along = vec![0.0];
    for i in 0..n {
        along.push(along[i] + at(i).distance(at(i + 1)));
    }
    let whole = along[n];
    let place = |length: f64| -> DVec3 {
        let length = length.rem_euclid(whole);
        let i = along.partition_point(|s| *s <= length).clamp(1, n) - 1;
        at(i).lerp(at(i + 1), (length - along[i]) / (along[i + 1] - along[i]))
    };
    let normals = mesh.vertex_normals();
    let turns: Vec<f64> = (0..n)
        .map(|i| {
            let normal = normals[rim[i] as usize];
            let before = at(i) - place(along[i] - REACH * whole);
            let after = place(along[i] + REACH * whole) - at(i);
            let [before, after] = [before, after].map(|v| v - normal * v.dot(normal));
            before.cross(after).dot(normal).atan2(before.dot(after)).to_degrees()
        })
        .collect();
    let mut order: Vec<usize> = (0..n).filter(|i| turns[*i] > LEAST_TURN).collect();
    order.sort_by(|a, b| turns[*b].total_cmp(&turns[*a]));
    let mut corners: Vec<usize> = Vec::new();
    for i in order {
        let apart = |j: &usize| {
            let straight = (along[i] - along[*j]).abs();
            straight.min(whole - straight) > 2.0 * REACH * whole
        };
        if corners.len() < 4 && corners.iter().all(apart) {
            corners.push(i);
        }
    }
    corners.sort_unstable();
    let [a, b, c, d] = corners[..] else {
        return Err(SidesError::TooFew { found: corners.len() });
    };
    let side = |from: usize, to: usize| -> Vec<u32> {
        let to = if to <= from { to + n } else { to };
        (from..=to).map(|i| rim[i % n]).collect()
    };
    let length = |from: usize, to: usize| (along[to] - along[from]).rem_euclid(whole);
    let (one, other) = ([side(a, b), side(c, d)], [side(b, c), side(d, a)]);
    let one_is_longer = length(a, b) + length(c, d) >= length(b, c) + length(d, a);
    let (long, short) = if one_is_longer { (one, other) } else { (other, one) };
    Ok(FourSides { long, short })
}
