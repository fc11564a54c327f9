//! Writing the one file that an option names.

use std::io::Write as _;
use std::path::Path;

/// Refuses to write over what is read, and over what is no plain file: renaming onto a link, a
/// device or a folder would replace it, not write to it.
pub(crate) fn refuse_place(read: &Path, out: &Path, option: &str) -> anyhow::Result<()> {
    // Only what is there can be in the way; whether the place can be written shows in writing.
    let Ok(there) = std::fs::symlink_metadata(out) else { return Ok(()) };
    if same_file(read, out) {
        anyhow::bail!("{}: {option} is the file being read; choose another name", out.display());
    }
    let kind = there.file_type();
    let what = match (kind.is_file(), kind.is_dir(), kind.is_symlink()) {
        (true, ..) => return Ok(()),
        (_, true, _) => "a folder",
        (.., true) => "a link to another file",
        _ => "a device or a pipe, no plain file",
    };
    anyhow::bail!("{}: cannot be written: it is {what}; choose another name", out.display())
}

/// Whether two names lead to one file, by links of either sort too.
fn same_file(a: &Path, b: &Path) -> bool {
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt as _;
        let id = |path| std::fs::metadata(path).map(|m| (m.dev(), m.ino())).ok();
        id(a).is_some() && id(a) == id(b)
    }
    #[cfg(not(unix))]
    {
        let whole = |path| std::fs::canonicalize(path).ok();
        whole(a).is_some() && whole(a) == whole(b)
    }
}

/// Writes `bytes` where `option` says, whole or not at all.
pub(crate) fn write(path: &Path, bytes: &[u8], option: &str) -> anyhow::Result<()> {
    write_whole(path, bytes).map_err(|cause| {
        anyhow::anyhow!(
            "{}: cannot be written ({cause}); choose another place with {option}, or check that the disk has room and lets you write",
            path.display()
        )
    })
}

/// Writes beside `path`, flushes, and renames: a crash leaves the old file or the new one.
fn write_whole(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    let mut beside_name = path.file_name().unwrap_or_default().to_os_string();
    beside_name.push(format!(".{}.part", std::process::id()));
    let beside = path.with_file_name(beside_name);
    let written = std::fs::File::create(&beside).and_then(|mut file| {
        file.write_all(bytes)?;
        file.sync_all()
    });
    let renamed = written.and_then(|()| std::fs::rename(&beside, path));
    if renamed.is_err() {
        let _ = std::fs::remove_file(&beside);
    }
    renamed
}
