//! Makes one clean body of what a scanner or another program wrote.

mod error;
mod hollow;
mod inside;
mod main_body;
mod sorted;
mod steps;

pub use self::error::TidyError;
use self::error::check;
use self::hollow::without_inner_wall;
use self::main_body::main_body;
use self::steps::{despiked, parted, turned, untwist, welded, without_caps, zipped};
use super::TriMesh;
use super::bodies::split_touching;
use super::branches::unbranch;
use super::repair::{Repair, RepairKind, largest_places};

/// The hint where a repair changed nothing of the surface.
const NOTHING: &str = "nothing to do";

/// One clean body, and what was done to get it.
#[derive(Debug, Clone, PartialEq)]
pub struct Tidied {
    /// The body.
    pub mesh: TriMesh,
    /// What was done, in the order in which it was done.
    pub repairs: Vec<Repair>,
}

/// Makes one clean body of `mesh`: joins points within `tolerance`, drops collapsed and doubled
/// triangles, mends edges with more than two triangles, keeps the largest body, and turns it
/// outward. Lengths are in the unit of the mesh, whatever it is. The result has an
/// [`Adjacency`](super::adjacency::Adjacency), and every vertex is used and has one fan of
/// triangles. A repair tells each thing that was done, with counts and places.
///
/// A smaller body is dropped; one that lies inside the largest (the inner wall of a hollow model)
/// also when it is large. Holes are not filled here.
///
/// # Errors
/// When the mesh is empty, damaged or far too large, or holds several bodies of comparable size.
pub fn tidy(mesh: &TriMesh, tolerance: f64) -> Result<Tidied, TidyError> {
    let extent = check(mesh, tolerance)?;
    let mut repairs = Vec::new();

    let mended = unbranch(&welded(mesh, tolerance, extent, &mut repairs)?);
    if mended.dropped > 0 {
        repairs.push(Repair::new(
            RepairKind::FinsRemoved,
            mended.dropped,
            mended.dropped_places,
            format!(
                "edges with more than two triangles: {}; triangles of fins removed: {}",
                mended.branching, mended.dropped
            ),
            "look at the surface there: a fin or an inner wall was cut off",
        ));
    }
    if mended.parted > 0 {
        repairs.push(parted(mended.parted, mended.parted_places));
    }
    let zipped = zipped(mended.mesh, &mut repairs);
    let untwisted = untwist(zipped, &mut repairs);
    let body = main_body(&untwisted, &mut repairs)?;
    let (body, touching) = split_touching(&body);
    if touching > 0 {
        let added = &body.positions[body.positions.len() - touching..];
        repairs.push(parted(touching, largest_places(added.iter().map(|p| (0.0, *p)).collect())));
    }
    let mut body = without_inner_wall(turned(&body, &mut repairs), &mut repairs);
    despiked(&mut body, &mut repairs);
    let mesh = without_caps(body, &mut repairs);
    if mesh.triangles.is_empty() {
        return Err(TidyError::NothingLeft { tolerance, extent });
    }
    Ok(Tidied { mesh, repairs })
}
