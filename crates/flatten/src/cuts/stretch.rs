//! The part of a boundary that cuts may start from, by length along it.

use geometry::mesh::TriMesh;
use geometry::surface::SurfacePoint;
use glam::DVec3;

/// A run of boundary vertices, counter-clockwise seen from outside. The whole boundary when the
/// last is the first again.
#[derive(Debug, Clone)]
pub(super) struct Stretch {
    pub(super) vertices: Vec<u32>,
    /// Length up to each vertex, mm.
    along: Vec<f64>,
}

/// A place on a stretch.
#[derive(Debug, Clone, Copy)]
pub(super) struct Mouth {
    pub(super) point: SurfacePoint,
    pub(super) place: DVec3,
    /// Unit direction of the edge, counter-clockwise, taken over some length to either side.
    pub(super) along: DVec3,
}

impl Stretch {
    pub(super) fn new(mesh: &TriMesh, vertices: Vec<u32>) -> Self {
        let mut along = vec![0.0];
        for pair in vertices.windows(2) {
            let [a, b] = [pair[0], pair[1]].map(|v| mesh.positions[v as usize]);
            along.push(along[along.len() - 1] + a.distance(b));
        }
        Self { vertices, along }
    }

    pub(super) fn closed(&self) -> bool {
        self.vertices.first() == self.vertices.last()
    }

    /// mm.
    pub(super) fn length(&self) -> f64 {
        self.along.last().copied().unwrap_or(0.0)
    }

    /// Number of the side that holds `at` mm, and the share of it.
    fn side(&self, at: f64) -> (usize, f64) {
        let after = self.along.partition_point(|s| *s <= at);
        let i = after.clamp(1, self.along.len() - 1) - 1;
        let length = self.along[i + 1] - self.along[i];
        let share = if length > 0.0 { (at - self.along[i]) / length } else { 0.0 };
        (i, share.clamp(0.0, 1.0))
    }

    /// `at` brought to the range of lengths of a closed stretch; `None` past the ends of another.
    pub(super) fn within(&self, at: f64) -> Option<f64> {
        if self.closed() {
            return Some(at.rem_euclid(self.length()));
        }
        (0.0..=self.length()).contains(&at).then_some(at)
    }

    /// How far the ends of `other`, on another mesh, lie from those of this, mm along it: positive
    /// in its direction.
    pub(super) fn ends_to(&self, mesh: &TriMesh, other: &Self, other_mesh: &TriMesh) -> [f64; 2] {
        let ends = |stretch: &Self, mesh: &TriMesh| {
            let of = |v: Option<&u32>| v.map_or(DVec3::ZERO, |v| mesh.positions[*v as usize]);
            [of(stretch.vertices.first()), of(stretch.vertices.last())]
        };
        let [here, there] = [ends(self, mesh), ends(other, other_mesh)];
        let along = [0.0, self.length()].map(|at| self.mouth(mesh, at, 1.0, 0.0).along);
        [0, 1].map(|k| (there[k] - here[k]).dot(along[k]))
    }

    fn place(&self, mesh: &TriMesh, at: f64) -> DVec3 {
        let at = if self.closed() { at.rem_euclid(self.length()) } else { at };
        let (i, share) = self.side(at.clamp(0.0, self.length()));
        let [a, b] = [i, i + 1].map(|k| mesh.positions[self.vertices[k] as usize]);
        a.lerp(b, share)
    }

    /// The place `at` mm along. The direction of the edge is that between the places `reach` mm
    /// to either side, so that a single side of a rough edge does not turn it. Within `snap` mm
    /// of a vertex it is the vertex.
    pub(super) fn mouth(&self, mesh: &TriMesh, at: f64, reach: f64, snap: f64) -> Mouth {
        let (i, share) = self.side(at);
        let [a, b] = [self.vertices[i], self.vertices[i + 1]];
        let length = self.along[i + 1] - self.along[i];
        let snap = if length > 0.0 { (snap / length).min(0.5) } else { 0.5 };
        let point = SurfacePoint::on_edge(a, b, share, snap);
        // As far to one side as to the other, else a bent edge turns it near its end.
        let reach =
            if self.closed() { reach } else { reach.min(at).min(self.length() - at).max(1e-6) };
        let along = self.place(mesh, at + reach) - self.place(mesh, at - reach);
        Mouth { point, place: point.position(mesh), along: along.normalize_or_zero() }
    }
}
