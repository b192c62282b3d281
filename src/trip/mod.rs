//! The trip: the log of what happened, the state it folds to, and what follows from it for
//! the watch. Pure: no input, no output, no clock.

pub mod after;
pub mod carried;
pub mod decide;
pub mod dives;
pub mod event;
pub mod forecast;
pub mod gate;
pub mod go_hints;
pub mod ground;
mod id;
pub mod likely;
pub mod outlook;
pub mod pickup;
pub mod picture;
pub mod printed;
pub mod roll;
pub mod same;
pub mod season;
pub mod state;
pub mod suggest;
pub mod watch;
pub mod waters;
pub mod zones;

pub use id::{BoatId, CrewId, DeviceId, EventId, GroupId, PersonId, SiteId, TripId};
