//! The marks of the upper side: vamp, waist and instep on the ridge, the ends of the top.

use glam::DVec3;

use geometry::mesh::TriMesh;

use super::cut::heights_at;
use super::marks::{Finding, Found, GivenMarks, Mark};
use super::{ridge, top};

/// What lies on the upper side is at least this much higher than the joints, in ball lengths: 10 mm
/// on an adult's last.
const LEAST_HIGH: f64 = 0.055;

/// The marks of the upper side, in the last frame.
pub(super) struct UpperMarks {
    pub(super) vamp: Mark<DVec3>,
    pub(super) waist: Mark<DVec3>,
    pub(super) instep: Mark<DVec3>,
    pub(super) top_front: Mark<DVec3>,
    pub(super) top_back: Mark<DVec3>,
}

/// Finds what the `user` has not set on `mesh`, which stands in the last frame like the
/// `joints`; `joint_sureness` is how sure these are. What was found goes to `found`.
pub(super) fn find(
    mesh: &TriMesh,
    joints: [DVec3; 2],
    joint_sureness: f64,
    user: &GivenMarks,
    found: &mut Vec<Finding>,
) -> UpperMarks {
    let middle = (joints[0] + joints[1]) / 2.0;
    // A scan cut off low shows the inside of its sole where the upper side is missing.
    let high = joints[0].z.max(joints[1].z) + LEAST_HIGH * middle.x;
    let ends = top::ends(mesh, middle.x).filter(|ends| ends.iter().all(|end| end.at.z > high));
    // Without a top the highest place above the seat half stands for both ends.
    let above = |x: f64| {
        let z = heights_at(mesh, x, 0.0).map_or(0.0, |(_, z)| z);
        DVec3::new(x, 0.0, z)
    };
    let back = ends.map_or_else(|| above(0.15 * middle.x), |[back, _]| back.at);
    let front = ends.map_or_else(|| above(0.5 * middle.x), |[_, front]| front.at);
    let top_front = Mark::user_or(user.top_front, front);
    let on_ridge = ridge::points(mesh, joints, top_front.at.x, user.vamp)
        .filter(|on| [on.vamp, on.waist, on.instep].iter().all(|p| p.z > high));
    let marks = UpperMarks {
        vamp: Mark::user_or(user.vamp, on_ridge.map_or_else(|| above(middle.x), |r| r.vamp)),
        waist: Mark::user_or(
            user.waist,
            on_ridge.map_or_else(|| above(0.85 * middle.x), |r| r.waist),
        ),
        instep: Mark::user_or(
            user.instep,
            on_ridge.map_or_else(|| above(0.7 * middle.x), |r| r.instep),
        ),
        top_front,
        top_back: Mark::user_or(user.top_back, back),
    };

    let mut tell = |given: Option<DVec3>, what: Found, sureness: f64, sentence: &str| {
        if given.is_none() {
            found.push(Finding { what, sureness, sentence: sentence.into() });
        }
    };
    let (ridge_sure, vamp, waist, instep) = match on_ridge {
        None => (
            0.1,
            "No ridge shows on the upper side; the vamp point is put above the middle between the joints.",
            "No ridge shows on the upper side; place the waist point by hand.",
            "No ridge shows on the upper side; place the instep point by hand.",
        ),
        Some(on) => (
            if on.short { 0.5_f64 } else { 1.0 },
            "The vamp point is where the upright plane through both joints meets the ridge of the \
             upper side.",
            "The waist point is half-way along the ridge from the vamp point to the instep point.",
            if on.short {
                "The top begins before the instep point; it is put at the front end of the top."
            } else {
                "The instep point lies on the ridge, 0.30 of the way from seat to joints behind \
                 the vamp point."
            },
        ),
    };
    let by_joints = joint_sureness * 0.95;
    tell(user.vamp, Found::Vamp, by_joints * ridge_sure.max(0.2), vamp);
    tell(user.waist, Found::Waist, by_joints * 0.8 * ridge_sure, waist);
    tell(user.instep, Found::Instep, by_joints * 0.8 * ridge_sure, instep);
    let none = "No top shows; place its ends by hand.";
    tell(
        user.top_front,
        Found::TopFront,
        ends.map_or(0.0, |[_, front]| front.sureness()),
        if ends.is_some() {
            "The front end of the top is where a tape laid over the centre line turns most from \
             the top into the front."
        } else {
            none
        },
    );
    tell(
        user.top_back,
        Found::TopBack,
        ends.map_or(0.0, |[back, _]| back.sureness()),
        if ends.is_some() {
            "The rear end of the top is where a tape laid over the centre line turns most from \
             the back into the top."
        } else {
            none
        },
    );
    marks
}
