//! Lines whose length is held while the rest of the surface gives way.

use geometry::mesh::TriMesh;
use glam::{DMat2, DVec2, DVec3};

use crate::bending::{self, Bend};
use crate::dirichlet::Curvature;
use crate::flattening::FlattenError;
use crate::numbering::Numbering;
use crate::system::{Slot, System};

/// A chain of mesh edges whose length is held.
#[derive(Debug, Clone, PartialEq)]
pub struct HeldLine {
    /// The vertices it passes, each joined to the next by a mesh edge. The first again at the
    /// end closes it.
    pub vertices: Vec<u32>,
    /// Which way it is held.
    pub hold: Hold,
    /// The length it is held to, as a share of its length on the surface: 1 as it is, a little
    /// less to be sure that a line that may not grow has not grown by a hair.
    pub share: f64,
    /// How hard, in mm: an edge of rest length L and length l costs
    /// stiffness x L x (l/L - 1)², where each mm² of the surface costs (s - 1/s)². So a line
    /// of stiffness k resists about as a strip of the surface k/4 mm wide would. To hold a
    /// heel-sized line within 0.1 mm in 200 mm, 3e4 is enough.
    pub stiffness: f64,
    /// How hard it resists bending in the plane, in mm³: 0 lets it follow the surface. An
    /// inner line that is straight on the surface and gets pressed together needs it, or it
    /// gives way in zigzag; 200 keeps the centre line of a heel straight.
    pub bending: f64,
}

impl HeldLine {
    /// The same line on the mesh under its new numbers.
    pub(crate) fn renumbered(&self, numbering: &Numbering) -> Self {
        let vertices = self.vertices.iter().map(|v| numbering.new_vertex(*v)).collect();
        Self { vertices, ..self.clone() }
    }
}

/// Which changes of length are resisted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hold {
    /// Neither longer nor shorter.
    Keep,
    /// It may shrink, but not grow.
    NotLonger,
}

/// What became of a held line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeldLength {
    /// Its length on the surface, mm.
    pub on_surface: f64,
    /// Its length in the plane, mm.
    pub flat: f64,
    /// How much of its length went into zigzag from vertex to vertex that it does not have on
    /// the surface, percent. Above about 1 the line was pressed together and gave way sideways
    /// instead of holding: more is asked than the surface can do, such as keeping an inner
    /// line and an edge at once on a bulge. Tension, as along edges that want to grow, never
    /// brings this about.
    pub zigzag: f64,
}

impl HeldLength {
    pub(crate) fn new(mesh: &TriMesh, line: &HeldLine, points: &[DVec2]) -> Self {
        let solid: Vec<DVec3> = line.vertices.iter().map(|&v| mesh.positions[v as usize]).collect();
        let plane: Vec<DVec3> =
            line.vertices.iter().map(|&v| points[v as usize].extend(0.0)).collect();
        let (on_surface, flat) = (length(&solid), length(&plane));
        let zigzag = 100.0 * (corner_cut(&plane) / flat - corner_cut(&solid) / on_surface);
        Self { on_surface, flat, zigzag: if zigzag.is_finite() { zigzag.max(0.0) } else { 0.0 } }
    }
}

fn length(chain: &[DVec3]) -> f64 {
    chain.windows(2).map(|e| e[0].distance(e[1])).sum()
}

/// How much shorter the chain becomes when its corners are cut from mid-side to mid-side.
fn corner_cut(chain: &[DVec3]) -> f64 {
    chain
        .windows(3)
        .map(|c| (c[0].distance(c[1]) + c[1].distance(c[2]) - c[0].distance(c[2])) / 2.0)
        .sum()
}

#[derive(Debug, Clone, Copy)]
struct HeldEdge {
    ends: [u32; 2],
    slot: Slot,
    rest: f64,
    hold: Hold,
    /// Stiffness over the area of the surface, 1/mm.
    stiffness: f64,
    /// The strain about which its cost is taken for a parabola.
    near: Option<f64>,
}

/// From one round of the descent to the next, held lines become stiffer by no more than this.
const STIFFEN: f64 = 30.0;

/// A line that may not grow begins to resist this much before its length, as a strain, ever more
/// until as much after it: with a kink at its length itself, Newton's method goes to and fro
/// between edges that resist and edges that do not.
const GRADUAL: f64 = 5e-4;

/// The second derivative of a fully resisted strain's square.
const STIFFEST: f64 = 2.0;

/// The edges and bends of all held lines, and their energy on the scale of the surface's.
#[derive(Clone)]
pub(crate) struct HeldEdges {
    edges: Vec<HeldEdge>,
    bends: Vec<Bend>,
}

