//! The job: a folder with `job.toml`, the mesh of the last and the history of edits.
//!
//! Everything else is derived from these and can be thrown away.

mod atomic;
mod brief;
mod check;
mod command;
mod edit;
mod error;
mod folder;
mod history;
mod keys;
mod refused;
mod settings;
mod template;
mod upgrade;

pub use command::{Command, CommandError};
pub use error::SettingsError;
pub use folder::{JobFolder, mesh_name};
pub use keys::{ALONG, Holding, TOPLINE, keys};
pub use refused::{CreateError, EditError, OpenError, SaveError, StepError};
pub use settings::{
    Face, Job, Last, Marks, Range, Stiffener, Topline, ToplineHeight, Wearer, Wing,
};
pub use template::NewJob;

/// The schema of `job.toml` that this version writes, and the newest that it reads.
pub const SCHEMA: i64 = 1;
