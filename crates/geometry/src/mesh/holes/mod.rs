//! Closes the holes of a surface with the smooth continuation of what lies around them.
//!
//! Each rim is covered with triangles, these are made as small as the ones around, and bent like a
//! thin plate that leaves the rim at the surface's slope. All measures are parts of the surface's
//! own span, so neither unit nor pose matters.

mod cover;
mod crossing;
mod fair;
mod patch;
mod report;
mod rims;
mod surround;

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use glam::DVec3;

use self::cover::{Loop, cover};
use self::crossing::{crossing, folded_back};
use self::fair::fair;
use self::patch::Patch;
use self::report::{opening_left, repairs};
use self::rims::{Rims, loose_piece, rims};
use self::surround::{Surround, Users};
use super::TriMesh;
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
    /// new ones follow. Only where a rim met itself in one place, the vertices there are one
    /// now, so numbers after the dropped ones move up.
    pub mesh: TriMesh,
    /// What was done: the larger holes one by one, the largest first, then the small ones
    /// together; then the opening that was left.
    pub repairs: Vec<Repair>,
    /// What stays open.
    pub opening: Option<Opening>,
}

/// Why holes could not be filled. Lengths and places are in the unit and frame of the mesh.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum HoleError {
    /// A triangle names a vertex that does not exist.
    #[error(
        "triangle {triangle}: vertex {index} is named, but there are {vertices}, counted from 0; export the mesh again"
    )]
    IndexOutOfRange {
        /// The triangle, from 0.
        triangle: usize,
        /// The vertex it names.
        index: u32,
        /// How many there are.
        vertices: usize,
    },
    /// A coordinate that is not a number, or infinite.
    #[error("vertex {vertex}: a coordinate is not a finite number; export the mesh again")]
    NotFinite {
        /// The vertex, from 0.
        vertex: usize,
    },
    /// An edge with more than two triangles, or two in the same direction.
    #[error(
        "the surface is doubled, inverted or branches at the edge between vertices {} and {}; tidy the mesh first", ends[0], ends[1]
    )]
    NotManifold {
        /// The ends of the edge.
        ends: [u32; 2],
    },
    /// Larger than what may be filled.
    #[error(
        "the hole at {} is {} across, {:.0} % of the surface (at most {:.0} % is filled); scan that part again", report::place(*place, *span), report::digits(*extent), 100.0 * extent / span, 100.0 * largest
    )]
    TooLarge {
        /// Its middle.
        place: DVec3,
        /// The farthest its points are apart.
        extent: f64,
        /// The same of the whole surface.
        span: f64,
        /// The part of the span that may be filled.
        largest: f64,
    },
    /// A separate piece with a rim of its own.
    #[error(
        "a loose piece of {triangles} triangles lies at {}, apart from the surface; delete it, or join it, in the scan program", report::place(*place, *span)
    )]
    LoosePiece {
        /// A place on it.
        place: DVec3,
        /// Its triangles.
        triangles: usize,
        /// The span of the whole mesh.
        span: f64,
    },
    /// The rim goes round a sheet, so that a fill would lie on its back.
    #[error(
        "the rim at {}, {} across, is the border of a thin sheet and not a hole; a closed surface is needed", report::place(*place, *span), report::digits(*extent)
    )]
    Sheet {
        /// The middle of the rim.
        place: DVec3,
        /// The farthest its points are apart.
        extent: f64,
        /// The span of the whole mesh.
        span: f64,
    },
    /// Every fill that was tried passes through the surface.
    #[error(
        "the hole at {}, {} across, cannot be filled without passing through the surface; its rim is folded or twisted: trim it in the scan program", report::place(*place, *span), report::digits(*extent)
    )]
    Crossing {
        /// The middle of the hole.
        place: DVec3,
        /// The farthest its points are apart.
        extent: f64,
        /// The span of the whole mesh.
        span: f64,
    },
}

/// A bend of more than this many degrees is a sharp edge of the surface.
const SHARP: f64 = 30.0;

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

