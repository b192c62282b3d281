//! The sounder of the box: told what sounds, and told of when it does not.

use std::sync::Arc;

use jiff::{SignedDuration, Timestamp};
use serde::{Deserialize, Serialize};

use super::sounding::{Audible, Sounding};
use crate::sounder::{Order, Record, priority_name};
use crate::trip::event::Fact;
use crate::trip::state::Phase;
use crate::trip::watch::{Priority, Watch};
use crate::web::app::App;
use crate::web::live::Snapshot;
use crate::web::notices::sounds;
use crate::web::view;
use crate::words::Words;

/// A trial before departure counts for a trip that departs within this.
const TRIAL_COUNTS: SignedDuration = SignedDuration::from_hours(24);

/// A trial of the sounder that somebody heard.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Trial {
    /// When.
    pub at: Timestamp,
    /// Who heard it.
    pub by: String,
}

/// A trip with its watch at the present instant.
pub(super) type Watched = (Arc<Snapshot>, Watch);

/// Tells the sounder what is due.
pub(super) fn tell(app: &App, sounding: &mut Sounding, watched: &[Watched], now: Timestamp) {
    let notices = app.notices().all();
    let mut audible = Audible::new();
    for (trip, watch) in watched {
        for alert in watch.alerts.iter().filter(|alert| alert.is_audible()) {
            let cause = alert.cause.word();
            let priority = priority_name(alert.priority);
            let key = format!("{} {} {cause} {priority}", trip.trip, alert.key);
            audible.insert(key, alert.priority);
        }
    }
    for (about, notice) in &notices {
        if sounds(about) {
            audible.insert(format!("notice {about}"), notice.priority);
        }
    }
    let Some(word) = sounding.step(&audible, app.clock().uptime_ms(), app.speed()) else {
        return;
    };
    let worst = audible.values().min().copied();
    let order = Order {
        word,
        priority: worst.map(|priority| priority_name(priority).to_owned()),
        alerts: sentences(app, watched),
        at: now,
    };
    app.sounder().tell(&order);
}

fn sentences(app: &App, watched: &[Watched]) -> Vec<String> {
    let t = Words::english();
    let alerts = watched.iter().flat_map(|(trip, watch)| {
        let audible = watch.alerts.iter().filter(|alert| alert.is_audible());
        audible.map(move |alert| view::alert_title(&trip.state, alert, t))
    });
    let utc = jiff::tz::TimeZone::UTC;
    let notices = app.notices().all();
    let notices = notices
        .iter()
        .filter(|(about, _)| sounds(about))
        .map(|(about, notice)| notice.sentence(about, &utc, t));
    alerts.chain(notices).collect()
}

/// Says when there is no sounder, when it fails, and when nobody tried it.
pub(super) fn notice(app: &App, trips: &[Arc<Snapshot>], now: Timestamp) {
    let (sounder, notices) = (app.sounder(), app.notices());
    let out = trips.iter().any(|trip| trip.state.anybody_out());
    if !sounder.is_there() && out {
        notices.raise("sounder-none", Priority::Caution, &[], now);
    } else {
        notices.clear("sounder-none");
    }
    let failing = sounder.records().into_iter().find(Record::fails);
    match failing {
        None => notices.clear("sounder-fails"),
        Some(record) => {
            let (at, why) = record.failed.unwrap_or((now, String::new()));
            let args = [("name", record.name), ("why", why), ("at", at.to_string())];
            notices.raise("sounder-fails", Priority::Warning, &args, now);
        }
    }
    let trial = app.trial();
    let untried = sounder.is_there()
        && trips.iter().any(|trip| {
            let sails = is_of_today(trip, now);
            sails && !counts(trial.as_ref(), departed_at(trip).unwrap_or(now))
        });
    if untried {
        notices.raise("sounder-untried", Priority::Caution, &[], now);
    } else {
        notices.clear("sounder-untried");
    }
}

/// Whether a trip is under way or departs today.
fn is_of_today(trip: &Snapshot, now: Timestamp) -> bool {
    let state = &trip.state;
    let today = state
        .opened
        .as_ref()
        .is_some_and(|opened| opened.day == now.to_zoned_datetime(view::zone(state)).date());
    match state.phase {
        Phase::AtQuay => today,
        Phase::UnderWay | Phase::OnSite | Phase::Back => true,
        Phase::Closed => state.anybody_out(),
    }
}

fn departed_at(trip: &Snapshot) -> Option<Timestamp> {
    let departed = trip
        .entries
        .iter()
        .find(|entry| matches!(entry.event.fact, Fact::Departed(_)));
    departed.map(crate::trip::event::Entry::time)
}

fn counts(trial: Option<&Trial>, departs: Timestamp) -> bool {
    trial.is_some_and(|trial| departs.duration_since(trial.at) <= TRIAL_COUNTS)
}
