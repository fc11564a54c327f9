//! The ridge of the upper side, and the three points on it that girths are taken at.
//!
//! The ridge is the uppermost line of the last from the toe to the front of the top: in every
//! upright section across, the middle of its highest few millimetres, made even along the
//! last. What lies on it is common practice, no source; the places are given in ball lengths
//! (from the seat to the middle between the joints), so that they depend neither on the size
//! nor on where the top is cut off, and along the ridge, so that they depend little on the
//! pose:
//!
//! - vamp point: where the ball plane, upright through both joints, meets the ridge;
//! - instep point: 0.30 ball lengths behind it, as a tape laid on the ridge reads it;
//! - waist point: half-way between the two.

use glam::DVec3;

use geometry::mesh::TriMesh;

use super::cut::{cut, heights_at};
use super::marks::{Marks, Source};

/// From vamp to instep along the ridge, in ball lengths.
const INSTEP_BEHIND_VAMP: f64 = 0.30;
/// The waist's share of the way from vamp to instep.
const WAIST_SHARE: f64 = 0.5;
/// Where waist and instep come to lie about, in ball lengths from the seat.
pub(super) const WAIST_ABOUT: f64 = 0.88;
pub(super) const INSTEP_ABOUT: f64 = 0.76;
/// How deep the highest part of a section reaches, in ball lengths: 3.4 mm on an adult's last.
const CAP: f64 = 0.02;
/// The ridge is made even over this much to either side, in ball lengths: 17 mm.
pub(super) const EVEN: f64 = 0.10;
/// Sections of the ridge in a ball length.
const SECTIONS: f64 = 86.0;

/// The points found on the ridge, in the last frame.
#[derive(Debug, Clone, Copy)]
pub(super) struct OnRidge {
    pub(super) vamp: DVec3,
    pub(super) waist: DVec3,
    pub(super) instep: DVec3,
    /// Whether the ridge ended before the instep point; it is then at the end of the ridge.
    pub(super) short: bool,
}

/// Finds the points on `mesh`, which stands in the last frame. `joints` are both joints, `end`
/// is where the top begins: its x. A `vamp` set by the user is where waist and instep are
/// measured from.
pub(super) fn points(
    mesh: &TriMesh,
    joints: [DVec3; 2],
    end: f64,
    vamp: Option<DVec3>,
) -> Option<OnRidge> {
    let middle = (joints[0] + joints[1]) / 2.0;
    let ball_length = middle.x;
    let ridge = ridge(mesh, joints, vamp, end, ball_length)?;
    let across = (joints[0] - joints[1]).with_z(0.0);
    let plane = across.cross(DVec3::Z).normalize_or_zero();
    let side = |p: &DVec3| (*p - middle).dot(plane);
    let crossed = ridge.windows(2).enumerate().find_map(|(i, pair)| {
        let (a, b) = (side(&pair[0]), side(&pair[1]));
        ((a < 0.0) != (b < 0.0)).then(|| (i, pair[0].lerp(pair[1], a / (a - b))))
    });
    let (i, from) = match vamp {
        Some(at) => (ridge.iter().position(|p| p.x < at.x)?.saturating_sub(1), at),
        None => crossed?,
    };
    let way = std::iter::once(from).chain(ridge[i + 1..].iter().copied()).collect::<Vec<_>>();
    let reach = INSTEP_BEHIND_VAMP * ball_length;
    let (waist, _) = along(&way, reach * WAIST_SHARE);
    let (instep, short) = along(&way, reach);
    let lifted = |p: DVec3| heights_at(mesh, p.x, p.y).map_or(p, |(_, z)| p.with_z(z));
    Some(OnRidge {
        vamp: vamp.unwrap_or(lifted(from)),
        waist: lifted(waist),
        instep: lifted(instep),
        short,
    })
}

/// Puts those of `marks` that the rule found on the ridge where it finds them on `mesh`, a
/// standing last whose other marks these are. They stay where no ridge shows; returns whether one
/// does.
pub(super) fn find_anew(mesh: &TriMesh, marks: &mut Marks) -> bool {
    let joints = [marks.joint_medial.at, marks.joint_lateral.at];
    let vamp = (marks.vamp.source == Source::User).then_some(marks.vamp.at);
    let Some(on) = points(mesh, joints, marks.top_front.at.x, vamp) else { return false };
    for (mark, at) in
        [(&mut marks.vamp, on.vamp), (&mut marks.waist, on.waist), (&mut marks.instep, on.instep)]
    {
        if mark.source == Source::Found {
            mark.at = at;
        }
    }
    true
}

