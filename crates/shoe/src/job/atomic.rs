//! Writes a file so that a crash leaves either the old content or the new, never half of it.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Replaces `folder/name`: written beside, flushed, renamed. The caller holds the lock of the
/// folder, so the file beside is nobody else's.
pub(super) fn replace(folder: &Path, name: &str, content: &[u8]) -> io::Result<()> {
    let beside = folder.join(format!(".{name}.new"));
    write_flushed(&beside, content)?;
    fs::rename(&beside, folder.join(name))?;
    sync_folder(folder)
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
