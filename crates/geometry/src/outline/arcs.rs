//! Fits a polyline by few straight pieces and circular arcs.
//!
//! Cutting machines run an arc in one smooth stroke and stutter along a hundred short lines.

use glam::DVec2;

use crate::drawing::{Curve, Knot, arc_circle};

/// Below this share of the tolerance an arc's rise is no longer worth its huge radius.
const FLAT_SHARE: f64 = 0.1;

/// Points nearer to each other than this are one point, mm.
const SAME_POINT: f64 = 1e-9;

/// Fits `points` (mm) by straight pieces and arcs, from the first point on, each piece as long as
/// it can be found to be; the knots are a subset of the points.
///
/// - Every point lies within `tolerance` (mm) of the curve, and the curve within `tolerance` of the
///   polyline.
/// - A point where the polyline turns by more than `corner` degrees stays a knot, so that no arc
///   rounds it.
/// - No arc turns by more than a half circle, and none rises less than a tenth of the tolerance
///   above its chord: such a piece is straight.
///
/// Same points, same curve. Not promised: the smallest possible number of pieces, nor a smooth
/// joint between neighbours. Repeated points are dropped; with fewer than three points, a tolerance
/// that is not above 0 or a point that is not finite the polyline is returned as it is.
pub fn fit_arcs(points: &[DVec2], closed: bool, tolerance: f64, corner: f64) -> Curve {
    let usable = tolerance > 0.0 && tolerance.is_finite() && points.iter().all(|p| p.is_finite());
    if !usable {
        return Curve::polyline(points.iter().copied(), closed);
    }
    let mut ring = without_repeats(points, closed);
    if ring.len() < 3 {
        return Curve::polyline(ring, closed);
    }
    if closed {
        let first_corner = (0..ring.len()).find(|&i| turn_on_ring(&ring, i) > corner);
        ring.rotate_left(first_corner.unwrap_or(0));
        ring.push(ring[0]);
    }
    let mut knots = Vec::new();
    let mut start = 0;
    while start + 1 < ring.len() {
        let last = next_corner(&ring, start, corner);
        let (end, bulge) = longest_piece(&ring[..=last], start, tolerance);
        knots.push(Knot { at: ring[start], bulge });
        start = end;
    }
    if !closed {
        knots.push(Knot { at: ring[start], bulge: 0.0 });
    }
    Curve { knots, closed }
}

fn without_repeats(points: &[DVec2], closed: bool) -> Vec<DVec2> {
    let mut kept: Vec<DVec2> = Vec::with_capacity(points.len() + 1);
    for &p in points {
        if kept.last().is_none_or(|q| q.distance(p) > SAME_POINT) {
            kept.push(p);
        }
    }
    while closed && kept.len() > 1 && kept[0].distance(kept[kept.len() - 1]) <= SAME_POINT {
        kept.pop();
    }
    kept
}

/// Degrees by which the polyline turns at `b`, without sign.
fn turn(a: DVec2, b: DVec2, c: DVec2) -> f64 {
    (b - a).angle_to(c - b).abs().to_degrees()
}

fn turn_on_ring(ring: &[DVec2], i: usize) -> f64 {
    let n = ring.len();
    turn(ring[(i + n - 1) % n], ring[i], ring[(i + 1) % n])
}

/// The first corner after `start`, or the end of the line.
fn next_corner(points: &[DVec2], start: usize, corner: f64) -> usize {
    let last = points.len() - 1;
    (start + 1..last)
        .find(|&i| turn(points[i - 1], points[i], points[i + 1]) > corner)
        .unwrap_or(last)
}

/// The end and the bulge of the longest piece from `start` that is found by doubling its length
/// and then halving the step.
fn longest_piece(points: &[DVec2], start: usize, tolerance: f64) -> (usize, f64) {
    let last = points.len() - 1;
    let mut best = (start + 1, 0.0);
    let mut step = 1;
    let mut growing = true;
    while step > 0 {
        let end = best.0 + step;
        let fitted = if end <= last { fit_piece(&points[start..=end], tolerance) } else { None };
        if let Some(bulge) = fitted {
            best = (end, bulge);
        } else {
            growing = false;
        }
        step = if growing { step * 2 } else { step / 2 };
    }
    best
}

