//! Builds a last from measures, for want of a scanner and for trying everything else on a form
//! whose truth is known.
//!
//! The shape is a plausible last, not a copy of any: smooth curves through few points,
//! turned until the measures are met.

mod edge;
mod fit;
mod form;
mod measures;
mod patches;
mod remesh;

use geometry::mesh::TriMesh;
use glam::DVec3;

pub use measures::{Foot, LastMeasures};
pub(super) use measures::{against, within};

/// A built last: its mesh in the last frame (mm, closed, outward), and what is known of it.
#[derive(Debug, Clone)]
pub struct BuiltLast {
    /// The surface. Facets with edges `e` lie up to `e² / 8R` inside the smooth form of radius
    /// `R`: 0.03 mm at the default resolution and a radius of 30 mm.
    pub mesh: TriMesh,
    /// Where everything is on the smooth form.
    pub truth: Truth,
}

/// What is known of a built last, on the smooth form, in the last frame, mm.
#[derive(Debug, Clone)]
pub struct Truth {
    /// The feather line, closed (the last point joins the first), from the seat point round by
    /// the medial side, a point every 0.5 mm or so. On a rounded edge: the middle of the
    /// rounding.
    pub feather_line: Vec<DVec3>,
    /// The seat point: the origin.
    pub seat: DVec3,
    /// The widest place of the tread on the inside.
    pub joint_medial: DVec3,
    /// The widest place of the tread on the outside.
    pub joint_lateral: DVec3,
    /// The foremost point of the feather line.
    pub toe: DVec3,
    /// Up the middle of the back, from the edge at the seat to the edge of the flat top.
    pub back_line: Vec<DVec3>,
    /// Height of the ground: minus the heel height.
    pub ground: f64,
    /// Rear end of the flat top.
    pub top_back: DVec3,
    /// Front end of the flat top.
    pub top_front: DVec3,
    /// The measures of the smooth form, taken after building.
    pub reached: Reached,
}

/// The measures a form has, defined as in [`LastMeasures`], mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reached {
    /// Overall length.
    pub length: f64,
    /// Ball girth.
    pub ball_girth: f64,
    /// Heel height.
    pub heel_height: f64,
    /// Toe spring.
    pub toe_spring: f64,
    /// Seat width.
    pub seat_width: f64,
    /// Tread width.
    pub tread_width: f64,
}

/// Why a last could not be built.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BuildError {
    /// A measure no last has.
    #[error("the {name} is {value} mm; it must lie between {low:.1} and {high:.1} mm")]
    OutOfRange {
        /// The measure.
        name: &'static str,
        /// What was asked.
        value: f64,
        /// The least allowed.
        low: f64,
        /// The most allowed.
        high: f64,
    },
    /// Two measures no last has together.
    #[error(
        "the {name} of {value} mm contradicts the {other} of {base} mm: with that, it must lie between {low:.1} and {high:.1} mm"
    )]
    Contradiction {
        /// The measure.
        name: &'static str,
        /// What was asked.
        value: f64,
        /// The measure it is held against.
        other: &'static str,
        /// What was asked of that.
        base: f64,
        /// The least allowed.
        low: f64,
        /// The most allowed.
        high: f64,
    },
    /// The form could not be brought to a measure while the others hold.
    #[error(
        "a {name} of {asked} mm cannot be reached together with a {other} of {base} mm; the nearest form has {reached:.1} mm"
    )]
    NotMet {
        /// The measure.
        name: &'static str,
        /// What was asked.
        asked: f64,
        /// What came out.
        reached: f64,
        /// The measure that stands against it.
        other: &'static str,
        /// What was asked of that.
        base: f64,
    },
    /// The rounding finds no place between wall and bottom.
    #[error(
        "an edge radius of {radius} mm does not fit between wall and bottom {x:.0} mm in front of the seat, where the bottom is {seat_width} mm wide at the seat; choose a smaller radius"
    )]
    NoRounding {
        /// The radius asked for.
        radius: f64,
        /// Where it fails, in front of the seat.
        x: f64,
        /// The seat width asked for.
        seat_width: f64,
    },
}

/// Builds a last to `measures`.
///
/// The smooth form meets every measure within 0.005 mm; see [`BuiltLast::mesh`] for how far
/// the mesh lies inside it. A left last is the exact mirror image of the right one.
///
/// # Errors
/// When a measure is implausible, when two contradict each other, or when the form cannot be
/// brought to all of them at once.
pub fn build_last(measures: &LastMeasures) -> Result<BuiltLast, BuildError> {
    FittedLast::new(measures)?.meshed(measures.resolution)
}

/// The smooth form of a last, brought to its measures; meshed as finely as one likes.
pub(super) struct FittedLast {
    measures: LastMeasures,
    fitted: fit::Fitted,
}

impl FittedLast {
    /// As [`build_last`].
    pub(super) fn new(measures: &LastMeasures) -> Result<Self, BuildError> {
        measures.check()?;
        Ok(Self { measures: *measures, fitted: fit::fit(measures)? })
    }

    /// Its mesh, the edges of the triangles about `resolution` long.
    pub(super) fn meshed(&self, resolution: f64) -> Result<BuiltLast, BuildError> {
        let measures = LastMeasures { resolution, ..self.measures };
        let (mut mesh, mut truth) = patches::assemble(&measures, &self.fitted)?;
        if measures.foot == Foot::Left {
            mirror(&mut mesh, &mut truth);
        }
        Ok(BuiltLast { mesh, truth })
    }
}

/// Right to left: y changes sign, and the triangles their sense.
fn mirror(mesh: &mut TriMesh, truth: &mut Truth) {
    let points = mesh
        .positions
        .iter_mut()
        .chain(&mut truth.feather_line)
        .chain(&mut truth.back_line)
        .chain([&mut truth.seat, &mut truth.joint_medial, &mut truth.joint_lateral])
        .chain([&mut truth.toe, &mut truth.top_back, &mut truth.top_front]);
    for point in points {
        point.y = -point.y;
    }
    for triangle in &mut mesh.triangles {
        triangle.swap(1, 2);
    }
}
