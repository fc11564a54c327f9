//! Line and pose by turns: the feather line tells the pose, and the pose how to read the line.

use glam::DVec3;

use geometry::mesh::TriMesh;
use geometry::section::Slicer;
use geometry::surface::Closest;

use super::error::StandError;
use super::feather::{self, EdgeKind, Ring, Traced};
use super::foot::FootSigns;
use super::joints::rearmost;
use super::level::{Known, Level, stand_level};
use super::marks::{Foot, GivenMarks};
use super::spine::spine;

/// Which foot it looks like, and by what.
#[derive(Debug, Clone, Copy)]
pub(super) struct Told {
    /// The foot, by the user's joints where they are given.
    pub(super) foot: Foot,
    /// Whether the user's joints said so.
    pub(super) by_joints: bool,
    /// The signs of the surface.
    pub(super) signs: FootSigns,
}

/// Line, pose and foot of a mesh in its rough frame, all found; `marks` are in that frame.
pub(super) fn by_found_line(
    slicer: &Slicer,
    known: &mut Known,
    marks: &GivenMarks,
) -> Result<(Traced, Level, Told), StandError> {
    let spine = spine(slicer.mesh());
    let mut up = DVec3::Z;
    let swept = feather::sweep(slicer, &spine, up)?;
    let start = swept.points()[0];
    let mut guide = swept.smoothed(2.0, 5.0, start);
    let coarse = feather::follow(slicer, &guide, start, up, 2.0, 12.0)?;
    known.edgeless = coarse.edge == EdgeKind::Absent;
    let (mut level, _) = settle(slicer.mesh(), &coarse.points, known, marks)?;
    guide = Ring::new(coarse.points).smoothed(2.0, 3.0, level.seat);
    // Without an edge the line depends on what is down, and so on the pose: once more.
    if known.edgeless {
        up = level.turned.transpose() * DVec3::Z;
        let again = feather::follow(slicer, &guide, level.seat, up, 2.0, 8.0)?;
        (level, _) = settle(slicer.mesh(), &again.points, known, marks)?;
        guide = Ring::new(again.points).smoothed(2.0, 3.0, level.seat);
    }
    up = level.turned.transpose() * DVec3::Z;
    // Once more: the planes square to the finer line depend less on where the search began.
    let first = feather::follow(slicer, &guide, level.seat, up, 1.0, 5.0)?;
    guide = Ring::new(first.points).smoothed(1.0, 3.0, level.seat);
    let fine = feather::follow(slicer, &guide, level.seat, up, 1.0, 5.0)?;
    known.edgeless = fine.edge == EdgeKind::Absent;
    let (level, told) = on_its_seat(slicer.mesh(), &fine.points, known, marks)?;
    Ok((fine, level, told))
}

/// Pose and foot by a line: between two points of the line the seat and the joints lie on a chord of
/// the surface, by a hair beside it, and are put on the surface.
fn on_its_seat(
    mesh: &TriMesh,
    line: &[DVec3],
    known: &mut Known,
    marks: &GivenMarks,
) -> Result<(Level, Told), StandError> {
    let (mut level, mut told) = settle(mesh, line, known, marks)?;
    if known.seat.is_none() {
        // The heel height counts from the seat.
        known.seat = Some(on_surface(mesh, level.seat));
        let again = settle(mesh, line, known, marks);
        known.seat = None;
        (level, told) = again?;
    }
    let back = level.turned.transpose();
    for (joint, given) in level.joints.iter_mut().zip(known.joints) {
        if given.is_none() {
            let at = on_surface(mesh, back * joint.at + level.seat);
            joint.at = level.turned * (at - level.seat);
        }
    }
    Ok((level, told))
}