/// The bulge of one piece from the first to the last of `run` that keeps within the tolerance.
fn fit_piece(run: &[DVec2], tolerance: f64) -> Option<f64> {
    let (from, to) = (run[0], run[run.len() - 1]);
    let half = from.distance(to) / 2.0;
    if half <= SAME_POINT {
        return None;
    }
    if line_fits(run, tolerance) {
        return Some(0.0);
    }
    // The middle asks for most, as a rule; the others are then looked at once and ask for nothing.
    let mut bulges = bulges_near(from, to, run[run.len() / 2], tolerance, (-1.0, 1.0))?;
    for &p in &run[1..run.len() - 1] {
        bulges = bulges_near(from, to, p, tolerance, bulges)?;
    }
    let bulge = (bulges.0 + bulges.1) / 2.0;
    let flat = bulge.abs() * half < tolerance * FLAT_SHARE;
    (!flat && arc_fits(run, bulge, tolerance)).then_some(bulge)
}

/// Whether the run keeps within the tolerance of its chord and moves along it without turning back.
fn line_fits(run: &[DVec2], tolerance: f64) -> bool {
    let from = run[0];
    let chord = run[run.len() - 1] - from;
    let along = chord.normalize();
    let mut reached = 0.0;
    run[1..].iter().all(|&p| {
        let ahead = along.dot(p - from);
        let forward = ahead >= reached;
        reached = ahead;
        forward && along.perp_dot(p - from).abs() <= tolerance
    })
}

/// Smallest and largest bulge, within those given, of the circles through `from` and `to` that pass
/// within `tolerance` of `p`.
fn bulges_near(
    from: DVec2,
    to: DVec2,
    p: DVec2,
    tolerance: f64,
    (mut least, mut most): (f64, f64),
) -> Option<(f64, f64)> {
    // The circles through two points sweep the plane once, so that the signed distance from `p`
    // falls steadily as the bulge grows.
    let gap = |bulge: f64| height_above(from, to, bulge, p);
    // Most points of a long run ask for nothing that the others do not.
    let (above, below) = (gap(least), gap(most));
    if above < -tolerance || below > tolerance {
        return None;
    }
    let within = (least, most);
    if above > tolerance {
        least = bulge_at(from, to, p, tolerance, within);
    }
    if below < -tolerance {
        most = bulge_at(from, to, p, -tolerance, within);
    }
    Some((least, most))
}

/// The bulge, within those given, at which `p` lies `level` beyond the arc.
///
/// With x and y from the middle of the chord along it and to the side of positive bulges, the
/// centre of the arc of bulge b over half a chord h lies at y = h (b - 1/b) / 2 and its radius is
/// h (b + 1/b) / 2, so that the distance asked for makes a quadratic in b.
fn bulge_at(from: DVec2, to: DVec2, p: DVec2, level: f64, (least, most): (f64, f64)) -> f64 {
    let along = (to - from).normalize();
    let half = from.distance(to) / 2.0;
    let off = p - from.midpoint(to);
    let beyond = -along.perp_dot(off);
    let (a, c) = (half * (beyond + level), half * (level - beyond));
    let b = off.length_squared() - half * half - level * level;
    // Either root without cancellation.
    let sum = (b + (b * b - 4.0 * a * c).max(0.0).sqrt().copysign(b)) / 2.0;
    let miss = |bulge: &f64| (height_above(from, to, *bulge, p) - level).abs();
    let roots = [sum / a, c / sum].into_iter().filter(|root| root.is_finite());
    let within = roots.map(|root| root.clamp(least, most));
    within.min_by(|r, s| miss(r).total_cmp(&miss(s))).unwrap_or(least)
}

/// How far `p` lies beyond the arc, on the side to which a positive bulge moves it.
fn height_above(from: DVec2, to: DVec2, bulge: f64, p: DVec2) -> f64 {
    let chord = to - from;
    if bulge.abs() < 1e-12 {
        return -chord.normalize().perp_dot(p - from);
    }
    let ends = (Knot { at: from, bulge }, Knot { at: to, bulge: 0.0 });
    let (center, radius) = arc_circle(ends.0, ends.1);
    (p.distance(center) - radius) * bulge.signum()
}

