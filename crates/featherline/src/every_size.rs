//! Every size of a range derived, side by side on as many threads as there are.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use rayon::prelude::*;
use shoe::foot::Foot;
use shoe::job::Job;
use shoe::range::{Piece, Range, RangeError, Wanted, girth_gain};
use shoe::size::Size;
use shoe::size::fitting::Fitting;

/// Each size in each fitting for each foot, in the order in which they are told and written.
///
/// # Errors
/// When a size is counted in another system than that of `job`, or `job` names no fitting to
/// grade from.
pub(crate) fn wanted(
    job: &Job,
    sizes: &[Size],
    fittings: &[Option<Fitting>],
    feet: &[Foot],
) -> Result<Vec<Wanted>, RangeError> {
    let mut wanted = Vec::new();
    for &fitting in fittings {
        for &size in sizes {
            girth_gain(job, size, fitting)?;
            wanted.extend(feet.iter().map(|&foot| Wanted { size, fitting, foot }));
        }
    }
    Ok(wanted)
}

/// Derives them all, in their order; `done` is told how many are. `None` once `stop` is set: what
/// has begun by then is still finished, and thrown away.
pub(crate) fn derive(
    range: &Range<'_>,
    wanted: &[Wanted],
    stop: &AtomicBool,
    done: impl Fn(usize, &Wanted) + Sync,
) -> Option<Vec<Result<Piece, RangeError>>> {
    let count = AtomicUsize::new(0);
    let one = |wanted: &Wanted| {
        if stop.load(Ordering::Relaxed) {
            return None;
        }
        let made = range.piece(wanted);
        done(count.fetch_add(1, Ordering::Relaxed) + 1, wanted);
        Some(made)
    };
    wanted.par_iter().map(one).collect()
}
