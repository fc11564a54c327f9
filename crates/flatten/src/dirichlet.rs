//! The symmetric Dirichlet energy of a layout, its gradient and its curvature.
//!
//! Complex numbers stand for points of the plane. The Jacobian of a triangle's map splits into
//! a conformal part `z` (turn and scale) and an anti-conformal part `w` (turn, mirror and
//! scale); its singular values are `|z| + |w|` and `|z| - |w|`. Seen so, the four eigenvectors
//! of the energy's Hessian are the two directions of `z` and the two of `w`: twist turns `z`,
//! flip turns `w`, and scaling changes the two lengths (B. Smith, F. de Goes, T. Kim, "Analytic
//! Eigensystems for Isotropic Distortion Energies", 2019). Only twist can be negative.

use geometry::mesh::TriMesh;
use glam::{DMat2, DVec2};

use crate::system::System;

/// A triangle as it is on the surface.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Rest {
    /// Gradients of the three hat functions in the triangle's own frame, 1/mm.
    pub(crate) hats: [DVec2; 3],
    /// Its part of the whole area.
    pub(crate) weight: f64,
}

/// The energy of a mesh: area-weighted mean of (s - 1/s)² over both singular values.
pub(crate) struct Dirichlet {
    triangles: Vec<[u32; 3]>,
    rests: Vec<Rest>,
    total_area: f64,
}

/// The two parts of a triangle's Jacobian.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Parts {
    pub(crate) z: DVec2,
    pub(crate) w: DVec2,
}

impl Parts {
    /// Larger and smaller singular value; the smaller is negative when the triangle is flipped.
    pub(crate) fn singular_values(self) -> [f64; 2] {
        let (q, r) = (self.z.length(), self.w.length());
        [q + r, q - r]
    }
}

/// Whether negative curvature is kept or cut off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Curvature {
    /// The Hessian as it is.
    Full,
    /// The nearest that is nowhere negative, triangle by triangle.
    Projected,
}

impl Dirichlet {
    /// Every triangle of `mesh` must have area.
    pub(crate) fn new(mesh: &TriMesh) -> Self {
        let areas = mesh.face_areas();
        let total_area: f64 = areas.iter().sum();
        let rests = areas
            .iter()
            .enumerate()
            .map(|(face, area)| {
                let [a, b, c] = mesh.corners(face as u32);
                let (side, other) = (b - a, c - a);
                let length = side.length();
                let x = other.dot(side) / length;
                let y = 2.0 * area / length;
                // The corners are (0, 0), (length, 0), (x, y).
                let hats = [DVec2::new(-y, x - length), DVec2::new(y, -x), DVec2::new(0.0, length)]
                    .map(|h| h / (length * y));
                Rest { hats, weight: area / total_area }
            })
            .collect();
        Self { triangles: mesh.triangles.clone(), rests, total_area }
    }

    /// Area of the surface, mm².
    pub(crate) fn total_area(&self) -> f64 {
        self.total_area
    }

    /// How many vertices there are.
    pub(crate) fn vertex_count(&self) -> usize {
        self.triangles.iter().flatten().max().map_or(0, |last| *last as usize + 1)
    }

    /// The triangles, as vertex indices.
    pub(crate) fn triangles(&self) -> &[[u32; 3]] {
        &self.triangles
    }

