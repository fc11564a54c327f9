//! The one entry: a surface in, its layout in the plane and what it costs out.

use geometry::mesh::TriMesh;
use glam::{DVec2, DVec3};

use crate::apart::descend_apart;
use crate::bending;
use crate::dirichlet::Dirichlet;
use crate::disk;
use crate::flattening::{FlattenError, Flattening, Options};
use crate::held::{HeldEdges, HeldLength, HeldLine};
use crate::material::Material;
use crate::newton::{self, Begin, Descent};
use crate::numbering::Numbering;
use crate::objective::Objective;
use crate::overlap::{self, boundary_crossings};
use crate::patch::Patches;
use crate::stages::Stages;
use crate::start::{Start, Starts};
use crate::strain::Strain;
use crate::system::System;

/// Keeping the sides of a piece apart may cost this part of its energy, and as much as half a
/// percent of strain everywhere, (s - 1/s)² being about 4 e² for a strain e, twice. What would
/// cost more is better cut in two.
const APART_COST: (f64, f64) = (0.05, 8.0 * 0.005 * 0.005);

/// Held lines of a layout that is only looked at may be this far from giving way as they should,
/// mm, all together.
const UNSEEN_LENGTH: f64 = 0.02;

/// Lays `mesh` flat with the least symmetric Dirichlet energy, plus that of the held lines; with
/// a material or for the worst strain, goes on from there to the least energy of these.
///
/// The energy is that of Smith and Schaefer, "Bijective Parameterization with Free Boundaries",
/// 2015; the descent follows Smith, de Goes and Kim, "Analytic Eigensystems for Isotropic
/// Distortion Energies", 2019. No triangle is flipped on the way. The minimum is a local one;
/// overlaps are counted, not prevented.
///
/// # Errors
/// When the surface is not a disk, when a held line does not run along its edges, when a number
/// of the material cannot be, or when the triangles are so extreme that the arithmetic fails.
pub fn flatten(mesh: &TriMesh, options: &Options) -> Result<Flattening, FlattenError> {
    Flattener::new(mesh, options)?.flatten()
}

/// A surface prepared for being laid flat more than once, while its vertices move.
///
/// What depends on the triangles alone (that it is a disk, the order of elimination, the pattern
/// of the equations) is found once.
pub struct Flattener {
    options: Options,
    /// Held lines under the new numbers.
    lines: Vec<HeldLine>,
    /// As given.
    mesh: TriMesh,
    boundary: Vec<u32>,
    numbering: Numbering,
    system: System,
    /// The last layout, under the new numbers.
    last: Option<Start>,
    /// How the held lines were strained in it.
    strains: Vec<f64>,
}

impl Flattener {
    /// Prepares `mesh`.
    ///
    /// # Errors
    /// When the surface is no disk, a held line does not run along its edges, or a number of the
    /// material cannot be.
    pub fn new(mesh: &TriMesh, options: &Options) -> Result<Self, FlattenError> {
        let boundary = disk::boundary_of_disk(mesh)?;
        options.material.as_ref().map_or(Ok(()), Material::check)?;
        if !options.grain.is_finite() {
            return Err(FlattenError::Grain { degrees: options.grain });
        }
        let numbering = Numbering::new(mesh, &bending::pairs(&options.held))
            .map_err(|cause| FlattenError::Unsolvable { iteration: 0, cause })?;
        let lines: Vec<HeldLine> =
            options.held.iter().map(|line| line.renumbered(&numbering)).collect();
        let renumbered = numbering.renumbered(mesh);
        let system =
            System::new(mesh.positions.len(), &renumbered.triangles, &bending::pairs(&lines))
                .map_err(|cause| FlattenError::Unsolvable { iteration: 0, cause })?;
        let flattener = Self {
            options: options.clone(),
            lines,
            mesh: mesh.clone(),
            boundary,
            numbering,
            system,
            last: None,
            strains: Vec::new(),
        };
        HeldEdges::new(&renumbered, &flattener.lines, &flattener.system, 1.0)
            .map_err(|e| flattener.named(e))?;
        Ok(flattener)
    }

