//! The commands, one a file.

pub(crate) mod check;
pub(crate) mod demo;
pub(crate) mod draft;
pub(crate) mod flatten;
pub(crate) mod new;
pub(crate) mod set;
pub(crate) mod undo;

use std::path::Path;

use shoe::job::JobFolder;

/// Opens a job and passes on its warnings.
pub(crate) fn open_job(folder: &Path) -> anyhow::Result<JobFolder> {
    let opened = JobFolder::open(folder)?;
    crate::output::warn(&opened.warnings);
    Ok(opened.value)
}
