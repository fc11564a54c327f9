//! Rims that nearly match, as along a seam or a crack, made one.

use std::collections::{BTreeMap, HashMap};

use glam::DVec3;

use super::TriMesh;
use super::edges::{EdgeUse, edge_uses, edges};
use super::weld::{weld, without_unused};

/// Rims match within these shares of the span, one after another: at last 0.26 mm of 260. What
/// matches closely must not be taken for a match of something else nearby.
const APART: [f64; 3] = [1e-5, 1e-4, 1e-3];

/// Two rims are the sides of a seam when the surfaces run away from it in directions whose
/// cosine is below this: copies of one surface run the same way.
const OPPOSITE: f64 = 0.7;

/// A mesh with its seams closed.
pub(super) struct Zipped {
    pub(super) mesh: TriMesh,
    /// Rim edges that are gone, with length and middle.
    pub(super) closed: Vec<(f64, DVec3)>,
}

/// Joins rims that lie within a thousandth of the span of each other, the surface running away
/// from them to opposite sides. Points that match one to one are joined halfway; a point with
/// no partner divides the triangle across. `None` where nothing matches.
pub(super) fn close_seams(mesh: &TriMesh) -> Option<Zipped> {
    let span = super::base::span(&mesh.positions);
    if !(span > 0.0 && span.is_finite()) {
        return None;
    }
    let mut all: Option<Zipped> = None;
    for share in APART {
        let so_far = all.as_ref().map_or(mesh, |zipped| &zipped.mesh);
        if let Some(mut zipped) = closed_within(so_far, share * span) {
            zipped.closed.extend(all.into_iter().flat_map(|before| before.closed));
            all = Some(zipped);
        }
    }
    all
}

/// The same for rims within `apart` of each other.
fn closed_within(mesh: &TriMesh, apart: f64) -> Option<Zipped> {
    let rims = Rims::of(mesh);
    if rims.edges.is_empty() {
        return None;
    }
    let joined = matched(mesh, &rims, apart);
    let mut moved = mesh.clone();
    let mut name: Vec<u32> = (0..mesh.positions.len() as u32).collect();
    for [a, b] in &joined {
        let middle = mesh.positions[*a as usize].midpoint(mesh.positions[*b as usize]);
        moved.positions[*a as usize] = middle;
        name[*b as usize] = *a;
    }
    for v in moved.triangles.iter_mut().flatten() {
        *v = name[*v as usize];
    }
    moved.triangles.retain(|t| t[0] != t[1] && t[1] != t[2] && t[2] != t[0]);
    // A triangle with several rim edges is divided along one after another.
    for _ in 0..3 {
        let before = moved.triangles.len();
        moved = divided(&moved, apart);
        if moved.triangles.len() == before {
            break;
        }
    }
    let after = Rims::of(&moved);
    if after.edges.len() >= rims.edges.len() {
        return None;
    }
    let left: BTreeMap<[u32; 2], ()> = after.edges.iter().map(|e| (e.ends, ())).collect();
    let closed = rims
        .edges
        .iter()
        .filter(|edge| {
            let [a, b] = edge.ends.map(|v| name[v as usize]);
            !left.contains_key(&[a.min(b), a.max(b)])
        })
        .map(|edge| {
            let [a, b] = edge.ends.map(|v| mesh.positions[v as usize]);
            (a.distance(b), a.midpoint(b))
        })
        .collect();
    Some(Zipped { mesh: without_unused(&moved), closed })
}

/// A wider tolerance for a mesh most of whose points lie on rims: loose triangles that
/// `tolerance` did not join. `None` where that is not so.
pub(super) fn loose_tolerance(mesh: &TriMesh, tolerance: f64) -> Option<f64> {
    let loose = |mesh: &TriMesh| {
        let rims = Rims::of(mesh);
        let on_rim = rims.inward.iter().filter(|d| **d != DVec3::ZERO).count();
        2 * on_rim > mesh.positions.len()
    };
    if mesh.triangles.len() < 100 || !loose(mesh) {
        return None;
    }
    let mut lengths: Vec<f64> = edges(&edge_uses(mesh))
        .map(|uses| {
            let [a, b] = uses[0].ends.map(|v| mesh.positions[v as usize]);
            a.distance(b)
        })
        .collect();
    // A tenth of what nearly all edges are longer than keeps their ends apart.
    let twentieth = lengths.len() / 20;
    let (_, short, _) = lengths.select_nth_unstable_by(twentieth, f64::total_cmp);
    let most = *short / 10.0;
    [4.0, 16.0, 64.0, 256.0]
        .into_iter()
        .map(|wider| wider * tolerance)
        .filter(|wider| *wider <= most)
        .find(|wider| !loose(&weld(mesh, *wider)))
}

/// The edges with one triangle, and at each point on one the direction into the surface.
struct Rims {
    edges: Vec<EdgeUse>,
    inward: Vec<DVec3>,
}

impl Rims {
    fn of(mesh: &TriMesh) -> Self {
        let uses = edge_uses(mesh);
        let single: Vec<EdgeUse> =
            edges(&uses).filter(|uses| uses.len() == 1).map(|uses| uses[0]).collect();
        let mut inward = vec![DVec3::ZERO; mesh.positions.len()];
        for edge in &single {
            let direction = into_surface(mesh, edge);
            for v in edge.ends {
                inward[v as usize] += direction;
            }
        }
        Self { edges: single, inward: inward.into_iter().map(DVec3::normalize_or_zero).collect() }
    }
}

