//! The joints, the seat and the toe: the extremes of the feather line along and across.

use glam::DVec3;

use super::fit::{add, solved};

/// The joints are sought between these parts of the length (DESIGN: widest places of the
/// tread; survey ratio of ball length to foot length 0.741).
const JOINTS_WITHIN: (f64, f64) = (0.55, 0.80);
/// Half the stretch over which a bend is fitted to find its extreme, mm: noise of a tenth of
/// a millimetre would otherwise move the extreme of a flat bend by several millimetres.
const FITTED: f64 = 15.0;

/// The widest place on one side.
#[derive(Debug, Clone, Copy)]
pub(super) struct Widest {
    /// Where, on a point of the line.
    pub(super) at: DVec3,
    /// Whether the line was still widening at the border of the searched stretch.
    pub(super) at_border: bool,
}

/// The widest places of a line on the left (+y) and on the right. `seat_x` and `length` are
/// along x, the line is heading along x.
pub(super) fn joints(line: &[DVec3], seat_x: f64, length: f64) -> Option<[Widest; 2]> {
    let (lo, hi) = (seat_x + JOINTS_WITHIN.0 * length, seat_x + JOINTS_WITHIN.1 * length);
    let widest = |sign: f64| -> Option<Widest> {
        // Which points are this side's: those beyond the middle of the line's two sides.
        let within: Vec<DVec3> =
            line.iter().copied().filter(|p| (lo - FITTED..=hi + FITTED).contains(&p.x)).collect();
        let middle = within.iter().map(|p| p.y).sum::<f64>() / within.len().max(1) as f64;
        let side: Vec<DVec3> = within.into_iter().filter(|p| (p.y - middle) * sign > 0.0).collect();
        let inside: Vec<DVec3> =
            side.iter().copied().filter(|p| (lo..=hi).contains(&p.x)).collect();
        let top = inside.iter().copied().max_by(|a, b| (a.y * sign).total_cmp(&(b.y * sign)))?;
        let x = extreme(side.iter().map(|p| (p.x, p.y * sign)), top.x).clamp(lo, hi);
        let at = nearest(&inside, |p| (p.x - x).abs())?;
        Some(Widest { at, at_border: x <= lo + 0.5 || x >= hi - 0.5 })
    };
    Some([widest(1.0)?, widest(-1.0)?])
}

/// The rearmost place of a line as a point near it (fitted, so that noise moves it little).
pub(super) fn rearmost(line: &[DVec3]) -> Option<DVec3> {
    end(line, -1.0)
}

/// The foremost place of a line, likewise.
pub(super) fn foremost(line: &[DVec3]) -> Option<DVec3> {
    end(line, 1.0)
}

fn end(line: &[DVec3], sign: f64) -> Option<DVec3> {
    let top = line.iter().copied().max_by(|a, b| (a.x * sign).total_cmp(&(b.x * sign)))?;
    let near: Vec<DVec3> = line.iter().copied().filter(|p| (p.x - top.x).abs() < 30.0).collect();
    let y = extreme(near.iter().map(|p| (p.y, p.x * sign)), top.y);
    nearest(&near, |p| (p.y - y).abs())
}

/// The point of `points` for which `away` is least.
pub(super) fn nearest(points: &[DVec3], away: impl Fn(&DVec3) -> f64) -> Option<DVec3> {
    points.iter().copied().min_by(|a, b| away(a).total_cmp(&away(b)))
}

/// Where the parabola fitted to the points within [`FITTED`] of `near` is highest; `near`
/// itself where they do not bend down or the extreme falls outside of them.
fn extreme(points: impl Iterator<Item = (f64, f64)>, near: f64) -> f64 {
    let mut sums = [[0.0; 4]; 3];
    for (x, y) in points {
        let t = (x - near) / FITTED;
        if t.abs() <= 1.0 {
            add(&mut sums, [1.0, t, t * t], y, 1.0);
        }
    }
    let Some([_, slope, bend]) = solved(sums) else { return near };
    let t = -slope / (2.0 * bend);
    if bend < 0.0 && t.abs() <= 1.0 { near + t * FITTED } else { near }
}
