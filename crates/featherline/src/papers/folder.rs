//! Writes all files of a draft, or none: pattern, sheet and report belong together.
//!
//! All files are first written to a hidden folder, so that a full disk changes nothing. Then:
//!
//! - A folder that is not there yet is put in its place as a whole.
//! - A folder that holds nothing but an older draft is exchanged for the new one as a whole. Where
//!   the system can do that in one step, a program killed at any moment leaves the old files or
//!   the new ones.
//! - In a folder that holds anything else, or is the one worked in, or a disk of its own, our
//!   files are replaced one by one, after a look at each place; if one cannot be, those before it
//!   are put back. A program killed between two of them leaves some of each; the next draft puts
//!   the old ones back before it begins.
//!
//! What others put in the folder is never touched.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use anyhow::Context;

use super::File;
use super::stage::{self, Stage};

/// Writes `files` into `folder`, all or none; see above. `stale` are names of files of ours from an
/// older draft, which go.
pub(crate) fn write_all(folder: &Path, files: &[File], stale: &[String]) -> anyhow::Result<()> {
    let missing: Vec<&Path> = folder
        .ancestors()
        .skip(1)
        .take_while(|p| !p.as_os_str().is_empty() && !p.exists())
        .collect();
    let written = write(folder, files, stale);
    if written.is_err() {
        for made in missing {
            // Only what is empty again goes.
            let _ = fs::remove_dir(made);
        }
    }
    written.with_context(|| {
        format!(
            "{}: cannot be written; choose another folder with --out, or check that the disk has room and lets you write",
            folder.display()
        )
    })
}

fn write(folder: &Path, files: &[File], stale: &[String]) -> io::Result<()> {
    let names: Vec<&str> =
        files.iter().map(|f| f.name.as_str()).chain(stale.iter().map(String::as_str)).collect();
    if fs::symlink_metadata(folder).is_err() {
        let parent = folder.parent().filter(|p| !p.as_os_str().is_empty());
        let parent = parent.unwrap_or(Path::new("."));
        fs::create_dir_all(parent)?;
        stage::clean(parent, folder, &names, files.len());
        // It may be there again: as a killed program had set it aside.
        if !folder.exists() {
            return put_new(parent, folder, files, &names);
        }
    }
    // Whatever leads there, a link or `.`, stays; the folder itself is what is replaced.
    let folder = fs::canonicalize(folder)?;
    if !folder.is_dir() {
        return Err(io::ErrorKind::NotADirectory.into());
    }
    let parent = folder.parent().unwrap_or(&folder);
    stage::clean(parent, &folder, &names, files.len());
    look_at_places(&folder, files)?;
    if !is_worked_in(&folder)
        && holds_only(&folder, &names)?
        && exchange_whole(parent, &folder, files, &names).is_ok()
    {
        return Ok(());
    }
    replace_each(&folder, files, stale, &names)
}

fn put_new(parent: &Path, folder: &Path, files: &[File], names: &[&str]) -> io::Result<()> {
    let name = folder.file_name().ok_or(io::ErrorKind::InvalidInput)?;
    let stage = Stage::make(parent, name, names)?;
    stage.write(files)?;
    fs::rename(stage.new_files(), folder)
}

/// Fails where something stands in the place of one of our files that is no file.
fn look_at_places(folder: &Path, files: &[File]) -> io::Result<()> {
    let refused = |kind: io::ErrorKind, path: &Path, what: &str| {
        Err(io::Error::new(kind, format!("{}: {what} stands in the way", path.display())))
    };
    for file in files {
        let path = folder.join(&file.name);
        let inner = path.parent().unwrap_or(folder);
        if fs::metadata(inner).is_ok_and(|m| !m.is_dir()) {
            return refused(io::ErrorKind::NotADirectory, inner, "a file");
        }
        if fs::symlink_metadata(&path).is_ok_and(|m| m.is_dir()) {
            return refused(io::ErrorKind::IsADirectory, &path, "a folder");
        }
    }
    Ok(())
}

