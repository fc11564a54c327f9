//! What the descent needs to know of an energy of the whole surface.

use glam::DVec2;

use crate::dirichlet::{Curvature, Dirichlet};
use crate::system::System;

/// An energy of a layout: infinite where a triangle is flipped or collapsed, smooth elsewhere.
pub(crate) trait Energy {
    /// The surface and its strain.
    fn geometry(&self) -> &Dirichlet;

    /// The energy, infinite if a triangle is flipped or collapsed.
    fn energy(&self, points: &[DVec2]) -> f64;

    /// Adds the gradient at each vertex to `gradient`.
    fn add_gradient(&self, points: &[DVec2], gradient: &mut [DVec2]);

    /// Adds the Hessian to `system`.
    fn add_hessian(&self, points: &[DVec2], curvature: Curvature, system: &mut System);
}

impl Energy for Dirichlet {
    fn geometry(&self) -> &Dirichlet {
        self
    }

    fn energy(&self, points: &[DVec2]) -> f64 {
        self.energy(points)
    }

    fn add_gradient(&self, points: &[DVec2], gradient: &mut [DVec2]) {
        self.add_gradient(points, gradient);
    }

    fn add_hessian(&self, points: &[DVec2], curvature: Curvature, system: &mut System) {
        self.add_hessian(points, curvature, system);
    }
}
