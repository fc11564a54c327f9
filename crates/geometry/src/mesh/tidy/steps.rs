//! The steps of tidying: each mends one thing and tells it.

use glam::DVec3;

use super::{NOTHING, TidyError};
use crate::mesh::TriMesh;
use crate::mesh::bodies::{largest_body, only, split_touching};
use crate::mesh::caps::mend_caps;
use crate::mesh::orient::{Oriented, orient_outward, twisted};
use crate::mesh::repair::{Repair, RepairKind, largest_places};
use crate::mesh::seams::{close_seams, loose_tolerance};
use crate::mesh::spikes::flatten_spikes;
use crate::mesh::weld::{size_and_middle, weld_counted};

/// Points joined, and what collapsed by it removed.
pub(super) fn welded(
    mesh: &TriMesh,
    tolerance: f64,
    extent: f64,
    repairs: &mut Vec<Repair>,
) -> Result<TriMesh, TidyError> {
    let mut welded = weld_counted(mesh, tolerance);
    if let Some(wider) = loose_tolerance(&welded.mesh, tolerance) {
        welded = weld_counted(mesh, wider);
    }
    if welded.mesh.triangles.is_empty() {
        return Err(TidyError::NothingLeft { tolerance, extent });
    }
    // With as many left as removed, the whole surface was there twice.
    let twice = welded.doubled >= welded.mesh.triangles.len();
    let doubled_kind =
        if twice { RepairKind::DoubledShellRemoved } else { RepairKind::DoubledTrianglesRemoved };
    let steps = [
        (
            RepairKind::PointsJoined,
            welded.joined,
            welded.joined_places,
            "points welded to a neighbour",
        ),
        (
            RepairKind::EmptyTrianglesRemoved,
            welded.degenerate,
            welded.degenerate_places,
            "triangles without area removed",
        ),
        (doubled_kind, welded.doubled, welded.doubled_places, "doubled triangles removed"),
        (
            RepairKind::UnusedPointsRemoved,
            welded.unused,
            Vec::new(),
            "points without a triangle removed",
        ),
    ];
    for (kind, count, places, what) in steps {
        if count > 0 {
            repairs.push(Repair::new(kind, count, places, format!("{what}: {count}"), NOTHING));
        }
    }
    Ok(welded.mesh)
}

pub(super) fn parted(count: usize, places: Vec<DVec3>) -> Repair {
    Repair::new(
        RepairKind::TouchingParted,
        count,
        places,
        format!("points parted where the surface only touched itself: {count}"),
        "look at the surface there",
    )
}

/// Rims that nearly match joined.
pub(super) fn zipped(mesh: TriMesh, repairs: &mut Vec<Repair>) -> TriMesh {
    let Some(zipped) = close_seams(&mesh) else { return mesh };
    let length: f64 = zipped.closed.iter().map(|(length, _)| length / 2.0).sum();
    let told = Repair::new(
        RepairKind::SeamsClosed,
        zipped.closed.len(),
        largest_places(zipped.closed),
        "rims that nearly match closed like a seam, over a length of {}",
        NOTHING,
    );
    repairs.push(told.with_lengths(vec![length]));
    split_touching(&zipped.mesh).0
}

/// Points that stand out alone pulled back.
pub(super) fn despiked(mesh: &mut TriMesh, repairs: &mut Vec<Repair>) {
    let spikes = flatten_spikes(mesh);
    if !spikes.is_empty() {
        repairs.push(Repair::new(
            RepairKind::SpikesRemoved,
            spikes.len(),
            largest_places(spikes.clone()),
            format!("single points far off the surface pulled back into it: {}", spikes.len()),
            "look at the surface there, if it should have a point",
        ));
    }
}

/// Turned outward, each triangle that was not.
pub(super) fn turned(body: &TriMesh, repairs: &mut Vec<Repair>) -> TriMesh {
    let Oriented { mesh, flipped, flat, .. } = orient_outward(body);
    if flipped > 0 {
        let was = (0..).zip(mesh.triangles.iter().zip(&body.triangles));
        let places = was.filter(|(_, (new, old))| new != old);
        let places = places.map(|(face, _)| size_and_middle(body.corners(face))).collect();
        repairs.push(Repair::new(
            RepairKind::TurnedOutward,
            flipped,
            largest_places(places),
            format!("triangles flipped to face outward: {flipped}"),
            NOTHING,
        ));
    }
    if flat > 0 {
        repairs.push(Repair::new(
            RepairKind::FlatLeft,
            flat,
            Vec::new(),
            "the surface is flat: inside and outside cannot be told",
            "flip it by hand if it faces the wrong way",
        ));
    }
    mesh
}

/// Drops the smaller triangle of each pair that cannot face the same way.
pub(super) fn untwist(mesh: TriMesh, repairs: &mut Vec<Repair>) -> TriMesh {
    let twisted = twisted(&mesh);
    if twisted.is_empty() {
        return mesh;
    }
    let areas = mesh.face_areas();
    let mut dropped = vec![false; mesh.triangles.len()];
    for [a, b] in twisted {
        if !dropped[a as usize] && !dropped[b as usize] {
            let smaller = if areas[b as usize] <= areas[a as usize] { b } else { a };
            dropped[smaller as usize] = true;
        }
    }
    let kept: Vec<u32> = (0..).zip(&dropped).filter(|(_, d)| !**d).map(|(f, _)| f).collect();
    let count = mesh.triangles.len() - kept.len();
    let gone = (0..).zip(&dropped).filter(|(_, d)| **d);
    repairs.push(Repair::new(
        RepairKind::TwistedRemoved,
        count,
        largest_places(gone.map(|(f, _)| size_and_middle(mesh.corners(f))).collect()),
        format!(
            "triangles removed where the surface is twisted so that it has no outside: {count}"
        ),
        "look at the surface there; a strip that turns over does not belong to a solid form",
    ));
    only(&mesh, &kept)
}

/// Mends triangles without height.
pub(super) fn without_caps(mesh: TriMesh, repairs: &mut Vec<Repair>) -> TriMesh {
    let mended = mend_caps(&mesh);
    let count = mended.flipped + mended.dropped;
    if count > 0 {
        repairs.push(Repair::new(
            RepairKind::SliversMended,
            count,
            mended.mended_places,
            format!("triangles without height mended: {count}"),
            NOTHING,
        ));
    }
    if mended.left > 0 {
        repairs.push(Repair::new(
            RepairKind::SliversLeft,
            mended.left,
            mended.left_places,
            format!("triangles without height left as they are: {}", mended.left),
            "look at the surface there; scan or export it again if it is crumpled",
        ));
    }
    // Without a triangle at its rim the body may hang together at a point only.
    if mended.dropped > 0 { split_touching(&largest_body(&mended.mesh)).0 } else { mended.mesh }
}
