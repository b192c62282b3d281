//! What the payload types alone cannot hold: lists that must not be empty, people that must
//! be named, figures in order.
#![expect(
    clippy::wildcard_enum_match_arm,
    reason = "each check names the kinds it has something to say about; the rest pass"
)]

use std::collections::BTreeSet;

use serde_json::Value;

use super::{
    About, Condition, Fact, GroupFormed, HeadCounted, LeftSurface, RecordSealed, RollCalled,
    SignedOver, TripOpened, Vessel,
};
use crate::units::Faults;
use crate::units::bounds::BOAT_KN;

/// Longest free text in a payload, characters.
const LONGEST_TEXT: usize = 2_000;
/// Most dives of one trip.
const MOST_DIVES: u32 = 20;
/// Most signatures under one seal.
const MOST_SIGNATURES: usize = 10;
/// Most conditions of one go/no-go list.
const MOST_CONDITIONS: usize = 60;
/// More people than any boat holds.
pub(super) const MOST_PERSONS: usize = 1_000;

impl Fact {
    /// All faults of the payload, with paths from the event.
    pub(super) fn faults(&self, about: &About) -> Faults {
        let mut faults = Faults::new();
        if matches!(self, Self::Unread(_)) {
            return faults;
        }
        check_about(self, about, &mut faults);
        match self {
            Self::GroupFormed(group) => check_group(group, &mut faults),
            Self::LeftSurface(left) => check_window(left, &mut faults),
            Self::MoreTime(more) if !(0.0..1_000.0).contains(&more.granted_before_min) => {
                faults.add(
                    "payload.granted_before_min",
                    "is out of range",
                    "minutes from 0",
                );
            }
            Self::HeadCounted(count) => check_count(count, &mut faults),
            Self::TripOpened(opened) => check_opened(opened, &mut faults),
            Self::RollCalled(roll) => check_roll(roll, about, &mut faults),
            Self::BeaconHeard(heard) => check_identity(&heard.identity, &mut faults),
            Self::BeaconDismissed(of) => check_identity(&of.identity, &mut faults),
            Self::TripDecided(decided) if decided.not_go.len() > MOST_CONDITIONS => {
                faults.add("payload.not_go", "is too long", "at most 60 conditions");
            }
            Self::ReportSigned(signed) => check_over(&signed.over, &mut faults),
            Self::RecordSealed(sealed) => check_seal(sealed, &mut faults),
            _ => {}
        }
        for (path, text) in told(self) {
            if text.trim().is_empty() {
                faults.add(path, "is empty", "a name or a reason in words");
            }
        }
        if longest_text(&texts_of(self)) > LONGEST_TEXT {
            faults.add(
                "payload",
                "holds a text that is too long",
                "texts of at most 2000 characters",
            );
        }
        faults
    }
}

fn check_about(fact: &Fact, about: &About, faults: &mut Faults) {
    let persons = about.persons.len();
    match fact {
        Fact::PersonJoined(_)
        | Fact::PersonChanged(_)
        | Fact::PersonNotComing(_)
        | Fact::DivedEarlier(_)
        | Fact::Aboard(_)
        | Fact::ReturnNoted(_)
        | Fact::PersonFound(_)
            if persons != 1 =>
        {
            faults.add(
                "about.persons",
                "does not name one person",
                "exactly one: each is named",
            );
        }
        Fact::LeftSurface(_) | Fact::AtSurface(_) | Fact::PersonMissing(_) if persons == 0 => {
            faults.add("about.persons", "is empty", "the people by name");
        }
        _ => {}
    }
    let needs_group = matches!(
        fact,
        Fact::GroupFormed(_)
            | Fact::GroupStoodDown(_)
            | Fact::LeftSurface(_)
            | Fact::MoreTime(_)
            | Fact::BuoySeen(_)
            | Fact::OthersWell(_)
            | Fact::LostContact(_)
    );
    if needs_group && about.group.is_none() {
        faults.add("about.group", "is missing", "the group");
    }
    let needs_dive = needs_group || matches!(fact, Fact::DivePlanned(_) | Fact::OnSite(_));
    if needs_dive
        && !about
            .dive
            .is_some_and(|dive| (1..=MOST_DIVES).contains(&dive))
    {
        faults.add(
            "about.dive",
            "is missing or out of range",
            "the dive's number, from 1 to 20",
        );
    }
}

