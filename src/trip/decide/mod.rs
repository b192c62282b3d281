//! What a form may say now. Each function takes the state its author sees and a command, and
//! gives the events to append, or every reason why not. The append door of devices does not
//! come through here: it keeps every well-formed fact.

mod alarm;
mod beacon;
mod boat;
mod copy;
mod earlier;
mod go_list;
mod printed;
mod roster;
mod sign_off;
mod waiting;
mod water;

use std::fmt;

use jiff::{SignedDuration, Timestamp};
use sha2::{Digest, Sha256};

use super::event::{
    APP_VERSION, About, By, DeviceId, Event, EventId, Fact, GroupId, Knows, PersonId, TripId,
};
use super::state::{Group, Person, Phase, State};
use crate::dive::findings::Finding;
use crate::units::Faults;

pub use alarm::{
    accept_command, acknowledge, declare_emergency, end_emergency, found, hand_over, incident,
    incident_record, missing, quiet, take_step,
};
pub use beacon::{beacon_heard, dismiss_beacon};
pub use boat::{
    HeadCount, RollCall, arrange_pickup, back_in_harbour, boat_at, boat_fix, call_roll, close,
    conditions, count, depart, forecast, leave_site, on_site, post_lookout, recall, refusal,
    relieve_lookout,
};
pub use copy::{CopyTrip, copy_trip};
pub use earlier::{MOST_EARLIER, carrying, tell_earlier};
pub use go_list::{LONGEST_OWN_LINE, MOST_OWN_LINES, answer_conditions, decide_trip};
pub use printed::note_print;
pub use roster::{
    FormGroup, LETTERS, MOST_PEOPLE, OpenTrip, beyond_limits, change_person, form_group,
    form_groups, join, join_all, not_coming, open_trip, plan_dive, stand_down,
};
pub use sign_off::{Sign, cannot_sign, seal, sign};
pub use waiting::{leave_waiting, move_up, places_left, wait};
pub use water::{
    AboardTap, DropTap, SurfaceTap, Voiding, aboard, buoy, check_drop, left_surface, lost_contact,
    more_time, note_return, note_returns, others_well, release, restate_drop, surfaced, swim, undo,
    void,
};

/// An event before it is signed and numbered.
#[derive(Debug, Clone, PartialEq)]
pub struct Draft {
    /// Whom it is about.
    pub about: About,
    /// What is said.
    pub fact: Fact,
    /// When it happened, if not now.
    pub at: Option<Timestamp>,
    /// The event it mends.
    pub corrects: Option<EventId>,
}

impl Draft {
    fn now(about: About, fact: Fact) -> Self {
        Self {
            about,
            fact,
            at: None,
            corrects: None,
        }
    }

    fn at(mut self, at: Option<Timestamp>) -> Self {
        self.at = at;
        self
    }
}

/// Who signs, on which device, having seen what.
#[derive(Debug, Clone, PartialEq)]
pub struct Signing {
    /// The event's identity, given out with the form, so that a form sent twice counts once.
    pub id: EventId,
    /// The trip.
    pub trip: TripId,
    /// The device.
    pub device: DeviceId,
    /// What the page showed.
    pub knows: Knows,
    /// Who.
    pub by: By,
    /// Now.
    pub now: Timestamp,
}

impl Signing {
    /// The drafts as events of this author, numbered from `next_seq`. The first has the form's
    /// identity; the others, identities that follow from it.
    #[must_use]
    pub fn sign(&self, next_seq: u64, drafts: Vec<Draft>) -> Vec<Event> {
        drafts
            .into_iter()
            .zip(0_u64..)
            .map(|(draft, nth)| Event {
                id: self.identity(nth),
                trip: self.trip,
                about: draft.about,
                device: self.device,
                device_seq: next_seq + nth,
                knows: self.knows.clone(),
                by: self.by.clone(),
                at: draft.at.unwrap_or(self.now),
                app: APP_VERSION.to_owned(),
                corrects: draft.corrects,
                fact: draft.fact,
            })
            .collect()
    }
}

impl Signing {
    /// The identity of the form's nth event. It follows from the form's own, so that a form
    /// sent twice counts once, and can be no other form's (UUID version 8, RFC 9562 5.8).
    fn identity(&self, nth: u64) -> EventId {
        if nth == 0 {
            return self.id;
        }
        let mut hash = Sha256::new();
        hash.update(self.id.uuid().as_bytes());
        hash.update(nth.to_be_bytes());
        let mut bytes = [0; 16];
        for (byte, hashed) in bytes.iter_mut().zip(hash.finalize()) {
            *byte = hashed;
        }
        EventId::new(uuid::Builder::from_custom_bytes(bytes).into_uuid())
    }
}

