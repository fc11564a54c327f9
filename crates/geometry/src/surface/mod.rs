//! Points, paths and cuts on a triangulated surface.

mod closest;
mod crossings;
mod curve;
mod cut;
pub mod geodesic;
mod imprint;
mod offset;
mod parallel;
mod patch;
mod path;
mod pick;
mod point;
mod walk;

pub use closest::Closest;
pub use curve::{CurveError, SurfaceCurve, curve_through};
pub use cut::{Cut, CutError, Piece, cut_along};
pub use imprint::{ImprintError, Imprinted, imprint};
pub use offset::{Offset, Tight, offset};
pub use parallel::{Flank, ParallelError, parallel};
pub use patch::{Patch, PatchError, patch_left_of, patch_within};
pub use path::{PathError, SurfacePath, closed_path, open_path, path_between};
pub use pick::Pick;
pub use point::SurfacePoint;
pub use walk::{Step, Walk, WalkError};

use crate::mesh::TriMesh;
use crate::mesh::adjacency::{Adjacency, AdjacencyError};

/// A mesh with what is needed to move about on it.
#[derive(Debug, Clone)]
pub struct Surface<'m> {
    /// The mesh itself.
    pub mesh: &'m TriMesh,
    adjacency: Adjacency,
    /// Start of each vertex's run in `around`; one more entry than vertices.
    starts: Vec<u32>,
    around: Vec<u32>,
}

impl<'m> Surface<'m> {
    /// Prepares `mesh`.
    ///
    /// # Errors
    /// When the mesh is not manifold and consistently oriented.
    pub fn new(mesh: &'m TriMesh) -> Result<Self, AdjacencyError> {
        let adjacency = Adjacency::new(mesh)?;
        let mut starts = vec![0u32; mesh.positions.len() + 1];
        for v in mesh.triangles.iter().flatten() {
            starts[*v as usize + 1] += 1;
        }
        for i in 1..starts.len() {
            starts[i] += starts[i - 1];
        }
        let mut next = starts.clone();
        let mut around = vec![0u32; mesh.triangles.len() * 3];
        for (face, t) in mesh.triangles.iter().enumerate() {
            for v in t {
                around[next[*v as usize] as usize] = face as u32;
                next[*v as usize] += 1;
            }
        }
        Ok(Self { mesh, adjacency, starts, around })
    }

    /// The neighbours across each side.
    pub fn adjacency(&self) -> &Adjacency {
        &self.adjacency
    }

    /// The triangles around a vertex, in ascending order.
    pub fn faces_around(&self, vertex: u32) -> &[u32] {
        let v = vertex as usize;
        &self.around[self.starts[v] as usize..self.starts[v + 1] as usize]
    }

    /// The triangles that `point` belongs to, in ascending order.
    pub fn faces_at(&self, point: &SurfacePoint) -> Vec<u32> {
        match *point {
            SurfacePoint::Vertex(v) => self.faces_around(v).to_vec(),
            SurfacePoint::Edge { ends: [a, b], .. } => self
                .faces_around(a)
                .iter()
                .copied()
                .filter(|f| self.mesh.triangles[*f as usize].contains(&b))
                .collect(),
            SurfacePoint::Face { face, .. } => vec![face],
        }
    }

    /// A triangle that both points belong to, the smallest if there are several.
    pub fn common_face(&self, p: &SurfacePoint, q: &SurfacePoint) -> Option<u32> {
        let at_q = self.faces_at(q);
        self.faces_at(p).into_iter().find(|f| at_q.contains(f))
    }

    /// The barycentric weights of `point` in `face`, or `None` when it does not belong to it.
    pub fn weights_in(&self, face: u32, point: &SurfacePoint) -> Option<[f64; 3]> {
        let t = self.mesh.triangles[face as usize];
        let corner = |v: u32| t.iter().position(|c| *c == v);
        let mut weights = [0.0; 3];
        match *point {
            SurfacePoint::Vertex(v) => weights[corner(v)?] = 1.0,
            SurfacePoint::Edge { ends: [a, b], t } => {
                weights[corner(a)?] = 1.0 - t;
                weights[corner(b)?] = t;
            }
            SurfacePoint::Face { face: own, weights: w } if own == face => weights = w,
            SurfacePoint::Face { .. } => return None,
        }
        Some(weights)
    }

    /// The unit normal at a point: of its triangle, or the mean of those it belongs to,
    /// weighted by area.
    pub fn normal(&self, point: &SurfacePoint) -> glam::DVec3 {
        let faces = self.faces_at(point);
        faces.iter().map(|f| self.mesh.area_vector(*f)).sum::<glam::DVec3>().normalize_or_zero()
    }
}
