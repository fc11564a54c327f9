//! Flattens a surface with the least strain, and says how much is left. Knows no shoe.
//!
//! A surface that is a disk (one piece, one boundary, no handle) is laid in the plane without
//! flipping a triangle, so that the symmetric Dirichlet energy of the map is least: stretching
//! and shrinking by the same factor cost the same, and collapsing a triangle costs without
//! bound. The way there: `disk` refuses what cannot be laid flat, `start` finds a first
//! layout, `newton` descends on `dirichlet` and the `held` lines (the `objective`), with a `patch`
//! settled by itself where a layout is only looked at, `stages` goes on from there with the
//! `sheet` of a `material`, and `strain` and `overlap` judge the result. `follow` moves the inside of a piece after its edge.
//!
//! Everything runs on one thread and gives the same bytes for the same input.

mod apart;
mod bending;
pub mod cuts;
mod dirichlet;
mod disk;
mod energy;
mod flattening;
mod follow;
mod held;
mod layout;
mod material;
mod neighbours;
mod newton;
mod numbering;
mod objective;
mod order;
mod overlap;
mod patch;
mod push;
mod secant;
mod sheet;
mod stages;
mod start;
mod strain;
mod system;

#[cfg(test)]
#[path = "../tests/surfaces/mod.rs"]
mod surfaces;

pub use disk::DiskError;
pub use flattening::{FlattenError, Flattening, Options};
pub use follow::Follower;
pub use held::{HeldLength, HeldLine, Hold};
pub use layout::{Flattener, flatten};
pub use material::{Material, MaterialError};
pub use strain::Strain;
