//! `featherline pair`: two jobs of one pair compared, where their lasts differ.

use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::Context;
use shoe::draft::Drafted;
use shoe::foot::Foot;
use shoe::last::pair::{Pair, SCALE};

use super::draft::derive;
use super::open_job;
use crate::output;
use crate::papers::{self, pair as paper};
use crate::progress::Progress;

/// Compare the two lasts of a pair that differs, and their stiffeners: where, and by how much
#[derive(clap::Args)]
pub(crate) struct PairOf {
    /// The folder of the job of one last
    job: PathBuf,
    /// The folder of the job of the other last, for the other foot
    other: PathBuf,
    /// Where the comparison goes; the folder `pair` in the first job if not given
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Print the comparison as JSON on standard output
    #[arg(long)]
    json: bool,
}

impl PairOf {
    pub(crate) fn run(self) -> anyhow::Result<ExitCode> {
        let drafted = [&self.job, &self.other]
            .map(|folder| derive(&open_job(folder)?).with_context(|| folder.display().to_string()));
        let [one, other] = drafted;
        let (one, other) = (one?, other?);
        let comparing = Progress::start("laying one last on the mirror image of the other");
        let pair = Pair::of(&one.last, &other.last)
            .with_context(|| format!("{} and {}", self.job.display(), self.other.display()))?;
        drop(comparing);
        let (left, right) =
            if one.last.foot == Foot::Left { (&one, &other) } else { (&other, &one) };
        let out = self.out.unwrap_or_else(|| self.job.join("pair"));
        let files = paper::files(&pair, left, right)?;
        papers::write_all(&out, &files, &[])?;
        if self.json {
            output::say_json(&paper::as_json(&pair, left, right))?;
        } else {
            say(&pair, left, right);
            output::say("");
            output::say(&format!("in {}:", out.display()));
            for file in &files {
                output::say(&format!("  {:20} {}", file.name, file.what));
            }
        }
        Ok(ExitCode::SUCCESS)
    }
}

fn say(pair: &Pair, left: &Drafted, right: &Drafted) {
    output::say(&format!("left: {}; right: {}; mm", left.report.job, right.report.job));
    output::say(&format!("{:<42}{:>8}{:>8}{:>14}", "", "left", "right", "right - left"));
    for row in paper::rows(pair, left, right) {
        let by = paper::signed(row.right - row.left);
        output::say(&format!("{:<42}{:>8.1}{:>8.1}{by:>14}", row.name, row.left, row.right));
    }
    output::say(
        "where the right last is fuller (+) or slimmer (-) than the left one's mirror image:",
    );
    let differing: Vec<_> =
        pair.parts.iter().filter(|part| part.most.abs() >= SCALE.from[0]).collect();
    for part in &differing {
        output::say(&format!(
            "  {:<18} up to {} mm, {} mm on average",
            part.name,
            paper::signed(part.most),
            paper::signed(part.mean)
        ));
    }
    if differing.is_empty() {
        output::say(&format!("  nowhere by {} mm or more", SCALE.from[0]));
    }
}
