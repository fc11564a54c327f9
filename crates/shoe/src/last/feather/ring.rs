//! A closed curve in space as evenly spaced points.

use glam::DVec3;

/// A closed polyline; the last point is joined to the first.
#[derive(Debug, Clone)]
pub(in crate::last) struct Ring {
    points: Vec<DVec3>,
}

impl Ring {
    /// The closed line through `points`.
    pub(in crate::last) fn new(points: Vec<DVec3>) -> Self {
        Self { points }
    }

    /// Its points in order.
    pub(in crate::last) fn points(&self) -> &[DVec3] {
        &self.points
    }

    fn arc(&self) -> Vec<f64> {
        let n = self.points.len();
        let mut arc = vec![0.0];
        for i in 0..n {
            arc.push(arc[i] + self.points[i].distance(self.points[(i + 1) % n]));
        }
        arc
    }

    /// Points about `spacing` apart, evenly, the first the one nearest to `start`.
    pub(super) fn resampled(&self, spacing: f64, start: DVec3) -> Ring {
        let n = self.points.len();
        let arc = self.arc();
        let total = arc[n];
        let mut best = (f64::INFINITY, 0.0);
        for i in 0..n {
            let (a, b) = (self.points[i], self.points[(i + 1) % n]);
            let side = b - a;
            let t = ((start - a).dot(side) / side.length_squared().max(1e-30)).clamp(0.0, 1.0);
            let away = (a + side * t).distance(start);
            if away < best.0 {
                best = (away, arc[i] + t * (arc[i + 1] - arc[i]));
            }
        }
        let count = ((total / spacing).round() as usize).max(8);
        let points = (0..count)
            .map(|k| {
                let s = (best.1 + total * k as f64 / count as f64).rem_euclid(total);
                let i = arc.partition_point(|a| *a <= s).clamp(1, n) - 1;
                let t = (s - arc[i]) / (arc[i + 1] - arc[i]).max(1e-30);
                self.points[i].lerp(self.points[(i + 1) % n], t.clamp(0.0, 1.0))
            })
            .collect();
        Ring { points }
    }

    /// The line averaged along itself with a bell of width `sigma` mm, spaced `spacing`.
    /// Averaging shrinks bends; a second, outward step undoes most of that (Taubin 1995).
    pub(in crate::last) fn smoothed(&self, spacing: f64, sigma: f64, start: DVec3) -> Ring {
        let even = self.resampled(spacing, start);
        let once = blurred(&even.points, sigma / spacing);
        let lost: Vec<DVec3> = even.points.iter().zip(&once).map(|(a, b)| *a - *b).collect();
        let regained = blurred(&lost, sigma / spacing);
        Ring { points: once.iter().zip(&regained).map(|(a, b)| *a + *b).collect() }
    }

    /// Unit directions at the points, over `half` mm to either side.
    pub(super) fn tangents(&self, half: f64) -> Vec<DVec3> {
        let n = self.points.len();
        let spacing = self.arc()[n] / n as f64;
        let k = ((half / spacing).round() as usize).clamp(1, n / 4);
        (0..n)
            .map(|i| (self.points[(i + k) % n] - self.points[(i + n - k) % n]).normalize_or_zero())
            .collect()
    }
}

/// Periodic average with a bell of standard deviation `sigma` steps.
fn blurred(values: &[DVec3], sigma: f64) -> Vec<DVec3> {
    let n = values.len();
    let reach = ((3.0 * sigma).ceil() as usize).min(n / 2);
    let weight = |k: usize| (-0.5 * (k as f64 / sigma).powi(2)).exp();
    let total: f64 = 1.0 + 2.0 * (1..=reach).map(weight).sum::<f64>();
    (0..n)
        .map(|i| {
            let sides = (1..=reach)
                .map(|k| (values[(i + k) % n] + values[(i + n - k) % n]) * weight(k))
                .sum::<DVec3>();
            (values[i] + sides) / total
        })
        .collect()
}
