//! The alerts of a whole trip: when each began, who acknowledged it after how long, when it ended.
//! The log is read again as the box came to know it, and the watch asked at each entry and each
//! instant in between at which the time alone changes it.

use jiff::{SignedDuration, Timestamp};

use super::alert::{Acknowledged, Alert, AlertState, Cause, Priority, alerts};
use super::next_change;
use crate::trip::event::{Entry, Fact, GroupId, PositionSource, TripId};
use crate::trip::state::{State, fold};

/// An alert from its beginning to its end, at one cause.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Episode {
    /// The situation.
    pub key: String,
    /// What was wrong, as it was told last.
    pub cause: Cause,
    /// How much it mattered.
    pub priority: Priority,
    /// Since when it held.
    pub since: Timestamp,
    /// Who acknowledged it, and when.
    pub acknowledged: Option<Acknowledged>,
    /// When it no longer held; none: it holds still.
    pub until: Option<Timestamp>,
    /// It gave way to a graver cause of the same situation, or to a lesser one that was left.
    pub went_over: bool,
    /// The group it was about.
    pub group: Option<GroupId>,
}

impl Episode {
    /// How long nobody had acknowledged it; none if nobody did.
    #[must_use]
    pub fn answered_after(&self) -> Option<SignedDuration> {
        let seen = self.acknowledged.as_ref()?;
        Some(seen.at.duration_since(self.since).max(SignedDuration::ZERO))
    }

    /// Whether it was over before anybody acknowledged it.
    #[must_use]
    pub fn ended_unseen(&self) -> bool {
        let seen = self.acknowledged.as_ref().map(|seen| seen.at);
        !self.went_over
            && self
                .until
                .is_some_and(|until| seen.is_none_or(|seen| seen > until))
    }

    /// Whether it asked for more than awareness: those count in the figures of a trip.
    #[must_use]
    pub fn asks_for_an_act(&self) -> bool {
        self.priority < Priority::Caution
    }

    fn is(&self, alert: &Alert) -> bool {
        self.key == alert.key && kind(&self.cause) == kind(&alert.cause)
    }
}

/// A cause without the names in it, which fall away as people come up.
fn kind(cause: &Cause) -> String {
    let word = cause.word();
    word.split(' ').next().unwrap_or_default().to_owned()
}

/// Every alert of the trip up to `now`, in the order in which they began.
///
/// `log`: in any order. Costs a fold for each instant at which something was received; of the
/// boat's own track, which raises no alert, none.
#[must_use]
pub fn history(trip: TripId, log: &[Entry], now: Timestamp) -> Vec<Episode> {
    let mut received: Vec<&Entry> = log
        .iter()
        .filter(|entry| !is_track(entry) && entry.receipt.recorded_at <= now)
        .collect();
    received.sort_by_key(|entry| (entry.receipt.recorded_at, entry.receipt.entry));
    let mut history = Vec::new();
    let mut known: Vec<Entry> = Vec::with_capacity(received.len());
    let mut rest = received.into_iter().peekable();
    while let Some(entry) = rest.next() {
        let at = entry.receipt.recorded_at;
        known.push(entry.clone());
        if rest
            .peek()
            .is_some_and(|next| next.receipt.recorded_at == at)
        {
            continue;
        }
        let state = fold(trip, &known);
        let until = rest.peek().map_or(now, |next| next.receipt.recorded_at);
        let mut at = at;
        loop {
            let found = alerts(&state, at);
            look(&mut history, &state, &found, at);
            match next_change(&state, &found, at) {
                Some(next) if next < until || (next == until && rest.peek().is_none()) => at = next,
                Some(_) | None => break,
            }
        }
    }
    history.sort_by_key(|episode| episode.since);
    history
}

fn is_track(entry: &Entry) -> bool {
    matches!(&entry.event.fact, Fact::BoatPositioned(boat) if boat.source == PositionSource::Instruments)
}

/// Takes what the watch says at an instant into what was known of its alerts.
fn look(history: &mut Vec<Episode>, state: &State, found: &[Alert], at: Timestamp) {
    for alert in found {
        let is_over = alert.state == AlertState::ResolvedUnacknowledged;
        let known = history
            .iter_mut()
            .rfind(|episode| episode.is(alert) && (episode.until.is_none() || is_over));
        match known {
            Some(episode) => {
                episode.cause = alert.cause.clone();
                episode.since = episode.since.min(alert.since);
                episode.acknowledged = episode.acknowledged.take().or(alert.acknowledged.clone());
                if is_over {
                    episode.until = episode.until.or(alert.until);
                }
            }
            None => history.push(Episode {
                key: alert.key.clone(),
                cause: alert.cause.clone(),
                priority: alert.priority,
                since: alert.since,
                acknowledged: alert.acknowledged.clone(),
                until: alert.until,
                went_over: false,
                group: alert.group,
            }),
        }
    }
    for episode in history.iter_mut() {
        if found.iter().any(|alert| episode.is(alert)) {
            continue;
        }
        if episode.acknowledged.is_none() {
            // Acknowledged at the moment it ended, or after it.
            episode.acknowledged = state
                .acknowledged
                .iter()
                .find(|heard| {
                    let word = heard.cause.split(' ').next().unwrap_or_default();
                    heard.alert == episode.key
                        && word == kind(&episode.cause)
                        && heard.at >= episode.since
                })
                .map(|heard| Acknowledged {
                    by: heard.by.clone(),
                    at: heard.at,
                });
        }
        if episode.until.is_none() {
            episode.until = Some(at);
            episode.went_over = found.iter().any(|alert| alert.key == episode.key);
        }
    }
}
