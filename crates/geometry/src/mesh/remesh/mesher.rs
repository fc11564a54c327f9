//! The mesh under work: vertices bound to the surface, to a curve or to their place.

use std::collections::BTreeMap;

use glam::DVec3;

use super::super::TriMesh;
use super::chains::{Bound, Curve, Features, edge};
use super::field::Field;
use crate::surface::{Closest, SurfacePoint};

/// A triangle that is gone.
pub(super) const DEAD: [u32; 3] = [u32::MAX; 3];

/// The cosine between a triangle and its corners' normals below which it counts as turned over.
const UPRIGHT: f64 = 0.3;

/// The surface that vertices lie on.
pub(super) struct Ground<'m> {
    mesh: &'m TriMesh,
    normals: Vec<DVec3>,
    closest: Closest<'m>,
}

impl<'m> Ground<'m> {
    /// Prepares `mesh`.
    pub(super) fn new(mesh: &'m TriMesh) -> Self {
        Self { mesh, normals: mesh.vertex_normals(), closest: Closest::new(mesh) }
    }

    /// The nearest point of the surface and the normal there.
    pub(super) fn nearest(&self, place: DVec3) -> (DVec3, DVec3) {
        let Some(at) = self.closest.to(place, 0.0) else { return (place, DVec3::ZERO) };
        let n = |v: u32| self.normals[v as usize];
        let normal = match at {
            SurfacePoint::Vertex(v) => n(v),
            SurfacePoint::Edge { ends: [a, b], t } => n(a).lerp(n(b), t),
            SurfacePoint::Face { face, weights } => {
                let t = self.mesh.triangles[face as usize];
                (0..3).map(|k| n(t[k]) * weights[k]).sum()
            }
        };
        (at.position(self.mesh), normal.normalize_or_zero())
    }
}

/// The mesh under work.
pub(super) struct Mesher<'a> {
    pub(super) ground: &'a Ground<'a>,
    pub(super) field: &'a Field,
    pub(super) curves: &'a [Curve],
    routes: &'a [Vec<(u32, bool)>],
    pub(super) at: Vec<DVec3>,
    pub(super) normal: Vec<DVec3>,
    pub(super) size: Vec<f64>,
    pub(super) bound: Vec<Bound>,
    pub(super) marked: BTreeMap<(u32, u32), u32>,
    pub(super) triangles: Vec<[u32; 3]>,
    pub(super) around: Vec<Vec<u32>>,
}

impl<'a> Mesher<'a> {
    /// Starts from the patch itself.
    pub(super) fn new(
        patch: &TriMesh,
        ground: &'a Ground<'a>,
        features: &'a Features,
        field: &'a Field,
    ) -> Self {
        let mut around = vec![Vec::new(); patch.positions.len()];
        for (face, triangle) in patch.triangles.iter().enumerate() {
            for &v in triangle {
                around[v as usize].push(face as u32);
            }
        }
        Self {
            ground,
            field,
            curves: &features.curves,
            routes: &features.routes,
            at: patch.positions.clone(),
            normal: ground.normals.clone(),
            size: patch.positions.iter().map(|p| field.at(*p)).collect(),
            bound: features.bound.clone(),
            marked: features.marked.clone(),
            triangles: patch.triangles.clone(),
            around,
        }
    }

    /// Every edge once, smaller vertex first, in order.
    pub(super) fn edges(&self) -> Vec<(u32, u32)> {
        let mut edges: Vec<_> = self
            .triangles
            .iter()
            .filter(|t| **t != DEAD)
            .flat_map(|t| [0, 1, 2].map(|k| edge(t[k], t[(k + 1) % 3])))
            .collect();
        edges.sort_unstable();
        edges.dedup();
        edges
    }

    /// The triangle in which `b` follows `a`, and its third corner.
    pub(super) fn side(&self, a: u32, b: u32) -> Option<(u32, u32)> {
        self.around[a as usize].iter().find_map(|&face| {
            let t = self.triangles[face as usize];
            (0..3).find(|&k| t[k] == a && t[(k + 1) % 3] == b).map(|k| (face, t[(k + 2) % 3]))
        })
    }

    /// The vertices joined to `v`, ascending.
    pub(super) fn neighbours(&self, v: u32) -> Vec<u32> {
        let mut all: Vec<u32> = self.around[v as usize]
            .iter()
            .flat_map(|&f| self.triangles[f as usize])
            .filter(|&w| w != v)
            .collect();
        all.sort_unstable();
        all.dedup();
        all
    }