    /// Each triangle's part of the whole area.
    pub(crate) fn weights(&self) -> impl Iterator<Item = f64> + '_ {
        self.rests.iter().map(|r| r.weight)
    }

    /// Each triangle as it is on the surface.
    pub(crate) fn rests(&self) -> &[Rest] {
        &self.rests
    }

    /// The parts of the Jacobian of triangle `face`.
    pub(crate) fn parts(&self, face: usize, points: &[DVec2]) -> Parts {
        let [i, j, k] = self.triangles[face].map(|v| v as usize);
        let [_, h1, h2] = self.rests[face].hats;
        let (u, v) = (points[j] - points[i], points[k] - points[i]);
        Parts {
            z: 0.5 * (conjugate(h1).rotate(u) + conjugate(h2).rotate(v)),
            w: 0.5 * (h1.rotate(u) + h2.rotate(v)),
        }
    }

    /// The singular values of each triangle's map, the larger first.
    pub(crate) fn singular_values(&self, points: &[DVec2]) -> Vec<[f64; 2]> {
        (0..self.rests.len()).map(|f| self.parts(f, points).singular_values()).collect()
    }

    /// The energy, infinite if a triangle is flipped or collapsed.
    pub(crate) fn energy(&self, points: &[DVec2]) -> f64 {
        let mut sum = 0.0;
        for (face, rest) in self.rests.iter().enumerate() {
            let [s1, s2] = self.parts(face, points).singular_values();
            if s2.is_nan() || s2 <= 0.0 {
                return f64::INFINITY;
            }
            sum += rest.weight * (stretch_cost(s1) + stretch_cost(s2));
        }
        sum
    }

    /// The scale at which the energy of `points` is least: the root of the ratio of
    /// sum A / s² to sum A s², once more rooted.
    pub(crate) fn best_scale(&self, points: &[DVec2]) -> f64 {
        let (mut shrunk, mut stretched) = (0.0, 0.0);
        for (face, rest) in self.rests.iter().enumerate() {
            for s in self.parts(face, points).singular_values() {
                shrunk += rest.weight / (s * s);
                stretched += rest.weight * s * s;
            }
        }
        (shrunk / stretched).sqrt().sqrt()
    }

    /// Adds the gradient at each vertex to `gradient`.
    pub(crate) fn add_gradient(&self, points: &[DVec2], gradient: &mut [DVec2]) {
        for (face, rest) in self.rests.iter().enumerate() {
            let parts = self.parts(face, points);
            let [s1, s2] = parts.singular_values();
            let (d1, d2) = (slope(s1), slope(s2));
            let along_z = unit(parts.z) * (rest.weight * 0.5 * (d1 + d2));
            let along_w = unit(parts.w) * (rest.weight * 0.5 * (d1 - d2));
            for (v, hat) in self.triangles[face].into_iter().zip(rest.hats) {
                gradient[v as usize] += along_z.rotate(hat) + along_w.rotate(conjugate(hat));
            }
        }
    }

    /// Adds the Hessian to `system`.
    pub(crate) fn add_hessian(&self, points: &[DVec2], curvature: Curvature, system: &mut System) {
        for (face, rest) in self.rests.iter().enumerate() {
            let parts = self.parts(face, points);
            let (z, w) = (unit(parts.z), unit(parts.w));
            let [s1, s2] = parts.singular_values();
            let product = s1 * s2;
            let mut twist = (slope(s1) + slope(s2)) / parts.z.length();
            if curvature == Curvature::Projected {
                twist = twist.max(0.0);
            }
            // (slope(s1) - slope(s2)) / |w| without the cancellation.
            let flip = 4.0 * (1.0 + (s1 * s1 + product + s2 * s2) / (product * product * product));
            let (bend1, bend2) = (bend(s1), bend(s2));
            let (same, mixed) = (bend1 + bend2, bend1 - bend2);
            // Curvature as a real 2x2 matrix on z, on w, and between the two.
            let on_z = outer(z, z) * same + outer(z.perp(), z.perp()) * twist;
            let on_w = outer(w, w) * same + outer(w.perp(), w.perp()) * flip;
            let between = outer(z, w) * mixed;

            // z changes by conj(hat) u / 2 and w by hat u / 2 when the corner moves by u.
            let to_z = rest.hats.map(|h| times(conjugate(h) * 0.5));
            let to_w = rest.hats.map(|h| times(h * 0.5));
            let block = |i: usize, j: usize| {
                let across = to_z[i].transpose() * between * to_w[j]
                    + to_w[i].transpose() * between.transpose() * to_z[j];
                (to_z[i].transpose() * on_z * to_z[j]
                    + to_w[i].transpose() * on_w * to_w[j]
                    + across)
                    * rest.weight
            };
            scatter(system, face, self.triangles[face], block);
        }
    }

    /// Adds the Hessian of the conformal energy, the area-weighted mean of |w|² (B. Lévy et al.,
    /// "Least Squares Conformal Maps", 2002).
    pub(crate) fn add_conformal(&self, system: &mut System) {
        for (face, rest) in self.rests.iter().enumerate() {
            let to_w = rest.hats.map(times);
            scatter(system, face, self.triangles[face], |i, j| {
                to_w[i].transpose() * to_w[j] * (0.5 * rest.weight)
            });
        }
    }
}

/// Adds a triangle's 6x6 matrix, given as its blocks.
pub(crate) fn scatter(
    system: &mut System,
    face: usize,
    t: [u32; 3],
    block: impl Fn(usize, usize) -> DMat2,
) {
    let slots = system.face_slots(face);
    for i in 0..3 {
        let j = (i + 1) % 3;
        system.add_vertex(t[i], block(i, i));
        system.add_edge(slots[i], t[i], t[j], block(i, j));
    }
}

/// (s - 1/s)², exact to the last digits where s is close to 1.
pub(crate) fn stretch_cost(s: f64) -> f64 {
    let d = (s - 1.0) * (s + 1.0) / s;
    d * d
}

/// First derivative of [`stretch_cost`].
pub(crate) fn slope(s: f64) -> f64 {
    2.0 * (s - 1.0) * (s + 1.0) * (s * s + 1.0) / (s * s * s)
}

/// Second derivative of [`stretch_cost`].
pub(crate) fn bend(s: f64) -> f64 {
    2.0 + 6.0 / (s * s * s * s)
}

pub(crate) fn conjugate(c: DVec2) -> DVec2 {
    DVec2::new(c.x, -c.y)
}

/// The direction of `c`; any will do for 0, where the energy does not depend on it.
pub(crate) fn unit(c: DVec2) -> DVec2 {
    c.try_normalize().unwrap_or(DVec2::X)
}

/// Multiplication by `c`, as a matrix.
pub(crate) fn times(c: DVec2) -> DMat2 {
    DMat2::from_cols(c, c.perp())
}

