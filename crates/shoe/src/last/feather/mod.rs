//! The feather line: where the bottom of a last turns into its wall.
//!
//! First a fan of upright planes sweeps round the bottom; in each section the place of the
//! strongest turn from bottom to wall is sought, all sections together, so that one dent does
//! not mislead. The line found becomes the next guide: planes square to it, closer together,
//! looking near it only.

mod refine;
mod ring;
mod rounding;
mod track;

use glam::DVec3;

use geometry::section::Slicer;

use super::profile::Profile;
pub(super) use ring::Ring;

use super::marks::Source;

/// What the edge between bottom and wall is like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EdgeKind {
    /// A ridge: most of the turn happens within a millimetre or two.
    Sharp,
    /// Rounded, but most of the turn happens within 8 mm: the line is the middle of the turn.
    Rounded,
    /// No edge, as on a foot: the line is where the surface faces half-way between down and
    /// outward.
    Absent,
}

/// The line where the upper meets the bottom, in the last frame, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct FeatherLine {
    /// Closed (the last point is joined to the first), about 1 mm apart, from the seat point
    /// round the inside to the toe and back along the outside. What the program found lies on
    /// the surface; what the user gave is kept as given.
    pub points: Vec<DVec3>,
    /// What the edge is like.
    pub edge: EdgeKind,
    /// How sure the line is, 0 to 1.
    pub sureness: f64,
    /// Who set it.
    pub source: Source,
}

/// Where a walk round the bottom may start: a line along its middle, rear to front.
pub(super) type Spine = Vec<DVec3>;

/// A traced line in the frame of the mesh, counter-clockwise seen from above.
#[derive(Debug, Clone)]
pub(super) struct Traced {
    pub(super) points: Vec<DVec3>,
    pub(super) edge: EdgeKind,
    pub(super) sureness: f64,
}

/// Too few sections showed an edge.
#[derive(Debug, Clone, Copy)]
pub(super) struct NoEdge {
    pub(super) found: usize,
    pub(super) of: usize,
}

/// How far the surface may be followed outward from the middle of the bottom, mm: half the
/// widest tread and then some of the wall.
const REACH: f64 = 110.0;

/// A sharp edge whose line scatters by less than this is taken as it is, mm.
const SHARP_SCATTER: f64 = 0.06;
/// The line is averaged over no wider a bell, mm.
const WIDEST_BELL: f64 = 6.0;

/// The first rough line, by a fan of upright planes about the spine.
pub(super) fn sweep(slicer: &Slicer, spine: &Spine, up: DVec3) -> Result<Ring, NoEdge> {
    let stations = fan(spine, up);
    let profiles: Vec<Profile> = stations
        .iter()
        .filter_map(|(centre, outward)| {
            let normal = outward.cross(up);
            let lines = slicer.section(*centre, normal);
            Profile::from_bottom(&lines, *centre, *outward, up, REACH)
        })
        .collect();
    enough(profiles.len(), stations.len())?;
    let wanted = track::Wanted { step: 1.0, spacing: 4.0, stiffness: 0.15 };
    let costs = |p: &Profile, s: f64| -> f64 {
        let (before, after) = (p.angle(s - 6.0, 3.0), p.angle(s + 6.0, 3.0));
        let turn = ((after - before) / 60.0).clamp(-0.5, 1.4);
        let strange = !(-70.0..65.0).contains(&before) || !(25.0..175.0).contains(&after);
        let strays = no_bottom(before, p.angle(5.0, 5.0));
        strays - turn + if strange { 1.0 } else { 0.0 }
    };
    let spans: Vec<(f64, f64)> = profiles.iter().map(|p| (4.0, p.end() - 4.0)).collect();
    let places = track::smoothest(&profiles, &spans, wanted, costs);
    let points = profiles.iter().zip(&places).map(|(p, s)| p.at(*s)).collect();
    Ok(Ring::new(points))
}

