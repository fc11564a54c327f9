//! Writes a file so that a crash leaves either the old content or the new, never half of it.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Replaces files of `folder`, given by name and content: all written beside and flushed, then
/// renamed in turn, so that a full disk is met before anything is replaced. The caller holds
/// the lock of the folder, so the files beside are nobody else's; none is left behind.
pub(super) fn replace(folder: &Path, files: &[(&str, &[u8])]) -> io::Result<()> {
    let beside = |name: &str| folder.join(format!(".{name}.new"));
    let replaced = files
        .iter()
        .try_for_each(|(name, content)| write_flushed(&beside(name), content))
        .and_then(|()| {
            for (name, _) in files {
                fs::rename(beside(name), folder.join(name))?;
                sync_folder(folder)?;
            }
            Ok(())
        });
    if replaced.is_err() {
        for (name, _) in files {
            // The first error is the one to tell.
            let _ = fs::remove_file(beside(name));
        }
    }
    replaced
}

/// Writes a new file and waits until it is on the disk.
pub(super) fn write_flushed(path: &Path, content: &[u8]) -> io::Result<()> {
    let mut file = File::create(path)?;
    file.write_all(content)?;
    file.sync_all()
}

/// Waits until the names in a folder are on the disk.
pub(super) fn sync_folder(folder: &Path) -> io::Result<()> {
    // Elsewhere a folder cannot be opened as a file; the rename itself is still atomic.
    if cfg!(unix) { File::open(folder)?.sync_all() } else { Ok(()) }
}

/// Keeps other writers out of a folder until it is dropped or the process ends, however it ends.
pub(super) struct Lock {
    _file: File,
}

impl Lock {
    /// Waits for the folder to be free.
    pub(super) fn of(folder: &Path) -> io::Result<Lock> {
        let path: PathBuf = folder.join(".lock");
        let file = File::options().create(true).truncate(false).write(true).open(path)?;
        file.lock()?;
        Ok(Lock { _file: file })
    }
}
