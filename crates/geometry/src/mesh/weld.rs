//! Joins vertices that lie within a tolerance of each other, and drops what collapses by it.

use std::collections::HashMap;

use glam::DVec3;

use super::TriMesh;
use super::repair::largest_places;

/// A mesh after welding, and what was done to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Welded {
    /// The mesh: no vertex unused, no triangle with a repeated corner, none twice.
    pub mesh: TriMesh,
    /// Vertices that went into another one.
    pub joined: usize,
    /// Triangles that had a repeated corner or got one.
    pub degenerate: usize,
    /// Triangles on the same three vertices as an earlier one, facing either way.
    pub doubled: usize,
    /// Vertices that no triangle uses.
    pub unused: usize,
    /// Where the joined vertices were: those that moved farthest, the farthest first.
    pub joined_places: Vec<DVec3>,
    /// Where the collapsed triangles were, the longest first.
    pub degenerate_places: Vec<DVec3>,
    /// Where the doubled triangles are, the longest first.
    pub doubled_places: Vec<DVec3>,
}

/// Joins vertices within `tolerance_mm`: see [`weld_counted`], which also tells what it did.
///
/// # Panics
/// When a triangle names a vertex that does not exist.
pub fn weld(mesh: &TriMesh, tolerance_mm: f64) -> TriMesh {
    weld_counted(mesh, tolerance_mm).mesh
}

/// Joins vertices within `tolerance_mm` of each other; drops triangles that collapse, triangles
/// doubled on the same three vertices (the first is kept), and unused vertices.
///
/// Vertices are taken from the smallest x (then y, then z) upward; each joins the nearest one
/// kept so far within the tolerance, else is kept itself. So no vertex moves by more than the
/// tolerance, kept ones stay where they were, any two kept are further apart than the tolerance,
/// and the outcome does not depend on the order of vertices or triangles. The order of what is
/// kept is the order in the input. A tolerance of zero, negative, not a number, or too small for
/// f64 at this extent joins exactly equal vertices only.
///
/// # Panics
/// When a triangle names a vertex that does not exist.
pub fn weld_counted(mesh: &TriMesh, tolerance_mm: f64) -> Welded {
    let kept_for = kept_vertices(&mesh.positions, tolerance_mm);
    let joined = kept_for.iter().zip(0..).filter(|(kept, own)| **kept != *own).count();
    let moves = kept_for.iter().zip(0..).filter(|(kept, own)| **kept != *own).map(
        |(kept, own): (&u32, u32)| {
            let (p, q) = (mesh.positions[own as usize], mesh.positions[*kept as usize]);
            (p.distance(q), q)
        },
    );
    let joined_places = largest_places(moves.collect());
    let mut collapsed = Vec::new();
    let mut triangles = Vec::with_capacity(mesh.triangles.len());
    let mut keys: Vec<([u32; 3], u32)> = Vec::with_capacity(mesh.triangles.len());
    for (face, t) in (0..).zip(&mesh.triangles) {
        let t = t.map(|v| kept_for[v as usize]);
        if t[0] != t[1] && t[1] != t[2] && t[2] != t[0] {
            let mut key = t;
            key.sort_unstable();
            keys.push((key, triangles.len() as u32));
            triangles.push(t);
        } else {
            collapsed.push(size_and_middle(mesh.corners(face)));
        }
    }
    let degenerate = mesh.triangles.len() - triangles.len();
    keys.sort_unstable();
    let mut doubled = vec![false; triangles.len()];
    for pair in keys.windows(2) {
        doubled[pair[1].1 as usize] = pair[0].0 == pair[1].0;
    }
    let corners = |t: &[u32; 3]| t.map(|v| mesh.positions[v as usize]);
    let twins = triangles.iter().zip(&doubled).filter(|(_, d)| **d);
    let doubled_places = largest_places(twins.map(|(t, _)| size_and_middle(corners(t))).collect());
    let before = triangles.len();
    let mut is_doubled = doubled.into_iter();
    triangles.retain(|_| !is_doubled.next().unwrap_or(false));
    let doubled = before - triangles.len();
    let kept = mesh.positions.len() - joined;
    let mesh = without_unused(&TriMesh { positions: mesh.positions.clone(), triangles });
    let unused = kept - mesh.positions.len();
    Welded {
        mesh,
        joined,
        degenerate,
        doubled,
        unused,
        joined_places,
        degenerate_places: largest_places(collapsed),
        doubled_places,
    }
}

