//! Every size of a range: the last graded, and every part derived again on it.

mod adapt;
mod nest;
mod shared;
mod table;

use std::fmt;

use geometry::warned::{Warned, Warning};

use crate::draft::{DraftError, Drafted, draft_on};
use crate::foot::Foot;
use crate::job::Job;
use crate::last::grade::{Base, GradeError, Target};
use crate::last::stand::Last;
use crate::size::Size;
use crate::size::fitting::{Family, Fitting, girth_between};

pub use nest::{nest, nested};
pub use shared::{Cost, Shared};
pub use table::{GradeRow, GradeTable, GradeValue};

/// A job whose last is the base of a range.
pub struct Range<'a> {
    job: &'a Job,
    last: &'a Last,
    base: Base<'a>,
}

/// What is wanted of a range: one last.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wanted {
    /// The size.
    pub size: Size,
    /// The fitting; that of the base where none is said.
    pub fitting: Option<Fitting>,
    /// The foot.
    pub foot: Foot,
}

/// One size and foot of a range.
#[derive(Debug, Clone)]
pub struct Piece {
    /// What was wanted.
    pub wanted: Wanted,
    /// The last and the parts on it.
    pub drafted: Drafted,
    /// What was noticed on the way.
    pub warnings: Vec<Warning>,
    /// The sizes it serves and what that costs them, where it serves several.
    pub shared: Option<Shared>,
}

impl Piece {
    /// The piece itself, or its mirror image for the other foot.
    ///
    /// # Errors
    /// As [`Piece::mirrored`].
    pub fn for_foot(self, foot: Foot) -> Result<Self, RangeError> {
        if foot == self.wanted.foot { Ok(self) } else { self.mirrored() }
    }

    /// The piece for the other foot: the mirror image, with that foot's nicks.
    ///
    /// # Errors
    /// When its margin has no room for the nicks of the other foot.
    pub fn mirrored(&self) -> Result<Self, RangeError> {
        let wanted = Wanted { foot: self.wanted.foot.other(), ..self.wanted };
        let mut drafted = self.drafted.mirrored().map_err(|cause| RangeError::Draft {
            wanted,
            cause: Box::new(DraftError::Stiffener(cause.into())),
        })?;
        let own = nicks_of(&self.wanted);
        let mut warnings: Vec<Warning> =
            self.warnings.iter().filter(|w| w.place != own).cloned().collect();
        warnings.extend(with_size_nicks(&mut drafted, &wanted));
        Ok(Self { wanted, drafted, warnings, shared: self.shared.clone() })
    }

    /// The size, or the sizes it serves: "EU 36 to 37".
    pub fn served_in_words(&self) -> String {
        let smallest = self.shared.as_ref().and_then(Shared::smallest);
        shared::in_words(smallest, self.wanted.size)
    }

    /// The size or sizes with the fitting, as they stand over a column.
    pub fn sizes_in_words(&self) -> String {
        with_fitting(self.served_in_words(), self.wanted.fitting)
    }
}

impl Wanted {
    /// Size and fitting, as they stand over a column.
    pub fn size_in_words(&self) -> String {
        with_fitting(self.size.to_string(), self.fitting)
    }
}

fn with_fitting(size: String, fitting: Option<Fitting>) -> String {
    match fitting {
        Some(fitting) => format!("{size} / {fitting}"),
        None => size,
    }
}

impl fmt::Display for Wanted {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}, {} foot", self.size_in_words(), self.foot)
    }
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
    /// Nothing says from which fitting to grade.
    #[error(
        "fittings are graded from that of the last: say which it is with `featherline set JOB last.fitting`; \
         in {system} there are {names}"
    )]
    NoFitting {
        /// The system.
        system: &'static str,
        /// Its fittings.
        names: String,
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
    #[error("{wanted}")]
    Draft {
        /// What was wanted.
        wanted: Wanted,
        /// Why not.
        #[source]
        cause: Box<DraftError>,
    },
}

