//! `featherline check`: drafts a job in memory and says what holds.

use std::path::PathBuf;
use std::process::ExitCode;

use shoe::reasons::{Verdict, in_words};

use super::draft::{derive, exit_code, say_result};
use super::open_job;
use crate::output;

/// Check a job without writing anything
#[derive(clap::Args)]
pub(crate) struct Check {
    /// The folder of the job
    job: PathBuf,
    /// Print the report as JSON on standard output
    #[arg(long)]
    json: bool,
}

impl Check {
    pub(crate) fn run(self) -> anyhow::Result<ExitCode> {
        let drafted = derive(&open_job(&self.job)?)?;
        if self.json {
            output::say_json(&drafted.report)?;
        } else {
            say_result(&drafted);
            output::say("what holds:");
            let held = drafted.report.checks.iter().filter(|c| c.verdict == Verdict::Pass);
            for check in held {
                let value = in_words(check.value, &check.unit);
                output::say(&format!("  {}: {value} (wanted: {})", check.name, check.limit));
            }
        }
        Ok(exit_code(&drafted))
    }
}
