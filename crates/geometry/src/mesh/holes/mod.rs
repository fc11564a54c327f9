//! Closes the holes of a surface with the smooth continuation of what lies around them.
//!
//! Each rim is covered with triangles, these are made as small as the ones around, and bent like a
//! thin plate that leaves the rim at the surface's slope. All measures are parts of the surface's
//! own span, so neither unit nor pose matters.

mod cover;
pub(super) mod crossing;
mod error;
mod fair;
mod fill;
mod patch;
mod report;
mod rims;
mod sharp;
mod surround;

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};

use glam::DVec3;

pub use self::error::HoleError;
use self::fill::{Outcome, fill};
use self::report::{opening_left, repairs};
use self::rims::{Rims, loose_piece, rims};
use super::TriMesh;
use super::bodies::{largest_body, only, split_touching};
use super::repair::Repair;

/// Which holes are closed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// The single largest opening stays open when its longest extent is over this part of the
    /// span; `None` closes it too.
    pub keep_open: Option<f64>,
    /// A hole whose longest extent is over this part of the span is refused.
    pub largest: f64,
}

/// An opening that was left.
#[derive(Debug, Clone, PartialEq)]
pub struct Opening {
    /// Its rim in order, the surface on the left seen from outside.
    pub rim: Vec<DVec3>,
    /// The farthest its points are apart.
    pub extent: f64,
}

/// A surface with its holes filled.
#[derive(Debug, Clone, PartialEq)]
pub struct Filled {
    /// The surface. The old vertices keep their numbers and places, and the old triangles theirs;
    /// new ones follow. Two repairs say otherwise: points joined where a rim met itself in one
    /// place, and triangles of a folded rim taken off; numbers after dropped ones move up.
    pub mesh: TriMesh,
    /// What was done: the larger holes one by one, the largest first, then the small ones
    /// together; then the opening that was left.
    pub repairs: Vec<Repair>,
    /// What stays open.
    pub opening: Option<Opening>,
}

/// One hole.
#[derive(Debug, Clone)]
struct Hole {
    /// Its rim, the surface on the left, from the point farthest from the middle.
    rim: Vec<u32>,
    middle: DVec3,
    extent: f64,
    length: f64,
    /// Whether a sharp edge of the surface runs into it from several sides.
    sharp: bool,
}

/// How often triangles that a fill would cross are taken off a rim.
const TRIMS: usize = 3;

/// Closes the holes of `mesh`, which is one body from [`tidy`](super::tidy::tidy): no edge has
/// more than two triangles. Lengths are in the unit of the mesh, whatever it is.
///
/// Rims up to 300 points are cut into triangles so that the worst bend is least (P. Liepa 2003);
/// from longer ones corners are cut off first. The fill is smooth: an edge that ran through the
/// hole is rounded off in it, and its repair says so. Where a rim is folded so that the fill
/// would pass through triangles next to it, these are taken off first. The outcome does not
/// depend on the order of triangles, and on that of vertices only by rounding.
///
/// # Errors
/// When a hole is over the limit, the mesh is in several pieces with rims, is an open sheet whose
/// rim may not stay, or a fill would pass through the surface; and for a damaged mesh. Each tells
/// the place.
pub fn fill_holes(mesh: &TriMesh, limits: &Limits) -> Result<Filled, HoleError> {
    let mut trimmed = Vec::new();
    let mut body = None;
    loop {
        let last = trimmed.len() >= TRIMS;
        match attempt(body.as_ref().unwrap_or(mesh), limits, last)? {
            Attempt::Done(mut filled) => {
                if let Some(repair) = report::trimmed(&trimmed) {
                    filled.repairs.insert(0, repair);
                }
                return Ok(filled);
            }
            Attempt::Trim(rims, faces) => {
                trimmed.push(faces.iter().map(|f| rims.corners(*f)).collect());
                let left: Vec<u32> = (0..rims.triangles.len() as u32)
                    .filter(|f| faces.binary_search(f).is_err())
                    .collect();
                body = Some(split_touching(&largest_body(&only(&rims, &left))).0);
            }
        }
    }
}

/// What came of filling.
enum Attempt {
    /// It is done.
    Done(Filled),
    /// These triangles of this mesh must go first; they ascend.
    Trim(TriMesh, Vec<u32>),
}

