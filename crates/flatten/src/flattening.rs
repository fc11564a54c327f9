//! What a flattening is asked, what comes of it, and why it may not.

use glam::DVec2;

use crate::disk::DiskError;
use crate::held::{HeldLength, HeldLine};
use crate::material::{Material, MaterialError};
use crate::sheet::Law;
use crate::strain::Strain;

/// What the flattening is asked to keep, and how long it may try.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// Lines on the surface whose length is held.
    pub held: Vec<HeldLine>,
    /// The most Newton steps taken. The result says whether they sufficed.
    pub max_iterations: usize,
    /// What the sheet is made of; `None` for one that stretches and shrinks alike, without
    /// limit. A piece whose sides must be kept apart ([`Flattening::kept_apart`]) is laid flat
    /// as if it were `None` and `worst_strain` false; its strain is judged by the material all
    /// the same.
    pub material: Option<Material>,
    /// Direction of the material's grain in the flat piece as it comes out, degrees
    /// counter-clockwise from x. The piece lies as it would without a material, where the line
    /// between two far points of its edge runs along x, and on the whole does not turn against
    /// that: the grain is fixed in the piece, the piece is not turned to suit the grain.
    pub grain: f64,
    /// Whether to push the worst strain down, at the price of a higher mean: a triangle whose
    /// cost is c then counts as (exp(k c) - 1) / k, with k raised in stages to seven over the
    /// cost that 99 % of the area does not exceed before.
    pub worst_strain: bool,
}

impl Options {
    pub(crate) fn law(&self) -> Law {
        let material = self.material.as_ref();
        material.map_or(Law::PLAIN, |m| Law::new(m, self.grain.to_radians()))
    }

    /// Whether the plain optimum is not the end of it.
    pub(crate) fn goes_on(&self) -> bool {
        self.worst_strain || self.law() != Law::PLAIN
    }
}

impl Default for Options {
    /// Nothing held, no material; 500 steps, where 5 to 20 are usual.
    fn default() -> Self {
        Self {
            held: Vec::new(),
            max_iterations: 500,
            material: None,
            grain: 0.0,
            worst_strain: false,
        }
    }
}

/// A surface laid flat.
#[derive(Debug, Clone, PartialEq)]
pub struct Flattening {
    /// Where each vertex of the mesh lies in the plane, mm. The pose is arbitrary, but the same
    /// for the same mesh; triangles run counter-clockwise as they do seen from outside.
    pub points: Vec<DVec2>,
    /// Area-weighted mean of (s - 1/s)² over both singular values of each triangle's map: the
    /// symmetric Dirichlet energy less its least value 4, whatever the material. Held lines are
    /// not in it.
    pub energy: f64,
    /// Newton steps taken, of all stages together.
    pub iterations: usize,
    /// Whether the least energy was reached before the steps ran out.
    pub converged: bool,
    /// How much each triangle is stretched and shrunk.
    pub strain: Strain,
    /// Percent of the area that the material must stretch or be compressed beyond its limits;
    /// `None` without a material.
    pub area_over_limit: Option<f64>,
    /// What became of each held line, in the order of [`Options::held`].
    pub held: Vec<HeldLength>,
    /// Triangles that lie face down or have no area in the plane; 0 by construction, counted
    /// with exact arithmetic on the points as they are.
    pub flipped: usize,
    /// Whether sides of the boundary were held apart, because in the layout of least energy they
    /// overlap: cut in two pieces, the surface would be strained less.
    pub kept_apart: bool,
    /// Pairs of boundary sides that cross or touch. Where nothing is flipped, 0 means that no
    /// two places of the surface lie on one another.
    pub overlaps: usize,
}

/// Why a surface could not be laid flat.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FlattenError {
    /// The surface is no disk.
    #[error(transparent)]
    NotADisk(#[from] DiskError),
    /// A held line steps between vertices that no triangle side joins.
    #[error("held line {line} steps from vertex {from} to {to}, which is no edge of the surface")]
    HeldOffEdges {
        /// Place in `Options::held`.
        line: usize,
        /// The vertex it leaves.
        from: u32,
        /// The vertex it goes to.
        to: u32,
    },
    /// A held line pulls with no finite, positive force.
    #[error("held line {line} has the stiffness {stiffness}; it must be finite and above 0")]
    HeldStiffness {
        /// Place in `Options::held`.
        line: usize,
        /// What was given.
        stiffness: f64,
    },
    /// A number of the material is not possible.
    #[error(transparent)]
    Material(#[from] MaterialError),
    /// The direction of the grain is no angle.
    #[error("the grain runs at {degrees} degrees; it must be a finite number")]
    Grain {
        /// What was given.
        degrees: f64,
    },
    /// No layout without a flipped triangle was found to start from.
    #[error(
        "no start without flipped triangles was found: {flipped} triangles are too thin or too \
         deeply nested for the arithmetic, the first is triangle {first}; remesh the surface there"
    )]
    NoStart {
        /// How many triangles are flipped in the best start.
        flipped: usize,
        /// The first of them.
        first: u32,
    },
    /// The equations could not be solved, which only extreme triangles bring about.
    #[error("the equations of step {iteration} could not be solved ({cause}); remesh the surface")]
    Unsolvable {
        /// The Newton step.
        iteration: usize,
        /// What the solver said.
        cause: String,
    },
}
