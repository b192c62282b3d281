//! The sea: where things are, what must be kept clear of, where to meet a group, its daylight,
//! and where water and wind take them.

pub mod backdrop;
pub mod chart;
pub mod daylight;
pub mod drift;
pub mod position;
pub mod stream;
pub mod typed;
pub mod zones;
