//! Letters: their codes, their widths and the room a text takes.

pub(crate) mod extent;
pub(crate) mod helvetica;
pub(crate) mod transliterate;
pub(crate) mod winansi;
