//! Duties: what the box does by itself, four times a second, from memory alone. Deadlines pass and
//! are told; who watches is watched.
//!
//! One loop on the trip clock, no long timers: a machine that was suspended finds everything that
//! fell due when it wakes, and one that hangs feeds no watchdog.

mod machine;
mod sounder;
mod sounding;
mod wall;
mod watchers;

use std::collections::BTreeSet;
use std::sync::Arc;
use std::time::Duration;

use jiff::Timestamp;
use tokio::sync::broadcast::error::RecvError;

use super::app::App;
use super::live::Snapshot;
use crate::store::register::key;
use crate::trip::TripId;
use crate::trip::watch::Priority;
use machine::Awake;
use sounding::Sounding;
use wall::Wall;

pub use sounder::Trial;
pub(in crate::web) use wall::span;
pub use wall::{settle, tie_by};
pub use watchers::{BoxOff, Findings, find};

/// Pause before the list of trips is read again after that failed.
const TRY_AGAIN: Duration = Duration::from_secs(1);

/// Runs the duties until the server stops.
pub(super) async fn deadlines(app: App) {
    let mut held = Held::default();
    loop {
        tokio::select! {
            () = app.closing().cancelled() => return,
            () = app.clock().pause() => {}
        }
        turn(&app, &mut held).await;
        app.feed_watchdog();
    }
}

/// What the loop remembers from one turn to the next.
#[derive(Default)]
struct Held {
    sounding: Sounding,
    wall: Wall,
    awake: Awake,
    /// Trips whose pictures rest on a clock that has been tied since.
    anew: BTreeSet<TripId>,
}

/// One turn: nothing in it waits for the store.
async fn turn(app: &App, held: &mut Held) {
    let trips = app.live().watched_now().await;
    if app.on_duty() && held.wall.look(app, &trips) {
        held.anew.extend(trips.iter().map(|trip| trip.trip));
    }
    let now = app.clock().now();
    for trip in &trips {
        // Whoever makes it at this moment may have looked at the clock before it was tied.
        let anew = held.anew.contains(&trip.trip);
        if (anew || now >= trip.renew_at) && app.live().reckon(trip.trip).await {
            held.anew.remove(&trip.trip);
        }
    }
    if !app.on_duty() {
        return;
    }
    notice_watchers(app, &trips, now);
    sounder::notice(app, &trips, now);
    // Every alert is reckoned anew at this very instant, whatever the pictures say.
    let watched: Vec<_> = trips
        .iter()
        .filter(|trip| concerns(trip))
        .map(|trip| (trip.clone(), trip.watch(now)))
        .collect();
    sounder::tell(app, &mut held.sounding, &watched, now);
    app.turned(Turn::of(app, &watched, now));
    let out = !out(&trips).is_empty();
    if app.keeps_awake() {
        held.awake.hold(out);
        if held.awake.is_refused() && out {
            app.notices()
                .raise("may-sleep", Priority::Caution, &[], now);
        } else {
            app.notices().clear("may-sleep");
        }
    }
}

/// What holds after a turn of the loop: enough for a process that knows nothing else to sound in
/// time.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Turn {
    /// How many people are out.
    pub out: usize,
    /// Uptimes at which somebody is overdue, milliseconds, those to come.
    pub deadlines_ms: Vec<u64>,
}

impl Turn {
    fn of(app: &App, watched: &[sounder::Watched], now: Timestamp) -> Self {
        let up_ms = app.clock().uptime_ms();
        let rows = watched.iter().flat_map(|(_, watch)| &watch.rows);
        let mut deadlines_ms: Vec<u64> = rows
            .filter(|row| row.up < row.members.len())
            .flat_map(|row| [row.deadlines.map(|d| d.overdue), row.partner_until])
            .flatten()
            .filter(|at| *at > now)
            .filter_map(|at| u64::try_from(at.duration_since(now).as_millis()).ok())
            .map(|ms| up_ms.saturating_add(ms))
            .collect();
        deadlines_ms.sort_unstable();
        Self {
            out: watched.iter().map(|(_, watch)| watch.out).sum(),
            deadlines_ms,
        }
    }
}

/// Whether a trip can have an alert: a closed one has only while somebody is out.
fn concerns(trip: &Snapshot) -> bool {
    !trip.state.is_over()
}

/// Watches every open trip, also those that come to be, so that alarms come with nobody looking.
pub(super) async fn follow(app: App) {
    let mut news = app.store().news();
    match app
        .store()
        .setting::<Option<Trial>>(key::SOUNDER_TRIAL)
        .await
    {
        Ok(trial) => app.set_trial(trial.flatten()),
        Err(cause) => tracing::error!(%cause, "the last trial of the sounder could not be read"),
    }
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
        .filter(|trip| trip.state.anybody_out())
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