/// Why a form is refused: the field, the sentence by key, what is filled into it.
#[derive(Debug, Clone, PartialEq)]
pub struct Refusal {
    /// The form's field; empty for the form as a whole.
    pub field: &'static str,
    /// Key of the sentence.
    pub key: &'static str,
    /// What is filled in.
    pub args: Vec<(&'static str, String)>,
    /// What a plan breaks, said as `what` in the words of who reads it.
    pub finding: Option<Finding>,
    /// Of a form with rows, the one it is about, as the caller named it.
    pub row: Option<String>,
}

impl Refusal {
    /// A refusal without anything to fill in.
    #[must_use]
    pub fn new(field: &'static str, key: &'static str) -> Self {
        Self {
            field,
            key,
            args: Vec::new(),
            finding: None,
            row: None,
        }
    }

    /// The same, with something filled in.
    #[must_use]
    pub fn with(mut self, name: &'static str, value: impl fmt::Display) -> Self {
        self.args.push((name, value.to_string()));
        self
    }

    /// The same, said of this row of the form.
    #[must_use]
    pub fn in_row(mut self, row: impl fmt::Display) -> Self {
        self.row = Some(row.to_string());
        self
    }

    /// A plan does not hold in itself.
    #[must_use]
    pub fn unsound_plan(field: &'static str, faults: &Faults) -> Self {
        let why: Vec<String> = faults.iter().map(ToString::to_string).collect();
        Self::new(field, "refused-plan-unsound").with("why", why.join("; "))
    }

    /// The same, said of the group of this letter.
    fn in_group(mut self, letter: &str) -> Self {
        if !self.args.iter().any(|(name, _)| *name == "letter") {
            self.args.push(("letter", letter.to_owned()));
        }
        self
    }
}

/// Every reason why not.
#[derive(Debug, Clone, PartialEq, Default, thiserror::Error)]
#[error("refused: {}", .0.iter().map(|r| r.key).collect::<Vec<_>>().join(", "))]
pub struct Refused(pub Vec<Refusal>);

impl Refused {
    fn add(&mut self, refusal: Refusal) {
        self.0.push(refusal);
    }

    fn or<T>(self, value: T) -> Result<T, Refused> {
        if self.0.is_empty() {
            Ok(value)
        } else {
            Err(self)
        }
    }
}

impl From<Refusal> for Refused {
    fn from(refusal: Refusal) -> Self {
        Self(vec![refusal])
    }
}

/// The events of a form, or why not.
pub type Decided = Result<Vec<Draft>, Refused>;

fn open(state: &State) -> Result<(), Refused> {
    if state.opened.is_none() {
        return Err(Refusal::new("", "refused-no-trip").into());
    }
    if state.phase == Phase::Closed {
        return Err(Refusal::new("", "refused-closed").into());
    }
    Ok(())
}

fn person<'a>(state: &'a State, field: &'static str, id: PersonId) -> Result<&'a Person, Refused> {
    state
        .people
        .get(&id)
        .ok_or_else(|| Refusal::new(field, "refused-not-on-roster").into())
}

fn group(state: &State, id: GroupId) -> Result<&Group, Refused> {
    state
        .groups
        .get(&id)
        .ok_or_else(|| Refusal::new("group", "refused-no-group").into())
}

/// A typed time must lie in the trip: not ahead of the clock, not before what it follows.
fn happened(
    at: Option<Timestamp>,
    now: Timestamp,
    not_before: Option<Timestamp>,
) -> Result<(), Refused> {
    /// A clock read on the wrist may be a minute ahead.
    const AHEAD: SignedDuration = SignedDuration::from_secs(60);
    let Some(at) = at else { return Ok(()) };
    if at.duration_since(now) > AHEAD {
        return Err(Refusal::new("at", "refused-future").with("now", now).into());
    }
    if let Some(from) = not_before.filter(|from| at < *from) {
        return Err(Refusal::new("at", "refused-before")
            .with("from", from)
            .into());
    }
    Ok(())
}

fn said(field: &'static str, text: &str) -> Result<String, Refused> {
    let text = text.trim();
    if text.is_empty() {
        return Err(Refusal::new(field, "refused-empty").into());
    }
    if text.chars().count() > 2_000 {
        return Err(Refusal::new(field, "refused-long").into());
    }
    Ok(text.to_owned())
}

fn names<'a>(people: impl IntoIterator<Item = &'a Person>) -> String {
    people
        .into_iter()
        .map(|p| p.card.name.as_str())
        .collect::<Vec<_>>()
        .join(", ")
}
