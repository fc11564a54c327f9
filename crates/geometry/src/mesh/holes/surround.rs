//! What lies around one hole: its rim, the triangles that touch it, and what they ask of a fill.

use std::collections::{BTreeMap, BTreeSet};

use glam::DVec3;

use crate::mesh::TriMesh;

/// Which triangles use each vertex.
pub(super) struct Users {
    first: Vec<u32>,
    faces: Vec<u32>,
}

impl Users {
    /// Those of all vertices of `mesh`.
    pub(super) fn new(mesh: &TriMesh) -> Self {
        let mut first = vec![0_u32; mesh.positions.len() + 2];
        for v in mesh.triangles.iter().flatten() {
            first[*v as usize + 2] += 1;
        }
        for v in 2..first.len() {
            first[v] += first[v - 1];
        }
        let mut faces = vec![0; 3 * mesh.triangles.len()];
        for (t, face) in mesh.triangles.iter().zip(0..) {
            for v in t {
                let place = &mut first[*v as usize + 1];
                faces[*place as usize] = face;
                *place += 1;
            }
        }
        Self { first, faces }
    }

    /// The unit normal of the triangle that runs from the first to the second of `ends`.
    pub(super) fn normal_along(&self, mesh: &TriMesh, ends: [u32; 2]) -> DVec3 {
        let runs = |face: &&u32| {
            let t = mesh.triangles[**face as usize];
            (0..3).any(|k| [t[k], t[(k + 1) % 3]] == ends)
        };
        let face = self.of(ends[0]).iter().find(runs);
        face.map_or(DVec3::ZERO, |face| mesh.area_vector(*face).normalize_or_zero())
    }

    /// The triangles that use `v`, ascending.
    pub(super) fn of(&self, v: u32) -> &[u32] {
        &self.faces[self.first[v as usize] as usize..self.first[v as usize + 1] as usize]
    }
}

/// The surroundings of a hole, in its own measure: its middle at the origin, its extent 1.
#[derive(Debug, Clone)]
pub(super) struct Surround {
    /// The rim, in the direction in which a fill's triangles run along it; then the other points
    /// of the triangles around.
    pub(super) points: Vec<DVec3>,
    /// How many points the rim has.
    pub(super) rim: usize,
    /// The triangles that touch the rim.
    pub(super) faces: Vec<[u32; 3]>,
    /// Unit normal of the triangle across each side of the rim.
    pub(super) across: Vec<DVec3>,
    /// How far apart points are around each point of the rim.
    pub(super) spacing: Vec<f64>,
    /// Whether the fill closes the ring of triangles around each point of the rim.
    pub(super) whole: Vec<bool>,
    /// The edges between two points of the rim, the smaller number first.
    pub(super) taken: BTreeSet<[u32; 2]>,
}

impl Surround {
    /// The surroundings of `rim`, which is given in the direction of a fill, scaled from `middle`
    /// and `extent`. `shared` are the vertices of several rims.
    pub(super) fn new(
        mesh: &TriMesh,
        users: &Users,
        rim: &[u32],
        (middle, extent): (DVec3, f64),
        shared: &BTreeSet<u32>,
    ) -> Self {
        let mut number: BTreeMap<u32, u32> = rim.iter().copied().zip(0..).collect();
        let mut vertices = rim.to_vec();
        let mut around: Vec<u32> = rim.iter().flat_map(|v| users.of(*v)).copied().collect();
        around.sort_unstable();
        around.dedup();
        let faces: Vec<[u32; 3]> = around
            .iter()
            .map(|face| {
                mesh.triangles[*face as usize].map(|v| {
                    *number.entry(v).or_insert_with(|| {
                        vertices.push(v);
                        vertices.len() as u32 - 1
                    })
                })
            })
            .collect();
        let points: Vec<DVec3> =
            vertices.iter().map(|v| (mesh.positions[*v as usize] - middle) / extent).collect();
        let n = rim.len();
        let mut across = vec![DVec3::ZERO; n];
        let mut taken = BTreeSet::new();
        let mut lengths = vec![(0.0, 0_u32); n];
        for t in &faces {
            let [a, b, c] = t.map(|v| points[v as usize]);
            let normal = (b - a).cross(c - a).normalize_or_zero();
            for k in 0..3 {
                let (u, v) = (t[k] as usize, t[(k + 1) % 3] as usize);
                let length = points[u].distance(points[v]);
                for end in [u, v].into_iter().filter(|end| *end < n) {
                    lengths[end].0 += length;
                    lengths[end].1 += 1;
                }
                if u < n && v < n {
                    taken.insert([u.min(v) as u32, u.max(v) as u32]);
                    if u == (v + 1) % n {
                        across[v] = normal;
                    }
                }
            }
        }
        let own: Vec<f64> = lengths.iter().map(|(sum, count)| sum / f64::from(*count)).collect();
        // Evened out along the rim: a scan's rim has slivers that say nothing of its density.
        let spacing = (0..n)
            .map(|i| (own[(i + n - 1) % n] + 2.0 * own[i] + own[(i + 1) % n]) / 4.0)
            .collect();
        let whole = rim.iter().map(|v| !shared.contains(v)).collect();
        Self { points, rim: n, faces, across, spacing, whole, taken }
    }

    /// At how many separate places of the rim a sharp edge of the surface ends. `limit` is the
    /// bend in degrees from which an edge is sharp; on a rough surface, three times the bend
    /// that is usual there.
    pub(super) fn sharp_ends(&self, limit: f64) -> usize {
        let n = self.rim as u32;
        let mut bends: BTreeMap<[u32; 2], Vec<DVec3>> = BTreeMap::new();
        for t in &self.faces {
            let [a, b, c] = t.map(|v| self.points[v as usize]);
            let normal = (b - a).cross(c - a).normalize_or_zero();
            for k in 0..3 {
                let (u, v) = (t[k].min(t[(k + 1) % 3]), t[k].max(t[(k + 1) % 3]));
                if u < n && v >= n {
                    bends.entry([u, v]).or_default().push(normal);
                }
            }
        }
        let bends: Vec<(u32, f64)> = bends
            .iter()
            .filter(|(_, normals)| normals.len() == 2)
            .map(|(ends, normals)| (ends[0], normals[0].angle_between(normals[1]).to_degrees()))
            .filter(|(_, bend)| bend.is_finite())
            .collect();
        let mut sorted: Vec<f64> = bends.iter().map(|(_, bend)| *bend).collect();
        sorted.sort_by(f64::total_cmp);
        let usual = sorted.get(sorted.len() / 2).copied().unwrap_or(0.0);
        let mut sharp = vec![false; self.rim];
        for (v, _) in bends.iter().filter(|(_, bend)| *bend > limit.max(3.0 * usual)) {
            sharp[*v as usize] = true;
        }
        // Places next but one to each other are one.
        let near =
            |i: usize| sharp[(i + self.rim - 1) % self.rim] || sharp[(i + self.rim - 2) % self.rim];
        (0..self.rim).filter(|i| sharp[*i] && !near(*i)).count()
    }
}
