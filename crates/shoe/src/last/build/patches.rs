//! Puts the mesh together: wall, rounding, bottom and flat top, sharing their rims.

use std::f64::consts::{PI, TAU};

use geometry::mesh::TriMesh;
use glam::{DAffine3, DVec2, DVec3};

use super::edge::Rim;
use super::fit::Fitted;
use super::form::Form;
use super::measures::LastMeasures;
use super::remesh::{Meshed, Patch, remesh};
use super::{BuildError, Truth};

struct Wall<'a>(&'a Form);
struct Bottom<'a>(&'a Form);
struct Top<'a>(&'a Form);

impl Patch for Wall<'_> {
    const TURNS: bool = true;
    fn at(&self, uv: DVec2) -> DVec3 {
        self.0.wall(uv.x, uv.y)
    }
}

impl Patch for Bottom<'_> {
    const TURNS: bool = false;
    fn at(&self, uv: DVec2) -> DVec3 {
        self.0.bottom(uv)
    }
}

impl Patch for Top<'_> {
    const TURNS: bool = false;
    fn at(&self, uv: DVec2) -> DVec3 {
        self.0.flat_top(uv)
    }
}

/// Spacing of the true feather line and back line, mm.
const TRUTH_STEP: f64 = 0.5;

/// Meshes the fitted form and gathers what is known of it, in the last frame, right foot.
pub(super) fn assemble(
    measures: &LastMeasures,
    fitted: &Fitted,
) -> Result<(TriMesh, Truth), BuildError> {
    let form = &fitted.form;
    let edge = measures.resolution;
    let rim_at = |theta| Rim::new(form, theta, measures.edge_radius, measures.seat_width);
    let anchors = [0.0, fitted.medial, PI, fitted.lateral];
    let round = spread(|theta| form.feather(theta), &anchors, edge);
    let rims = round.iter().map(|&t| rim_at(t)).collect::<Result<Vec<_>, _>>()?;
    let on_top = |theta: f64| form.flat_top(form.top_edge(theta));
    let top_round = spread(on_top, &[0.0, PI], edge);

    let last_from_form = fitted.last_from_form;
    let placed = |p: DVec3| last_from_form.transform_point3(p);
    let mut sewn = Sewn { mesh: TriMesh::default(), last_from_form };
    let wall_rim: Vec<u32> = rims.iter().map(|r| sewn.add(r.at(0.0))).collect();
    let top_rim: Vec<u32> = top_round.iter().map(|&t| sewn.add(on_top(t))).collect();
    let fixed: Vec<u32> = wall_rim.iter().chain(&top_rim).copied().collect();
    let start = wall_start(&rims, &top_round, edge);
    let wall = Wall(form);
    // Counter-clockwise in (theta, t) is clockwise from outside.
    sewn.patch(&wall, remesh(&wall, start, fixed.len(), &fitted.ends, edge), &fixed, true);

    let bottom_rim = sewn.rounding(&rims, &wall_rim, edge);
    let plan: Vec<DVec2> = rims.iter().map(|r| r.bottom).collect();
    let front = round.iter().position(|&t| t == PI).unwrap_or(round.len() / 2);
    let bottom = Bottom(form);
    let start = disc_start(plan, front);
    sewn.patch(
        &bottom,
        remesh(&bottom, start, bottom_rim.len(), &[fitted.lowest], edge),
        &bottom_rim,
        true,
    );

    let plan: Vec<DVec2> = top_round.iter().map(|&t| form.top_edge(t)).collect();
    let front = top_round.iter().position(|&t| t == PI).unwrap_or(top_round.len() / 2);
    let top = Top(form);
    let start = disc_start(plan, front);
    sewn.patch(&top, remesh(&top, start, top_rim.len(), &[], edge), &top_rim, false);

    let middle = |theta| Ok(placed(rim_at(theta)?.middle()));
    let mut marks = anchors.to_vec();
    marks.extend([fitted.seat, fitted.toe].map(|theta| theta.rem_euclid(TAU)));
    marks.sort_by(f64::total_cmp);
    marks.dedup();
    let mut feather_line = spread(|theta| form.feather(theta), &marks, TRUTH_STEP)
        .into_iter()
        .map(middle)
        .collect::<Result<Vec<_>, _>>()?;
    let seat = middle(fitted.seat)?;
    // The line is told from the seat on, which need not lie at angle 0.
    let first = (0..feather_line.len())
        .min_by(|a, b| feather_line[*a].distance(seat).total_cmp(&feather_line[*b].distance(seat)));
    feather_line.rotate_left(first.unwrap_or(0));
    let seat_rim = rim_at(0.0)?;
    let end = |theta: f64| placed(on_top(theta));
    let truth = Truth {
        feather_line,
        seat,
        joint_medial: middle(fitted.medial)?,
        joint_lateral: middle(fitted.lateral)?,
        toe: middle(fitted.toe)?,
        back_line: back_line(form, &seat_rim).into_iter().map(placed).collect(),
        ground: fitted.ground,
        top_back: end(0.0),
        top_front: end(PI),
        reached: fitted.reached,
    };
    Ok((sewn.mesh, truth))
}

