//! Surfaces, curves and drawings in millimetres: everything that knows shape but no shoe.
//!
//! Lengths are millimetres and angles degrees, unless a name says otherwise.

pub mod drawing;
pub mod mesh;
pub mod outline;
pub mod read;
pub mod section;
pub mod surface;
pub mod units;
pub mod warned;
