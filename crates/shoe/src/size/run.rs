//! Runs of sizes: "EU 36..46", "UK 3, 4, 5.5".

use super::read::decimal;
use super::{Size, SizeError};

/// Why a text is no run of sizes.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum RunError {
    /// An end, or one of a list, is no size.
    #[error(transparent)]
    Size(#[from] SizeError),
    /// Two systems in one run.
    #[error("\"{text}\" mixes {first} with {second}; name all sizes in one system")]
    Mixed {
        /// What was given.
        text: String,
        /// One system.
        first: &'static str,
        /// The other.
        second: &'static str,
    },
    /// The end comes before the beginning.
    #[error("\"{text}\" runs backwards; write \"{mended}\"")]
    Backwards {
        /// What was given.
        text: String,
        /// The same, forwards.
        mended: String,
    },
    /// The steps from the first size do not meet the last one.
    #[error(
        "\"{text}\" steps past its end: after {before} comes {after}; write \"{mended}\", or ask for \
         half sizes"
    )]
    PastEnd {
        /// What was given.
        text: String,
        /// The last size within.
        before: String,
        /// The first one outside.
        after: String,
        /// A run that ends on a step.
        mended: String,
    },
    /// Nothing in it.
    #[error("\"{text}\" names no size; write \"EU 36..46\", or \"EU 36, 38, 40\"")]
    Empty {
        /// What was given.
        text: String,
    },
}

/// The sizes of `text`, ascending, each once: "EU 36..46" in whole sizes, or in half sizes with
/// `halves`; "EU 36, 37.5, 40" one by one; both may be mixed.
///
/// # Errors
/// When a size does not exist, systems are mixed, or a run goes backwards.
pub fn in_run(text: &str, halves: bool) -> Result<Vec<Size>, RunError> {
    let mut sizes: Vec<Size> = Vec::new();
    for part in parts(text) {
        let found = match part.split_once("..") {
            None => vec![one(part, sizes.first().copied())?],
            Some((from, to)) => run(text, from, to, sizes.first().copied(), halves)?,
        };
        for size in found {
            if let Some(first) = sizes.first()
                && first.system() != size.system()
            {
                return Err(mixed(text, *first, size));
            }
            sizes.push(size);
        }
    }
    if sizes.is_empty() {
        return Err(RunError::Empty { text: text.to_owned() });
    }
    sizes.sort_by(|a, b| a.number().total_cmp(&b.number()));
    sizes.dedup();
    Ok(sizes)
}

/// Every size that a run through `base` may have, ascending: whole steps from it, or half ones with
/// `halves` where its system has them.
pub fn through(base: Size, halves: bool) -> Vec<Size> {
    let (system, number) = (base.system(), base.number());
    let step = if halves && system.has_halves() {
        0.5 * system.whole_step()
    } else {
        system.step_at(number)
    };
    let [least, most] = system.range();
    let first = ((least - number) / step).ceil() as i64;
    let last = ((most - number) / step).floor() as i64;
    (first..=last).filter_map(|i| Size::new(system, number + step * i as f64)).collect()
}

/// A comma with a space or a word behind it parts sizes; one between digits is decimal.
fn parts(text: &str) -> impl Iterator<Item = &str> {
    text.split([';', '\n'])
        .flat_map(|part| part.split(", "))
        .map(str::trim)
        .filter(|p| !p.is_empty())
}

/// A size; without a system it is one of the system named before.
fn one(text: &str, before: Option<Size>) -> Result<Size, SizeError> {
    let text = text.trim().trim_end_matches(',');
    match (before, decimal(&text.replace(',', "."))) {
        (Some(before), Some(_)) => format!("{} {text}", before.system().short()).parse(),
        _ => text.parse(),
    }
}

fn run(
    text: &str,
    from: &str,
    to: &str,
    before: Option<Size>,
    halves: bool,
) -> Result<Vec<Size>, RunError> {
    let first = one(from, before)?;
    let last = one(to.trim_start_matches('.'), Some(first))?;
    if first.system() != last.system() {
        return Err(mixed(text, first, last));
    }
    let system = first.system();
    if last.number() < first.number() {
        let mended = format!("{last}..{}", first.number());
        return Err(RunError::Backwards { text: text.to_owned(), mended });
    }
    let step = if halves { 0.5 * system.whole_step() } else { system.whole_step() };
    let count = ((last.number() - first.number()) / step + 1e-9).floor();
    let end = first.number() + count * step;
    if (end - last.number()).abs() > 1e-9 {
        return Err(RunError::PastEnd {
            text: text.to_owned(),
            before: format!("{} {end}", system.short()),
            after: (end + step).to_string(),
            mended: format!("{first}..{end}"),
        });
    }
    (0..=count as usize)
        .map(|i| {
            let number = first.number() + step * i as f64;
            Size::new(system, number).ok_or_else(|| {
                let text = format!("{} {number}", system.short());
                SizeError::OffScale { text, extent: system.extent() }.into()
            })
        })
        .collect()
}

fn mixed(text: &str, first: Size, second: Size) -> RunError {
    RunError::Mixed {
        text: text.to_owned(),
        first: first.system().short(),
        second: second.system().short(),
    }
}
