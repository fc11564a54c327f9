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
    // Both feet of a size are one piece, drafted once.
    let sizes: Vec<&[Wanted]> =
        wanted.chunk_by(|a, b| (a.size, a.fitting) == (b.size, b.fitting)).collect();
    let one = |wanted: &&[Wanted]| {
        if stop.load(Ordering::Relaxed) {
            return None;
        }
        let feet: Vec<Foot> = wanted.iter().map(|wanted| wanted.foot).collect();
        let made: Vec<Result<Piece, RangeError>> =
            match range.pieces(wanted[0].size, wanted[0].fitting, &feet) {
                Ok(pieces) => pieces.into_iter().map(Ok).collect(),
                // Told of each foot.
                Err(_) => wanted.iter().map(|wanted| range.piece(wanted)).collect(),
            };
        for wanted in *wanted {
            done(count.fetch_add(1, Ordering::Relaxed) + 1, wanted);
        }
        Some(made)
    };
    let made: Option<Vec<Vec<_>>> = sizes.par_iter().map(one).collect();
    Some(made?.into_iter().flatten().collect())
}

/// One piece for each `one_for` neighbouring sizes of `own`, the pieces of every size, for each of
/// `feet`.
pub(crate) fn shared(
    range: &Range<'_>,
    own: &[Piece],
    feet: &[Foot],
    one_for: usize,
) -> Vec<Result<Piece, RangeError>> {
    let Some(first) = feet.first() else { return Vec::new() };
    let made = groups(own, *first, one_for).into_par_iter().map(|(largest, smaller)| {
        let shared = range.shared(largest, &smaller)?;
        feet.iter().map(|foot| shared.clone().for_foot(*foot)).collect()
    });
    let made: Vec<Result<Vec<Piece>, RangeError>> = made.collect();
    let each = made.into_iter().flat_map(|made| match made {
        Ok(pieces) => pieces.into_iter().map(Ok).collect(),
        Err(error) => vec![Err(error)],
    });
    each.collect()
}

/// Each `of` neighbouring sizes of one fitting, in the order of `pieces`, for one foot: the largest, and
/// the others.
fn groups(pieces: &[Piece], foot: Foot, of: usize) -> Vec<(&Piece, Vec<&Piece>)> {
    let of_foot: Vec<&Piece> = pieces.iter().filter(|p| p.wanted.foot == foot).collect();
    let fittings = of_foot.chunk_by(|a, b| a.wanted.fitting == b.wanted.fitting);
    let chunks = fittings.flat_map(|pieces| pieces.chunks(of));
    chunks.filter_map(|c| c.split_last().map(|(last, rest)| (*last, rest.to_vec()))).collect()
}
