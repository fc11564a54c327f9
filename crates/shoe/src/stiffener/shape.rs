//! A part of the wall cut out of the last and given even triangles without the scan's roughness.

use geometry::mesh::TriMesh;
use geometry::mesh::remesh::{Sizes, apart, remesh, smooth};
use geometry::surface::{
    PatchError, SurfacePath, SurfacePoint, imprint, open_path, patch_left_of,
};
use glam::DVec3;

use super::chart::{Chart, ChartError};
use super::wall::WallError;

/// The line goes through a vertex of the scan that is nearer than this, mm: a tenth of what a
/// knife follows, and it spares the mesh slivers.
const SNAP: f64 = 0.02;

/// The same along the feather line, mm: on a sharp edge the line then follows the edge and
/// takes no slivers of the bottom along.
const FEATHER_SNAP: f64 = 0.06;

/// Waves of the outline shorter than about this, mm, are the scan's roughness and not the last's
/// form; they would lengthen it. The corner of a wing is a wave of 50 mm.
pub(super) const ROUGHNESS: f64 = 10.0;

/// What is cut out, in the measures of the [`Chart`].
#[derive(Debug, Clone)]
pub(super) struct Bounds {
    /// The ends at the wearer's left and right, mm along the feather line from the seat.
    pub(super) ends: [f64; 2],
    /// The free edge from the right end over the back to the left end: `along` and `up`, mm. The
    /// first and the last lie on the feather line.
    pub(super) free_edge: Vec<(f64, f64)>,
    /// How high the free edge is at the centre back, mm.
    pub(super) back: f64,
}

/// A part of the wall on the bare last, with the lines on it as chains of vertices.
#[derive(Debug, Clone)]
pub(super) struct Shape {
    /// Last frame, mm.
    pub(super) on_last: TriMesh,
    /// From the wearer's left end to the right one.
    pub(super) feather: Vec<u32>,
    /// From the right end over the back to the left one.
    pub(super) free_edge: Vec<u32>,
    /// From the seat up.
    pub(super) centre_back: Vec<u32>,
    /// The most by which its triangles lie from those of the last, to either side, mm.
    pub(super) off_scan: f64,
}

impl Shape {
    /// Cuts out what lies within `bounds` and divides it into triangles with edges of about `edge`
    /// mm.
    ///
    /// # Errors
    /// When the last has a hole or fold in the way.
    pub(super) fn cut_out(
        chart: &Chart<'_, '_>,
        bounds: &Bounds,
        edge: f64,
    ) -> Result<Self, WallError> {
        let surface = chart.surface();
        let [left, right] = bounds.ends;
        let mut lower = vec![feather_point(chart, left)?];
        for (along, _) in chart.feather_between(left, right) {
            lower.push(feather_point(chart, *along)?);
        }
        lower.push(feather_point(chart, right)?);
        let mut upper = vec![lower[lower.len() - 1]];
        let free = &bounds.free_edge;
        for (along, up) in &free[1..free.len() - 1] {
            upper.push(chart.point(*along, *up)?);
        }
        upper.push(lower[0]);
        let place = |p: &SurfacePoint| p.position(surface.mesh);
        let mut marks = vec![place(&lower[0]), place(&lower[lower.len() - 1])];
        let on_corners = |corners: Vec<SurfacePoint>, snap: f64| -> Vec<SurfacePoint> {
            corners.into_iter().map(|c| c.snapped(surface.mesh, snap)).collect()
        };
        let lower = on_corners(lower, FEATHER_SNAP);
        let right_end = lower[lower.len() - 1];
        let mut upper = on_corners(upper, SNAP);
        upper[0] = right_end;
        if let Some(last) = upper.last_mut() {
            *last = lower[0];
        }
        let mut points = open_path(surface, &lower, FEATHER_SNAP)?.points;
        points.pop();
        points.extend(open_path(surface, &upper, SNAP)?.points);
        points.pop();
        let outline = SurfacePath { points, closed: true };

        let (top, seat) = (chart.point(0.0, bounds.back)?, feather_point(chart, 0.0)?);
        marks.extend([place(&top), place(&seat)]);
        let top = top.snapped(surface.mesh, SNAP);
        let seat = seat.snapped(surface.mesh, FEATHER_SNAP);
        let mut up: Vec<SurfacePoint> = vec![seat];
        up.extend(
            chart
                .ruler(0.0)?
                .skip_while(|s| s.walked < FEATHER_SNAP)
                .take_while(|s| s.walked < bounds.back - SNAP)
                .map(|s| s.at.snapped(surface.mesh, SNAP)),
        );
        up.push(top);
        let centre_back = open_path(surface, &up, SNAP)?;

        let cut = imprint(surface, &[outline, centre_back])?;
        let patch = patch_left_of(&cut)?;
        let ring = &patch.paths[0];
        let turn = nearest(&patch.mesh, ring, right_end.position(surface.mesh));
        let mut free_edge: Vec<u32> = ring[turn..].to_vec();
        free_edge.push(ring[0]);
        let lines = [ring[..=turn].to_vec(), free_edge, patch.paths[1].clone()];
        let mut even = remesh(&patch.mesh, &lines, &Sizes::about(edge))?;
        // Where the cut went through a vertex of the scan instead, the marks take their own
        // places again.
        for end in even.lines.iter().flat_map(|line| [line[0], line[line.len() - 1]]) {
            let here = &mut even.mesh.positions[end as usize];
            let near = |p: &&DVec3| p.distance(*here);
            let own = marks.iter().min_by(|a, b| near(a).total_cmp(&near(b)));
            if let Some(own) = own.filter(|own| near(own) <= 2.0 * FEATHER_SNAP) {
                *here = *own;
            }
        }
        // The centre back comes last: it ends on the other two.
        let on_last = smooth(&even.mesh, &even.lines, ROUGHNESS);
        let Ok([feather, free_edge, centre_back]) = <[Vec<u32>; 3]>::try_from(even.lines) else {
            return Err(PatchError::NotEnclosed.into());
        };
        let off_scan = apart(&patch.mesh, &on_last);
        Ok(Self { on_last, feather, free_edge, centre_back, off_scan })
    }
}

fn feather_point(
    chart: &Chart<'_, '_>,
    along: f64,
) -> Result<SurfacePoint, ChartError> {
    chart.on_surface(chart.feather(along)).ok_or(ChartError::FeatherTooShort(0))
}

/// The place in `chain` of the vertex nearest to `place`.
fn nearest(mesh: &TriMesh, chain: &[u32], place: DVec3) -> usize {
    let apart = |i: &usize| mesh.positions[chain[*i] as usize].distance_squared(place);
    (0..chain.len()).min_by(|a, b| apart(a).total_cmp(&apart(b))).unwrap_or(0)
}
