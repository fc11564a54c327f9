//! The heel stiffener: the hidden piece round the back that holds the shape of a shoe.

pub mod batten;
pub mod heights;
