//! The trip: the log of what happened, the state it folds to, and what follows from it for
//! the watch. Pure: no input, no output, no clock.

pub mod event;
mod id;

pub use id::{BoatId, CrewId, DeviceId, EventId, GroupId, PersonId, SiteId, TripId};
