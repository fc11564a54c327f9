//! Single points far off the surface around them.

use glam::DVec3;

use super::TriMesh;

/// A spike stands out by this many radii of the ring of points around it at least, and by this
/// many times what all but a twentieth of the points do: noise stands out too, on a
/// fine mesh even by a whole radius.
const RADII: f64 = 1.0;
const ROUGH: f64 = 5.0;

/// No point of the ring is nearer to a spike than this part of its height: in the corner between a
/// wall and a plate some are, where both are cut into slivers.
const ALONE: f64 = 0.5;

/// The surface beyond the ring must face as the ring does, by this part of its area: else the
/// point is the tip of a cone or the corner of a box.
const FACING: f64 = 0.5;

/// Rounds: of two neighbouring spikes the one hides the other.
const ROUNDS: usize = 3;

/// Moves points that stand out alone into the middle of the ring of points around them. Returns
/// how far each stood out, and where it was.
pub(super) fn flatten_spikes(mesh: &mut TriMesh) -> Vec<(f64, DVec3)> {
    let around = Around::of(mesh);
    let mut found = Vec::new();
    for _ in 0..ROUNDS {
        let mut rings: Vec<(f64, u32)> = (0..mesh.positions.len() as u32)
            .filter_map(|v| around.ring(mesh, v).map(|ring| (ring.stands_out(mesh, v), v)))
            .collect();
        if rings.is_empty() {
            break;
        }
        let usual = rings.len() * 19 / 20;
        rings.select_nth_unstable_by(usual, |a, b| a.0.total_cmp(&b.0));
        let limit = RADII.max(ROUGH * rings[usual].0);
        rings.retain(|(out, _)| *out > limit);
        rings.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let before = found.len();
        for (_, v) in rings {
            // Looked at anew: a neighbour may have moved.
            let Some(ring) = around.ring(mesh, v) else { continue };
            if ring.stands_out(mesh, v) > limit
                && ring.leaves_alone(mesh, v)
                && around.faces_on(mesh, v, &ring)
            {
                let place = mesh.positions[v as usize];
                found.push((ring.middle.distance(place), place));
                mesh.positions[v as usize] = ring.middle;
            }
        }
        if found.len() == before {
            break;
        }
    }
    found
}

/// The closed line of points around one.
struct Ring {
    points: Vec<u32>,
    middle: DVec3,
    normal: DVec3,
    radius: f64,
}

impl Ring {
    /// The height of the point over the ring, in its radii.
    fn stands_out(&self, mesh: &TriMesh, v: u32) -> f64 {
        let height = (mesh.positions[v as usize] - self.middle).dot(self.normal).abs();
        if self.radius > 0.0 { height / self.radius } else { 0.0 }
    }

    /// Whether all of the ring is far from the point, for its height.
    fn leaves_alone(&self, mesh: &TriMesh, v: u32) -> bool {
        let tip = mesh.positions[v as usize];
        let height = (tip - self.middle).dot(self.normal).abs();
        self.points.iter().all(|w| mesh.positions[*w as usize].distance(tip) >= ALONE * height)
    }
}

/// The triangles around each point.
struct Around {
    first: Vec<u32>,
    faces: Vec<u32>,
}

impl Around {
    fn of(mesh: &TriMesh) -> Self {
        let mut first = vec![0_u32; mesh.positions.len() + 1];
        for v in mesh.triangles.iter().flatten() {
            first[*v as usize + 1] += 1;
        }
        for v in 1..first.len() {
            first[v] += first[v - 1];
        }
        let mut next = first.clone();
        let mut faces = vec![0; 3 * mesh.triangles.len()];
        for (face, t) in (0..).zip(&mesh.triangles) {
            for v in t {
                faces[next[*v as usize] as usize] = face;
                next[*v as usize] += 1;
            }
        }
        Self { first, faces }
    }

    fn at(&self, v: u32) -> &[u32] {
        &self.faces[self.first[v as usize] as usize..self.first[v as usize + 1] as usize]
    }

    /// The ring around `v`, or `None` at a rim.
    fn ring(&self, mesh: &TriMesh, v: u32) -> Option<Ring> {
        let faces = self.at(v);
        let (mut points, mut ends) = (Vec::with_capacity(8), Vec::with_capacity(8));
        let mut twice_area = DVec3::ZERO;
        let tip = mesh.positions[v as usize];
        for face in faces {
            let t = mesh.triangles[*face as usize];
            let k = t.iter().position(|w| *w == v)?;
            let (a, b) = (t[(k + 1) % 3], t[(k + 2) % 3]);
            points.push(a);
            ends.push(b);
            let [pa, pb] = [a, b].map(|w| mesh.positions[w as usize] - tip);
            twice_area += pa.cross(pb);
        }
        points.sort_unstable();
        ends.sort_unstable();
        if points != ends || points.len() < 3 {
            return None;
        }
        let places = || points.iter().map(|w| mesh.positions[*w as usize]);
        let middle = places().sum::<DVec3>() / points.len() as f64;
        let mut radii: Vec<f64> = places().map(|p| p.distance(middle)).collect();
        radii.sort_by(f64::total_cmp);
        let radius = radii[radii.len() / 2];
        Some(Ring { points, middle, normal: twice_area.normalize_or_zero(), radius })
    }

    /// Whether the surface beyond the ring faces as the ring does.
    fn faces_on(&self, mesh: &TriMesh, v: u32, ring: &Ring) -> bool {
        let mut beyond: Vec<u32> = ring.points.iter().flat_map(|w| self.at(*w)).copied().collect();
        beyond.sort_unstable();
        beyond.dedup();
        beyond.retain(|face| !mesh.triangles[*face as usize].contains(&v));
        let vectors = beyond.iter().map(|face| mesh.area_vector(*face));
        let (along, whole) = vectors.fold((0.0, 0.0), |(along, whole), vector| {
            (along + vector.dot(ring.normal), whole + vector.length())
        });
        along > FACING * whole
    }
}
