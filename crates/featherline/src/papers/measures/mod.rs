//! The measures of a last: as data and as a table for people.

mod data;
mod rows;
mod table;

pub(crate) use data::as_json;
pub(crate) use table::as_text;