/// The ridge from the front to the rear.
fn ridge(
    mesh: &TriMesh,
    joints: [DVec3; 2],
    vamp: Option<DVec3>,
    end: f64,
    ball_length: f64,
) -> Option<Vec<DVec3>> {
    let foremost = joints.into_iter().chain(vamp).map(|p| p.x).fold(f64::MIN, f64::max);
    let from = foremost + EVEN * ball_length;
    let steps = ((from - end) / ball_length * SECTIONS).floor();
    if !(4.0..4.0 * SECTIONS).contains(&steps) {
        return None;
    }
    let sections: Vec<(f64, Vec<[DVec3; 2]>, f64)> = (0..=steps as usize)
        .filter_map(|k| {
            let x = from - k as f64 * ball_length / SECTIONS;
            let pieces = cut(mesh, DVec3::X * x, DVec3::X);
            let y = cap_middle(&pieces, CAP * ball_length)?;
            Some((x, pieces, y))
        })
        .collect();
    let points: Vec<DVec3> = sections
        .iter()
        .filter_map(|(x, pieces, _)| {
            let y = even(&sections, *x, EVEN * ball_length);
            let z = highest(pieces, y)?;
            Some(DVec3::new(*x, y, z))
        })
        .collect();
    (points.len() > 4).then_some(points)
}

/// The y of the middle of what rises above `depth` below the highest point of a section, the
/// higher the more it counts.
fn cap_middle(pieces: &[[DVec3; 2]], depth: f64) -> Option<f64> {
    let top = pieces.iter().flatten().map(|p| p.z).max_by(f64::total_cmp)?;
    let (mut sum, mut whole) = (0.0, 0.0);
    for [a, b] in pieces {
        // Long pieces in parts, so that the sum is that of the surface and not of its mesh.
        let parts = ((b.y - a.y).abs() / 0.5).ceil().max(1.0);
        for k in 0..parts as usize {
            let p = a.lerp(*b, (k as f64 + 0.5) / parts);
            let weight = (p.z - top + depth).max(0.0).powi(2) * (b.y - a.y).abs() / parts;
            sum += p.y * weight;
            whole += weight;
        }
    }
    (whole > 0.0).then(|| sum / whole)
}

/// The y of the ridge at `x`: a straight line fitted to the sections within `reach`, the
/// nearer the more they count.
fn even(sections: &[(f64, Vec<[DVec3; 2]>, f64)], x: f64, reach: f64) -> f64 {
    let (mut w, mut wt, mut wtt, mut wy, mut wty) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (at, _, y) in sections {
        let t = (at - x) / reach;
        let weight = (1.0 - t.abs().powi(3)).max(0.0).powi(3);
        w += weight;
        wt += weight * t;
        wtt += weight * t * t;
        wy += weight * y;
        wty += weight * t * y;
    }
    let spread = w * wtt - wt * wt;
    if spread > 1e-9 * w * w { (wy * wtt - wty * wt) / spread } else { wy / w.max(1e-12) }
}

/// The highest place of a section at `y`.
fn highest(pieces: &[[DVec3; 2]], y: f64) -> Option<f64> {
    pieces
        .iter()
        .filter(|[a, b]| (a.y <= y) != (b.y <= y))
        .map(|[a, b]| a.z + (b.z - a.z) * (y - a.y) / (b.y - a.y))
        .max_by(f64::total_cmp)
}

/// The point `reach` along `way`, and whether the way is shorter than that.
fn along(way: &[DVec3], reach: f64) -> (DVec3, bool) {
    let mut left = reach;
    for pair in way.windows(2) {
        let step = pair[0].distance(pair[1]);
        if left <= step {
            return (pair[0].lerp(pair[1], left / step.max(1e-12)), false);
        }
        left -= step;
    }
    (way[way.len() - 1], true)
}
