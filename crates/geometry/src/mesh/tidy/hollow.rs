//! The inner wall of a hollow body that is open and whose two walls are joined round the opening.

use glam::DVec3;
use parry3d_f64::query::{Ray, RayCast};
use parry3d_f64::shape::TriMesh as ParryMesh;

use crate::mesh::TriMesh;
use crate::mesh::bodies::{bodies, middle, only, split_touching, surface};
use crate::mesh::repair::{Repair, RepairKind};

/// A body encloses less than this part of area^1.5 when it is a wall round nothing: a last 0.057,
/// with a wall of 3 mm 0.005.
const THIN: f64 = 0.02;

/// The inner wall has this share of the surface at least: of a last's wall it is half.
const LEAST: f64 = 0.2;

/// Behind this share of the inner wall lies the outer one, no farther off than this share of the
/// span: 13 mm of 260.
const BACKED: f64 = 0.8;
const WALL: f64 = 0.05;

/// A ray starts this share of the span above the surface.
const OFF: f64 = 1e-6;

/// Takes off the inner wall, if there is one: what sees more of the same surface straight before it,
/// hangs together, and has the outer wall close behind it. `mesh` is one body that faces outward.
pub(super) fn without_inner_wall(mesh: TriMesh, repairs: &mut Vec<Repair>) -> TriMesh {
    let areas = mesh.face_areas();
    let area: f64 = areas.iter().sum();
    if enclosed(&mesh) > THIN * area.powf(1.5) {
        return mesh;
    }
    let Ok(tree) = ParryMesh::new(mesh.positions.clone(), mesh.triangles.clone()) else {
        return mesh;
    };
    let span = crate::mesh::base::span(&mesh.positions);
    let meets = |face: u32, side: f64, within: f64| {
        let normal = side * mesh.area_vector(face).normalize_or_zero();
        let origin = mesh.corners(face).iter().sum::<DVec3>() / 3.0 + normal * (OFF * span);
        tree.intersects_local_ray(&Ray::new(origin, normal), within)
    };
    let out: Vec<u32> =
        (0..mesh.triangles.len() as u32).filter(|face| !meets(*face, 1.0, 2.0 * span)).collect();
    // Outside is the largest part that sees out and hangs together; inside, of the rest, likewise.
    let Some(outside) = largest_of(&mesh, &out) else { return mesh };
    let mut is_outside = vec![false; mesh.triangles.len()];
    outside.iter().for_each(|face| is_outside[*face as usize] = true);
    let rest: Vec<u32> =
        (0..mesh.triangles.len() as u32).filter(|face| !is_outside[*face as usize]).collect();
    let Some(inside) = largest_of(&mesh, &rest) else { return mesh };
    let backed = inside.iter().filter(|face| meets(**face, -1.0, WALL * span));
    let backed: f64 = backed.map(|face| areas[*face as usize]).sum();
    let whole = surface(&areas, &inside);
    if whole < LEAST * area || backed < BACKED * whole {
        return mesh;
    }
    let place = middle(&mesh, &inside);
    let mut kept = vec![true; mesh.triangles.len()];
    inside.iter().for_each(|face| kept[*face as usize] = false);
    let kept: Vec<u32> =
        (0..mesh.triangles.len() as u32).filter(|face| kept[*face as usize]).collect();
    repairs.push(Repair::new(
        RepairKind::InnerShellRemoved,
        1,
        vec![place],
        "the inner wall of a hollow body, joined to the outer one round the opening, removed",
        "nothing to do, if the model was hollow",
    ));
    split_touching(&only(&mesh, &kept)).0
}

/// The volume enclosed about the middle of the points, of an open body nearly so.
fn enclosed(mesh: &TriMesh) -> f64 {
    let centre = mesh.positions.iter().sum::<DVec3>() / mesh.positions.len().max(1) as f64;
    let cones = (0..mesh.triangles.len() as u32).map(|face| {
        let [a, b, c] = mesh.corners(face).map(|p| p - centre);
        a.dot(b.cross(c))
    });
    cones.sum::<f64>().abs() / 6.0
}

/// Of some triangles the largest part that hangs together.
fn largest_of(mesh: &TriMesh, faces: &[u32]) -> Option<Vec<u32>> {
    let part = only(mesh, faces);
    let own = bodies(&part).into_iter().next()?;
    Some(own.into_iter().map(|face| faces[face as usize]).collect())
}
