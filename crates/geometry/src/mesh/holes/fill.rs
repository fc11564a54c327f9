//! Fills the given holes, and sees to it that no fill passes through the surface.

use std::collections::BTreeSet;
use std::ops::Range;

use glam::DVec3;

use super::cover::{Loop, cover};
use super::crossing::{crossings, folded_back};
use super::fair::fair;
use super::patch::Patch;
use super::surround::{Surround, Users};
use super::{Hole, HoleError};
use crate::mesh::TriMesh;

/// A bend of more than this many degrees is a sharp edge of the surface.
const SHARP: f64 = 30.0;

/// A hole's fill: the bent one, and the cover it was bent from.
struct Fill {
    bent: Patch,
    plain: Patch,
    use_plain: bool,
}

/// What came of it.
pub(super) enum Outcome {
    /// The mesh with its fills.
    Whole(TriMesh),
    /// These triangles next to rims would be crossed and must go first; they ascend.
    Trim(Vec<u32>),
}

/// Fills `holes`, and tells in them which are sharp. In the `last` attempt nothing is trimmed.
pub(super) fn fill(
    mesh: &TriMesh,
    holes: &mut [Hole],
    opening: Option<&Hole>,
    span: f64,
    last: bool,
) -> Result<Outcome, HoleError> {
    let users = Users::new(mesh);
    let mut fills = fill_each(mesh, &users, holes, opening);
    let (whole, ranges) = assembled(mesh, holes, &fills);
    if let Some(hole) = first_folded(mesh, &users, holes, &whole, &ranges) {
        return Err(HoleError::Sheet { place: hole.middle, extent: hole.extent, span });
    }
    let hits = crossings(&whole, &ranges);
    if hits.iter().all(Vec::is_empty) {
        return Ok(Outcome::Whole(whole));
    }
    if !last {
        let mut faces = BTreeSet::new();
        for (hole, hits) in holes.iter().zip(&hits).filter(|(_, hits)| !hits.is_empty()) {
            faces.extend(crossed_at_rim(mesh, &users, hole, &whole, hits));
        }
        if !faces.is_empty() {
            return Ok(Outcome::Trim(faces.into_iter().collect()));
        }
    }
    for (fill, hits) in fills.iter_mut().zip(&hits) {
        fill.use_plain = !hits.is_empty();
    }
    let (whole, ranges) = assembled(mesh, holes, &fills);
    let crossed = crossings(&whole, &ranges).iter().position(|hits| !hits.is_empty());
    match crossed.map(|i| &holes[i]) {
        None => Ok(Outcome::Whole(whole)),
        Some(hole) => Err(HoleError::Crossing { place: hole.middle, extent: hole.extent, span }),
    }
}

fn fill_each(
    mesh: &TriMesh,
    users: &Users,
    holes: &mut [Hole],
    opening: Option<&Hole>,
) -> Vec<Fill> {
    let shared = shared(holes.iter().chain(opening));
    let mut chords: BTreeSet<[u32; 2]> = BTreeSet::new();
    let edge = |a: u32, b: u32| [a.min(b), a.max(b)];
    let mut fills = Vec::with_capacity(holes.len());
    for hole in holes {
        let rim: Vec<u32> = hole.rim.iter().rev().copied().collect();
        let mut around = Surround::new(mesh, users, &rim, (hole.middle, hole.extent), &shared);
        hole.sharp = around.sharp_ends(SHARP) >= 2;
        // Two holes with common points must not both draw the edge between them.
        let common: Vec<u32> =
            (0..).zip(&rim).filter(|(_, v)| shared.contains(v)).map(|(i, _)| i).collect();
        for (i, a) in common.iter().enumerate() {
            for b in &common[i + 1..] {
                if chords.contains(&edge(rim[*a as usize], rim[*b as usize])) {
                    around.taken.insert([*a, *b]);
                }
            }
        }
        let fill = fill_one(&around);
        if common.len() > 1 {
            for t in fill.bent.triangles.iter().chain(&fill.plain.triangles) {
                let sides = [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])];
                let chord = |v: u32| rim.get(v as usize);
                let drawn = sides.iter().filter_map(|(a, b)| chord(*a).zip(chord(*b)));
                chords.extend(drawn.map(|(a, b)| edge(*a, *b)));
            }
        }
        fills.push(fill);
    }
    fills
}

/// The vertices that lie on several rims, or on one several times.
fn shared<'a>(holes: impl Iterator<Item = &'a Hole>) -> BTreeSet<u32> {
    let mut all: Vec<u32> = holes.flat_map(|hole| hole.rim.iter().copied()).collect();
    all.sort_unstable();
    all.windows(2).filter(|pair| pair[0] == pair[1]).map(|pair| pair[0]).collect()
}

fn fill_one(around: &Surround) -> Fill {
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
fn first_folded<'a>(
    mesh: &TriMesh,
    users: &Users,
    holes: &'a [Hole],
    whole: &TriMesh,
    ranges: &[Range<usize>],
) -> Option<&'a Hole> {
    let folded = |(hole, range): &(&Hole, &Range<usize>)| {
        let next = hole.rim.iter().cycle().skip(1);
        let sides = hole.rim.iter().zip(next).map(|(a, b)| [*a, *b]);
        // The fill runs along the rim the other way.
        let normal = |[a, b]: [u32; 2]| ([b, a], users.normal_along(mesh, [a, b]));
        let mut normals: Vec<([u32; 2], DVec3)> = sides.map(normal).collect();
        normals.sort_unstable_by_key(|(ends, _)| *ends);
        folded_back(whole, range, &normals) > 0.5
    };
    holes.iter().zip(ranges).find(folded).map(|(hole, _)| hole)
}

/// The triangles of `mesh` that a fill crosses, when all lie within two rings of its rim: there
/// a fold of the rim is in the way. What the fill crosses further off is another part of the
/// surface, and must stay. Where a fill crosses itself next to its rim, the triangles around.
fn crossed_at_rim(
    mesh: &TriMesh,
    users: &Users,
    hole: &Hole,
    whole: &TriMesh,
    hits: &[(u32, u32)],
) -> Vec<u32> {
    let ring = hole.rim.iter().flat_map(|v| users.of(*v));
    let near: BTreeSet<u32> = ring.flat_map(|f| mesh.triangles[*f as usize]).collect();
    let rim: BTreeSet<u32> = hole.rim.iter().copied().collect();
    let mut faces = Vec::new();
    for (own, other) in hits {
        match mesh.triangles.get(*other as usize) {
            Some(t) if t.iter().any(|v| near.contains(v)) => faces.push(*other),
            Some(_) => return Vec::new(),
            None => {
                let corners = whole.triangles[*own as usize];
                let on_rim = corners.iter().filter(|v| rim.contains(v));
                faces.extend(on_rim.flat_map(|v| users.of(*v)));
            }
        }
    }
    faces
}
