//! What is measured along and across the feather line.

use glam::DVec3;

use crate::last::fit::{add, solved};

/// The length round the heel ends this far behind each joint, along the feather line, mm
/// (common practice, no source: where the wings of a long stiffener end).
const BEHIND_JOINT: f64 = 15.0;
/// A widest place is fitted over this much to either side of it, in lengths of the line (10 mm on
/// an adult's last): noise of a tenth of a millimetre would otherwise always widen.
const FITTED: f64 = 0.04;

/// The length round the heel.
#[derive(Debug, Clone, PartialEq)]
pub struct RoundHeel {
    /// Along the feather line, mm.
    pub length: f64,
    /// Its end on the inside.
    pub medial: DVec3,
    /// Its end on the outside.
    pub lateral: DVec3,
}

/// The width in y of the points `of` interest of a closed line about 1 mm apart, which is `length`
/// long from seat to toe.
pub(super) fn width(line: &[DVec3], length: f64, of: impl Fn(&DVec3) -> bool) -> f64 {
    let fitted = FITTED * length;
    crest(line, fitted, &of, 1.0) + crest(line, fitted, &of, -1.0)
}

/// The highest `sign * y` among the points `of` interest, by a parabola through its
/// neighbourhood.
fn crest(line: &[DVec3], fitted: f64, of: &impl Fn(&DVec3) -> bool, sign: f64) -> f64 {
    let n = line.len();
    let Some(best) = (0..n)
        .filter(|i| of(&line[*i]))
        .max_by(|a, b| (sign * line[*a].y).total_cmp(&(sign * line[*b].y)))
    else {
        return 0.0;
    };
    let top = line[best];
    // Height over x, which is close to the length along the line where it is widest.
    let mut sums = [[0.0; 4]; 3];
    for p in line.iter().filter(|p| of(p) && (p.y - top.y).abs() < fitted) {
        let t = (p.x - top.x) / fitted;
        if t.abs() <= 1.0 && (p.y > 0.0) == (top.y > 0.0) {
            add(&mut sums, [1.0, t, t * t], sign * p.y, 1.0);
        }
    }
    let highest = solved(sums).and_then(|[level, slope, bend]| {
        let t = -slope / (2.0 * bend);
        (bend < 0.0 && t.abs() <= 1.0).then(|| level + slope * t / 2.0)
    });
    highest.unwrap_or(sign * top.y)
}

/// The middle, in y, of a closed line where it crosses `x`.
pub(super) fn middle_at(line: &[DVec3], x: f64) -> f64 {
    let n = line.len();
    let crossings = (0..n).filter_map(|i| {
        let (a, b) = (line[i], line[(i + 1) % n]);
        ((a.x < x) != (b.x < x)).then(|| a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x))
    });
    let (low, high) =
        crossings.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), y| (l.min(y), h.max(y)));
    if low <= high { (low + high) / 2.0 } else { 0.0 }
}

/// A closed line with the noise taken out, which would lengthen it: every point from a parabola
/// through its neighbours (Savitzky and Golay, 1964), so that bends keep their place.
fn smoothed(line: &[DVec3]) -> Vec<DVec3> {
    /// Neighbours to either side, about 1 mm apart.
    const HALF: usize = 8;
    let n = line.len();
    if n <= 2 * HALF {
        return line.to_vec();
    }
    let m = HALF as f64;
    let weight = |j: f64| 3.0 * m * m + 3.0 * m - 1.0 - 5.0 * j * j;
    let whole = (2.0 * m + 3.0) * (2.0 * m + 1.0) * (2.0 * m - 1.0) / 3.0;
    let point = |i: usize| -> DVec3 {
        (0..=2 * HALF).map(|k| line[(i + n + k - HALF) % n] * weight(k as f64 - m)).sum()
    };
    (0..n).map(|i| point(i) / whole).collect()
}

