//! Cuts paths into a mesh: they become edges of the mesh, exactly where they were drawn.

use std::collections::{BTreeMap, BTreeSet};

use spade::{ConstrainedDelaunayTriangulation, Point2, Triangulation};

use super::{Surface, SurfacePath, SurfacePoint};
use crate::mesh::TriMesh;

/// A mesh that has the paths among its edges.
#[derive(Debug, Clone)]
pub struct Imprinted {
    /// The new mesh; the first vertices are those of the old one, in their order.
    pub mesh: TriMesh,
    /// Each path as vertices of the new mesh, in order.
    pub paths: Vec<Vec<u32>>,
    /// Where each vertex of the new mesh lies on the old one.
    pub origins: Vec<SurfacePoint>,
    /// The triangle of the old mesh that each new one is a part of.
    pub parents: Vec<u32>,
}

/// Why a path could not be cut in.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ImprintError {
    /// Two neighbours on the path lie in no common triangle.
    #[error("points {0} and {1} of the path share no triangle")]
    Apart(usize, usize),
    /// A path crosses itself or another.
    #[error("the line crosses itself in triangle {0} of the surface; draw it without a loop")]
    Crosses(u32),
    /// A triangle could not be divided.
    #[error("triangle {0} of the surface could not be divided along the line")]
    Undivided(u32),
}

/// Steps in which a place on an edge is stored while cutting. A power of two, so that points
/// of a side stay exactly on it; an edge of 3 mm is divided into steps of 3 nanometres.
pub(super) const EDGE_STEPS: f64 = (1u64 << 20) as f64;

/// Cuts `paths` into the surface. They may meet at common points, but not cross.
///
/// # Errors
/// When neighbours share no triangle, or paths cross.
pub fn imprint(surface: &Surface<'_>, paths: &[SurfacePath]) -> Result<Imprinted, ImprintError> {
    let mut cutting = Cutting::new(surface);
    let mut chains = Vec::with_capacity(paths.len());
    for path in paths {
        let mut chain: Vec<u32> = path.points.iter().map(|point| cutting.vertex(point)).collect();
        let rounded: Vec<SurfacePoint> = path.points.iter().map(on_steps).collect();
        let count = if path.closed { chain.len() } else { chain.len().saturating_sub(1) };
        for i in 0..count {
            let j = (i + 1) % chain.len();
            cutting
                .segment((&rounded[i], chain[i]), (&rounded[j], chain[j]))
                .ok_or(ImprintError::Apart(i, j))?;
        }
        chain.dedup();
        while path.closed && chain.len() > 1 && chain.first() == chain.last() {
            chain.pop();
        }
        chains.push((chain, path.closed));
    }
    cutting.finish(chains)
}

/// The same point, with its place on its edge or in its triangle rounded to [`EDGE_STEPS`].
pub(super) fn on_steps(point: &SurfacePoint) -> SurfacePoint {
    match *point {
        SurfacePoint::Edge { ends: [a, b], t } => {
            SurfacePoint::on_edge(a, b, (t * EDGE_STEPS).round() / EDGE_STEPS, 0.0)
        }
        // Two ways to compute one point then give one vertex.
        SurfacePoint::Face { face, weights: [_, b, c] } => {
            let [mut b, mut c] = [b, c].map(|w| (w * EDGE_STEPS).round().max(1.0));
            // Each was rounded on its own: the point must not reach the third side.
            while b + c >= EDGE_STEPS {
                if b > c { b -= 1.0 } else { c -= 1.0 }
            }
            let [b, c] = [b, c].map(|steps| steps / EDGE_STEPS);
            SurfacePoint::Face { face, weights: [1.0 - b - c, b, c] }
        }
        vertex @ SurfacePoint::Vertex(_) => vertex,
    }
}

struct Cutting<'s, 'm> {
    surface: &'s Surface<'m>,
    mesh: TriMesh,
    origins: Vec<SurfacePoint>,
    on_edge: BTreeMap<([u32; 2], u64), u32>,
    in_face: BTreeMap<u32, Vec<(u32, [f64; 3])>>,
    segments: BTreeMap<u32, BTreeSet<(u32, u32)>>,
    touched: BTreeSet<u32>,
}

