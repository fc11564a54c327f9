//! The first cover of a hole: triangles between the points of its rim.
//!
//! Dynamic programming after P. Liepa 2003, "Filling holes in meshes", section 3, following
//! G. Barequet and M. Sharir 1995: of all ways to cut a loop into triangles, the one whose worst
//! bend, also against the surface around, is smallest, and of those the one of least area. From
//! longer loops corners are cut off first. (Chosen points first and then the chains between them
//! would be the other way; where a rim runs in zigzags, a chain then folds over the surface.)

use std::collections::BTreeSet;

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

/// Cuts off corners, the best first, until the loop is short enough.
fn in_parts(hole: &Loop) -> Option<Vec<[u32; 3]>> {
    let n = hole.points.len();
    let mut front = Front::new(hole);
    let mut triangles = Vec::with_capacity(n - 2);
    for _ in WHOLE..n {
        triangles.push(front.cut()?);
    }
    let left = front.left();
    let points: Vec<DVec3> = left.iter().map(|i| hole.points[*i]).collect();
    let across: Vec<DVec3> = left.iter().map(|i| front.across[*i]).collect();
    let taken = |a: usize, b: usize| (hole.taken)(left[a], left[b]);
    let rest = whole(&Loop { points: &points, across: &across, taken: &taken })?;
    triangles.extend(rest.iter().map(|t| t.map(|v| left[v as usize] as u32)));
    Some(triangles)
}

/// What is left of a loop while corners are cut off.
struct Front<'a> {
    hole: &'a Loop<'a>,
    /// For each point that is left, the ones before and after it.
    beside: Vec<[usize; 2]>,
    /// For each point the normal across the side to the next one that is left.
    across: Vec<DVec3>,
    /// How bad it is to cut off each point.
    badness: Vec<f64>,
    /// The points by that. The bits of numbers above zero are in the order of the numbers.
    queue: BTreeSet<(u64, usize)>,
    /// The mean side at the start.
    side: f64,
}

impl<'a> Front<'a> {
    fn new(hole: &'a Loop<'a>) -> Self {
        let n = hole.points.len();
        let beside: Vec<[usize; 2]> = (0..n).map(|i| [(i + n - 1) % n, (i + 1) % n]).collect();
        let sides = (0..n).map(|i| hole.points[i].distance(hole.points[beside[i][1]]));
        let side = sides.sum::<f64>() / n as f64;
        let (across, badness) = (hole.across.to_vec(), vec![0.0; n]);
        let mut front = Self { hole, beside, across, badness, queue: BTreeSet::new(), side };
        for at in 0..n {
            front.judge(at);
        }
        front
    }

    /// The points that are left, ascending.
    fn left(&self) -> Vec<usize> {
        let mut left: Vec<usize> = self.queue.iter().map(|(_, i)| *i).collect();
        left.sort_unstable();
        left
    }

    fn normal(&self, ear: [usize; 3]) -> DVec3 {
        let [p, q, r] = ear.map(|i| self.hole.points[i]);
        (q - p).cross(r - p).normalize_or_zero()
    }

    /// A cut must bend little against what is next to it; then short new sides come first, so
    /// that the loop gets rounder and no point gets many of them.
    fn judge(&mut self, at: usize) {
        let [before, after] = self.beside[at];
        let normal = self.normal([before, at, after]);
        let bend = turn(normal, self.across[before]).max(turn(normal, self.across[at]));
        let length = self.hole.points[before].distance(self.hole.points[after]);
        let blocked = (self.hole.taken)(before, after);
        self.queue.remove(&(self.badness[at].to_bits(), at));
        // Rounding may make a bend of none less than nothing.
        let bad = bend.max(0.0) + 0.1 * length / self.side;
        self.badness[at] = if blocked || bad.is_nan() { f64::INFINITY } else { bad };
        self.queue.insert((self.badness[at].to_bits(), at));
    }

    fn cut(&mut self) -> Option<[u32; 3]> {
        let at = self.queue.first()?.1;
        if self.badness[at].is_infinite() {
            return None;
        }
        self.queue.pop_first();
        let [before, after] = self.beside[at];
        self.across[before] = self.normal([before, at, after]);
        self.beside[before][1] = after;
        self.beside[after][0] = before;
        self.judge(before);
        self.judge(after);
        Some([before, at, after].map(|i| i as u32))
    }
}
