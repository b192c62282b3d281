//! Which statements stand: those that nobody who knew them has replaced.

use std::collections::{BTreeMap, BTreeSet};

use crate::trip::event::{Entry, Event, EventId, Fact, Role};

/// The entries that count, in one order whatever order they arrived in: by reckoned time,
/// then device and number. Voided and corrected events are left out.
pub(super) fn effective(entries: &[Entry]) -> Vec<&Entry> {
    let by_id: BTreeMap<EventId, &Event> = entries
        .iter()
        .map(|entry| (entry.event.id, &entry.event))
        .collect();
    let mended: BTreeSet<EventId> = entries
        .iter()
        .filter_map(|entry| {
            let target = mends(&entry.event)?;
            let of = by_id.get(&target)?;
            may_mend(&entry.event, of).then_some(target)
        })
        .collect();
    let mut standing: Vec<&Entry> = entries
        .iter()
        .filter(|entry| !mended.contains(&entry.event.id))
        .collect();
    standing.sort_by_key(|entry| (entry.time(), entry.event.device, entry.event.device_seq));
    standing
}

/// The event that this one voids or corrects.
pub(crate) fn mends(event: &Event) -> Option<EventId> {
    match &event.fact {
        Fact::Voided(voided) => Some(voided.of),
        _ => event.corrects,
    }
}

/// Whether the mending counts. A void is never voided itself: say the thing anew instead.
/// What says danger is taken back by the skipper alone; anybody may take back a safe word.
pub(crate) fn may_mend(mending: &Event, of: &Event) -> bool {
    if mending.id == of.id || matches!(of.fact, Fact::Voided(_)) {
        return false;
    }
    !says_danger(of) || mending.by.role == Role::Skipper || is_own_slip(mending, of)
}

/// A tap taken back by its own device within a minute is a slip, whatever it said.
fn is_own_slip(mending: &Event, of: &Event) -> bool {
    const SLIP_S: i64 = 60;
    mending.device == of.device && mending.at.duration_since(of.at).as_secs().abs() <= SLIP_S
}

/// Whether the event states that somebody is in danger.
pub(crate) fn says_danger(event: &Event) -> bool {
    use crate::trip::event::Signal;
    match &event.fact {
        Fact::AtSurface(seen) => seen.signal == Signal::Help,
        Fact::PersonMissing(_) | Fact::LostContact(_) | Fact::EmergencyDeclared(_) => true,
        Fact::RollCalled(roll) => !roll.not_seen.is_empty(),
        _ => false,
    }
}

/// Of `entries`, those whose author none of the others knew.
pub(super) fn undominated<'a>(entries: &[&'a Entry]) -> Vec<&'a Entry> {
    entries
        .iter()
        .filter(|entry| {
            !entries
                .iter()
                .any(|other| replaces(&other.event, &entry.event))
        })
        .copied()
        .collect()
}

fn replaces(later: &Event, earlier: &Event) -> bool {
    later.id != earlier.id && later.knew(earlier)
}
