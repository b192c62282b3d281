//! Deckwatch: boat-side operations of a dive centre. It knows who is on the boat, who is in
//! the water, when and where each group should come up, who is late, and whom to fetch next.
//!
//! A room uses only rooms named before it here; `tests/house.rs` holds that.

pub mod clock;
pub mod sea;
pub mod store;
pub mod trip;
pub mod units;
