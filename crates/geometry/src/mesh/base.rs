//! What a body stood on while it was scanned: found and cut off.

mod clip;
mod moments;
pub(crate) mod plain;
mod planes;
mod reach;
mod rod;
mod sheet;

use glam::DVec3;

use super::TriMesh;
use super::bodies::split_touching;
use super::edges::{Sets, edge_uses, edges};
use super::repair::{Repair, RepairKind};

/// A plane through `origin`; `normal` has length one.
#[derive(Debug, Clone, Copy)]
struct Plane {
    origin: DVec3,
    normal: DVec3,
}

impl Plane {
    fn height(&self, point: DVec3) -> f64 {
        (point - self.origin).dot(self.normal)
    }
}

/// A body without what it stood on.
#[derive(Debug, Clone, PartialEq)]
pub struct BaseCut {
    /// The body; the same mesh where there was nothing to cut. It is open where it was cut.
    pub mesh: TriMesh,
    /// What was cut off or left, in that order; empty for a body that stands free.
    pub repairs: Vec<Repair>,
}

/// Cuts off a sheet, slab or rod that was scanned together with a body and is one surface with
/// it. `mesh` is one clean body, as [`tidy`](super::tidy::tidy) makes it; separate plates and
/// blocks are gone by then.
///
/// A sheet is a flat layer with the body on one side and nothing but a slab on the other, that
/// reaches out past the body round most of its foot. The cut lies a little above it: the body is
/// left open there, and a slice of it as high as the message says is lost. A rod is long, thin and
/// as thick all along, and stands on a flat face that reaches past it all around: it is cut off
/// with that face. A rod that stands on a rounded place, or leans far, is not found.
///
/// The outcome follows the mesh in any pose and size.
pub fn cut_base(mesh: &TriMesh) -> BaseCut {
    let mut repairs = Vec::new();
    let unsheeted = without_sheet(mesh, &mut repairs);
    let body = unsheeted.as_ref().unwrap_or(mesh);
    let unheld = without_rod(body, &mut repairs);
    BaseCut { mesh: unheld.or(unsheeted).unwrap_or_else(|| mesh.clone()), repairs }
}

fn without_sheet(mesh: &TriMesh, repairs: &mut Vec<Repair>) -> Option<TriMesh> {
    let freed = sheet::free(mesh)?;
    let (body, _) = split_touching(&freed.body);
    repairs.push(Repair::new(
        RepairKind::BaseCut,
        1,
        vec![freed.place],
        format!(
            "a flat plate that the body stood on was cut off, {{}} above its face ({:.1} % of the body's length); what lay below the cut is missing, and leaves openings: {}",
            100.0 * freed.share,
            openings(&body),
        ),
        "check that no more than the plate is gone; stand it on its flat top to scan the underside whole",
    ).with_lengths(vec![freed.above]));
    Some(body)
}

fn without_rod(mesh: &TriMesh, repairs: &mut Vec<Repair>) -> Option<TriMesh> {
    let freed = rod::free(mesh)?;
    let (body, _) = split_touching(&freed.body);
    let told = Repair::new(
        RepairKind::BaseCut,
        1,
        vec![freed.place],
        "a rod that the body was held by, {} long and {} thick, was cut off together with the face that it stands on, {} below that; it is open there",
        "check that no more than the rod is gone",
    );
    repairs.push(told.with_lengths(vec![freed.long, freed.thick, freed.below]));
    Some(body)
}

/// The rims of a mesh whose edges have at most two triangles.
fn openings(mesh: &TriMesh) -> usize {
    let uses = edge_uses(mesh);
    let mut sets = Sets::new(mesh.positions.len());
    let mut rim = Vec::new();
    for edge in edges(&uses).filter(|uses| uses.len() == 1) {
        let [a, b] = edge[0].ends;
        sets.join(a, b);
        rim.push(a);
    }
    let mut names: Vec<u32> = rim.into_iter().map(|v| sets.find(v)).collect();
    names.sort_unstable();
    names.dedup();
    names.len()
}

/// The longest distance: from the middle of the points to the farthest, and from that to the
/// farthest again. Between half and all of the true longest, in any pose.
pub(super) fn span(points: &[DVec3]) -> f64 {
    let middle = points.iter().sum::<DVec3>() / points.len().max(1) as f64;
    let farthest = |from: DVec3| {
        let far = points
            .iter()
            .max_by(|a, b| from.distance_squared(**a).total_cmp(&from.distance_squared(**b)));
        far.copied().unwrap_or(from)
    };
    let first = farthest(middle);
    first.distance(farthest(first))
}
