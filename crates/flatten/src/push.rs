//! Parts of a layout that lie a little on one another, pushed apart: where a layout of least energy
//! overlaps by no more than that, one beside it does not.

use glam::DVec2;

use crate::overlap::boundary_crossings;

/// How often all sides that cross are pushed; each push may bring others across.
const ROUNDS: usize = 60;

/// The gap that is left, as a part of the side that is pushed off.
const GAP: f64 = 1e-3;

/// `points` with the sides of the closed `boundary` that cross pushed off each other by as little as
/// it takes; `None` where they cross as before after all. Triangles may be flipped by it.
pub(crate) fn pushed_apart(points: &[DVec2], boundary: &[u32]) -> Option<Vec<DVec2>> {
    let mut points = points.to_vec();
    for _ in 0..ROUNDS {
        let crossings = boundary_crossings(&points, boundary);
        if crossings.is_empty() {
            return Some(points);
        }
        for [i, j] in crossings {
            let side = |k: usize| [k, (k + 1) % boundary.len()].map(|k| boundary[k]);
            push(&mut points, side(i), side(j))?;
        }
    }
    None
}

/// Pushes the one of four ends that lies least deep inside the other side off it, half of the way
/// each; `None` for neighbours folded on each other.
fn push(points: &mut [DVec2], one: [u32; 2], other: [u32; 2]) -> Option<()> {
    if one.iter().any(|v| other.contains(v)) {
        return None;
    }
    let deep = |v: u32, side: [u32; 2]| {
        let [from, to] = side.map(|v| points[v as usize]);
        let along = (to - from).normalize_or_zero();
        (along.perp().dot(points[v as usize] - from), v, side)
    };
    let ends = one.map(|v| deep(v, other)).into_iter().chain(other.map(|v| deep(v, one)));
    let (depth, v, side) =
        ends.filter(|(depth, ..)| *depth >= 0.0).min_by(|a, b| a.0.total_cmp(&b.0))?;
    let along = points[side[1] as usize] - points[side[0] as usize];
    let by = along.normalize_or_zero().perp() * (depth + GAP * along.length()) / 2.0;
    points[v as usize] -= by;
    for v in side {
        points[v as usize] += by;
    }
    Some(())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two tongues of one piece, the left one a little over the right one.
    #[test]
    fn tongues_that_overlap_a_little_are_pushed_apart() {
        let corners =
            [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (1.9, 4.0), (2.0, 1.0), (2.1, 4.0), (0.0, 4.0)];
        let points: Vec<DVec2> = corners.iter().map(|&(x, y)| DVec2::new(x, y)).collect();
        let boundary: Vec<u32> = (0..7).collect();
        assert!(!boundary_crossings(&points, &boundary).is_empty());
        let apart = pushed_apart(&points, &boundary).unwrap();
        assert!(boundary_crossings(&apart, &boundary).is_empty());
        let moved = points.iter().zip(&apart).map(|(p, q)| p.distance(*q)).fold(0.0, f64::max);
        assert!(moved < 0.3, "{moved}");
    }

    #[test]
    fn what_is_apart_stays() {
        let points = [DVec2::ZERO, DVec2::X, DVec2::ONE, DVec2::Y];
        assert_eq!(pushed_apart(&points, &[0, 1, 2, 3]).as_deref(), Some(&points[..]));
    }
}
