//! How surface is spread in space: its area, middle, and principal axes.

use glam::DVec3;

/// Area, first and second moment of a set of triangles about a fixed point.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Moments {
    pub(super) area: f64,
    first: DVec3,
    /// xx, yy, zz, xy, yz, zx.
    second: [f64; 6],
}

impl Moments {
    /// Those of one triangle, its corners seen from the fixed point.
    pub(super) fn of_triangle([a, b, c]: [DVec3; 3]) -> Self {
        let area = (b - a).cross(c - a).length() / 2.0;
        let sum = a + b + c;
        // The mean of the squares over a triangle: corners and the sum of them, by twelfths.
        let terms = [products(a), products(b), products(c), products(sum)];
        let second = std::array::from_fn(|i| terms.iter().map(|t| t[i]).sum::<f64>() * area / 12.0);
        Self { area, first: sum / 3.0 * area, second }
    }

    pub(super) fn add(&mut self, other: &Self) {
        self.area += other.area;
        self.first += other.first;
        for (own, more) in self.second.iter_mut().zip(other.second) {
            *own += more;
        }
    }

    /// The middle of the surface, seen from the fixed point.
    pub(super) fn middle(&self) -> DVec3 {
        if self.area > 0.0 { self.first / self.area } else { DVec3::ZERO }
    }

    /// Unit axes of least, middle and most spread, and the mean square spread along each.
    pub(super) fn axes(&self) -> ([DVec3; 3], [f64; 3]) {
        if self.area <= 0.0 {
            return (DVec3::AXES, [0.0; 3]);
        }
        let m = products(self.middle());
        let [xx, yy, zz, xy, yz, zx]: [f64; 6] =
            std::array::from_fn(|i| self.second[i] / self.area - m[i]);
        symmetric_axes([[xx, xy, zx], [xy, yy, yz], [zx, yz, zz]])
    }
}

fn products(p: DVec3) -> [f64; 6] {
    [p.x * p.x, p.y * p.y, p.z * p.z, p.x * p.y, p.y * p.z, p.z * p.x]
}

/// Axes of a symmetric matrix by Jacobi's turns (C. Jacobi 1846), the smallest value first.
pub(super) fn symmetric_axes(mut m: [[f64; 3]; 3]) -> ([DVec3; 3], [f64; 3]) {
    let mut turned = [DVec3::X, DVec3::Y, DVec3::Z];
    // Each sweep squares what is off the diagonal; five are enough for f64.
    for _ in 0..12 {
        for (p, q) in [(0, 1), (1, 2), (0, 2)] {
            if m[p][q] == 0.0 {
                continue;
            }
            let slope = (m[q][q] - m[p][p]) / (2.0 * m[p][q]);
            let t = slope.signum() / (slope.abs() + slope.hypot(1.0));
            let c = 1.0 / t.hypot(1.0);
            let s = t * c;
            let old = m;
            for k in 0..3 {
                m[k][p] = c * old[k][p] - s * old[k][q];
                m[k][q] = s * old[k][p] + c * old[k][q];
            }
            let old = m;
            for k in 0..3 {
                m[p][k] = c * old[p][k] - s * old[q][k];
                m[q][k] = s * old[p][k] + c * old[q][k];
            }
            let (a, b) = (turned[p], turned[q]);
            turned[p] = c * a - s * b;
            turned[q] = s * a + c * b;
        }
    }
    let mut order = [0, 1, 2];
    order.sort_by(|a, b| m[*a][*a].total_cmp(&m[*b][*b]));
    (order.map(|k| turned[k].normalize_or_zero()), order.map(|k| m[k][k].max(0.0)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rectangle_has_its_known_moments() {
        // 6 by 2, turned: the variance of a side of length s is s²/12.
        let turn = glam::DQuat::from_axis_angle(DVec3::new(1.0, 2.0, 3.0).normalize(), 0.7);
        let corner = |x: f64, y: f64| turn * DVec3::new(x, y, 0.0) + DVec3::new(5.0, -2.0, 1.0);
        let (a, b, c, d) = (corner(0.0, 0.0), corner(6.0, 0.0), corner(6.0, 2.0), corner(0.0, 2.0));
        let mut sum = Moments::of_triangle([a, b, c]);
        sum.add(&Moments::of_triangle([a, c, d]));
        assert!((sum.area - 12.0).abs() < 1e-12);
        assert!(sum.middle().distance(corner(3.0, 1.0)) < 1e-12);
        let (axes, spread) = sum.axes();
        assert!(spread[0].abs() < 1e-9);
        assert!((spread[1] - 4.0 / 12.0).abs() < 1e-9 && (spread[2] - 3.0).abs() < 1e-9);
        assert!((axes[0].dot(turn * DVec3::Z).abs() - 1.0).abs() < 1e-9);
        assert!((axes[2].dot(turn * DVec3::X).abs() - 1.0).abs() < 1e-9);
    }
}
