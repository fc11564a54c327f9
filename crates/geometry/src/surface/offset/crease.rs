//! Moves vertices onto the creases of a moved surface, so that no triangle bridges them.

use glam::DVec3;

use super::Moved;
use super::level::Foot;

/// Two ends of an edge whose directions away from the original differ by less than this cosine (20
/// degrees) have no crease between them that is worth a vertex.
const KINK: f64 = 0.94;

/// An edge may bridge a crease by this much, mm.
const BRIDGED: f64 = 0.01;

/// No triangle may lose more of its area than down to this share to follow a crease.
const KEPT: f64 = 0.15;

/// Halvings that find the crease on an edge: to a thousandth of it.
const HALVINGS: usize = 10;

pub(super) fn follow(moved: &mut Moved<'_>) {
    let creased = creased(moved);
    if creased.is_empty() {
        return;
    }
    let mut faces: Vec<(u32, u32)> = Vec::new();
    for (face, t) in moved.mesh.triangles.iter().enumerate() {
        faces.extend(t.map(|v| (v, face as u32)));
    }
    faces.sort_unstable();
    let around = |v: u32| {
        let from = faces.partition_point(|(w, _)| *w < v);
        faces[from..].iter().take_while(move |(w, _)| *w == v).map(|(_, f)| *f)
    };
    let mut onto = vec![false; moved.places.len()];
    for [a, b] in creased {
        let Some((share, place, foot)) = crossing(moved, a, b) else { continue };
        for v in if share < 0.5 { [a, b] } else { [b, a] } {
            let i = v as usize;
            if onto[i] {
                continue;
            }
            let before: Vec<f64> = around(v).map(|f| moved.facing(f).0).collect();
            let was = (moved.places[i], moved.feet[i]);
            (moved.places[i], moved.feet[i]) = (place, foot);
            if around(v).zip(before).all(|(f, before)| moved.facing(f).0 > KEPT * before) {
                onto[i] = true;
                break;
            }
            (moved.places[i], moved.feet[i]) = was;
        }
    }
}

/// The edges with a crease between their ends.
fn creased(moved: &Moved<'_>) -> Vec<[u32; 2]> {
    let mut found = Vec::new();
    for t in &moved.mesh.triangles {
        for k in 0..3 {
            let ends = [t[k], t[(k + 1) % 3]];
            let [p, q] = ends.map(|v| moved.places[v as usize]);
            let [m, n] = ends.map(|v| moved.feet[v as usize].away);
            if m.dot(n) < KINK && (q - p).dot(n - m) < 0.0 {
                found.push([ends[0].min(ends[1]), ends[0].max(ends[1])]);
            }
        }
    }
    found.sort_unstable();
    found.dedup();
    found
}

/// Where the crease is that the edge bridges: as a share of the edge, and the place on it.
fn crossing(moved: &Moved<'_>, a: u32, b: u32) -> Option<(f64, DVec3, Foot)> {
    let level = moved.level;
    let [p, q] = [a, b].map(|v| moved.places[v as usize]);
    let [from, to] = [a, b].map(|v| moved.feet[v as usize].away);
    let at = |share: f64| level.foot(p.lerp(q, share));
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        let away = at(middle).away;
        if away.dot(from) > away.dot(to) { low = middle } else { high = middle }
    }
    let sides = [at(low), at(high)];
    if sides[0].gap - level.distance < BRIDGED || sides[0].away.dot(sides[1].away) > KINK {
        return None;
    }
    let share = 0.5 * (low + high);
    let (place, foot) = down(moved, p.lerp(q, share), sides)?;
    Some((share, place, foot))
}

/// From a place between two sides, straight down to where both are at the distance.
fn down(moved: &Moved<'_>, place: DVec3, sides: [Foot; 2]) -> Option<(DVec3, Foot)> {
    let [m, n] = sides.map(|s| s.away);
    let cosine = m.dot(n);
    let [x, y] = sides.map(|s| moved.level.distance - s.gap);
    let square = 1.0 - cosine * cosine;
    let step = m * ((x - y * cosine) / square) + n * ((y - x * cosine) / square);
    let (place, foot) = moved.level.nearest(place + step);
    moved.level.is_on(&foot).then_some((place, foot))
}
