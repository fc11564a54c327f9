//! Splitting, collapsing and flipping edges.

use glam::DVec3;

use super::chains::{Bound, edge};
use super::mesher::{DEAD, Mesher};

/// Edges longer than this share of what is asked for are split (Botsch and Kobbelt 2004).
const LONG: f64 = 4.0 / 3.0;

/// Edges shorter than this share are collapsed.
const SHORT: f64 = 4.0 / 5.0;

/// Halving an edge this often makes it a thousandth.
const MOST_HALVINGS: usize = 10;

impl Mesher<'_> {
    /// Splits long edges until there are none.
    pub(super) fn split(&mut self) {
        for _ in 0..MOST_HALVINGS {
            let mut long: Vec<(f64, (u32, u32))> = self
                .edges()
                .into_iter()
                .map(|(a, b)| (self.share(a, b), (a, b)))
                .filter(|(share, _)| *share > LONG)
                .collect();
            if long.is_empty() {
                return;
            }
            // The longest first: halves of long edges are then not cut across.
            long.sort_by(|x, y| y.0.total_cmp(&x.0).then(x.1.cmp(&y.1)));
            for (_, (a, b)) in long {
                self.split_edge(a, b);
            }
            self.flip(Self::fatter);
        }
    }

    fn split_edge(&mut self, a: u32, b: u32) {
        let sides = [(a, b), (b, a)].map(|(p, q)| self.side(p, q).map(|s| (p, q, s)));
        if sides == [None, None] {
            return;
        }
        let plain = self.at[a as usize].midpoint(self.at[b as usize]);
        let mut bound = Bound::Free;
        let mut wanted = plain;
        let curve = self.marked.get(&edge(a, b)).copied();
        if let Some(curve) = curve {
            let along = (self.along(a, curve, b) + self.along(b, curve, a)) / 2.0;
            bound = Bound::On { curve, along };
            wanted = self.curves[curve as usize].at(along);
        }
        let (nearest, normal) = self.ground.nearest(wanted);
        let m = self.at.len() as u32;
        self.at.push(if curve.is_some() { wanted } else { nearest });
        self.normal.push(normal);
        self.bound.push(bound);
        self.around.push(Vec::new());
        self.size.push(self.field.at(wanted));
        let halves = |p: u32, q: u32, tip: u32| [[p, m, tip], [m, q, tip]];
        let sound = sides
            .iter()
            .flatten()
            .flat_map(|(p, q, (_, tip))| halves(*p, *q, *tip))
            .all(|t| self.upright(t));
        if !sound {
            self.at[m as usize] = plain;
        }
        for (p, q, (face, tip)) in sides.into_iter().flatten() {
            let [first, second] = halves(p, q, tip);
            let new = self.triangles.len() as u32;
            self.triangles[face as usize] = first;
            self.triangles.push(second);
            self.forget(q, face);
            self.around[q as usize].push(new);
            self.around[tip as usize].push(new);
            self.around[m as usize].extend([face, new]);
        }
        if let Some(curve) = curve {
            self.marked.remove(&edge(a, b));
            self.marked.insert(edge(a, m), curve);
            self.marked.insert(edge(m, b), curve);
        }
    }

    /// Collapses short edges, the shortest first.
    pub(super) fn collapse(&mut self) {
        let mut short: Vec<(f64, (u32, u32))> = self
            .edges()
            .into_iter()
            .map(|(a, b)| (self.share(a, b), (a, b)))
            .filter(|(share, _)| *share < SHORT)
            .collect();
        short.sort_by(|x, y| x.0.total_cmp(&y.0).then(x.1.cmp(&y.1)));
        for (_, (a, b)) in short {
            if self.share(a, b) < SHORT && !self.collapse_edge(a, b) {
                self.collapse_edge(b, a);
            }
        }
    }

    /// Lets `gone` go into `keep`; false where that is not allowed.
    fn collapse_edge(&mut self, keep: u32, gone: u32) -> bool {
        let (left, right) = (self.side(keep, gone), self.side(gone, keep));
        let curve = self.marked.get(&edge(keep, gone)).copied();
        let Some((place, bound)) = self.merged(keep, gone, curve) else { return false };
        let sides: Vec<(u32, u32)> = [left, right].into_iter().flatten().collect();
        let (of_keep, of_gone) = (self.neighbours(keep), self.neighbours(gone));
        let shared = of_gone.iter().filter(|v| of_keep.binary_search(v).is_ok()).count();
        if sides.is_empty() || shared != sides.len() {
            return false;
        }
        let onward = curve.and_then(|c| {
            self.curve_neighbours(gone, c).into_iter().find(|w| *w != keep).map(|w| (w, c))
        });
        if curve.is_some() && onward.is_none_or(|(w, _)| self.marked.contains_key(&edge(keep, w))) {
            return false;
        }
        let rest = |mesher: &Self, v: u32| -> Vec<u32> {
            let all = mesher.around[v as usize].iter().copied();
            all.filter(|f| sides.iter().all(|s| s.0 != *f)).collect()
        };
        let (stay, moved) = (rest(self, keep), rest(self, gone));
        // A tip between the two must keep a triangle.
        if stay.len() + moved.len() == 0
            || sides.iter().any(|s| self.around[s.1 as usize].len() < 2)
        {
            return false;
        }
        let k = keep as usize;
        let old = (self.at[k], self.normal[k], self.size[k], self.bound[k]);
        if bound != Bound::Corner && place != self.at[k] {
            self.at[k] = place;
            self.normal[k] = self.ground.nearest(place).1;
            self.size[k] = self.field.at(place);
            self.bound[k] = bound;
        }
        let renamed = |t: [u32; 3]| t.map(|v| if v == gone { keep } else { v });
        let long = of_gone
            .iter()
            .chain(&of_keep)
            .any(|&v| v != keep && v != gone && self.share(v, keep) > LONG);
        let faces = stay.iter().chain(&moved);
        let sound = faces.clone().all(|&f| self.upright(renamed(self.triangles[f as usize])));
        if long || !sound {
            (self.at[k], self.normal[k], self.size[k], self.bound[k]) = old;
            return false;
        }
        for (face, _) in sides {
            for v in self.triangles[face as usize] {
                self.forget(v, face);
            }
            self.triangles[face as usize] = DEAD;
        }
        for face in moved {
            self.triangles[face as usize] = renamed(self.triangles[face as usize]);
            self.around[k].push(face);
        }
        self.around[gone as usize].clear();
        if let Some((onward, curve)) = onward {
            self.marked.remove(&edge(keep, gone));
            self.marked.remove(&edge(gone, onward));
            self.marked.insert(edge(keep, onward), curve);
        }
        true
    }

    /// Where two vertices meet when `gone` goes, or `None` where it may not.
    fn merged(&self, keep: u32, gone: u32, curve: Option<u32>) -> Option<(DVec3, Bound)> {
        let stays = (self.at[keep as usize], self.bound[keep as usize]);
        match (self.bound[gone as usize], self.bound[keep as usize]) {
            (Bound::Corner, _) | (Bound::On { .. }, Bound::Free) => None,
            (Bound::Free, Bound::Free) => {
                let middle = self.at[keep as usize].midpoint(self.at[gone as usize]);
                Some((self.ground.nearest(middle).0, Bound::Free))
            }
            (Bound::Free, _) => Some(stays),
            (Bound::On { .. }, Bound::Corner) => curve.map(|_| stays),
            (Bound::On { along: from, .. }, Bound::On { along: to, .. }) => curve.map(|curve| {
                let along = (from + to) / 2.0;
                (self.curves[curve as usize].at(along), Bound::On { curve, along })
            }),
        }
    }

    /// Flips every edge whose other diagonal is `better`, in order, once.
    pub(super) fn flip(&mut self, better: impl Fn(&Self, [u32; 4]) -> bool) {
        for (a, b) in self.edges() {
            let (Some((left, c)), Some((right, d))) = (self.side(a, b), self.side(b, a)) else {
                continue;
            };
            let (new_left, new_right) = ([c, d, b], [d, c, a]);
            // Most edges are good as they are, so that is asked first.
            if c == d
                || !better(self, [a, b, c, d])
                || self.marked.contains_key(&edge(a, b))
                || self.side(c, d).is_some()
                || self.side(d, c).is_some()
                || !self.upright(new_left)
                || !self.upright(new_right)
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
    pub(super) fn fatter(&self, [a, b, c, d]: [u32; 4]) -> bool {
        let angle = |tip: u32| {
            let tip = self.at[tip as usize];
            (self.at[a as usize] - tip).angle_between(self.at[b as usize] - tip)
        };
        angle(c) + angle(d) > std::f64::consts::PI + 1e-6
    }

    /// The numbers of triangles round the four vertices come nearer to six (three on a
    /// boundary).
    pub(super) fn more_regular(&self, [a, b, c, d]: [u32; 4]) -> bool {
        // By how much nearer to its number a vertex comes that gains or loses a triangle.
        let nearer = |v: u32, change: i64| {
            let ideal = if self.is_inside(v) { 6 } else { 3 };
            let off = self.around[v as usize].len() as i64 - ideal;
            off.pow(2) - (off + change).pow(2)
        };
        nearer(a, -1) + nearer(b, -1) + nearer(c, 1) + nearer(d, 1) > 0
    }
}
