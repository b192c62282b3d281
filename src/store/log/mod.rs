//! The trip log as it is kept: append-only, numbered without gaps, hash-chained, idempotent by
//! the event's id, acknowledged only when on the medium.

mod append;
mod line;
mod lost;
mod read;
mod refill;

use jiff::Timestamp;
use jiff::civil::Date;
use sha2::{Digest, Sha256};
use uuid::Uuid;

use super::StoreError;
use crate::trip::TripId;
use crate::trip::event::{Content, DeviceId, Event, EventId, Receipt};

pub(super) use append::{Job, write_all};
pub(super) use lost::own_up;
pub use read::read_entries;
pub use refill::{Bringer, Holds, Numbers, RefillRow, Refilled, Taken};

/// An event as it arrives, with the ages its device gave it at sending.
#[derive(Debug, Clone, PartialEq)]
pub struct Incoming {
    /// The event.
    pub event: Event,
    /// Its canonical content.
    pub content: Content,
    /// Age at sending by the device's wall clock, milliseconds.
    pub wall_age_ms: Option<i64>,
    /// Age at sending by the device's monotonic clock, milliseconds.
    pub mono_age_ms: Option<i64>,
}

impl From<Event> for Incoming {
    /// An event made here and now.
    fn from(event: Event) -> Self {
        Self::from((event.content(), event))
    }
}

impl From<(Content, Event)> for Incoming {
    fn from((content, event): (Content, Event)) -> Self {
        Self {
            event,
            content,
            wall_age_ms: None,
            mono_age_ms: None,
        }
    }
}

impl From<(Event, Content)> for Incoming {
    /// An event as `event::read_batch` reads it.
    fn from((event, content): (Event, Content)) -> Self {
        Self::from((content, event))
    }
}

/// What became of an event.
#[must_use]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Appended {
    /// It was written as this entry.
    New {
        /// The box's number.
        entry: u64,
    },
    /// It stands there already, with the same content; nothing was written.
    Repeat {
        /// The number it got the first time.
        entry: u64,
    },
}

impl Appended {
    /// The box's number of the event, now or then.
    #[must_use]
    pub fn entry(self) -> u64 {
        match self {
            Self::New { entry } | Self::Repeat { entry } => entry,
        }
    }
}

/// An event whose id, or whose number of its device, stands in a log with other content.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Clash {
    /// Which event of the batch, from 0.
    pub index: usize,
    /// The refused event.
    pub event: EventId,
    /// The trip in which the other stands.
    pub stands_in: TripId,
    /// The entry of the other.
    pub stands_at: u64,
}

/// Nothing of a batch was appended.
#[derive(Debug, Clone, thiserror::Error)]
pub enum AppendError {
    /// These events stand there with other content. Both contents are kept.
    #[error("{} of the events stand in the log with other content", .0.len())]
    Clash(Vec<Clash>),
    /// An event is of another trip.
    #[error("event {index} belongs to another trip")]
    OtherTrip {
        /// Which event of the batch, from 0.
        index: usize,
    },
    /// What a form made is not numbered as it was told.
    #[error("event {index} of the form is not numbered as it was told")]
    Misnumbered {
        /// Which event, from 0.
        index: usize,
    },
    /// The store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// A form appended nothing.
#[derive(Debug, Clone, thiserror::Error)]
pub enum FormError<R> {
    /// The rules of the trip refused it.
    #[error("refused")]
    Refused(R),
    /// It could not be written.
    #[error(transparent)]
    Append(#[from] AppendError),
}

/// A form's rules refused; internal to the writer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Refused;

/// Where a trip's log ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Head {
    /// The last entry; 0 before the first.
    pub entry: u64,
    /// The chain there.
    pub chain: [u8; 32],
}

impl Head {
    /// Before the first entry: the chain starts with the SHA-256 of the trip's 16 bytes.
    #[must_use]
    pub fn start(trip: TripId) -> Self {
        Self {
            entry: 0,
            chain: Sha256::digest(trip.uuid().as_bytes()).into(),
        }
    }

    /// After one more entry: SHA-256 of the chain so far and the content's hash.
    #[must_use]
    pub fn then(self, hash: &[u8; 32]) -> Self {
        let mut digest = Sha256::new();
        digest.update(self.chain);
        digest.update(hash);
        Self {
            entry: self.entry + 1,
            chain: digest.finalize().into(),
        }
    }
}

/// What a form is told inside the write, when nobody else can append.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Place {
    /// Where the log ends.
    pub head: Head,
    /// The number that the device's next event must have.
    pub next_seq: u64,
    /// The box's clock, as the receipts will say.
    pub now: Timestamp,
}

/// An entry as it lies in the log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LogEntry {
    /// The canonical text.
    pub content: String,
    /// Its SHA-256.
    pub hash: [u8; 32],
    /// The chain up to and with it.
    pub chain: [u8; 32],
    /// How it came here; holds the entry's number.
    pub receipt: Receipt,
    /// The run of the box that received it.
    pub boot: Uuid,
    /// The box's uptime at receipt, milliseconds: comparable within one `boot`.
    pub uptime_ms: u64,
    /// Who brought it here from a device's copy, if it was not delivered by who made it.
    pub relayed_by: Option<String>,
}

/// A trip in lists.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TripRow {
    /// The trip.
    pub trip: TripId,
    /// Its day; none until it was opened.
    pub day: Option<Date>,
    /// Its harbour.
    pub harbour: Option<String>,
    /// Name of its boat.
    pub boat: Option<String>,
    /// Whether nothing of it is real.
    pub drill: bool,
    /// When it was opened, as stated.
    pub opened_at: Option<Timestamp>,
    /// Whether it is closed, as last noted.
    pub closed: bool,
    /// Where its log ends.
    pub head: Head,
}

/// What lists say of a trip, as its fold has it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TripNote {
    /// The day.
    pub day: Date,
    /// The harbour.
    pub harbour: String,
    /// Name of the boat.
    pub boat: String,
    /// Whether it is closed.
    pub closed: bool,
}

/// Entries were added to a trip.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct News {
    /// The trip.
    pub trip: TripId,
    /// The last entry now.
    pub entry: u64,
}

/// What a form makes out of its place, or `None` when it refuses.
type Build = Box<dyn FnOnce(Place) -> Result<Vec<Event>, Refused> + Send>;

/// What is to be appended.
enum Work {
    Delivered(Vec<Incoming>),
    Refill(Box<refill::Refill>),
    Form {
        device: DeviceId,
        form: EventId,
        build: Build,
    },
}

impl std::fmt::Debug for Work {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Delivered(events) => f.debug_tuple("Delivered").field(&events.len()).finish(),
            Self::Refill(refill) => f.debug_tuple("Refill").field(refill).finish(),
            Self::Form { device, form, .. } => f
                .debug_struct("Form")
                .field("device", device)
                .field("form", form)
                .finish_non_exhaustive(),
        }
    }
}