/// What the girths gain from the size and fitting of `job` to others, mm.
///
/// # Errors
/// When the sizes are counted in two systems, or the job names no fitting to grade from.
pub fn girth_gain(job: &Job, size: Size, fitting: Option<Fitting>) -> Result<f64, RangeError> {
    let base = job.last.size;
    let by_size = girth_between(base, size).ok_or(RangeError::OtherSystem { base, size })?;
    let Some(to) = fitting else { return Ok(by_size) };
    let from = job.last.fitting().ok_or_else(|| RangeError::NoFitting {
        system: base.system().short(),
        names: Family::of(base.system()).map(|f| f.names().join(", ")).unwrap_or_default(),
    })?;
    Ok(by_size + from.girth_to(to))
}

impl<'a> Range<'a> {
    /// Measures `last`, which stands as `job` says.
    ///
    /// # Errors
    /// When its girths or its bottom cannot be told.
    pub fn new(job: &'a Job, last: &'a Last) -> Result<Self, RangeError> {
        let size = job.last.size;
        let base = Base::new(last).map_err(|cause| RangeError::Grade { size, cause })?;
        Ok(Self { job, last, base })
    }

    fn target(&self, wanted: &Wanted) -> Result<Target, RangeError> {
        Ok(Target {
            standard_last_length: wanted.size.standard_last_length().get(),
            girth_gain: girth_gain(self.job, wanted.size, wanted.fitting)?,
            heel_height: self.job.range.heel_height.unwrap_or_default(),
            toe_spring: self.job.range.toe_spring.unwrap_or_default(),
            top: self.job.range.top.unwrap_or_default(),
        })
    }

    /// The last of a size, for the foot of the base or the other.
    ///
    /// # Errors
    /// When the size is of another system, or its girths are out of reach.
    pub fn last(&self, wanted: &Wanted) -> Result<Last, RangeError> {
        let Wanted { size, foot, .. } = *wanted;
        let target = self.target(wanted)?;
        let is_base = size == self.job.last.size && target.girth_gain == 0.0;
        let last = if is_base {
            // As it was scanned, to the last bit.
            self.last.clone()
        } else {
            self.base.graded(&target).map_err(|cause| RangeError::Grade { size, cause })?
        };
        Ok(if foot == last.foot { last } else { last.mirrored() })
    }

    /// The last of a size and the parts on it, for each of `feet`: drafted once and mirrored for the
    /// other.
    ///
    /// # Errors
    /// As [`Range::piece`].
    pub fn pieces(
        &self,
        size: Size,
        fitting: Option<Fitting>,
        feet: &[Foot],
    ) -> Result<Vec<Piece>, RangeError> {
        let drafted = self.own(&Wanted { size, fitting, foot: self.last.foot })?;
        let of = |foot: &Foot| drafted.clone().for_foot(*foot);
        feet.iter().map(of).collect()
    }

    /// The last of a size and the parts on it. Those for the other foot are the mirror images.
    ///
    /// # Errors
    /// As [`Range::last`], and when the rules cannot be met on it.
    pub fn piece(&self, wanted: &Wanted) -> Result<Piece, RangeError> {
        self.own(&Wanted { foot: self.last.foot, ..*wanted })?.for_foot(wanted.foot)
    }

    /// The last of a size and the parts on it, for the foot of the base.
    fn own(&self, wanted: &Wanted) -> Result<Piece, RangeError> {
        let last = self.last(wanted)?;
        let (job, mut warnings) = adapt::job_for(self.job, wanted, self.last.foot);
        let drafted = draft_on(&job, last, Vec::new());
        let Warned { value: mut drafted, warnings: on_draft } = drafted
            .map_err(|cause| RangeError::Draft { wanted: *wanted, cause: Box::new(cause) })?;
        warnings.extend(on_draft);
        warnings.extend(with_size_nicks(&mut drafted, wanted));
        Ok(Piece { wanted: *wanted, drafted, warnings, shared: None })
    }
}

/// The place of a warning about the nicks of one size.
fn nicks_of(wanted: &Wanted) -> String {
    format!("nicks of {wanted}")
}

/// Adds the nicks of the size, or tells that they find no room.
fn with_size_nicks(drafted: &mut Drafted, wanted: &Wanted) -> Option<Warning> {
    drafted.stiffener = drafted.stiffener.clone().with_size_nicks(wanted.size);
    drafted.stiffener.size_nicks.is_empty().then(|| Warning {
        place: nicks_of(wanted),
        message: "the outside wing has no room for the nicks that tell the size".into(),
        hint: "go by the size in print; a wider margin or a longer wing makes room".into(),
    })
}
