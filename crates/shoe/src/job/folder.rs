//! The folder of a job on disk: made, opened, edited and saved without ever being half there.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use geometry::warned::{Warned, Warning};

use super::atomic::{self, Lock};
use super::check;
use super::command::Command;
use super::history::{Entry, History};
use super::refused::{CreateError, EditError, OpenError, SaveError, StepError};
use super::settings::Job;
use super::template::{self, NewJob};

const SETTINGS: &str = "job.toml";
const HISTORY: &str = "history.jsonl";

/// An open job: its settings, its history, and what they were on disk.
#[derive(Debug)]
pub struct JobFolder {
    folder: PathBuf,
    job: Job,
    text: String,
    on_disk: String,
    history: History,
}

impl JobFolder {
    /// Makes a job: a new folder (or an empty one) with a copy of `mesh`. It is built beside
    /// and renamed, so it is there as a whole or not at all.
    ///
    /// # Errors
    /// When the folder holds something, the mesh cannot be read, or the disk cannot be written.
    pub fn create(folder: &Path, mesh: &Path, new: &NewJob) -> Result<JobFolder, CreateError> {
        free(folder)?;
        let content =
            fs::read(mesh).map_err(|cause| CreateError::Mesh { file: mesh.to_owned(), cause })?;
        Self::create_with(folder, &mesh_name(mesh), &content, new)
    }

    /// Makes a job as [`JobFolder::create`] does, with the bytes of a mesh as the file `mesh_name`.
    ///
    /// # Errors
    /// When the folder holds something or the disk cannot be written.
    pub fn create_with(
        folder: &Path,
        mesh_name: &str,
        content: &[u8],
        new: &NewJob,
    ) -> Result<JobFolder, CreateError> {
        free(folder)?;
        Self::put(folder, mesh_name, content, template::text(new, mesh_name))
    }

    /// Writes a new folder, known to be free, with these settings.
    fn put(
        folder: &Path,
        mesh_name: &str,
        content: &[u8],
        text: String,
    ) -> Result<JobFolder, CreateError> {
        let write = |cause| CreateError::Write { folder: folder.to_owned(), cause };
        let job = Job::from_toml(&text, &folder.join(SETTINGS).display().to_string())?;

        let name = folder.file_name().ok_or_else(|| write(io::ErrorKind::InvalidInput.into()))?;
        let parent = match folder.parent() {
            Some(parent) if !parent.as_os_str().is_empty() => parent,
            _ => Path::new("."),
        };
        let beside = parent.join(format!(".{}.new-{}", name.to_string_lossy(), std::process::id()));
        let built = build(&beside, &[(mesh_name, content), (SETTINGS, text.as_bytes())])
            .and_then(|()| if folder.is_dir() { fs::remove_dir(folder) } else { Ok(()) })
            .and_then(|()| fs::rename(&beside, folder));
        if let Err(cause) = built {
            // The first error is the one to tell; a leftover does no harm.
            let _ = fs::remove_dir_all(&beside);
            return Err(write(cause));
        }
        atomic::sync_folder(parent).map_err(write)?;
        Ok(JobFolder {
            folder: folder.to_owned(),
            job,
            on_disk: text.clone(),
            text,
            history: History::default(),
        })
    }

    /// Opens a job. A history that cannot be read is a warning, never an error.
    ///
    /// # Errors
    /// When the folder, its settings or its mesh are missing, or the settings are not allowed.
    pub fn open(folder: &Path) -> Result<Warned<JobFolder>, OpenError> {
        if !folder.is_dir() {
            return Err(OpenError::NoFolder { folder: folder.to_owned() });
        }
        let file = folder.join(SETTINGS);
        let on_disk = fs::read_to_string(&file).map_err(|cause| match cause.kind() {
            io::ErrorKind::NotFound => OpenError::NoSettings { folder: folder.to_owned() },
            _ => OpenError::Read { file: file.clone(), cause },
        })?;
        let (job, text) = check::read(&on_disk, &file.display().to_string())?;
        if !folder.join(&job.last.file).is_file() {
            return Err(OpenError::MeshMissing { file, mesh: job.last.file });
        }
        let mut warnings = Vec::new();
        let history_file = folder.join(HISTORY);
        let mut history = match fs::read_to_string(&history_file) {
            Ok(text) => History::read(&text),
            Err(cause) if cause.kind() == io::ErrorKind::NotFound => Some(History::default()),
            Err(_) => None,
        }
        .unwrap_or_else(|| {
            warnings.push(Warning {
                place: history_file.display().to_string(),
                message: "the history of edits cannot be read, so earlier edits cannot be undone"
                    .to_owned(),
                hint: "the job itself is whole; a new history begins with the next edit".to_owned(),
            });
            History::default()
        });
        history.settle(&on_disk);
        let value = JobFolder { folder: folder.to_owned(), job, text, on_disk, history };
        Ok(Warned { value, warnings })
    }