/// From the middle of the edge at the seat up to the flat top.
fn back_line(form: &Form, seat: &Rim) -> Vec<DVec3> {
    const ROWS: u32 = 200;
    let share = |k: u32, of: u32| f64::from(k) / f64::from(of);
    let arc = (0..8).filter(|_| seat.across() > 0.0).map(|k| seat.at(0.5 - share(k, 16)));
    let wall =
        (0..=ROWS).map(|k| form.wall(0.0, seat.wall.y + (1.0 - seat.wall.y) * share(k, ROWS)));
    arc.chain(wall).collect()
}

/// Angles round a closed curve, rising from 0, about `step` apart along it, among them the
/// `anchors` (rising, the first 0).
fn spread(curve: impl Fn(f64) -> DVec3, anchors: &[f64], step: f64) -> Vec<f64> {
    const FINE: usize = 2000;
    let mut angles = Vec::new();
    for (i, &from) in anchors.iter().enumerate() {
        let to = anchors.get(i + 1).copied().unwrap_or(TAU);
        let at = |k: usize| from + (to - from) * k as f64 / FINE as f64;
        let mut run = vec![0.0];
        for k in 0..FINE {
            run.push(run[k] + curve(at(k)).distance(curve(at(k + 1))));
        }
        let pieces = (run[FINE] / step).round().max(1.0) as usize;
        angles.push(from);
        for piece in 1..pieces {
            let goal = run[FINE] * piece as f64 / pieces as f64;
            let k = run.partition_point(|&r| r <= goal) - 1;
            let share = (goal - run[k]) / (run[k + 1] - run[k]);
            angles.push(from + (to - from) * (k as f64 + share) / FINE as f64);
        }
    }
    angles
}

/// A first mesh of the wall: rings from the edge to the flat top. Its first vertices are the
/// edge's, then the top's.
fn wall_start(rims: &[Rim], top: &[f64], edge: f64) -> Meshed {
    let rings = (80.0 / edge).ceil() as usize;
    let mut uv: Vec<DVec2> = rims.iter().map(|r| r.wall).collect();
    uv.extend(top.iter().map(|&theta| DVec2::new(theta, 1.0)));
    let round = |list: &dyn Fn(usize) -> f64, n: usize, share: f64| {
        let place = share * n as f64;
        let k = place as usize;
        let after = if k + 1 >= n { TAU + list(0) } else { list(k + 1) };
        let here = list(k.min(n - 1));
        here + (after - here) * (place - k as f64)
    };
    let (n, m) = (rims.len(), top.len());
    let mut before: Vec<u32> = (0..n as u32).collect();
    let mut triangles = Vec::new();
    for ring in 1..=rings {
        let share = ring as f64 / rings as f64;
        let count = (n as f64 + (m as f64 - n as f64) * share).round() as usize;
        let now: Vec<u32> = if ring == rings {
            (n as u32..(n + m) as u32).collect()
        } else {
            let first = uv.len() as u32;
            for i in 0..count {
                let f = i as f64 / count as f64;
                let low = round(&|k| rims[k].wall.x, n, f);
                let t = round(&|k| rims[k].wall.y, n, f).rem_euclid(TAU);
                let high = round(&|k| top[k], m, f);
                uv.push(DVec2::new(low + (high - low) * share, t + (1.0 - t) * share));
            }
            (first..first + count as u32).collect()
        };
        zip_rings(&before, &now, &mut triangles);
        before = now;
    }
    Meshed { uv, triangles }
}

