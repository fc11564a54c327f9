//! The joints, the seat and the toe: the extremes of the feather line along and across.

use glam::DVec3;

use super::fit::{add, solved};

/// The joints are sought between these parts of the length (DESIGN: widest places of the
/// tread; survey ratio of ball length to foot length 0.741).
const JOINTS_WITHIN: (f64, f64) = (0.55, 0.80);
/// Half the stretch over which a bend is fitted to find its extreme, in lengths (28 mm on an
/// adult's last, its ends counting for nothing): noise of a tenth of a millimetre would otherwise
/// move the extreme of a flat bend by several millimetres. In lengths, so that it is the same
/// place in every size.
const FITTED: f64 = 0.11;
/// An end of the line is bent round within this, in lengths, and is found over this much to either
/// side (22 mm on an adult's last): a pointed toe is narrow.
const END: f64 = 0.115;
const END_FITTED: f64 = 0.088;

/// The widest place on one side.
#[derive(Debug, Clone, Copy)]
pub(super) struct Widest {
    /// Where, on the line.
    pub(super) at: DVec3,
    /// Whether the line was still widening at the border of the searched stretch.
    pub(super) at_border: bool,
}

/// The widest places of a line on the left (+y) and on the right. `seat_x` and `length` are
/// along x, the line is heading along x.
pub(super) fn joints(line: &[DVec3], seat_x: f64, length: f64) -> Option<[Widest; 2]> {
    let (lo, hi) = (seat_x + JOINTS_WITHIN.0 * length, seat_x + JOINTS_WITHIN.1 * length);
    let reach = FITTED * length;
    let widest = |sign: f64| -> Option<Widest> {
        // Which points are this side's: those beyond the middle of the line's two sides.
        let within: Vec<DVec3> =
            line.iter().copied().filter(|p| (lo - reach..=hi + reach).contains(&p.x)).collect();
        let middle = within.iter().map(|p| p.y).sum::<f64>() / within.len().max(1) as f64;
        let side: Vec<DVec3> = within.into_iter().filter(|p| (p.y - middle) * sign > 0.0).collect();
        let inside: Vec<DVec3> =
            side.iter().copied().filter(|p| (lo..=hi).contains(&p.x)).collect();
        let top = inside.iter().copied().max_by(|a, b| (a.y * sign).total_cmp(&(b.y * sign)))?;
        let bend: Vec<_> = side.iter().map(|p| (p.x, p.y * sign)).collect();
        let x = extreme(&bend, top.x, reach).clamp(lo, hi);
        let at = place_at(line, DVec3::X, x, DVec3::Y * sign)?;
        Some(Widest { at, at_border: x <= lo + 0.5 || x >= hi - 0.5 })
    };
    Some([widest(1.0)?, widest(-1.0)?])
}

/// The rearmost place of a line, between its points (fitted, so that noise moves it little).
pub(super) fn rearmost(line: &[DVec3]) -> Option<DVec3> {
    end(line, -1.0)
}

/// The point of a line that is nearest to its foremost place, found likewise.
pub(super) fn foremost(line: &[DVec3]) -> Option<DVec3> {
    let place = end(line, 1.0)?;
    let away = |p: &DVec3| p.distance_squared(place);
    line.iter().copied().min_by(|a, b| away(a).total_cmp(&away(b)))
}

fn end(line: &[DVec3], sign: f64) -> Option<DVec3> {
    let x = |p: &DVec3| p.x * sign;
    let top = line.iter().copied().max_by(|a, b| x(a).total_cmp(&x(b)))?;
    let bottom = line.iter().copied().min_by(|a, b| x(a).total_cmp(&x(b)))?;
    let length = x(&top) - x(&bottom);
    let near = line.iter().filter(|p| (p.x - top.x).abs() < END * length);
    let bend: Vec<_> = near.map(|p| (p.y, x(p))).collect();
    let y = extreme(&bend, top.y, END_FITTED * length);
    place_at(line, DVec3::Y, y, DVec3::X * sign)
}

/// The place of a closed `line` that lies `at` along an axis, of several the one furthest `out`; the
/// nearest of its points where it does not come there.
fn place_at(line: &[DVec3], axis: DVec3, at: f64, out: DVec3) -> Option<DVec3> {
    let n = line.len();
    let crossing = (0..n).filter_map(|i| {
        let (p, q) = (line[i], line[(i + 1) % n]);
        let (a, b) = (axis.dot(p), axis.dot(q));
        ((a <= at) != (b <= at)).then(|| p.lerp(q, (at - a) / (b - a)))
    });
    let furthest = crossing.max_by(|a, b| out.dot(*a).total_cmp(&out.dot(*b)));
    furthest.or_else(|| {
        let away = |p: &DVec3| (axis.dot(*p) - at).abs();
        line.iter().copied().min_by(|a, b| away(a).total_cmp(&away(b)))
    })
}

/// Where the parabola fitted to the points within `reach` is highest, the nearer to that place the
/// more they count; `near`, which is about there, where they do not bend down or the extreme falls
/// outside of them.
fn extreme(points: &[(f64, f64)], near: f64, reach: f64) -> f64 {
    let mut at = near;
    for _ in 0..20 {
        let mut sums = [[0.0; 4]; 3];
        for (x, y) in points {
            let t = (x - at) / reach;
            if t.abs() <= 1.0 {
                let weight = (1.0 - t * t).powi(2);
                add(&mut sums, [1.0, t, t * t], *y, weight);
            }
        }
        let Some([_, slope, bend]) = solved(sums) else { return near };
        let t = -slope / (2.0 * bend);
        if bend >= 0.0 || t.abs() > 1.0 || (at + t * reach - near).abs() > reach {
            return near;
        }
        at += t * reach;
        if t.abs() < 1e-9 {
            break;
        }
    }
    at
}

#[cfg(test)]
mod tests {
    use std::f64::consts::TAU;

    use super::*;

    /// Round an egg 260 mm long, wider in front, its points moved along by a share of their step.
    fn egg(moved: f64) -> Vec<DVec3> {
        const POINTS: u32 = 620;
        let point = |i: u32| {
            let angle = TAU * (f64::from(i) + moved) / f64::from(POINTS);
            let x = 130.0 * (1.0 - angle.cos());
            DVec3::new(x, 30.0 * angle.sin() * (1.0 + 0.8 * x / 260.0), 0.0)
        };
        (0..POINTS).map(point).collect()
    }

    /// They were points of the line, about 1 mm apart: half a step of these moved a mark by half a
    /// millimetre.
    #[test]
    fn seat_and_joints_stay_where_the_points_of_the_line_are_moved() {
        let found = |moved: f64| {
            let line = egg(moved);
            let [left, right] = joints(&line, 0.0, 260.0).unwrap();
            assert!(!left.at_border && !right.at_border);
            [left.at, right.at, rearmost(&line).unwrap()]
        };
        let here = found(0.0);
        for k in 1..10 {
            let moved = f64::from(k) / 10.0;
            for (place, before) in found(moved).iter().zip(&here) {
                let by = place.distance(*before);
                assert!(by < 0.05, "{by} mm, from {before} to {place}, by {moved} of a step");
            }
        }
        assert!((here[0].x - 162.5).abs() < 2.0 && here[2].length() < 0.05, "{here:?}");
    }
}
