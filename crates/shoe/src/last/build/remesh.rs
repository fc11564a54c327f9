//! Even triangles on a parametric patch: split, collapse, flip and smooth until the edges have
//! the length asked for (Botsch and Kobbelt, "A remeshing approach to multiresolution
//! modeling", 2004, section 4). Vertices keep their parameters, so they never leave the surface, and
//! no triangle may turn over in the parameter plane, so the patch never folds.

use glam::{DVec2, DVec3};

/// A surface over a plane of parameters.
pub(super) trait Patch {
    /// The point at `uv`.
    fn at(&self, uv: DVec2) -> DVec3;
    /// Whether the first parameter is an angle in radians.
    const TURNS: bool;
}

/// A mesh of a patch: the parameters of its vertices (the given ones first, in their order)
/// and its triangles, counter-clockwise in the parameter plane.
pub(super) struct Meshed {
    pub(super) uv: Vec<DVec2>,
    pub(super) triangles: Vec<[u32; 3]>,
}

const DEAD: [u32; 3] = [u32::MAX; 3];

/// Rounds of remeshing; the shapes settle after about ten.
const ROUNDS: usize = 10;

/// Remeshes `start` to edges about `target` long, keeping its first `fixed` vertices and every
/// boundary edge. All boundary vertices must be among the fixed ones. Each of `pins` gets a
/// vertex, so that the mesh reaches the extremes of the surface.
pub(super) fn remesh<P: Patch>(
    patch: &P,
    start: Meshed,
    fixed: usize,
    pins: &[DVec2],
    target: f64,
) -> Meshed {
    // Settled edges come out 4 % longer than the length they are held around.
    let mut mesher = Mesher::new(patch, start, fixed, target * 0.96);
    for round in 0..ROUNDS {
        while mesher.split() {
            mesher.flip(Mesher::<P>::fatter);
        }
        if round + 1 < ROUNDS {
            mesher.collapse();
        }
        mesher.flip(Mesher::<P>::more_regular);
        mesher.smooth();
        mesher.smooth();
    }
    for &pin in pins {
        mesher.pin(pin);
    }
    for _ in 0..4 {
        mesher.flip(Mesher::<P>::fatter);
        mesher.smooth();
    }
    mesher.finish()
}

struct Mesher<'a, P: Patch> {
    patch: &'a P,
    uv: Vec<DVec2>,
    at: Vec<DVec3>,
    fixed: usize,
    target: f64,
    triangles: Vec<[u32; 3]>,
    around: Vec<Vec<u32>>,
    pinned: Vec<u32>,
}

impl<'a, P: Patch> Mesher<'a, P> {
    fn new(patch: &'a P, start: Meshed, fixed: usize, target: f64) -> Self {
        let mut around = vec![Vec::new(); start.uv.len()];
        for (face, triangle) in start.triangles.iter().enumerate() {
            for &v in triangle {
                around[v as usize].push(face as u32);
            }
        }
        let at = start.uv.iter().map(|&uv| patch.at(uv)).collect();
        let (uv, triangles) = (start.uv, start.triangles);
        Self { patch, uv, at, fixed, target, triangles, around, pinned: Vec::new() }
    }

    fn length(&self, a: u32, b: u32) -> f64 {
        self.at[a as usize].distance(self.at[b as usize])
    }

    fn step(&self, from: DVec2, to: DVec2) -> DVec2 {
        let mut step = to - from;
        if P::TURNS {
            let turn = std::f64::consts::TAU;
            step.x -= turn * (step.x / turn).round();
        }
        step
    }

    fn turns_left(&self, a: DVec2, b: DVec2, c: DVec2) -> bool {
        let (ab, ac) = (self.step(a, b), self.step(a, c));
        ab.perp_dot(ac) > 1e-9 * ab.length() * ac.length()
    }

    fn upright(&self, [a, b, c]: [u32; 3]) -> bool {
        self.turns_left(self.uv[a as usize], self.uv[b as usize], self.uv[c as usize])
    }

    /// Every inner edge once, smaller vertex first, in order. Those of the boundary stay as they
    /// are; which of them are among these does not matter.
    fn edges(&self) -> Vec<(u32, u32)> {
        let mut edges: Vec<_> = self
            .triangles
            .iter()
            .filter(|&&t| t != DEAD)
            .flat_map(|t| [0, 1, 2].map(|k| (t[k], t[(k + 1) % 3])))
            // The triangle on the other side has the same edge the other way round.
            .filter(|(a, b)| a < b)
            .collect();
        edges.sort_unstable();
        edges
    }

