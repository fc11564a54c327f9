//! Relief cuts: the fewest cuts from an edge up into a surface that let it lie flat with little
//! strain, placed where the strain is.
//!
//! A cut is a slit: it opens when the surface is laid flat, or a V is taken away there. `stretch`
//! is the edge it starts from, `line` its path on the surface, `slit` parts the triangles along
//! it, `wedge` takes a V away where its sides would overlap, `trial` lays the result flat and judges it, and `search` looks for places and depths, on
//! a coarser form of the surface where it is large.
//!
//! The strain at the tip of a slit grows without bound as the mesh is refined, as at the tip of
//! a crack (M. Williams 1957, "On the stress distribution at the base of a stationary crack").
//! So a layout is judged by the strain that 99 % of the area keeps below and by the area above
//! the limit, never by the largest strain.

mod corners;
mod line;
mod search;
mod slit;
mod stretch;
mod trial;
mod wedge;

use geometry::mesh::TriMesh;
use geometry::mesh::adjacency::AdjacencyError;
use geometry::mesh::decimate::decimate_to;
use geometry::surface::Surface;

use self::search::Search;
use self::stretch::Stretch;
use self::trial::{Bench, Trial, opening};
use crate::disk;
use crate::layout::{FlattenError, Flattening, Options, flatten};

pub use self::corners::{FourSides, SidesError, four_sides};
pub use self::slit::Lips;
pub use self::trial::Judged;

/// How much strain is allowed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Goal {
    /// The limit, percent.
    pub strain: f64,
    /// How much of the area may be above the limit, percent.
    pub area_over: f64,
    /// The strain that 99 % of the area must keep below, percent.
    pub p99: f64,
}

impl Goal {
    /// What is asked for under a limit of `strain` percent: that at most 6 % of the area lie
    /// above it, and 99 % of the area below 1.75 times it. Both are rules of thumb from
    /// a bulged band, where the tips of five cuts alone strain some 5 % of the area.
    pub fn under(strain: f64) -> Self {
        Self { strain, area_over: 6.0, p99: 1.75 * strain }
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
    /// The least distance of a cut from another and from the rest of the boundary, mm.
    pub apart: f64,
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
    let measures = [
        ("greatest depth", options.deepest),
        ("least distance", options.apart),
        ("strain limit", options.goal.strain),
        ("allowed area", options.goal.area_over),
        ("allowed strain", options.goal.p99),
    ];
    if let Some((what, value)) = measures.into_iter().find(|(_, v)| !(v.is_finite() && *v > 0.0)) {
        return Err(CutError::NotPositive { what, value });
    }
    let boundary = disk::boundary_of_disk(mesh).map_err(FlattenError::from)?;
    let stretch = checked_stretch(mesh, &boundary, &options.edge)?;
    let fine = Bench::new(Surface::new(mesh)?, &boundary, stretch);
    let uncut = fine.uncut(flatten(mesh, &Options::default())?, &options.goal);
    let mut best = fine.uncut(uncut.flat.clone(), &options.goal);
    let mut solves = 1;
    if !best.judged.meets(&options.goal) && options.most > 0 {
        let coarser = coarser(mesh, &fine.stretch, options);
        let (coarse_mesh, coarse_boundary, coarse_stretch) = match &coarser {
            Some((mesh, boundary, stretch)) => (mesh, boundary, stretch.clone()),
            None => (mesh, &boundary, fine.stretch.clone()),
        };
        let bench = Bench::new(Surface::new(coarse_mesh)?, coarse_boundary, coarse_stretch);
        let flat = flatten(coarse_mesh, &Options::default())?;
        let mut found = bench.uncut(flat, &options.goal);
        let mut search = Search { bench: &bench, options, solves: solves + 1, progress };
        for _ in 0..options.most {
            let Some(more) = search.one_more(&found) else { break };
            found = more;
            let last = found.sites.len() == options.most;
            if !last && found.judged.score(&options.goal) > NEARLY {
                continue;
            }
            if settle(&fine, &found, &mut search, &mut best) {
                break;
            }
        }
        if best.sites.len() < found.sites.len() && !best.judged.meets(&options.goal) {
            settle(&fine, &found, &mut search, &mut best);
        }
        solves = search.solves;
    }
    Ok(report(&fine, uncut.flat, uncut.judged, best, solves, &options.goal))
}

/// On the coarser surface the strain may come out higher by this factor than on the given one.
const NEARLY: f64 = 1.15;

/// Makes the cuts in the given surface, keeps them if they are the best so far, and says whether
/// they meet the goal.
fn settle(
    fine: &Bench<'_>,
    coarse: &Trial,
    search: &mut Search<'_, '_, '_>,
    best: &mut Trial,
) -> bool {
    let options = search.options;
    let tried = fine.try_out(&coarse.sites, options, &mut search.solves);
    let Some(trial) = tried else { return false };
    (search.progress)(Progress {
        cuts: trial.sites.len(),
        solves: search.solves,
        most_solves: options.most_solves,
        judged: trial.judged,
    });
    let goal = &options.goal;
    let met = trial.judged.meets(goal);
    if met || trial.judged.score(goal) < best.judged.score(goal) {
        *best = trial;
    }
    met
}

fn report(
    fine: &Bench<'_>,
    uncut: Flattening,
    judged_uncut: Judged,
    best: Trial,
    solves: usize,
    goal: &Goal,
) -> ReliefCuts {
    let trial = best;
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
        uncut,
        judged_uncut,
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

/// The surface with fewer triangles, its boundary, and the same stretch of it.
fn coarser(
    mesh: &TriMesh,
    stretch: &Stretch,
    options: &CutOptions,
) -> Option<(TriMesh, Vec<u32>, Stretch)> {
    if 2 * mesh.triangles.len() <= 3 * options.coarse {
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
    Some((fewer, rim, stretch))
}
