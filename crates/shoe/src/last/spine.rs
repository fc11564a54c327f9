//! A line along the middle of the bottom, from which a first walk round it can start.

use glam::DVec3;

use geometry::mesh::TriMesh;

use super::feather::Spine;
use super::pose::span;

/// Parts of the length between which the spine runs; beyond, planes fan out from its ends.
const RUNS: (f64, f64) = (0.14, 0.87);
/// Points of the spine.
const POINTS: usize = 48;
/// How far above the lowest point of a slice its bottom is taken to reach, mm.
const BOTTOM: f64 = 12.0;

/// The spine of `mesh`, which lies on its bottom, heel to -x, z up.
pub(super) fn spine(mesh: &TriMesh) -> Spine {
    const BINS: usize = 24;
    let (lo, hi) = span(mesh.positions.iter().map(|p| p.x));
    let bin = |x: f64| (((x - lo) / (hi - lo) * BINS as f64) as usize).min(BINS - 1);
    let mut floor = [f64::INFINITY; BINS];
    for p in &mesh.positions {
        let b = bin(p.x);
        floor[b] = floor[b].min(p.z);
    }
    let mut across = [(f64::INFINITY, f64::NEG_INFINITY); BINS];
    for p in &mesh.positions {
        let b = bin(p.x);
        if p.z < floor[b] + BOTTOM {
            across[b] = (across[b].0.min(p.y), across[b].1.max(p.y));
        }
    }
    // A straight line through the middles: the swing of a last stays within its bottom.
    let (mut n, mut sx, mut sy, mut sxx, mut sxy) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (b, (right, left)) in across.iter().enumerate() {
        let t = (b as f64 + 0.5) / BINS as f64;
        if left >= right && (0.08..0.92).contains(&t) {
            let y = (left + right) / 2.0;
            n += 1.0;
            sx += t;
            sy += y;
            sxx += t * t;
            sxy += t * y;
        }
    }
    let slope = if n > 1.0 { (n * sxy - sx * sy) / (n * sxx - sx * sx) } else { 0.0 };
    let level = if n > 0.0 { (sy - slope * sx) / n } else { 0.0 };
    (0..POINTS)
        .map(|k| {
            let t = RUNS.0 + (RUNS.1 - RUNS.0) * k as f64 / (POINTS - 1) as f64;
            DVec3::new(lo + t * (hi - lo), level + slope * t, 0.0)
        })
        .collect()
}
