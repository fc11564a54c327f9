//! A pair whose lasts differ: where the right one is fuller or slimmer than the mirror image of the left
//! one, and by how much.

mod lay;
mod picture;

use geometry::mesh::TriMesh;
use geometry::mesh::adjacency::AdjacencyError;
use glam::{DAffine3, DVec3};
use serde::Serialize;

use super::measure::measure;
use super::stand::Last;
use crate::foot::{Foot, Side};
use lay::{Kept, laid};

pub use picture::{SCALE, View, picture};

/// Two lasts of a pair compared.
#[derive(Debug, Clone)]
pub struct Pair {
    /// What a tape and a ruler read on each.
    pub measures: Vec<Measured>,
    /// The right last in its frame, mm.
    pub right: TriMesh,
    /// How far each of its vertices lies outside the mirror image of the left one, mm; negative where the
    /// left is fuller.
    pub fuller: Vec<f64>,
    /// The parts of the last and what differs there, most first.
    pub parts: Vec<Part>,
    /// How the mirror image of the left last was moved to lie on the right one.
    pub laid: DAffine3,
}

/// One measure of both lasts, mm.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Measured {
    /// Which.
    pub name: String,
    /// On the left last.
    pub left: f64,
    /// On the right last.
    pub right: f64,
}

/// A part of the surface.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Part {
    /// Which, as in "heel, inside".
    pub name: String,
    /// The greatest difference there, mm: how much fuller the right last is; negative where the left is.
    pub most: f64,
    /// Where that is on the right last, in its frame, mm.
    pub at: DVec3,
    /// The mean over the part's area, mm.
    pub mean: f64,
}

/// Why two lasts cannot be compared.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PairError {
    /// Both are for the same foot.
    #[error(
        "both lasts are for the {0} foot; name the left last and the right one, or say which foot one of them is for with `featherline set JOB last.foot`"
    )]
    SameFoot(Foot),
    /// A surface is not sound.
    #[error("the surface of a last is not sound")]
    Surface(#[from] AdjacencyError),
}

impl Pair {
    /// Compares two lasts, in whichever order.
    ///
    /// # Errors
    /// When both are for one foot, or a surface is not sound.
    pub fn of(one: &Last, other: &Last) -> Result<Self, PairError> {
        let (left, right) = match (one.foot, other.foot) {
            (Foot::Left, Foot::Right) => (one, other),
            (Foot::Right, Foot::Left) => (other, one),
            (foot, _) => return Err(PairError::SameFoot(foot)),
        };
        let mirrored = left.mirrored();
        let kept = Kept::new(&right.mesh)?;
        let laid = laid(&mirrored.mesh, &kept);
        let image = TriMesh {
            positions: mirrored.mesh.positions.iter().map(|p| laid.transform_point3(*p)).collect(),
            triangles: mirrored.mesh.triangles,
        };
        let on_image = Kept::new(&image)?;
        let fuller: Vec<f64> = right
            .mesh
            .positions
            .iter()
            .map(|place| on_image.nearest(*place).map_or(0.0, |(_, off)| off))
            .collect();
        let parts = parts(&right.mesh, &fuller);
        let measures = measures(left, right);
        Ok(Self { measures, right: right.mesh.clone(), fuller, parts, laid })
    }
}

fn measures(left: &Last, right: &Last) -> Vec<Measured> {
    let [l, r] = [left, right].map(|last| measure(last, &last.mesh, None).value);
    let row = |name: &str, left: f64, right: f64| Measured { name: name.to_owned(), left, right };
    let mut rows = vec![row("length", l.length, r.length)];
    for ((name, left), (_, right)) in l.girths.named().into_iter().zip(r.girths.named()) {
        rows.push(row(name.words(), left.length, right.length));
    }
    rows.extend([
        row("seat width", l.seat_width, r.seat_width),
        row("tread width", l.tread_width, r.tread_width),
        row("heel height", l.heel_height, r.heel_height),
        row("toe spring", l.toe_spring, r.toe_spring),
    ]);
    rows
}

/// Where parts begin along the last, as shares of its length from the rear (common practice, no
/// source).
const ALONG: [(f64, &str); 4] = [(0.0, "heel"), (0.27, "waist"), (0.55, "ball"), (0.8, "toe")];

/// What faces down or up more than this is the bottom or the top.
const UPRIGHT: f64 = 0.75;

/// What differs in each part, most first.
fn parts(mesh: &TriMesh, fuller: &[f64]) -> Vec<Part> {
    let (low, high) = mesh.bounds().unwrap_or_default();
    let mut sums: Vec<(Part, f64)> = Vec::new();
    for (face, triangle) in mesh.triangles.iter().enumerate() {
        let [a, b, c] = mesh.corners(face as u32);
        let normal = (b - a).cross(c - a) / 2.0;
        let area = normal.length();
        let middle = (a + b + c) / 3.0;
        let share = (middle.x - low.x) / (high.x - low.x);
        let along = ALONG.iter().rev().find(|(from, _)| share >= *from).map_or("heel", |a| a.1);
        let name = format!("{along}, {}", facing(normal / area));
        let part = match sums.iter_mut().position(|(part, _)| part.name == name) {
            Some(i) => i,
            None => {
                sums.push((Part { name, most: 0.0, at: middle, mean: 0.0 }, 0.0));
                sums.len() - 1
            }
        };
        let (part, whole) = &mut sums[part];
        for v in triangle {
            let here = fuller[*v as usize];
            part.mean += here * area / 3.0;
            if here.abs() > part.most.abs() {
                (part.most, part.at) = (here, mesh.positions[*v as usize]);
            }
        }
        *whole += area;
    }
    let mut parts: Vec<Part> =
        sums.into_iter().map(|(part, whole)| Part { mean: part.mean / whole, ..part }).collect();
    parts.sort_by(|a, b| b.most.abs().total_cmp(&a.most.abs()));
    parts
}

/// Which way a place of a right last faces.
fn facing(normal: DVec3) -> String {
    if normal.z < -UPRIGHT {
        return "bottom".into();
    }
    if normal.z > UPRIGHT {
        return "top".into();
    }
    let side = if normal.y > 0.0 { Side::Medial } else { Side::Lateral };
    side.to_string()
}
