//! The last: standing a scan on its heel height and finding its marks.

mod back;
pub mod feather;
mod foot;
mod joints;
mod level;
pub mod marks;
mod pose;
mod profile;
mod settle;
mod size;
mod spine;
pub mod stand;
mod tell;
