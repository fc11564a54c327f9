//! How far points reach in the directions of a plane.

use glam::{DVec2, DVec3};

use super::Plane;

/// Directions in which reach is measured: every five degrees.
pub(super) const DIRECTIONS: usize = 72;

/// The farthest reach of points in each direction of a plane, from its origin.
#[derive(Debug, Clone)]
pub(super) struct Reach {
    axes: [DVec3; 2],
    origin: DVec3,
    directions: [DVec2; DIRECTIONS],
    pub(super) farthest: [f64; DIRECTIONS],
}

impl Reach {
    /// No points yet.
    pub(super) fn new(plane: Plane) -> Self {
        let first = plane.normal.any_orthogonal_vector().normalize_or_zero();
        let axes = [first, plane.normal.cross(first)];
        let angle = |k: usize| k as f64 * std::f64::consts::TAU / DIRECTIONS as f64;
        Self {
            axes,
            origin: plane.origin,
            directions: std::array::from_fn(|k| DVec2::from_angle(angle(k))),
            farthest: [f64::NEG_INFINITY; DIRECTIONS],
        }
    }

    pub(super) fn of(plane: Plane, points: impl Iterator<Item = DVec3>) -> Self {
        let mut reach = Self::new(plane);
        for p in points {
            reach.add(p);
        }
        reach
    }

    pub(super) fn is_empty(&self) -> bool {
        self.farthest[0] == f64::NEG_INFINITY
    }

    pub(super) fn add(&mut self, point: DVec3) {
        let p = self.flat(point);
        for (farthest, direction) in self.farthest.iter_mut().zip(self.directions) {
            *farthest = farthest.max(p.dot(direction));
        }
    }

    /// How far `point` lies outside; negative inside.
    pub(super) fn outside(&self, point: DVec3) -> f64 {
        let p = self.flat(point);
        let beyond = self.farthest.iter().zip(self.directions).map(|(far, d)| p.dot(d) - far);
        beyond.fold(f64::NEG_INFINITY, f64::max)
    }

    /// The area of the hull, from its reach h: the integral of (h² - h'²)/2 (Minkowski).
    pub(super) fn area(&self) -> f64 {
        let n = DIRECTIONS;
        let step = std::f64::consts::TAU / n as f64;
        (0..n)
            .map(|k| {
                let [before, here, after] = [n - 1, 0, 1].map(|d| self.farthest[(k + d) % n]);
                (here * here - (after - here) * (here - before) / (step * step)) * step / 2.0
            })
            .sum()
    }

    /// The point in the plane half-way between the farthest on either side.
    pub(super) fn middle(&self) -> DVec3 {
        let [first, second] = [0, DIRECTIONS / 4]
            .map(|k| (self.farthest[k] - self.farthest[k + DIRECTIONS / 2]) / 2.0);
        self.origin + self.axes[0] * first + self.axes[1] * second
    }

    /// The share of directions in which this reaches beyond `other` by `margin` or more.
    pub(super) fn share_beyond(&self, other: &Self, margin: f64) -> f64 {
        let beyond =
            self.farthest.iter().zip(&other.farthest).filter(|(own, its)| *own - *its >= margin);
        beyond.count() as f64 / DIRECTIONS as f64
    }

    fn flat(&self, point: DVec3) -> DVec2 {
        let p = point - self.origin;
        DVec2::new(p.dot(self.axes[0]), p.dot(self.axes[1]))
    }
}
