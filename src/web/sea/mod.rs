//! The sea on pages: its chart as a drawing and as a list, and the words for what it brings.

pub mod briefing;
pub mod chart;
mod drawing;
pub mod sheet;
pub mod words;
