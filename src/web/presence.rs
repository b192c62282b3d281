//! Who is in touch and who watches: which crew member's device was heard of lately, which of them
//! stand armed before somebody's eyes, and how far their clocks are off. Kept in memory; after a
//! start nobody is in touch until heard.

use std::collections::HashMap;
use std::sync::{Mutex, MutexGuard, PoisonError};

use jiff::{SignedDuration, Timestamp};
use serde_json::Value;

use crate::trip::event::DeviceId;
use crate::trip::{CrewId, TripId};
use crate::units::Faults;
use crate::units::bounds::Bounds;
use crate::units::document::{Reader, parse};

/// A device not heard of for so long is out of touch. A page without scripts asks every 15 s, a
/// stream is written to every 3 s.
const AWAY: SignedDuration = SignedDuration::from_secs(60);
/// A device that reports every ten seconds and did not for so long is silent.
pub const SILENT_MS: f64 = 60_000.0;
/// Reports are forgotten after so long: no trip lasts longer.
const FORGOTTEN_MS: u64 = 48 * 3_600_000;
/// How far a clock can be off: a century.
const OFFSET_MS: Bounds = Bounds {
    min: -3.2e12,
    max: 3.2e12,
    unit: "ms",
    measure: None,
};
/// A span of time: at most a year.
const SPAN_MS: Bounds = Bounds {
    min: 0.0,
    max: 3.2e10,
    unit: "ms",
    measure: None,
};

/// Where a device is at work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Post {
    /// The skipper's tablet.
    Helm,
    /// A divemaster's phone.
    Deck,
    /// Ashore: it watches nobody.
    Desk,
}

/// How far a device's wall clock is ahead of the box, and by how much that may be wrong.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Offset {
    /// Milliseconds ahead; behind, if negative.
    pub ms: f64,
    /// Half the round trip on which it was measured, milliseconds.
    pub bound_ms: f64,
}

/// What a device says of itself, every ten seconds and whenever that changes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Report {
    /// The trip it shows.
    pub trip: TripId,
    /// Where it is at work.
    pub post: Post,
    /// Its page is before somebody's eyes, as far as a browser knows.
    pub visible: bool,
    /// Its tone was tried and heard, and it plays.
    pub armed: bool,
    /// Its screen is kept from sleeping.
    pub wake_lock: bool,
    /// How long ago it last heard the box on the stream, milliseconds.
    pub heard_ago_ms: Option<f64>,
    /// How far its clock is off, if it could measure that.
    pub offset: Option<Offset>,
}

impl Report {
    /// Reads a report as it was sent.
    ///
    /// # Errors
    /// Every fault of the document.
    pub fn read(document: &[u8]) -> Result<Self, Faults> {
        let value = parse(document)?;
        let reader = Reader::new();
        let read = Self::fields(&reader, &value);
        reader.finish(read)
    }

    fn fields(reader: &Reader, value: &Value) -> Option<Self> {
        let posts = [
            ("helm", Post::Helm),
            ("deck", Post::Deck),
            ("desk", Post::Desk),
        ];
        let report = reader.object("", value)?;
        let trip = report.take("trip", |reader, path, value| {
            let parsed = value.as_str().and_then(|text| text.parse::<TripId>().ok());
            if parsed.is_none() {
                reader.fault(path, "names no trip", "the identity of a trip");
            }
            parsed
        });
        let post = report.take("place", |reader, path, value| {
            reader.word(path, value, &posts)
        });
        let flag = |name: &str| report.take(name, Reader::flag);
        let (visible, armed, wake_lock) = (flag("visible"), flag("armed"), flag("wake_lock"));
        let span = |name: &str, bounds: &'static Bounds| {
            let read = report.take_if(name, |reader, path, value| {
                reader.number(path, value, bounds)
            });
            read.flatten()
        };
        let heard_ago_ms = span("heard_at_ms", &SPAN_MS);
        let offset = span("offset_ms", &OFFSET_MS);
        let bound = span("bound_ms", &SPAN_MS);
        if offset.is_some() != bound.is_some() {
            let what = "stands without the other of 'offset_ms' and 'bound_ms'";
            reader.fault("offset_ms", what, "both, or neither");
        }
        report.close();
        Some(Self {
            trip: trip?,
            post: post?,
            visible: visible?,
            armed: armed?,
            wake_lock: wake_lock?,
            heard_ago_ms,
            offset: offset
                .zip(bound)
                .map(|(ms, bound_ms)| Offset { ms, bound_ms }),
        })
    }
}

/// A device that reports.
#[derive(Debug, Clone, PartialEq)]
pub struct Watcher {
    /// What the crew calls it.
    pub name: String,
    /// Who is signed in on it.
    pub who: String,
    /// What it said last.
    pub report: Report,
    /// The box's uptime then, milliseconds.
    pub at_ms: u64,
}

/// Devices and when they were heard of last.
#[derive(Debug, Default)]
pub struct Presence(Mutex<Held>);

#[derive(Debug, Default)]
struct Held {
    heard: HashMap<DeviceId, Heard>,
    watchers: HashMap<DeviceId, Watcher>,
}

#[derive(Debug, Clone, Copy)]
struct Heard {
    crew: CrewId,
    at: Timestamp,
}

impl Presence {
    /// A crew member's device was heard of.
    pub fn hear(&self, device: DeviceId, crew: CrewId, at: Timestamp) {
        self.held().heard.insert(device, Heard { crew, at });
    }

    /// Whether another crew member is in touch on another device. `speed`: how fast the clock
    /// runs.
    #[must_use]
    pub fn has_another(&self, device: DeviceId, crew: CrewId, now: Timestamp, speed: f64) -> bool {
        let away_s = AWAY.as_secs_f64() * speed.max(1.0);
        self.held().heard.iter().any(|(other, last)| {
            *other != device
                && last.crew != crew
                && now.duration_since(last.at).as_secs_f64() <= away_s
        })
    }

    /// A device reports.
    pub fn report(&self, device: DeviceId, watcher: Watcher) {
        let mut held = self.held();
        let now_ms = watcher.at_ms;
        held.watchers
            .retain(|_, old| now_ms.saturating_sub(old.at_ms) < FORGOTTEN_MS);
        held.watchers.insert(device, watcher);
    }

    /// Devices on board that reported on a trip and did not for so long that what they saw since may
    /// not be here: name, and since how many milliseconds of the box's uptime. `speed`: how fast
    /// that runs.
    #[must_use]
    pub fn silent_on(&self, trip: TripId, up_ms: u64, speed: f64) -> Vec<(String, u64)> {
        let silent = |watcher: &Watcher| {
            // An uptime stays far below 2^53 ms.
            let ago_ms = up_ms.saturating_sub(watcher.at_ms);
            (ago_ms as f64 / speed.max(1.0) > SILENT_MS).then(|| (watcher.name.clone(), ago_ms))
        };
        self.watchers()
            .iter()
            .filter(|watcher| watcher.report.post != Post::Desk && watcher.report.trip == trip)
            .filter_map(silent)
            .collect()
    }

    /// A device was written off: it is not waited for any more.
    pub fn write_off(&self, device: DeviceId) {
        self.held().watchers.remove(&device);
    }

    /// Every device that reported, by name.
    #[must_use]
    pub fn watchers(&self) -> Vec<Watcher> {
        let mut all: Vec<_> = self.held().watchers.values().cloned().collect();
        all.sort_by(|a, b| (&a.name, a.at_ms).cmp(&(&b.name, b.at_ms)));
        all
    }

    /// What is held is whole at any instant, whoever panicked while holding it.
    fn held(&self) -> MutexGuard<'_, Held> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
