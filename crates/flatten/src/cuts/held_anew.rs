//! The lines that keep their lengths, after cuts have parted them.

use std::collections::BTreeMap;

use geometry::mesh::TriMesh;
use glam::DVec3;

use crate::held::HeldLine;
use crate::neighbours::Neighbours;

/// A vertex this near to a side of a line lies on it, mm: cuts put them there to within rounding.
const ON_LINE: f64 = 1e-7;

/// Those of `lines` on `mesh` that are left in `cut`, in their order: as they were, or the parts
/// between the cuts that they are parted by.
pub(super) fn held_anew(mesh: &TriMesh, lines: &[HeldLine], cut: &TriMesh) -> Vec<HeldLine> {
    if lines.is_empty() {
        return Vec::new();
    }
    let sides = sides_of(cut);
    let mut anew = Vec::new();
    for line in lines {
        let places: Vec<DVec3> =
            line.vertices.iter().map(|v| mesh.positions[*v as usize]).collect();
        for vertices in parts(&places, cut, &sides) {
            anew.push(HeldLine { vertices, ..line.clone() });
        }
    }
    anew
}

/// Every side of a triangle once.
fn sides_of(mesh: &TriMesh) -> Vec<[u32; 2]> {
    let neighbours = Neighbours::new(mesh.positions.len(), &mesh.triangles, &[]);
    let of = |v: u32| neighbours.after(v).iter().map(move |w| [v, *w]);
    (0..mesh.positions.len() as u32).flat_map(of).collect()
}

/// The runs of `sides` of `mesh` that lie on the line through `places`, each in its direction.
fn parts(places: &[DVec3], mesh: &TriMesh, sides: &[[u32; 2]]) -> Vec<Vec<u32>> {
    // Where along the line each vertex on it lies: which stretch, and the share of it.
    let mut along: BTreeMap<u32, Vec<f64>> = BTreeMap::new();
    for (v, place) in (0..).zip(&mesh.positions) {
        for (i, ends) in places.windows(2).enumerate() {
            if let Some(share) = on_side(*place, [ends[0], ends[1]]) {
                along.entry(v).or_default().push(i as f64 + share);
            }
        }
    }
    // A side lies on the line where both its ends lie on one stretch of it.
    let mut steps: Vec<(f64, [u32; 2])> = Vec::new();
    for [a, b] in sides {
        let (Some(from), Some(to)) = (along.get(a), along.get(b)) else { continue };
        let pairs = from.iter().flat_map(|f| to.iter().map(move |t| (*f, *t)));
        let Some((from, to)) = pairs
            .filter(|(f, t)| f.max(*t).ceil() - f.min(*t).floor() <= 1.0 && f != t)
            .min_by(|x, y| x.0.min(x.1).total_cmp(&y.0.min(y.1)))
        else {
            continue;
        };
        steps.push(if from < to { (from, [*a, *b]) } else { (to, [*b, *a]) });
    }
    steps.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut runs: Vec<Vec<u32>> = Vec::new();
    for (_, [from, to]) in steps {
        match runs.last_mut() {
            Some(run) if run.last() == Some(&from) => run.push(to),
            _ => runs.push(vec![from, to]),
        }
    }
    runs
}

/// The share of a side at which a place on it lies, 0 and 1 being exact.
fn on_side(place: DVec3, [a, b]: [DVec3; 2]) -> Option<f64> {
    if place == a {
        return Some(0.0);
    }
    if place == b {
        return Some(1.0);
    }
    let along = b - a;
    let share = (place - a).dot(along) / along.length_squared();
    let near = place.distance(a + along * share.clamp(0.0, 1.0)) <= ON_LINE;
    (near && share > 0.0 && share < 1.0).then_some(share)
}
