//! Writes all files of a draft, or none.

use std::fs;
use std::io::Write as _;
use std::path::Path;

use anyhow::Context;

use super::File;

/// Writes `files` into `folder`: first all of them beside it, then each is moved to its place,
/// so that a full disk or a forbidden folder leaves nothing half-written.
pub(crate) fn write_all(folder: &Path, files: &[File]) -> anyhow::Result<()> {
    let blocked = || {
        format!(
            "{}: cannot be written; choose another folder with --out, or check that the disk has room and lets you write",
            folder.display()
        )
    };
    let name = folder.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let parent = folder.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let beside = parent.join(format!(".{name}.part-{}", std::process::id()));
    let written = write_beside(&beside, files).and_then(|()| move_all(&beside, folder, files));
    // Gone already when the folder was new; otherwise only empty folders are left of it.
    let _ = fs::remove_dir_all(&beside);
    written.with_context(blocked)
}

fn write_beside(beside: &Path, files: &[File]) -> std::io::Result<()> {
    fs::create_dir_all(beside)?;
    for file in files {
        let path = beside.join(file.name);
        fs::create_dir_all(path.parent().unwrap_or(beside))?;
        let mut out = fs::File::create(&path)?;
        out.write_all(&file.bytes)?;
        out.sync_all()?;
    }
    Ok(())
}

fn move_all(beside: &Path, folder: &Path, files: &[File]) -> std::io::Result<()> {
    if !folder.exists() {
        return fs::rename(beside, folder);
    }
    for file in files {
        let path = folder.join(file.name);
        fs::create_dir_all(path.parent().unwrap_or(folder))?;
        fs::rename(beside.join(file.name), path)?;
    }
    Ok(())
}
