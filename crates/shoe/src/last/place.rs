//! Where a point of a last lies, told without its size.
//!
//! Along: in standard last lengths from the seat, the extension of the toe apart. Across: y. Up:
//! above a smooth line that follows the feather line from the side.

use glam::DVec3;

use super::marks::Marks;
use super::spline::Spline;

/// Knots of the line that follows the feather line from the side: an arch, a tread and a toe that
/// rises take fewer.
const KNOTS: usize = 24;

/// The toe's extension lies in front of the joints; it begins this far in front of the foremost
/// joint, in standard last lengths.
const AHEAD_OF_JOINT: f64 = 0.03;

/// A point of the last, told without its size.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place {
    /// Along, in standard last lengths from the seat.
    pub(super) along: f64,
    pub(super) y: f64,
    /// Height of the bottom's line here, mm.
    pub(super) bottom: f64,
    /// Height above that line, mm.
    pub(super) above: f64,
}

/// How a last is counted along.
#[derive(Debug, Clone, Copy)]
pub(super) struct Axis {
    standard_last_length: f64,
    /// How much longer the last is than its standard length, mm: the extension of the toe.
    extension: f64,
    /// Where the extension begins and ends, along.
    toe: (f64, f64),
}

/// The height of the bottom along: half-way between the feather lines of the two sides.
#[derive(Debug, Clone)]
pub(super) struct Bottom {
    line: Spline,
    /// Where the feather line ends, along.
    pub(super) end: f64,
}

impl Axis {
    /// Of a last of this standard length that reaches from `rear` to `front`, mm.
    pub(super) fn new(standard_last_length: f64, [rear, front]: [f64; 2], marks: &Marks) -> Self {
        let joint = marks.joint_medial.at.x.max(marks.joint_lateral.at.x) / standard_last_length;
        let end = 1.0 + rear / standard_last_length;
        let extension = front - rear - standard_last_length;
        let toe = ((joint + AHEAD_OF_JOINT).min(end - 0.1), end);
        Self { standard_last_length, extension, toe }
    }

    /// Along, for a place on the base: the x that `x_at` gives back.
    pub(super) fn along(&self, x: f64) -> f64 {
        let sll = self.standard_last_length;
        let behind = x / sll;
        if behind <= self.toe.0 {
            return behind;
        }
        let front = (x - self.extension) / sll;
        if front >= self.toe.1 {
            return front;
        }
        // It rises steadily: bisection, then Newton's method where that stays inside.
        let (mut low, mut high) = (self.toe.0, self.toe.1);
        let mut along = (low + high) / 2.0;
        for _ in 0..60 {
            let off = self.x_at(along, sll) - x;
            if off > 0.0 {
                high = along
            } else {
                low = along
            }
            let next = along - off / (sll + self.extension * self.toe_slope(along));
            let next = if next > low && next < high { next } else { (low + high) / 2.0 };
            let step = (next - along).abs();
            along = next;
            if step < 1e-15 {
                break;
            }
        }
        along
    }

    /// Where a place along lies on a last of standard length `sll`, mm.
    pub(super) fn x_at(&self, along: f64, sll: f64) -> f64 {
        sll * along + self.extension * smooth_step(self.toe, along)
    }

    fn toe_slope(&self, along: f64) -> f64 {
        let (from, to) = self.toe;
        let t = ((along - from) / (to - from)).clamp(0.0, 1.0);
        30.0 * t * t * (1.0 - t) * (1.0 - t) / (to - from)
    }
}

impl Bottom {
    /// From the seat, which is the origin in every size, to the toe. `None` where the feather line does
    /// not run there on both sides.
    pub(super) fn new(axis: &Axis, marks: &Marks) -> Option<Self> {
        let line = &marks.feather_line.points;
        let end = axis.along(marks.toe.at.x);
        let n = line.len();
        let placed: Vec<(f64, f64)> = line.iter().map(|p| (axis.along(p.x), p.z)).collect();
        let mut knots = vec![(0.0, 0.0)];
        for k in 1..KNOTS {
            let at = end * k as f64 / KNOTS as f64;
            let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
            for i in 0..n {
                let ((from, a), (to, b)) = (placed[i], placed[(i + 1) % n]);
                if (from < at) != (to < at) {
                    let z = a + (b - a) * (at - from) / (to - from);
                    (low, high) = (low.min(z), high.max(z));
                }
            }
            if low > high {
                return None;
            }
            knots.push((at, (low + high) / 2.0));
        }
        let toe = placed.iter().max_by(|a, b| a.0.total_cmp(&b.0))?;
        knots.push((end, toe.1));
        Some(Self { line: Spline::through(&knots), end })
    }

    /// The height of the bottom at a place along; beyond the feather line it goes straight on.
    fn at(&self, along: f64) -> f64 {
        /// A short way, over which a slope is read.
        const H: f64 = 1e-4;
        let inside = along.clamp(0.0, self.end);
        let at = self.line.at(inside);
        if along == inside {
            return at;
        }
        let inward = if inside == 0.0 { H } else { -H };
        at + (self.line.at(inside + inward) - at) / inward * (along - inside)
    }
}

/// Where `p`, a point of the last, lies.
pub(super) fn place(axis: &Axis, bottom: &Bottom, p: DVec3) -> Place {
    let along = axis.along(p.x);
    let bottom = bottom.at(along);
    Place { along, y: p.y, bottom, above: p.z - bottom }
}

/// From 1 at 0 to nothing at 1 and beyond on either side, with two even derivatives.
pub(super) fn hump(t: f64) -> f64 {
    let t = t.abs().min(1.0);
    (1.0 - t * t).powi(3)
}

/// From 0 before the range to 1 behind it, with two even derivatives.
pub(super) fn smooth_step((from, to): (f64, f64), at: f64) -> f64 {
    let t = ((at - from) / (to - from)).clamp(0.0, 1.0);
    t * t * t * (10.0 + t * (6.0 * t - 15.0))
}
