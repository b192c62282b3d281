//! Duties: what the box does by itself, four times a second, from memory alone. Deadlines pass and
//! are told; who watches is watched.
//!
//! One loop on the trip clock, no long timers: a machine that was suspended finds everything that
//! fell due when it wakes, and one that hangs feeds no watchdog.

mod watchers;

use std::collections::BTreeSet;
use std::sync::Arc;
use std::time::Duration;

use jiff::Timestamp;
use tokio::sync::broadcast::error::RecvError;

use super::app::App;
use super::live::Snapshot;
use crate::trip::TripId;
use crate::trip::watch::Priority;

pub use watchers::{BoxOff, Findings, find};

/// Pause before the list of trips is read again after that failed.
const TRY_AGAIN: Duration = Duration::from_secs(1);

/// Makes the picture of every trip anew when an instant passes, until the server stops.
pub(super) async fn deadlines(app: App) {
    loop {
        tokio::select! {
            () = app.closing().cancelled() => return,
            () = app.clock().pause() => {}
        }
        let now = app.clock().now();
        for trip in app.live().watched_now().await {
            if now >= trip.renew_at {
                app.live().renew(trip.trip).await;
            }
        }
        if app.on_duty() {
            let trips = app.live().watched_now().await;
            notice_watchers(&app, &trips, now);
        }
    }
}

/// Watches every open trip, also those that come to be, so that alarms come with nobody looking.
pub(super) async fn follow(app: App) {
    let mut news = app.store().news();
    while let Err(cause) = app.live().watch_open().await {
        tracing::error!(%cause, "the open trips could not be read");
        tokio::time::sleep(TRY_AGAIN).await;
    }
    loop {
        let told = tokio::select! {
            () = app.closing().cancelled() => return,
            told = news.recv() => told,
        };
        let watched = match told {
            Ok(told) => app.live().snapshot(told.trip).await.map(drop),
            Err(RecvError::Lagged(_)) => app.live().watch_open().await,
            Err(RecvError::Closed) => return,
        };
        if let Err(cause) = watched {
            tracing::error!(%cause, "a trip could not be read");
        }
    }
}

/// Trips that are not closed and have people out.
fn out(trips: &[Arc<Snapshot>]) -> BTreeSet<TripId> {
    trips
        .iter()
        .filter(|trip| trip.state.not_accounted().next().is_some())
        .map(|trip| trip.trip)
        .collect()
}

/// Says whether anybody watches, which devices fell silent, and whose clocks are off.
fn notice_watchers(app: &App, trips: &[Arc<Snapshot>], now: Timestamp) {
    let found = find(
        &app.presence().watchers(),
        &out(trips),
        app.clock().uptime_ms(),
        app.started_ms(),
        app.speed(),
    );
    let notices = app.notices();
    if found.nobody {
        notices.raise("nobody-watching", Priority::Alarm, &[], now);
    } else {
        notices.clear("nobody-watching");
    }
    if found.silent.is_empty() {
        notices.clear("devices-silent");
    } else {
        let args = named(&found.silent);
        notices.raise("devices-silent", Priority::Caution, &args, now);
    }
    if found.hidden.is_empty() {
        notices.clear("devices-hidden");
    } else {
        let args = named(&found.hidden);
        notices.raise("devices-hidden", Priority::Caution, &args, now);
    }
    if found.off.is_empty() {
        notices.clear("device-clocks");
    } else {
        let args = named(&found.off);
        notices.raise("device-clocks", Priority::Caution, &args, now);
    }
    let priority = match found.box_off {
        BoxOff::No => return notices.clear("box-clock-off"),
        BoxOff::Some => Priority::Caution,
        BoxOff::Far => Priority::Warning,
    };
    let (ahead_ms, count) = found.median.unwrap_or_default();
    let args = [
        ("seconds", rounded(ahead_ms / 1_000.0)),
        ("devices", count.to_string()),
    ];
    notices.raise("box-clock-off", priority, &args, now);
}

fn named(names: &BTreeSet<String>) -> [(&'static str, String); 2] {
    let all: Vec<&str> = names.iter().map(String::as_str).collect();
    [
        ("names", all.join(", ")),
        ("count", names.len().to_string()),
    ]
}

/// Whole seconds, in steps of five above ten: a notice that changes with every report is no news.
fn rounded(seconds: f64) -> String {
    let step = if seconds.abs() < 10.0 { 1.0 } else { 5.0 };
    format!("{:.0}", (seconds.abs() / step).round() * step)
}
