//! The second copy: each crew device keeps the whole log of its trip, and a box that lost it, or
//! never had it, takes it in again.

use std::collections::BTreeMap;

use super::app::App;
use super::error::Error;
use super::extract::Crew;
use crate::store::{Bringer, Holds, Refilled};
use crate::trip::TripId;
use crate::trip::event::{DeviceId, EventId, read_lines};
use crate::trip::state::Phase;
use crate::trip::watch::Priority;

/// The notice that something was kept aside.
pub(super) const CLASH: &str = "log-clash";

/// What came of lines that were handed over.
pub(super) struct TakenIn {
    /// For each line: its number in the text, and the event.
    pub(super) lines: Vec<(usize, EventId)>,
    /// What became of each.
    pub(super) refilled: Refilled,
}

/// Takes in lines of a log of a trip, whoever made the events: set union.
///
/// Anybody on board may: a refill adds facts and takes none away, and people at sea must not stay
/// out of the fold until a skipper signs in. A closed trip is a record, so there it is the
/// skipper's. Nobody's word says that the events are genuine; who brought them stands beside them.
///
/// # Errors
/// Every fault of every line, before anything is written; [`Error::ClosedTrip`]; if the store
/// fails.
pub(super) async fn take_in(
    app: &App,
    crew: &Crew,
    trip: TripId,
    text: &[u8],
) -> Result<TakenIn, Error> {
    let held = app.live().snapshot(trip).await?;
    let closed = held.is_some_and(|held| held.state.phase == Phase::Closed);
    if closed && !crew.is(crate::trip::event::Role::Skipper) {
        return Err(Error::ClosedTrip);
    }
    let read = read_lines(trip, text)?;
    let lines = read.iter().map(|line| (line.number, line.event.id));
    let lines = lines.collect();
    let by = Bringer {
        crew: crew.0.crew,
        name: crew.0.name.clone(),
        device: crew.0.device,
    };
    let refilled = app.store().refill(trip, read, by).await?;
    let (new, repeats, clashes) = refilled.counts();
    tracing::info!(
        trip.id = %trip, crew = %crew.0.crew, device = %crew.0.device, new, repeats, clashes,
        earlier = refilled.earlier, "log taken in from a device's copy"
    );
    if refilled.earlier > 0 {
        app.live().anew(trip).await?;
    }
    if clashes > 0 {
        warn_of_clashes(app, trip).await?;
    }
    Ok(TakenIn { lines, refilled })
}

/// What was kept aside counts nowhere until a person has settled it: that is said.
async fn warn_of_clashes(app: &App, trip: TripId) -> Result<(), Error> {
    let row = app.store().trip(trip).await?;
    let boat = row.and_then(|row| row.boat).unwrap_or_default();
    let count = app.store().clashes(trip).await?.len().to_string();
    let args = [("boat", boat), ("count", count)];
    let now = app.clock().now();
    app.notices()
        .raise("log-clash", Priority::Warning, &args, now);
    Ok(())
}

/// What this box holds of a trip, and what it only heard of: numbers that an author of another
/// device knew.
pub(super) async fn holds(app: &App, trip: TripId) -> Result<Holds, Error> {
    let snapshot = app.live().snapshot(trip).await?.ok_or(Error::NoSuchTrip)?;
    let mut holds = app.store().holds(trip).await?;
    let mut known: BTreeMap<DeviceId, u64> = BTreeMap::new();
    for entry in &snapshot.entries {
        for (device, seq) in &entry.event.knows.0 {
            let most = known.entry(*device).or_default();
            *most = (*most).max(*seq);
        }
    }
    for (device, most) in known {
        let numbers = holds.devices.entry(device).or_default();
        if most > numbers.highest {
            numbers.missing.push((numbers.highest + 1, most));
            numbers.highest = most;
        }
    }
    Ok(holds)
}
