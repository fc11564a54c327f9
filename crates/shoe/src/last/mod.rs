//! The last: the form a shoe is made on. Built from measures, or a scan stood on its heel
//! height with its marks found.

mod back;
pub mod build;
mod cut;
mod error;
pub mod feather;
mod fit;
mod foot;
mod given;
pub mod grade;
mod joints;
mod level;
pub mod marks;
pub mod measure;
pub mod mend;
mod mirror;
pub mod pair;
mod place;
mod pose;
mod profile;
mod ridge;
pub mod scan;
mod settle;
mod size;
mod spine;
mod spline;
pub mod stand;
pub mod taped;
pub(crate) mod tell;
mod top;
mod upper;
