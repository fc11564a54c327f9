//! `featherline check`: drafts a job in memory and says what holds.

use std::path::PathBuf;
use std::process::ExitCode;

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
            for check in &drafted.report.checks {
                output::say(&format!(
                    "  {:?}: {}: {:.2} ({})",
                    check.verdict, check.name, check.value, check.limit
                ));
            }
        }
        Ok(exit_code(&drafted))
    }
}
