//! A line in the plane with its lengths.

use glam::DVec2;

/// A polyline of at least one point.
#[derive(Debug, Clone)]
pub(super) struct PlaneLine {
    points: Vec<DVec2>,
    along: Vec<f64>,
}

impl PlaneLine {
    pub(super) fn new(points: Vec<DVec2>) -> Self {
        let along = lengths(&points);
        Self { points, along }
    }

    /// A line whose lengths are measured elsewhere: `along` up to each point, mm, never falling.
    pub(super) fn measured(points: Vec<DVec2>, along: Vec<f64>) -> Self {
        debug_assert_eq!(points.len(), along.len());
        Self { points, along }
    }

    pub(super) fn length(&self) -> f64 {
        self.along[self.along.len() - 1]
    }

    /// The place `along` mm from the beginning; before it the beginning, past the end the end.
    pub(super) fn at(&self, along: f64) -> DVec2 {
        let (i, share) = self.between(along);
        self.points[i].lerp(self.points[(i + 1).min(self.points.len() - 1)], share)
    }

    /// The point before that place, and how much of the way to the next it has gone.
    pub(super) fn between(&self, along: f64) -> (usize, f64) {
        let i = self.along.partition_point(|a| *a <= along);
        if i == 0 || i == self.points.len() {
            return (i.saturating_sub(1), 0.0);
        }
        let (a, b) = (self.along[i - 1], self.along[i]);
        (i - 1, (along - a) / (b - a))
    }

    /// How far along the place nearest to `point` lies, mm.
    pub(super) fn nearest(&self, point: DVec2) -> f64 {
        let mut best = (self.points[0].distance_squared(point), 0.0);
        for (ends, along) in self.points.windows(2).zip(self.along.windows(2)) {
            let side = ends[1] - ends[0];
            let share = (point - ends[0]).dot(side) / side.length_squared().max(f64::MIN_POSITIVE);
            let share = share.clamp(0.0, 1.0);
            let away = (ends[0] + side * share).distance_squared(point);
            if away < best.0 {
                best = (away, along[0] + (along[1] - along[0]) * share);
            }
        }
        best.1
    }
}

/// The length of a line up to each of its points, mm.
pub(super) fn lengths(line: &[DVec2]) -> Vec<f64> {
    closed_lengths(line, &[])
}

/// Length of `line` up to each point, across `breaks` (each the point before one) nothing.
pub(super) fn closed_lengths(line: &[DVec2], breaks: &[usize]) -> Vec<f64> {
    let steps = line.windows(2).enumerate();
    summed(steps.map(|(i, w)| if breaks.contains(&i) { 0.0 } else { w[0].distance(w[1]) }))
}

/// The way to each point of a line, from the steps between them; 0 to the first.
pub(super) fn summed(steps: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut sum = 0.0;
    let mut all = vec![0.0];
    all.extend(steps.map(|step| {
        sum += step;
        sum
    }));
    all
}

/// Lengths up to points of a line as shares of the whole.
pub(super) fn shares(along: &[f64]) -> Vec<f64> {
    let first = along.first().copied().unwrap_or(0.0);
    let whole = along.last().map_or(0.0, |last| last - first);
    along.iter().map(|a| (a - first) / whole.abs().max(f64::MIN_POSITIVE)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_found_again() {
        let line = PlaneLine::new(vec![DVec2::ZERO, DVec2::X * 3.0, DVec2::new(3.0, 4.0)]);
        assert_eq!(line.length(), 7.0);
        for along in [0.0, 1.5, 3.0, 5.5, 7.0] {
            assert!((line.nearest(line.at(along)) - along).abs() < 1e-12, "{along}");
        }
        assert_eq!([line.at(-1.0), line.at(9.0)], [DVec2::ZERO, DVec2::new(3.0, 4.0)]);
        assert_eq!(line.nearest(DVec2::new(1.0, -2.0)), 1.0);
        assert_eq!(shares(&line.along), [0.0, 3.0 / 7.0, 1.0]);
    }
}
