//! The measures of a last: as data, as a table for people, and as a sheet with pictures.

mod data;
mod label;
mod picture;
mod rows;
mod sheet;
mod simpler;
mod table;
mod view;

pub(crate) use data::as_json;
pub(crate) use sheet::sheet;
pub(crate) use table::as_text;
