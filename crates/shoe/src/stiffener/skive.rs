//! Skive lines: how far in the piece is thinned towards its edges.

use geometry::outline::distance_to_line;
use glam::DVec2;

/// Width of a skive against the thickness it thins. Common practice, no source: 4 to 5.
const WIDTH_PER_THICKNESS: f64 = 4.5;

/// How close a parallel line may come to the edge it belongs to and still count as parallel,
/// mm below its distance.
const SLACK: f64 = 0.05;

/// Width of the skive, mm, for a material of `thickness` mm.
pub fn width(thickness: f64) -> f64 {
    WIDTH_PER_THICKNESS * thickness
}

/// The line `distance` mm inside `edge` (to the left of its direction), without the loops it
/// would make in bends tighter than that.
pub fn inside(edge: &[DVec2], distance: f64) -> Vec<DVec2> {
    let even = evenly(edge);
    let n = even.len();
    (0..n)
        .map(|i| {
            let direction = even[(i + 1).min(n - 1)] - even[i.saturating_sub(1)];
            even[i] + direction.perp().normalize_or_zero() * distance
        })
        .filter(|p| distance_to_line(*p, &even) >= distance - SLACK)
        .collect()
}

/// The line resampled about every millimetre, so that its direction is steady.
fn evenly(line: &[DVec2]) -> Vec<DVec2> {
    let mut points: Vec<DVec2> = line.first().copied().into_iter().collect();
    for p in line {
        if points.last().is_some_and(|last| last.distance(*p) >= 1.0) {
            points.push(*p);
        }
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn inside_a_half_circle_lies_a_smaller_one() {
        let arc = |r: f64| (0..=180).map(move |d| DVec2::from_angle(f64::from(d).to_radians()) * r);
        let line = inside(&arc(40.0).collect::<Vec<_>>(), 6.0);
        assert!(line.len() > 50);
        for p in &line {
            assert!((p.length() - 34.0).abs() < 0.02, "{p}");
        }
        // A bend tighter than the skive leaves no loop behind.
        let tight = inside(&arc(4.0).collect::<Vec<_>>(), 6.0);
        assert!(tight.is_empty(), "{tight:?}");
    }
}
