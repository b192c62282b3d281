//! Web: the pages, the live stream and the programming interface, one folder for each place
//! of work.

pub mod assets;
pub mod frame;
pub mod marker;
pub mod parts;
pub mod rail;
#[cfg(test)]
mod sample;