impl<'s, 'm> Cutting<'s, 'm> {
    fn new(surface: &'s Surface<'m>) -> Self {
        Self {
            surface,
            mesh: surface.mesh.clone(),
            origins: (0..surface.mesh.positions.len() as u32).map(SurfacePoint::Vertex).collect(),
            on_edge: BTreeMap::new(),
            in_face: BTreeMap::new(),
            segments: BTreeMap::new(),
            touched: BTreeSet::new(),
        }
    }

    /// The vertex of the new mesh at `point`, made if it is not there yet.
    fn vertex(&mut self, point: &SurfacePoint) -> u32 {
        let point = on_steps(point);
        let place = point.position(self.surface.mesh);
        let fresh = self.mesh.positions.len() as u32;
        match point {
            SurfacePoint::Vertex(v) => v,
            SurfacePoint::Edge { ends, t } => {
                let key = (ends, (t * EDGE_STEPS) as u64);
                let vertex = *self.on_edge.entry(key).or_insert(fresh);
                if vertex == fresh {
                    self.mesh.positions.push(place);
                    self.origins.push(point);
                    self.touched.extend(self.surface.faces_at(&point));
                }
                vertex
            }
            SurfacePoint::Face { face, weights } => {
                let inside = self.in_face.entry(face).or_default();
                if let Some((vertex, _)) = inside.iter().find(|(_, w)| *w == weights) {
                    return *vertex;
                }
                inside.push((fresh, weights));
                self.mesh.positions.push(place);
                self.origins.push(point);
                self.touched.insert(face);
                fresh
            }
        }
    }

    /// Notes that the path runs from `p` to `q`, in a triangle or along a side of one.
    fn segment(&mut self, p: (&SurfacePoint, u32), q: (&SurfacePoint, u32)) -> Option<()> {
        if p.1 == q.1 {
            return Some(());
        }
        let at_q = self.surface.faces_at(q.0);
        let shared: Vec<u32> =
            self.surface.faces_at(p.0).into_iter().filter(|f| at_q.contains(f)).collect();
        // Along a side both neighbours share it, and each gets the constraint.
        for face in &shared {
            self.segments.entry(*face).or_default().insert((p.1.min(q.1), p.1.max(q.1)));
        }
        (!shared.is_empty()).then_some(())
    }

    fn finish(self, paths: Vec<(Vec<u32>, bool)>) -> Result<Imprinted, ImprintError> {
        let mut by_edge: BTreeMap<[u32; 2], Vec<(f64, u32)>> = BTreeMap::new();
        for ((ends, step), vertex) in &self.on_edge {
            by_edge.entry(*ends).or_default().push((*step as f64 / EDGE_STEPS, *vertex));
        }
        let places: BTreeMap<u32, ([u32; 2], u64)> =
            self.on_edge.iter().map(|(place, vertex)| (*vertex, *place)).collect();
        let paths = paths
            .iter()
            .map(|(chain, closed)| through_all(chain, *closed, &places, &by_edge))
            .collect();
        let mut mesh = self.mesh;
        let none = BTreeSet::new();
        let mut triangles = Vec::with_capacity(mesh.triangles.len() + 4 * self.touched.len());
        let mut parents = Vec::with_capacity(triangles.capacity());
        for (face, corners) in mesh.triangles.iter().enumerate() {
            let face = face as u32;
            let segments = self.segments.get(&face).unwrap_or(&none);
            if !self.touched.contains(&face) {
                triangles.push(*corners);
                parents.push(face);
                continue;
            }
            let mut points: Vec<(Point2<f64>, u32)> =
                (0..3).map(|k| (local_corner(k), corners[k])).collect();
            for k in 0..3 {
                let (a, b) = (corners[k], corners[(k + 1) % 3]);
                for (t, vertex) in by_edge.get(&[a.min(b), a.max(b)]).into_iter().flatten() {
                    let t = if a < b { *t } else { 1.0 - *t };
                    points.push((local_on_side(k, t), *vertex));
                }
            }
            for (vertex, [_, wb, wc]) in self.in_face.get(&face).into_iter().flatten() {
                points.push((Point2::new(*wb, *wc), *vertex));
            }
            triangles.extend(divide(face, &points, segments)?);
            parents.resize(triangles.len(), face);
        }
        mesh.triangles = triangles;
        Ok(Imprinted { mesh, paths, origins: self.origins, parents })
    }
}