impl HeldEdges {
    pub(crate) fn new(
        mesh: &TriMesh,
        lines: &[HeldLine],
        system: &System,
        total_area: f64,
    ) -> Result<Self, FlattenError> {
        let mut edges = Vec::new();
        let mut bends = Vec::new();
        for (line, held) in lines.iter().enumerate() {
            let stiffness = held.stiffness;
            let positive = |x: f64| x.is_finite() && x > 0.0;
            if !(positive(stiffness) && positive(held.share) && held.bending >= 0.0) {
                return Err(FlattenError::HeldStiffness { line, stiffness });
            }
            bends.extend(bending::bends(mesh, held, system, total_area));
            for pair in held.vertices.windows(2) {
                let ends = [pair[0], pair[1]];
                let slot = system.slot(ends[0], ends[1]).ok_or(FlattenError::HeldOffEdges {
                    line,
                    from: ends[0],
                    to: ends[1],
                })?;
                let [a, b] = ends.map(|v| mesh.positions[v as usize]);
                let rest = a.distance(b) * held.share;
                edges.push(HeldEdge {
                    ends,
                    slot,
                    rest,
                    hold: held.hold,
                    stiffness: stiffness / total_area,
                    near: None,
                });
            }
        }
        Ok(Self { edges, bends })
    }

    /// These edges first as soft as the surface, then stiffer from round to round, at last as
    /// they are. Stiff lines let the layout turn only along narrow, bent valleys; soft ones
    /// bring it near its place before that.
    pub(crate) fn rounds(&self, total_area: f64) -> Vec<Self> {
        let stiffest = self.edges.iter().map(|e| e.stiffness).fold(0.0, f64::max);
        // A strip as wide as the surface, over its area.
        let soft = total_area.sqrt() / total_area;
        let mut factors = vec![1.0];
        while stiffest * factors[factors.len() - 1] > soft {
            factors.push(factors[factors.len() - 1] / STIFFEN);
        }
        let softer = |f: f64| {
            let edges = self.edges.iter().map(|e| HeldEdge { stiffness: e.stiffness * f, ..*e });
            let bends = self.bends.iter().map(|b| b.softer(f));
            Self { edges: edges.collect(), bends: bends.collect() }
        };
        factors.into_iter().rev().map(softer).collect()
    }

    /// The strain of each edge in a layout.
    pub(crate) fn strains(&self, points: &[DVec2]) -> Vec<f64> {
        self.edges.iter().map(|e| e.strain(e.span(points).length())).collect()
    }

    /// The same lines, their cost a parabola about the strains of another layout: without the bend
    /// between an edge that resists and one that does not.
    pub(crate) fn near(&self, strains: &[f64]) -> Self {
        let edges = self.edges.iter().zip(strains);
        let edges = edges.map(|(e, strain)| HeldEdge { near: Some(*strain), ..*e });
        Self { edges: edges.collect(), bends: self.bends.clone() }
    }

    /// How far a layout, found with the cost a parabola about the strains of another, may be from
    /// the one that the true cost asks for: by how much these edges might still give way, mm.
    pub(crate) fn owed(&self, before: &[f64], points: &[DVec2]) -> f64 {
        let owed = self.edges.iter().zip(before).map(|(e, before)| {
            let strain = e.strain(e.span(points).length());
            let taken = Cost::of(*before, e.hold).carried_by(strain - before).slope;
            e.rest * (Cost::of(strain, e.hold).slope - taken).abs() / STIFFEST
        });
        owed.sum()
    }

    pub(crate) fn energy(&self, points: &[DVec2]) -> f64 {
        let stretching =
            self.edges.iter().map(|e| e.stiffness * e.rest * e.cost(e.span(points).length()).value);
        stretching.sum::<f64>() + self.bends.iter().map(|b| b.energy(points)).sum::<f64>()
    }

    pub(crate) fn add_gradient(&self, points: &[DVec2], gradient: &mut [DVec2]) {
        for e in &self.edges {
            let span = e.span(points);
            let length = span.length();
            let pull = span * (e.stiffness * e.cost(length).slope / length);
            gradient[e.ends[0] as usize] -= pull;
            gradient[e.ends[1] as usize] += pull;
        }
        self.bends.iter().for_each(|b| b.add_gradient(points, gradient));
    }

    pub(crate) fn add_hessian(&self, points: &[DVec2], curvature: Curvature, system: &mut System) {
        for e in &self.edges {
            let span = e.span(points);
            let length = span.length();
            let cost = e.cost(length);
            if cost.slope == 0.0 && cost.bend == 0.0 {
                continue;
            }
            let along = span / length;
            let across = along.perp();
            let mut turn = e.stiffness * cost.slope / length;
            if curvature == Curvature::Projected {
                turn = turn.max(0.0);
            }
            let stretch = e.stiffness * cost.bend / e.rest;
            let block = DMat2::from_cols(along * along.x, along * along.y) * stretch
                + DMat2::from_cols(across * across.x, across * across.y) * turn;
            let [a, b] = e.ends;
            system.add_vertex(a, block);
            system.add_vertex(b, block);
            system.add_edge(e.slot, a, b, -block);
        }
        self.bends.iter().for_each(|b| b.add_hessian(system));
    }
}

