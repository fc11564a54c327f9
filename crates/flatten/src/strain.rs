//! How much a layout stretches and shrinks the surface.

use glam::DVec2;

use crate::dirichlet::Dirichlet;
use crate::material::Material;

/// Strain of a layout. A singular value s is the length in the plane of what is 1 long on the
/// surface, in the direction stretched most or shrunk most; its strain is |s - 1|.
#[derive(Debug, Clone, PartialEq)]
pub struct Strain {
    /// Area-weighted mean over both singular values, percent.
    pub mean: f64,
    /// 95 % of the area has no more strain than this, percent; each triangle by the larger of
    /// its two strains.
    pub p95: f64,
    /// 99 % of the area has no more strain than this, percent.
    pub p99: f64,
    /// The two singular values of each triangle, the larger first.
    pub singular_values: Vec<[f64; 2]>,
}

impl Strain {
    pub(crate) fn new(dirichlet: &Dirichlet, points: &[DVec2]) -> Self {
        let singular_values = dirichlet.singular_values(points);
        let mut mean = 0.0;
        let mut largest = Vec::with_capacity(singular_values.len());
        for (weight, s) in dirichlet.weights().zip(&singular_values) {
            let strains = s.map(|s| (s - 1.0).abs());
            mean += weight * (strains[0] + strains[1]) / 2.0;
            largest.push((strains[0].max(strains[1]), weight));
        }
        largest.sort_by(|a, b| a.0.total_cmp(&b.0));
        Self {
            mean: 100.0 * mean,
            p95: 100.0 * percentile(&largest, 0.95),
            p99: 100.0 * percentile(&largest, 0.99),
            singular_values,
        }
    }
}

impl Strain {
    /// Percent of the area whose stretch or compression is beyond the limits of `material`.
    /// `areas` are those of the triangles on the surface, in their order.
    pub fn area_over_limit(&self, areas: &[f64], material: &Material) -> f64 {
        let all = areas.iter().zip(&self.singular_values);
        let over = all.filter(|(_, s)| material.is_beyond(**s)).map(|(area, _)| area);
        // An empty sum of floats is -0.
        100.0 * over.fold(0.0, |sum, area| sum + area) / areas.iter().sum::<f64>()
    }

    /// The strain that 99 % of the area does not exceed, percent, without the rest.
    pub(crate) fn p99(dirichlet: &Dirichlet, points: &[DVec2]) -> f64 {
        let values = dirichlet.singular_values(points);
        let largest = |s: &[f64; 2]| s.map(|s| (s - 1.0).abs()).into_iter().fold(0.0, f64::max);
        let mut strains: Vec<(f64, f64)> =
            values.iter().map(largest).zip(dirichlet.weights()).collect();
        100.0 * upper_percentile(&mut strains, 0.99)
    }
}

/// [`percentile`] of an unsorted list, for a part near 1.
pub(crate) fn upper_percentile(values: &mut [(f64, f64)], part: f64) -> f64 {
    let total: f64 = values.iter().map(|(_, weight)| weight).sum();
    let mut above = (1.0 - part) * total;
    // Halve from above until the weight that lies above is used up.
    let mut rest = values;
    while rest.len() > 1 {
        let half = rest.len() / 2;
        rest.select_nth_unstable_by(half, |a, b| a.0.total_cmp(&b.0));
        let (low, high) = rest.split_at_mut(half);
        let weight: f64 = high.iter().map(|(_, weight)| weight).sum();
        if weight <= above {
            above -= weight;
            rest = low;
        } else {
            rest = high;
        }
    }
    rest.first().map_or(0.0, |(value, _)| *value)
}

/// The least value that at least `part` of the weight does not exceed; `sorted` by value.
fn percentile(sorted: &[(f64, f64)], part: f64) -> f64 {
    let total: f64 = sorted.iter().map(|(_, weight)| weight).sum();
    let mut below = 0.0;
    for (value, weight) in sorted {
        below += weight;
        if below >= part * total {
            return *value;
        }
    }
    sorted.last().map_or(0.0, |(value, _)| *value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn percentiles_go_by_weight() {
        let sorted = [(1.0, 90.0), (2.0, 5.0), (3.0, 4.0), (4.0, 1.0)];
        assert_eq!(percentile(&sorted, 0.90), 1.0);
        assert_eq!(percentile(&sorted, 0.95), 2.0);
        assert_eq!(percentile(&sorted, 0.951), 3.0);
        assert_eq!(percentile(&sorted, 1.0), 4.0);
        for part in [0.5, 0.899, 0.905, 0.951, 0.97, 0.995] {
            let mut shuffled = [sorted[2], sorted[0], sorted[3], sorted[1]];
            assert_eq!(upper_percentile(&mut shuffled, part), percentile(&sorted, part));
        }
    }

    #[test]
    fn strain_of_plain_stretch_is_known() {
        let mesh = crate::surfaces::grid(4, 3, |u, v| glam::DVec3::new(3.0 * u, 2.0 * v, 0.0));
        let points: Vec<DVec2> =
            mesh.positions.iter().map(|p| DVec2::new(1.1 * p.x, 0.95 * p.y)).collect();
        let strain = Strain::new(&Dirichlet::new(&mesh), &points);
        assert!((strain.mean - 7.5).abs() < 1e-9);
        assert!((strain.p95 - 10.0).abs() < 1e-9 && (strain.p99 - 10.0).abs() < 1e-9);
        assert!((strain.singular_values[3][0] - 1.1).abs() < 1e-12);
        assert!((strain.singular_values[3][1] - 0.95).abs() < 1e-12);
        // The sheet stretches by 5.3 % one way and is compressed by 9.1 % the other.
        for (stretch, compress, over) in [(5.0, 10.0, 100.0), (6.0, 9.0, 100.0), (6.0, 10.0, 0.0)] {
            let material = Material { stretch, compress, ..Material::board() };
            assert!((strain.area_over_limit(&mesh.face_areas(), &material) - over).abs() < 1e-9);
        }
    }
}
