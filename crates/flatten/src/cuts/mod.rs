//! Relief cuts: the fewest cuts from an edge up into a surface that let it lie flat with little
//! strain, placed where the strain is.
//!
//! A cut is a slit: it opens when the surface is laid flat, or a V is taken away there. `stretch`
//! is the edge it starts from, `line` its path on the surface, `slit` parts the triangles along
//! it, `wedge` takes a V away where its sides would overlap, `held_anew` parts the lines that keep
//! their lengths, `trial` lays the result flat, `judge` holds it against a limit, and `search` looks
//! for places and depths, on a coarser form of the surface where it is large, from which they
//! `settle` on the given one. A surface is searched from its more strained end (`along`).
//!
//! The strain at the tip of a slit grows without bound as the mesh is refined, as at the tip of
//! a crack (M. Williams 1957, "On the stress distribution at the base of a stationary crack").
//! So a layout is judged by the strain that 99 % of the area keeps below and by the area above
//! the limit, never by the largest strain.

mod along;
mod corners;
mod held_anew;
mod judge;
mod line;
mod search;
mod settle;
mod slit;
mod stretch;
mod trial;
mod wedge;

use geometry::mesh::TriMesh;
use geometry::mesh::adjacency::AdjacencyError;
use geometry::mesh::decimate::decimate_to;
use geometry::surface::Surface;
use glam::DVec3;

use self::along::Seen;
use self::search::Search;
use self::settle::{SLACK, Settling};
use self::stretch::Stretch;
use self::trial::{Bench, Trial, distance, opening};
use crate::disk;
use crate::flattening::{FlattenError, Flattening, Options};

pub use self::corners::{FourSides, SidesError, four_sides};
pub use self::judge::{Goal, Judged, Limit};
pub use self::slit::Lips;

/// A line that no cut may come near.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptClear {
    /// The places it runs through.
    pub line: Vec<DVec3>,
    /// The least distance of a cut from it, mm.
    pub distance: f64,
}

impl KeptClear {
    /// Whether a place on a cut, which is `half` mm wide to either side, is far enough away.
    fn is_clear(&self, place: DVec3, half: f64) -> bool {
        self.line.windows(2).all(|e| distance(place, [e[0], e[1]]) >= self.distance + half)
    }
}

/// What cuts may be made, and how long they are looked for.
#[derive(Debug, Clone, PartialEq)]
pub struct CutOptions {
    /// The run of boundary vertices that cuts may start from, counter-clockwise seen from
    /// outside. The whole boundary when the last is the first again.
    pub edge: Vec<u32>,
    /// The most cuts.
    pub most: usize,
    /// The greatest depth of a cut over the surface, mm.
    pub deepest: f64,
    /// The least distance of a cut from another and from the rest of the boundary, mm; where a
    /// coarser surface is searched, to within a quarter of a millimetre.
    pub apart: f64,
    /// Lines within the surface, and those of its boundary to which `apart` is too near.
    pub clear: Vec<KeptClear>,
    /// Whether cuts that would have to lose a V, because their sides would overlap, are left out.
    pub slits_only: bool,
    /// How the surface is laid flat, without and with cuts: what it is made of, what is held.
    pub layout: Options,
    /// When the surface lies flat enough.
    pub goal: Goal,
    /// The most layouts that are made on the way, most of them of the coarser surface.
    pub most_solves: usize,
    /// About how many triangles the coarser surface has. One with up to half as many again is
    /// searched as it is.
    pub coarse: usize,
}

impl CutOptions {
    /// At most `most` cuts from `edge`, up to `deepest` mm deep, 8 mm apart, under a limit of
    /// 2 % strain, with at most 600 layouts of some 3000 triangles.
    pub fn new(edge: Vec<u32>, most: usize, deepest: f64) -> Self {
        Self {
            edge,
            most,
            deepest,
            apart: 8.0,
            clear: Vec::new(),
            slits_only: false,
            layout: Options::default(),
            goal: Goal::under(2.0),
            most_solves: 600,
            coarse: 3000,
        }
    }
}

/// How far the search has come.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// How many cuts are being tried.
    pub cuts: usize,
    /// Layouts made so far.
    pub solves: usize,
    /// The most that will be made.
    pub most_solves: usize,
    /// What the last one gave.
    pub judged: Judged,
}

/// A cut that is suggested.
#[derive(Debug, Clone, PartialEq)]
pub struct Cut {
    /// Where it starts, mm along the edge that was named, from its first vertex.
    pub along: f64,
    /// Its length over the surface, mm.
    pub depth: f64,
    /// How wide its mouth stands open in the layout, mm: a slit opens so far.
    pub opening: f64,
    /// Where the sides of a slit would overlap: width of the V that was taken away between them,
    /// mm along the edge, so that they just meet in the layout. Else 0.
    pub taken: f64,
    /// Its two sides, as vertices of the cut mesh.
    pub lips: Lips,
}

