//! The clock in doubt: how it is tied at a start, and what follows when the wall clock is set. The
//! trip clock runs on the uptime; it is tied anew only when nobody is out, or by somebody.

use std::sync::Arc;

use jiff::{SignedDuration, Timestamp};

use crate::store::clock::{ClockEvent, ClockNote, ClockSource};
use crate::store::{Store, StoreError};
use crate::trip::CrewId;
use crate::trip::event::DeviceId;
use crate::trip::state::Phase;
use crate::trip::watch::Priority;
use crate::web::app::App;
use crate::web::live::Snapshot;

/// The wall may wander so far from the trip clock before that is a step.
const STEP: SignedDuration = SignedDuration::from_secs(1);
/// A step is shown for so long, and longer while it is not settled.
const SHOWN: SignedDuration = SignedDuration::from_mins(10);
/// No box that runs this program can have an earlier wall clock: one that does was never set.
const BUILT: &str = "2026-01-01T00:00:00Z";

/// What the wall clock was seen to do.
#[derive(Debug, Default)]
pub(super) struct Wall {
    /// How far it is ahead of the trip clock, as last seen.
    lead: Option<SignedDuration>,
    /// When it was set last.
    stepped_at: Option<Timestamp>,
    /// The last anchor seen: when it moves, every picture is made anew.
    anchored: Option<crate::clock::Anchor>,
}

fn is_plausible(wall: Timestamp) -> bool {
    BUILT
        .parse::<Timestamp>()
        .is_ok_and(|earliest| wall >= earliest)
}

/// When the last entry of any open trip was received, and whether anybody is out in one.
async fn open_logs(app: &App) -> Result<(Option<Timestamp>, bool), StoreError> {
    let (mut last, mut out) = (None, false);
    for row in app.store().trips().await? {
        if row.closed {
            continue;
        }
        if let Some(trip) = app.live().snapshot(row.trip).await? {
            last = last.max(trip.received_at);
            out |= trip.state.anybody_out();
        }
    }
    Ok((last, out))
}

/// Ties the clock when the program starts. Within a boot it goes on as if the program had not
/// stopped. After another boot the wall clock is all there is: if it is behind what was received
/// already, or if people are out and nobody knows how long the box was off, it is not confirmed.
///
/// # Errors
/// If the store fails.
pub async fn settle(app: &App) -> Result<(), StoreError> {
    let clock = app.clock();
    let (wall, uptime_ms) = (clock.wall(), clock.uptime_ms());
    let before = app.store().clock_note_of(clock.boot_id()).await?;
    let (last, out) = open_logs(app).await?;
    let (at, source, confirmed) = match before {
        Some(note) if note.uptime_ms <= uptime_ms => {
            let run = i64::try_from(uptime_ms - note.uptime_ms).unwrap_or(i64::MAX);
            let run = SignedDuration::from_millis(run);
            let at = note.at.saturating_add(run).unwrap_or(Timestamp::MAX);
            (at, ClockSource::SameBoot, note.confirmed)
        }
        Some(_) | None => match last {
            Some(last) if wall < last => (last, ClockSource::LastEntry, false),
            Some(_) | None => (wall, ClockSource::Wall, !out && is_plausible(wall)),
        },
    };
    clock.tie(at, confirmed);
    // The pictures were made to see who is out, by a clock that was not tied yet.
    for trip in app.live().watched_now().await {
        app.live().reckon(trip.trip).await;
    }
    if !confirmed {
        tracing::warn!(at = %at, wall = %wall, "the clock is not confirmed: lateness is not judged as fine until somebody confirms the time");
    }
    let note = note_of(app, ClockEvent::Start, source);
    app.store().note_clock(&note).await
}

/// A note of the clock as it stands.
fn note_of(app: &App, event: ClockEvent, source: ClockSource) -> ClockNote {
    let clock = app.clock();
    ClockNote {
        event,
        at: clock.now(),
        wall: clock.wall(),
        boot: clock.boot_id(),
        uptime_ms: clock.uptime_ms(),
        source,
        uncertainty_ms: None,
        confirmed: clock.is_confirmed(),
        who: None,
        device: None,
    }
}

/// Somebody ties the clock: what it shows from now on, what that rests on, and who answers for it.
///
/// # Errors
/// If the store fails; the clock is tied all the same.
pub async fn tie_by(
    app: &App,
    at: Timestamp,
    source: ClockSource,
    uncertainty_ms: Option<u64>,
    who: (CrewId, String),
    device: DeviceId,
) -> Result<(), StoreError> {
    app.clock().tie(at, true);
    tracing::info!(at = %at, by = who.1, ?source, "the time was confirmed");
    let note = ClockNote {
        uncertainty_ms,
        who: Some(who),
        device: Some(device),
        ..note_of(app, ClockEvent::Tie, source)
    };
    app.store().note_clock(&note).await
}

