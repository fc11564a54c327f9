//! The heel stiffener: the hidden piece round the back that holds the shape of a shoe.

pub mod batten;
pub mod brief;
pub mod chart;
pub mod edge;
pub mod heights;
pub mod limits;