/// Whether the run and the arc keep within the tolerance of each other, and the run moves along the
/// arc without turning back.
fn arc_fits(run: &[DVec2], bulge: f64, tolerance: f64) -> bool {
    let from = Knot { at: run[0], bulge };
    let to = Knot { at: run[run.len() - 1], bulge: 0.0 };
    let (center, radius) = arc_circle(from, to);
    let sweep = 4.0 * bulge.atan();
    let mut reached = 0.0;
    run.windows(2).enumerate().all(|(i, pair)| {
        let (p, q) = (pair[0], pair[1]);
        let step = (p - center).angle_to(q - center) * sweep.signum();
        reached += step;
        let forward = step >= 0.0 && reached <= sweep.abs() + 1e-9;
        let near = i + 2 == run.len() || (q.distance(center) - radius).abs() <= tolerance;
        // Between two points the arc is furthest from their chord where it runs parallel to it.
        let along = (q - p).normalize();
        let outward = -along.perp() * sweep.signum();
        let summit = center + outward * radius;
        let over = along.dot(summit - p);
        let beside = over < 0.0 || over > p.distance(q);
        forward && near && (beside || outward.dot(summit - p).abs() <= tolerance)
    })
}

#[cfg(test)]
mod tests {
    use std::f64::consts::{PI, TAU};

    use glam::dvec2;
    use proptest::prelude::*;

    use super::*;
    use crate::drawing::Arc;
    use crate::outline::distance_to_line;

    /// Distance from `p` to a curve, arcs exactly.
    fn distance_to_curve(p: DVec2, curve: &Curve) -> f64 {
        let to_piece = |(a, b): (Knot, Knot)| match Arc::between(a, b) {
            None => distance_to_line(p, &[a.at, b.at]),
            Some(arc) => {
                let turned = ((p - arc.center).to_angle() - arc.start) * arc.sweep.signum();
                if turned.rem_euclid(TAU) <= arc.sweep.abs() {
                    (p.distance(arc.center) - arc.radius).abs()
                } else {
                    p.distance(a.at).min(p.distance(b.at))
                }
            }
        };
        curve.pieces().map(to_piece).fold(f64::INFINITY, f64::min)
    }

    fn distance_to_polyline(p: DVec2, points: &[DVec2], closed: bool) -> f64 {
        let line = Curve::polyline(points.iter().copied(), closed);
        line.pieces().map(|(a, b)| distance_to_line(p, &[a.at, b.at])).fold(f64::INFINITY, f64::min)
    }

    fn check(points: &[DVec2], closed: bool, tolerance: f64, corner: f64) -> Curve {
        let curve = fit_arcs(points, closed, tolerance, corner);
        let slack = tolerance * (1.0 + 1e-6) + 1e-9;
        for p in points {
            let off = distance_to_curve(*p, &curve);
            assert!(off <= slack, "the point {p} is {off} mm off the curve");
        }
        for p in curve.flatten(tolerance / 100.0) {
            let off = distance_to_polyline(p, points, closed);
            assert!(off <= slack + tolerance / 100.0, "{p} on the curve is {off} mm off the line");
        }
        for (a, b) in curve.pieces() {
            let rise = a.bulge.abs() * a.at.distance(b.at) / 2.0;
            assert!(a.bulge == 0.0 || rise >= tolerance / 10.0, "an arc rises only {rise} mm");
            assert!(a.bulge.abs() <= 1.0, "an arc turns by more than a half circle");
        }
        assert!(curve.knots.iter().all(|k| points.contains(&k.at)), "a knot is no input point");
        curve
    }

    fn circle(radius: f64, count: u32) -> Vec<DVec2> {
        let at = |i| radius * DVec2::from_angle(TAU * f64::from(i) / f64::from(count));
        (0..count).map(at).collect()
    }

    proptest! {
        #[test]
        fn a_bulge_found_puts_the_point_where_it_was_asked(
            to in (1.0_f64..50.0, -20.0_f64..20.0),
            turned in 0.0..TAU,
            out in 0.0..0.95,
            level in -0.04..0.04,
        ) {
            // Within the circle on the chord, where some arc up to a half circle passes.
            let (from, to) = (DVec2::ZERO, DVec2::from(to));
            let half = to.length() / 2.0;
            let (p, level) = (to / 2.0 + out * half * DVec2::from_angle(turned), level * half);
            let gap = |bulge| height_above(from, to, bulge, p);
            let bulge = bulge_at(from, to, p, level, (-1.0, 1.0));
            prop_assert!((gap(bulge) - level).abs() < 1e-9, "{bulge}: {}", gap(bulge));
        }
    }

