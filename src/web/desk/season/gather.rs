//! Reads the logs of a season: one at a time, off the runtime's threads, and keeps of each the
//! figures alone, so that live trips are held up by nothing and memory stays bounded.

use jiff::civil::Date;
use tokio::sync::Semaphore;

use crate::store::read_entries;
use crate::trip::TripId;
use crate::trip::event::Entry;
use crate::trip::season::{TripFigures, read};
use crate::web::app::App;
use crate::web::error::Error;

/// Most trips that are read in one go.
pub(super) const MOST_TRIPS: usize = 500;

static TURN: Semaphore = Semaphore::const_new(1);

/// What was found.
pub(super) enum Gathered {
    /// The trips in figures.
    Trips(Vec<TripFigures>),
    /// More than [`MOST_TRIPS`]; nothing was read.
    TooMany(usize),
}

/// The trips whose day lies in these, both included. Drills are left out: they say how a drill is
/// written, not how people dive.
///
/// # Errors
/// If the store fails, or a log cannot be read.
pub(super) async fn gather(app: &App, from: Date, to: Date) -> Result<Gathered, Error> {
    let within = |day: Option<Date>| day.is_some_and(|day| (from..=to).contains(&day));
    let mut rows = app.store().trips().await?;
    rows.retain(|row| within(row.day) && !row.drill);
    if rows.len() > MOST_TRIPS {
        return Ok(Gathered::TooMany(rows.len()));
    }
    let now = app.clock().now();
    let mut trips = Vec::with_capacity(rows.len());
    for row in rows {
        let trip = row.trip;
        trips.extend(off_thread(app, trip, move |entries| read(trip, entries, now)).await?);
    }
    Ok(Gathered::Trips(trips))
}

/// Reads the log of a trip that nobody need watch, and makes something of it, off the runtime's
/// threads. One log is read at a time, however many ask: the other cores stay with the watch.
///
/// # Errors
/// If the store fails, or the log cannot be read.
pub(in crate::web::desk) async fn off_thread<T, F>(
    app: &App,
    trip: TripId,
    make: F,
) -> Result<T, Error>
where
    T: Send + 'static,
    F: FnOnce(&[Entry]) -> T + Send + 'static,
{
    let turn = TURN.acquire().await;
    let log = app.store().log(trip, 0).await?;
    let made = tokio::task::spawn_blocking(move || Ok::<_, Error>(make(&read_entries(trip, log)?)));
    let made = made
        .await
        .map_err(|_| Error::Internal("reading a trip's log failed"))?;
    drop(turn);
    made
}