/// Closes the holes of `mesh`, which is one body from [`tidy`](super::tidy::tidy): no edge has
/// more than two triangles. Lengths are in the unit of the mesh, whatever it is.
///
/// Rims up to 300 points are cut into triangles so that the worst bend is least (P. Liepa 2003);
/// from longer ones corners are cut off first. The fill is smooth: an
/// edge that ran through the hole is rounded off in it, and its repair says so. The outcome does
/// not depend on the order of triangles, and on that of vertices only by rounding.
///
/// # Errors
/// When a hole is over the limit, the mesh is in several pieces with rims, is an open sheet whose
/// rim may not stay, or a fill would pass through the surface; and for a damaged mesh. Each tells
/// the place.
pub fn fill_holes(mesh: &TriMesh, limits: &Limits) -> Result<Filled, HoleError> {
    let Rims { mesh, loops, joined } = rims(mesh)?;
    if loops.is_empty() && joined.is_empty() {
        return Ok(Filled { mesh, repairs: Vec::new(), opening: None });
    }
    let (_, span) = middle_and_span(mesh.positions.iter().copied());
    if let Some((face, triangles)) = loose_piece(&mesh) {
        return Err(HoleError::LoosePiece { place: mesh.corners(face)[0], triangles, span });
    }
    let mut holes: Vec<Hole> = loops.iter().map(|ring| Hole::new(&mesh, ring)).collect();
    let place = |v: u32| mesh.positions[v as usize].to_array();
    holes.sort_by(|a, b| {
        let (p, q) = (place(a.rim[0]), place(b.rim[0]));
        let by_place = p.iter().zip(&q).map(|(x, y)| x.total_cmp(y)).find(|o| o.is_ne());
        b.extent.total_cmp(&a.extent).then(by_place.unwrap_or(std::cmp::Ordering::Equal))
    });
    let kept =
        limits.keep_open.is_some_and(|part| holes.first().is_some_and(|h| h.extent > part * span));
    let opening = kept.then(|| holes.remove(0));
    if let Some(hole) =
        holes.first().filter(|hole| hole.extent > limits.largest * span || limits.largest.is_nan())
    {
        let (place, extent) = (hole.middle, hole.extent);
        return Err(HoleError::TooLarge { place, extent, span, largest: limits.largest });
    }
    let mesh = filled(&mesh, &mut holes, opening.as_ref(), span)?;
    let mut repairs = repairs(&holes, joined.len(), span);
    let opening = opening.map(|hole| {
        repairs.push(opening_left(&hole, span));
        let rim = hole.rim.iter().map(|v| mesh.positions[*v as usize]).collect();
        Opening { rim, extent: hole.extent }
    });
    let mesh = if joined.is_empty() { mesh } else { without(&mesh, &joined) };
    Ok(Filled { mesh, repairs, opening })
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
        let key = |v: &u32| (place(v).distance_squared(middle), place(v).to_array());
        let order = |a: &u32, b: &u32| {
            let ((d, p), (e, q)) = (key(a), key(b));
            let by_place = p.iter().zip(&q).map(|(x, y)| x.total_cmp(y)).find(|o| o.is_ne());
            d.total_cmp(&e).then(by_place.unwrap_or(std::cmp::Ordering::Equal))
        };
        let start = (0..rim.len()).max_by(|i, j| order(&rim[*i], &rim[*j])).unwrap_or(0);
        rim.rotate_left(start);
        let next = rim.iter().cycle().skip(1);
        let length = rim.iter().zip(next).map(|(a, b)| place(a).distance(place(b))).sum();
        Self { rim, middle, extent, length, sharp: false }
    }
}

/// A hole's fill as it is put together: the bent one, and the cover it was bent from.
struct Fill {
    bent: Patch,
    plain: Patch,
    use_plain: bool,
}

