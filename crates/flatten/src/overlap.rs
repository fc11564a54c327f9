//! Whether a layout lies on itself, decided with exact arithmetic.

use glam::DVec2;
use robust::{Coord, orient2d};

/// Whether triangle `t` is face down or has no area.
pub(crate) fn is_flipped(points: &[DVec2], t: [u32; 3]) -> bool {
    let [a, b, c] = t.map(|v| points[v as usize]);
    orientation(a, b, c) <= 0.0
}

/// How many triangles are face down or have no area.
pub(crate) fn flipped(points: &[DVec2], triangles: &[[u32; 3]]) -> usize {
    triangles.iter().filter(|t| is_flipped(points, **t)).count()
}

/// How many pairs of sides of the closed polygon `boundary` cross, touch or run along each
/// other, apart from the common end of neighbours.
pub(crate) fn boundary_crossings(points: &[DVec2], boundary: &[u32]) -> usize {
    let n = boundary.len();
    let side = |i: usize| [i, (i + 1) % n].map(|k| points[boundary[k] as usize]);
    let left = |i: usize| side(i)[0].x.min(side(i)[1].x);
    let right = |i: usize| side(i)[0].x.max(side(i)[1].x);

    // Sweep from left to right over the sides whose ranges of x overlap.
    let mut order: Vec<usize> = (0..n).collect();
    order.sort_by(|&a, &b| left(a).total_cmp(&left(b)));
    let mut open: Vec<usize> = Vec::new();
    let mut crossings = 0;
    for i in order {
        let from = left(i);
        open.retain(|&j| right(j) >= from);
        crossings += open
            .iter()
            .filter(|&&j| {
                if (i + 1) % n == j {
                    folds_back(side(i), side(j))
                } else if (j + 1) % n == i {
                    folds_back(side(j), side(i))
                } else {
                    meet(side(i), side(j))
                }
            })
            .count();
        open.push(i);
    }
    crossings
}

/// Whether two sides in a row, the second beginning where the first ends, share more than that.
fn folds_back([a, b]: [DVec2; 2], [_, c]: [DVec2; 2]) -> bool {
    orientation(a, b, c) == 0.0 && (b - a).dot(c - b) <= 0.0
}

/// Whether two segments have a point in common.
fn meet([a, b]: [DVec2; 2], [c, d]: [DVec2; 2]) -> bool {
    let boxes_apart = a.max(b).cmplt(c.min(d)).any() || c.max(d).cmplt(a.min(b)).any();
    if boxes_apart {
        return false;
    }
    // Points of different or no side; where all four are in line, the boxes have decided.
    let parted = |p: f64, q: f64| (p > 0.0 && q > 0.0) || (p < 0.0 && q < 0.0);
    !parted(orientation(a, b, c), orientation(a, b, d))
        && !parted(orientation(c, d, a), orientation(c, d, b))
}

/// Positive when a, b, c turn counter-clockwise; the sign is exact.
fn orientation(a: DVec2, b: DVec2, c: DVec2) -> f64 {
    let [a, b, c] = [a, b, c].map(|p| Coord { x: p.x, y: p.y });
    orient2d(a, b, c)
}
