//! Cubic splines through few points: the C2 curves every outline of the last is made of.

/// A cubic spline through given points, natural (no bending) at both ends.
#[derive(Debug, Clone)]
pub(super) struct Spline {
    at: Vec<f64>,
    value: Vec<f64>,
    bend: Vec<f64>,
}

impl Spline {
    /// Through `points`, pairs of place and value; the places must increase, three or more.
    pub(super) fn through(points: &[(f64, f64)]) -> Self {
        let at: Vec<f64> = points.iter().map(|p| p.0).collect();
        let value: Vec<f64> = points.iter().map(|p| p.1).collect();
        let n = at.len();
        let mut bend = vec![0.0; n];
        // Thomas' elimination of the tridiagonal system for the second derivatives.
        let (mut upper, mut right) = (vec![0.0; n], vec![0.0; n]);
        for i in 1..n - 1 {
            let (before, after) = (at[i] - at[i - 1], at[i + 1] - at[i]);
            let jump = (value[i + 1] - value[i]) / after - (value[i] - value[i - 1]) / before;
            let pivot = 2.0 * (before + after) - before * upper[i - 1];
            upper[i] = after / pivot;
            right[i] = (6.0 * jump - before * right[i - 1]) / pivot;
        }
        for i in (1..n - 1).rev() {
            bend[i] = right[i] - upper[i] * bend[i + 1];
        }
        Self { at, value, bend }
    }

    /// The value at `x`; beyond the ends the end pieces go on.
    pub(super) fn at(&self, x: f64) -> f64 {
        self.at_place(&self.place(x))
    }

    /// Where `x` lies: the same for every spline through the same places.
    pub(super) fn place(&self, x: f64) -> Place {
        let last = self.at.len() - 1;
        let before = self.at[1..last].partition_point(|&knot| knot <= x);
        let width = self.at[before + 1] - self.at[before];
        let share = [(self.at[before + 1] - x) / width, (x - self.at[before]) / width];
        Place { before, share, bent: share.map(|a| a * a * a - a), width }
    }

    /// The value at a place among this spline's points.
    pub(super) fn at_place(&self, place: &Place) -> f64 {
        let Place { before: i, share: [a, b], bent: [of_a, of_b], width } = *place;
        a * self.value[i]
            + b * self.value[i + 1]
            + (of_a * self.bend[i] + of_b * self.bend[i + 1]) * width * width / 6.0
    }
}

/// A place between two points of a spline, and what these count for there.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place {
    before: usize,
    share: [f64; 2],
    bent: [f64; 2],
    width: f64,
}

#[cfg(test)]
mod tests {
    use super::Spline;

    /// Reference values from scipy 1.17.1, `CubicSpline(x, y, bc_type="natural")`.
    #[test]
    fn agrees_with_scipy() {
        let spline = Spline::through(&[(0.0, 1.0), (0.5, 3.0), (1.2, -1.0), (2.0, 0.5)]);
        for (x, expected) in SCIPY {
            assert!((spline.at(x) - expected).abs() < 1e-12, "at {x}: {} {expected}", spline.at(x));
        }
    }

    const SCIPY: [(f64, f64); 4] = [
        (0.1, 1.6464764743453268),
        (0.7, 2.258113081298093),
        (1.2, -1.0),
        (1.9, 0.01892697466467963),
    ];
}
