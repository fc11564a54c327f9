//! Flat outlines: closed or open curves that bound a piece.

pub mod arcs;
