//! Which statements stand: those that nobody who knew them has replaced, and that nobody
//! who may has taken back.

use std::collections::{BTreeMap, BTreeSet};

use crate::trip::event::{By, DeviceId, Entry, Event, EventId, Fact, Role};

/// The entries that count, in one order whatever order they arrived in: by reckoned time,
/// then device and number. Voided and corrected events are left out.
pub(crate) fn effective<'a>(entries: &[&'a Entry]) -> Vec<&'a Entry> {
    let mended = mended(entries);
    let mut standing: Vec<&Entry> = entries
        .iter()
        .filter(|entry| !mended.contains(&entry.event.id))
        .copied()
        .collect();
    standing.sort_by_cached_key(|entry| (entry.time(), entry.event.device, entry.event.device_seq));
    standing
}

/// What was voided, and what was corrected by an event that was not voided itself: a
/// correction that does not count leaves what it corrected as it was.
fn mended(entries: &[&Entry]) -> BTreeSet<EventId> {
    let mending: Vec<(&Event, EventId)> = entries
        .iter()
        .filter_map(|entry| Some((&*entry.event, mends(&entry.event)?)))
        .collect();
    if mending.is_empty() {
        return BTreeSet::new();
    }
    // The same identity may stand here with two contents: then each must allow it.
    let mut by_id: BTreeMap<EventId, Vec<&Event>> = BTreeMap::new();
    for entry in entries {
        by_id.entry(entry.event.id).or_default().push(&entry.event);
    }
    let counts = |by: &Event, target: EventId| {
        by_id.get(&target).is_some_and(|of| {
            of.iter()
                .all(|of| may_mend(by, of, entries.iter().map(|e| &*e.event)))
        })
    };
    let (voids, corrections): (Vec<_>, Vec<_>) = mending
        .into_iter()
        .partition(|(by, _)| matches!(by.fact, Fact::Voided(_)));
    let mut mended: BTreeSet<EventId> = voids
        .into_iter()
        .filter(|(by, target)| counts(by, *target))
        .map(|(_, target)| target)
        .collect();
    let corrected: Vec<EventId> = corrections
        .iter()
        .filter(|(by, target)| !mended.contains(&by.id) && counts(by, *target))
        .filter(|(by, target)| !runs_in_a_ring(by.id, *target, &corrections))
        .map(|(_, target)| *target)
        .collect();
    mended.extend(corrected);
    mended
}

/// Corrections that correct one another round about mend nothing: they would take each other
/// out, and with them what they say.
fn runs_in_a_ring(from: EventId, target: EventId, corrections: &[(&Event, EventId)]) -> bool {
    let mut at = target;
    for _ in 0..=corrections.len() {
        if at == from {
            return true;
        }
        match corrections.iter().find(|(by, _)| by.id == at) {
            Some((_, next)) => at = *next,
            None => return false,
        }
    }
    true
}

/// The event that this one voids or corrects.
pub(crate) fn mends(event: &Event) -> Option<EventId> {
    match &event.fact {
        Fact::Voided(voided) => Some(voided.of),
        _ => event.corrects,
    }
}

/// Whether the mending counts, seen in the whole log. A void is never voided itself: say the
/// thing anew instead. Anybody may take back a safe word. What says danger is the skipper's to
/// take back, and a second crew member's on another device, unless none was in touch (OWASP
/// ASVS 5.0, 2.3.5: approval by more than one).
pub(crate) fn may_mend<'a>(
    mending: &Event,
    of: &Event,
    log: impl IntoIterator<Item = &'a Event> + Clone,
) -> bool {
    if mending.id == of.id || matches!(of.fact, Fact::Voided(_)) {
        return false;
    }
    if !says_danger(of) && leaves_nobody_aboard(of, log.clone()) {
        return true;
    }
    // What we cannot read may add danger, never take it away.
    if matches!(mending.fact, Fact::Unread(_)) {
        return false;
    }
    (mending.by.role == Role::Skipper && is_backed(mending, of, log.clone()))
        || (mending.device == of.device
            && mending.device_seq == of.device_seq + 1
            && is_soon(of, mending)
            && !log.into_iter().any(|event| answers(event, of)))
}

/// Whether more stands behind the skipper's word than the skipper: a second on another device,
/// that there was none to ask, or that the danger is stated anew with it.
fn is_backed<'a>(
    mending: &Event,
    of: &Event,
    log: impl IntoIterator<Item = &'a Event> + Clone,
) -> bool {
    let Fact::Voided(voided) = &mending.fact else {
        return says_danger(mending) || log.into_iter().any(|e| seconds(e, mending, of.id));
    };
    voided.alone
        || restates(mending, of, log.clone())
        || log.into_iter().any(|e| seconds(e, mending, of.id))
}

/// Another person on another device takes the same event back.
fn seconds(event: &Event, first: &Event, of: EventId) -> bool {
    matches!(&event.fact, Fact::Voided(voided) if voided.of == of)
        && event.device != first.device
        && event.by.crew != first.by.crew
}