/// Square to a rim edge, towards the rest of its triangle.
fn into_surface(mesh: &TriMesh, edge: &EdgeUse) -> DVec3 {
    let [a, b] = edge.ends.map(|v| mesh.positions[v as usize]);
    let along = (b - a).normalize_or_zero();
    let third = mesh.triangles[edge.face as usize].into_iter().find(|v| !edge.ends.contains(v));
    let to_third = third.map_or(DVec3::ZERO, |v| mesh.positions[v as usize] - a);
    (to_third - along * to_third.dot(along)).normalize_or_zero()
}

/// Pairs of rim points that are each other's nearest partner, the smaller number first.
fn matched(mesh: &TriMesh, rims: &Rims, apart: f64) -> Vec<[u32; 2]> {
    let on_rim: Vec<u32> = (0..mesh.positions.len() as u32)
        .filter(|v| rims.inward[*v as usize] != DVec3::ZERO)
        .collect();
    let mut cells: HashMap<[i64; 3], Vec<u32>> = HashMap::new();
    for v in &on_rim {
        cells.entry(cell(mesh.positions[*v as usize], apart)).or_default().push(*v);
    }
    let joined_by_edge: Vec<[u32; 2]> = edges(&edge_uses(mesh)).map(|uses| uses[0].ends).collect();
    let partner = |v: u32| -> Option<u32> {
        let p = mesh.positions[v as usize];
        near(&cells, p, apart)
            .filter(|w| {
                *w != v
                    && mesh.positions[*w as usize].distance(p) <= apart
                    && rims.inward[v as usize].dot(rims.inward[*w as usize]) < OPPOSITE
                    && joined_by_edge.binary_search(&[v.min(*w), v.max(*w)]).is_err()
            })
            .min_by(|a, b| {
                let [qa, qb] = [a, b].map(|w| mesh.positions[*w as usize]);
                let by_place = qa.to_array().partial_cmp(&qb.to_array());
                p.distance(qa)
                    .total_cmp(&p.distance(qb))
                    .then(by_place.unwrap_or(std::cmp::Ordering::Equal))
            })
    };
    let partners: BTreeMap<u32, u32> =
        on_rim.iter().filter_map(|v| partner(*v).map(|w| (*v, w))).collect();
    let mutual = partners.iter().filter(|(v, w)| *v < *w && partners.get(w) == Some(v));
    mutual.map(|(v, w)| [*v, *w]).collect()
}

/// Divides rim triangles at the rim points that lie on their edge, within `apart`.
fn divided(mesh: &TriMesh, apart: f64) -> TriMesh {
    let rims = Rims::of(mesh);
    // Only edges around points that lie near are looked at: each edge in the cells it passes.
    let mut cells: HashMap<[i64; 3], Vec<u32>> = HashMap::new();
    for edge in &rims.edges {
        for v in edge.ends {
            cells.entry(cell(mesh.positions[v as usize], apart)).or_default().push(v);
        }
    }
    for list in cells.values_mut() {
        list.sort_unstable();
        list.dedup();
    }
    let mut new = mesh.clone();
    for edge in &rims.edges {
        let [a, b] = edge.ends.map(|v| mesh.positions[v as usize]);
        let length = a.distance(b);
        if length <= 0.0 {
            continue;
        }
        let into = into_surface(mesh, edge);
        let t = mesh.triangles[edge.face as usize];
        let mut on: Vec<(f64, u32)> = Vec::new();
        let steps = (length / apart).ceil().min(MOST_STEPS);
        for step in 0..=steps as u32 {
            let at = a.lerp(b, f64::from(step) / steps.max(1.0));
            for v in near(&cells, at, apart) {
                let p = mesh.positions[v as usize];
                let along = (p - a).dot(b - a) / (length * length);
                let beside = p.distance(a.lerp(b, along));
                let inside = along * length > 1e-6 * length && (1.0 - along) > 1e-6;
                if inside
                    && beside <= apart
                    && !t.contains(&v)
                    && rims.inward[v as usize].dot(into) < OPPOSITE
                {
                    on.push((along, v));
                }
            }
        }
        on.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        on.dedup_by_key(|(_, v)| *v);
        // A triangle with two rim edges is divided along the first only, for the time being.
        if on.is_empty() || new.triangles[edge.face as usize] != t {
            continue;
        }
        let Some(k) = t.iter().position(|v| !edge.ends.contains(v)) else { continue };
        let (third, from, to) = (t[k], t[(k + 1) % 3], t[(k + 2) % 3]);
        if from != edge.ends[0] {
            on.reverse();
        }
        let mut line = vec![from];
        line.extend(on.iter().map(|(_, v)| *v));
        line.push(to);
        let mut pieces = line.windows(2).map(|w| [third, w[0], w[1]]);
        if let Some(first) = pieces.next() {
            new.triangles[edge.face as usize] = first;
        }
        new.triangles.extend(pieces);
    }
    new
}

/// A rim edge is searched along in no more steps than this.
const MOST_STEPS: f64 = 2000.0;

fn cell(p: DVec3, size: f64) -> [i64; 3] {
    (p / size).floor().to_array().map(|c| c as i64)
}

/// What is filed in the cells around `p`.
fn near(cells: &HashMap<[i64; 3], Vec<u32>>, p: DVec3, size: f64) -> impl Iterator<Item = u32> {
    let [x, y, z] = cell(p, size);
    (-1..=1)
        .flat_map(move |i| (-1..=1).flat_map(move |j| (-1..=1).map(move |k| [x + i, y + j, z + k])))
        .filter_map(|at| cells.get(&at))
        .flatten()
        .copied()
}
