//! The last: the form a shoe is made on.

pub mod build;
