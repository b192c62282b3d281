//! Entries of the log in words: what was said, when it happened and when it was logged, by
//! whom, on which device, and what was taken back.
#![expect(
    clippy::wildcard_enum_match_arm,
    reason = "the deck words what it logs itself; every other kind is named by its own word"
)]

use std::collections::BTreeMap;

use jiff::SignedDuration;

use super::frame::Deck;
use crate::trip::event::{
    Aboard, BuoyColour, DeviceId, Entry, EventId, Fact, GroupId, PersonId, Return, Signal, Vessel,
};
use crate::trip::state::{may_mend, mends, waiting};
use crate::web::error::Error;
use crate::web::live::Snapshot;
use crate::web::view;
use crate::words::{Arg, Words};

/// An entry logged this much after it happened shows both times.
const LATE_ENTRY: SignedDuration = SignedDuration::from_secs(60);

/// An entry of the log as a page shows it.
pub(super) struct Line {
    /// What was said.
    pub text: String,
    /// When it happened, and when it was logged if that was later.
    pub when: String,
    /// By whom, on which device.
    pub by: String,
    /// Why it does not count any more, by whom.
    pub taken_back: Option<String>,
    /// Who takes it back with which reason, if that waits for a second.
    pub waits: Option<String>,
    /// Where it is taken back.
    pub href: Option<String>,
}

/// What took this entry back, if anything did.
pub(super) fn mended(log: &[Entry], id: EventId) -> Option<&Entry> {
    let of = log.iter().find(|e| e.event.id == id)?;
    log.iter().find(|e| {
        mends(&e.event) == Some(id) && may_mend(&e.event, &of.event, log.iter().map(|e| &*e.event))
    })
}

/// What devices are called.
pub(super) async fn devices(deck: &Deck) -> Result<BTreeMap<DeviceId, String>, Error> {
    let devices = deck.app.store().devices().await?;
    Ok(devices.into_iter().map(|d| (d.id, d.name)).collect())
}

/// The entries about a group, the newest first; what was taken back stays, with the reason.
pub(super) fn of_group(
    deck: &Deck,
    group: GroupId,
    devices: &BTreeMap<DeviceId, String>,
) -> Vec<Line> {
    let mut entries: Vec<&Entry> = deck
        .trip
        .entries
        .iter()
        .filter(|e| e.event.about.group == Some(group))
        .filter(|e| !matches!(e.event.fact, Fact::Voided(_)))
        .collect();
    entries.sort_by_key(|e| std::cmp::Reverse(e.receipt.entry));
    entries
        .into_iter()
        .map(|e| line(deck, e, devices))
        .collect()
}

/// One entry.
pub(super) fn line(deck: &Deck, entry: &Entry, devices: &BTreeMap<DeviceId, String>) -> Line {
    let t = deck.t;
    let event = &entry.event;
    let logged = entry.receipt.recorded_at;
    let happened = deck.clock(event.at);
    let when = if logged.duration_since(event.at) >= LATE_ENTRY {
        let args = [
            ("at", Arg::from(happened)),
            ("logged", deck.clock(logged).into()),
        ];
        t.say_with("deck-entry-late", &args)
    } else {
        happened
    };
    let device = devices
        .get(&event.device)
        .map_or_else(|| t.say("deck-device-unknown"), Clone::clone);
    let by = t.say_with(
        "deck-entry-by",
        &[("by", Arg::from(&event.by.name)), ("device", device.into())],
    );
    let mending = mended(&deck.trip.entries, event.id);
    let taken_back = mending.map(|m| {
        let reason = match &m.event.fact {
            Fact::Voided(voided) => voided.reason.clone(),
            _ => t.say("deck-entry-stated-anew"),
        };
        let args = [
            ("reason", Arg::from(reason)),
            ("by", (&m.event.by.name).into()),
        ];
        t.say_with("deck-entry-taken-back", &args)
    });
    let href = mending
        .is_none()
        .then(|| deck.path(&format!("/entry/{}", event.id)));
    Line {
        text: words(entry, &deck.trip, t),
        when,
        by,
        taken_back,
        waits: view::waits_for_second(&deck.trip.entries, event.id, t),
        href,
    }
}

