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

/// The pairs of sides of the closed polygon `boundary` that cross, touch or run along each other,
/// apart from the common end of neighbours; side i runs from corner i to the next.
pub(crate) fn boundary_crossings(points: &[DVec2], boundary: &[u32]) -> Vec<[usize; 2]> {
    let n = boundary.len();
    let side = |i: usize| [i, (i + 1) % n].map(|k| points[boundary[k] as usize]);
    let left = |i: usize| side(i)[0].x.min(side(i)[1].x);
    let right = |i: usize| side(i)[0].x.max(side(i)[1].x);

    // Sweep from left to right over the sides whose ranges of x overlap.
    let mut order: Vec<usize> = (0..n).collect();
    order.sort_by(|&a, &b| left(a).total_cmp(&left(b)));
    let mut open: Vec<usize> = Vec::new();
    let mut crossings = Vec::new();
    for i in order {
        let from = left(i);
        open.retain(|&j| right(j) >= from);
        let met = open.iter().copied().filter(|&j| {
            if (i + 1) % n == j {
                folds_back(side(i), side(j))
            } else if (j + 1) % n == i {
                folds_back(side(j), side(i))
            } else {
                meet(side(i), side(j))
            }
        });
        crossings.extend(met.map(|j| [i.min(j), i.max(j)]));
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

#[cfg(test)]
mod tests {
    use super::*;

    fn crossings(corners: &[(f64, f64)]) -> usize {
        let points: Vec<DVec2> = corners.iter().map(|&(x, y)| DVec2::new(x, y)).collect();
        let boundary: Vec<u32> = (0..points.len() as u32).collect();
        boundary_crossings(&points, &boundary).len()
    }

    #[test]
    fn simple_polygons_do_not_cross() {
        assert_eq!(crossings(&[(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)]), 0);
        assert_eq!(crossings(&[(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (2.0, 1.0), (0.0, 3.0)]), 0);
        // A corner in line with its neighbours.
        assert_eq!(crossings(&[(0.0, 0.0), (1.0, 0.0), (2.0, 0.0), (1.0, 1.0)]), 0);
    }

    #[test]
    fn crossings_touches_and_folds_count() {
        assert_eq!(crossings(&[(0.0, 0.0), (2.0, 2.0), (2.0, 0.0), (0.0, 2.0)]), 1);
        // A corner on a side: it touches with both of its own sides.
        assert_eq!(crossings(&[(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (2.0, 0.0), (0.0, 3.0)]), 2);
        // A spike folded back on itself.
        assert_eq!(crossings(&[(0.0, 0.0), (2.0, 0.0), (1.0, 0.0), (1.0, 1.0)]), 2);
        // Less than round-off apart, yet apart.
        let nudge = 1.0 + f64::EPSILON;
        assert_eq!(crossings(&[(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (1.0, nudge), (0.0, 4.0)]), 0);
    }

    #[test]
    fn a_pentagram_crosses_five_times() {
        let star: Vec<(f64, f64)> =
            (0..5).map(|i| (f64::from(i) * 0.8 * std::f64::consts::PI).sin_cos()).collect();
        assert_eq!(crossings(&star), 5);
    }
}
