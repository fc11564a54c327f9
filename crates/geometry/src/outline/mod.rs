//! Flat outlines: closed or open curves that bound a piece.

pub mod arcs;

use glam::DVec2;

/// Distance of `point` from the nearest place of the polyline `line`, mm; infinite for a line
/// of fewer than two points.
pub fn distance_to_line(point: DVec2, line: &[DVec2]) -> f64 {
    let apart = |w: &[DVec2]| {
        let along = w[1] - w[0];
        let share = ((point - w[0]).dot(along) / along.length_squared()).clamp(0.0, 1.0);
        point.distance(w[0] + along * share)
    };
    line.windows(2).map(apart).fold(f64::INFINITY, f64::min)
}
