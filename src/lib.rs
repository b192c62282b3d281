//! Deckwatch: boat-side operations of a dive centre. It knows who is on the boat, who is in
//! the water, when and where each group should come up, who is late, and whom to fetch next.
//!
//! A room uses only rooms below it here, `units` being the ground; `tests/house.rs` holds that.

pub mod cli;

pub mod web;

pub mod certificate;
pub mod instruments;

pub mod sounder;
pub mod store;

pub mod clock;

pub mod trip;

pub mod dive;
pub mod sea;

pub mod words;

pub mod units;
