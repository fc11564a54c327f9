//! `featherline open`: opens the workbench on a job.

use std::path::PathBuf;
use std::process::ExitCode;

use super::open_job;
use crate::workbench::serve::Serve;

/// Open a job in the workbench, in the browser
#[derive(clap::Args)]
pub(crate) struct Open {
    /// The folder of the job; the folders beside it are its workshop
    job: PathBuf,
    #[command(flatten)]
    serve: Serve,
}

impl Open {
    pub(crate) fn run(self) -> anyhow::Result<ExitCode> {
        let job = open_job(&self.job)?.path().canonicalize()?;
        let (workshop, name) = match (job.parent(), job.file_name().and_then(|n| n.to_str())) {
            (Some(workshop), Some(name)) => (workshop.to_owned(), name.to_owned()),
            _ => anyhow::bail!("{}: a job must lie in a folder of its own", job.display()),
        };
        self.serve.run(&workshop, Some(&name))
    }
}
