//! A part of a surface that is laid anew between its surroundings.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use glam::DVec3;

use crate::mesh::TriMesh;

/// Over-relaxation: a strip of some tens of triangles settles within the sweeps.
const EAGER: f64 = 1.7;

/// The most sweeps over a region.
const SWEEPS: usize = 400;

/// The vertices that each vertex is joined to, with the weights of the mean value coordinates.
pub(super) struct Around {
    starts: Vec<u32>,
    joined: Vec<(u32, f64)>,
    /// The two neighbours along the boundary, for a vertex on it, with the inverse lengths.
    rim: Vec<[(u32, f64); 2]>,
}

impl Around {
    pub(super) fn new(mesh: &TriMesh) -> Self {
        let mut half: Vec<(u32, u32, f64, bool)> = Vec::with_capacity(6 * mesh.triangles.len());
        for (face, t) in mesh.triangles.iter().enumerate() {
            let corners = mesh.corners(face as u32);
            for k in 0..3 {
                let (a, b, c) = (corners[k], corners[(k + 1) % 3], corners[(k + 2) % 3]);
                let half_angle = (b - a).angle_between(c - a) / 2.0;
                let tangent = if half_angle.is_finite() { half_angle.tan() } else { 0.0 };
                for (other, far, first) in
                    [(t[(k + 1) % 3], a.distance(b), true), (t[(k + 2) % 3], a.distance(c), false)]
                {
                    half.push((t[k], other, tangent / far.max(f64::MIN_POSITIVE), first));
                }
            }
        }
        half.sort_by_key(|h| (h.0, h.1));
        let n = mesh.positions.len();
        let mut around = Self {
            starts: vec![0; n + 1],
            joined: Vec::with_capacity(half.len() / 2),
            rim: vec![[(u32::MAX, 0.0); 2]; n],
        };
        for same in half.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)) {
            let (from, to, ..) = same[0];
            around.joined.push((to, same.iter().map(|h| h.2).sum::<f64>().min(1e12)));
            around.starts[from as usize + 1] += 1;
            if same.len() == 1 {
                let apart = mesh.positions[from as usize].distance(mesh.positions[to as usize]);
                let at = usize::from(same[0].3);
                around.rim[from as usize][at] = (to, 1.0 / apart.max(1e-9));
            }
        }
        for i in 0..n {
            around.starts[i + 1] += around.starts[i];
        }
        around
    }

    pub(super) fn of(&self, vertex: u32) -> &[(u32, f64)] {
        let v = vertex as usize;
        &self.joined[self.starts[v] as usize..self.starts[v + 1] as usize]
    }

    /// Those that hold a vertex in its place: along the boundary for one on it.
    pub(super) fn holding(&self, vertex: u32) -> &[(u32, f64)] {
        let rim = &self.rim[vertex as usize];
        if rim.iter().all(|(v, _)| *v != u32::MAX) { rim } else { self.of(vertex) }
    }

    fn is_on_rim(&self, vertex: u32) -> bool {
        self.rim[vertex as usize].iter().any(|(v, _)| *v != u32::MAX)
    }

    /// The vertices of `faces` and all within `width` mm of them along the edges, ascending; of
    /// those on the boundary, which nothing beyond would hold, only within `rim_width` mm.
    pub(super) fn grown(
        &self,
        mesh: &TriMesh,
        faces: &[u32],
        width: f64,
        rim_width: f64,
    ) -> Vec<u32> {
        let mut far = vec![f64::INFINITY; mesh.positions.len()];
        let mut waiting = BinaryHeap::new();
        for v in faces.iter().flat_map(|f| mesh.triangles[*f as usize]) {
            far[v as usize] = 0.0;
            waiting.push(Reverse((0_u64, v)));
        }
        while let Some(Reverse((bits, v))) = waiting.pop() {
            // Distances are not negative: their bits are in their order.
            let walked = f64::from_bits(bits);
            if walked > far[v as usize] {
                continue;
            }
            for (other, _) in self.of(v) {
                let to = mesh.positions[*other as usize];
                let there = walked + mesh.positions[v as usize].distance(to);
                if there <= width && there < far[*other as usize] {
                    far[*other as usize] = there;
                    waiting.push(Reverse((there.to_bits(), *other)));
                }
            }
        }
        let within = |v: &u32| {
            let far = far[*v as usize];
            far <= rim_width || far.is_finite() && !self.is_on_rim(*v)
        };
        (0..far.len() as u32).filter(within).collect()
    }
}

/// Sets the values at `region` to the weighted means of those at the vertices that `held_by` names,
/// the others staying as they are. Stops when none changes by more than `little`.
pub(super) fn settle<'a>(
    values: &mut [DVec3],
    region: &[u32],
    held_by: impl Fn(u32) -> &'a [(u32, f64)],
    little: f64,
) {
    for _ in 0..SWEEPS {
        let mut most: f64 = 0.0;
        for v in region {
            let Some(mean) = mean(values, held_by(*v)) else { continue };
            let step = (mean - values[*v as usize]) * EAGER;
            values[*v as usize] += step;
            most = most.max(step.length());
        }
        if most <= little {
            break;
        }
    }
}

/// The weighted mean, `None` without weights.
pub(super) fn mean(values: &[DVec3], weights: &[(u32, f64)]) -> Option<DVec3> {
    let sum: f64 = weights.iter().map(|(_, w)| w).sum();
    let of = |(v, w): &(u32, f64)| values[*v as usize] * *w;
    (sum > 0.0).then(|| weights.iter().map(of).sum::<DVec3>() / sum)
}