fn filled(
    mesh: &TriMesh,
    holes: &mut [Hole],
    opening: Option<&Hole>,
    span: f64,
) -> Result<TriMesh, HoleError> {
    let users = Users::new(mesh);
    let shared = shared(holes.iter().chain(opening));
    let mut chords: BTreeSet<[u32; 2]> = BTreeSet::new();
    let mut fills = Vec::with_capacity(holes.len());
    for hole in &mut *holes {
        let rim: Vec<u32> = hole.rim.iter().rev().copied().collect();
        let mut around = Surround::new(mesh, &users, &rim, (hole.middle, hole.extent), &shared);
        hole.sharp = around.sharp_ends(SHARP) >= 2;
        // Two holes with common points must not both draw the edge between them.
        let common: Vec<u32> =
            (0..).zip(&rim).filter(|(_, v)| shared.contains(v)).map(|(i, _)| i).collect();
        for (i, a) in common.iter().enumerate() {
            for b in &common[i + 1..] {
                let (u, v) = (rim[*a as usize], rim[*b as usize]);
                if chords.contains(&[u.min(v), u.max(v)]) {
                    around.taken.insert([*a, *b]);
                }
            }
        }
        let fill = fill(&around);
        if !common.is_empty() {
            for t in fill.bent.triangles.iter().chain(&fill.plain.triangles) {
                for k in 0..3 {
                    let (a, b) = (t[k] as usize, t[(k + 1) % 3] as usize);
                    if a < rim.len() && b < rim.len() {
                        chords.insert([rim[a].min(rim[b]), rim[a].max(rim[b])]);
                    }
                }
            }
        }
        fills.push(fill);
    }
    let (mut whole, mut ranges) = assembled(mesh, holes, &fills);
    let refused = |hole: &Hole, sheet: bool| {
        let (place, extent) = (hole.middle, hole.extent);
        if sheet {
            HoleError::Sheet { place, extent, span }
        } else {
            HoleError::Crossing { place, extent, span }
        }
    };
    if let Some(i) = first_folded(mesh, &users, holes, &whole, &ranges) {
        return Err(refused(&holes[i], true));
    }
    let bad = crossing(&whole, &ranges);
    if bad.contains(&true) {
        for (fill, bad) in fills.iter_mut().zip(bad) {
            fill.use_plain = bad;
        }
        (whole, ranges) = assembled(mesh, holes, &fills);
        if let Some(i) = crossing(&whole, &ranges).iter().position(|bad| *bad) {
            return Err(refused(&holes[i], false));
        }
    }
    Ok(whole)
}

/// The vertices that lie on several rims, or on one several times.
fn shared<'a>(holes: impl Iterator<Item = &'a Hole>) -> BTreeSet<u32> {
    let mut all: Vec<u32> = holes.flat_map(|hole| hole.rim.iter().copied()).collect();
    all.sort_unstable();
    all.windows(2).filter(|pair| pair[0] == pair[1]).map(|pair| pair[0]).collect()
}

fn fill(around: &Surround) -> Fill {
    let rim = around.rim;
    let mut points = around.points[..rim].to_vec();
    let taken = |i: usize, k: usize| around.taken.contains(&[i.min(k) as u32, i.max(k) as u32]);
    let hole = Loop { points: &points, across: &around.across, taken: &taken };
    let triangles = cover(&hole).unwrap_or_else(|| {
        // Every edge to a new point is new, so this is always possible.
        let middle = points.iter().fold(DVec3::ZERO, |sum, p| sum + *p) / rim as f64;
        points.push(middle);
        (0..rim).map(|i| [i as u32, ((i + 1) % rim) as u32, rim as u32]).collect()
    });
    let mut plain = Patch::new(points, rim, triangles, &around.taken);
    plain.refine(&around.spacing);
    let mut bent = plain.clone();
    fair(&mut bent, around);
    Fill { bent, plain, use_plain: false }
}

/// The mesh with the fills after it, and which of its triangles each fill is.
fn assembled(mesh: &TriMesh, holes: &[Hole], fills: &[Fill]) -> (TriMesh, Vec<Range<usize>>) {
    let mut whole = mesh.clone();
    let mut ranges = Vec::with_capacity(fills.len());
    for (hole, fill) in holes.iter().zip(fills) {
        let patch = if fill.use_plain { &fill.plain } else { &fill.bent };
        let first = whole.positions.len() as u32;
        let n = patch.rim;
        let number = |v: u32| {
            if (v as usize) < n { hole.rim[n - 1 - v as usize] } else { first + v - n as u32 }
        };
        let start = whole.triangles.len();
        whole.triangles.extend(patch.triangles.iter().map(|t| t.map(number)));
        whole.positions.extend(patch.points[n..].iter().map(|p| hole.middle + *p * hole.extent));
        ranges.push(start..whole.triangles.len());
    }
    (whole, ranges)
}

/// The first hole whose fill mostly lies on the back of the surface next to it.
fn first_folded(
    mesh: &TriMesh,
    users: &Users,
    holes: &[Hole],
    whole: &TriMesh,
    ranges: &[Range<usize>],
) -> Option<usize> {
    holes.iter().zip(ranges).position(|(hole, range)| {
        let next = hole.rim.iter().cycle().skip(1);
        let sides = hole.rim.iter().zip(next).map(|(a, b)| [*a, *b]);
        // The fill runs along the rim the other way.
        let normal = |[a, b]: [u32; 2]| ([b, a], users.normal_along(mesh, [a, b]));
        let mut normals: Vec<([u32; 2], DVec3)> = sides.map(normal).collect();
        normals.sort_unstable_by_key(|(ends, _)| *ends);
        folded_back(whole, range, &normals) > 0.5
    })
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