/// The longest side of a triangle, and its middle.
pub(crate) fn size_and_middle([a, b, c]: [DVec3; 3]) -> (f64, DVec3) {
    (a.distance(b).max(b.distance(c)).max(c.distance(a)), (a + b + c) / 3.0)
}

/// The same triangles without the vertices that none of them uses; order is kept.
///
/// # Panics
/// When a triangle names a vertex that does not exist.
pub fn without_unused(mesh: &TriMesh) -> TriMesh {
    let mut used = vec![false; mesh.positions.len()];
    for v in mesh.triangles.iter().flatten() {
        used[*v as usize] = true;
    }
    let mut new_index = vec![0; mesh.positions.len()];
    let mut positions = Vec::new();
    for (v, p) in mesh.positions.iter().enumerate() {
        if used[v] {
            new_index[v] = positions.len() as u32;
            positions.push(*p);
        }
    }
    let triangles = mesh.triangles.iter().map(|t| t.map(|v| new_index[v as usize])).collect();
    TriMesh { positions, triangles }
}

/// For each vertex the one that stands for it.
fn kept_vertices(positions: &[DVec3], tolerance: f64) -> Vec<u32> {
    let mut order: Vec<u32> = (0..positions.len() as u32).collect();
    // Adding zero makes -0 and 0 equal.
    let key = |v: u32| positions[v as usize] + DVec3::ZERO;
    order.sort_by(|a, b| {
        let (p, q) = (key(*a), key(*b));
        p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y)).then(p.z.total_cmp(&q.z)).then(a.cmp(b))
    });
    let mut kept_for: Vec<u32> = (0..positions.len() as u32).collect();
    for pair in order.windows(2) {
        if key(pair[0]) == key(pair[1]) {
            kept_for[pair[1] as usize] = kept_for[pair[0] as usize];
        }
    }
    let extent = positions.iter().fold(0.0, |m: f64, p| m.max(p.abs().max_element()));
    // Below this, cells of the grid could no longer be told apart.
    if tolerance > extent * 1e-14 {
        let mut grid = Grid::new(tolerance);
        for v in order {
            let kept = kept_for[v as usize];
            kept_for[v as usize] = if kept == v {
                grid.nearest_or_insert(v, positions)
            } else {
                kept_for[kept as usize]
            };
        }
    }
    kept_for
}

/// Kept vertices by cells of twice the tolerance: the ball around a point then touches at most
/// two cells along each axis, eight in all.
struct Grid {
    tolerance: f64,
    first: HashMap<[i64; 3], u32>,
    next: HashMap<u32, u32>,
}

impl Grid {
    fn new(tolerance: f64) -> Self {
        Self { tolerance, first: HashMap::new(), next: HashMap::new() }
    }

    fn cell(&self, p: DVec3) -> [i64; 3] {
        (p / (2.0 * self.tolerance)).floor().to_array().map(|c| c as i64)
    }

    /// The kept vertex nearest to `v` within the tolerance (of equally near ones the earliest),
    /// or `v` itself, which is then kept.
    fn nearest_or_insert(&mut self, v: u32, positions: &[DVec3]) -> u32 {
        let p = positions[v as usize];
        // A hair wider than the tolerance, so that rounding cannot hide a neighbour.
        let reach = DVec3::splat(self.tolerance * (1.0 + 1e-9));
        let (low, high) = (self.cell(p - reach), self.cell(p + reach));
        let mut best: Option<(f64, u32)> = None;
        for x in low[0]..=high[0] {
            for y in low[1]..=high[1] {
                for z in low[2]..=high[2] {
                    let mut at = self.first.get(&[x, y, z]).copied();
                    while let Some(kept) = at {
                        let distance = p.distance(positions[kept as usize]);
                        let nearer = best.is_none_or(|(d, u)| {
                            distance < d || (distance == d && before(positions, kept, u))
                        });
                        if distance <= self.tolerance && nearer {
                            best = Some((distance, kept));
                        }
                        at = self.next.get(&kept).copied();
                    }
                }
            }
        }
        if let Some((_, kept)) = best {
            return kept;
        }
        if let Some(old) = self.first.insert(self.cell(p), v) {
            self.next.insert(v, old);
        }
        v
    }
}

/// Whether `a` lies before `b` by x, then y, then z: independent of their numbers.
fn before(positions: &[DVec3], a: u32, b: u32) -> bool {
    positions[a as usize].to_array() < positions[b as usize].to_array()
}