/// Fills between two closed rings, `upper` to the left of `lower`.
fn zip_rings(lower: &[u32], upper: &[u32], triangles: &mut Vec<[u32; 3]>) {
    let (n, m) = (lower.len(), upper.len());
    let (mut i, mut j) = (0, 0);
    while i < n || j < m {
        if j == m || (i < n && (i + 1) * m <= (j + 1) * n) {
            triangles.push([lower[i], lower[(i + 1) % n], upper[j % m]]);
            i += 1;
        } else {
            triangles.push([lower[i % n], upper[(j + 1) % m], upper[j]]);
            j += 1;
        }
    }
}

/// A first mesh of a flat outline: its two sides, from the first point to `front`, zipped.
fn disc_start(outline: Vec<DVec2>, front: usize) -> Meshed {
    let n = outline.len();
    let upper: Vec<u32> = (0..=front as u32).collect();
    let lower: Vec<u32> = (front..=n).rev().map(|k| (k % n) as u32).collect();
    let x = |v: u32| outline[v as usize].x;
    let (mut i, mut j) = (0, 0);
    let mut triangles = Vec::new();
    while i + 1 < lower.len() || j + 1 < upper.len() {
        let lower_next =
            i + 1 < lower.len() && (j + 1 == upper.len() || x(lower[i + 1]) <= x(upper[j + 1]));
        let triangle = if lower_next {
            i += 1;
            [lower[i - 1], lower[i], upper[j]]
        } else {
            j += 1;
            [lower[i], upper[j], upper[j - 1]]
        };
        let [a, b, c] = triangle;
        if a != b && b != c && c != a {
            triangles.push(triangle);
        }
    }
    Meshed { uv: outline, triangles }
}

/// The mesh under the needle.
struct Sewn {
    mesh: TriMesh,
    last_from_form: DAffine3,
}

impl Sewn {
    fn add(&mut self, at: DVec3) -> u32 {
        self.mesh.positions.push(self.last_from_form.transform_point3(at));
        self.mesh.positions.len() as u32 - 1
    }

    /// Adds a meshed patch whose first vertices are already there as `fixed`.
    fn patch<P: Patch>(&mut self, patch: &P, meshed: Meshed, fixed: &[u32], turned: bool) {
        let mut place = fixed.to_vec();
        for &uv in &meshed.uv[fixed.len()..] {
            place.push(self.add(patch.at(uv)));
        }
        for triangle in meshed.triangles {
            let [a, b, c] = triangle.map(|v| place[v as usize]);
            self.mesh.triangles.push(if turned { [a, c, b] } else { [a, b, c] });
        }
    }

    /// Strips from the wall round to the bottom; returns the rim of the bottom. The middle of
    /// the rounding runs along edges.
    fn rounding(&mut self, rims: &[Rim], wall_rim: &[u32], edge: f64) -> Vec<u32> {
        let widest = rims.iter().map(Rim::across).fold(0.0, f64::max);
        if widest <= 0.0 {
            return wall_rim.to_vec();
        }
        let strips = 2 * (widest / edge / 2.0 - 0.2).ceil().max(1.0) as usize;
        let mut above = wall_rim.to_vec();
        for strip in 1..=strips {
            let share = strip as f64 / strips as f64;
            let below: Vec<u32> = rims.iter().map(|r| self.add(r.at(share))).collect();
            let n = above.len();
            for i in 0..n {
                let [a, b, c, d] = [above[i], above[(i + 1) % n], below[(i + 1) % n], below[i]];
                let at = |v: u32| self.mesh.positions[v as usize];
                // Seen from outside, `a` to `b` runs to the right along the inside.
                if at(a).distance(at(c)) < at(b).distance(at(d)) {
                    self.mesh.triangles.extend([[a, c, d], [a, b, c]].map(|[p, q, r]| [p, q, r]));
                } else {
                    self.mesh.triangles.extend([[a, b, d], [b, c, d]]);
                }
            }
            above = below;
        }
        above
    }
}
