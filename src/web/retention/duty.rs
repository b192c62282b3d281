//! The daily duty: deletes what was listed long enough, then lists what comes next. Beside that it
//! tells when the key file does not open what is sealed.

use std::time::Duration;

use jiff::{SignedDuration, Timestamp};

use super::{Ahead, outlook};
use crate::store::StoreError;
use crate::store::register::{Item, key};
use crate::trip::event::PersonId;
use crate::trip::watch::Priority;
use crate::web::app::App;
use crate::web::error::Error;

/// The notice's name.
const ABOUT: &str = "contacts-key";
/// How often it is looked whether a day has passed.
const LOOK_EVERY: Duration = Duration::from_mins(1);
/// Between two runs.
const EVERY: SignedDuration = SignedDuration::from_hours(24);
/// What ends within this time stands on the list.
const AHEAD: SignedDuration = SignedDuration::from_hours(24 * 30);

/// Does the duty until the server stops.
pub async fn keep(app: App) {
    loop {
        look_at_key(&app).await;
        tokio::select! {
            () = app.closing().cancelled() => return,
            () = tokio::time::sleep(LOOK_EVERY) => {}
        }
        if let Err(error) = run_if_due(&app).await {
            tracing::error!(error = ?error, "retention was not looked after; tried again");
        }
    }
}

/// Raises or clears the notice about the key file.
pub async fn look_at_key(app: &App) {
    match app.store().can_open_contacts().await {
        Ok(()) => app.notices().clear(ABOUT),
        Err(StoreError::Sealed(error)) => {
            let args = [("state", error.word().to_owned())];
            let now = app.clock().now();
            app.notices().raise(ABOUT, Priority::Caution, &args, now);
        }
        // Whatever else is wrong with the store has a notice of its own.
        Err(error) => tracing::warn!(error = ?error, "the key file could not be looked at"),
    }
}

async fn run_if_due(app: &App) -> Result<(), Error> {
    let now = app.clock().now();
    let last: Option<Timestamp> = app.store().setting(key::RETENTION_RUN).await?;
    // A run in the future is of a clock that was wrong.
    let is_due = last.is_none_or(|last| last > now || now.duration_since(last) >= EVERY);
    if is_due {
        run(app).await?;
    }
    Ok(())
}

/// One run. With a clock that nobody confirmed nothing is deleted and nothing listed: what it
/// calls a week may be an hour.
///
/// # Errors
/// If the store fails; what was deleted until then is in the audit.
pub async fn run(app: &App) -> Result<(), Error> {
    if !app.clock().is_confirmed() {
        tracing::warn!("the clock is not confirmed: nothing is deleted");
        return Ok(());
    }
    let store = app.store();
    let now = app.clock().now();
    let found = outlook(app).await?;
    let listed = store.listed().await?;
    let notice = SignedDuration::from_hours(24 * i64::from(found.rule.notice_days));
    let was_listed = |one: &Ahead| {
        listed.iter().any(|held| {
            (held.person, held.item) == (one.person, one.item)
                && held.due_at <= now
                && held
                    .listed_at
                    .saturating_add(notice)
                    .unwrap_or(Timestamp::MAX)
                    <= now
        })
    };
    for item in Item::ALL {
        let due: Vec<PersonId> = found
            .ahead
            .iter()
            .filter(|one| one.item == item && one.held.is_none() && one.due_at <= now)
            .filter(|one| found.rule.deletes(item) && was_listed(one))
            .map(|one| one.person)
            .collect();
        if due.is_empty() {
            continue;
        }
        let rule = format!(
            "{} days after the last trip, rule '{}'",
            found.rule.days(item),
            found.rule.named
        );
        if store
            .delete_listed(item, &due, &rule, found.entries)
            .await?
            .is_none()
        {
            // Somebody logged something meanwhile: everything is looked at anew in a minute.
            return Ok(());
        }
    }
    let found = outlook(app).await?;
    let soon = now.saturating_add(AHEAD).unwrap_or(Timestamp::MAX);
    let next: Vec<_> = found
        .ahead
        .iter()
        .filter(|one| one.held.is_none() && one.due_at <= soon)
        .map(|one| (one.person, one.item, one.due_at))
        .collect();
    store.list(&next).await?;
    store.set_setting(key::RETENTION_RUN, &now).await?;
    Ok(())
}
