//! Retention: how long the box keeps what it knows of people, what that deletes and when, and the
//! daily duty that does it. Nothing goes that was not listed before, and nobody on a trip that is
//! not over, or about which something is open, loses anything.

mod attended;
mod due;
mod duty;
mod rule;

pub use attended::{Attendance, Attended, Kept};
pub use due::{Ahead, Held, Known, ahead, is_open};
pub use duty::{keep, look_at_key, run};

pub use rule::{Confirmed, Rule};

use std::collections::BTreeMap;

use jiff::Timestamp;

use super::app::App;
use super::error::Error;
use crate::store::StoreError;
use crate::store::register::key;
use crate::trip::TripId;
use crate::trip::event::Fitness;

/// The rule of this centre; the defaults, if nobody made one.
///
/// # Errors
/// If the store fails, or what stands there is no rule.
pub async fn rule(app: &App) -> Result<Rule, StoreError> {
    Ok(app
        .store()
        .setting(key::RETENTION)
        .await?
        .unwrap_or_default())
}

/// What is kept of whom, until when, and what holds it.
#[derive(Debug)]
pub struct Outlook {
    /// The rule.
    pub rule: Rule,
    /// Entries of all logs when this was reckoned.
    pub entries: i64,
    /// Every person's things, the first to go first.
    pub ahead: Vec<Ahead>,
    /// Trips, the latest first.
    pub attendance: Attendance,
    /// Trips about which the desk said that nothing is open, each up to an entry.
    pub settled: BTreeMap<TripId, u64>,
}

/// Reckons all of it anew.
///
/// # Errors
/// If the store fails. A trip that cannot be read is no error: it holds everybody's.
pub async fn outlook(app: &App) -> Result<Outlook, Error> {
    let store = app.store();
    let entries = store.all_entries().await?;
    let rule = rule(app).await?;
    let settled = store.settled_incidents().await?;
    let attendance = app.attendance().all(store).await?;
    let attendance = attendance.told_as(&store.same().await?);
    let since = store.registered_since().await?;
    let contacts = store.contacts_since().await?;
    let people: Vec<Known> = store
        .people()
        .await?
        .into_iter()
        .map(|person| Known {
            since: since.get(&person.id).copied().unwrap_or(Timestamp::MAX),
            contact: contacts.get(&person.id).copied(),
            cleared: person.fitness == Fitness::Cleared,
            person: person.id,
            name: person.name,
        })
        .collect();
    Ok(Outlook {
        ahead: ahead(&rule, &people, &attendance, &settled),
        rule,
        entries,
        attendance,
        settled,
    })
}

#[cfg(test)]
mod tests;
