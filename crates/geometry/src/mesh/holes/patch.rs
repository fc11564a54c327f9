//! The cover of one hole as a small mesh that can be made finer.
//!
//! After P. Liepa 2003, "Filling holes in meshes", section 4, following R. Pfeifle and H.-P.
//! Seidel 1996: triangles larger than the spacing around ask for are split at their middle, and
//! edges flipped as in a Delaunay triangulation.

use std::collections::BTreeSet;

use glam::DVec3;

/// Liepa's density factor: a middle is taken when it is farther than 1/√2 of the spacing from
/// each corner.
const DENSITY: f64 = std::f64::consts::SQRT_2;

/// Added vertices a hole at most, about. Beyond, the triangles grow towards the middle: the
/// smooth surface there needs no more, and solving for it would take long.
const MANY: f64 = 8000.0;

/// How much the spacing grows from one point to the next then.
const GROWTH: f64 = 1.15;

/// Stops a mistaken spacing before the memory is full.
const MOST: usize = 40_000;

/// Angles closer than this, in radians, count as equal, so that rounding flips nothing.
const SAME_ANGLE: f64 = 1e-6;

/// No neighbour: the side lies at the rim.
const RIM: u32 = u32::MAX;

/// The triangles that fill a hole. Its first points are the rim's.
#[derive(Debug, Clone)]
pub(super) struct Patch {
    /// The points.
    pub(super) points: Vec<DVec3>,
    /// How many of them are on the rim.
    pub(super) rim: usize,
    /// Counter-clockwise seen from outside.
    pub(super) triangles: Vec<[u32; 3]>,
    /// Across the side from corner k to the next.
    across: Vec<[u32; 3]>,
    /// Every edge, the smaller end first; also those of the surface around between rim points.
    edges: BTreeSet<[u32; 2]>,
}

fn edge(a: u32, b: u32) -> [u32; 2] {
    [a.min(b), a.max(b)]
}

impl Patch {
    /// A patch of `triangles` on `points`; `taken` are the edges that the surface around has
    /// between rim points.
    pub(super) fn new(
        points: Vec<DVec3>,
        rim: usize,
        triangles: Vec<[u32; 3]>,
        taken: &BTreeSet<[u32; 2]>,
    ) -> Self {
        let mut edges = taken.clone();
        let mut sides = Vec::new();
        for (t, f) in triangles.iter().zip(0_u32..) {
            for k in 0..3 {
                let (a, b) = (t[k], t[(k + 1) % 3]);
                edges.insert(edge(a, b));
                sides.push((edge(a, b), f, k));
            }
        }
        sides.sort_unstable();
        let mut across = vec![[RIM; 3]; triangles.len()];
        for pair in sides.windows(2).filter(|pair| pair[0].0 == pair[1].0) {
            let [(_, f, k), (_, g, l)] = [pair[0], pair[1]];
            across[f as usize][k] = g;
            across[g as usize][l] = f;
        }
        Self { points, rim, triangles, across, edges }
    }

    fn corners(&self, face: u32) -> [DVec3; 3] {
        self.triangles[face as usize].map(|v| self.points[v as usize])
    }

    /// Twice the area, along the outward normal.
    pub(super) fn normal(&self, face: u32) -> DVec3 {
        let [a, b, c] = self.corners(face);
        (b - a).cross(c - a)
    }

    /// Splits and flips until the triangles are about as small as `spacing`, given for each rim
    /// point (points inside have the mean), asks for.
    pub(super) fn refine(&mut self, spacing: &[f64]) {
        let area: f64 =
            (0..self.triangles.len() as u32).map(|f| self.normal(f).length() / 2.0).sum();
        let mean = spacing.iter().sum::<f64>() / spacing.len() as f64;
        // Two triangles a vertex; an even-sided one of side s covers √3/4 s².
        let growth = if area > MANY * 0.866 * mean * mean { GROWTH } else { 1.0 };
        let mut spacing = spacing.to_vec();
        spacing.resize(self.points.len(), mean);
        self.flip_all();
        loop {
            let before = self.points.len();
            for face in 0..self.triangles.len() as u32 {
                if self.points.len() < MOST {
                    self.split(face, &mut spacing, growth);
                }
            }
            if self.points.len() == before {
                break;
            }
            self.flip_all();
        }
    }

