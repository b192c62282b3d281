//! Deckwatch: boat-side operations of a dive centre. It knows who is on the boat, who is in
//! the water, when and where each group should come up, who is late, and whom to fetch next.
//!
//! Rooms from the ground up: `units` (quantities and refusals), `dive` (pressure, gas, profile,
//! window), `sea` (position, daylight, stream, drift), `trip` (the log and what follows from
//! it). A room uses only rooms named before it in this sentence; `tests/house.rs` holds that.

pub mod dive;
pub mod sea;
pub mod trip;
pub mod units;
pub mod words;

pub mod web;
