//! The wall of the last a little wider than the piece: the ground on which the outline moves while
//! a mark is dragged.

use flatten::Options;
use geometry::mesh::TriMesh;
use geometry::mesh::adjacency::{Adjacency, Side};
use geometry::surface::SurfacePoint;
use glam::{DVec2, DVec3};

use super::chart::Chart;
use super::edge::TopEdge;
use super::plane_line::{PlaneLine, summed};
use super::shape::Shape;
use super::wall::{self, WORKING_EDGE, WallError};

/// How far the ground reaches beyond the piece, mm: further than one drag of a mark goes. Where
/// the last ends sooner, the next smaller is taken.
const BEYOND: [f64; 3] = [15.0, 8.0, 4.0];

/// A place this far outside a triangle, as a share of it, still counts as in it.
const IN_TRIANGLE: f64 = 1e-9;

/// The ground, on the last, where the piece lies, and in a plane on which its triangles do not
/// overlap.
pub struct Ground {
    shape: Shape,
    neutral: TriMesh,
    plane: Vec<DVec2>,
    adjacency: Adjacency,
}

/// A place of the ground: its triangle and the weights of the corners, summing to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Place {
    pub(super) face: u32,
    pub(super) weights: [f64; 3],
}

impl Ground {
    /// The ground about the piece below `edge`, which lies `neutral_offset` mm outside the last.
    ///
    /// # Errors
    /// When the last has a hole or fold in the way, or ends just above the piece.
    pub fn about(
        chart: &Chart<'_, '_>,
        edge: &TopEdge,
        neutral_offset: f64,
    ) -> Result<Self, WallError> {
        // Edges as long as the piece's own: smoothed over as many of them, a rounded edge then keeps
        // the same form.
        let cut = |beyond| Shape::cut_out(chart, &wall::wider(edge, beyond), None, WORKING_EDGE);
        let [most, less, least] = BEYOND;
        let shape = cut(most).or_else(|_| cut(less)).or_else(|_| cut(least))?;
        let neutral = wall::neutral(&shape, neutral_offset).value;
        let plane = flatten::flatten(&shape.on_last, &Options::default())?.points;
        let adjacency = Adjacency::new(&shape.on_last)?;
        Ok(Self { shape, neutral, plane, adjacency })
    }

    pub(super) fn on_last(&self) -> &TriMesh {
        &self.shape.on_last
    }

    /// The feather line in the plane, from the wearer's left to the right.
    pub(super) fn feather(&self) -> PlaneLine {
        self.line(&self.shape.feather)
    }

    /// The centre back in the plane, from the seat up.
    pub(super) fn centre_back(&self) -> PlaneLine {
        self.line(&self.shape.centre_back)
    }

    /// A line in the plane, its lengths measured where the piece lies: shared out by these its
    /// stiff edges are stretched alike.
    fn line(&self, chain: &[u32]) -> PlaneLine {
        let at = |v: u32| self.neutral.positions[v as usize];
        let along = summed(chain.windows(2).map(|w| at(w[0]).distance(at(w[1]))));
        PlaneLine::measured(chain.iter().map(|v| self.plane[*v as usize]).collect(), along)
    }

    /// A point of the surface on the last, in the plane.
    pub(super) fn in_plane(&self, point: &SurfacePoint) -> DVec2 {
        let at = |v: u32| self.plane[v as usize];
        match *point {
            SurfacePoint::Vertex(v) => at(v),
            SurfacePoint::Edge { ends: [a, b], t } => at(a).lerp(at(b), t),
            SurfacePoint::Face { face, weights } => {
                let t = self.shape.on_last.triangles[face as usize];
                (0..3).map(|k| at(t[k]) * weights[k]).sum()
            }
        }
    }

    /// A place on the last.
    pub(super) fn on_last_at(&self, place: &Place) -> DVec3 {
        weighted(&self.shape.on_last, place)
    }

    /// A place where the middle of the piece's thickness lies.
    pub(super) fn neutral_at(&self, place: &Place) -> DVec3 {
        weighted(&self.neutral, place)
    }

    /// The place of a point of the plane, looked for from triangle `from` on. Of a point outside
    /// the ground, the nearest on the side by which the way there leaves it.
    pub(super) fn find(&self, point: DVec2, from: u32) -> Place {
        let triangles = &self.shape.on_last.triangles;
        let mut face = from;
        // Through every triangle once at most; on the way straight to a point it is a few.
        for _ in 0..triangles.len() {
            let corners = triangles[face as usize].map(|v| self.plane[v as usize]);
            let weights = weights_of(point, corners);
            let least = (0..3).min_by(|a, b| weights[*a].total_cmp(&weights[*b])).unwrap_or(0);
            if weights[least] >= -IN_TRIANGLE {
                return Place { face, weights };
            }
            // Corner k lies across from side k + 1.
            let across = self.adjacency.across(Side { face, k: (least as u8 + 1) % 3 });
            match across {
                Some(side) => face = side.face,
                None => return clamped(face, weights),
            }
        }
        clamped(face, [1.0 / 3.0; 3])
    }
}

fn weighted(mesh: &TriMesh, place: &Place) -> DVec3 {
    let [a, b, c] = mesh.corners(place.face);
    a * place.weights[0] + b * place.weights[1] + c * place.weights[2]
}

/// The barycentric weights of a point, of which those of points outside are negative.
fn weights_of(point: DVec2, [a, b, c]: [DVec2; 3]) -> [f64; 3] {
    let whole = (b - a).perp_dot(c - a);
    let [u, v] = [(c - b).perp_dot(point - b) / whole, (a - c).perp_dot(point - c) / whole];
    [u, v, 1.0 - u - v]
}

fn clamped(face: u32, weights: [f64; 3]) -> Place {
    let kept = weights.map(|w| w.max(0.0));
    let sum: f64 = kept.iter().sum();
    Place { face, weights: kept.map(|w| w / sum) }
}