fn check_group(group: &GroupFormed, faults: &mut Faults) {
    if group.plan.levels.is_empty() || group.plan.levels.len() > 20 {
        faults.add(
            "payload.plan.levels",
            "is empty or too long",
            "1 to 20 levels",
        );
    }
    if !(group.plan.run_time_min > 0.0 && group.plan.run_time_min < 1_000.0) {
        faults.add(
            "payload.plan.run_time_min",
            "is out of range",
            "minutes from 0 to 1000",
        );
    }
    let named: Vec<_> = group.units.iter().flatten().collect();
    let once: BTreeSet<_> = named.iter().collect();
    if named.is_empty() || once.len() != named.len() {
        faults.add(
            "payload.units",
            "is empty or names a person twice",
            "each member once",
        );
    }
}

fn check_window(left: &LeftSurface, faults: &mut Faults) {
    const DAY_S: u32 = 24 * 3600;
    let w = &left.window;
    let in_order = [w.earliest_s, w.expected_s, w.latest_s, w.overdue_s].is_sorted();
    if !in_order || w.overdue_s > DAY_S || w.endurance_s > DAY_S {
        faults.add(
            "payload.window",
            "is out of order",
            "earliest, expected, latest and overdue in order, within a day",
        );
    }
}

fn check_count(count: &HeadCounted, faults: &mut Faults) {
    let sound = count.people <= 1_000
        && (1..=2).contains(&count.round)
        && (1..=1_000).contains(&count.call);
    if !sound {
        faults.add(
            "payload",
            "is out of range",
            "people up to 1000, round 1 or 2, call from 1",
        );
    }
}

fn check_roll(roll: &RollCalled, about: &About, faults: &mut Faults) {
    let once: BTreeSet<_> = roll.not_seen.iter().collect();
    if once.len() != roll.not_seen.len()
        || roll.not_seen.len() > MOST_PERSONS
        || !once.iter().all(|person| !about.persons.contains(person))
    {
        faults.add(
            "payload.not_seen",
            "names somebody twice, or somebody who is present",
            "each person once, present or not seen",
        );
    }
}

/// Nine digits (ITU-R M.585).
fn check_identity(identity: &str, faults: &mut Faults) {
    if identity.len() != 9 || !identity.bytes().all(|b| b.is_ascii_digit()) {
        faults.add(
            "payload.identity",
            "is no identity of a station",
            "nine digits",
        );
    }
}

fn check_over(over: &SignedOver, faults: &mut Faults) {
    if over.entry == 0 {
        faults.add("payload.over.entry", "is 0", "a number of an entry, from 1");
    }
    let digits = |text: &str| {
        text.len() == 64 && text.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'))
    };
    for (path, text) in [
        ("payload.over.chain", &over.chain),
        ("payload.over.digest", &over.digest),
    ] {
        if !digits(text) {
            faults.add(
                path,
                "is no SHA-256",
                "64 hexadecimal digits in small letters",
            );
        }
    }
}

fn check_seal(sealed: &RecordSealed, faults: &mut Faults) {
    check_over(&sealed.over, faults);
    let once: BTreeSet<_> = sealed.signatures.iter().collect();
    if once.len() != sealed.signatures.len() || !(2..=MOST_SIGNATURES).contains(&once.len()) {
        faults.add(
            "payload.signatures",
            "does not name two signatures",
            "2 to 10 signatures, each once",
        );
    }
}