/// Whether someone's terminal, or this program, is in the folder: it would then be in one that
/// was taken away.
fn is_worked_in(folder: &Path) -> bool {
    let here = std::env::current_dir().and_then(fs::canonicalize);
    here.is_ok_and(|here| here.starts_with(folder))
}

/// Whether everything in the folder is a file of a name of ours.
fn holds_only(folder: &Path, names: &[&str]) -> io::Result<bool> {
    let is_ours = |path: &Path| names.iter().any(|name| folder.join(name) == path);
    let is_inner = |path: &Path| {
        names.iter().any(|name| folder.join(name).parent().is_some_and(|inner| inner == path))
    };
    let mut waiting = vec![folder.to_owned()];
    while let Some(inner) = waiting.pop() {
        for entry in fs::read_dir(inner)? {
            let entry = entry?;
            let (path, kind) = (entry.path(), entry.file_type()?);
            if kind.is_dir() && is_inner(&path) {
                waiting.push(path);
            } else if !(kind.is_file() && is_ours(&path)) {
                return Ok(false);
            }
        }
    }
    Ok(true)
}

fn exchange_whole(parent: &Path, folder: &Path, files: &[File], names: &[&str]) -> io::Result<()> {
    let name = folder.file_name().ok_or(io::ErrorKind::InvalidInput)?;
    let stage = Stage::make(parent, name, names)?;
    stage.write(files)?;
    fs::set_permissions(stage.new_files(), fs::metadata(folder)?.permissions())?;
    if exchange(&stage.new_files(), folder).is_ok() {
        return Ok(());
    }
    fs::rename(folder, stage.old_files())?;
    fs::rename(stage.new_files(), folder).inspect_err(|_| {
        // The first error is the one to tell.
        let _ = fs::rename(stage.old_files(), folder);
    })
}

/// Exchanges two folders in one step.
#[cfg(any(target_os = "linux", target_os = "macos"))]
fn exchange(a: &Path, b: &Path) -> io::Result<()> {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    Ok(renameat_with(CWD, a, CWD, b, RenameFlags::EXCHANGE)?)
}

/// Exchanges two folders in one step, where the system can.
#[cfg(not(any(target_os = "linux", target_os = "macos")))]
fn exchange(_: &Path, _: &Path) -> io::Result<()> {
    Err(io::ErrorKind::Unsupported.into())
}

fn replace_each(folder: &Path, files: &[File], stale: &[String], names: &[&str]) -> io::Result<()> {
    // Within the folder, which may be a disk of its own.
    let stage = Stage::make(folder, folder.file_name().unwrap_or_default(), names)?;
    stage.write(files)?;
    let (new, old) = (stage.new_files(), stage.old_files());
    for (i, file) in files.iter().enumerate() {
        if let Err(cause) = replace_one(&new, &old, folder, &file.name) {
            for done in files[..i].iter().rev() {
                stage::put_back(&old, folder, &done.name);
            }
            return Err(cause);
        }
    }
    for name in stale {
        // All that is new is in its place; what cannot be taken away is told by nobody's loss.
        let _ = fs::rename(folder.join(name), old.join(name));
    }
    Ok(())
}

