//! A second, simpler reading of a log than the room's own: what must hold, not how it is found.
#![expect(
    clippy::wildcard_enum_match_arm,
    reason = "names the kinds that say something here; the rest say nothing"
)]

use std::collections::{BTreeMap, BTreeSet};

use deckwatch::trip::event::*;

use deckwatch::trip::watch::group_key;

use super::day::{ALL, Ms, SECOND, ms_of};
use super::scene::who;

/// Whether an event puts this person somewhere, and if so whether accounted for.
pub fn puts(event: &Event, person: PersonId) -> Option<bool> {
    let named = event.about.persons.contains(&person);
    match &event.fact {
        Fact::RollCalled(roll) if roll.not_seen.contains(&person) => {
            // At the quay nobody has to be there yet.
            Some(roll.point == Point::Departure)
        }
        Fact::Aboard(_)
        | Fact::RollCalled(_)
        | Fact::PersonJoined(_)
        | Fact::PersonNotComing(_)
            if named =>
        {
            Some(true)
        }
        Fact::PersonFound(found) if named => Some(found.vessel.is_some()),
        Fact::LeftSurface(_) | Fact::AtSurface(_) | Fact::PersonMissing(_) | Fact::Unread(_)
            if named =>
        {
            Some(false)
        }
        _ => None,
    }
}

/// The entry that an event takes back.
pub fn voids(event: &Event) -> Option<EventId> {
    match &event.fact {
        Fact::Voided(voided) => Some(voided.of),
        _ => None,
    }
}

/// Whether this void may take a word back by any rule at all: a safe one anybody's, a word of
/// danger the skipper's, or its own author's within a minute.
fn may_count(void: &Event, of: &Event) -> bool {
    let safe = match &of.fact {
        Fact::AtSurface(seen) => seen.signal != Signal::Help && of.about.group.is_some(),
        Fact::RollCalled(roll) => roll.not_seen.is_empty(),
        Fact::PersonFound(found) => found.vessel.is_some(),
        Fact::LeftSurface(_) | Fact::PersonMissing(_) | Fact::Unread(_) => false,
        _ => true,
    };
    let own = void.device == of.device
        && void.device_seq == of.device_seq + 1
        && (0..=60).contains(&void.at.duration_since(of.at).as_secs());
    safe || own || void.by.role == Role::Skipper
}

/// For each person, the words of danger that nobody who knew them replaced, and nobody who may
/// took back: with any, the person is not accounted for.
pub fn in_danger(log: &[Entry]) -> BTreeMap<u128, EventId> {
    let by_void: Vec<(&Event, EventId)> = log
        .iter()
        .filter_map(|e| Some((&*e.event, voids(&e.event)?)))
        .collect();
    let maybe_mended = |of: &Event| {
        by_void
            .iter()
            .any(|(void, target)| *target == of.id && may_count(void, of))
    };
    // That a return was a mistake anybody may say; then it replaces nothing.
    let surely_mended = |of: &Event| {
        matches!(of.fact, Fact::Aboard(_)) && by_void.iter().any(|(_, target)| *target == of.id)
    };
    ALL.into_iter()
        .filter_map(|person| {
            let said: Vec<(&Event, bool)> = log
                .iter()
                .filter_map(|e| Some((&*e.event, puts(&e.event, who(person))?)))
                .filter(|(event, _)| !surely_mended(event))
                .collect();
            let danger = said.iter().find(|(event, safe)| {
                !safe
                    && !maybe_mended(event)
                    && !said
                        .iter()
                        .any(|(other, _)| other.knew(event) && !event.knew(other))
            })?;
            Some((person, danger.0.id))
        })
        .collect()
}

/// By when a group must sound, where that is beyond doubt.
#[derive(Debug, Clone)]
pub struct Due {
    /// The key of its alert.
    pub key: String,
    pub latest: Ms,
    pub overdue: Ms,
    /// Somebody of it of whom nobody has said anything since the drop, and no more time was given:
    /// it sounds from these instants.
    pub surely_down: bool,
}

/// Deadlines by the log alone; groups whose drop somebody took back are left out.
pub fn dues(log: &[Entry]) -> Vec<Due> {
    let voided: BTreeSet<EventId> = log.iter().filter_map(|e| voids(&e.event)).collect();
    let mut dues: BTreeMap<GroupId, Option<Due>> = BTreeMap::new();
    for entry in log {
        let event = &entry.event;
        let (Fact::LeftSurface(left), Some(of)) = (&event.fact, event.about.group) else {
            continue;
        };
        if voided.contains(&event.id) {
            dues.insert(of, None);
            continue;
        }
        let at = ms_of(entry.time());
        let latest = at + Ms::from(left.window.latest_s) * SECOND;
        let overdue = at + Ms::from(left.window.overdue_s) * SECOND;
        let silent = |person: &PersonId| {
            !log.iter().any(|e| {
                e.event.id != event.id && !is_prelude(&e.event) && puts(&e.event, *person).is_some()
            })
        };
        let extended = log
            .iter()
            .any(|e| matches!(e.event.fact, Fact::MoreTime(_)) && e.event.about.group == Some(of));
        let due = Due {
            key: group_key(of),
            latest,
            overdue,
            surely_down: !extended && event.about.persons.iter().any(silent),
        };
        dues.entry(of)
            .and_modify(|known| {
                if let Some(known) = known {
                    known.latest = known.latest.min(due.latest);
                    known.overdue = known.overdue.min(due.overdue);
                    known.surely_down &= due.surely_down;
                }
            })
            .or_insert(Some(due));
    }
    dues.into_values().flatten().collect()
}

fn is_prelude(event: &Event) -> bool {
    // Its identities are small numbers.
    event.id.uuid().as_u128() < 1 << 64
}

/// Numbers that must exist and are not here: below a device's highest, or known to somebody.
pub fn missing(log: &[Entry]) -> BTreeMap<DeviceId, BTreeSet<u64>> {
    let mut held: BTreeMap<DeviceId, BTreeSet<u64>> = BTreeMap::new();
    let mut highest: BTreeMap<DeviceId, u64> = BTreeMap::new();
    for entry in log {
        let event = &entry.event;
        held.entry(event.device)
            .or_default()
            .insert(event.device_seq);
        let own = (&event.device, &event.device_seq);
        for (device, seq) in event.knows.0.iter().chain(std::iter::once(own)) {
            let most = highest.entry(*device).or_default();
            *most = (*most).max(*seq);
        }
    }
    highest
        .into_iter()
        .map(|(device, most)| {
            let held = held.remove(&device).unwrap_or_default();
            (
                device,
                (1..=most).filter(|seq| !held.contains(seq)).collect(),
            )
        })
        .filter(|(_, gone): &(_, BTreeSet<u64>)| !gone.is_empty())
        .collect()
}