    /// Whether triangles lie all round `v`: each of its neighbours is then a corner of two of them.
    pub(super) fn is_inside(&self, v: u32) -> bool {
        let corners = self.around[v as usize].iter().flat_map(|f| self.triangles[*f as usize]);
        corners.filter(|w| *w != v).fold(0, |odd, w| odd ^ w) == 0
    }

    pub(super) fn forget(&mut self, vertex: u32, face: u32) {
        self.around[vertex as usize].retain(|&f| f != face);
    }

    /// The length of an edge over the length asked for there.
    pub(super) fn share(&self, a: u32, b: u32) -> f64 {
        let (a, b) = (a as usize, b as usize);
        self.at[a].distance(self.at[b]) / ((self.size[a] + self.size[b]) / 2.0)
    }

    /// Whether a triangle faces outward, as its corners do.
    pub(super) fn upright(&self, t: [u32; 3]) -> bool {
        let [a, b, c] = t.map(|v| self.at[v as usize]);
        let out: DVec3 = t.iter().map(|v| self.normal[*v as usize]).sum();
        let area = (b - a).cross(c - a);
        area.dot(out) > UPRIGHT * area.length() * out.length()
            && area.length() > 1e-9 * (b - a).length_squared().max((c - a).length_squared())
    }

    /// The place of a vertex on a curve, seen from its neighbour `other` there.
    pub(super) fn along(&self, v: u32, curve: u32, other: u32) -> f64 {
        let own = |v: u32| match self.bound[v as usize] {
            Bound::On { along, .. } => Some(along),
            _ => None,
        };
        let line = &self.curves[curve as usize];
        own(v).unwrap_or_else(|| {
            let [first, last] = line.ends;
            let at_end = if first == last {
                own(other).is_some_and(|s| s > line.length() / 2.0)
            } else {
                v == last
            };
            if at_end { line.length() } else { 0.0 }
        })
    }

    /// The neighbours of a vertex along its curve.
    pub(super) fn curve_neighbours(&self, v: u32, curve: u32) -> Vec<u32> {
        let on = |w: &u32| self.marked.get(&edge(v, *w)) == Some(&curve);
        self.neighbours(v).into_iter().filter(on).collect()
    }

    /// The vertices of a curve between its ends, from edge to edge: their places on it may be the same,
    /// where places of the patch are.
    fn inner(&self, curve: u32) -> Vec<u32> {
        let [first, last] = self.curves[curve as usize].ends;
        let place = |w: &u32| self.along(*w, curve, first);
        let near = self.curve_neighbours(first, curve);
        // A closed curve leaves its corner to both sides.
        let mut here = near.into_iter().min_by(|a, b| place(a).total_cmp(&place(b)));
        let (mut before, mut inner) = (first, Vec::new());
        while let Some(v) = here.filter(|v| *v != last) {
            inner.push(v);
            here = self.curve_neighbours(v, curve).into_iter().find(|w| *w != before);
            before = v;
        }
        inner
    }

    /// The mesh without what is gone, the chains of the first `lines` routes, and the boundary.
    pub(super) fn finish(&self, lines: usize) -> (TriMesh, Vec<Vec<u32>>, Vec<u32>) {
        let mut number = vec![u32::MAX; self.at.len()];
        let mut positions = Vec::new();
        for (v, number) in number.iter_mut().enumerate() {
            if !self.around[v].is_empty() {
                *number = positions.len() as u32;
                positions.push(self.at[v]);
            }
        }
        let live = self.triangles.iter().filter(|t| **t != DEAD);
        let triangles = live.map(|t| t.map(|v| number[v as usize])).collect();
        let on: Vec<Vec<u32>> = (0..self.curves.len() as u32).map(|c| self.inner(c)).collect();
        let chain = |route: &Vec<(u32, bool)>| -> Vec<u32> {
            let mut chain: Vec<u32> = Vec::new();
            for (curve, forward) in route {
                let [first, last] = self.curves[*curve as usize].ends;
                let mut part = vec![first];
                part.extend(&on[*curve as usize]);
                part.push(last);
                if !forward {
                    part.reverse();
                }
                chain.extend(&part[usize::from(!chain.is_empty())..]);
            }
            chain.into_iter().map(|v| number[v as usize]).collect()
        };
        let mut chains: Vec<Vec<u32>> = self.routes.iter().map(chain).collect();
        let mut boundary = chains.pop().unwrap_or_default();
        boundary.pop();
        chains.truncate(lines);
        (TriMesh { positions, triangles }, chains, boundary)
    }
}