    /// Lays the surface flat from scratch: the same bytes whatever was laid flat before.
    ///
    /// It starts from the conformal layout. Where that flips a triangle, or leads to a piece
    /// that overlaps itself, it starts from a disc; where that overlaps too, the sides that meet
    /// are kept apart. A piece that overlaps all the same has [`Flattening::overlaps`] above 0.
    ///
    /// # Errors
    /// As [`flatten`].
    pub fn flatten(&mut self) -> Result<Flattening, FlattenError> {
        let mesh = self.numbering.renumbered(&self.mesh);
        let boundary: Vec<u32> =
            self.boundary.iter().map(|v| self.numbering.new_vertex(*v)).collect();
        let dirichlet = Dirichlet::new(&mesh);
        let starts = Starts { mesh: &mesh, boundary: &boundary, dirichlet: &dirichlet };
        let conformal = starts.conformal(&mut self.system);
        let first = match conformal {
            Some(start) => self.descend(&mesh, &dirichlet, start, Begin::Afresh)?,
            None => return self.laid_from_disc(&starts),
        };
        if first.overlaps == 0 {
            return Ok(first);
        }
        let last = self.last.take();
        match self.laid_from_disc(&starts) {
            Ok(second) if second.overlaps == 0 && second.converged => return Ok(second),
            _ => self.last = last,
        }
        let dearest = first.energy * (1.0 + APART_COST.0) + APART_COST.1;
        // The least energy overlaps little, as a rule: from beside it the way is short.
        let beside = starts.beside(&self.numbering.to_new(&first.points));
        let apart = beside.map(|start| self.apart(&starts, start));
        let good = |laid: &Flattening| laid.overlaps == 0 && laid.energy <= dearest;
        if let Some(third) = apart.and_then(Result::ok).filter(good) {
            return Ok(third);
        }
        let clear = |s: &Start| boundary_crossings(&s.points, starts.boundary).is_empty();
        let start = match starts.conformal(&mut self.system).filter(clear) {
            Some(start) => start,
            None => starts.disc(&mut self.system).map_err(|e| self.named(e))?,
        };
        match self.apart(&starts, start) {
            Ok(fourth) if good(&fourth) => Ok(fourth),
            _ => Ok(first),
        }
    }

    /// The layout that `start`, which does not overlap, leads to without ever overlapping.
    fn apart(&mut self, starts: &Starts<'_>, start: Start) -> Result<Flattening, FlattenError> {
        let held = self.held_edges(starts.mesh, starts.dirichlet)?;
        let mut objective = Objective::new(starts.dirichlet, &held, start.anchors);
        let mut descent = Descent { points: start.points, iterations: 0, converged: false };
        let most = self.options.max_iterations;
        let system = &mut self.system;
        descend_apart(&mut descent, &mut objective, starts.boundary, system, most)?;
        let laid = self.judged(starts.dirichlet, descent);
        Ok(Flattening { kept_apart: true, ..laid })
    }

    fn laid_from_disc(&mut self, starts: &Starts<'_>) -> Result<Flattening, FlattenError> {
        let start = starts.disc(&mut self.system).map_err(|e| self.named(e))?;
        self.descend(starts.mesh, starts.dirichlet, start, Begin::Afresh)
    }

    /// Moves the vertices to `positions` and lays the surface flat beginning with the last
    /// layout, which is faster where they moved little. Where that would flip a triangle, leads
    /// to an overlap, or nothing was laid flat before, from scratch. Differs from
    /// [`Flattener::flatten`] by what the stop rule leaves.
    ///
    /// # Errors
    /// As [`flatten`].
    ///
    /// # Panics
    /// When there are not as many positions as vertices.
    pub fn flatten_moved(&mut self, positions: &[DVec3]) -> Result<Flattening, FlattenError> {
        let last = self.last.take();
        self.flatten_again(positions, last, Begin::AsBefore)
    }

    /// As [`Flattener::flatten_moved`], beginning with `guess` instead, in any pose: where vertices
    /// moved along the surface, a layout in which they moved as well. It ends where points move on
    /// by less than a few thousandths of a millimetre on a piece of a shoe, and the worst strains
    /// stand still: good enough to be looked at.
    ///
    /// # Errors
    /// As [`flatten`].
    ///
    /// # Panics
    /// When there are not as many positions, or places in the guess, as vertices.
    pub fn flatten_from(
        &mut self,
        positions: &[DVec3],
        guess: &[DVec2],
    ) -> Result<Flattening, FlattenError> {
        assert_eq!(guess.len(), positions.len(), "as many guesses as positions");
        let guess = self.numbering.to_new(guess);
        let last = self.last.take().map(|last| Start::posed(guess, last.anchors));
        self.flatten_again(positions, last, Begin::ToLookAt(None))
    }

