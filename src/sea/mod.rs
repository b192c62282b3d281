//! The sea: where things are, its daylight, and where water and wind take them.

pub mod daylight;
pub mod drift;
pub mod place;
pub mod position;
pub mod stream;