impl HeldEdge {
    fn span(&self, points: &[DVec2]) -> DVec2 {
        points[self.ends[1] as usize] - points[self.ends[0] as usize]
    }

    fn strain(&self, length: f64) -> f64 {
        (length - self.rest) / self.rest
    }

    /// What the strain costs.
    fn cost(&self, length: f64) -> Cost {
        let strain = self.strain(length);
        match self.near {
            None => Cost::of(strain, self.hold),
            Some(near) => Cost::of(near, self.hold).carried_by(strain - near),
        }
    }
}

/// The square of a strain as far as it is resisted, with its derivatives by the strain.
struct Cost {
    value: f64,
    slope: f64,
    bend: f64,
}

impl Cost {
    fn of(strain: f64, hold: Hold) -> Self {
        if hold == Hold::Keep || strain >= GRADUAL {
            return Self { value: strain * strain, slope: 2.0 * strain, bend: 2.0 };
        }
        let begun = (strain + GRADUAL).max(0.0);
        let resisted = begun * begun / (4.0 * GRADUAL);
        let slope = begun / (2.0 * GRADUAL);
        Self {
            value: resisted * resisted,
            slope: 2.0 * resisted * slope,
            bend: 3.0 * slope * slope,
        }
    }

    /// The cost at a strain that is higher by `strain`, were it a parabola.
    fn carried_by(self, strain: f64) -> Self {
        Self {
            value: self.value + strain * (self.slope + strain * self.bend / 2.0),
            slope: self.slope + strain * self.bend,
            bend: self.bend,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::surfaces;

    #[test]
    fn derivatives_agree_with_finite_differences() {
        let mesh = surfaces::saddle(5, 4);
        let points: Vec<DVec2> =
            mesh.positions.iter().map(|p| DVec2::new(1.1 * p.x + 0.1 * p.y, 0.9 * p.y)).collect();
        let line = |vertices: Vec<u32>, hold| HeldLine {
            vertices,
            hold,
            share: 0.98,
            stiffness: 70.0,
            bending: 0.0,
        };
        let lines = [
            HeldLine { bending: 30.0, ..line(surfaces::row(5, 1), Hold::Keep) },
            line(surfaces::row(5, 2), Hold::NotLonger),
            line(vec![0, 5, 10, 15], Hold::Keep),
            line(vec![1, 6, 11, 16], Hold::NotLonger),
        ];
        let mut system =
            System::new(points.len(), &mesh.triangles, &bending::pairs(&lines)).unwrap();
        let held = HeldEdges::new(&mesh, &lines, &system, 100.0).unwrap();
        held.add_hessian(&points, Curvature::Full, &mut system);
        let bends = system.dense();
        let gradient_at = |points: &[DVec2]| {
            let mut gradient = vec![DVec2::ZERO; points.len()];
            held.add_gradient(points, &mut gradient);
            gradient
        };
        let gradient = gradient_at(&points);
        assert!(gradient.iter().any(|g| g.length() > 1e-3));
        let h = 1e-5;
        for v in 0..points.len() {
            for k in 0..2 {
                let at = |by: f64| {
                    let mut moved = points.clone();
                    moved[v][k] += by;
                    moved
                };
                let slope = (held.energy(&at(h)) - held.energy(&at(-h))) / (2.0 * h);
                assert!((slope - gradient[v][k]).abs() < 1e-8);
                let (ahead, behind) = (gradient_at(&at(h)), gradient_at(&at(-h)));
                for row in 0..bends.len() {
                    let bend = (ahead[row / 2] - behind[row / 2])[row % 2] / (2.0 * h);
                    assert!((bend - bends[row][2 * v + k]).abs() < 1e-7);
                }
            }
        }
    }

    #[test]
    fn zigzag_is_the_length_lost_when_corners_are_cut() {
        let mesh = surfaces::grid(5, 2, |u, v| DVec3::new(4.0 * u, v, 0.0));
        let line = HeldLine {
            vertices: surfaces::row(5, 0),
            hold: Hold::Keep,
            share: 1.0,
            stiffness: 1.0,
            bending: 0.0,
        };
        let straight: Vec<DVec2> = mesh.positions.iter().map(|p| p.truncate()).collect();
        assert_eq!(HeldLength::new(&mesh, &line, &straight).zigzag, 0.0);
        let mut bent = straight;
        bent[1].y = 1.0;
        bent[3].y = 1.0;
        // Four sides of √2; three corners cut from √2 to 1.
        let expected = 100.0 * 3.0 * (2f64.sqrt() - 1.0) / (4.0 * 2f64.sqrt());
        assert!((HeldLength::new(&mesh, &line, &bent).zigzag - expected).abs() < 1e-9);
    }
}
