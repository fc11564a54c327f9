//! The last: the form a shoe is made on. Built from measures, or a scan stood on its heel
//! height with its marks found.

mod back;
pub mod build;
mod error;
pub mod feather;
mod fit;
mod foot;
mod given;
mod joints;
mod level;
pub mod marks;
mod pose;
mod profile;
pub mod scan;
mod settle;
mod size;
mod spine;
pub mod stand;
pub(crate) mod tell;
