//! Lays folded parts of a moved surface anew.

use super::Moved;
use super::region::{Around, mean, settle};

/// A triangle squeezed below this share of its area is near enough to folding.
const SQUEEZED: f64 = 0.03;

/// How far round a fold directions are blended, in distances. Two sides at right angles need 2.
const BLENDED: [f64; 3] = [3.0, 5.0, 8.0];

/// How far round a fold vertices are spread, in distances.
const SPREAD: [f64; 3] = [1.5, 3.0, 6.0];

/// How far from a fold the boundary is moved with it, in distances.
const RIM: f64 = 2.0;

/// The most rounds of spreading, and the step of one, in distances, that ends them.
const ROUNDS: usize = 120;
const SETTLED: f64 = 2e-3;

/// Unfolds what is folded; whether there was anything.
pub(super) fn unfold(moved: &mut Moved<'_>) -> bool {
    let mut bad = moved.bad(SQUEEZED);
    if bad.is_empty() {
        return false;
    }
    let around = Around::new(moved.mesh);
    for width in BLENDED {
        bad = attempt(moved, bad, |moved, bad| blend(moved, &around, bad, width));
        if bad.is_empty() {
            return true;
        }
    }
    for width in SPREAD {
        bad = attempt(moved, bad, |moved, bad| spread(moved, &around, bad, width));
        if bad.is_empty() {
            return true;
        }
    }
    true
}

/// Tries, and keeps the outcome where fewer triangles are bad then.
fn attempt(
    moved: &mut Moved<'_>,
    bad: Vec<u32>,
    change: impl Fn(&mut Moved<'_>, &[u32]),
) -> Vec<u32> {
    let before = (moved.places.clone(), moved.feet.clone(), moved.ways.clone());
    change(moved, &bad);
    let after = moved.bad(SQUEEZED);
    if after.len() < bad.len() {
        return after;
    }
    (moved.places, moved.feet, moved.ways) = before;
    bad
}

/// Blends the directions across the fold from those around it.
fn blend(moved: &mut Moved<'_>, around: &Around, bad: &[u32], width: f64) {
    let region =
        around.grown(moved.mesh, bad, width * moved.level.distance, RIM * moved.level.distance);
    if region.len() == moved.mesh.positions.len() {
        return;
    }
    settle(&mut moved.ways, &region, |v| around.of(v), 1e-4);
    for v in region {
        let v = v as usize;
        moved.ways[v] = moved.ways[v].normalize_or_zero();
        moved.go(v);
    }
}

/// Spreads the vertices between those around the fold, on the surface at the distance.
fn spread(moved: &mut Moved<'_>, around: &Around, bad: &[u32], width: f64) {
    let distance = moved.level.distance;
    let region = around.grown(moved.mesh, bad, width * distance, RIM * distance);
    if region.len() == moved.mesh.positions.len() {
        return;
    }
    settle(&mut moved.places, &region, |v| around.holding(v), SETTLED * distance);
    for round in 0..ROUNDS {
        let mut most: f64 = 0.0;
        for v in &region {
            let at = moved.places[*v as usize];
            let mean = mean(&moved.places, around.holding(*v)).unwrap_or(at);
            let (place, foot) = moved.level.nearest(mean);
            most = most.max(place.distance(at));
            moved.places[*v as usize] = place;
            moved.feet[*v as usize] = foot;
        }
        if round > 0 && most < SETTLED * distance {
            break;
        }
    }
}