fn attempt(mesh: &TriMesh, limits: &Limits, last: bool) -> Result<Attempt, HoleError> {
    let Rims { mesh, loops, joined } = rims(mesh)?;
    if loops.is_empty() && joined.is_empty() {
        return Ok(Attempt::Done(Filled { mesh, repairs: Vec::new(), opening: None }));
    }
    let (_, span) = middle_and_span(mesh.positions.iter().copied());
    if let Some((face, triangles)) = loose_piece(&mesh) {
        return Err(HoleError::LoosePiece { place: mesh.corners(face)[0], triangles, span });
    }
    let mut holes: Vec<Hole> = loops.iter().map(|ring| Hole::new(&mesh, ring)).collect();
    holes.sort_by(|a, b| {
        let places = by_place(mesh.positions[a.rim[0] as usize], mesh.positions[b.rim[0] as usize]);
        b.extent.total_cmp(&a.extent).then(places)
    });
    let over = |part| holes.first().is_some_and(|hole| hole.extent > part * span);
    let opening = limits.keep_open.is_some_and(over).then(|| holes.remove(0));
    let over = |hole: &&Hole| hole.extent > limits.largest * span || limits.largest.is_nan();
    if let Some(hole) = holes.first().filter(over) {
        let (place, extent) = (hole.middle, hole.extent);
        return Err(HoleError::TooLarge { place, extent, span, largest: limits.largest });
    }
    let whole = match fill(&mesh, &mut holes, opening.as_ref(), span, last)? {
        Outcome::Whole(whole) => whole,
        Outcome::Trim(faces) => return Ok(Attempt::Trim(mesh, faces)),
    };
    let mut repairs = repairs(&holes, joined.len(), span);
    let opening = opening.map(|hole| {
        repairs.push(opening_left(&hole));
        let rim = hole.rim.iter().map(|v| mesh.positions[*v as usize]).collect();
        Opening { rim, extent: hole.extent }
    });
    let mesh = if joined.is_empty() { whole } else { without(&whole, &joined) };
    Ok(Attempt::Done(Filled { mesh, repairs, opening }))
}

fn by_place(p: DVec3, q: DVec3) -> Ordering {
    p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y)).then(p.z.total_cmp(&q.z))
}

/// The mean of points, and how far apart they are: from the one farthest from the mean to the one
/// farthest from that.
fn middle_and_span(points: impl Iterator<Item = DVec3> + Clone) -> (DVec3, f64) {
    let (sum, count) = points.clone().fold((DVec3::ZERO, 0_usize), |(s, n), p| (s + p, n + 1));
    let middle = sum / count.max(1) as f64;
    let farthest = |from: DVec3| {
        points.clone().fold((0.0, from), |far: (f64, DVec3), p| {
            let d = p.distance(from);
            if d > far.0 { (d, p) } else { far }
        })
    };
    (middle, farthest(farthest(middle).1).0)
}

impl Hole {
    fn new(mesh: &TriMesh, ring: &[u32]) -> Self {
        let place = |v: &u32| mesh.positions[*v as usize];
        let (middle, extent) = middle_and_span(ring.iter().map(place));
        let mut rim = ring.to_vec();
        let far = |v: &u32| place(v).distance_squared(middle);
        let order = |a: &u32, b: &u32| far(a).total_cmp(&far(b)).then(by_place(place(a), place(b)));
        let start = (0..rim.len()).max_by(|i, j| order(&rim[*i], &rim[*j])).unwrap_or(0);
        rim.rotate_left(start);
        let next = rim.iter().cycle().skip(1);
        let length = rim.iter().zip(next).map(|(a, b)| place(a).distance(place(b))).sum();
        Self { rim, middle, extent, length, sharp: false }
    }
}

/// The mesh without the `unused` vertices.
fn without(mesh: &TriMesh, unused: &[u32]) -> TriMesh {
    let dropped: BTreeSet<u32> = unused.iter().copied().collect();
    let mut number = BTreeMap::new();
    let mut positions = Vec::with_capacity(mesh.positions.len());
    for (p, v) in mesh.positions.iter().zip(0_u32..) {
        if !dropped.contains(&v) {
            number.insert(v, positions.len() as u32);
            positions.push(*p);
        }
    }
    let triangles = mesh.triangles.iter().map(|t| t.map(|v| number[&v])).collect();
    TriMesh { positions, triangles }
}