/// What must not be left empty: accounted for means seen by a named person, and what departs
/// from the rule is done for a stated reason.
fn told(fact: &Fact) -> Vec<(&'static str, &str)> {
    fn whither(vessel: &Vessel) -> Option<(&'static str, &str)> {
        match vessel {
            Vessel::Other { name } => Some(("payload.vessel.name", name)),
            Vessel::Shore { place } => Some(("payload.vessel.place", place)),
            Vessel::Own | Vessel::Tender => None,
        }
    }
    let (reasoned, overridden) = ("payload.reason", "payload.override_reason");
    match fact {
        Fact::Aboard(aboard) => {
            let mut told = vec![("payload.seen_by", aboard.seen_by.as_str())];
            told.extend(whither(&aboard.vessel));
            told
        }
        Fact::PersonFound(found) => {
            let mut told = vec![("payload.seen_by", found.seen_by.as_str())];
            told.extend(found.vessel.as_ref().and_then(whither));
            told
        }
        Fact::PersonJoined(joined) => vec![("payload.card.name", joined.card.name.as_str())],
        Fact::PersonChanged(changed) => vec![("payload.card.name", changed.card.name.as_str())],
        Fact::WaitingJoined(joined) => {
            let mut told = vec![("payload.card.name", joined.card.name.as_str())];
            told.extend(joined.wish.as_ref().map(|w| ("payload.wish", w.as_str())));
            told
        }
        Fact::ForecastNoted(note) => {
            let mut told = vec![("payload.text", note.text.as_str())];
            told.extend(note.source.as_ref().map(|s| ("payload.source", s.as_str())));
            told
        }
        Fact::WaitingLeft(left) => vec![(reasoned, left.reason.as_str())],
        Fact::PersonNotComing(stays) => vec![(reasoned, stays.reason.as_str())],
        Fact::GroupStoodDown(down) => vec![(reasoned, down.reason.as_str())],
        Fact::MoreTime(more) => vec![(reasoned, more.reason.as_str())],
        Fact::EmergencyEnded(ended) => vec![(reasoned, ended.reason.as_str())],
        Fact::Voided(voided) => vec![(reasoned, voided.reason.as_str())],
        Fact::BeaconDismissed(of) => vec![(reasoned, of.reason.as_str())],
        Fact::IncidentNoted(note) if note.record.is_some() => {
            vec![("payload.text", note.text.as_str())]
        }
        Fact::ConditionAnswered(answered) => {
            let mut told: Vec<_> = own_line("payload.condition.own", &answered.condition)
                .into_iter()
                .collect();
            told.extend(answered.note.as_ref().map(|n| ("payload.note", n.as_str())));
            told
        }
        Fact::TripDecided(decided) => {
            let lines = decided.not_go.iter();
            let mut told: Vec<_> = lines
                .filter_map(|line| own_line("payload.not_go.own", line))
                .collect();
            told.extend(decided.reason.as_ref().map(|r| (reasoned, r.as_str())));
            if decided.reason.is_none() && (!decided.go || !decided.not_go.is_empty()) {
                told.push((reasoned, ""));
            }
            told
        }
        Fact::Departed(d) => d
            .override_reason
            .iter()
            .map(|r| (overridden, r.as_str()))
            .collect(),
        Fact::LeftSite(l) => l
            .override_reason
            .iter()
            .map(|r| (overridden, r.as_str()))
            .collect(),
        Fact::TripClosed(c) => c
            .override_reason
            .iter()
            .map(|r| (overridden, r.as_str()))
            .collect(),
        _ => Vec::new(),
    }
}

fn own_line<'a>(path: &'static str, line: &'a Condition) -> Option<(&'static str, &'a str)> {
    if let Condition::Own(text) = line {
        Some((path, text))
    } else {
        None
    }
}

fn check_opened(opened: &TripOpened, faults: &mut Faults) {
    if !BOAT_KN.holds(opened.boat.speed_kn) {
        faults.add(
            "payload.boat.speed_kn",
            "is out of range",
            BOAT_KN.in_words(),
        );
    }
    if jiff::tz::TimeZone::get(&opened.time_zone).is_err() {
        faults.add(
            "payload.time_zone",
            "is not known",
            "an IANA time zone name",
        );
    }
}

fn texts_of(fact: &Fact) -> Value {
    match fact {
        // A chart is long by nature and has limits of its own.
        Fact::DivePlanned(_) => Value::Null,
        other => other.to_wire().2,
    }
}

fn longest_text(value: &Value) -> usize {
    match value {
        Value::String(text) => text.chars().count(),
        Value::Array(list) => list.iter().map(longest_text).max().unwrap_or(0),
        Value::Object(map) => map.values().map(longest_text).max().unwrap_or(0),
        Value::Null | Value::Bool(_) | Value::Number(_) => 0,
    }
}
