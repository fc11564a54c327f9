//! The last, its marks, the rules of the trade, and the parts that follow from them.

pub mod asked;
pub mod cautions;
pub mod draft;
pub mod foot;
pub mod job;
pub mod last;
pub mod range;
pub mod reasons;
pub mod report;
pub mod scale;
pub mod size;
pub mod stiffener;
pub mod survey;
mod toml_text;
