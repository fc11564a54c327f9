//! Triangle meshes: the form in which a surface is stored.

pub mod adjacency;
pub mod base;
pub mod bodies;
pub mod branches;
pub mod caps;
pub mod crossed;
pub mod decimate;
pub(crate) mod edges;
pub mod holes;
pub mod orient;
pub mod refine;
pub mod remesh;
pub mod repair;
mod seams;
mod shells;
mod spikes;
pub mod subdivide;
pub mod tidy;
pub mod weld;
pub mod write;

use glam::DVec3;

/// An indexed triangle mesh. Positions in mm; triangles counter-clockwise seen from outside.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TriMesh {
    /// Vertex positions, mm.
    pub positions: Vec<DVec3>,
    /// Three vertex indices a triangle.
    pub triangles: Vec<[u32; 3]>,
}

impl TriMesh {
    /// The three corners of triangle `face`.
    pub fn corners(&self, face: u32) -> [DVec3; 3] {
        self.triangles[face as usize].map(|v| self.positions[v as usize])
    }

    /// The cross product of two sides: along the outward normal, twice the area long.
    pub fn area_vector(&self, face: u32) -> DVec3 {
        let [a, b, c] = self.corners(face);
        (b - a).cross(c - a)
    }

    /// Area of each triangle, mm².
    pub fn face_areas(&self) -> Vec<f64> {
        (0..self.triangles.len() as u32).map(|f| self.area_vector(f).length() / 2.0).collect()
    }

    /// Unit normals of the vertices, weighted by the area of the triangles around.
    /// A vertex with no area around it gets the zero vector.
    pub fn vertex_normals(&self) -> Vec<DVec3> {
        let mut normals = vec![DVec3::ZERO; self.positions.len()];
        for face in 0..self.triangles.len() as u32 {
            let n = self.area_vector(face);
            for v in self.triangles[face as usize] {
                normals[v as usize] += n;
            }
        }
        normals.into_iter().map(DVec3::normalize_or_zero).collect()
    }

    /// Smallest and largest coordinates, or `None` for a mesh without vertices.
    pub fn bounds(&self) -> Option<(DVec3, DVec3)> {
        let first = *self.positions.first()?;
        Some(self.positions.iter().fold((first, first), |(lo, hi), p| (lo.min(*p), hi.max(*p))))
    }

    /// Signed volume enclosed, mm³: positive when a closed mesh faces outward.
    pub fn signed_volume(&self) -> f64 {
        let sum: f64 = (0..self.triangles.len() as u32)
            .map(|f| {
                let [a, b, c] = self.corners(f);
                a.dot(b.cross(c))
            })
            .sum();
        sum / 6.0
    }
}
