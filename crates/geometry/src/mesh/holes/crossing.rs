//! Finds fills that go through the surface, through another fill, or through themselves.

use std::ops::Range;

use glam::DVec3;

use crate::mesh::TriMesh;

/// The boxes are sorted into this many cells along the longest side of the mesh.
const CELLS: usize = 64;

/// Passing through by less than this part of the larger triangle is touching.
const DEPTH: f64 = 1e-9;

/// A box along the axes.
#[derive(Clone, Copy)]
pub(in crate::mesh) struct Box3 {
    pub(in crate::mesh) low: DVec3,
    pub(in crate::mesh) high: DVec3,
}

impl Box3 {
    pub(in crate::mesh) fn of(points: impl IntoIterator<Item = DVec3>) -> Self {
        let none = Self { low: DVec3::INFINITY, high: DVec3::NEG_INFINITY };
        points.into_iter().fold(none, |b, p| Self { low: b.low.min(p), high: b.high.max(p) })
    }

    pub(in crate::mesh) fn meets(&self, other: &Self) -> bool {
        self.low.cmple(other.high).all() && other.low.cmple(self.high).all()
    }
}

/// For each of the `fills`, ranges of the mesh's triangles, its triangles that cross another of
/// the mesh, each with that one.
pub(super) fn crossings(mesh: &TriMesh, fills: &[Range<usize>]) -> Vec<Vec<(u32, u32)>> {
    let triangle = |f: usize| Box3::of(mesh.corners(f as u32));
    let boxes: Vec<Box3> = fills
        .iter()
        .map(|fill| Box3::of(fill.clone().flat_map(|f| mesh.corners(f as u32))))
        .collect();
    let near = near_each(mesh, &boxes, triangle);
    let found = |(fill, near): (&Range<usize>, Vec<u32>)| {
        let mut others: Vec<(Box3, u32)> =
            near.into_iter().map(|f| (triangle(f as usize), f)).collect();
        others.sort_by(|a, b| a.0.low.x.total_cmp(&b.0.low.x));
        let widest = others.iter().map(|(b, _)| b.high.x - b.low.x).fold(0.0, f64::max);
        let mut hits = Vec::new();
        for own in fill.clone() {
            let bounds = triangle(own);
            let from = others.partition_point(|(b, _)| b.low.x < bounds.low.x - widest);
            hits.extend(
                others[from..]
                    .iter()
                    .take_while(|(b, _)| b.low.x <= bounds.high.x)
                    .filter(|(b, f)| *f as usize != own && b.meets(&bounds))
                    .filter(|(_, f)| cross(mesh, own as u32, *f))
                    .map(|(_, f)| (own as u32, *f)),
            );
        }
        hits
    };
    fills.iter().zip(near).map(found).collect()
}

/// For each box the triangles whose own boxes meet it, ascending.
fn near_each(mesh: &TriMesh, boxes: &[Box3], triangle: impl Fn(usize) -> Box3) -> Vec<Vec<u32>> {
    let mut near = vec![Vec::new(); boxes.len()];
    let Some((low, high)) = mesh.bounds() else { return near };
    let cell = ((high - low).max_element() / CELLS as f64).max(f64::MIN_POSITIVE);
    let reach = |b: &Box3| {
        let index = |p: DVec3| ((p - low) / cell).to_array().map(|x| (x as usize).min(CELLS - 1));
        let (from, to) = (index(b.low), index(b.high));
        (from[0]..=to[0]).flat_map(move |x| {
            (from[1]..=to[1])
                .flat_map(move |y| (from[2]..=to[2]).map(move |z| (x * CELLS + y) * CELLS + z))
        })
    };
    let mut cells: Vec<Vec<u32>> = vec![Vec::new(); CELLS * CELLS * CELLS];
    for (bounds, i) in boxes.iter().zip(0..) {
        for at in reach(bounds) {
            cells[at].push(i);
        }
    }
    for f in 0..mesh.triangles.len() {
        let bounds = triangle(f);
        for at in reach(&bounds) {
            for &i in &cells[at] {
                let list = &mut near[i as usize];
                if list.last() != Some(&(f as u32)) && boxes[i as usize].meets(&bounds) {
                    list.push(f as u32);
                }
            }
        }
    }
    near
}

/// Whether two triangles pass through each other; those with a side in common do not.
pub(in crate::mesh) fn cross(mesh: &TriMesh, f: u32, g: u32) -> bool {
    let (s, t) = (mesh.triangles[f as usize], mesh.triangles[g as usize]);
    let shared = |v: &u32| s.contains(v) && t.contains(v);
    if s.iter().filter(|v| shared(v)).count() > 1 {
        return false;
    }
    [(s, g), (t, f)].iter().any(|(sides, face)| {
        (0..3).any(|k| {
            let (a, b) = (sides[k], sides[(k + 1) % 3]);
            let [p, q] = [a, b].map(|v| mesh.positions[v as usize]);
            !shared(&a) && !shared(&b) && pierces(p, q, mesh.corners(*face))
        })
    })
}

/// Whether the line from `p` to `q` passes through the inside of a triangle.
fn pierces(p: DVec3, q: DVec3, [a, b, c]: [DVec3; 3]) -> bool {
    let twice = (b - a).cross(c - a);
    let normal = twice.normalize_or_zero();
    let size = p.distance(q).max(a.distance(b)).max(b.distance(c)).max(c.distance(a));
    let (over, under) = ((p - a).dot(normal), (q - a).dot(normal));
    if over * under >= 0.0 || over.abs().min(under.abs()) <= DEPTH * size {
        return false;
    }
    let at = p + (q - p) * (over / (over - under));
    [(a, b), (b, c), (c, a)]
        .iter()
        .all(|(from, to)| (to - from).cross(at - from).dot(normal) > DEPTH * twice.length())
}

/// The part of the length of the rim along which a fill lies on the surface next to it, turned
/// back by more than 170 degrees. `fill` is a range of the mesh's triangles.
pub(super) fn folded_back(
    mesh: &TriMesh,
    fill: &Range<usize>,
    normals: &[([u32; 2], DVec3)],
) -> f64 {
    let (mut all, mut folded) = (0.0, 0.0);
    for f in fill.clone() {
        let t = mesh.triangles[f];
        let own = mesh.area_vector(f as u32).normalize_or_zero();
        for k in 0..3 {
            let ends = [t[k], t[(k + 1) % 3]];
            if let Ok(i) = normals.binary_search_by_key(&ends, |(ends, _)| *ends) {
                let length =
                    mesh.positions[ends[0] as usize].distance(mesh.positions[ends[1] as usize]);
                all += length;
                if own.dot(normals[i].1) < -0.985 {
                    folded += length;
                }
            }
        }
    }
    if all > 0.0 { folded / all } else { 0.0 }
}
