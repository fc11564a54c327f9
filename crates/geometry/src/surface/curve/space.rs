//! A cubic spline in space through the samples of a curve.

use glam::DVec3;

use super::banded::Banded;

/// A curve of cubic pieces, whose direction and bending run on without jumps; straight at open
/// ends.
#[derive(Debug, Clone)]
pub(super) struct SpaceSpline {
    places: Vec<DVec3>,
    steps: Vec<f64>,
    /// Derivative by the parameter at each place.
    slopes: Vec<DVec3>,
}

impl SpaceSpline {
    /// The spline through `places`, `steps` apart in its parameter: from each place to the next,
    /// and when `closed` from the last to the first.
    pub(super) fn new(places: &[DVec3], steps: &[f64], closed: bool) -> Self {
        let n = places.len();
        // Equal bending on both sides of a place, in terms of the slopes: three unknowns a row.
        // Each row is divided by its steps, so that the matrix is symmetric.
        let fold = |i: usize| match closed {
            true if 2 * i < n => 2 * i,
            true => 2 * (n - 1 - i) + 1,
            false => i,
        };
        let reach = if closed { 2.min(n.saturating_sub(1)) } else { 1.min(n.saturating_sub(1)) };
        let mut matrix = Banded::new(n, reach);
        let mut right = vec![DVec3::ZERO; n];
        let pieces = if closed { n } else { n - 1 };
        for i in 0..pieces {
            let j = (i + 1) % n;
            let over = 1.0 / steps[i];
            let rise = (places[j] - places[i]) * 3.0 * over * over;
            let (a, b) = (fold(i), fold(j));
            matrix.add(a, a, 2.0 * over);
            matrix.add(b, b, 2.0 * over);
            matrix.add(a.max(b), a.min(b), over);
            right[a] += rise;
            right[b] += rise;
        }
        let mut slopes = vec![DVec3::ZERO; n];
        for axis in 0..3 {
            let mut values: Vec<f64> = right.iter().map(|r| r[axis]).collect();
            matrix.clone().solve(&mut values);
            for i in 0..n {
                slopes[i][axis] = values[fold(i)];
            }
        }
        Self { places: places.to_vec(), steps: steps.to_vec(), slopes }
    }

    /// Place and direction at `share` of piece `i`.
    pub(super) fn at(&self, i: usize, share: f64) -> (DVec3, DVec3) {
        let j = (i + 1) % self.places.len();
        let (p, q) = (self.places[i], self.places[j]);
        let (u, v) = (self.slopes[i] * self.steps[i], self.slopes[j] * self.steps[i]);
        let (t, r) = (share, 1.0 - share);
        let place = p * (r * r * (1.0 + 2.0 * t)) + u * (t * r * r) + q * (t * t * (3.0 - 2.0 * t))
            - v * (t * t * r);
        let direction =
            (q - p) * (6.0 * t * r) + u * (r * (1.0 - 3.0 * t)) - v * (t * (2.0 - 3.0 * t));
        (place, direction.normalize_or_zero())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_closed_spline_through_a_circle_is_round() {
        let n = 24;
        let turn = std::f64::consts::TAU / n as f64;
        let places: Vec<DVec3> = (0..n)
            .map(|i| DVec3::new((turn * i as f64).cos(), (turn * i as f64).sin(), 0.0))
            .collect();
        let spline = SpaceSpline::new(&places, &vec![turn; n], true);
        for i in 0..n {
            for k in 0..10 {
                let (place, direction) = spline.at(i, k as f64 / 10.0);
                assert!((place.length() - 1.0).abs() < 3e-5, "{place}");
                assert!(direction.dot(place).abs() < 1e-3);
            }
        }
    }

    #[test]
    fn an_open_spline_keeps_a_straight_line() {
        let places = [0.0, 1.0, 4.0, 5.5].map(|x| DVec3::new(x, 2.0 * x, -x));
        let spline = SpaceSpline::new(&places, &[1.0, 3.0, 1.5, 0.0], false);
        let (place, direction) = spline.at(1, 0.5);
        assert!(place.distance(DVec3::new(2.5, 5.0, -2.5)) < 1e-12);
        assert!(direction.distance(DVec3::new(1.0, 2.0, -1.0).normalize()) < 1e-12);
    }
}
