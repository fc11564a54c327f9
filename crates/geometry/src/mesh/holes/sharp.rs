//! Whether a sharp edge of the surface runs into a hole.
//!
//! Single sides of triangles are bent by roughness too, and a worn edge is bent at several. So the
//! surface's direction is compared before and after each point of the rim, over a short way.

use glam::DVec3;

use super::surround::Users;
use crate::mesh::TriMesh;

/// A bend of more than this many degrees is a sharp edge.
const SHARP: f64 = 30.0;

/// The way on either side over which directions are taken together, as part of the hole's
/// extent. Edges rounded by more than about twice that are no longer sharp.
const WAY: f64 = 0.1;

/// The least way, in points: so many even out the roughness of a scan.
const POINTS: usize = 3;

/// At how many separate places of a rim a sharp edge of the surface ends.
pub(super) fn sharp_ends(mesh: &TriMesh, users: &Users, rim: &[u32], extent: f64) -> usize {
    let n = rim.len();
    // On a short rim the two ways must not meet.
    let most = n / 4;
    if most == 0 {
        return 0;
    }
    let place = |i: usize| mesh.positions[rim[i % n] as usize];
    let normals: Vec<DVec3> = rim
        .iter()
        .map(|v| users.of(*v).iter().fold(DVec3::ZERO, |sum, f| sum + mesh.area_vector(*f)))
        .collect();
    // `step` is 1 forward, and n - 1 backward.
    let direction = |from: usize, step: usize| {
        let (mut at, mut way, mut count, mut sum) = (from, 0.0, 0, DVec3::ZERO);
        while count < most && (count < POINTS || way < WAY * extent) {
            let next = (at + step) % n;
            way += place(at).distance(place(next));
            sum += normals[next];
            count += 1;
            at = next;
        }
        sum.normalize_or_zero()
    };
    let limit = SHARP.to_radians().cos();
    let sharp: Vec<bool> =
        (0..n).map(|i| direction(i, 1).dot(direction(i, n - 1)) < limit).collect();
    (0..n).filter(|i| sharp[*i] && !sharp[(i + n - 1) % n]).count()
}