/// A surface laid flat without and with cuts.
#[derive(Debug, Clone, PartialEq)]
pub struct ReliefCuts {
    /// In the order of the edge. Empty where none is needed, or none helps.
    pub cuts: Vec<Cut>,
    /// The surface with the cuts open: first the vertices of the given one, in their order, then
    /// those that the cuts put on its triangles, then the right sides of the slits. Where V's were
    /// taken away, the vertices inside them are missing.
    pub mesh: TriMesh,
    /// The surface laid flat without cuts.
    pub uncut: Flattening,
    /// With them.
    pub cut: Flattening,
    /// How `uncut` is judged.
    pub judged_uncut: Judged,
    /// How `cut` is judged.
    pub judged_cut: Judged,
    /// Whether the goal is met.
    pub met: bool,
    /// Layouts made on the way, those of the coarser surface among them.
    pub solves: usize,
}

/// Why no cuts could be looked for.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CutError {
    /// The surface cannot be laid flat at all.
    #[error(transparent)]
    Flatten(#[from] FlattenError),
    /// The surface is not manifold.
    #[error(transparent)]
    Adjacency(#[from] AdjacencyError),
    /// The edge is no run of the boundary.
    #[error(
        "the edge for cuts steps from vertex {from} to {to}, which the boundary does not, counter-clockwise"
    )]
    NotOnBoundary {
        /// The vertex it leaves.
        from: u32,
        /// The vertex it goes to.
        to: u32,
    },
    /// The edge has no length.
    #[error("the edge for cuts has {0} vertices; it needs at least two")]
    TooShort(usize),
    /// A measure is no positive number.
    #[error("the {what} is {value}; it must be a number above 0")]
    NotPositive {
        /// Which.
        what: &'static str,
        /// What was given.
        value: f64,
    },
}

/// Suggests the fewest cuts that bring `mesh` to the goal, or the best of up to the most allowed
/// where none do, and lays it flat without and with them.
///
/// Cuts start from the given edge only, run square to it in a plane, keep their distance, and the
/// layout with them nowhere lies on itself. The search is greedy with local moves: fewer cuts, or
/// better places, may exist.
///
/// # Errors
/// When the surface is no disk or cannot be laid flat, the edge is no run of its boundary,
/// or a measure is not positive.
pub fn suggest(
    mesh: &TriMesh,
    options: &CutOptions,
    progress: &mut dyn FnMut(Progress),
) -> Result<ReliefCuts, CutError> {
    options.check()?;
    let boundary = disk::boundary_of_disk(mesh).map_err(FlattenError::from)?;
    let stretch = checked_stretch(mesh, &boundary, &options.edge)?;
    let mut fine = Bench::new(Surface::new(mesh)?, &boundary, stretch, &options.layout);
    if options.searches_coarser(mesh) {
        fine.slack = SLACK;
    }
    let uncut = fine.uncut(&options.goal)?;
    let helps = !uncut.judged.meets(&options.goal) && options.most > 0;
    let (best, solves) =
        if helps { looked_for(&fine, &uncut, options, progress)? } else { (uncut.clone(), 1) };
    Ok(report(&fine, uncut, best, solves, &options.goal))
}

/// The best cuts found, and the layouts made.
fn looked_for(
    fine: &Bench<'_>,
    uncut: &Trial,
    options: &CutOptions,
    progress: &mut dyn FnMut(Progress),
) -> Result<(Trial, usize), CutError> {
    let seen = Seen::from_strained_end(fine, options, uncut);
    let given = Stretch::new(&seen.mesh, seen.options.edge.clone());
    let (coarse, stretch) = match coarser(&seen.mesh, &given, options) {
        Some(coarser) => coarser,
        None => (seen.mesh.clone(), given.clone()),
    };
    let settling = Settling {
        fine,
        options,
        ends: given.ends_to(&seen.mesh, &stretch, &coarse),
        mirrored: seen.mirrored,
    };
    let rim = disk::boundary_of_disk(&coarse).map_err(FlattenError::from)?;
    let plain = Options::default();
    let bench = Bench::new(Surface::new(&coarse)?, &rim, stretch, &plain);
    let mut found = bench.uncut(&options.goal)?;
    let mut search = Search { bench: &bench, options: &seen.options, solves: 2, progress };
    let mut best = uncut.clone();
    let mut settled = 0;
    for _ in 0..options.most {
        let Some(more) = search.one_more(&found) else { break };
        found = more;
        let last = found.sites.len() == options.most;
        // What the search goes by says little where the surface is laid flat otherwise.
        let near = options.layout != plain || found.judged.score(&options.goal) <= NEARLY;
        if last || near {
            settled = found.sites.len();
            if settling.settle(&found, &mut search, &mut best) {
                break;
            }
        }
    }
    if settled < found.sites.len() {
        settling.settle(&found, &mut search, &mut best);
    }
    Ok((best, search.solves))
}

