//! The heel stiffener: the hidden piece round the back that holds the shape of a shoe.
//!
//! In the order of the work: `brief` (what is asked), `chart` (measuring on the wall),
//! `heights` and `limits` (what the edge may not pass), `edge` (the top edge, bent by
//! `batten`), `wall` (cut and laid flat), `margin`, `nicks` and `skive` (what is added to the
//! flat piece), `piece` (the drawing), `measure` and `verify` (what is said about it).

pub mod batten;
pub mod brief;
pub mod chart;
pub mod edge;
pub mod heights;
pub mod limits;
pub mod margin;
pub mod nicks;
pub mod skive;
pub mod wall;
