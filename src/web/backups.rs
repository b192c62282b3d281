//! Backups while the box serves: when it starts and the last one is old, every hour, and when a
//! trip is closed. One that fails is a notice on every screen until one is made.

use std::collections::HashMap;
use std::path::PathBuf;
use std::time::Duration;

use jiff::{SignedDuration, Timestamp};
use serde::{Deserialize, Serialize};
use tokio::sync::broadcast;

use super::app::App;
use crate::store::copy::kept_in;
use crate::store::register::key;
use crate::store::{News, StoreError};
use crate::trip::TripId;
use crate::trip::event::Fact;
use crate::trip::watch::Priority;

/// The notice's name.
const ABOUT: &str = "backup";
/// A backup is made when the last one is older.
const EVERY: SignedDuration = SignedDuration::from_hours(1);
/// After one that failed the next try waits as long.
const AGAIN: SignedDuration = SignedDuration::from_mins(5);
/// How often the age of the last one is looked at.
const LOOK_EVERY: Duration = Duration::from_secs(30);

/// Where backups go, and how many stay.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    /// Folder, on another medium if there is one.
    pub to: PathBuf,
    /// How many stay there.
    pub keep: usize,
}

/// The last try, as the box remembers it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LastTry {
    /// When it was.
    pub at: Timestamp,
    /// Into which folder.
    pub to: PathBuf,
    /// Why there is no backup of it; none if there is one.
    pub fault: Option<String>,
}

/// Makes backups until the server stops.
pub async fn keep(app: App, plan: Plan) {
    let mut news = app.store().news();
    let mut seen = HashMap::new();
    let mut due = next_after_start(&app, &plan);
    loop {
        if app.clock().now() >= due {
            due = match make(&app, &plan).await {
                Ok(()) => after(app.clock().now(), EVERY),
                Err(()) => after(app.clock().now(), AGAIN),
            };
        }
        tokio::select! {
            () = app.closing().cancelled() => return,
            () = tokio::time::sleep(LOOK_EVERY) => {}
            told = news.recv() => match told {
                Ok(told) => if closes(&app, &mut seen, told).await {
                    due = app.clock().now();
                },
                Err(broadcast::error::RecvError::Lagged(_)) => {}
                Err(broadcast::error::RecvError::Closed) => return,
            },
        }
    }
}

fn after(now: Timestamp, time: SignedDuration) -> Timestamp {
    now.saturating_add(time).unwrap_or(Timestamp::MAX)
}

fn next_after_start(app: &App, plan: &Plan) -> Timestamp {
    let now = app.clock().now();
    match kept_in(&plan.to).map(|mut kept| kept.pop()) {
        // One from the future is of a clock that was wrong.
        Ok(Some(last)) if last.at <= now => after(last.at, EVERY),
        Ok(_) | Err(_) => now,
    }
}

/// Whether these entries close a trip.
async fn closes(app: &App, seen: &mut HashMap<TripId, u64>, told: News) -> bool {
    let before = seen.insert(told.trip, told.entry);
    let after = before.unwrap_or_else(|| told.entry.saturating_sub(1));
    match app.store().entries(told.trip, after).await {
        Ok(entries) => entries
            .iter()
            .any(|entry| matches!(entry.event.fact, Fact::TripClosed(_))),
        // The backup of the hour will find out what is wrong.
        Err(_) => false,
    }
}

async fn make(app: &App, plan: &Plan) -> Result<(), ()> {
    let made = app.store().back_up(&plan.to, plan.keep).await;
    let fault = match &made {
        Ok(made) => {
            let path = made.path.display();
            tracing::info!(%path, entries = made.proof.entries(), removed = made.removed.len(), "backup made and proven");
            (made.flaws > 0).then(|| format!("the log itself has {} flaws", made.flaws))
        }
        Err(error) => {
            tracing::error!(error = ?error, "no backup was made");
            Some(in_short(error))
        }
    };
    let now = app.clock().now();
    match &fault {
        None => app.notices().clear(ABOUT),
        Some(why) => {
            let args = [("why", why.clone())];
            app.notices().raise(ABOUT, Priority::Warning, &args, now);
        }
    }
    let last = LastTry {
        at: now,
        to: plan.to.clone(),
        fault,
    };
    if let Err(error) = app.store().set_setting(key::BACKUP, &last).await {
        tracing::warn!(%error, "the last backup could not be noted");
    }
    made.map(drop).map_err(drop)
}

/// With the cause where there is one: 'cannot name /media/stick: No space left on device'.
fn in_short(error: &StoreError) -> String {
    match std::error::Error::source(error) {
        Some(cause) => format!("{error}: {cause}"),
        None => error.to_string(),
    }
}