/// What an entry says.
pub(super) fn words(entry: &Entry, trip: &Snapshot, t: &Words) -> String {
    let who = names(entry, trip, t);
    let say = |key: &str, args: &[(&str, Arg)]| t.say_with(key, args);
    let person = |id: PersonId| name(trip, id);
    match &entry.event.fact {
        Fact::DropChecked(_) => t.say("deck-said-checked"),
        Fact::GroupFormed(_) => t.say("deck-said-formed"),
        Fact::LeftSurface(_) => say("deck-said-left", &[("names", who.into())]),
        Fact::BuoySeen(seen) => t.say(match seen.colour {
            BuoyColour::Orange => "deck-said-buoy-orange",
            BuoyColour::Yellow => "deck-said-buoy-yellow",
            BuoyColour::Other => "deck-said-buoy-other",
        }),
        Fact::AtSurface(seen) => {
            let key = match seen.signal {
                Signal::Well => "deck-said-well",
                Signal::NoSignal => "deck-said-no-signal",
                Signal::Help => "deck-said-help",
            };
            say(key, &[("names", who.into())])
        }
        Fact::OthersWell(word) => say(
            "deck-said-others-well",
            &[("name", person(word.said_by).into())],
        ),
        Fact::LostContact(word) => say(
            "deck-said-lost-contact",
            &[("name", person(word.said_by).into())],
        ),
        Fact::Aboard(aboard) => aboard_words(aboard, &who, t),
        Fact::ReturnNoted(noted) => {
            let detail = detail_words(&noted.detail, t);
            say(
                "deck-said-return",
                &[("name", who.into()), ("detail", detail.into())],
            )
        }
        Fact::MoreTime(more) => say(
            "deck-said-more",
            &[
                ("minutes", more.minutes.min().into()),
                ("reason", (&more.reason).into()),
            ],
        ),
        Fact::LookoutPosted(posted) => say("deck-said-lookout", &[("name", (&posted.name).into())]),
        Fact::LookoutRelieved(relieved) => {
            say("deck-said-relieved", &[("name", (&relieved.name).into())])
        }
        Fact::EmergencyDeclared(declared) => {
            say("alert-emergency", &[("reason", (&declared.reason).into())])
        }
        Fact::IncidentNoted(note) => note.text.clone(),
        Fact::Voided(voided) => {
            let of = trip
                .entries
                .iter()
                .find(|e| e.event.id == voided.of)
                .map_or_else(String::new, |of| words(of, trip, t));
            let key = match waiting(&trip.entries, voided.of) {
                Some(_) => "deck-said-take-back-waits",
                None => "deck-said-taken-back",
            };
            say(key, &[("what", of.into())])
        }
        other => say("deck-said-other", &[("kind", other.kind().into())]),
    }
}

fn aboard_words(aboard: &Aboard, name: &str, t: &Words) -> String {
    let name = ("name", Arg::from(name));
    let place = match &aboard.vessel {
        Vessel::Own => t.say_with("deck-said-aboard", &[name]),
        Vessel::Tender => t.say_with("deck-said-tender", &[name]),
        Vessel::Other { name: vessel } => t.say_with(
            "deck-said-other-boat",
            &[
                name,
                ("vessel", vessel.into()),
                ("seen", (&aboard.seen_by).into()),
            ],
        ),
        Vessel::Shore { place } => t.say_with(
            "deck-said-landed",
            &[
                name,
                ("place", place.into()),
                ("seen", (&aboard.seen_by).into()),
            ],
        ),
    };
    let detail = detail_words(&aboard.detail, t);
    if detail.is_empty() {
        place
    } else {
        format!("{place}, {detail}")
    }
}

/// Bar, depth, stop and trouble of a return, as far as they were said.
pub(super) fn detail_words(detail: &Return, t: &Words) -> String {
    let mut parts = Vec::new();
    if let Some(bar) = detail.bar {
        parts.push(t.say_with("deck-bar", &[("bar", bar.bar().into())]));
    }
    if let Some(depth) = detail.greatest_depth_m {
        parts.push(t.say_with("deck-depth", &[("depth", depth.m().into())]));
    }
    match detail.stop_done {
        Some(true) => parts.push(t.say("deck-stop-done")),
        Some(false) => parts.push(t.say("deck-stop-missed")),
        None => {}
    }
    if let Some(problem) = &detail.problem {
        parts.push(problem.clone());
    }
    parts.join(", ")
}

fn names(entry: &Entry, trip: &Snapshot, t: &Words) -> String {
    let names: Vec<String> = entry
        .event
        .about
        .persons
        .iter()
        .map(|id| name(trip, *id))
        .collect();
    view::names(&names, t)
}

fn name(trip: &Snapshot, id: PersonId) -> String {
    trip.state
        .people
        .get(&id)
        .map_or_else(|| id.to_string(), |p| p.name().to_owned())
}
