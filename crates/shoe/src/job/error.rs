//! What can be wrong with the text of `job.toml`.

use crate::size::SizeError;
use crate::size::fitting::FittingError;

/// Why a text is no settings. Every message names the file, the line and the mend.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SettingsError {
    /// The text does not follow the rules of TOML.
    #[error("{file}, line {line}: not readable as TOML: {message}")]
    NotToml {
        /// The file.
        file: String,
        /// The line, from 1.
        line: usize,
        /// What the parser met.
        message: String,
    },
    /// Written by a newer version.
    #[error(
        "{file}: written by a newer version (schema {found}, this one reads up to {known}); update Featherline"
    )]
    Newer {
        /// The file.
        file: String,
        /// The schema it states.
        found: i64,
        /// The newest known here.
        known: i64,
    },
    /// A key that must be there is not.
    #[error("{file}: \"{key}\" is missing; it holds {expected}")]
    Missing {
        /// The file.
        file: String,
        /// The path of the key.
        key: String,
        /// What it holds, in words.
        expected: String,
    },
    /// A key that is not known.
    #[error("{file}, line {line}: \"{key}\" is not known{}", nearest(.near))]
    UnknownKey {
        /// The file.
        file: String,
        /// The line, from 1.
        line: usize,
        /// The path of the key.
        key: String,
        /// A known key that looks like it.
        near: Option<String>,
    },
    /// A size that is none, or may be several.
    #[error("{file}, line {line}: \"{key}\": {cause}")]
    Size {
        /// The file.
        file: String,
        /// The line, from 1.
        line: usize,
        /// The path of the key.
        key: String,
        /// What is wrong with it.
        cause: SizeError,
    },
    /// A fitting that the size's system has not.
    #[error("{file}, line {line}: \"last.fitting\": {cause}")]
    Fitting {
        /// The file.
        file: String,
        /// The line, from 1.
        line: usize,
        /// What is wrong with it.
        cause: FittingError,
    },
    /// A key that holds something else than it may.
    #[error("{file}, line {line}: \"{key}\" is {found}; allowed is {expected}")]
    NotAllowed {
        /// The file.
        file: String,
        /// The line, from 1.
        line: usize,
        /// The path of the key.
        key: String,
        /// What it holds.
        found: String,
        /// What it may hold, in words.
        expected: String,
    },
}

pub(super) fn nearest(near: &Option<String>) -> String {
    match near {
        Some(key) => format!("; did you mean \"{key}\"?"),
        None => "; remove it or correct its spelling".to_owned(),
    }
}