fn replace_one(new: &Path, old: &Path, folder: &Path, name: &str) -> io::Result<()> {
    let [new, old, path]: [PathBuf; 3] = [new, old, folder].map(|set| set.join(name));
    for path in [&old, &path] {
        fs::create_dir_all(path.parent().unwrap_or(folder))?;
    }
    match fs::rename(&path, &old) {
        Err(cause) if cause.kind() != io::ErrorKind::NotFound => return Err(cause),
        _ => {}
    }
    fs::rename(new, &path).inspect_err(|_| {
        let _ = fs::rename(&old, &path);
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;

    const NAMES: [&str; 3] = ["a.pdf", "b.pdf", "inner/c.obj"];

    fn files(content: &str) -> Vec<File> {
        let file = |name: &str| File {
            name: name.to_owned(),
            what: String::new(),
            bytes: content.as_bytes().to_vec(),
        };
        NAMES.map(file).into()
    }

    /// Everything below a folder.
    fn tree(folder: &Path) -> BTreeMap<String, String> {
        let mut all = BTreeMap::new();
        for entry in fs::read_dir(folder).expect("readable").flatten() {
            let name = entry.file_name().to_string_lossy().into_owned();
            match fs::read_to_string(entry.path()) {
                Ok(text) => {
                    all.insert(name, text);
                }
                Err(_) => all.extend(
                    tree(&entry.path()).into_iter().map(|(n, text)| (format!("{name}/{n}"), text)),
                ),
            }
        }
        all
    }

    fn drafted(content: &str) -> BTreeMap<String, String> {
        NAMES.map(|name| (name.to_owned(), content.to_owned())).into()
    }

    fn scratch() -> (tempfile::TempDir, PathBuf) {
        let scratch = tempfile::tempdir().expect("a folder for the test");
        let folder = scratch.path().join("desk");
        (scratch, folder)
    }

    #[test]
    fn a_new_folder_and_an_old_one_hold_the_draft_and_nothing_lies_beside() {
        let (scratch, folder) = scratch();
        for content in ["first", "second", "third"] {
            write_all(&folder, &files(content), &[]).expect("written");
            assert_eq!(tree(&folder), drafted(content));
            assert_eq!(fs::read_dir(scratch.path()).expect("readable").count(), 1);
        }
        let deep = scratch.path().join("x/y/z");
        write_all(&deep, &files("deep"), &[]).expect("written");
        assert_eq!(tree(&deep), drafted("deep"));
    }

    #[test]
    fn what_others_put_there_stays() {
        let (_scratch, folder) = scratch();
        write_all(&folder, &files("first"), &[]).expect("written");
        fs::write(folder.join("aunt.txt"), "Dear aunt,").expect("written");
        fs::write(folder.join("inner/mine.obj"), "mine").expect("written");
        fs::remove_file(folder.join("b.pdf")).expect("there");
        write_all(&folder, &files("second"), &[]).expect("written");
        let mut wanted = drafted("second");
        wanted.insert("aunt.txt".into(), "Dear aunt,".into());
        wanted.insert("inner/mine.obj".into(), "mine".into());
        assert_eq!(tree(&folder), wanted);
    }

    #[test]
    fn what_an_older_draft_of_ours_held_and_this_one_does_not_goes() {
        for beside in [false, true] {
            let (scratch, folder) = scratch();
            write_all(&folder, &files("first"), &[]).expect("written");
            fs::write(folder.join("old.pdf"), "first").expect("written");
            let mut wanted = drafted("second");
            if beside {
                fs::write(folder.join("aunt.txt"), "Dear aunt,").expect("written");
                wanted.insert("aunt.txt".into(), "Dear aunt,".into());
            }
            write_all(&folder, &files("second"), &["old.pdf".into()]).expect("written");
            assert_eq!(tree(&folder), wanted);
            assert_eq!(fs::read_dir(scratch.path()).expect("readable").count(), 1);
        }
    }

    #[test]
    fn a_place_that_is_taken_changes_nothing() {
        for (name, is_dir) in [("b.pdf", true), ("inner/c.obj", true), ("inner", false)] {
            let (scratch, folder) = scratch();
            fs::create_dir_all(folder.join(if is_dir { name } else { "" })).expect("made");
            if !is_dir {
                fs::write(folder.join(name), "mine").expect("written");
            }
            fs::write(folder.join("a.pdf"), "first").expect("written");
            let before = tree(&folder);
            let error = write_all(&folder, &files("second"), &[]).expect_err("taken");
            assert!(format!("{error:#}").contains(name), "{error:#}");
            assert_eq!(tree(&folder), before);
            assert_eq!(fs::read_dir(scratch.path()).expect("readable").count(), 1);
        }
    }

    /// The third file fails when two are replaced already: a folder appears in its place.
    #[test]
    fn what_was_replaced_is_put_back() {
        let (_scratch, folder) = scratch();
        write_all(&folder, &files("first"), &[]).expect("written");
        fs::remove_file(folder.join("a.pdf")).expect("there");
        fs::remove_file(folder.join("inner/c.obj")).expect("there");
        fs::create_dir(folder.join("inner/c.obj")).expect("made");
        fs::write(folder.join("inner/c.obj/mine.txt"), "mine").expect("written");
        let before = tree(&folder);
        // Moving the folder away succeeds, so the stage is made to miss the file that follows.
        let stage = Stage::make(&folder, "desk".as_ref(), &NAMES).expect("made");
        stage.write(&files("second")).expect("written");
        fs::remove_file(stage.new_files().join("inner/c.obj")).expect("there");
        let (new, old) = (stage.new_files(), stage.old_files());
        replace_one(&new, &old, &folder, "a.pdf").expect("replaced");
        replace_one(&new, &old, &folder, "b.pdf").expect("replaced");
        replace_one(&new, &old, &folder, "inner/c.obj").expect_err("missing");
        for name in ["b.pdf", "a.pdf"] {
            stage::put_back(&old, &folder, name);
        }
        drop(stage);
        assert_eq!(tree(&folder), before);
    }

    /// Every state in which a program can be killed that replaces one by one.
    #[test]
    fn the_next_draft_puts_right_what_a_killed_one_left() {
        for moved in 0..=NAMES.len() {
            for half in [false, true] {
                let (scratch, folder) = scratch();
                write_all(&folder, &files("first"), &[]).expect("written");
                fs::remove_file(folder.join("b.pdf")).expect("there");
                fs::write(folder.join("aunt.txt"), "Dear aunt,").expect("written");
                let before = tree(&folder);
                let stage = Stage::make(&folder, "desk".as_ref(), &NAMES).expect("made");
                stage.write(&files("second")).expect("written");
                let (new, old) = (stage.new_files(), stage.old_files());
                for name in &NAMES[..moved] {
                    replace_one(&new, &old, &folder, name).expect("replaced");
                }
                if let (true, Some(name)) = (half, NAMES.get(moved)) {
                    fs::create_dir_all(old.join("inner")).expect("made");
                    let _ = fs::rename(folder.join(name), old.join(name));
                }
                stage::clean(scratch.path(), &folder, &NAMES, NAMES.len());
                assert!(tree(&folder).len() > 3, "a living program's folder is left alone");
                // Forgotten without its end, as by a killed program; only the lock goes.
                let path = new.parent().expect("within").to_owned();
                std::mem::forget(stage);
                let free = fs::File::create(path.join("free")).expect("made");
                fs::rename(path.join("free"), path.join("lock")).expect("renamed");
                drop(free);
                stage::clean(scratch.path(), &folder, &NAMES, NAMES.len());
                let mut wanted = before.clone();
                if moved == NAMES.len() {
                    wanted.extend(drafted("second"));
                }
                assert_eq!(tree(&folder), wanted, "{moved} {half}");
            }
        }
    }

    /// Where there is no exchange in one step, a program may be killed between the two.
    #[test]
    fn a_folder_set_aside_by_a_killed_program_comes_back() {
        let (scratch, folder) = scratch();
        write_all(&folder, &files("first"), &[]).expect("written");
        let beside = scratch.path().join(".desk.part-1");
        fs::create_dir_all(beside.join("new")).expect("made");
        fs::write(beside.join("lock"), "").expect("written");
        fs::rename(&folder, beside.join("old")).expect("renamed");
        stage::clean(scratch.path(), &folder, &NAMES, NAMES.len());
        assert_eq!(
            tree(scratch.path()),
            BTreeMap::from_iter(
                drafted("first").into_iter().map(|(name, text)| (format!("desk/{name}"), text))
            )
        );
    }
}
