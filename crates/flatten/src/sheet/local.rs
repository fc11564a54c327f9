//! The cost of one triangle with its slope and curvature, over the four numbers of its map.

use glam::{DMat2, DMat4, DVec2, DVec4};

use crate::dirichlet::Parts;

/// First and second derivative of a triangle's cost over (z.x, z.y, w.x, w.y).
#[derive(Debug, Clone, Copy)]
pub(super) struct Local {
    pub(super) slope: DVec4,
    pub(super) bend: DMat4,
}

impl std::ops::Add for Local {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self { slope: self.slope + other.slope, bend: self.bend + other.bend }
    }
}

/// (z.x, z.y, w.x, w.y).
pub(super) fn stacked(z: DVec2, w: DVec2) -> DVec4 {
    DVec4::new(z.x, z.y, w.x, w.y)
}

/// The parts z and w of a stacked vector.
pub(super) fn split(v: DVec4) -> Parts {
    Parts { z: DVec2::new(v.x, v.y), w: DVec2::new(v.z, v.w) }
}

/// a bᵀ.
pub(super) fn outer(a: DVec4, b: DVec4) -> DMat4 {
    DMat4::from_cols(a * b.x, a * b.y, a * b.z, a * b.w)
}

/// The blocks of a symmetric matrix on z, on w, and with the rows of z and the columns of w.
pub(super) fn blocks(m: &DMat4) -> [DMat2; 3] {
    let [x, y, z, w] = [m.x_axis, m.y_axis, m.z_axis, m.w_axis].map(split);
    [DMat2::from_cols(x.z, y.z), DMat2::from_cols(z.w, w.w), DMat2::from_cols(z.z, w.z)]
}

/// The nearest matrix to the symmetric `m` that has no negative eigenvalue; `m` itself when it
/// has none. Eigenvectors by cyclic turns (C. G. J. Jacobi, 1846).
pub(super) fn nowhere_negative(m: DMat4) -> DMat4 {
    /// Each sweep squares what is left off the diagonal; six are plenty.
    const SWEEPS: usize = 12;
    let mut a = m.to_cols_array_2d();
    let mut vectors = DMat4::IDENTITY.to_cols_array_2d();
    for _ in 0..SWEEPS {
        let mut turned = false;
        for p in 0..3 {
            for q in p + 1..4 {
                if a[p][q].abs() <= f64::EPSILON * 1e-3 * (a[p][p].abs() + a[q][q].abs()) {
                    continue;
                }
                turned = true;
                let ratio = (a[q][q] - a[p][p]) / (2.0 * a[p][q]);
                let tan = ratio.signum() / (ratio.abs() + ratio.hypot(1.0));
                let cos = 1.0 / tan.hypot(1.0);
                let sin = tan * cos;
                for k in 0..4 {
                    (a[k][p], a[k][q]) = turn(a[k][p], a[k][q], cos, sin);
                }
                for k in 0..4 {
                    (a[p][k], a[q][k]) = turn(a[p][k], a[q][k], cos, sin);
                    (vectors[p][k], vectors[q][k]) = turn(vectors[p][k], vectors[q][k], cos, sin);
                }
            }
        }
        if !turned {
            break;
        }
    }
    let mut lifted = m;
    for k in 0..4 {
        if a[k][k] < 0.0 {
            let v = DVec4::from_array(vectors[k]);
            lifted += outer(v, v) * -a[k][k];
        }
    }
    lifted
}

fn turn(p: f64, q: f64, cos: f64, sin: f64) -> (f64, f64) {
    (cos * p - sin * q, sin * p + cos * q)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn negative_eigenvalues_are_cut_off_and_the_others_kept() {
        // Orthonormal vectors, none along an axis.
        let vectors = [
            DVec4::new(1.0, 1.0, 1.0, 1.0) / 2.0,
            DVec4::new(1.0, -1.0, 1.0, -1.0) / 2.0,
            DVec4::new(1.0, 1.0, -1.0, -1.0) / 2.0,
            DVec4::new(1.0, -1.0, -1.0, 1.0) / 2.0,
        ];
        let with = |values: [f64; 4]| {
            vectors
                .iter()
                .zip(values)
                .map(|(v, l)| outer(*v, *v) * l)
                .fold(DMat4::ZERO, |a, b| a + b)
        };
        for values in [[3.0, -2.0, 0.5, -1e-3], [1e6, -1.0, 2.0, 2.0], [-1.0, -1.0, -1.0, -4.0]] {
            let expected = with(values.map(|l: f64| l.max(0.0)));
            let lifted = nowhere_negative(with(values));
            assert!(lifted.abs_diff_eq(expected, 1e-14 * 1e6));
        }
        let positive = with([1.0, 2.0, 3.0, 4.0]);
        assert_eq!(nowhere_negative(positive), positive);
        let diagonal = DMat4::from_diagonal(DVec4::new(1.0, -2.0, 0.0, 3.0));
        let cut = DMat4::from_diagonal(DVec4::new(1.0, 0.0, 0.0, 3.0));
        assert_eq!(nowhere_negative(diagonal), cut);
    }

    #[test]
    fn blocks_are_taken_where_they_lie() {
        let (a, b) = (DVec4::new(1.0, 2.0, 3.0, 4.0), DVec4::new(5.0, 6.0, 7.0, 8.0));
        let m = outer(a, b) + outer(b, a);
        let [zz, ww, zw] = blocks(&m);
        assert_eq!(zz.col(1).x, 1.0 * 6.0 + 5.0 * 2.0);
        assert_eq!(ww.col(0).y, 4.0 * 7.0 + 8.0 * 3.0);
        assert_eq!((zw.col(1).x, zw.col(0).y), (1.0 * 8.0 + 5.0 * 4.0, 2.0 * 7.0 + 6.0 * 3.0));
    }
}