    /// The settings.
    pub fn job(&self) -> &Job {
        &self.job
    }

    /// The text of `job.toml` as the next save writes it.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// What a key holds, as JSON; null when it is absent or not known.
    pub fn value_of(&self, key: &str) -> serde_json::Value {
        super::edit::get(&self.text, key).unwrap_or_default()
    }

    /// The folder.
    pub fn path(&self) -> &Path {
        &self.folder
    }

    /// The file of the settings.
    pub fn settings_path(&self) -> PathBuf {
        self.folder.join(SETTINGS)
    }

    /// The file of the mesh.
    pub fn mesh_path(&self) -> PathBuf {
        self.folder.join(&self.job.last.file)
    }

    /// Does an edit, in memory. Returns whether it changed anything.
    ///
    /// # Errors
    /// When the value is outside its range or does not fit the others; nothing is changed.
    pub fn apply(&mut self, command: &Command) -> Result<bool, EditError> {
        let was = command.as_in(&self.text);
        if was.as_ref() == Some(command) {
            return Ok(false);
        }
        let (text, job) = self.edited(command)?;
        let entry = Entry::new(command.clone(), was, &self.text, &text);
        self.history.push(entry);
        (self.text, self.job) = (text, job);
        Ok(true)
    }

    /// The job as it would be after an edit, which is not done.
    ///
    /// # Errors
    /// As for [`JobFolder::apply`].
    pub fn tried(&self, command: &Command) -> Result<Job, EditError> {
        self.edited(command).map(|(_, job)| job)
    }

    /// Does several edits that belong together, in memory: all or none, and undone together.
    /// Returns whether they changed anything.
    ///
    /// # Errors
    /// As for [`JobFolder::apply`].
    pub fn apply_together(&mut self, commands: &[Command]) -> Result<bool, EditError> {
        let before = (self.text.clone(), self.job.clone(), self.history.clone());
        let mut changed = false;
        for command in commands {
            match self.apply(command) {
                Ok(false) => {}
                Ok(true) if changed => self.history.join_last(),
                Ok(true) => changed = true,
                Err(error) => {
                    (self.text, self.job, self.history) = before;
                    return Err(error);
                }
            }
        }
        Ok(changed)
    }

    /// The edit that an undo would take back; of several that belong together the first.
    pub fn to_undo(&self) -> Option<&Command> {
        self.history.undone_next().map(|entry| &entry.command)
    }

    /// The edit that a redo would bring back.
    pub fn to_redo(&self) -> Option<&Command> {
        self.history.first_undone().map(|entry| &entry.command)
    }

    /// Takes back the last edit, and those that belong to it, in memory; returns it, or `None` when
    /// there is none. `job.toml` is again as it was before, byte for byte, unless it was edited by
    /// hand since: then only the keys of the edit get their old values back.
    ///
    /// # Errors
    /// When the same key was changed by hand since; nothing is changed.
    pub fn undo(&mut self) -> Result<Option<Command>, StepError> {
        let before = (self.text.clone(), self.job.clone(), self.history.clone());
        let mut undone = None;
        while let Some(entry) = self.history.last_done().cloned() {
            let exact = entry.undone(&self.text);
            if let Err(error) = self.step(exact, &entry.command, entry.was.as_ref()) {
                (self.text, self.job, self.history) = before;
                return Err(error);
            }
            self.history.step_back();
            let whole = !entry.is_joined();
            undone = Some(entry.command);
            if whole {
                break;
            }
        }
        Ok(undone)
    }

    /// Does the last undone edit again, and those that belong to it, in memory; returns it, or
    /// `None` when there is none.
    ///
    /// # Errors
    /// As for [`JobFolder::undo`].
    pub fn redo(&mut self) -> Result<Option<Command>, StepError> {
        let before = (self.text.clone(), self.job.clone(), self.history.clone());
        let mut first = None;
        while let Some(entry) = self.history.first_undone().cloned() {
            if first.is_some() && !entry.is_joined() {
                break;
            }
            let exact = entry.redone(&self.text);
            let present = entry.was.clone().unwrap_or_else(|| entry.command.clone());
            if let Err(error) = self.step(exact, &present, Some(&entry.command)) {
                (self.text, self.job, self.history) = before;
                return Err(error);
            }
            self.history.step_forward();
            first.get_or_insert(entry.command);
        }
        Ok(first)
    }