    #[test]
    fn a_circle_becomes_two_or_three_arcs_of_its_area() {
        let curve = check(&circle(30.0, 360), true, 0.01, 20.0);
        assert!((2..=3).contains(&curve.knots.len()), "{} knots", curve.knots.len());
        let area = PI * 900.0;
        assert!((curve.area() - area).abs() / area < 5e-4, "{}", curve.area());
    }

    #[test]
    fn a_rounded_square_keeps_its_sharp_corner_and_its_arcs() {
        let mut points = vec![dvec2(0.0, 0.0), dvec2(50.0, 0.0), dvec2(100.0, 0.0)];
        let arc = (0..=30)
            .map(|i| dvec2(80.0, 80.0) + 20.0 * DVec2::from_angle(f64::from(i) / 30.0 * PI / 2.0));
        points.extend(arc);
        points.push(dvec2(0.0, 100.0));
        let curve = check(&points, true, 0.02, 30.0);
        for corner in [dvec2(0.0, 0.0), dvec2(100.0, 0.0), dvec2(0.0, 100.0)] {
            assert!(curve.knots.iter().any(|k| k.at == corner), "the corner {corner} is gone");
        }
        assert!(curve.knots.len() <= 7, "{:?}", curve.knots);
        let area = 10_000.0 - 400.0 * (1.0 - PI / 4.0);
        assert!((curve.area() - area).abs() / area < 1e-4, "{}", curve.area());
    }

    #[test]
    fn a_straight_line_with_noise_below_the_tolerance_is_one_piece() {
        let points: Vec<DVec2> =
            (0..100).map(|i| dvec2(f64::from(i), 0.004 * f64::from(i % 2))).collect();
        let curve = check(&points, false, 0.01, 20.0);
        assert_eq!(curve.knots.len(), 2);
        assert!(curve.knots.iter().all(|k| k.bulge == 0.0));
    }

    #[test]
    fn what_cannot_be_fitted_comes_back_as_it_is() {
        let points = [dvec2(0.0, 0.0), dvec2(1.0, f64::NAN), dvec2(2.0, 0.0)];
        assert_eq!(fit_arcs(&points, false, 0.1, 20.0).knots.len(), 3);
        assert!(fit_arcs(&[], true, 0.1, 20.0).knots.is_empty());
        let twice = [dvec2(1.0, 2.0); 5];
        assert_eq!(fit_arcs(&twice, true, 0.1, 20.0).knots.len(), 1);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(100))]

        #[test]
        fn random_walks_keep_within_the_tolerance(
            steps in prop::collection::vec((0.01_f64..5.0, -2.0_f64..2.0), 1..60),
            tolerance in 0.005_f64..0.5,
            corner in 5.0_f64..90.0,
            closed in any::<bool>(),
        ) {
            let mut heading = 0.0;
            let mut points = vec![DVec2::ZERO];
            for (length, turn) in steps {
                heading += turn * turn * turn / 8.0;
                let last = points[points.len() - 1];
                points.push(last + length * DVec2::from_angle(heading));
            }
            let curve = check(&points, closed, tolerance, corner);
            prop_assert_eq!(&curve, &fit_arcs(&points, closed, tolerance, corner));
            for i in 1..points.len() - 1 {
                if turn(points[i - 1], points[i], points[i + 1]) > corner {
                    prop_assert!(curve.knots.iter().any(|k| k.at == points[i]));
                }
            }
        }

        #[test]
        fn smooth_outlines_need_few_pieces(
            waves in prop::collection::vec((0.0_f64..4.0, 0.0_f64..TAU), 4),
            tolerance in 0.01_f64..0.1,
        ) {
            let radius = |t: f64| {
                let wave = |(i, (height, shift)): (usize, &(f64, f64))| {
                    height * ((i + 1) as f64 * t + shift).cos()
                };
                60.0 + waves.iter().enumerate().map(wave).sum::<f64>()
            };
            let points: Vec<DVec2> = (0..1000)
                .map(|i| TAU * f64::from(i) / 1000.0)
                .map(|t| radius(t) * DVec2::from_angle(t))
                .collect();
            let curve = check(&points, true, tolerance, 20.0);
            prop_assert!(curve.knots.len() <= 60, "{} pieces", curve.knots.len());
        }
    }
}
