//! `featherline draft --sizes`: every size of a range, each drafted on its own graded last.

use std::path::Path;
use std::process::ExitCode;
use std::sync::atomic::AtomicBool;

use anyhow::Context;
use shoe::foot::Foot;
use shoe::job::JobFolder;
use shoe::last::scan::stand_scan;
use shoe::range::{Piece, Range, RangeError};
use shoe::reasons::Verdict;
use shoe::size::Size;
use shoe::size::fitting::Fitting;

use super::draft::{error_at, read_scan};
use crate::every_size;
use crate::output;
use crate::papers::{self, File};
use crate::progress::Progress;

/// Drafts every size for every foot and writes the files.
pub(super) fn draft(
    job: &JobFolder,
    sizes: &[Size],
    fittings: &[Option<Fitting>],
    feet: &[Foot],
    one_for: usize,
    out: &Path,
    json: bool,
) -> anyhow::Result<ExitCode> {
    let settings = job.settings_path();
    let wanted = every_size::wanted(job.job(), sizes, fittings, feet)
        .with_context(|| settings.display().to_string())?;
    let scan = read_scan(job)?;
    let standing = Progress::start("standing the last");
    let stood = stand_scan(&scan, &shoe::draft::given(job.job()))
        .map_err(|error| error_at(job, error.into()))?;
    drop(standing);
    output::warn(&stood.value.repairs.iter().cloned().map(Into::into).collect::<Vec<_>>());
    output::warn(&stood.warnings);
    let last = &stood.value.last;
    let range =
        Range::new(job.job(), last).with_context(|| job.mesh_path().display().to_string())?;

    let drafting = Progress::start("drafting");
    let all = wanted.len();
    let made = every_size::derive(&range, &wanted, &AtomicBool::new(false), |count, wanted| {
        drafting.now(format!("drafting: {count} of {all} pieces done, {wanted}"));
    });
    let made = made.unwrap_or_default().into_iter();
    let own = all_or_none(made.map(|made| made.map_err(|error| at(job, error))))?;
    let pieces = if one_for > 1 {
        drafting.now("drafting one piece for neighbouring sizes");
        let made = every_size::shared(&range, &own, feet, one_for).into_iter();
        all_or_none(made.map(|made| made.map_err(|error| at(job, error))))?
    } else {
        own.clone()
    };
    drop(drafting);
    let writing = Progress::start(format!("writing {}", out.display()));
    let files = papers::range::write(&pieces, &own, &job.job().name, out)?;
    drop(writing);
    warn(&pieces);
    if json {
        output::say_json(&papers::range::as_json(&pieces, &job.job().name))?;
    } else {
        say(&pieces, &files, out);
    }
    let failed = pieces.iter().any(|piece| piece.drafted.report.failed());
    Ok(if failed { ExitCode::FAILURE } else { ExitCode::SUCCESS })
}

/// The error of one size, with the file in which it can be mended.
fn at(job: &JobFolder, error: RangeError) -> anyhow::Error {
    match error {
        RangeError::Draft { wanted, cause } => error_at(job, *cause).context(wanted.to_string()),
        other => other.into(),
    }
}

/// All pieces, or what stands against each size that has none.
fn all_or_none(
    made: impl Iterator<Item = Result<Piece, anyhow::Error>>,
) -> anyhow::Result<Vec<Piece>> {
    let (mut pieces, mut errors) = (Vec::new(), Vec::new());
    for result in made {
        match result {
            Ok(piece) => pieces.push(piece),
            Err(error) => errors.push(format!("{error:#}")),
        }
    }
    errors.dedup();
    match errors.as_slice() {
        [] => Ok(pieces),
        [only] => anyhow::bail!("{only}; nothing was written"),
        several => anyhow::bail!(
            "{} pieces could not be drafted, and nothing was written:\n  {}",
            several.len(),
            several.join("\n  ")
        ),
    }
}

/// What is new in a size against the one before is told; the rest is the same in all.
fn warn(pieces: &[Piece]) {
    let mut told = std::collections::HashSet::new();
    for piece in pieces {
        for warning in &piece.warnings {
            if told.insert((warning.place.clone(), warning.message.clone())) {
                output::warn(std::slice::from_ref(warning));
            }
        }
    }
}

fn say(pieces: &[Piece], files: &[File], out: &Path) {
    let head = ["size", "foot", "last", "back height", "checks"];
    let [size, foot, last, back, checks] = head;
    output::say(&format!("{size:<16}{foot:<7}{last:>8}{back:>14}   {checks}"));
    for piece in pieces {
        let drafted = &piece.drafted;
        let count = |verdict| drafted.count(verdict);
        output::say(&format!(
            "{:<16}{:<7}{:>8.1}{:>14.1}   {} hold, {} open, {} failed",
            piece.sizes_in_words(),
            piece.wanted.foot.to_string(),
            drafted.last.standard_last_length,
            drafted.stiffener.edge.back_height,
            count(Verdict::Pass),
            count(Verdict::Unsure),
            count(Verdict::Fail),
        ));
    }
    for piece in pieces {
        let Some(shared) = &piece.shared else { continue };
        for cost in &shared.costs {
            let [inside, outside] = cost.wing_nearer;
            output::say(&format!(
                "  {}, {} foot, against a piece of its own: back {:.1} mm lower, edge up to {:.1} mm lower; \
                 wings nearer to the joint by {inside:.1} (inside) and {outside:.1} mm (outside); feather \
                 line up to {:.1} mm off",
                cost.size, piece.wanted.foot, cost.back_lower, cost.edge_lower, cost.flat_apart
            ));
        }
    }
    for piece in pieces {
        for check in piece.drafted.report.checks.iter().filter(|c| c.verdict == Verdict::Fail) {
            output::say(&format!(
                "  FAILED: {}: {}; wanted: {}",
                piece.wanted, check.name, check.limit
            ));
        }
    }
    output::say("");
    output::say(&format!("in {}: {} files", out.display(), files.len()));
    output::say(
        "  range.pdf          the sizes over each other, and the grade table: look here first",
    );
    output::say("  all-pieces.pdf     every piece at full scale, a page each");
    if let Some(piece) = pieces.first() {
        let prefix = papers::range::prefix_of(piece);
        output::say(&format!(
            "  {prefix}.pdf and so on: one size each; also -a4.pdf, .svg, .dxf, .json, -last.stl, -wall.obj"
        ));
    }
    output::say("  nest-*.pdf, .svg, .dxf, grade.json");
    output::say("");
    output::say("Print at 100 %, and measure the 100 mm square or line before you cut.");
}
