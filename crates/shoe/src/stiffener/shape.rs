//! A part of the wall cut out of the last and given even triangles without the scan's roughness.

use geometry::mesh::TriMesh;
use geometry::mesh::remesh::{Sizes, apart, remesh, smooth};
use geometry::surface::{
    PatchError, SurfacePath, SurfacePoint, imprint, open_path, patch_left_of, patch_within,
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
#[derive(Debug, Clone, PartialEq)]
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
    /// Cuts out what lies within `bounds`, and the wall about it as far as `border` where there is
    /// one, and divides it into triangles with edges of about `edge` mm.
    ///
    /// # Errors
    /// When the last has a hole or fold in the way.
    pub(super) fn cut_out(
        chart: &Chart<'_, '_>,
        bounds: &Bounds,
        border: Option<&Bounds>,
        edge: f64,
    ) -> Result<Self, WallError> {
        let surface = chart.surface();
        let lines = Corners::new(chart, bounds, border)?;
        let path = |corners: &[SurfacePoint], snap| open_path(surface, corners, snap);
        let mut points = path(&lines.feather, FEATHER_SNAP)?.points;
        points.pop();
        points.extend(path(lines.outer.as_ref().unwrap_or(&lines.free_edge), SNAP)?.points);
        points.pop();
        let mut paths = vec![SurfacePath { points, closed: true }];
        paths.push(path(&lines.centre_back, SNAP)?);
        if border.is_some() {
            paths.push(path(&lines.free_edge, SNAP)?);
        }
        let cut = imprint(surface, &paths)?;
        let patch = patch_left_of(&cut)?;
        let ring = &patch.paths[0];
        let (feather, free_edge) = match patch.paths.get(2) {
            Some(inner) => {
                let on_ring = |v: Option<&u32>| ring.iter().position(|w| Some(w) == v);
                let ends = on_ring(inner.last()).zip(on_ring(inner.first()));
                let (left, right) = ends.ok_or(PatchError::NotEnclosed)?;
                (ring[left..=right.max(left)].to_vec(), inner.clone())
            }
            None => {
                let turn = nearest(&patch.mesh, ring, lines.marks[1]);
                let mut free_edge: Vec<u32> = ring[turn..].to_vec();
                free_edge.push(ring[0]);
                (ring[..=turn].to_vec(), free_edge)
            }
        };
        let chains = [feather, free_edge, patch.paths[1].clone()];
        let mut even = remesh(&patch.mesh, &chains, &Sizes::about(edge))?;
        // Where the cut went through a vertex of the scan instead, the marks take their own
        // places again.
        for end in even.lines.iter().flat_map(|line| [line[0], line[line.len() - 1]]) {
            let here = &mut even.mesh.positions[end as usize];
            let near = |p: &&DVec3| p.distance(*here);
            let own = lines.marks.iter().min_by(|a, b| near(a).total_cmp(&near(b)));
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

    /// What lies below the free edge, and the places of its vertices among `places`, those of all.
    ///
    /// # Errors
    /// When the lines do not enclose a piece.
    pub(super) fn without_border(self, places: &[DVec3]) -> Result<(Self, Vec<DVec3>), PatchError> {
        let Self { on_last, feather, free_edge, centre_back, off_scan } = self;
        let inner = |chain: &[u32]| chain[..chain.len() - 1].to_vec();
        let around = [inner(&feather), inner(&free_edge)].concat();
        let patch = patch_within(&on_last, &[around, feather, free_edge, centre_back])?;
        let Ok([_, feather, free_edge, centre_back]) = <[Vec<u32>; 4]>::try_from(patch.paths)
        else {
            return Err(PatchError::NotEnclosed);
        };
        let places = patch.vertices.iter().map(|v| places[*v as usize]).collect();
        Ok((Self { on_last: patch.mesh, feather, free_edge, centre_back, off_scan }, places))
    }
}

/// The places that the lines run through.
struct Corners {
    /// From the left end of the border, where there is one, to the right.
    feather: Vec<SurfacePoint>,
    /// From the right end to the left one.
    free_edge: Vec<SurfacePoint>,
    /// The border's.
    outer: Option<Vec<SurfacePoint>>,
    /// From the seat up.
    centre_back: Vec<SurfacePoint>,
    /// Left end, right end, top and seat before they were moved onto corners of the scan, mm.
    marks: [DVec3; 4],
}

impl Corners {
    fn new(
        chart: &Chart<'_, '_>,
        bounds: &Bounds,
        border: Option<&Bounds>,
    ) -> Result<Self, WallError> {
        let mesh = chart.surface().mesh;
        let along = |along: f64| {
            chart.on_surface(chart.feather(along)).ok_or(ChartError::FeatherTooShort(0))
        };
        let on_line = |place: f64| along(place).map(|p| p.snapped(mesh, FEATHER_SNAP));
        let [left, right] = border.unwrap_or(bounds).ends;
        let mut stops: Vec<f64> =
            chart.feather_between(left, right).iter().map(|(along, _)| *along).collect();
        stops.extend([left, right]);
        stops.extend(bounds.ends);
        stops.sort_by(f64::total_cmp);
        stops.dedup();
        let feather = stops.iter().map(|s| on_line(*s)).collect::<Result<_, _>>()?;
        let edge = |bounds: &Bounds| -> Result<Vec<SurfacePoint>, ChartError> {
            let mut corners = vec![on_line(bounds.ends[1])?];
            for (along, up) in &bounds.free_edge[1..bounds.free_edge.len() - 1] {
                corners.push(chart.point(*along, *up)?.snapped(mesh, SNAP));
            }
            corners.push(on_line(bounds.ends[0])?);
            Ok(corners)
        };
        let top = chart.point(0.0, bounds.back)?;
        let mut centre_back: Vec<SurfacePoint> = vec![on_line(0.0)?];
        centre_back.extend(
            chart
                .ruler(0.0)?
                .skip_while(|s| s.walked < FEATHER_SNAP)
                .take_while(|s| s.walked < bounds.back - SNAP)
                .map(|s| s.at.snapped(mesh, SNAP)),
        );
        centre_back.push(top.snapped(mesh, SNAP));
        let [left, right] = bounds.ends;
        let marks = [along(left)?, along(right)?, top, along(0.0)?].map(|p| p.position(mesh));
        let outer = border.map(edge).transpose()?;
        Ok(Self { feather, free_edge: edge(bounds)?, outer, centre_back, marks })
    }
}

/// The place in `chain` of the vertex nearest to `place`.
fn nearest(mesh: &TriMesh, chain: &[u32], place: DVec3) -> usize {
    let apart = |i: &usize| mesh.positions[chain[*i] as usize].distance_squared(place);
    (0..chain.len()).min_by(|a, b| apart(a).total_cmp(&apart(b))).unwrap_or(0)
}