    /// The triangle in which `b` follows `a`, and its third corner.
    fn side(&self, a: u32, b: u32) -> Option<(u32, u32)> {
        self.around[a as usize].iter().find_map(|&face| {
            let t = self.triangles[face as usize];
            (0..3).find(|&k| t[k] == a && t[(k + 1) % 3] == b).map(|k| (face, t[(k + 2) % 3]))
        })
    }

    fn forget(&mut self, vertex: u32, face: u32) {
        self.around[vertex as usize].retain(|&f| f != face);
    }

    fn split(&mut self) -> bool {
        let limit = self.target * 4.0 / 3.0;
        let mut any = false;
        for (a, b) in self.edges() {
            if self.length(a, b) <= limit {
                continue;
            }
            let (Some((left, c)), Some((right, d))) = (self.side(a, b), self.side(b, a)) else {
                continue;
            };
            let from = self.uv[a as usize];
            let uv = from + self.step(from, self.uv[b as usize]) / 2.0;
            let m = self.uv.len() as u32;
            self.uv.push(uv);
            self.at.push(self.patch.at(uv));
            let (new_left, new_right) =
                (self.triangles.len() as u32, self.triangles.len() as u32 + 1);
            self.triangles[left as usize] = [a, m, c];
            self.triangles[right as usize] = [a, d, m];
            self.triangles.push([m, b, c]);
            self.triangles.push([m, d, b]);
            self.around.push(vec![left, right, new_left, new_right]);
            self.forget(b, left);
            self.forget(b, right);
            self.around[b as usize].extend([new_left, new_right]);
            self.around[c as usize].push(new_left);
            self.around[d as usize].push(new_right);
            any = true;
        }
        any
    }

    fn neighbours(&self, v: u32) -> Vec<u32> {
        let mut all: Vec<u32> = self.around[v as usize]
            .iter()
            .flat_map(|&f| self.triangles[f as usize])
            .filter(|&w| w != v)
            .collect();
        all.sort_unstable();
        all.dedup();
        all
    }

    fn collapse(&mut self) {
        let limit = self.target * 0.8;
        for (a, b) in self.edges() {
            // The later vertex goes: fixed vertices come first and stay.
            let (keep, gone) = (a, b);
            if (gone as usize) < self.fixed
                || self.around[a as usize].is_empty()
                || self.around[b as usize].is_empty()
                || self.length(a, b) >= limit
            {
                continue;
            }
            let (Some((left, _)), Some((right, _))) = (self.side(a, b), self.side(b, a)) else {
                continue;
            };
            let (of_keep, of_gone) = (self.neighbours(keep), self.neighbours(gone));
            if of_gone.iter().filter(|v| of_keep.binary_search(v).is_ok()).count() != 2 {
                continue;
            }
            let (old_uv, old_at) = (self.uv[keep as usize], self.at[keep as usize]);
            if keep as usize >= self.fixed {
                self.uv[keep as usize] = old_uv + self.step(old_uv, self.uv[gone as usize]) / 2.0;
                self.at[keep as usize] = self.patch.at(self.uv[keep as usize]);
            }
            let rest = |mesher: &Self, v: u32| -> Vec<u32> {
                let all = &mesher.around[v as usize];
                all.iter().copied().filter(|&f| f != left && f != right).collect()
            };
            let (stay, moved) = (rest(self, keep), rest(self, gone));
            let renamed = |t: [u32; 3]| t.map(|v| if v == gone { keep } else { v });
            let long = of_gone
                .iter()
                .chain(&of_keep)
                .any(|&v| v != keep && v != gone && self.length(v, keep) > self.target * 4.0 / 3.0);
            let sound = stay
                .iter()
                .chain(&moved)
                .all(|&f| self.upright(renamed(self.triangles[f as usize])));
            if long || !sound || (stay.len() + moved.len() < 3) {
                self.uv[keep as usize] = old_uv;
                self.at[keep as usize] = old_at;
                continue;
            }
            for face in [left, right] {
                for v in self.triangles[face as usize] {
                    self.forget(v, face);
                }
                self.triangles[face as usize] = DEAD;
            }
            for &face in &moved {
                self.triangles[face as usize] = renamed(self.triangles[face as usize]);
                self.around[keep as usize].push(face);
            }
            self.around[gone as usize].clear();
        }
    }

