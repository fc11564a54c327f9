//! `featherline undo` and `featherline redo`: step back and forth through the edits of a job.

use std::path::PathBuf;
use std::process::ExitCode;

use shoe::job::{Command, JobFolder, StepError};

use super::open_job;
use super::set::shown;
use crate::output;

/// Take back the last edit of a job
#[derive(clap::Args)]
pub(crate) struct Undo {
    /// The folder of the job
    job: PathBuf,
    /// Print the result as JSON on standard output
    #[arg(long)]
    json: bool,
}

/// Do the edit again that was taken back last
#[derive(clap::Args)]
pub(crate) struct Redo {
    /// The folder of the job
    job: PathBuf,
    /// Print the result as JSON on standard output
    #[arg(long)]
    json: bool,
}

impl Undo {
    pub(crate) fn run(self) -> anyhow::Result<ExitCode> {
        step(self.job, self.json, "undo", JobFolder::undo)
    }
}

impl Redo {
    pub(crate) fn run(self) -> anyhow::Result<ExitCode> {
        step(self.job, self.json, "redo", JobFolder::redo)
    }
}

fn step(
    folder: PathBuf,
    json: bool,
    verb: &str,
    go: impl FnOnce(&mut JobFolder) -> Result<Option<Command>, StepError>,
) -> anyhow::Result<ExitCode> {
    let mut job = open_job(&folder)?;
    let edit = go(&mut job)?;
    if edit.is_some() {
        job.save()?;
    }
    if json {
        let now = edit.as_ref().map(|e| job.value_of(&e.key()));
        output::say_json(&serde_json::json!({ "job": job.path(), verb: edit, "now": now }))?;
        return Ok(ExitCode::SUCCESS);
    }
    match edit {
        Some(edit) => {
            let key = edit.key();
            output::say(&format!("{key}: {}", shown(&job.value_of(&key))));
        }
        None => output::say(&format!("nothing to {verb}")),
    }
    Ok(ExitCode::SUCCESS)
}
