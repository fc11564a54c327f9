//! Least squares with a few unknowns.

/// Adds a weighted observation `value` of `row` times the unknowns to the normal equations.
pub(super) fn add<const N: usize, const M: usize>(
    sums: &mut [[f64; M]; N],
    row: [f64; N],
    value: f64,
    weight: f64,
) {
    for (r, a) in row.iter().enumerate() {
        for (c, b) in row.iter().enumerate() {
            sums[r][c] += a * b * weight;
        }
        sums[r][N] += a * value * weight;
    }
}

/// Gauss elimination of `N` equations (the right side behind) with partial pivoting; `None`
/// where they are singular.
pub(super) fn solved<const N: usize, const M: usize>(mut m: [[f64; M]; N]) -> Option<[f64; N]> {
    for k in 0..N {
        let pivot = (k..N).max_by(|a, b| m[*a][k].abs().total_cmp(&m[*b][k].abs()))?;
        m.swap(k, pivot);
        if m[k][k].abs() < 1e-12 {
            return None;
        }
        for r in 0..N {
            if r != k {
                let factor = m[r][k] / m[k][k];
                let row = m[k];
                for (to, from) in m[r].iter_mut().zip(row) {
                    *to -= factor * from;
                }
            }
        }
    }
    Some(std::array::from_fn(|k| m[k][N] / m[k][k]))
}
