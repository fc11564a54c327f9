//! The centre back: the wall above the seat, in the upright plane through it.

use glam::DVec3;

use geometry::section::Slicer;

use super::profile::Profile;

/// The wall has ended where its direction, read over 3 mm to either side, has turned this far
/// from level outward over upright (90) to forward (180), degrees.
const WALL_ENDS: f64 = 145.0;
/// No last is taller above its seat, mm.
const TALLEST: f64 = 400.0;

/// Points of the wall about 1 mm apart from the seat up, on the surface, in the frame of the
/// slicer's mesh; the last is where the wall ends, at the rim of an open mesh or at the bend
/// into the top. `left` is the direction of +y in that frame. `None` where nothing rises.
pub(super) fn centre_back(
    slicer: &Slicer,
    seat: DVec3,
    left: DVec3,
    up: DVec3,
) -> Option<Vec<DVec3>> {
    let lines = slicer.section(seat, left);
    let wall = Profile::near(&lines, seat, -left, up, TALLEST)?;
    let mut end = wall.end();
    let mut s = 8.0;
    while s < end - 3.0 {
        if wall.angle(s, 3.0) >= WALL_ENDS {
            end = s;
            break;
        }
        s += 0.5;
    }
    if end < 15.0 {
        return None;
    }
    let steps = end.round().max(1.0) as usize;
    Some((0..=steps).map(|k| wall.at(end * k as f64 / steps as f64)).collect())
}
