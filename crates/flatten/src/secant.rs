//! What earlier steps showed of the curvature, for steps that use a factorisation once more.
//!
//! Between two factorisations each step changes the gradient by a known amount; correcting the
//! old equations by these amounts (limited-memory BFGS with the factorisation as its seed; J.
//! Nocedal, "Updating Quasi-Newton Matrices with Limited Storage", 1980) makes steps with them
//! nearly as good as with new ones.

use glam::DVec2;

/// One step and what it did to the gradient.
struct Pair {
    step: Vec<DVec2>,
    change: Vec<DVec2>,
    /// Their product, positive.
    product: f64,
}

/// The steps since the last factorisation.
#[derive(Default)]
pub(crate) struct Secants {
    pairs: Vec<Pair>,
}

impl Secants {
    /// Forgets all steps, after a new factorisation.
    pub(crate) fn clear(&mut self) {
        self.pairs.clear();
    }

    /// Learns that the gradient changed from `before` to `after` along `step`.
    pub(crate) fn learn(&mut self, step: Vec<DVec2>, before: &[DVec2], after: &[DVec2]) {
        let change: Vec<DVec2> = after.iter().zip(before).map(|(a, b)| *a - *b).collect();
        let product = dot(&step, &change);
        // Else it does not belong to a convex energy, or is round-off.
        if product > 0.0 && product.is_finite() {
            self.pairs.push(Pair { step, change, product });
        }
    }

    /// The step down `gradient`, where `solve` applies the inverse of the old equations.
    pub(crate) fn step(
        &self,
        gradient: &[DVec2],
        solve: impl FnOnce(&[DVec2]) -> Vec<DVec2>,
    ) -> Vec<DVec2> {
        let mut rest: Vec<DVec2> = gradient.iter().map(|g| -*g).collect();
        let mut shares = Vec::with_capacity(self.pairs.len());
        for pair in self.pairs.iter().rev() {
            let share = dot(&pair.step, &rest) / pair.product;
            add(&mut rest, &pair.change, -share);
            shares.push(share);
        }
        let mut step = solve(&rest);
        for (pair, share) in self.pairs.iter().zip(shares.iter().rev()) {
            let other = dot(&pair.change, &step) / pair.product;
            add(&mut step, &pair.step, share - other);
        }
        step
    }
}

fn dot(a: &[DVec2], b: &[DVec2]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a.dot(*b)).sum()
}

fn add(to: &mut [DVec2], what: &[DVec2], times: f64) {
    for (t, w) in to.iter_mut().zip(what) {
        *t += *w * times;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Down a quadratic valley with a seed that is off by up to a third.
    #[test]
    fn arrives_faster_than_the_old_equations_alone() {
        let curvature: Vec<DVec2> = (0..20)
            .map(|i| DVec2::new(1.0 + 0.017 * f64::from(i), 1.3 - 0.02 * f64::from(i)))
            .collect();
        let gradient = |x: &[DVec2]| -> Vec<DVec2> {
            x.iter().zip(&curvature).map(|(x, c)| *x * *c).collect()
        };
        let after = |learning: bool| {
            let mut secants = Secants::default();
            let mut x: Vec<DVec2> = (0..20).map(|i| DVec2::new(1.0, f64::from(i) - 7.0)).collect();
            let mut g = gradient(&x);
            for _ in 0..8 {
                let step = secants.step(&g, <[DVec2]>::to_vec);
                add(&mut x, &step, 1.0);
                let now = gradient(&x);
                if learning {
                    secants.learn(step, &g, &now);
                }
                g = now;
            }
            dot(&x, &x).sqrt()
        };
        assert!(after(true) < 1e-2 * after(false), "{} {}", after(true), after(false));
    }

    #[test]
    fn a_step_without_curvature_is_not_learned() {
        let mut secants = Secants::default();
        secants.learn(vec![DVec2::X], &[DVec2::X], &[DVec2::ZERO]);
        assert_eq!(secants.step(&[DVec2::Y], <[DVec2]>::to_vec), [DVec2::NEG_Y]);
    }
}
