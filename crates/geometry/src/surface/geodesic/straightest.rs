//! Straightest paths: straight across every triangle and edge, with equal angles on both sides at
//! a vertex (K. Polthier and M. Schmies 1998).

use glam::DVec3;

use super::Geodesic;
use super::unfold::{angle_around, corner_angle, on_rim};
use crate::mesh::adjacency::Side;
use crate::surface::{Surface, SurfacePath, SurfacePoint};

/// Why a straightest path ends early.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum StraightestError {
    /// The surface ends.
    #[error("the surface ends after {walked:.1} mm, {asked:.1} mm were asked for")]
    SurfaceEnds {
        /// Length walked, mm.
        walked: f64,
        /// Length asked for, mm.
        asked: f64,
    },
    /// The direction is square to the surface or no direction.
    #[error("no direction along the surface was given")]
    NoDirection,
}

/// A crossing nearer to a vertex than this share of the edge goes through the vertex.
const ON_CORNER: f64 = 1e-10;

/// A place in a triangle on the way, and the direction there: a unit vector in its plane.
#[derive(Debug, Clone, Copy)]
struct Heading {
    face: u32,
    at: SurfacePoint,
    place: DVec3,
    along: DVec3,
}

/// The straightest path of `length` mm from `from`, setting out along `direction` laid down on the
/// surface. At a vertex or an edge it sets out into the triangle whose plane the direction leaves
/// least.
///
/// # Errors
/// When the surface ends before, or the direction has no part along the surface.
pub fn straightest(
    surface: &Surface<'_>,
    from: SurfacePoint,
    direction: DVec3,
    length: f64,
) -> Result<Geodesic, StraightestError> {
    let mesh = surface.mesh;
    let mut now = set_out(surface, from, direction).ok_or(StraightestError::NoDirection)?;
    let mut points = vec![from];
    let mut walked = 0.0;
    while walked < length {
        let ends = StraightestError::SurfaceEnds { walked, asked: length };
        let (exit, place) = exit(surface, &now).ok_or(ends.clone())?;
        let step = now.place.distance(place);
        if walked + step >= length {
            let end = now.place + now.along * (length - walked);
            let weights = crate::surface::walk::barycentric(mesh.corners(now.face), end);
            points.push(SurfacePoint::in_face(mesh, now.face, weights, 1e-12));
            walked = length;
            break;
        }
        walked += step;
        points.push(exit);
        now = onward(surface, &now, exit, place)
            .ok_or(StraightestError::SurfaceEnds { walked, asked: length })?;
    }
    points.dedup();
    Ok(Geodesic { path: SurfacePath { points, closed: false }, length: walked })
}

fn set_out(surface: &Surface<'_>, at: SurfacePoint, direction: DVec3) -> Option<Heading> {
    let place = at.position(surface.mesh);
    let headings = surface.faces_at(&at).into_iter().filter_map(|face| {
        let normal = surface.mesh.area_vector(face).normalize_or_zero();
        let along = (direction - normal * normal.dot(direction)).try_normalize()?;
        let heading = Heading { face, at, place, along };
        let (_, out) = exit(surface, &heading)?;
        (out.distance(place) > 0.0).then_some((along.dot(direction), heading))
    });
    headings.max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, heading)| heading)
}

