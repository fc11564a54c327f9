//! The first cover of a hole: triangles between the points of its rim.
//!
//! Dynamic programming after P. Liepa 2003, "Filling holes in meshes", section 3, following
//! G. Barequet and M. Sharir 1995: of all ways to cut a loop into triangles, the one whose worst
//! bend, also against the surface around, is smallest, and of those the one of least area.

use glam::DVec3;

/// Loops up to this many points are cut up at once. The work grows with the third power: here
/// about 0.2 s.
const WHOLE: usize = 300;

/// Bends closer than this count as equal, so that the area decides and not rounding.
const SAME_BEND: f64 = 1e-9;

/// A loop to be covered.
pub(super) struct Loop<'a> {
    /// The points, in the direction in which the cover's triangles run along them.
    pub(super) points: &'a [DVec3],
    /// For each side, from a point to the next, the unit normal of the surface across it.
    pub(super) across: &'a [DVec3],
    /// Whether there is an edge between two of the points already.
    pub(super) taken: &'a dyn Fn(usize, usize) -> bool,
}

/// Triangles between the points of the loop, or `None` when edges that exist stand in the way.
pub(super) fn cover(hole: &Loop) -> Option<Vec<[u32; 3]>> {
    if hole.points.len() <= WHOLE { whole(hole) } else { in_parts(hole) }
}

#[derive(Clone, Copy)]
struct Best {
    bend: f64,
    area: f64,
    normal: DVec3,
    tip: u32,
}

fn whole(hole: &Loop) -> Option<Vec<[u32; 3]>> {
    let n = hole.points.len();
    if n < 3 {
        return None;
    }
    let none = Best { bend: f64::INFINITY, area: f64::INFINITY, normal: DVec3::ZERO, tip: 0 };
    let mut best = vec![none; n * n];
    for i in 0..n - 1 {
        best[i * n + i + 1] = Best { bend: 0.0, area: 0.0, normal: hole.across[i], tip: 0 };
    }
    for gap in 2..n {
        for i in 0..n - gap {
            let k = i + gap;
            let closing = i == 0 && k == n - 1;
            if !closing && (hole.taken)(i, k) {
                continue;
            }
            let mut least = none;
            for m in i + 1..k {
                let (left, right) = (best[i * n + m], best[m * n + k]);
                let mut bend = left.bend.max(right.bend);
                if bend > least.bend + SAME_BEND || bend.is_infinite() {
                    continue;
                }
                let [p, q, r] = [i, m, k].map(|j| hole.points[j]);
                let twice = (q - p).cross(r - p);
                let normal = twice.normalize_or_zero();
                bend = bend.max(turn(normal, left.normal)).max(turn(normal, right.normal));
                if closing {
                    bend = bend.max(turn(normal, hole.across[n - 1]));
                }
                let area = left.area + right.area + twice.length() / 2.0;
                let better = bend < least.bend - SAME_BEND
                    || bend <= least.bend + SAME_BEND && area < least.area;
                if better {
                    least = Best { bend, area, normal, tip: m as u32 };
                }
            }
            best[i * n + k] = least;
        }
    }
    if best[n - 1].bend.is_infinite() {
        return None;
    }
    let mut triangles = Vec::with_capacity(n - 2);
    let mut open = vec![(0, n - 1)];
    while let Some((i, k)) = open.pop() {
        if k - i >= 2 {
            let m = best[i * n + k].tip as usize;
            triangles.push([i as u32, m as u32, k as u32]);
            open.extend([(i, m), (m, k)]);
        }
    }
    Some(triangles)
}

/// How much two unit normals differ: 0 for none, 2 for opposite ones and for triangles without
/// area, which have none.
fn turn(a: DVec3, b: DVec3) -> f64 {
    if a == DVec3::ZERO || b == DVec3::ZERO { 2.0 } else { 1.0 - a.dot(b) }
}

/// Some points first, evenly chosen, then the chain between each two of them.
fn in_parts(hole: &Loop) -> Option<Vec<[u32; 3]>> {
    let n = hole.points.len();
    // About as many corners as points in a chain would be fastest, but wide chains cut corners.
    let corners = WHOLE / 2;
    let chosen: Vec<usize> = (0..corners).map(|i| i * n / corners).collect();
    let end = |i: usize| if i + 1 < corners { chosen[i + 1] } else { n };
    let points: Vec<DVec3> = chosen.iter().map(|i| hole.points[*i]).collect();
    let mean = |from: usize, to: usize| {
        hole.across[from..to].iter().fold(DVec3::ZERO, |sum, x| sum + *x).normalize_or_zero()
    };
    let across: Vec<DVec3> = (0..corners).map(|i| mean(chosen[i], end(i))).collect();
    let blocked = |i: usize| end(i) > chosen[i] + 1 && (hole.taken)(chosen[i], end(i) % n);
    if (0..corners).any(blocked) {
        return None;
    }
    let taken = |i: usize, k: usize| (hole.taken)(chosen[i], chosen[k]);
    let coarse = whole(&Loop { points: &points, across: &across, taken: &taken })?;
    let mut triangles: Vec<[u32; 3]> =
        coarse.iter().map(|t| t.map(|v| chosen[v as usize] as u32)).collect();
    for i in 0..corners {
        let (from, to) = (chosen[i], end(i));
        if to - from < 2 {
            continue;
        }
        let owner = coarse.iter().find(|t| {
            let next = ((i + 1) % corners) as u32;
            (0..3).any(|k| t[k] == i as u32 && t[(k + 1) % 3] == next)
        })?;
        let [p, q, r] = owner.map(|v| points[v as usize]);
        let chain: Vec<usize> = (from..=to).map(|j| j % n).collect();
        let points: Vec<DVec3> = chain.iter().map(|j| hole.points[*j]).collect();
        let mut across = hole.across[from..to].to_vec();
        across.push((q - p).cross(r - p).normalize_or_zero());
        let taken = |a: usize, b: usize| (hole.taken)(chain[a], chain[b]);
        let part = whole(&Loop { points: &points, across: &across, taken: &taken })?;
        triangles.extend(part.iter().map(|t| t.map(|v| chain[v as usize] as u32)));
    }
    Some(triangles)
}