    fn flatten_again(
        &mut self,
        positions: &[DVec3],
        start: Option<Start>,
        begin: Begin<'_>,
    ) -> Result<Flattening, FlattenError> {
        assert_eq!(positions.len(), self.mesh.positions.len(), "as many positions as vertices");
        self.mesh.positions.copy_from_slice(positions);
        disk::check_shapes(&self.mesh)?;
        let mesh = self.numbering.renumbered(&self.mesh);
        let dirichlet = Dirichlet::new(&mesh);
        if let Some(start) = start
            && dirichlet.energy(&start.points).is_finite()
        {
            let warm = self.descend(&mesh, &dirichlet, start, begin)?;
            if warm.converged && warm.overlaps == 0 {
                return Ok(warm);
            }
        }
        self.flatten()
    }

    fn held_edges(&self, mesh: &TriMesh, dirichlet: &Dirichlet) -> Result<HeldEdges, FlattenError> {
        HeldEdges::new(mesh, &self.lines, &self.system, dirichlet.total_area())
            .map_err(|e| self.named(e))
    }

    /// Descends from `start` and says what came of it. `mesh` is under the new numbers.
    fn descend(
        &mut self,
        mesh: &TriMesh,
        dirichlet: &Dirichlet,
        start: Start,
        begin: Begin<'_>,
    ) -> Result<Flattening, FlattenError> {
        let held = self.held_edges(mesh, dirichlet)?;
        // What `system` holds after a material's stages serves a plain layout badly.
        let by = if self.options.goes_on() { Begin::Afresh } else { begin };
        let most = self.options.max_iterations;
        let anchors = start.anchors;
        let (system, strains, lines) = (&mut self.system, &self.strains, &self.lines);
        let mut through = |start, rounds: &[HeldEdges], by| {
            newton::descend(start, dirichlet, rounds, system, most, by)
        };
        // Another parabola is only taken where the last one is far off: equations that stay as they
        // were serve longer.
        let mut keeps = false;
        let mut descent = match begin {
            Begin::Afresh => through(start, &held.rounds(dirichlet.total_area()), by)?,
            Begin::AsBefore => through(start, &[held.near(strains), held.clone()], by)?,
            Begin::ToLookAt(_) => {
                let patches = Patches { mesh, lines, strains };
                let patchwise = match by {
                    Begin::ToLookAt(_) => Begin::ToLookAt(Some(&patches)),
                    by => by,
                };
                let seen = through(start, &[held.near(strains)], patchwise)?;
                keeps = held.owed(strains, &seen.points) <= UNSEEN_LENGTH;
                if keeps {
                    seen
                } else {
                    let near = held.near(&held.strains(&seen.points));
                    through(Start { points: seen.points, anchors }, &[near, held.clone()], by)?
                }
            }
        };
        let plain = descent.points.clone();
        let law = self.options.law();
        let held = std::slice::from_ref(&held);
        Stages { dirichlet, held, anchors, max_iterations: most }.refine(
            &mut descent,
            law,
            self.options.worst_strain,
            &mut self.system,
        )?;
        let laid = self.judged(dirichlet, descent);
        if !keeps {
            self.strains = held[0].strains(&plain);
        }
        self.last = Some(Start { points: plain, anchors });
        Ok(laid)
    }

    /// The layout under the numbers that came in, with what it costs.
    fn judged(&self, dirichlet: &Dirichlet, descent: Descent) -> Flattening {
        let mut strain = Strain::new(dirichlet, &descent.points);
        let areas: Vec<f64> = dirichlet.weights().collect();
        let material = self.options.material.as_ref();
        let area_over_limit = material.map(|material| strain.area_over_limit(&areas, material));
        strain.singular_values = self.numbering.faces_to_old(&strain.singular_values);
        let points = self.numbering.to_old(&descent.points);
        let held = self.options.held.iter();
        Flattening {
            energy: dirichlet.energy(&descent.points),
            iterations: descent.iterations,
            converged: descent.converged,
            strain,
            area_over_limit,
            held: held.map(|line| HeldLength::new(&self.mesh, line, &points)).collect(),
            flipped: overlap::flipped(&points, &self.mesh.triangles),
            kept_apart: false,
            overlaps: boundary_crossings(&points, &self.boundary).len(),
            points,
        }
    }

    /// The error with the numbers that came in.
    fn named(&self, error: FlattenError) -> FlattenError {
        match error {
            FlattenError::HeldOffEdges { line, from, to } => FlattenError::HeldOffEdges {
                line,
                from: self.numbering.old_vertex(from),
                to: self.numbering.old_vertex(to),
            },
            FlattenError::NoStart { flipped, first } => {
                FlattenError::NoStart { flipped, first: self.numbering.old_face(first) }
            }
            other => other,
        }
    }
}