/// Where the path leaves its triangle.
fn exit(surface: &Surface<'_>, now: &Heading) -> Option<(SurfacePoint, DVec3)> {
    let mesh = surface.mesh;
    let t = mesh.triangles[now.face as usize];
    let corners = mesh.corners(now.face);
    let normal = mesh.area_vector(now.face).normalize_or_zero();
    let across = normal.cross(now.along);
    // Above zero on the left of the path.
    let beside = corners.map(|c| (c - now.place).dot(across));
    let ahead = |p: DVec3| (p - now.place).dot(now.along);
    let stands_on = |k: usize| match now.at {
        SurfacePoint::Vertex(v) => t[k] == v || t[(k + 1) % 3] == v,
        SurfacePoint::Edge { ends, .. } => {
            ends == [t[k].min(t[(k + 1) % 3]), t[k].max(t[(k + 1) % 3])]
        }
        SurfacePoint::Face { .. } => false,
    };
    let mut best: Option<(f64, SurfacePoint, DVec3)> = None;
    let mut offer = |point: SurfacePoint| {
        let place = point.position(mesh);
        let on = ahead(place);
        if on > 0.0 && point != now.at && best.as_ref().is_none_or(|(most, ..)| on > *most) {
            best = Some((on, point, place));
        }
    };
    for k in 0..3 {
        let (a, b) = (k, (k + 1) % 3);
        if stands_on(k) {
            // Along the side itself, to its end.
            let side = (corners[b] - corners[a]).length();
            for end in [a, b] {
                if beside[end].abs() <= ON_CORNER * side {
                    offer(SurfacePoint::Vertex(t[end]));
                }
            }
        } else if beside[a] <= 0.0 && beside[b] >= 0.0 && beside[a] < beside[b] {
            let share = beside[a] / (beside[a] - beside[b]);
            offer(SurfacePoint::on_edge(t[a], t[b], share, ON_CORNER));
        }
    }
    best.map(|(_, point, place)| (point, place))
}

fn onward(
    surface: &Surface<'_>,
    now: &Heading,
    exit: SurfacePoint,
    place: DVec3,
) -> Option<Heading> {
    match exit {
        SurfacePoint::Vertex(v) => past_vertex(surface, now, v),
        _ => over_edge(surface, now, exit, place),
    }
}

fn over_edge(
    surface: &Surface<'_>,
    now: &Heading,
    exit: SurfacePoint,
    place: DVec3,
) -> Option<Heading> {
    let mesh = surface.mesh;
    let SurfacePoint::Edge { ends: [a, b], .. } = exit else { return None };
    let other = surface.faces_at(&exit).into_iter().find(|f| *f != now.face)?;
    let edge = (mesh.positions[b as usize] - mesh.positions[a as usize]).normalize_or_zero();
    // Square to the edge, in each of the planes, onward.
    let square = |face: u32| mesh.area_vector(face).normalize_or_zero().cross(edge);
    let (out, into) = (square(now.face), square(other));
    let along = edge * now.along.dot(edge) + into * now.along.dot(out);
    Some(Heading { face: other, at: exit, place, along: along.normalize_or_zero() })
}

/// Goes on so that half of the angle around the vertex lies on either side.
fn past_vertex(surface: &Surface<'_>, now: &Heading, vertex: u32) -> Option<Heading> {
    if on_rim(surface, vertex) {
        return None;
    }
    let mesh = surface.mesh;
    let place = mesh.positions[vertex as usize];
    let corner = |face: u32| mesh.triangles[face as usize].iter().position(|v| *v == vertex);
    let mut left = angle_around(surface, vertex) / 2.0;
    let mut face = now.face;
    let mut k = corner(face)?;
    let toward = |v: u32| (mesh.positions[v as usize] - place).normalize_or_zero();
    // From the way that was come, counter-clockwise about the vertex: first to the side of this
    // triangle that ends at it.
    let last = toward(mesh.triangles[face as usize][(k + 2) % 3]);
    let within = (-now.along).angle_between(last);
    let mut turned = within;
    loop {
        if turned >= left {
            break;
        }
        left -= turned;
        let side = Side { face, k: ((k + 2) % 3) as u8 };
        face = surface.adjacency().across(side)?.face;
        k = corner(face)?;
        turned = corner_angle(mesh, face, k);
    }
    let normal = mesh.area_vector(face).normalize_or_zero();
    // `left` beyond the first side of this triangle at the vertex; in the triangle that was come
    // through, beyond the way itself.
    let first = if face == now.face && turned == within {
        -now.along
    } else {
        toward(mesh.triangles[face as usize][(k + 1) % 3])
    };
    let along = first * left.cos() + normal.cross(first) * left.sin();
    Some(Heading { face, at: SurfacePoint::Vertex(vertex), place, along })
}
