//! Why the folder of a job was not made, opened, edited or saved.

use std::io;
use std::path::PathBuf;

use super::error::SettingsError;

/// Why a job was not made. Nothing is left behind.
#[derive(Debug, thiserror::Error)]
pub enum CreateError {
    /// The place is taken.
    #[error("{}: is already there and not empty; choose another folder", folder.display())]
    Exists {
        /// The folder asked for.
        folder: PathBuf,
    },
    /// The mesh cannot be read.
    #[error("{}: the scan of the last cannot be read ({cause})", file.display())]
    Mesh {
        /// The mesh.
        file: PathBuf,
        /// What the system said.
        cause: io::Error,
    },
    /// The folder cannot be written.
    #[error("{}: the job cannot be written ({cause}); check that the disk is there, has room and lets you write", folder.display())]
    Write {
        /// The folder asked for.
        folder: PathBuf,
        /// What the system said.
        cause: io::Error,
    },
    /// The settings asked for are not allowed.
    #[error(transparent)]
    Settings(#[from] SettingsError),
}

/// Why a job could not be opened.
#[derive(Debug, thiserror::Error)]
pub enum OpenError {
    /// There is nothing by that name.
    #[error("{}: there is no such job folder; `featherline new` makes one", folder.display())]
    NoFolder {
        /// The folder asked for.
        folder: PathBuf,
    },
    /// The folder holds no settings.
    #[error("{}: holds no job.toml, so it is no job", folder.display())]
    NoSettings {
        /// The folder asked for.
        folder: PathBuf,
    },
    /// The settings cannot be read.
    #[error("{}: cannot be read ({cause})", file.display())]
    Read {
        /// The file.
        file: PathBuf,
        /// What the system said.
        cause: io::Error,
    },
    /// The mesh is not there.
    #[error("{}: \"last.file\" names \"{mesh}\", which is not in this folder; put it back or correct the name", file.display())]
    MeshMissing {
        /// The settings.
        file: PathBuf,
        /// The mesh that they name.
        mesh: String,
    },
    /// The settings are not allowed.
    #[error(transparent)]
    Settings(#[from] SettingsError),
}

/// Why an edit was refused. The job is as it was.
#[derive(Debug, thiserror::Error)]
pub enum EditError {
    /// The value is outside its range, or does not fit the others.
    #[error(transparent)]
    Settings(#[from] SettingsError),
    /// The mesh is not there.
    #[error("{}: \"{mesh}\" is not in this folder; copy it there first", folder.display())]
    MeshMissing {
        /// The folder of the job.
        folder: PathBuf,
        /// The mesh asked for.
        mesh: String,
    },
}

/// Why an undo or a redo was refused. The job is as it was.
#[derive(Debug, thiserror::Error)]
pub enum StepError {
    /// The same key was changed by hand since.
    #[error("{}: \"{key}\" was changed outside Featherline since; going back would lose that change", file.display())]
    ChangedSince {
        /// The settings.
        file: PathBuf,
        /// The key.
        key: String,
    },
    /// The old value is no longer allowed beside the others.
    #[error(transparent)]
    Edit(#[from] EditError),
}

/// Why a job was not saved. What is on disk is as it was.
#[derive(Debug, thiserror::Error)]
pub enum SaveError {
    /// Another program or person wrote the file since it was read.
    #[error("{}: was changed by another program since it was opened; open the job again and repeat the edit", file.display())]
    Changed {
        /// The settings.
        file: PathBuf,
    },
    /// The folder cannot be written.
    #[error("{}: cannot be saved ({cause}); check that the disk is there, has room and lets you write", file.display())]
    Write {
        /// The file.
        file: PathBuf,
        /// What the system said.
        cause: io::Error,
    },
}
