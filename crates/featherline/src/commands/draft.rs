//! `featherline draft`: drafts a job and writes its patterns.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use geometry::mesh::TriMesh;
use shoe::draft::{DraftError, Drafted};
use shoe::foot::Foot;
use shoe::job::JobFolder;
use shoe::last::scan::ScanError;
use shoe::last::stand::StandError;
use shoe::reasons::{Verdict, in_words};
use shoe::size::fitting::Fitting;
use shoe::size::{System, in_run};
use shoe::stiffener::StiffenerError;
use shoe::stiffener::cuts_said;
use shoe::stiffener::edge::EdgeError;
use shoe::stiffener::limits::LimitError;

use super::{open_job, range};
use crate::output;
use crate::papers;
use crate::progress::Progress;

/// Draft a job: write its patterns, instructions and report
#[derive(clap::Args)]
pub(crate) struct Draft {
    /// The folder of the job
    job: PathBuf,
    /// Where the patterns go; the folder `patterns` in the job if not given, `sizes` with --sizes
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Draft every size of a range, each on its own graded last: "EU 36..46" or "EU 36, 37.5, 40"
    #[arg(long, value_name = "RANGE")]
    sizes: Option<String>,
    /// Go through the range in half sizes
    #[arg(long, requires = "sizes")]
    halves: bool,
    /// Fittings (widths) of the range, such as "6, 7"; the last's own if not given. What that is must
    /// stand in `last.fitting`
    #[arg(long, requires = "sizes", value_name = "FITTINGS")]
    fittings: Option<String>,
    /// Which feet of the range: left, right or both
    #[arg(long, requires = "sizes", value_name = "FEET", default_value = "both", value_parser = ["left", "right", "both"])]
    feet: String,
    /// Make one stiffener for so many neighbouring sizes: the smallest governs its top, the largest its
    /// length; what that costs each size is told
    #[arg(long, requires = "sizes", value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u8).range(1..=5))]
    one_for: u8,
    /// Work on this many threads at most; the result is the same
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    threads: Option<u16>,
    /// Print the report as JSON on standard output
    #[arg(long)]
    json: bool,
}

impl Draft {
    pub(crate) fn run(self) -> anyhow::Result<ExitCode> {
        if let Some(threads) = self.threads {
            rayon::ThreadPoolBuilder::new().num_threads(threads.into()).build_global()?;
        }
        let job = open_job(&self.job)?;
        if let Some(sizes) = &self.sizes {
            let out = self.out.unwrap_or_else(|| self.job.join("sizes"));
            let feet = match self.feet.as_str() {
                "left" => vec![Foot::Left],
                "right" => vec![Foot::Right],
                _ => vec![Foot::Left, Foot::Right],
            };
            let sizes = in_run(sizes, self.halves)?;
            let fittings = fittings(sizes[0].system(), self.fittings.as_deref())?;
            return range::draft(
                &job,
                &sizes,
                &fittings,
                &feet,
                self.one_for.into(),
                &out,
                self.json,
            );
        }
        let out = self.out.unwrap_or_else(|| self.job.join("patterns"));
        let drafted = derive(&job)?;
        write(&drafted, &out, self.json)
    }
}

/// The fittings asked for, each once; none stands for the last's own.
fn fittings(system: System, text: Option<&str>) -> anyhow::Result<Vec<Option<Fitting>>> {
    let Some(text) = text else { return Ok(vec![None]) };
    let mut all: Vec<Option<Fitting>> = Vec::new();
    for name in text.split([' ', ';']).map(|name| name.trim_end_matches(',')) {
        if !name.is_empty() {
            let fitting = Some(Fitting::read(system, name)?);
            if !all.contains(&fitting) {
                all.push(fitting);
            }
        }
    }
    anyhow::ensure!(!all.is_empty(), "--fittings names none; write them as in \"6, 7\"");
    Ok(all)
}

/// Derives everything a job holds, cold, with its warnings on standard error.
pub(crate) fn derive(job: &JobFolder) -> anyhow::Result<Drafted> {
    let scan = read_scan(job)?;
    let drafting = Progress::start("standing the last, drawing the stiffener and laying it flat");
    let drafted = shoe::draft::draft(job.job(), &scan).map_err(|error| error_at(job, error))?;
    drop(drafting);
    output::warn(&drafted.warnings);
    Ok(drafted.value)
}

/// The scan of a job as it lies in its file, with what is told of that on standard error.
pub(super) fn read_scan(job: &JobFolder) -> anyhow::Result<TriMesh> {
    let mesh = job.mesh_path();
    let reading = Progress::start(format!("reading {}", mesh.display()));
    let read = geometry::read::read_mesh(&mesh)?;
    drop(reading);
    output::warn(&read.warnings);
    Ok(read.value.mesh)
}

/// The error with the file in which it can be mended: the scan, the settings, or the settings
/// and the last that they do not fit.
pub(super) fn error_at(job: &JobFolder, error: DraftError) -> anyhow::Error {
    let (settings, mesh) = (job.settings_path(), job.mesh_path());
    let (settings, mesh) = (settings.display(), mesh.display());
    let place = match &error {
        DraftError::Scan(ScanError::Stand(StandError::BadGiven { .. }))
        | DraftError::Stiffener(StiffenerError::Edge(EdgeError::Limit(LimitError::ChildAnkle {
            ..
        }))) => settings.to_string(),
        DraftError::Scan(_) | DraftError::Surface(_) | DraftError::Chart(_) => mesh.to_string(),
        DraftError::Stiffener(_) => format!("{settings} with {mesh}"),
    };
    anyhow::Error::new(error).context(place)
}

/// Writes the files of a drafted job and says where they lie.
pub(crate) fn write(drafted: &Drafted, out: &Path, json: bool) -> anyhow::Result<ExitCode> {
    let writing = Progress::start(format!("writing {}", out.display()));
    let files = papers::make(drafted)?;
    papers::write_all(out, &files, &[])?;
    drop(writing);
    if json {
        output::say_json(&drafted.report)?;
    } else {
        say_result(drafted);
        output::say("");
        output::say(&format!("in {}:", out.display()));
        for file in &files {
            output::say(&format!("  {:26} {}", file.name, file.what));
        }
        output::say("");
        output::say("Print at 100 %, and measure the 100 mm square or line before you cut.");
    }
    Ok(exit_code(drafted))
}

/// 1 when a check failed.
pub(crate) fn exit_code(drafted: &Drafted) -> ExitCode {
    if drafted.report.failed() { ExitCode::FAILURE } else { ExitCode::SUCCESS }
}

/// The piece in one line, and the checks that do not simply hold.
pub(crate) fn say_result(drafted: &Drafted) {
    let piece = &drafted.stiffener;
    output::say(&format!(
        "{}: heel stiffener, {} foot, {}: back height {:.1} mm",
        drafted.report.job, piece.foot, piece.brief.size, piece.edge.back_height
    ));
    for line in cuts_said::in_words(piece) {
        output::say(&line);
    }
    output::say(&format!(
        "checks: {} hold, {} open, {} failed",
        drafted.count(Verdict::Pass),
        drafted.count(Verdict::Unsure),
        drafted.count(Verdict::Fail)
    ));
    for check in drafted.report.checks.iter().filter(|c| c.verdict != Verdict::Pass) {
        let word = if check.verdict == Verdict::Fail { "FAILED" } else { "open" };
        output::say(&format!(
            "  {word}: {}: {}; wanted: {} ({})",
            check.name,
            in_words(check.value, &check.unit),
            check.limit,
            check.reason
        ));
    }
}
