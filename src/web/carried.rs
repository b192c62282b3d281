//! Dives of other trips of this box, looked up in their logs for a trip that is planned or about
//! to drop.

use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};

use super::app::App;
use super::error::Error;
use super::live::Snapshot;
use super::view;
use crate::trip::carried::{Carried, Reach};
use crate::trip::state::State;

/// Midnight at which a trip's day begins where it sails; `now` for a trip that says no day.
#[must_use]
pub fn day_begins(state: &State, zone: &TimeZone, now: Timestamp) -> Timestamp {
    state
        .opened
        .as_ref()
        .and_then(|opened| opened.day.to_zoned_datetime(zone.clone()).ok())
        .map_or(now, |midnight| midnight.timestamp())
}

/// What the logs of the other trips of that day and the day before say about the people of this
/// one. A drill carries from drills alone, and nothing of a drill is carried into a trip.
///
/// # Errors
/// If the store fails.
pub async fn carried(app: &App, trip: &Snapshot, now: Timestamp) -> Result<Carried, Error> {
    let mut carried = Carried::default();
    let same = app.store().same().await?;
    let Some(opened) = &trip.state.opened else {
        return Ok(carried);
    };
    let zone = view::zone(&trip.state);
    let reach = Reach::of(day_begins(&trip.state, &zone, now), now);
    // A boat that lies elsewhere, or is out over midnight, may write another day.
    let near = SignedDuration::from_hours(48);
    let is_near = |day: jiff::civil::Date| opened.day.duration_since(day).abs() <= near;
    for row in app.store().trips().await? {
        let is_other = row.trip != trip.trip && row.drill == opened.drill;
        if !is_other || !row.day.is_none_or(is_near) {
            continue;
        }
        if let Some(other) = app.live().snapshot(row.trip).await? {
            carried.take_in(&other.state, &trip.state, reach, &zone, &same);
        }
    }
    Ok(carried)
}
