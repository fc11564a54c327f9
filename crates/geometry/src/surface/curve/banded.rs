//! Symmetric equations in which every unknown meets only near ones.

/// The lower half of a symmetric matrix whose entries lie near its diagonal, row by row.
#[derive(Debug, Clone)]
pub(super) struct Banded {
    size: usize,
    /// Entries on the left of the diagonal.
    reach: usize,
    rows: Vec<f64>,
}

impl Banded {
    pub(super) fn new(size: usize, reach: usize) -> Self {
        Self { size, reach, rows: vec![0.0; size * (reach + 1)] }
    }

    /// Adds to the entry at (`i`, `j`); what lies above the diagonal is left to its mirror image.
    pub(super) fn add(&mut self, i: usize, j: usize, value: f64) {
        if j <= i {
            self.rows[i * (self.reach + 1) + j + self.reach - i] += value;
        }
    }

    fn at(&mut self, i: usize, j: usize) -> &mut f64 {
        &mut self.rows[i * (self.reach + 1) + j + self.reach - i]
    }

    /// Solves for `right` in place by Cholesky's factors; `false` when the matrix is not positive
    /// definite.
    pub(super) fn solve(mut self, right: &mut [f64]) -> bool {
        for i in 0..self.size {
            let first = i.saturating_sub(self.reach);
            for j in first..=i {
                let mut sum = *self.at(i, j);
                for k in first.max(j.saturating_sub(self.reach))..j {
                    sum -= *self.at(i, k) * *self.at(j, k);
                }
                if j < i {
                    *self.at(i, j) = sum / *self.at(j, j);
                } else if sum > 0.0 {
                    *self.at(i, i) = sum.sqrt();
                } else {
                    return false;
                }
            }
        }
        for i in 0..self.size {
            for k in i.saturating_sub(self.reach)..i {
                right[i] -= *self.at(i, k) * right[k];
            }
            right[i] /= *self.at(i, i);
        }
        for i in (0..self.size).rev() {
            right[i] /= *self.at(i, i);
            for k in i.saturating_sub(self.reach)..i {
                right[k] -= *self.at(i, k) * right[i];
            }
        }
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn what_was_multiplied_is_found_again(
            size in 1usize..30, reach in 0usize..6,
            values in proptest::collection::vec(-1.0..1.0f64, 30 * 7), x in proptest::collection::vec(-9.0..9.0f64, 30),
        ) {
            let mut matrix = Banded::new(size, reach);
            let mut full = vec![vec![0.0; size]; size];
            for i in 0..size {
                for j in i.saturating_sub(reach)..=i {
                    let value = if i == j { 15.0 } else { values[i * 7 + (i - j)] };
                    matrix.add(i, j, value);
                    (full[i][j], full[j][i]) = (value, value);
                }
            }
            let mut right: Vec<f64> =
                full.iter().map(|row| row.iter().zip(&x).map(|(a, b)| a * b).sum()).collect();
            prop_assert!(matrix.solve(&mut right));
            for (found, x) in right.iter().zip(&x) {
                prop_assert!((found - x).abs() < 1e-9);
            }
        }

        #[test]
        fn no_roots_of_what_is_not_positive(size in 2usize..9) {
            let mut matrix = Banded::new(size, 1);
            for i in 0..size {
                matrix.add(i, i, if i == 1 { -1.0 } else { 1.0 });
            }
            prop_assert!(!matrix.solve(&mut vec![1.0; size]));
        }
    }
}
