//! The workshop: the folder in which the jobs lie, each in a folder of its own.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::time::UNIX_EPOCH;

use serde::Serialize;
use shoe::job::JobFolder;

use super::trouble::Trouble;

/// Remembers the job that was opened last.
const LAST: &str = ".featherline-last";

/// A longer name makes trouble on some disks.
const LONGEST_NAME: usize = 80;

/// The folder of the jobs.
#[derive(Debug, Clone)]
pub(super) struct Workshop {
    folder: PathBuf,
}

/// A job on the shelf.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct ShelfJob {
    job: String,
    name: String,
    size: String,
    /// Milliseconds since 1970.
    changed: u64,
    trouble: Option<Trouble>,
}

impl Workshop {
    /// The workshop in `folder`, which is made where it is missing.
    pub(super) fn at(folder: &Path) -> io::Result<Self> {
        fs::create_dir_all(folder)?;
        Ok(Self { folder: folder.canonicalize()? })
    }

    pub(super) fn folder(&self) -> &Path {
        &self.folder
    }

    /// The folder of a job by its name in an address: one plain part that stays in the workshop.
    pub(super) fn job(&self, name: &str) -> Option<PathBuf> {
        let path = self.folder.join(plain(name)?);
        // A link could lead out of the workshop.
        let real = path.canonicalize().ok()?;
        (real == path && real.join("job.toml").symlink_metadata().is_ok_and(|m| m.is_file()))
            .then_some(real)
    }

    /// A free folder for a new job that the user calls `name`.
    pub(super) fn free_for(&self, name: &str) -> PathBuf {
        let kept = |c: char| if c.is_alphanumeric() || "-_ ".contains(c) { c } else { '-' };
        let base: String = name.trim().chars().map(kept).take(LONGEST_NAME).collect();
        let base = base.trim_matches([' ', '-', '.']).replace(' ', "-");
        let base = if base.is_empty() { "job".to_owned() } else { base };
        let taken = |name: &String| self.folder.join(name).symlink_metadata().is_ok();
        let numbered = (2..).map(|n| format!("{base}-{n}"));
        let free = std::iter::once(base.clone()).chain(numbered).find(|name| !taken(name));
        self.folder.join(free.unwrap_or(base))
    }

    /// All jobs, the one changed last first.
    pub(super) fn shelf(&self) -> io::Result<Vec<ShelfJob>> {
        let mut jobs = Vec::new();
        for entry in fs::read_dir(&self.folder)?.flatten() {
            let Some(name) = entry.file_name().to_str().map(str::to_owned) else { continue };
            let Some(folder) = self.job(&name) else { continue };
            let changed = folder.join("job.toml").metadata().and_then(|m| m.modified()).ok();
            let changed = changed.and_then(|at| at.duration_since(UNIX_EPOCH).ok());
            let changed = changed.map_or(0, |since| since.as_millis() as u64);
            jobs.push(match JobFolder::open(&folder) {
                Ok(opened) => {
                    let job = opened.value.job();
                    let (called, size) = (job.name.clone(), job.last.size.to_string());
                    ShelfJob { job: name, name: called, size, changed, trouble: None }
                }
                Err(error) => ShelfJob {
                    name: name.clone(),
                    job: name,
                    size: String::new(),
                    changed,
                    trouble: Some(Trouble::of(&error)),
                },
            });
        }
        jobs.sort_by(|a, b| b.changed.cmp(&a.changed).then_with(|| a.job.cmp(&b.job)));
        Ok(jobs)
    }

    /// The job opened last, if it is still there.
    pub(super) fn last(&self) -> Option<String> {
        let name = fs::read_to_string(self.folder.join(LAST)).ok()?;
        let name = name.trim().to_owned();
        self.job(&name).map(|_| name)
    }

    /// Remembers a job as the one opened last. Not worth an error where it cannot be.
    pub(super) fn remember(&self, name: &str) {
        let _ = fs::write(self.folder.join(LAST), name);
    }
}

/// One plain part of a path that names no hidden folder.
fn plain(name: &str) -> Option<&str> {
    let odd = name.is_empty() || name.starts_with('.') || name.contains(['/', '\\', '\0', ':']);
    (!odd).then_some(name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_name_leads_out_of_the_workshop() {
        let place = tempfile::tempdir().expect("a folder");
        let workshop = Workshop::at(&place.path().join("shop")).expect("made");
        let outside = place.path().join("outside");
        fs::create_dir(&outside).expect("made");
        fs::write(outside.join("job.toml"), "").expect("written");
        for name in [
            "..",
            ".",
            "",
            "../outside",
            "..\\outside",
            "/etc",
            "shop/../../outside",
            "C:job",
            ".git",
        ] {
            assert_eq!(workshop.job(name), None, "{name}");
        }
        #[cfg(unix)]
        {
            std::os::unix::fs::symlink(&outside, workshop.folder().join("linked")).expect("linked");
            assert_eq!(workshop.job("linked"), None);
            let inside = workshop.folder().join("real");
            fs::create_dir(&inside).expect("made");
            std::os::unix::fs::symlink(outside.join("job.toml"), inside.join("job.toml"))
                .expect("linked");
            assert_eq!(workshop.job("real"), None);
        }
    }

    #[test]
    fn a_new_folder_is_named_after_the_job_and_free() {
        let place = tempfile::tempdir().expect("a folder");
        let workshop = Workshop::at(place.path()).expect("made");
        let name = |called: &str| {
            workshop.free_for(called).file_name().map(|n| n.to_string_lossy().into_owned())
        };
        assert_eq!(name("Boot 39 / left").as_deref(), Some("Boot-39---left"));
        assert_eq!(name("../..").as_deref(), Some("job"));
        assert_eq!(name("Über Stiefel").as_deref(), Some("Über-Stiefel"));
        fs::create_dir(workshop.folder().join("job")).expect("made");
        assert_eq!(name("").as_deref(), Some("job-2"));
    }
}
