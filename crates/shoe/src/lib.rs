//! The last, its marks, the rules of the trade, and the parts that follow from them.

pub mod job;
pub mod size;