    fn split(&mut self, face: u32, spacing: &mut Vec<f64>, growth: f64) {
        let t = self.triangles[face as usize];
        let corners = self.corners(face);
        let middle = (corners[0] + corners[1] + corners[2]) / 3.0;
        let wanted = growth * t.iter().map(|v| spacing[*v as usize]).sum::<f64>() / 3.0;
        let wide = t.iter().zip(corners).all(|(v, p)| {
            let reach = DENSITY * p.distance(middle);
            reach > wanted && reach > spacing[*v as usize]
        });
        if !wide {
            return;
        }
        let d = self.points.len() as u32;
        self.points.push(middle);
        spacing.push(wanted);
        self.edges.extend(t.map(|v| edge(v, d)));
        let [a, b, c] = t;
        let [ab, bc, ca] = self.across[face as usize];
        let second = self.triangles.len() as u32;
        let third = second + 1;
        self.triangles[face as usize] = [a, b, d];
        self.triangles.extend([[b, c, d], [c, a, d]]);
        self.across[face as usize] = [ab, second, third];
        self.across.extend([[bc, third, face], [ca, face, second]]);
        self.point_back(bc, face, second);
        self.point_back(ca, face, third);
        let mut doubtful = vec![(face, 0), (second, 0), (third, 0)];
        self.flip_around(&mut doubtful);
    }

    /// Makes the neighbour `at` that pointed to `old` point to `new`.
    fn point_back(&mut self, at: u32, old: u32, new: u32) {
        if at != RIM {
            for side in &mut self.across[at as usize] {
                if *side == old {
                    *side = new;
                    return;
                }
            }
        }
    }

    /// Flips every edge that asks for it, and those around it.
    pub(super) fn flip_all(&mut self) {
        let faces = 0..self.triangles.len() as u32;
        let mut all: Vec<(u32, usize)> = faces.flat_map(|f| [0, 1, 2].map(|k| (f, k))).collect();
        self.flip_around(&mut all);
    }

    fn flip_around(&mut self, doubtful: &mut Vec<(u32, usize)>) {
        // Flips end by themselves on a flat patch; on a bent one nothing says so.
        let mut left = 20 * (doubtful.len() + 10);
        while let Some((face, k)) = doubtful.pop() {
            if left > 0 && self.flip(face, k) {
                left -= 1;
                let other = self.across[face as usize][1];
                doubtful.extend([(face, 0), (face, 2), (other, 0), (other, 1)]);
            }
        }
    }

    /// Flips side `k` of `face` if the angles opposite it are together more than 180 degrees, no
    /// such edge exists, and neither triangle turns over by it. The new edge is then side 1 of
    /// `face` and side 2 of its neighbour.
    fn flip(&mut self, face: u32, k: usize) -> bool {
        let other = self.across[face as usize][k];
        if other == RIM {
            return false;
        }
        let t = self.triangles[face as usize];
        let [a, b, c] = [t[k], t[(k + 1) % 3], t[(k + 2) % 3]];
        let u = self.triangles[other as usize];
        let Some(j) = (0..3).find(|j| u[*j] == b && u[(j + 1) % 3] == a) else { return false };
        let d = u[(j + 2) % 3];
        if c == d || self.edges.contains(&edge(c, d)) {
            return false;
        }
        let [pa, pb, pc, pd] = [a, b, c, d].map(|v| self.points[v as usize]);
        // By the tangent, as the cosine says little of small angles.
        let angle = |p: DVec3, q: DVec3| p.cross(q).length().atan2(p.dot(q));
        let opposite = angle(pa - pc, pb - pc) + angle(pa - pd, pb - pd);
        if opposite.is_nan() || opposite <= std::f64::consts::PI + SAME_ANGLE {
            return false;
        }
        let before = self.normal(face) + self.normal(other);
        let after = [(pd - pa).cross(pc - pa), (pb - pd).cross(pc - pd)];
        if after.iter().any(|n| n.dot(before) <= 0.0) {
            return false;
        }
        let [_, bc, ca] = [0, 1, 2].map(|i| self.across[face as usize][(k + i) % 3]);
        let [_, ad, db] = [0, 1, 2].map(|i| self.across[other as usize][(j + i) % 3]);
        self.edges.remove(&edge(a, b));
        self.edges.insert(edge(c, d));
        self.triangles[face as usize] = [a, d, c];
        self.triangles[other as usize] = [d, b, c];
        self.across[face as usize] = [ad, other, ca];
        self.across[other as usize] = [db, bc, face];
        self.point_back(ad, other, face);
        self.point_back(bc, face, other);
        true
    }
}
