//! A hidden folder in which the files of a draft are written before they are moved to their place,
//! and what is done about one that a killed program left behind.

use std::ffi::OsStr;
use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use super::File;

/// The hidden folder; gone when dropped, whatever it then holds of ours.
pub(super) struct Stage {
    path: PathBuf,
    names: Vec<String>,
    /// Held as long as the program lives, so that no other takes the folder for a leftover.
    _lock: fs::File,
}

/// What hidden folders for `name` are called, before the number of the process.
fn prefix(name: &OsStr) -> String {
    format!(".{}.part-", name.to_string_lossy())
}

impl Stage {
    /// Makes the hidden folder in `parent`, for a folder called `name`, whose files have `names`.
    pub(super) fn make(parent: &Path, name: &OsStr, names: &[&str]) -> io::Result<Self> {
        let path = parent.join(format!("{}{}", prefix(name), std::process::id()));
        fs::create_dir_all(&path)?;
        let lock = fs::File::create(path.join("lock"))?;
        // Where files cannot be locked nothing is ever taken for a leftover.
        let _ = lock.try_lock();
        Ok(Self { path, names: names.iter().map(|&n| n.to_owned()).collect(), _lock: lock })
    }

    /// Where the files are written.
    pub(super) fn new_files(&self) -> PathBuf {
        self.path.join("new")
    }

    /// Where what they replace is kept until all are in place.
    pub(super) fn old_files(&self) -> PathBuf {
        self.path.join("old")
    }

    /// Writes all files and waits until they are on the disk.
    pub(super) fn write(&self, files: &[File]) -> io::Result<()> {
        for file in files {
            let path = self.new_files().join(&file.name);
            fs::create_dir_all(path.parent().unwrap_or(&path))?;
            let mut out = fs::File::create(&path)?;
            out.write_all(&file.bytes)?;
            out.sync_all()?;
        }
        Ok(())
    }
}

impl Drop for Stage {
    fn drop(&mut self) {
        discard(&self.path, &self.names);
    }
}

/// Removes a hidden folder and in it the files of these names; anything else stays.
fn discard(stage: &Path, names: &[impl AsRef<str>]) {
    let names = || names.iter().map(AsRef::as_ref);
    for set in [stage.join("new"), stage.join("old")] {
        for name in names() {
            let _ = fs::remove_file(set.join(name));
        }
        for name in names() {
            if let Some((inner, _)) = name.split_once('/') {
                let _ = fs::remove_dir(set.join(inner));
            }
        }
        let _ = fs::remove_dir(set);
    }
    let _ = fs::remove_file(stage.join("lock"));
    let _ = fs::remove_dir(stage);
}

/// Puts right what killed programs left of their work on `folder`: hidden folders beside it or
/// in it whose program is gone. What they had half replaced is put back; then they are removed.
///
/// The first `new` of `names` are files that a draft writes; the others are those it takes away.
pub(super) fn clean(parent: &Path, folder: &Path, names: &[&str], new: usize) {
    let start = prefix(folder.file_name().unwrap_or_default());
    for place in [parent, folder] {
        let Ok(entries) = fs::read_dir(place) else { continue };
        let stages = entries.flatten().map(|entry| entry.path()).filter(|path| {
            path.file_name().is_some_and(|n| n.to_string_lossy().starts_with(&start))
        });
        for stage in stages.filter(|stage| is_left(stage)) {
            if place == folder {
                put_all_back(&stage, folder, &names[..new]);
            } else if !folder.exists() {
                let _ = fs::rename(stage.join("old"), folder);
            }
            discard(&stage, names);
        }
    }
}

/// Whether the program that made a hidden folder is gone: then its lock is free.
fn is_left(stage: &Path) -> bool {
    match fs::File::open(stage.join("lock")) {
        Ok(lock) => lock.try_lock().is_ok(),
        // Killed before it made the lock, and removed only if it is empty.
        Err(cause) => cause.kind() == io::ErrorKind::NotFound,
    }
}

/// Undoes a replacing that was broken off, file by file; one that had ended stays.
fn put_all_back(stage: &Path, folder: &Path, names: &[&str]) {
    let (new, old) = (stage.join("new"), stage.join("old"));
    let begun = old.is_dir();
    let ended = names.iter().all(|name| !new.join(name).exists());
    if !begun || ended {
        return;
    }
    for name in names {
        if !new.join(name).exists() || old.join(name).exists() {
            put_back(&old, folder, name);
        }
    }
}

/// Brings back the old file of a name, or takes the new one away where there was none.
pub(super) fn put_back(old: &Path, folder: &Path, name: &str) {
    let path = folder.join(name);
    match fs::rename(old.join(name), &path) {
        Err(cause) if cause.kind() == io::ErrorKind::NotFound => {
            let _ = fs::remove_file(&path);
            if name.contains('/') {
                let _ = fs::remove_dir(path.parent().unwrap_or(&path));
            }
        }
        _ => {}
    }
}