    fn flip(&mut self, better: impl Fn(&Self, [u32; 4]) -> bool) {
        for (a, b) in self.edges() {
            let (Some((left, c)), Some((right, d))) = (self.side(a, b), self.side(b, a)) else {
                continue;
            };
            let (new_left, new_right) = ([c, d, b], [d, c, a]);
            if self.side(c, d).is_some()
                || self.side(d, c).is_some()
                || !self.upright(new_left)
                || !self.upright(new_right)
                || !better(self, [a, b, c, d])
            {
                continue;
            }
            self.triangles[left as usize] = new_left;
            self.triangles[right as usize] = new_right;
            self.forget(a, left);
            self.forget(b, right);
            self.around[c as usize].push(right);
            self.around[d as usize].push(left);
        }
    }

    /// Delaunay: the angles facing the edge `ab` add up to more than a half turn.
    fn fatter(&self, [a, b, c, d]: [u32; 4]) -> bool {
        let angle = |tip: u32| {
            let tip = self.at[tip as usize];
            (self.at[a as usize] - tip).angle_between(self.at[b as usize] - tip)
        };
        angle(c) + angle(d) > std::f64::consts::PI + 1e-6
    }

    /// The numbers of triangles round the four vertices come nearer to six (three on the rim).
    fn more_regular(&self, [a, b, c, d]: [u32; 4]) -> bool {
        let miss = |v: u32, change: i64| {
            let ideal = if (v as usize) < self.fixed { 3 } else { 6 };
            (self.around[v as usize].len() as i64 + change - ideal).pow(2)
        };
        let now = miss(a, 0) + miss(b, 0) + miss(c, 0) + miss(d, 0);
        let then = miss(a, -1) + miss(b, -1) + miss(c, 1) + miss(d, 1);
        then < now
    }

    /// Moves each free vertex along the surface towards the middle of its neighbours.
    fn smooth(&mut self) {
        for v in self.fixed..self.uv.len() {
            if self.around[v].is_empty() || self.pinned.contains(&(v as u32)) {
                continue;
            }
            let near = self.neighbours(v as u32);
            let middle =
                near.iter().map(|&w| self.at[w as usize]).sum::<DVec3>() / near.len() as f64;
            let uv = self.uv[v];
            let Some(step) = self.towards(uv, self.at[v], middle) else { continue };
            for share in [0.8, 0.3] {
                self.uv[v] = uv + step * share;
                let sound =
                    self.around[v].iter().all(|&f| self.upright(self.triangles[f as usize]));
                if sound {
                    self.at[v] = self.patch.at(self.uv[v]);
                    break;
                }
                self.uv[v] = uv;
            }
        }
    }

    /// Moves the nearest free vertex to `uv` and keeps it there.
    fn pin(&mut self, uv: DVec2) {
        let goal = self.patch.at(uv);
        let away = |v: usize| self.at[v].distance_squared(goal);
        let free = (self.fixed..self.uv.len()).filter(|&v| !self.around[v].is_empty());
        let Some(v) = free.min_by(|&a, &b| away(a).total_cmp(&away(b))) else { return };
        let before = self.uv[v];
        self.uv[v] = before + self.step(before, uv);
        if self.around[v].iter().all(|&f| self.upright(self.triangles[f as usize])) {
            self.at[v] = goal;
            self.pinned.push(v as u32);
        } else {
            self.uv[v] = before;
        }
    }

    /// The step in parameters that comes nearest to `goal`, to first order.
    fn towards(&self, uv: DVec2, at: DVec3, goal: DVec3) -> Option<DVec2> {
        const H: f64 = 1e-5;
        let du = (self.patch.at(uv + DVec2::new(H, 0.0)) - at) / H;
        let dv = (self.patch.at(uv + DVec2::new(0.0, H)) - at) / H;
        let (uu, uv_, vv) = (du.dot(du), du.dot(dv), dv.dot(dv));
        let det = uu * vv - uv_ * uv_;
        let (bu, bv) = (du.dot(goal - at), dv.dot(goal - at));
        (det > 1e-12 * uu * vv).then(|| DVec2::new(vv * bu - uv_ * bv, uu * bv - uv_ * bu) / det)
    }

    fn finish(self) -> Meshed {
        let mut place = vec![u32::MAX; self.uv.len()];
        let mut uv = Vec::new();
        for (v, place) in place.iter_mut().enumerate() {
            if v < self.fixed || !self.around[v].is_empty() {
                *place = uv.len() as u32;
                uv.push(self.uv[v]);
            }
        }
        let live = self.triangles.into_iter().filter(|&t| t != DEAD);
        Meshed { uv, triangles: live.map(|t| t.map(|v| place[v as usize])).collect() }
    }
}
