//! The one entry: a surface in, its layout in the plane and what it costs out.

use geometry::mesh::TriMesh;
use glam::DVec2;

use crate::bending;
use crate::dirichlet::Dirichlet;
use crate::disk::{self, DiskError};
use crate::held::{HeldEdges, HeldLength, HeldLine};
use crate::newton;
use crate::overlap;
use crate::start;
use crate::strain::Strain;
use crate::system::System;

/// What the flattening is asked to keep, and how long it may try.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// Lines on the surface whose length is held.
    pub held: Vec<HeldLine>,
    /// The most Newton steps taken. The result says whether they sufficed.
    pub max_iterations: usize,
}

impl Default for Options {
    /// Nothing held; 500 steps, where 5 to 20 are usual.
    fn default() -> Self {
        Self { held: Vec::new(), max_iterations: 500 }
    }
}

/// A surface laid flat.
#[derive(Debug, Clone, PartialEq)]
pub struct Flattening {
    /// Where each vertex of the mesh lies in the plane, mm. The pose is arbitrary, but the same
    /// for the same mesh; triangles run counter-clockwise as they do seen from outside.
    pub points: Vec<DVec2>,
    /// Area-weighted mean of (s - 1/s)² over both singular values of each triangle's map: the
    /// symmetric Dirichlet energy less its least value 4. Held lines are not in it.
    pub energy: f64,
    /// Newton steps taken.
    pub iterations: usize,
    /// Whether the least energy was reached before the steps ran out.
    pub converged: bool,
    /// How much each triangle is stretched and shrunk.
    pub strain: Strain,
    /// What became of each held line, in the order of [`Options::held`].
    pub held: Vec<HeldLength>,
    /// Triangles that lie face down or have no area in the plane; 0 by construction, counted
    /// with exact arithmetic on the points as they are.
    pub flipped: usize,
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

/// Lays `mesh` flat with the least symmetric Dirichlet energy, plus that of the held lines.
///
/// The energy is that of Smith and Schaefer, "Bijective Parameterization with Free Boundaries",
/// 2015; the descent follows Smith, de Goes and Kim, "Analytic Eigensystems for Isotropic
/// Distortion Energies", 2019. No triangle is flipped on the way. The minimum is a local one;
/// overlaps are counted, not prevented.
///
/// # Errors
/// When the surface is not a disk, when a held line does not run along its edges, or when
/// its triangles are so extreme that the arithmetic fails.
pub fn flatten(mesh: &TriMesh, options: &Options) -> Result<Flattening, FlattenError> {
    let boundary = disk::boundary_of_disk(mesh)?;
    let dirichlet = Dirichlet::new(mesh);
    let mut system =
        System::new(mesh.positions.len(), &mesh.triangles, &bending::pairs(&options.held))
            .map_err(|cause| FlattenError::Unsolvable { iteration: 0, cause })?;
    let held = HeldEdges::new(mesh, &options.held, &system, dirichlet.total_area())?;
    let start = start::layout(mesh, &boundary, &dirichlet, &mut system)?;
    let descent = newton::descend(start, &dirichlet, &held, &mut system, options.max_iterations)?;

    let points = descent.points;
    Ok(Flattening {
        energy: dirichlet.energy(&points),
        iterations: descent.iterations,
        converged: descent.converged,
        strain: Strain::new(&dirichlet, &points),
        held: options.held.iter().map(|line| HeldLength::new(mesh, line, &points)).collect(),
        flipped: overlap::flipped(&points, &mesh.triangles),
        overlaps: overlap::boundary_crossings(&points, &boundary),
        points,
    })
}
