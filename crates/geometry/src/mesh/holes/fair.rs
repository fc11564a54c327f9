//! Bends the inside of a patch into the smooth continuation of the surface around it.
//!
//! A thin plate: the free points are where the sum of the squared Laplacians, also at the rim, is
//! least; there the Laplacian takes in the surface around, so the plate leaves the rim at the
//! surface's slope (M. Botsch and L. Kobbelt 2004, "An intuitive framework for real-time freeform
//! modeling"; cotangent weights of U. Pinkall and K. Polthier 1993). Solved again with the weights
//! of the outcome it tends to the surface of least bending, which on a ball is the ball.

use std::collections::BTreeMap;

use glam::DVec3;

use super::patch::Patch;
use super::surround::Surround;

/// Solutions, each with the weights of the one before.
const ROUNDS: usize = 4;

/// Angles below about one degree count as that: their cotangent would drown all others.
const STEEPEST: f64 = 60.0;

/// Moves the free points of `patch`; rim and surroundings stay. Returns false, and leaves the
/// patch as it is, when there is no solution.
pub(super) fn fair(patch: &mut Patch, around: &Surround) -> bool {
    let free = patch.points.len() - patch.rim;
    for round in 0..ROUNDS {
        let Some(places) = solve(patch, around) else { return round > 0 };
        let before = patch.points[patch.rim..].to_vec();
        let moved = (0..free).map(|i| places[i].distance(before[i])).fold(0.0, f64::max);
        patch.points.truncate(patch.rim);
        patch.points.extend(places);
        if !patch.points.iter().all(|p| p.is_finite()) {
            patch.points.truncate(patch.rim);
            patch.points.extend(before);
            return round > 0;
        }
        patch.flip_all();
        // In parts of the hole's extent.
        if moved < 1e-4 {
            break;
        }
    }
    true
}

/// Where the free points belong, given the weights of the triangles as they are now.
fn solve(patch: &Patch, around: &Surround) -> Option<Vec<DVec3>> {
    let rim = patch.rim;
    let free = patch.points.len() - rim;
    if free == 0 {
        return None;
    }
    // Numbers: rim, then free, then the points around.
    let inner = patch.points.len();
    let shift = |v: u32| if (v as usize) < rim { v as usize } else { v as usize + free };
    let place = |v: usize| {
        if v < inner { patch.points[v] } else { around.points[v - free] }
    };
    let mut weights: Vec<BTreeMap<usize, f64>> = vec![BTreeMap::new(); inner];
    let mut areas = vec![0.0; inner];
    let own = patch.triangles.iter().map(|t| t.map(|v| v as usize));
    for t in own.chain(around.faces.iter().map(|t| t.map(shift))) {
        let [a, b, c] = t.map(place);
        let area = (b - a).cross(c - a).length() / 2.0;
        for k in 0..3 {
            let [u, v, w] = [t[k], t[(k + 1) % 3], t[(k + 2) % 3]];
            let (p, q) = (place(u) - place(w), place(v) - place(w));
            let cotangent = p.dot(q) / p.cross(q).length().max(f64::MIN_POSITIVE);
            let half = cotangent.clamp(-STEEPEST, STEEPEST) / 2.0;
            for (from, to) in [(u, v), (v, u)] {
                if from < inner {
                    *weights[from].entry(to).or_default() += half;
                }
            }
            if u < inner {
                areas[u] += area / 3.0;
            }
        }
    }
    let mean = areas[rim..].iter().sum::<f64>() / free as f64;
    let order = narrow_order(&weights, rim, free);
    let mut matrix = Envelope::new(free);
    let mut right = vec![DVec3::ZERO; free];
    for row in (0..inner).filter(|v| *v >= rim || around.whole[*v]) {
        // A vanishing area would make its row the only one that counts.
        let scale = 1.0 / areas[row].max(0.05 * mean);
        let sum: f64 = weights[row].values().sum();
        let mut line: Vec<(usize, f64)> = weights[row].iter().map(|(v, w)| (*v, *w)).collect();
        line.push((row, -sum));
        let held = |v: usize| v < rim || v >= inner;
        let fixed: DVec3 = line
            .iter()
            .filter(|(v, _)| held(*v))
            .fold(DVec3::ZERO, |total, (v, w)| total + *w * place(*v));
        for &(v, w) in line.iter().filter(|(v, _)| !held(*v)) {
            let i = order[v - rim];
            right[i] -= scale * w * fixed;
            for &(u, x) in line.iter().filter(|(u, _)| !held(*u)) {
                let j = order[u - rim];
                if j <= i {
                    matrix.add(i, j, scale * w * x);
                }
            }
        }
    }
    let solved = matrix.solve(right)?;
    Some(order.iter().map(|i| solved[*i]).collect())
}