impl CutOptions {
    fn searches_coarser(&self, mesh: &TriMesh) -> bool {
        2 * mesh.triangles.len() > 3 * self.coarse
    }

    /// Whether every measure is positive, and what is laid flat with can be.
    fn check(&self) -> Result<(), CutError> {
        let mut measures = vec![
            ("greatest depth", self.deepest),
            ("least distance", self.apart),
            ("allowed area", self.goal.area_over),
            ("allowed strain", self.goal.times),
        ];
        match &self.goal.limit {
            Limit::Strain(limit) => measures.push(("strain limit", *limit)),
            Limit::Material(material) => material.check().map_err(FlattenError::from)?,
        }
        measures.extend(self.clear.iter().map(|c| ("distance from a line", c.distance)));
        let wrong = measures.into_iter().find(|(_, v)| !(v.is_finite() && *v > 0.0));
        wrong.map_or(Ok(()), |(what, value)| Err(CutError::NotPositive { what, value }))
    }
}

/// On the coarser surface the strain may come out higher by this factor than on the given one.
const NEARLY: f64 = 1.15;

fn report(fine: &Bench<'_>, uncut: Trial, trial: Trial, solves: usize, goal: &Goal) -> ReliefCuts {
    let mut cuts: Vec<Cut> = trial
        .sites
        .iter()
        .zip(trial.lips)
        .map(|(site, lips)| Cut {
            along: site.share * fine.stretch.length(),
            depth: site.depth,
            taken: site.taken,
            opening: opening(&trial.flat.points, &lips),
            lips,
        })
        .collect();
    cuts.sort_by(|a, b| a.along.total_cmp(&b.along));
    ReliefCuts {
        cuts,
        mesh: trial.mesh,
        judged_uncut: uncut.judged,
        uncut: uncut.flat,
        met: trial.judged.meets(goal),
        judged_cut: trial.judged,
        cut: trial.flat,
        solves,
    }
}

fn checked_stretch(mesh: &TriMesh, boundary: &[u32], edge: &[u32]) -> Result<Stretch, CutError> {
    if edge.len() < 2 {
        return Err(CutError::TooShort(edge.len()));
    }
    let mut after = vec![u32::MAX; mesh.positions.len()];
    for i in 0..boundary.len() {
        after[boundary[i] as usize] = boundary[(i + 1) % boundary.len()];
    }
    let off = |e: &&[u32]| after.get(e[0] as usize) != Some(&e[1]);
    if let Some(step) = edge.windows(2).find(off) {
        return Err(CutError::NotOnBoundary { from: step[0], to: step[1] });
    }
    Ok(Stretch::new(mesh, edge.to_vec()))
}

/// How far the coarser surface may lie from the given one, as a part of its extent: far below
/// what changes its strain.
const COARSE_TOLERANCE: f64 = 1e-3;

/// The surface with fewer triangles, and the same stretch of its boundary.
fn coarser(mesh: &TriMesh, stretch: &Stretch, options: &CutOptions) -> Option<(TriMesh, Stretch)> {
    if !options.searches_coarser(mesh) {
        return None;
    }
    let (low, high) = mesh.bounds()?;
    let fewer = decimate_to(mesh, COARSE_TOLERANCE * low.distance(high), options.coarse).mesh;
    let rim = disk::boundary_of_disk(&fewer).ok()?;
    let nearest = |v: u32| {
        let place = mesh.positions[v as usize];
        let far = |i: &usize| fewer.positions[rim[*i] as usize].distance_squared(place);
        (0..rim.len()).min_by(|a, b| far(a).total_cmp(&far(b)))
    };
    let (first, last) = (nearest(*stretch.vertices.first()?)?, nearest(*stretch.vertices.last()?)?);
    let steps = match (last + rim.len() - first) % rim.len() {
        0 => rim.len(),
        steps => steps,
    };
    let vertices = (0..=steps).map(|i| rim[(first + i) % rim.len()]).collect();
    let stretch = Stretch::new(&fewer, vertices);
    Some((fewer, stretch))
}