pub(crate) fn outer(a: DVec2, b: DVec2) -> DMat2 {
    DMat2::from_cols(a * b.x, a * b.y)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::surfaces;

    /// A surface and a layout of it that is strained, but not flipped.
    fn strained() -> (TriMesh, Dirichlet, Vec<DVec2>) {
        let mesh = surfaces::saddle(5, 4);
        let points = mesh
            .positions
            .iter()
            .map(|p| {
                DVec2::new(1.3 * p.x + 0.2 * p.y + 0.004 * p.y * p.y, 0.8 * p.y - 0.003 * p.x * p.y)
            })
            .collect();
        let dirichlet = Dirichlet::new(&mesh);
        (mesh, dirichlet, points)
    }

    fn gradient(dirichlet: &Dirichlet, points: &[DVec2]) -> Vec<DVec2> {
        let mut gradient = vec![DVec2::ZERO; points.len()];
        dirichlet.add_gradient(points, &mut gradient);
        gradient
    }

    fn moved(points: &[DVec2], v: usize, k: usize, by: f64) -> Vec<DVec2> {
        let mut points = points.to_vec();
        points[v][k] += by;
        points
    }

    #[test]
    fn gradient_agrees_with_finite_differences() {
        let (_, dirichlet, points) = strained();
        let exact = gradient(&dirichlet, &points);
        let h = 1e-5;
        for (v, exact) in exact.iter().enumerate() {
            for (k, exact) in exact.to_array().into_iter().enumerate() {
                let ahead = dirichlet.energy(&moved(&points, v, k, h));
                let behind = dirichlet.energy(&moved(&points, v, k, -h));
                let slope = (ahead - behind) / (2.0 * h);
                assert!((slope - exact).abs() < 1e-8, "{slope} {exact}");
            }
        }
    }

    #[test]
    fn full_hessian_agrees_with_finite_differences() {
        let (mesh, dirichlet, points) = strained();
        let mut system = System::new(points.len(), &mesh.triangles, &[]).unwrap();
        dirichlet.add_hessian(&points, Curvature::Full, &mut system);
        let exact = system.dense();
        let h = 1e-5;
        let size = exact[0][0].abs();
        for column in 0..exact.len() {
            let (v, k) = (column / 2, column % 2);
            let ahead = gradient(&dirichlet, &moved(&points, v, k, h));
            let behind = gradient(&dirichlet, &moved(&points, v, k, -h));
            for row in 0..exact.len() {
                let bend = (ahead[row / 2] - behind[row / 2])[row % 2] / (2.0 * h);
                assert!((bend - exact[row][column]).abs() < 1e-6 * size, "{row} {column}");
            }
        }
    }

    #[test]
    fn projection_lifts_negative_curvature_and_leaves_the_rest() {
        let (mesh, dirichlet, mut points) = strained();
        let quadratic_form = |points: &[DVec2], curvature, along: &[f64]| {
            let mut system = System::new(points.len(), &mesh.triangles, &[]).unwrap();
            dirichlet.add_hessian(points, curvature, &mut system);
            let rows = system.dense();
            let times = |row: &Vec<f64>| row.iter().zip(along).map(|(m, x)| m * x).sum::<f64>();
            rows.iter().zip(along).map(|(row, x)| times(row) * x).sum::<f64>()
        };
        // Shrunk, turning is twist with negative curvature; stretched, none is negative.
        for (scale, negative) in [(0.5, true), (2.0, false)] {
            for p in &mut points {
                *p *= scale;
            }
            let turn: Vec<f64> = points.iter().flat_map(|p| [-p.y, p.x]).collect();
            let full = quadratic_form(&points, Curvature::Full, &turn);
            let projected = quadratic_form(&points, Curvature::Projected, &turn);
            assert_eq!(full < 0.0, negative);
            assert!(projected >= -1e-9 && projected >= full - 1e-9);
            for p in &mut points {
                *p /= scale;
            }
        }
    }

    #[test]
    fn energy_of_plain_stretch_is_known() {
        let mesh = surfaces::grid(4, 3, |u, v| glam::DVec3::new(3.0 * u, 2.0 * v, 0.0));
        let dirichlet = Dirichlet::new(&mesh);
        let points: Vec<DVec2> =
            mesh.positions.iter().map(|p| DVec2::new(2.0 * p.x, 0.5 * p.y)).collect();
        // (2 - 1/2)² twice.
        assert!((dirichlet.energy(&points) - 4.5).abs() < 1e-12);
        assert!((dirichlet.best_scale(&points) - 1.0).abs() < 1e-12);
        let doubled: Vec<DVec2> = points.iter().map(|p| *p * 2.0).collect();
        assert!((dirichlet.best_scale(&doubled) - 0.5).abs() < 1e-12);
        let mirrored: Vec<DVec2> = points.iter().map(|p| DVec2::new(-p.x, p.y)).collect();
        assert_eq!(dirichlet.energy(&mirrored), f64::INFINITY);
    }

    #[test]
    fn tiny_strains_are_not_lost() {
        let strain = 1e-9;
        let expected = 4.0 * strain * strain;
        assert!((stretch_cost(1.0 + strain) - expected).abs() < 1e-6 * expected);
    }
}