/// The chain with every vertex that lies between two of its neighbours on one edge of the old
/// mesh: another path may have put it there.
fn through_all(
    chain: &[u32],
    closed: bool,
    places: &BTreeMap<u32, ([u32; 2], u64)>,
    by_edge: &BTreeMap<[u32; 2], Vec<(f64, u32)>>,
) -> Vec<u32> {
    let share = |ends: [u32; 2], vertex: u32| match places.get(&vertex) {
        Some((on, step)) if *on == ends => Some(*step as f64 / EDGE_STEPS),
        Some(_) => None,
        None if vertex == ends[0] => Some(0.0),
        None if vertex == ends[1] => Some(1.0),
        None => None,
    };
    let mut full = Vec::with_capacity(chain.len());
    let pairs = if closed { chain.len() } else { chain.len().saturating_sub(1) };
    for i in 0..chain.len() {
        let (a, b) = (chain[i], chain[(i + 1) % chain.len()]);
        full.push(a);
        if i >= pairs {
            continue;
        }
        let edge = match (places.get(&a), places.get(&b)) {
            (Some((ends, _)), _) | (None, Some((ends, _))) => *ends,
            (None, None) => [a.min(b), a.max(b)],
        };
        let (Some(from), Some(to)) = (share(edge, a), share(edge, b)) else { continue };
        let on_edge = by_edge.get(&edge).into_iter().flatten();
        let between = |t: f64| t > from.min(to) && t < from.max(to);
        let mut inside: Vec<(f64, u32)> = on_edge.filter(|(t, _)| between(*t)).copied().collect();
        inside.sort_by(|x, y| x.0.total_cmp(&y.0));
        if from > to {
            inside.reverse();
        }
        full.extend(inside.iter().map(|(_, vertex)| *vertex));
    }
    full
}

/// Corner `k` of a triangle in the local frame, where every side holds dyadic points exactly.
fn local_corner(k: usize) -> Point2<f64> {
    [Point2::new(0.0, 0.0), Point2::new(1.0, 0.0), Point2::new(0.0, 1.0)][k]
}

fn local_on_side(k: usize, t: f64) -> Point2<f64> {
    match k {
        0 => Point2::new(t, 0.0),
        1 => Point2::new(1.0 - t, t),
        _ => Point2::new(0.0, 1.0 - t),
    }
}

/// Triangulates one face with the points and segments that fall into it.
fn divide(
    face: u32,
    points: &[(Point2<f64>, u32)],
    segments: &BTreeSet<(u32, u32)>,
) -> Result<Vec<[u32; 3]>, ImprintError> {
    let mut plane = ConstrainedDelaunayTriangulation::<Point2<f64>>::new();
    let mut handle_of = BTreeMap::new();
    let mut vertex_of = BTreeMap::new();
    for (place, vertex) in points {
        let handle = plane.insert(*place).map_err(|_| ImprintError::Undivided(face))?;
        handle_of.insert(*vertex, handle);
        vertex_of.insert(handle.index(), *vertex);
    }
    for (a, b) in segments {
        let (Some(from), Some(to)) = (handle_of.get(a), handle_of.get(b)) else {
            return Err(ImprintError::Undivided(face));
        };
        if !plane.can_add_constraint(*from, *to) {
            return Err(ImprintError::Crosses(face));
        }
        plane.add_constraint(*from, *to);
    }
    let divided: Option<Vec<[u32; 3]>> = plane
        .inner_faces()
        .map(|inner| {
            let [a, b, c] = inner.vertices().map(|v| vertex_of.get(&v.index()).copied());
            Some([a?, b?, c?])
        })
        .collect();
    divided.ok_or(ImprintError::Undivided(face))
}
