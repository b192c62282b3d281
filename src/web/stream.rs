//! The live stream of a trip as server-sent events: `picture` (the whole, or the merge patch of
//! what changed), `notices` (all that hold of the box itself, at first and when one changes), and
//! a named `beat` every three seconds, so that silence can be noticed.

use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

use axum::extract::State;
use axum::http::HeaderMap;
use axum::response::sse::{Event, Sse};
use axum::response::{IntoResponse, Response};
use futures_util::stream::{self, Stream, StreamExt};
use jiff::Timestamp;
use serde_json::json;
use tokio::sync::{broadcast, watch};
use tokio::time::{Interval, MissedTickBehavior, interval};

use super::app::App;
use super::error::Error;
use super::extract::{Crew, Path};
use super::live::{Change, Snapshot};
use crate::clock::Clock;
use crate::trip::TripId;
use crate::words::Words;

/// A beat every three seconds; a device calls the page stale at ten without one.
const BEAT: Duration = Duration::from_secs(3);

struct Listener {
    boot: String,
    clock: Clock,
    changes: broadcast::Receiver<Change>,
    notices: watch::Receiver<u64>,
    beat: Interval,
    entry: u64,
    revision: u64,
    app: App,
    crew: Crew,
    trip: TripId,
    /// Of the request: what follows is told when it has been answered long since.
    words: &'static Words,
}

/// Listens to a trip. A browser that reconnects says what it heard last and gets what it missed.
pub async fn listen(
    State(app): State<App>,
    crew: Crew,
    Path(trip): Path<TripId>,
    headers: HeaderMap,
) -> Result<Response, Error> {
    let boot = app.clock().boot_id().simple().to_string();
    let boot: String = boot.chars().take(8).collect();
    let last = headers
        .get("last-event-id")
        .and_then(|id| id.to_str().ok())
        .and_then(|id| id.split_once('-'))
        .filter(|(of, _)| *of == boot)
        .and_then(|(_, revision)| revision.parse().ok());
    let listening = app
        .live()
        .listen(trip, last)
        .await?
        .ok_or(Error::NoSuchTrip)?;
    let now = app.clock().now();
    let first: Vec<Event> = match listening.missed {
        Some(missed) => missed
            .iter()
            .map(|change| patched(&boot, change, now))
            .collect(),
        None => vec![whole(&boot, &listening.now, now)],
    };
    let mut notices = app.notices().changed();
    // What holds already is told at once.
    notices.mark_changed();
    let mut beat = interval(BEAT);
    beat.set_missed_tick_behavior(MissedTickBehavior::Delay);
    let closing = app.closing().clone();
    let listener = Listener {
        boot,
        clock: app.clock().clone(),
        changes: listening.changes,
        notices,
        beat,
        entry: listening.now.head.entry,
        revision: listening.now.revision,
        app,
        crew,
        trip,
        words: crate::web::language::words(),
    };
    let events = stream::iter(first)
        .chain(stream::unfold(listener, next))
        .map(Ok::<_, Infallible>)
        .take_until(closing.cancelled_owned());
    Ok(sse(events))
}

fn sse(events: impl Stream<Item = Result<Event, Infallible>> + Send + 'static) -> Response {
    Sse::new(events).into_response()
}

async fn next(mut listener: Listener) -> Option<(Event, Listener)> {
    loop {
        tokio::select! {
            told = listener.changes.recv() => match told {
                // Heard already: it came in while listening began.
                Ok(change) if change.revision <= listener.revision => {}
                Ok(change) => {
                    listener.entry = change.entry;
                    listener.revision = change.revision;
                    let event = patched(&listener.boot, &change, listener.clock.now());
                    return Some((event, listener));
                }
                Err(broadcast::error::RecvError::Lagged(_)) => {
                    let now = listener.app.live().snapshot(listener.trip).await.ok()??;
                    listener.entry = now.head.entry;
                    listener.revision = now.revision;
                    let event = whole(&listener.boot, &now, listener.clock.now());
                    return Some((event, listener));
                }
                Err(broadcast::error::RecvError::Closed) => return None,
            },
            Ok(()) = listener.notices.changed() => {
                let told = listener.app.notices().told(listener.words);
                let told = json!({"now": listener.clock.now(), "notices": told});
                return Some((Event::default().event("notices").data(told.to_string()), listener));
            }
            _ = listener.beat.tick() => {
                listener.app.hear(&listener.crew);
                let beat = json!({"now": listener.clock.now(), "entry": listener.entry});
                return Some((Event::default().event("beat").data(beat.to_string()), listener));
            }
        }
    }
}

fn whole(boot: &str, snapshot: &Arc<Snapshot>, now: Timestamp) -> Event {
    let data = json!({"now": now, "entry": snapshot.head.entry, "picture": snapshot.picture});
    Event::default()
        .event("picture")
        .id(format!("{boot}-{}", snapshot.revision))
        .data(data.to_string())
}

fn patched(boot: &str, change: &Change, now: Timestamp) -> Event {
    // The patch is JSON text already: it is set in as it is.
    let data = format!(
        r#"{{"now":"{now}","entry":{},"patch":{}}}"#,
        change.entry, change.patch
    );
    Event::default()
        .event("picture")
        .id(format!("{boot}-{}", change.revision))
        .data(data)
}
