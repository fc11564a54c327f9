//! Left or right: from the place of the joints, the hollow of the waist and the swing of the
//! toe.

use glam::DVec3;

use super::joints::Widest;
use super::marks::Foot;

/// The signs, each positive where +y is the inside (a right foot); a full vote is 1.
#[derive(Debug, Clone, Copy)]
pub(super) struct FootSigns {
    /// How much further forward the left joint lies, mm.
    pub(super) joint_ahead: f64,
    /// How much deeper the waist is hollowed on the left, mm.
    pub(super) hollow: f64,
    /// How far the toe swings to the left of the axis, mm.
    pub(super) swing: f64,
    vote: f64,
}

impl FootSigns {
    /// Reads the signs off a feather line heading along x with the seat at the origin.
    pub(super) fn read(line: &[DVec3], length: f64, joints: &[Widest; 2], toe: DVec3) -> Self {
        let joint_ahead = joints[0].at.x - joints[1].at.x;
        let hollow =
            hollow(line, length, joints[0].at, 1.0) - hollow(line, length, joints[1].at, -1.0);
        let swing = toe.y;
        // An inside joint some 6 % of the length ahead, a waist 3 mm deeper and a toe that
        // swings by 3 % are ordinary.
        let capped = |v: f64| v.clamp(-1.5, 1.5);
        let vote = capped(joint_ahead / (0.06 * length))
            + capped(hollow / 3.0)
            + 0.5 * capped(swing / (0.03 * length));
        Self { joint_ahead, hollow, swing, vote }
    }

    /// The foot they speak for.
    pub(super) fn foot(&self) -> Foot {
        if self.vote >= 0.0 { Foot::Right } else { Foot::Left }
    }

    /// How clearly, 0 to 1.
    pub(super) fn sureness(&self) -> f64 {
        (self.vote.abs() / 2.0).min(1.0)
    }
}

/// How deep the line lies inside the straight edge from the widest seat to the joint, mm.
fn hollow(line: &[DVec3], length: f64, joint: DVec3, sign: f64) -> f64 {
    let out = |p: &DVec3| p.y * sign;
    let side: Vec<DVec3> = line
        .iter()
        .copied()
        .filter(|p| out(p) > 0.0 && p.x > 0.03 * length && p.x <= joint.x)
        .collect();
    let Some(seat) = side
        .iter()
        .filter(|p| p.x < 0.3 * length)
        .copied()
        .max_by(|a, b| out(a).total_cmp(&out(b)))
    else {
        return 0.0;
    };
    side.iter()
        .filter(|p| p.x > seat.x)
        .map(|p| {
            let t = (p.x - seat.x) / (joint.x - seat.x).max(1.0);
            out(&seat) + t * (out(&joint) - out(&seat)) - out(p)
        })
        .fold(0.0, f64::max)
}
