//! The ends of the top along the centre line.
//!
//! The upright section through the seat and the middle between the joints, with a tape laid
//! over it: the tape bridges an open top, the hole for the hinge and the hollow of the instep.
//! Where it turns most, from the back into the top and from the top into the front, are the
//! two ends. A rounded end counts by the middle of its turn.

use glam::{DVec2, DVec3};

use geometry::mesh::TriMesh;

use super::cut::{cut, taut};

/// Half the stretch over which a turn counts as one, in ball lengths (seat to the middle
/// between the joints): 8 mm on an adult's last.
const TURN_WITHIN: f64 = 0.047;
/// The back end is sought no further forward than this, in ball lengths.
const BACK_BEFORE: f64 = 0.40;
/// The front end is sought at least this far in front of the back end, in ball lengths.
const LEAST_TOP: f64 = 0.15;
/// The front end is sought no further forward than this, in ball lengths.
const FRONT_BEFORE: f64 = 0.85;
/// An end is clear where the tape turns by this much there, degrees.
const CLEAR: f64 = 40.0;

/// An end of the top, in the last frame.
#[derive(Debug, Clone, Copy)]
pub(super) struct TopEnd {
    /// On the surface.
    pub(super) at: DVec3,
    /// How far the tape turns there, degrees.
    pub(super) turn: f64,
}

impl TopEnd {
    /// How sure it is, 0 to 1.
    pub(super) fn sureness(&self) -> f64 {
        0.9 * (self.turn / CLEAR).clamp(0.0, 1.0)
    }
}

/// Rear and front end of the top of `mesh`, standing in the last frame. `ball_length` runs
/// from the seat to the middle between the joints, mm.
pub(super) fn ends(mesh: &TriMesh, ball_length: f64) -> Option<[TopEnd; 2]> {
    let pieces = cut(mesh, DVec3::ZERO, DVec3::Y);
    let tape: Vec<DVec2> = upper_half(&pieces)?;
    let within = TURN_WITHIN * ball_length;
    let back = corner(&tape, within, |p| p.x < BACK_BEFORE * ball_length)?;
    let front = corner(&tape, within, |p| {
        p.x > back.0.x + LEAST_TOP * ball_length && p.x < FRONT_BEFORE * ball_length
    })?;
    let on_surface = |(at, turn): (DVec2, f64)| TopEnd { at: nearest(&pieces, at), turn };
    Some([on_surface(back), on_surface(front)])
}

/// The tape from the rearmost point over the top to the foremost, as (x, z).
fn upper_half(pieces: &[[DVec3; 2]]) -> Option<Vec<DVec2>> {
    // Seen from +y the hull runs counter-clockwise with z up and x to the left: from the
    // rearmost point over the top to the toe it runs against that.
    let mut hull: Vec<DVec2> = taut(pieces.iter().flatten().copied(), DVec3::Y)
        .into_iter()
        .map(|p| DVec2::new(p.x, p.z))
        .collect();
    let n = hull.len();
    if n < 8 {
        return None;
    }
    let area: f64 = (0..n).map(|i| hull[i].perp_dot(hull[(i + 1) % n])).sum();
    if area > 0.0 {
        hull.reverse();
    }
    let rear = (0..n).min_by(|a, b| hull[*a].x.total_cmp(&hull[*b].x))?;
    hull.rotate_left(rear);
    let front = (0..n).max_by(|a, b| hull[*a].x.total_cmp(&hull[*b].x))?;
    hull.truncate(front + 1);
    Some(hull)
}

/// Where the tape turns most among its points `of` interest, and by how much, in degrees.
fn corner(tape: &[DVec2], within: f64, of: impl Fn(DVec2) -> bool) -> Option<(DVec2, f64)> {
    let mut arc = vec![0.0];
    for pair in tape.windows(2) {
        arc.push(arc[arc.len() - 1] + pair[0].distance(pair[1]));
    }
    let turn_at = |i: usize| -(tape[i] - tape[i - 1]).angle_to(tape[i + 1] - tape[i]);
    let turns: Vec<(f64, f64)> =
        (1..tape.len().saturating_sub(1)).map(|i| (arc[i], turn_at(i))).collect();
    // The weight falls to nothing at the border, so that no turn enters or leaves at once.
    let weight = |from: f64| (1.0 - (from / within).powi(2)).max(0.0);
    let whole = |s: f64| turns.iter().map(|(at, turn)| turn * weight(at - s)).sum::<f64>();
    let start = turns
        .iter()
        .zip(&tape[1..])
        .filter(|(_, p)| of(**p))
        .max_by(|(a, _), (b, _)| whole(a.0).total_cmp(&whole(b.0)))?;
    let mut s = start.0.0;
    for _ in 0..6 {
        let total = whole(s);
        if total <= 0.0 {
            return None;
        }
        s = turns.iter().map(|(at, turn)| at * turn * weight(at - s)).sum::<f64>() / total;
    }
    let i = arc.partition_point(|a| *a <= s).clamp(1, arc.len() - 1) - 1;
    let share = ((s - arc[i]) / (arc[i + 1] - arc[i]).max(1e-12)).clamp(0.0, 1.0);
    Some((tape[i].lerp(tape[i + 1], share), whole(s).to_degrees()))
}

/// The point of the section nearest to `at`.
fn nearest(pieces: &[[DVec3; 2]], at: DVec2) -> DVec3 {
    let at = DVec3::new(at.x, 0.0, at.y);
    let on = |[a, b]: &[DVec3; 2]| {
        let side = *b - *a;
        *a + side * ((at - *a).dot(side) / side.length_squared().max(1e-30)).clamp(0.0, 1.0)
    };
    pieces
        .iter()
        .map(on)
        .min_by(|a, b| a.distance_squared(at).total_cmp(&b.distance_squared(at)))
        .unwrap_or(at)
}
