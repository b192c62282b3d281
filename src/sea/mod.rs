//! The sea: where things are, what must be kept clear of, and where water and wind carry them.

pub mod chart;
pub mod position;