/// A closer line: planes square to `guide`, every `spacing` mm from its point nearest to
/// `start`, looking no further than `window` mm from it.
pub(super) fn follow(
    slicer: &Slicer,
    guide: &Ring,
    start: DVec3,
    up: DVec3,
    spacing: f64,
    window: f64,
) -> Result<Traced, NoEdge> {
    let guide = guide.resampled(spacing, start);
    let tangents = guide.tangents(3.0);
    let profiles: Vec<Profile> = guide
        .points()
        .iter()
        .zip(&tangents)
        .filter_map(|(at, tangent)| {
            let lines = slicer.section(*at, -*tangent);
            Profile::near(&lines, *at, *tangent, up, window + 18.0)
        })
        .collect();
    enough(profiles.len(), guide.points().len())?;
    let (edge, clearness) = refine::edge_kind(&profiles, spacing);
    let spans: Vec<(f64, f64)> = profiles.iter().map(|_| (-window, window)).collect();
    let wanted = track::Wanted { step: 0.5, spacing, stiffness: 0.5 };
    let places = match edge {
        EdgeKind::Absent => track::smoothest(&profiles, &spans, wanted, |p, s| {
            (p.angle(s, 4.0) - 45.0).abs() / 45.0
        }),
        _ => track::smoothest(&profiles, &spans, wanted, |p, s| {
            let turn = (p.angle(s + 4.0, 1.5) - p.angle(s - 4.0, 1.5)) / 60.0;
            no_bottom(p.angle(s - 6.0, 3.0), p.angle(s - 14.0, 3.0)) - turn
        }),
    };
    let (places, steady) = refine::settle(&profiles, &places, edge, spacing);
    let share = profiles.len() as f64 / guide.points().len() as f64;
    let mut points: Vec<DVec3> = profiles.iter().zip(&places).map(|(p, s)| p.at(*s)).collect();
    // What the single places owe to noise their neighbours even out; then back to the surface.
    let noticed = if edge == EdgeKind::Sharp { SHARP_SCATTER } else { 0.0 };
    if edge != EdgeKind::Absent
        && let Some(steady) = Ring::new(points.clone()).steadied(noticed, WIDEST_BELL)
    {
        points = profiles.iter().zip(steady.points()).map(|(p, at)| p.nearest(*at)).collect();
    }
    Ok(Traced { points, edge, sureness: (clearness * steady * share).clamp(0.0, 1.0) })
}

/// The cost of a place whose inner side does not run on as the bottom does further in, for the
/// two directions in degrees. A wall may flare out and then turn up in a second ridge; what
/// lies inside of the feather line, though, is bottom.
fn no_bottom(inside: f64, further_in: f64) -> f64 {
    ((inside - further_in).abs() - 20.0).max(0.0) / 30.0
}

fn enough(found: usize, of: usize) -> Result<(), NoEdge> {
    if found * 5 < of * 4 || found < 24 { Err(NoEdge { found, of }) } else { Ok(()) }
}

/// Centres and level outward directions of the sweep, counter-clockwise seen from above,
/// from the back: half a fan at the heel, one side, a fan at the toe, the other side.
fn fan(spine: &Spine, up: DVec3) -> Vec<(DVec3, DVec3)> {
    let level = |d: DVec3| (d - up * d.dot(up)).normalize_or_zero();
    let n = spine.len();
    let along = |i: usize| level(spine[(i + 1).min(n - 1)] - spine[i.saturating_sub(1)]);
    let turn = |d: DVec3, angle: f64| d * angle.cos() + up.cross(d) * angle.sin();
    let half = std::f64::consts::FRAC_PI_2;
    let steps = 14;
    let arc = |centre: DVec3, from: DVec3, start: f64, sweep: f64, steps: usize| {
        (0..steps)
            .map(move |k| (centre, turn(from, start + sweep * k as f64 / steps as f64)))
            .collect::<Vec<_>>()
    };
    let (heel, toe) = (along(0), along(n - 1));
    let mut out = arc(spine[0], -heel, 0.0, half, steps);
    out.extend((0..n).map(|i| (spine[i], turn(along(i), -half))));
    out.extend(arc(spine[n - 1], toe, -half, 2.0 * half, 2 * steps).into_iter().skip(1));
    out.extend((0..n).rev().map(|i| (spine[i], turn(along(i), half))));
    out.extend(arc(spine[0], -heel, -half, half, steps).into_iter().skip(1));
    out
}
