//! The fold carried on: what is appended to a log whose state is known, without folding all of it
//! anew. Of a track only the last position counts, and a boat that is worked hard logs little else;
//! so the places it has left are not read again. Whatever is not plain is folded whole, and what
//! comes out is what [`fold`] makes of the whole log: its properties hold the two together.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::trip_facts::place_of;
use super::{SignOff, State, fold, mends, signs};
use crate::trip::TripId;
use crate::trip::event::{Entry, EventId, Fact, Knows};

/// The entries that a state is folded of: its log but for places that the boat has left.
#[derive(Debug, Clone)]
pub struct RestsOn(Arc<Vec<Entry>>);

impl RestsOn {
    /// How many there are.
    #[must_use]
    pub fn count(&self) -> usize {
        self.0.len()
    }
}

/// Folds a whole log.
#[must_use]
pub fn fold_whole(trip: TripId, log: &[Entry]) -> (State, RestsOn) {
    let mut by_id: BTreeMap<EventId, usize> = BTreeMap::new();
    for entry in log {
        *by_id.entry(entry.event.id).or_default() += 1;
    }
    let mended: BTreeSet<EventId> = log.iter().filter_map(|e| mends(&e.event)).collect();
    let rests_on = log
        .iter()
        .filter(|entry| {
            let id = entry.event.id;
            !is_track(entry)
                || mends(&entry.event).is_some()
                || mended.contains(&id)
                || by_id.get(&id).is_some_and(|times| *times > 1)
        })
        .cloned()
        .collect();
    (fold(trip, log), RestsOn(Arc::new(rests_on)))
}

/// The state of a log that was appended to: what [`fold`] makes of it.
///
/// `folded`: how many of its entries the state before was folded of.
#[must_use]
pub fn fold_on(
    (state, rests_on): (&State, &RestsOn),
    log: &[Entry],
    folded: usize,
) -> (State, RestsOn) {
    log.split_at_checked(folded)
        .and_then(|(held, new)| carried(state, rests_on, held, new))
        .unwrap_or_else(|| fold_whole(state.trip, log))
}

/// None if it is not plain.
fn carried(
    state: &State,
    rests_on: &RestsOn,
    held: &[Entry],
    new: &[Entry],
) -> Option<(State, RestsOn)> {
    // A signature is of the whole log.
    if state.sign_off != SignOff::default() || new.iter().any(|entry| signs(&entry.event)) {
        return None;
    }
    stand_alone(state, held, new)?;
    let head = heads(state, new)?;
    let mut boat = state.boat.clone();
    let (track, rest): (Vec<&Entry>, Vec<&Entry>) = new.iter().partition(|one| is_track(one));
    for entry in track {
        let at = entry.time();
        match &boat {
            // Which of the two counts is for the fold to say.
            Some(held) if held.at == at => return None,
            Some(held) if held.at > at => {}
            Some(_) | None => boat = place_of(entry),
        }
    }
    let is_position = |entry: &&Entry| matches!(entry.event.fact, Fact::BoatPositioned(_));
    if rest.iter().any(is_position) {
        return None;
    }
    let (folded, rests_on) = if rest.is_empty() {
        (state.clone(), rests_on.clone())
    } else {
        let all: Vec<Entry> = rests_on.0.iter().chain(rest).cloned().collect();
        (fold(state.trip, &all), RestsOn(Arc::new(all)))
    };
    let recorded = new.iter().map(|entry| entry.receipt.recorded_at).max();
    let state = State {
        boat,
        head,
        gaps: state.gaps.clone(),
        events: state.events + new.len(),
        last_recorded: state.last_recorded.max(recorded),
        ..folded
    };
    Some((state, rests_on))
}

/// Whether an entry says where the boat was and nothing else.
fn is_track(entry: &Entry) -> bool {
    let about = &entry.event.about;
    matches!(entry.event.fact, Fact::BoatPositioned(_))
        && about.persons.is_empty()
        && about.group.is_none()
}

/// Each is of this trip and new, takes nothing back, and nothing takes it back.
fn stand_alone(state: &State, held: &[Entry], new: &[Entry]) -> Option<()> {
    let ids: BTreeSet<EventId> = new.iter().map(|entry| entry.event.id).collect();
    let plain = |entry: &Entry| entry.event.trip == state.trip && mends(&entry.event).is_none();
    if ids.len() < new.len() || !new.iter().all(plain) {
        return None;
    }
    let concerned = |entry: &Entry| {
        ids.contains(&entry.event.id) || mends(&entry.event).is_some_and(|of| ids.contains(&of))
    };
    (!held.iter().any(concerned)).then_some(())
}

/// The head after them: each is the next of its device, and knows of nothing that is not here.
fn heads(state: &State, new: &[Entry]) -> Option<Knows> {
    let mut head = state.head.clone();
    for entry in new {
        let event = &entry.event;
        let last = head.0.entry(event.device).or_default();
        if event.device_seq != *last + 1 || state.gaps.contains_key(&event.device) {
            return None;
        }
        *last = event.device_seq;
        let is_here = |(device, seq): (&_, &u64)| *seq == 0 || head.covers(*device, *seq);
        if !event.knows.0.iter().all(is_here) {
            return None;
        }
    }
    Some(head)
}
