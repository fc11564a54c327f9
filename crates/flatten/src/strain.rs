//! How much a layout stretches and shrinks the surface.

use glam::DVec2;

use crate::dirichlet::Dirichlet;

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
