//! A last from what tape and ruler read, where there is no scanner.
//!
//! A last is built to length, ball, widths, heel height and toe spring ([`super::build`]); then its
//! wall is moved, smoothly and no more than it takes, until the girths and the back curve entered
//! are those that [`super::measure`] reads. What lies between the measures follows the
//! proportions of an invented last: the result is an approximation of the real one.

mod entries;
mod meet;
mod shape;
mod sheet;

use super::build::BuildError;
use super::measure::Measures;
use super::stand::{Last, StandError};

pub use entries::{TapeMeasures, Toe};
pub use sheet::{BLANK, SheetError, read_sheet};

/// A last that meets the measures entered.
#[derive(Debug, Clone)]
pub struct Taped {
    /// The last, standing; closed, its triangles about 2.5 mm.
    pub last: Last,
    /// Its measures, taken of the finished mesh like those of any scan.
    pub measures: Measures,
    /// Every measure that could be entered, in the order of the sheet.
    pub met: Vec<Met>,
}

/// A measure of a last made from tape measures.
#[derive(Debug, Clone, PartialEq)]
pub struct Met {
    /// In words: `ball girth`.
    pub name: String,
    /// What was entered, mm; `None` where it follows the rest.
    pub entered: Option<f64>,
    /// What the finished last has, mm.
    pub has: f64,
}

/// What such a last cannot know, for people.
pub const UNKNOWN: &str = "This last is an approximation: between the measures it follows the \
    proportions of an invented last. It does not know how the real one is hollowed in the waist, \
    how its feather edge is rounded, how full it is beside the tapes, nor its top and its toe from \
    the side. Hold it, or the first piece, against the real last before leather is cut.";

/// Why a last could not be made from tape measures.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum TapeError {
    /// A measure no last has, or two that no last has together.
    #[error(transparent)]
    Build(#[from] BuildError),
    /// The length is not that of the size.
    #[error(
        "the length of {length:.1} mm contradicts the size, whose last is {standard_last_length:.1} mm \
         long and the toe extension beyond that; enter the size or the length, or mend one of them"
    )]
    Length {
        /// The overall length entered, mm.
        length: f64,
        /// Of the size, mm.
        standard_last_length: f64,
    },
    /// The heights of the back curve cannot be used.
    #[error("the back curve {0}")]
    BackCurve(String),
    /// The measures cannot be met together.
    #[error(
        "the {name} of {asked:.1} mm cannot be reached while the {other} is {of_other:.1} mm; the \
         nearest last has {nearest:.1} mm; measure both again"
    )]
    NotMet {
        /// Which measure.
        name: String,
        /// What was entered, mm.
        asked: f64,
        /// The nearest that was found, mm.
        nearest: f64,
        /// The measure that stands against it.
        other: String,
        /// What that is, mm.
        of_other: f64,
    },
    /// The feather line of what was built does not run from heel to toe: no tried set of measures
    /// does this.
    #[error(
        "the last built from these measures shows no feather line from heel to toe; measure again"
    )]
    NoBottom,
    /// The form came out so that its marks cannot be found: likewise.
    #[error("the last built from these measures has not the shape of one: {0}; measure again")]
    Stand(#[from] StandError),
}

/// Makes a last to `measures`: every measure entered is met within 0.3 mm, and mostly within 0.1, as
/// read on the finished mesh with its marks found anew.
///
/// # Errors
/// When a measure is implausible, when two contradict each other, or when they cannot be met
/// together.
pub fn taped_last(measures: &TapeMeasures) -> Result<Taped, TapeError> {
    meet::met(measures)
}
