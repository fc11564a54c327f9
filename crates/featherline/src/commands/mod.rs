//! The commands, one a file.

pub(crate) mod check;
pub(crate) mod demo;
pub(crate) mod draft;
pub(crate) mod flatten;
pub(crate) mod last;
pub(crate) mod measure;
pub(crate) mod new;
#[cfg(feature = "workbench")]
pub(crate) mod open;
pub(crate) mod pair;
mod range;
mod relief;
pub(crate) mod set;
pub(crate) mod sizes;
pub(crate) mod undo;

use std::path::Path;

use shoe::job::JobFolder;

/// The call that comes next, as it is typed.
pub(crate) fn next_draft(job: &Path) -> String {
    let job = job.display().to_string();
    let plain = |c: char| c.is_alphanumeric() || "/._-".contains(c);
    let typed = if job.chars().all(plain) { job } else { format!("\"{job}\"") };
    format!("next: featherline draft {typed}")
}

/// Opens a job and passes on its warnings.
pub(crate) fn open_job(folder: &Path) -> anyhow::Result<JobFolder> {
    let opened = JobFolder::open(folder)?;
    crate::output::warn(&opened.warnings);
    Ok(opened.value)
}
