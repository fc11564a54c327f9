//! The commands, one a file.

pub(crate) mod flatten;
