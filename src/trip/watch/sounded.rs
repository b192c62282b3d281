//! What has sounded on a trip, told afterwards from its whole log and one fold of it: quick enough
//! for a season of trips. The exact history costs a fold for every entry.

use jiff::Timestamp;

use super::alert::{Acknowledged, Cause, Raised, beacon_key, cause_of_call, raised};
use super::history::Episode;
use crate::trip::event::Entry;
use crate::trip::roll::{Call, Count, Outcome};
use crate::trip::state::{Beacon, Group, Heard, State, fold};

/// An alert as it was.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    /// From its beginning to its end.
    pub episode: Episode,
    /// It is told by what the log said then alone: a word that came late says that it need not
    /// have sounded.
    pub by_late_word: bool,
}

impl From<Episode> for Told {
    fn from(episode: Episode) -> Self {
        Self {
            episode,
            by_late_word: false,
        }
    }
}

/// Every alert that made a sound up to `now`, oldest first; of the causes late, overdue and out of
/// gas of a group, the gravest that was reached. Silent cautions are left out.
///
/// The log says how things were, not what it said at the time. Where a surfacing became known
/// only after a deadline, as of before it, the alert did sound: `entries` as they were then are
/// folded for those deadlines alone.
#[must_use]
pub fn sounded(state: &State, entries: &[Entry], now: Timestamp) -> Vec<Told> {
    let mut told: Vec<Told> = raised(state, now)
        .iter()
        .map(|raised| as_told(state, raised))
        .collect();
    told.extend(state.calls.iter().filter_map(|call| recount(state, call)));
    told.extend(state.beacons.iter().filter_map(beacon));
    let late: Vec<Told> = state
        .groups
        .values()
        .filter_map(|group| known_late(state, group, entries, &told))
        .collect();
    told.extend(late);
    told.retain(|one| one.episode.asks_for_an_act());
    told.sort_by_cached_key(|one| {
        let one = &one.episode;
        (one.since, one.key.clone(), one.cause.word())
    });
    told.dedup_by(|a, b| {
        let (a, b) = (&a.episode, &b.episode);
        a.key == b.key && a.cause == b.cause && a.since == b.since
    });
    told
}

fn as_told(state: &State, raised: &Raised) -> Told {
    let heard = state
        .acknowledged
        .iter()
        .filter(|ack| raised.was_heard(ack));
    let episode = Episode {
        key: raised.key.clone(),
        cause: raised.cause.clone(),
        priority: raised.cause.priority(),
        since: raised.since,
        acknowledged: first(heard),
        until: raised.until,
        went_over: false,
        group: raised.group,
    };
    episode.into()
}

fn first<'a>(heard: impl Iterator<Item = &'a Heard>) -> Option<Acknowledged> {
    let heard = heard.min_by_key(|ack| ack.at)?;
    Some(Acknowledged {
        by: heard.by.clone(),
        at: heard.at,
    })
}

/// A count that differed: the watch forgets it once the recount agrees, or the boat went on.
fn recount(state: &State, call: &Call) -> Option<Told> {
    let [heads, recount] = &call.rounds;
    let last = |counts: &[Count]| counts.iter().map(|count| count.at).max();
    let (cause, since, until) = match call.outcome() {
        Outcome::Open { .. } => return None,
        Outcome::Agreed { .. } => (
            Outcome::Open { round: 2 },
            last(heads)?,
            Some(last(recount)?),
        ),
        Outcome::Failed => (Outcome::Failed, last(recount)?, None),
    };
    let cause = cause_of_call(cause, call.point)?;
    let (key, word) = (call.alert_key(), cause.word());
    let heard = state.acknowledged.iter();
    let heard = heard.filter(|ack| ack.alert == key && ack.cause == word && ack.at >= since);
    let episode = Episode {
        acknowledged: first(heard),
        key,
        priority: cause.priority(),
        cause,
        since,
        until,
        went_over: false,
        group: None,
    };
    Some(episode.into())
}

/// A beacon that the skipper dismissed: to dismiss it is to have seen it.
fn beacon((identity, beacon): (&String, &Beacon)) -> Option<Told> {
    let dismissed = beacon.dismissed.as_ref().filter(|_| beacon.is_active)?;
    let cause = Cause::Beacon {
        identity: identity.clone(),
        sort: beacon.sort,
        test: false,
    };
    let episode = Episode {
        key: beacon_key(identity),
        priority: cause.priority(),
        cause,
        since: beacon.since,
        acknowledged: Some(Acknowledged {
            by: dismissed.by.clone(),
            at: dismissed.at,
        }),
        until: Some(dismissed.at),
        went_over: false,
        group: None,
    };
    Some(episode.into())
}

/// What sounded at a deadline of a group only because the word that ends it came after it.
/// `told`: what sounded by the whole log.
fn known_late(state: &State, group: &Group, entries: &[Entry], told: &[Told]) -> Option<Told> {
    let deadlines = super::deadlines(state, group)?;
    let (members, key) = (group.members(), super::group_key(group.id));
    let came_after = |at: Timestamp| {
        entries
            .iter()
            .filter(|e| e.time() < at && e.receipt.recorded_at > at)
            .filter(|e| e.event.about.persons.iter().any(|id| members.contains(id)))
            .map(|e| e.receipt.recorded_at)
            .max()
    };
    let was_reached = |at: Timestamp| {
        let deadlines = ["late", "overdue", "out-of-gas"];
        let mut of_group = told
            .iter()
            .map(|one| &one.episode)
            .filter(|one| one.key == key && one.since >= at);
        of_group.any(|one| deadlines.contains(&one.cause.word().as_str()))
    };
    // The gravest that sounded is the one that counts, as for what holds by the whole log.
    [deadlines.endurance, deadlines.overdue, deadlines.latest]
        .into_iter()
        .filter(|at| !was_reached(*at))
        .find_map(|at| {
            let known = came_after(at)?;
            let then = entries.iter().filter(|e| e.receipt.recorded_at <= at);
            let then = fold(state.trip, &then.cloned().collect::<Vec<_>>());
            let sounded = raised(&then, at)
                .into_iter()
                .find(|one| one.key == key && one.since == at && one.until.is_none())?;
            let mut told = as_told(state, &sounded);
            told.episode.until = Some(known);
            told.by_late_word = true;
            Some(told)
        })
}
