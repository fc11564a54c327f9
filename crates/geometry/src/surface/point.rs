//! An address on a surface.

use glam::DVec3;

use crate::mesh::TriMesh;

/// A place on a mesh: a vertex, a point of an edge, or a point inside a triangle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SurfacePoint {
    /// At a vertex.
    Vertex(u32),
    /// On the edge between two vertices, the smaller first, at `t` of the way from the first
    /// to the second (0 < t < 1).
    Edge {
        /// The ends, ascending.
        ends: [u32; 2],
        /// Share of the way, without the ends.
        t: f64,
    },
    /// Inside a triangle.
    Face {
        /// The triangle.
        face: u32,
        /// Barycentric weights of its corners: positive, summing to 1.
        weights: [f64; 3],
    },
}

impl SurfacePoint {
    /// The point at `t` of the way from `from` to `to`; nearer than `snap` (a share of the
    /// edge) to an end, it is the end.
    pub fn on_edge(from: u32, to: u32, t: f64, snap: f64) -> Self {
        if t <= snap {
            return SurfacePoint::Vertex(from);
        }
        if t >= 1.0 - snap {
            return SurfacePoint::Vertex(to);
        }
        if from < to {
            SurfacePoint::Edge { ends: [from, to], t }
        } else {
            SurfacePoint::Edge { ends: [to, from], t: 1.0 - t }
        }
    }

    /// The point with barycentric `weights` in `face`; weights below `snap` count as nothing,
    /// so that a point near a side or corner lies on it.
    pub fn in_face(mesh: &TriMesh, face: u32, weights: [f64; 3], snap: f64) -> Self {
        let t = mesh.triangles[face as usize];
        let kept: Vec<usize> = (0..3).filter(|i| weights[*i] > snap).collect();
        match kept[..] {
            [i] => SurfacePoint::Vertex(t[i]),
            [i, j] => Self::on_edge(t[i], t[j], weights[j] / (weights[i] + weights[j]), snap),
            _ => {
                let sum: f64 = weights.iter().sum();
                SurfacePoint::Face { face, weights: weights.map(|w| w / sum) }
            }
        }
    }

    /// Where the point lies in space.
    pub fn position(&self, mesh: &TriMesh) -> DVec3 {
        let at = |v: u32| mesh.positions[v as usize];
        match *self {
            SurfacePoint::Vertex(v) => at(v),
            SurfacePoint::Edge { ends: [a, b], t } => at(a).lerp(at(b), t),
            SurfacePoint::Face { face, weights } => {
                let [a, b, c] = mesh.corners(face);
                a * weights[0] + b * weights[1] + c * weights[2]
            }
        }
    }

    /// The same point, moved onto a side of its triangle or a vertex that is nearer than
    /// `tolerance` mm.
    pub fn snapped(self, mesh: &TriMesh, tolerance: f64) -> Self {
        match self {
            SurfacePoint::Vertex(_) => self,
            SurfacePoint::Edge { ends: [a, b], t } => {
                let length = mesh.positions[a as usize].distance(mesh.positions[b as usize]);
                let snap = if length > 0.0 { (tolerance / length).min(0.5) } else { 0.5 };
                Self::on_edge(a, b, t, snap)
            }
            SurfacePoint::Face { face, weights } => {
                let corners = mesh.corners(face);
                let twice = mesh.area_vector(face).length();
                // Height above the side opposite corner k: its weight of the triangle's height.
                let height = |k: usize| {
                    let side = corners[(k + 1) % 3].distance(corners[(k + 2) % 3]);
                    if side > 0.0 { weights[k] * twice / side } else { 0.0 }
                };
                let heights = [0, 1, 2].map(height);
                let low = (0..3).min_by(|i, j| heights[*i].total_cmp(&heights[*j])).unwrap_or(0);
                if heights[low] > tolerance {
                    return self;
                }
                let (i, j) = ((low + 1) % 3, (low + 2) % 3);
                let t = mesh.triangles[face as usize];
                let share = weights[j] / (weights[i] + weights[j]);
                Self::on_edge(t[i], t[j], share, 0.0).snapped(mesh, tolerance)
            }
        }
    }
}
