//! An event of the trip log: who saw what, when, and what its author knew.
//!
//! The log is append-only; the state is a fold over it. What belongs to a delivery (when and
//! by which box an event was received) is a [`Receipt`] beside the event, never part of it.

mod check;
mod fact;
mod line;
mod wire;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use jiff::{SignedDuration, Timestamp};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

pub use super::id::{CrewId, DeviceId, EventId, GroupId, PersonId, TripId};
pub use fact::*;
pub use line::{Came, Line, Travelled, read_lines};
pub use wire::{APP_VERSION, Ages, Content, Delivered, read, read_batch, read_delivery};

/// Which devices' events an author held in full: per device, the number up to which nothing
/// was missing.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Knows(pub BTreeMap<DeviceId, u64>);

impl Knows {
    /// Whether the event number `seq` of `device` was known.
    #[must_use]
    pub fn covers(&self, device: DeviceId, seq: u64) -> bool {
        self.0.get(&device).is_some_and(|known| *known >= seq)
    }
}

/// Who stands behind a statement.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct By {
    /// The account.
    pub crew: CrewId,
    /// The name as it was shown then, so that the log can be read without the register.
    pub name: String,
    /// The role acted in.
    pub role: Role,
}

/// Roles of crew accounts, least to most.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// Ashore: rosters, plans, records.
    Desk,
    /// On deck: groups, returns, roll call.
    Divemaster,
    /// At the helm: all acts of a trip.
    Skipper,
}

/// Whom and what an event is about. It stands outside the payload, so that an event whose
/// kind is not known here still makes its people unresolved.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct About {
    /// The people concerned.
    #[serde(default, skip_serializing_if = "BTreeSet::is_empty")]
    pub persons: BTreeSet<PersonId>,
    /// The group concerned.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub group: Option<GroupId>,
    /// The dive of the trip, from 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dive: Option<u32>,
}

impl About {
    /// Nobody in particular.
    #[must_use]
    pub fn nobody() -> Self {
        Self::default()
    }

    /// One person.
    #[must_use]
    pub fn person(person: PersonId) -> Self {
        Self {
            persons: BTreeSet::from([person]),
            ..Self::default()
        }
    }

    /// These people.
    #[must_use]
    pub fn people(persons: impl IntoIterator<Item = PersonId>) -> Self {
        Self {
            persons: persons.into_iter().collect(),
            ..Self::default()
        }
    }

    /// The same, in this group of this dive.
    #[must_use]
    pub fn in_group(mut self, group: GroupId, dive: u32) -> Self {
        self.group = Some(group);
        self.dive = Some(dive);
        self
    }

    /// The same, on this dive.
    #[must_use]
    pub fn on_dive(mut self, dive: u32) -> Self {
        self.dive = Some(dive);
        self
    }
}

/// An event.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// Made by the device that saw it.
    pub id: EventId,
    /// The trip it belongs to.
    pub trip: TripId,
    /// Whom it is about.
    pub about: About,
    /// The device that made it.
    pub device: DeviceId,
    /// Gapless per device and trip, from 1.
    pub device_seq: u64,
    /// What its author knew.
    pub knows: Knows,
    /// Who says so.
    pub by: By,
    /// When it happened, as stated.
    pub at: Timestamp,
    /// Version of the program that made it.
    pub app: String,
    /// The event this one mends.
    pub corrects: Option<EventId>,
    /// What is said.
    pub fact: Fact,
}

impl Event {
    /// Which event of which device this is.
    #[must_use]
    pub fn mark(&self) -> Mark {
        Mark {
            device: self.device,
            seq: self.device_seq,
        }
    }

    /// What its author had before him.
    #[must_use]
    pub fn author(&self) -> Author {
        Author {
            mark: self.mark(),
            knows: self.knows.clone(),
        }
    }

    /// Whether this event's author knew `other`: then its statements replace `other`'s.
    #[must_use]
    pub fn knew(&self, other: &Event) -> bool {
        if self.device == other.device {
            return self.device_seq > other.device_seq;
        }
        self.knows.covers(other.device, other.device_seq)
    }
}

/// Which event of which device: what the knowledge of an author is counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Mark {
    /// The device.
    pub device: DeviceId,
    /// Its number there.
    pub seq: u64,
}

/// What the author of an event had before him.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Author {
    /// The event he made.
    pub mark: Mark,
    /// What he knew of other devices.
    pub knows: Knows,
}

impl Author {
    /// Whether he had seen that event.
    #[must_use]
    pub fn saw(&self, mark: Mark) -> bool {
        if self.mark.device == mark.device {
            self.mark.seq > mark.seq
        } else {
            self.knows.covers(mark.device, mark.seq)
        }
    }
}

/// A canonical hash of a set of events: SHA-256 over their content hashes, sorted, each once.
/// Boxes that hold the same events have the same digest, whatever order they came in.
#[must_use]
pub fn digest(contents: impl IntoIterator<Item = [u8; 32]>) -> [u8; 32] {
    let mut hash = Sha256::new();
    for content in contents.into_iter().collect::<BTreeSet<_>>() {
        hash.update(content);
    }
    hash.finalize().into()
}

/// How an event came to this box; kept beside the event and travels with the log.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Receipt {
    /// This box's gapless number in the trip.
    pub entry: u64,
    /// The box's clock at receipt.
    pub recorded_at: Timestamp,
    /// Age of the event at sending by the device's wall clock.
    pub wall_age_ms: Option<i64>,
    /// Age of the event at sending by the device's monotonic clock.
    pub mono_age_ms: Option<i64>,
}

impl Receipt {
    /// When the event was made by the box's clock: receipt less the greater of the two ages.
    #[must_use]
    pub fn made_at(&self) -> Timestamp {
        let age = self.wall_age_ms.max(self.mono_age_ms).unwrap_or(0).max(0);
        self.recorded_at
            .checked_sub(SignedDuration::from_millis(age))
            .unwrap_or(self.recorded_at)
    }
}

/// An event with its receipt, as the fold reads it.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// The event: shared, as every snapshot of a trip holds its whole log.
    pub event: Arc<Event>,
    /// How it came here.
    pub receipt: Receipt,
}

impl Entry {
    /// An event as it came here.
    #[must_use]
    pub fn new(event: impl Into<Arc<Event>>, receipt: Receipt) -> Self {
        let event = event.into();
        Self { event, receipt }
    }

    /// The earliest reckoned time of the event: deadlines run from it.
    #[must_use]
    pub fn time(&self) -> Timestamp {
        self.event.at.min(self.receipt.made_at())
    }
}
