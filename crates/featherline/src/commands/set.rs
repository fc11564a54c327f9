//! `featherline set`: changes one setting of a job.

use std::path::PathBuf;
use std::process::ExitCode;

use serde_json::Value;
use shoe::job::Command;

use super::open_job;
use crate::output;

/// Change one setting of a job
#[derive(clap::Args)]
pub(crate) struct Set {
    /// The folder of the job
    job: PathBuf,
    /// Which setting, as in job.toml with the table before it: stiffener.thickness
    key: String,
    /// What it becomes; "default" takes the entry away
    #[arg(required = true, num_args = 1.., allow_negative_numbers = true)]
    value: Vec<String>,
    /// Print the result as JSON on standard output
    #[arg(long)]
    json: bool,
}

impl Set {
    pub(crate) fn run(self) -> anyhow::Result<ExitCode> {
        let mut job = open_job(&self.job)?;
        let command = Command::parse(&self.key, &self.value.join(" "))?;
        let was = job.value_of(&self.key);
        let changed = job.apply(&command)?;
        if changed {
            job.save()?;
        }
        if self.json {
            output::say_json(&serde_json::json!({
                "job": job.path(),
                "set": self.key,
                "to": command.value(),
                "was": was,
                "changed": changed,
            }))?;
        } else if changed {
            let to = shown(&command.value());
            output::say(&format!("{}: {to} (was {})", self.key, shown(&was)));
            output::say(&super::next_draft(job.path()));
        } else {
            output::say(&format!("{}: already {}", self.key, shown(&was)));
        }
        Ok(ExitCode::SUCCESS)
    }
}

/// A value as people read it.
pub(crate) fn shown(value: &Value) -> String {
    match value {
        Value::Null => "default".to_owned(),
        Value::String(text) => text.clone(),
        Value::Array(list) if list.len() > 4 => format!("a list of {}", list.len()),
        other => other.to_string(),
    }
}
