//! Every size of a range: the last graded, and every part derived again on it.

mod adapt;
mod nest;
mod table;

use geometry::warned::{Warned, Warning};

use crate::draft::{DraftError, Drafted, draft_on};
use crate::foot::Foot;
use crate::job::Job;
use crate::last::grade::{Base, GradeError, Target};
use crate::last::stand::Last;
use crate::size::Size;
use crate::size::fitting::{Fitting, girth_between};

pub use nest::nest;
pub use table::{GradeRow, GradeTable, GradeValue};

/// A job whose last is the base of a range.
pub struct Range<'a> {
    job: &'a Job,
    last: &'a Last,
    mirrored: Last,
    base: Base<'a>,
    /// What the girths gain in every size by a fitting other than the base's, mm.
    fitting_gain: f64,
}

/// One size and foot of a range.
#[derive(Debug, Clone)]
pub struct Piece {
    /// The size.
    pub size: Size,
    /// The foot.
    pub foot: Foot,
    /// The job as it stands for this size.
    pub job: Job,
    /// The last and the parts on it.
    pub drafted: Drafted,
    /// What was noticed on the way.
    pub warnings: Vec<Warning>,
}

/// Why a size could not be derived.
#[derive(Debug, thiserror::Error)]
pub enum RangeError {
    /// The size is of another system than the job.
    #[error(
        "the last is {base}, and {size} is counted in another system; name the range in {} too, or set \
         last.size in the other system",
        .base.system().short()
    )]
    OtherSystem {
        /// The job's size.
        base: Size,
        /// The size asked for.
        size: Size,
    },
    /// The last could not be graded.
    #[error("{size}: {cause}")]
    Grade {
        /// The size.
        size: Size,
        /// Why not.
        cause: GradeError,
    },
    /// The parts could not be drafted on the graded last.
    #[error("{size}, {foot} foot")]
    Draft {
        /// The size.
        size: Size,
        /// The foot.
        foot: Foot,
        /// Why not.
        #[source]
        cause: Box<DraftError>,
    },
}

/// What the ball girth gains from the size of `job` to another.
///
/// # Errors
/// When they are counted in two systems.
pub fn girth_gain(job: &Job, size: Size) -> Result<f64, RangeError> {
    let base = job.last.size;
    girth_between(base, size).ok_or(RangeError::OtherSystem { base, size })
}

impl<'a> Range<'a> {
    /// Measures `last`, which stands as `job` says.
    ///
    /// # Errors
    /// When its girths or its bottom cannot be told.
    pub fn new(job: &'a Job, last: &'a Last) -> Result<Self, RangeError> {
        let size = job.last.size;
        let base = Base::new(last).map_err(|cause| RangeError::Grade { size, cause })?;
        let mirrored = last.mirrored();
        Ok(Self { job, last, mirrored, base, fitting_gain: 0.0 })
    }

    /// The same range in another fitting.
    #[must_use]
    pub fn in_fitting(self, from: Fitting, to: Fitting) -> Self {
        Self { fitting_gain: from.girth_to(to), ..self }
    }

    /// What a size asks of the base.
    ///
    /// # Errors
    /// When the size is of another system.
    pub fn target(&self, size: Size) -> Result<Target, RangeError> {
        let gain = girth_gain(self.job, size)?;
        Ok(Target {
            standard_last_length: size.standard_last_length().get(),
            girth_gain: gain + self.fitting_gain,
            heel_height: self.job.range.heel_height.unwrap_or_default(),
            toe_spring: self.job.range.toe_spring.unwrap_or_default(),
            top: self.job.range.top.unwrap_or_default(),
        })
    }

    /// The last of a size, for the foot of the base or the other.
    ///
    /// # Errors
    /// When the size is of another system, or its girths are out of reach.
    pub fn last(&self, size: Size, foot: Foot) -> Result<Last, RangeError> {
        let target = self.target(size)?;
        let is_base = size == self.job.last.size && target.girth_gain == 0.0;
        if is_base {
            // As it was scanned, to the last bit.
            return Ok(if foot == self.last.foot {
                self.last.clone()
            } else {
                self.mirrored.clone()
            });
        }
        let last = self.base.graded(&target).map_err(|cause| RangeError::Grade { size, cause })?;
        Ok(if foot == last.foot { last } else { last.mirrored() })
    }

    /// The last of a size and the parts on it.
    ///
    /// # Errors
    /// As [`Range::last`], and when the rules cannot be met on it.
    pub fn piece(&self, size: Size, foot: Foot) -> Result<Piece, RangeError> {
        let last = self.last(size, foot)?;
        let (job, mut warnings) = adapt::job_for(self.job, size, foot, self.last.foot);
        let drafted = draft_on(&job, last, Vec::new());
        let Warned { value: drafted, warnings: on_draft } =
            drafted.map_err(|cause| RangeError::Draft { size, foot, cause: Box::new(cause) })?;
        warnings.extend(on_draft);
        Ok(Piece { size, foot, job, drafted, warnings })
    }
}
