//! The energy of a sheet that is no plain one: with limits, with a grain, or with its worst
//! places weighing more.

mod grain;
#[cfg(test)]
mod laws;
mod local;
mod principal;
mod turn;

use glam::{DMat2, DVec2};

use crate::dirichlet::{Curvature, Dirichlet, Parts, conjugate, scatter, times};
use crate::energy::Energy;
use crate::material::Material;
use crate::strain;
use crate::system::System;
use grain::Fibres;
use local::{Local, blocks, nowhere_negative, outer, split, stacked};
use principal::Principal;
pub(crate) use turn::MeanTurn;

/// What a triangle of a sheet costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Law {
    principal: Principal,
    fibres: Option<Fibres>,
    /// Direction of the grain in the piece, radians counter-clockwise from x.
    grain: f64,
    /// Where this is k above 0, a cost c counts as (exp(k c) - 1) / k.
    pub(crate) emphasis: f64,
}

impl Law {
    /// The symmetric Dirichlet energy.
    pub(crate) const PLAIN: Self =
        Self { principal: Principal::PLAIN, fibres: None, grain: 0.0, emphasis: 0.0 };

    /// That of a material whose grain runs `grain` radians counter-clockwise from x.
    pub(crate) fn new(material: &Material, grain: f64) -> Self {
        // The softer of the two directions is as stiff as the sheet itself.
        let extra = |times: f64| (times - 1.0).max(0.0);
        let fibres = Fibres { along: extra(material.along), across: extra(1.0 / material.along) };
        let fibres = (material.along != 1.0).then_some(fibres);
        let grain = if fibres.is_some() { grain } else { 0.0 };
        Self { principal: Principal::within(material.factors()), fibres, grain, emphasis: 0.0 }
    }

    /// Whether it matters how the piece lies in the plane.
    pub(crate) fn has_grain(&self) -> bool {
        self.fibres.is_some()
    }

    fn cost(&self, parts: Parts) -> f64 {
        let cost = self.bare_cost(parts);
        if self.emphasis > 0.0 { (self.emphasis * cost).exp_m1() / self.emphasis } else { cost }
    }

    fn bare_cost(&self, parts: Parts) -> f64 {
        self.principal.cost(parts) + self.fibres.map_or(0.0, |f| f.cost(parts))
    }

    /// `parts` in the frame whose x is the grain.
    fn local(&self, parts: Parts, curvature: Curvature) -> Local {
        let mut local = match self.fibres {
            None => self.principal.local(parts, curvature),
            Some(fibres) => self.principal.local(parts, Curvature::Full) + fibres.local(parts),
        };
        if self.fibres.is_some() && curvature == Curvature::Projected {
            local.bend = nowhere_negative(local.bend);
        }
        if self.emphasis > 0.0 {
            // What emphasis adds to the curvature is never negative.
            let grown = (self.emphasis * self.bare_cost(parts)).exp();
            let added = outer(local.slope, local.slope) * self.emphasis;
            local = Local { slope: local.slope * grown, bend: (local.bend + added) * grown };
        }
        local
    }
}

/// The area-weighted mean of what the triangles of a surface cost.
pub(crate) struct Sheet<'a> {
    pub(crate) geometry: &'a Dirichlet,
    pub(crate) law: Law,
    /// How far the piece has turned on the whole; the grain turns with it.
    pub(crate) turn: Option<MeanTurn>,
}

impl Sheet<'_> {
    /// The direction of the grain in a layout, as a unit vector.
    fn grain(&self, points: &[DVec2]) -> DVec2 {
        let turned = self.turn.as_ref().map_or(0.0, |t| t.angle(self.geometry, points));
        DVec2::from_angle(self.law.grain + turned)
    }

    /// What 99 % of the area does not exceed, of the cost without emphasis.
    pub(crate) fn cost_of_worst(&self, points: &[DVec2]) -> f64 {
        let grain = self.grain(points);
        let rests = self.geometry.rests().iter().enumerate();
        let cost = |face| self.law.bare_cost(self.parts(face, points, grain));
        let mut costs: Vec<(f64, f64)> = rests.map(|(f, rest)| (cost(f), rest.weight)).collect();
        strain::upper_percentile(&mut costs, 0.99)
    }

    /// The parts of a triangle's map in the frame whose x is the grain.
    fn parts(&self, face: usize, points: &[DVec2], grain: DVec2) -> Parts {
        let parts = self.geometry.parts(face, points);
        if !self.law.has_grain() {
            return parts;
        }
        let back = conjugate(grain);
        Parts { z: back.rotate(parts.z), w: back.rotate(parts.w) }
    }
}

impl Energy for Sheet<'_> {
    fn geometry(&self) -> &Dirichlet {
        self.geometry
    }

    fn energy(&self, points: &[DVec2]) -> f64 {
        let grain = self.grain(points);
        let mut sum = 0.0;
        for (face, rest) in self.geometry.rests().iter().enumerate() {
            let parts = self.parts(face, points, grain);
            let [_, s2] = parts.singular_values();
            if s2.is_nan() || s2 <= 0.0 {
                return f64::INFINITY;
            }
            sum += rest.weight * self.law.cost(parts);
        }
        sum
    }

    fn add_gradient(&self, points: &[DVec2], gradient: &mut [DVec2]) {
        let grain = self.grain(points);
        // Slope of the energy when the grain turns and the piece does not.
        let mut torque = 0.0;
        for (face, rest) in self.geometry.rests().iter().enumerate() {
            let parts = self.parts(face, points, grain);
            let slope = self.law.local(parts, Curvature::Full).slope;
            torque -= rest.weight * slope.dot(stacked(parts.z.perp(), parts.w.perp()));
            let Parts { mut z, mut w } = split(slope * (0.5 * rest.weight));
            if self.law.has_grain() {
                (z, w) = (grain.rotate(z), grain.rotate(w));
            }
            for (v, hat) in self.geometry.triangles()[face].into_iter().zip(rest.hats) {
                gradient[v as usize] += z.rotate(hat) + w.rotate(conjugate(hat));
            }
        }
        if let Some(turn) = &self.turn {
            turn.add_gradient(self.geometry, points, torque, gradient);
        }
    }

    /// As if the grain did not turn with the piece: what that adds joins every vertex with
    /// every other, and is some thousandth of the rest.
    fn add_hessian(&self, points: &[DVec2], curvature: Curvature, system: &mut System) {
        let grain = self.grain(points);
        let to_grain = if self.law.has_grain() { times(conjugate(grain)) } else { DMat2::IDENTITY };
        for (face, rest) in self.geometry.rests().iter().enumerate() {
            let parts = self.parts(face, points, grain);
            let [on_z, on_w, between] = blocks(&self.law.local(parts, curvature).bend);
            let to_z = rest.hats.map(|h| to_grain * times(conjugate(h) * 0.5));
            let to_w = rest.hats.map(|h| to_grain * times(h * 0.5));
            let block = |i: usize, j: usize| {
                let across = to_z[i].transpose() * between * to_w[j]
                    + to_w[i].transpose() * between.transpose() * to_z[j];
                (to_z[i].transpose() * on_z * to_z[j]
                    + to_w[i].transpose() * on_w * to_w[j]
                    + across)
                    * rest.weight
            };
            scatter(system, face, self.geometry.triangles()[face], block);
        }
    }
}