/// The skipper who takes this event back and waits for a second, and why; if there is one.
pub(crate) fn waiting(log: &[Entry], of: EventId) -> Option<(&By, &str)> {
    let events = || log.iter().map(|e| &*e.event);
    let held = events().find(|e| e.id == of)?;
    let is_mended = events()
        .filter(|e| mends(e) == Some(of))
        .any(|e| may_mend(e, held, events()));
    if is_mended {
        return None;
    }
    events().find_map(|e| match &e.fact {
        Fact::Voided(voided) if voided.of == of && e.by.role == Role::Skipper => {
            Some((&e.by, voided.reason.as_str()))
        }
        _ => None,
    })
}

/// A drop that is taken back to be stated with another time, in the device's next words: its
/// people stay in the water.
fn restates<'a>(mending: &Event, of: &Event, log: impl IntoIterator<Item = &'a Event>) -> bool {
    let next = log
        .into_iter()
        .filter(|e| e.device == mending.device && e.device_seq > mending.device_seq)
        .filter(|e| !matches!(e.fact, Fact::Voided(_)))
        .min_by_key(|e| e.device_seq);
    let is_drop = |e: &Event| matches!(e.fact, Fact::LeftSurface(_));
    is_drop(of)
        && next.is_some_and(|e| {
            is_drop(e)
                && e.id != of.id
                && (e.about.group, e.about.dive) == (of.about.group, of.about.dive)
                && e.about.persons.is_superset(&of.about.persons)
        })
}

/// Without a sighting at the surface its people count as under water still, if the log holds
/// that they went in; if not, they would count as aboard.
fn leaves_nobody_aboard<'a>(of: &Event, log: impl IntoIterator<Item = &'a Event>) -> bool {
    if !matches!(of.fact, Fact::AtSurface(_)) {
        return true;
    }
    let went_in: BTreeSet<_> = log
        .into_iter()
        .filter(|e| matches!(e.fact, Fact::LeftSurface(_)) && e.about.group == of.about.group)
        .flat_map(|e| &e.about.persons)
        .collect();
    of.about.persons.iter().all(|p| went_in.contains(p))
}

fn is_soon(of: &Event, mending: &Event) -> bool {
    const SLIP_S: i64 = 60;
    (0..=SLIP_S).contains(&mending.at.duration_since(of.at).as_secs())
}

/// Whether `device` may still take back this event of its own as a slip of the finger.
///
/// The stated times alone would not do: a device could state any. So a slip is taken back in
/// the device's very next event, and only while nobody else has acted on it. Neither depends
/// on when or where the events were received.
pub(crate) fn is_own_slip<'a>(
    of: &Event,
    device: DeviceId,
    log: impl IntoIterator<Item = &'a Event>,
) -> bool {
    of.device == device
        && !log.into_iter().any(|event| {
            (event.device == device && event.device_seq > of.device_seq) || answers(event, of)
        })
}

/// Whether somebody on another device acted on a word of danger, having seen it.
fn answers(event: &Event, of: &Event) -> bool {
    if event.device == of.device || !event.knew(of) {
        return false;
    }
    let shares_person = || !event.about.persons.is_disjoint(&of.about.persons);
    match &event.fact {
        Fact::EmergencyDeclared(_) | Fact::EmergencyStep(_) | Fact::RecallSounded(_) => true,
        Fact::PersonMissing(_) | Fact::AtSurface(_) | Fact::Aboard(_) | Fact::PersonFound(_) => {
            shares_person()
        }
        Fact::AlertAcknowledged(ack) => {
            let of_persons = of
                .about
                .persons
                .iter()
                .any(|p| ack.alert.ends_with(&p.to_string()));
            let of_group = of
                .about
                .group
                .is_some_and(|g| ack.alert.ends_with(&g.to_string()));
            of_persons || of_group || ack.alert == "emergency"
        }
        _ => false,
    }
}

/// Whether the event states that somebody is in danger or in the water, so that taking it
/// back could make somebody look safer.
pub(crate) fn says_danger(event: &Event) -> bool {
    use crate::trip::event::Signal;
    match &event.fact {
        // Somebody seen at the surface with a group went in with it: without the sighting the
        // person counts as under water still. Without a group, the sighting is all there is.
        Fact::AtSurface(seen) => seen.signal == Signal::Help || event.about.group.is_none(),
        Fact::LeftSurface(_)
        | Fact::PersonMissing(_)
        | Fact::LostContact(_)
        | Fact::EmergencyDeclared(_)
        | Fact::RecallSounded(_)
        | Fact::Unread(_) => true,
        Fact::PersonFound(found) => found.vessel.is_none(),
        Fact::BuoySeen(buoy) => buoy.colour == crate::trip::event::BuoyColour::Yellow,
        Fact::RollCalled(roll) => !roll.not_seen.is_empty(),
        Fact::BeaconHeard(heard) => !heard.test,
        _ => false,
    }
}

/// Of `entries`, those that none of the others replaces.
pub(super) fn undominated<'a>(entries: &[&'a Entry]) -> Vec<&'a Entry> {
    let standing: Vec<&Entry> = entries
        .iter()
        .filter(|entry| {
            !entries
                .iter()
                .any(|other| replaces(&other.event, &entry.event))
        })
        .copied()
        .collect();
    // Claims of knowledge that run in a ring are false somewhere: then all of it stands.
    if standing.is_empty() {
        entries.to_vec()
    } else {
        standing
    }
}

/// Two that claim to have known each other cannot both have: neither replaces the other.
pub(super) fn replaces(later: &Event, earlier: &Event) -> bool {
    later.id != earlier.id && later.knew(earlier) && !earlier.knew(later)
}