    fn step(
        &mut self,
        exact: Option<String>,
        present: &Command,
        wanted: Option<&Command>,
    ) -> Result<(), StepError> {
        let file = self.settings_path();
        if let Some(text) = exact {
            let job =
                Job::from_toml(&text, &file.display().to_string()).map_err(EditError::Settings)?;
            (self.text, self.job) = (text, job);
            return Ok(());
        }
        let unchanged = present.as_in(&self.text).as_ref() == Some(present);
        let Some(wanted) = wanted.filter(|_| unchanged) else {
            return Err(StepError::ChangedSince { file, key: present.key() });
        };
        (self.text, self.job) = self.edited(wanted)?;
        Ok(())
    }

    fn edited(&self, command: &Command) -> Result<(String, Job), EditError> {
        let file = self.settings_path().display().to_string();
        let (text, job) = command.applied_to(&self.text, &file)?;
        if !self.folder.join(&job.last.file).is_file() {
            return Err(EditError::MeshMissing {
                folder: self.folder.clone(),
                mesh: job.last.file,
            });
        }
        Ok((text, job))
    }

    /// Whether `job.toml` is still as it was read or saved last.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn is_as_saved(&self) -> io::Result<bool> {
        Ok(fs::read(self.settings_path())? == self.on_disk.as_bytes())
    }

    /// Makes another job of this one, under another name: settings and mesh, without the history.
    ///
    /// # Errors
    /// As for [`JobFolder::create`].
    pub fn copy_to(&self, folder: &Path, name: &str) -> Result<JobFolder, CreateError> {
        free(folder)?;
        let mesh = self.mesh_path();
        let content = fs::read(&mesh).map_err(|cause| CreateError::Mesh { file: mesh, cause })?;
        let file = folder.join(SETTINGS).display().to_string();
        let (text, _) = Command::Name(name.to_owned()).applied_to(&self.text, &file)?;
        Self::put(folder, &self.job.last.file, &content, text)
    }

    /// Saves the job and its history. A crash at any moment leaves the job as it was before
    /// or as it is now.
    ///
    /// # Errors
    /// When another program changed `job.toml` since it was read, or the disk cannot be
    /// written; what is on disk is as it was.
    pub fn save(&mut self) -> Result<(), SaveError> {
        let file = self.settings_path();
        let write = |cause| SaveError::Write { file: file.clone(), cause };
        let _lock = Lock::of(&self.folder).map_err(write)?;
        if fs::read(&file).map_err(write)? != self.on_disk.as_bytes() {
            return Err(SaveError::Changed { file });
        }
        // First the history: `settle` can step it back, but could not invent a missing entry.
        let history = self.history.write();
        let both = [(HISTORY, history.as_bytes()), (SETTINGS, self.text.as_bytes())];
        let changed = if self.text == self.on_disk { &both[..1] } else { &both[..] };
        atomic::replace(&self.folder, changed).map_err(write)?;
        self.on_disk.clone_from(&self.text);
        Ok(())
    }
}

/// Refuses a folder that holds something.
fn free(folder: &Path) -> Result<(), CreateError> {
    let occupied = match fs::read_dir(folder) {
        Ok(mut entries) => entries.next().is_some(),
        Err(_) => fs::symlink_metadata(folder).is_ok(),
    };
    if occupied { Err(CreateError::Exists { folder: folder.to_owned() }) } else { Ok(()) }
}

/// The name of the mesh within a job: always `last`, with the ending of `mesh` that tells its format.
pub fn mesh_name(mesh: &Path) -> String {
    match mesh.extension().and_then(|e| e.to_str()) {
        Some(ending) if ending.chars().all(|c| c.is_ascii_alphanumeric()) => {
            format!("last.{}", ending.to_lowercase())
        }
        _ => "last".to_owned(),
    }
}

fn build(folder: &Path, files: &[(&str, &[u8])]) -> io::Result<()> {
    fs::create_dir(folder)?;
    for (name, content) in files {
        atomic::write_flushed(&folder.join(name), content)?;
    }
    atomic::sync_folder(folder)
}