/// For each free point its place in an order in which neighbours stand close together: in waves
/// from a far point (E. Cuthill and J. McKee 1969).
fn narrow_order(weights: &[BTreeMap<usize, f64>], rim: usize, free: usize) -> Vec<usize> {
    let near = |v: usize| {
        weights[v + rim]
            .keys()
            .filter(move |u| (rim..rim + free).contains(*u))
            .map(move |u| u - rim)
    };
    let waves = |start: usize, order: &mut Vec<usize>, number: &mut Vec<usize>| {
        let first = order.len();
        number[start] = first;
        order.push(start);
        let mut at = first;
        while at < order.len() {
            let mut next: Vec<usize> =
                near(order[at]).filter(|u| number[*u] == usize::MAX).collect();
            next.sort_by_key(|u| (near(*u).count(), *u));
            for u in next {
                number[u] = order.len();
                order.push(u);
            }
            at += 1;
        }
    };
    let mut order = Vec::with_capacity(free);
    let mut number = vec![usize::MAX; free];
    for start in 0..free {
        if number[start] == usize::MAX {
            let mut trial = Vec::new();
            waves(start, &mut trial, &mut number.clone());
            let far = trial.last().copied().unwrap_or(start);
            waves(far, &mut order, &mut number);
        }
    }
    number
}

/// A symmetric matrix: of each row what lies from its first entry to the diagonal.
struct Envelope {
    rows: Vec<Vec<f64>>,
}

impl Envelope {
    fn new(n: usize) -> Self {
        Self { rows: vec![Vec::new(); n] }
    }

    /// Adds to the entry in row `i`, column `j`, not above the diagonal.
    fn add(&mut self, i: usize, j: usize, value: f64) {
        let row = &mut self.rows[i];
        // Stored from the diagonal leftward.
        if row.len() <= i - j {
            row.resize(i - j + 1, 0.0);
        }
        row[i - j] += value;
    }

    /// Solves by Cholesky's method; `None` when the matrix is not positive.
    fn solve(mut self, mut right: Vec<DVec3>) -> Option<Vec<DVec3>> {
        let n = self.rows.len();
        for row in &mut self.rows {
            row.reverse();
        }
        let first: Vec<usize> =
            (0..n).map(|i| (i + 1).saturating_sub(self.rows[i].len())).collect();
        for i in 0..n {
            let (above, rest) = self.rows.split_at_mut(i);
            let row = rest.first_mut()?;
            let full = row.last().copied()?;
            for j in first[i]..i {
                let from = first[i].max(first[j]);
                let (own, other) =
                    (&row[from - first[i]..j - first[i]], &above[j][from - first[j]..]);
                let product: f64 = own.iter().zip(other).map(|(x, y)| x * y).sum();
                let diagonal = above[j].last().copied()?;
                row[j - first[i]] = (row[j - first[i]] - product) / diagonal;
            }
            let (last, left) = row.split_last_mut()?;
            let pivot = full - left.iter().map(|x| x * x).sum::<f64>();
            if pivot.is_nan() || pivot <= 1e-15 * full {
                return None;
            }
            *last = pivot.sqrt();
            let sum =
                left.iter().zip(&right[first[i]..i]).fold(DVec3::ZERO, |s, (x, r)| s + *x * *r);
            right[i] = (right[i] - sum) / *last;
        }
        for i in (0..n).rev() {
            let (last, left) = self.rows[i].split_last()?;
            let value = right[i] / *last;
            right[i] = value;
            for (x, r) in left.iter().zip(&mut right[first[i]..i]) {
                *r -= *x * value;
            }
        }
        Some(right)
    }
}
