//! The sea: where things are and where water and wind take them.

pub mod position;
