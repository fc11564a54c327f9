//! The line of one cut: from the edge up over the surface, square to the edge.

use geometry::surface::{Surface, SurfacePath, SurfacePoint, Walk};

use super::stretch::Mouth;

/// The line from `mouth`, `depth` mm long over the surface, in the plane square to the edge.
/// `None` where the surface ends before.
///
/// Within `snap` mm of a vertex the line goes through it: else it would leave slivers.
pub(super) fn up_from(
    surface: &Surface<'_>,
    mouth: &Mouth,
    depth: f64,
    snap: f64,
) -> Option<SurfacePath> {
    let inward = surface.normal(&mouth.point).cross(mouth.along);
    let walk = Walk::new(surface, mouth.point, mouth.along, inward, snap);
    let tip = walk.clone().point_at(depth).ok()?.snapped(surface.mesh, snap);
    let mut points: Vec<SurfacePoint> = vec![mouth.point];
    points.extend(walk.take_while(|step| step.walked < depth).map(|step| step.at));
    // Where the tip was drawn onto the last side crossed, or behind it.
    while points.len() > 1 && points.last() != Some(&tip) {
        let last = points[points.len() - 1].position(surface.mesh);
        if last.distance(tip.position(surface.mesh)) > snap {
            break;
        }
        points.pop();
    }
    let joined = points.last().is_some_and(|p| surface.common_face(p, &tip).is_some());
    if !joined {
        return None;
    }
    points.push(tip);
    points.dedup();
    (points.len() > 1).then_some(SurfacePath { points, closed: false })
}