/// Along a closed feather line, which starts at the seat and runs round the inside first: from
/// behind the inside joint round the heel to behind the outside joint.
pub(super) fn round_heel(line: &[DVec3], medial: DVec3, lateral: DVec3) -> RoundHeel {
    let line = &smoothed(line)[..];
    let n = line.len();
    let mut arc = vec![0.0];
    for i in 0..n {
        arc.push(arc[i] + line[i].distance(line[(i + 1) % n]));
    }
    let whole = arc[n];
    let nearest = |p: DVec3| -> f64 {
        let mut best = (f64::INFINITY, 0.0);
        for i in 0..n {
            let (a, side) = (line[i], line[(i + 1) % n] - line[i]);
            let t = ((p - a).dot(side) / side.length_squared().max(1e-30)).clamp(0.0, 1.0);
            let away = (a + side * t).distance_squared(p);
            if away < best.0 {
                best = (away, arc[i] + t * (arc[i + 1] - arc[i]));
            }
        }
        best.1
    };
    let inside = (nearest(medial) - BEHIND_JOINT).max(0.0);
    let outside = (nearest(lateral) + BEHIND_JOINT).min(whole);
    let at = |s: f64| -> DVec3 {
        let i = arc.partition_point(|a| *a <= s).clamp(1, n) - 1;
        let t = (s - arc[i]) / (arc[i + 1] - arc[i]).max(1e-12);
        line[i].lerp(line[(i + 1) % n], t)
    };
    RoundHeel { length: inside + whole - outside, medial: at(inside), lateral: at(outside) }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::TAU;

    use super::*;

    /// An ellipse from its rear end round +y, with points about 1 mm apart.
    fn ellipse(half_length: f64, half_width: f64) -> Vec<DVec3> {
        let n = (TAU * (half_length + half_width) / 2.0).round() as usize;
        (0..n)
            .map(|k| {
                let angle = TAU * k as f64 / n as f64;
                DVec3::new(half_length * (1.0 - angle.cos()), half_width * angle.sin(), 0.0)
            })
            .collect()
    }

    #[test]
    fn widths_are_those_of_an_ellipse() {
        let line = ellipse(125.0, 40.0);
        assert!((width(&line, 250.0, |_| true) - 80.0).abs() < 0.05);
        // Up to 30 % the width is that at the border: there it is still growing.
        let at_border = 80.0 * (1.0 - 0.4_f64.powi(2)).sqrt();
        assert!((width(&line, 250.0, |p| p.x < 75.0) - at_border).abs() < 0.5);
        assert!(middle_at(&line, 60.0).abs() < 1e-6);
        // A small one is fitted over less of it.
        let small = ellipse(25.0, 17.0);
        assert!((width(&small, 50.0, |_| true) - 34.0).abs() < 0.05);
    }

    #[test]
    fn round_the_heel_of_a_circle() {
        let line = ellipse(100.0, 100.0);
        let (medial, lateral) = (DVec3::new(100.0, 100.0, 0.0), DVec3::new(100.0, -100.0, 0.0));
        let round = round_heel(&line, medial, lateral);
        assert!((round.length - (TAU * 50.0 - 30.0)).abs() < 0.2, "{}", round.length);
        assert!((round.medial.distance(medial) - 15.0).abs() < 0.2);
        assert!((round.lateral.distance(lateral) - 15.0).abs() < 0.2);
    }

    #[test]
    fn noise_does_not_lengthen_the_way_round() {
        let line = ellipse(125.0, 40.0);
        let rough: Vec<DVec3> = line
            .iter()
            .enumerate()
            // A saw of a fifth of a millimetre, as uneven as any scan.
            .map(|(i, p)| *p + DVec3::new(0.0, [0.1, -0.1, 0.05, -0.07][i % 4], 0.1))
            .collect();
        let ends = (DVec3::new(180.0, 36.0, 0.0), DVec3::new(170.0, -37.0, 0.0));
        let (plain, noisy) =
            (round_heel(&line, ends.0, ends.1), round_heel(&rough, ends.0, ends.1));
        assert!((plain.length - noisy.length).abs() < 0.5);
    }
}
