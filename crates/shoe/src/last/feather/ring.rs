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
        let even = self.resampled(spacing, start).points;
        Ring { points: averaged(&even, &vec![sigma / spacing; even.len()]) }
    }

    /// The points averaged along the line as far as they scatter, up to `widest` mm, but less
    /// where the line bends tightly, so that a pointed toe keeps its point. `None` where they
    /// scatter by less than `noticed` mm.
    pub(super) fn steadied(&self, noticed: f64, widest: f64) -> Option<Ring> {
        /// Width of the bell against which scatter is judged, mm.
        const JUDGED: f64 = 3.0;
        /// Width in mm for each mm of scatter.
        const FOR_SCATTER: f64 = 40.0;
        /// A bell wider than this share of the radius of the line would cut the bend.
        const OF_RADIUS: f64 = 0.4;
        let n = self.points.len();
        let spacing = self.arc()[n] / n as f64;
        let judged = averaged(&self.points, &vec![JUDGED / spacing; n]);
        let mut strays: Vec<f64> =
            self.points.iter().zip(&judged).map(|(a, b)| a.distance(*b)).collect();
        strays.sort_by(f64::total_cmp);
        let scatter = strays[n / 2];
        if scatter < noticed {
            return None;
        }
        let width = (FOR_SCATTER * scatter).clamp(2.0, widest);
        let calm = Ring { points: averaged(&self.points, &vec![widest / spacing; n]) };
        let reach = ((4.0 / spacing).round() as usize).clamp(1, n / 4);
        let tangents = calm.tangents(4.0);
        let widths: Vec<f64> = (0..n)
            .map(|i| {
                let (a, b) = (tangents[(i + n - reach) % n], tangents[(i + reach) % n]);
                let radius = 2.0 * reach as f64 * spacing / a.angle_between(b).max(1e-6);
                width.min(OF_RADIUS * radius) / spacing
            })
            .collect();
        Some(Ring { points: averaged(&self.points, &widths) })
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

/// Periodic average with a bell of standard deviation `sigmas` steps at each place, and what
/// it cut off of the bends put back (Taubin 1995).
fn averaged(points: &[DVec3], sigmas: &[f64]) -> Vec<DVec3> {
    let once = blurred(points, sigmas);
    let lost: Vec<DVec3> = points.iter().zip(&once).map(|(a, b)| *a - *b).collect();
    let regained = blurred(&lost, sigmas);
    once.iter().zip(&regained).map(|(a, b)| *a + *b).collect()
}

/// Periodic average with a bell of standard deviation `sigmas` steps at each place.
fn blurred(values: &[DVec3], sigmas: &[f64]) -> Vec<DVec3> {
    let n = values.len();
    (0..n)
        .map(|i| {
            let reach = ((3.0 * sigmas[i]).ceil() as usize).min(n / 2);
            let (mut sum, mut total) = (values[i], 1.0);
            for k in 1..=reach {
                let weight = (-0.5 * (k as f64 / sigmas[i]).powi(2)).exp();
                sum += (values[(i + k) % n] + values[(i + n - k) % n]) * weight;
                total += 2.0 * weight;
            }
            sum / total
        })
        .collect()
}
