//! Vertices and triangles renumbered so that the equations stay sparse and memory is read in
//! order; results go out under the numbers that came in.

use geometry::mesh::TriMesh;
use glam::DVec2;

use crate::neighbours::Neighbours;
use crate::order::minimum_degree;

/// A renumbering of a mesh.
pub(crate) struct Numbering {
    /// For each vertex by its new number, its old one.
    old_vertices: Vec<u32>,
    /// For each vertex by its old number, its new one.
    new_vertices: Vec<u32>,
    /// For each triangle by its new number, its old one.
    old_faces: Vec<u32>,
}

impl Numbering {
    /// Numbers the vertices of `mesh` in the order of their elimination, its triangles by
    /// their first vertex. `pairs` are vertices joined besides the edges.
    ///
    /// # Errors
    /// What the ordering said.
    pub(crate) fn new(mesh: &TriMesh, pairs: &[(u32, u32)]) -> Result<Self, String> {
        let neighbours = Neighbours::new(mesh.positions.len(), &mesh.triangles, pairs);
        let old_vertices = minimum_degree(&neighbours)?;
        let mut new_vertices = vec![0; old_vertices.len()];
        for (new, old) in (0..).zip(&old_vertices) {
            new_vertices[*old as usize] = new;
        }
        let old_faces = by_first_vertex(&mesh.triangles, &new_vertices);
        Ok(Self { old_vertices, new_vertices, old_faces })
    }

    /// How many vertices there are.
    pub(crate) fn vertex_count(&self) -> usize {
        self.old_vertices.len()
    }

    /// The new number of a vertex; one that does not exist keeps its number.
    pub(crate) fn new_vertex(&self, old: u32) -> u32 {
        self.new_vertices.get(old as usize).copied().unwrap_or(old)
    }

    /// The old number of a vertex; one that does not exist keeps its number.
    pub(crate) fn old_vertex(&self, new: u32) -> u32 {
        self.old_vertices.get(new as usize).copied().unwrap_or(new)
    }

    /// The old number of a triangle.
    pub(crate) fn old_face(&self, new: u32) -> u32 {
        self.old_faces[new as usize]
    }

    /// The mesh under its new numbers.
    pub(crate) fn renumbered(&self, mesh: &TriMesh) -> TriMesh {
        TriMesh {
            positions: self.to_new(&mesh.positions),
            triangles: self
                .old_faces
                .iter()
                .map(|f| mesh.triangles[*f as usize].map(|v| self.new_vertices[v as usize]))
                .collect(),
        }
    }

    /// Values of the vertices, from old order to new.
    pub(crate) fn to_new<T: Copy>(&self, by_old: &[T]) -> Vec<T> {
        self.old_vertices.iter().map(|v| by_old[*v as usize]).collect()
    }

    /// Places of the vertices, from new order to old.
    pub(crate) fn to_old(&self, by_new: &[DVec2]) -> Vec<DVec2> {
        self.new_vertices.iter().map(|v| by_new[*v as usize]).collect()
    }

    /// Values of the triangles, from new order to old.
    pub(crate) fn faces_to_old<T: Copy + Default>(&self, by_new: &[T]) -> Vec<T> {
        let mut by_old = vec![T::default(); by_new.len()];
        for (value, old) in by_new.iter().zip(&self.old_faces) {
            by_old[*old as usize] = *value;
        }
        by_old
    }
}

/// The triangles in the order of the least of their vertices' `numbers`.
fn by_first_vertex(triangles: &[[u32; 3]], numbers: &[u32]) -> Vec<u32> {
    let first = |t: &[u32; 3]| {
        let [a, b, c] = t.map(|v| numbers[v as usize]);
        a.min(b).min(c) as usize
    };
    let mut starts = vec![0u32; numbers.len() + 1];
    for t in triangles {
        starts[first(t) + 1] += 1;
    }
    for i in 1..starts.len() {
        starts[i] += starts[i - 1];
    }
    let mut order = vec![0; triangles.len()];
    for (face, t) in (0..).zip(triangles) {
        let next = &mut starts[first(t)];
        order[*next as usize] = face;
        *next += 1;
    }
    order
}
