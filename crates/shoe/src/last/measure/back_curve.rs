//! The curve of the back, as set-backs at even heights.

use glam::DVec3;

/// The steps of height, mm.
const STEP: f64 = 10.0;

/// One point of the back curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BackPoint {
    /// Height above the seat point, mm.
    pub height: f64,
    /// How far it lies in front of the seat point, mm; negative is behind it.
    pub set_back: f64,
    /// The point itself.
    pub at: DVec3,
}

/// The points of the centre back, which rises from the seat, every 10 mm up.
pub(super) fn every_ten(centre_back: &[DVec3]) -> Vec<BackPoint> {
    let highest = centre_back.iter().map(|p| p.z).fold(0.0, f64::max);
    (0..=(highest / STEP).floor() as usize)
        .filter_map(|k| {
            let height = k as f64 * STEP;
            let at = if k == 0 { *centre_back.first()? } else { at_height(centre_back, height)? };
            Some(BackPoint { height, set_back: at.x, at })
        })
        .collect()
}

/// How far the centre back is in front of the seat point at `height` above it, mm.
pub(in crate::last) fn set_back_at(centre_back: &[DVec3], height: f64) -> Option<f64> {
    at_height(centre_back, height).map(|p| p.x)
}

fn at_height(centre_back: &[DVec3], height: f64) -> Option<DVec3> {
    centre_back.windows(2).find_map(|pair| {
        let (a, b) = (pair[0], pair[1]);
        (a.z < height && b.z >= height).then(|| a.lerp(b, (height - a.z) / (b.z - a.z)))
    })
}