fn keep(store: &Store, note: ClockNote) {
    let store = store.clone();
    // The loop waits for no medium.
    tokio::spawn(async move {
        if let Err(cause) = store.note_clock(&note).await {
            tracing::error!(%cause, "a note of the clock could not be kept");
        }
    });
}

impl Wall {
    /// Compares the wall with the trip clock. Returns whether the trip clock was tied anew, so
    /// that every picture is to be made again.
    pub(super) fn look(&mut self, app: &App, trips: &[Arc<Snapshot>]) -> bool {
        let clock = app.clock();
        let lead = clock.wall().duration_since(clock.now());
        let was = self.lead.replace(lead).unwrap_or_default();
        let step = lead.saturating_sub(was);
        if step.abs() > STEP && self.anchored == Some(clock.anchor()) {
            self.stepped(app, step);
        } else if self.anchored.is_none() && clock.is_confirmed() && lead.abs() > STEP {
            // Set while the program did not run.
            self.stepped(app, lead);
        }
        let out = trips.iter().any(|trip| trip.state.anybody_out());
        let last = trips
            .iter()
            .filter(|trip| trip.state.phase != Phase::Closed)
            .filter_map(|trip| trip.received_at)
            .max();
        self.adopt(app, out, last);
        self.notice(app, trips);
        let anchor = clock.anchor();
        self.anchored.replace(anchor) != Some(anchor)
    }

    fn stepped(&mut self, app: &App, by: SignedDuration) {
        let clock = app.clock();
        let (at, wall) = (clock.now(), clock.wall());
        tracing::warn!(by_s = by.as_secs_f64(), at = %at, wall = %wall, "the wall clock was set; no deadline moved");
        self.stepped_at = Some(at);
        keep(
            app.store(),
            note_of(app, ClockEvent::Step, ClockSource::Wall),
        );
        let args = [("by", span(by)), ("at", at.to_string())];
        // Another step is another notice, with a beginning of its own.
        app.notices().clear("clock-set");
        app.notices()
            .raise("clock-set", Priority::Caution, &args, at);
    }

    /// With nobody out there is no deadline that could move: then the wall is taken for right,
    /// unless it says that entries came in which are still to come.
    fn adopt(&mut self, app: &App, out: bool, last: Option<Timestamp>) {
        let clock = app.clock();
        let (wall, apart) = (clock.wall(), self.lead.unwrap_or_default());
        let differs = apart.abs() > STEP || !clock.is_confirmed();
        let behind = last.is_some_and(|last| wall < last);
        if out || !differs || behind || !is_plausible(wall) {
            return;
        }
        clock.tie(wall, true);
        self.lead = Some(SignedDuration::ZERO);
        tracing::info!(
            by_s = apart.as_secs_f64(),
            "with nobody out the box takes its wall clock for right"
        );
        keep(
            app.store(),
            note_of(app, ClockEvent::Tie, ClockSource::Wall),
        );
    }

    fn notice(&self, app: &App, trips: &[Arc<Snapshot>]) {
        let (clock, notices) = (app.clock(), app.notices());
        let now = clock.now();
        let settled = self.lead.unwrap_or_default().abs() <= STEP;
        let old = self
            .stepped_at
            .is_none_or(|at| now.duration_since(at).abs() > SHOWN);
        if settled && old {
            notices.clear("clock-set");
        }
        if clock.is_confirmed() {
            notices.clear("clock-unconfirmed");
            notices.clear("check-groups");
            return;
        }
        let running = running(trips);
        if running.is_empty() {
            notices.clear("check-groups");
            notices.raise("clock-unconfirmed", Priority::Warning, &[], now);
        } else {
            notices.clear("clock-unconfirmed");
            let args = [("groups", running.join(", "))];
            notices.raise("check-groups", Priority::Alarm, &args, now);
        }
    }
}

/// Letters of the groups with people out; a dash for people out in no group.
fn running(trips: &[Arc<Snapshot>]) -> Vec<String> {
    let mut letters: Vec<String> = Vec::new();
    for trip in trips {
        let state = &trip.state;
        letters.extend(state.groups_out().map(|group| group.formed.letter.clone()));
        if letters.is_empty() && state.anybody_out() {
            letters.push("–".to_owned());
        }
    }
    letters.sort();
    letters.dedup();
    letters
}

/// `+2 h`, `−35 min`, `+12 s`: by how much a clock was set, in symbols of the SI.
pub(in crate::web) fn span(by: SignedDuration) -> String {
    let sign = if by.is_negative() { '−' } else { '+' };
    let seconds = by.abs().as_secs();
    match seconds {
        0..120 => format!("{sign}{seconds} s"),
        120..7_200 => format!("{sign}{} min", (seconds + 30) / 60),
        7_200..172_800 => format!("{sign}{} h", (seconds + 1_800) / 3_600),
        _ => format!("{sign}{} d", (seconds + 43_200) / 86_400),
    }
}
