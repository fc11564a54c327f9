//! Writes drawings at full scale: paper, vector and cutting files. Knows no shoe.
//!
//! Every writer takes a [`geometry::drawing::Drawing`] in millimetres, y up, and gives bytes; the
//! same drawing gives the same bytes. A new format is one module here, and one line in the list of
//! formats in `tests/exactness.rs`.

mod line;
mod number;
mod text;
mod unwritable;

pub mod check_line;
pub mod dxf;
pub mod pdf;
pub mod sheet;
pub mod svg;

pub use text::extent::text_box;
pub use unwritable::Unwritable;