/// The place of the surface nearest to `p`, which lies beside it by less than a millimetre.
fn on_surface(mesh: &TriMesh, p: DVec3) -> DVec3 {
    const BESIDE: DVec3 = DVec3::ONE;
    let is_near = |corners: &[DVec3; 3]| {
        let [a, b, c] = *corners;
        (a.min(b).min(c) - BESIDE).cmple(p).all() && (a.max(b).max(c) + BESIDE).cmpge(p).all()
    };
    let near = (0..mesh.triangles.len() as u32).map(|f| mesh.corners(f)).filter(is_near);
    let positions: Vec<DVec3> = near.flatten().collect();
    let triangles =
        (0..positions.len() as u32 / 3).map(|f| [3 * f, 3 * f + 1, 3 * f + 2]).collect();
    let part = TriMesh { positions, triangles };
    Closest::new(&part).to(p, 0.0).map_or(p, |on| on.position(&part))
}

/// The same with the user's line, of which only the kind of edge is read off the surface.
pub(super) fn by_given_line(
    slicer: &Slicer,
    line: &[DVec3],
    known: &mut Known,
    marks: &GivenMarks,
) -> Result<(Traced, Level, Told), StandError> {
    let points = counter_clockwise(line.to_vec());
    let guide = Ring::new(points.clone());
    let start = rearmost(&points).ok_or(NOT_ALL_ROUND)?;
    let edge = feather::follow(slicer, &guide, start, DVec3::Z, 2.0, 6.0)
        .map_or(EdgeKind::Rounded, |traced| traced.edge);
    known.edgeless = edge == EdgeKind::Absent;
    let (level, told) = on_its_seat(slicer.mesh(), &points, known, marks)?;
    Ok((Traced { points, edge, sureness: 1.0 }, level, told))
}

const NOT_ALL_ROUND: StandError = StandError::NoFeatherLine { found: 0, of: 0 };

fn settle(
    mesh: &TriMesh,
    line: &[DVec3],
    known: &mut Known,
    marks: &GivenMarks,
) -> Result<(Level, Told), StandError> {
    known.joints = [None, None];
    let mut level = stand_level(mesh, line, known).ok_or(NOT_ALL_ROUND)?;
    // Which side a given joint is on, the line itself tells.
    let is_left = |p: DVec3| (level.turned * (p - level.seat)).y > 0.0;
    let medial_left = marks.joint_medial.map(is_left);
    let lateral_left = marks.joint_lateral.map(is_left);
    if medial_left.is_some() && medial_left == lateral_left {
        let why = "both joints lie on the same side of the axis; move one across".into();
        return Err(StandError::BadGiven { what: "joints", why });
    }
    for (left, at) in [(medial_left, marks.joint_medial), (lateral_left, marks.joint_lateral)] {
        if let Some(left) = left {
            known.joints[usize::from(!left)] = at;
        }
    }
    if known.joints.iter().any(Option::is_some) {
        level = stand_level(mesh, line, known).ok_or(NOT_ALL_ROUND)?;
    }
    let standing: Vec<DVec3> = line.iter().map(|p| level.turned * (*p - level.seat)).collect();
    let toe = level.turned * (level.toe - level.seat);
    let signs = FootSigns::read(&standing, level.length, &level.joints, toe);
    let by_joints = medial_left.or(lateral_left.map(|left| !left));
    let foot = match by_joints {
        Some(true) => Foot::Right,
        Some(false) => Foot::Left,
        None => signs.foot(),
    };
    Ok((level, Told { foot, by_joints: by_joints.is_some(), signs }))
}

/// The line turned, where need be, to run counter-clockwise seen from above.
fn counter_clockwise(mut line: Vec<DVec3>) -> Vec<DVec3> {
    let n = line.len();
    let twice_area: f64 =
        (0..n).map(|i| line[i].truncate().perp_dot(line[(i + 1) % n].truncate())).sum();
    if twice_area < 0.0 {
        line.reverse();
    }
    line
}

/// A counter-clockwise line in the last frame, begun at its point nearest to the seat and
/// running round the inside first.
pub(super) fn from_seat_inside_first(mut line: Vec<DVec3>, foot: Foot) -> Vec<DVec3> {
    // Counter-clockwise from the back, the right side comes first: the inside of a left foot.
    if foot == Foot::Right {
        line.reverse();
    }
    let first = (0..line.len())
        .min_by(|a, b| line[*a].length_squared().total_cmp(&line[*b].length_squared()));
    line.rotate_left(first.unwrap_or(0));
    line
}
