//! The stored and sent shape of an event: JSON in one canonical form, whose SHA-256 is its
//! content hash. Old shapes live only here.
//!
//! Canonical form: keys sorted, no white space (in the spirit of RFC 8785; numbers as
//! `serde_json` writes them). Whatever order a device sends its keys in, the content is the
//! same.

use jiff::Timestamp;
use serde_json::{Map, Value, json};
use sha2::{Digest, Sha256};

use super::check::MOST_PERSONS;
use super::{About, By, DeviceId, Event, EventId, Fact, Knows, TripId, Unread};
use crate::units::Faults;
use crate::units::bounds::Bounds;
use crate::units::document::{self, Object, Reader};

/// The version written into events made here.
pub const APP_VERSION: &str = env!("CARGO_PKG_VERSION");

/// Most events in one batch.
pub const LONGEST_BATCH: usize = 5_000;
/// Longest canonical form of one event.
pub const LARGEST_EVENT: usize = 256 * 1024;

/// Greatest age at sending: a tablet that lay in a drawer over the winter still delivers.
const OLDEST_MS: i64 = 400 * 24 * 3_600_000;

const SEQ: Bounds = Bounds {
    min: 1.0,
    max: 1e9,
    unit: "",
    measure: None,
};
const VERSION: Bounds = Bounds {
    min: 1.0,
    max: 1e6,
    unit: "",
    measure: None,
};

/// The canonical text of an event and its hash.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Content {
    /// Canonical JSON.
    pub text: String,
    /// SHA-256 of the text.
    pub hash: [u8; 32],
}

impl Content {
    fn of(value: &Value) -> Self {
        let text = value.to_string();
        let hash = Sha256::digest(text.as_bytes()).into();
        Self { text, hash }
    }
}

impl Event {
    /// The canonical content of this event.
    #[must_use]
    pub fn content(&self) -> Content {
        let (kind, version, payload) = self.fact.to_wire();
        let mut map = Map::new();
        map.insert("id".into(), json!(self.id));
        map.insert("trip".into(), json!(self.trip));
        map.insert("kind".into(), json!(kind));
        map.insert("v".into(), json!(version));
        map.insert("payload".into(), payload);
        map.insert("about".into(), json!(self.about));
        map.insert("device".into(), json!(self.device));
        map.insert("device_seq".into(), json!(self.device_seq));
        map.insert("knows".into(), json!(self.knows));
        map.insert("by".into(), json!(self.by));
        map.insert("at".into(), json!(self.at));
        map.insert("app".into(), json!(self.app));
        if let Some(corrects) = self.corrects {
            map.insert("corrects".into(), json!(corrects));
        }
        Content::of(&Value::Object(map))
    }
}

/// Reads one event from its JSON text.
///
/// A kind or version that is not known here is kept raw as [`Fact::Unread`]. A known kind with
/// a payload that does not fit is malformed.
///
/// # Errors
/// Every fault, with its path.
pub fn read(text: &[u8]) -> Result<(Event, Content), Faults> {
    let value = document::parse(text)?;
    let reader = Reader::new();
    let event = read_value(&reader, "", &value);
    reader.finish(event)
}

/// How old an event was when its device sent it, by the device's two clocks, milliseconds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Ages {
    /// By the wall clock.
    pub wall_ms: Option<i64>,
    /// By the clock that nobody can set.
    pub mono_ms: Option<i64>,
}

/// An event with what its delivery says of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Delivered {
    /// The event.
    pub event: Event,
    /// Its canonical content.
    pub content: Content,
    /// Its ages at sending.
    pub ages: Ages,
}

impl From<((Event, Content), Ages)> for Delivered {
    fn from(((event, content), ages): ((Event, Content), Ages)) -> Self {
        Self {
            event,
            content,
            ages,
        }
    }
}

/// Reads a batch `{"events": [...]}`.
///
/// # Errors
/// Every fault of every event, with its path.
pub fn read_batch(text: &[u8]) -> Result<Vec<(Event, Content)>, Faults> {
    let delivered = read_delivery(text)?;
    Ok(delivered
        .into_iter()
        .map(|sent| (sent.event, sent.content))
        .collect())
}

/// Reads a delivery `{"events": [...], "ages": [{"wall_ms": 1500, "mono_ms": 1480}, ...]}`: what
/// belongs to the sending stands beside the events. `ages` may be absent; if it is there it has
/// one element for each event, `null` where nothing is known.
///
/// # Errors
/// Every fault of every event and age, with its path.
pub fn read_delivery(text: &[u8]) -> Result<Vec<Delivered>, Faults> {
    let value = document::parse(text)?;
    let reader = Reader::new();
    let mut events = Vec::new();
    if let Some(root) = reader.object("", &value) {
        let list = root.take("events", |r, p, v| r.list(p, v, LONGEST_BATCH));
        let count = list.map_or(0, <[Value]>::len);
        if list.is_some() && count == 0 {
            reader.fault("events", "is empty", "at least one event");
        }
        for (nth, value) in list.unwrap_or_default().iter().enumerate() {
            events.extend(read_value(&reader, &format!("events[{nth}]"), value));
        }
        let ages = root.take_if("ages", |r, p, v| read_ages(r, p, v, count));
        root.close();
        if let Some(ages) = ages {
            let ages = ages.unwrap_or_else(|| vec![Ages::default(); count]);
            let delivered = events.into_iter().zip(ages);
            return reader.finish(Some(delivered.map(Delivered::from).collect()));
        }
    }
    reader.finish(None)
}

fn read_ages(reader: &Reader, path: &str, value: &Value, count: usize) -> Option<Vec<Ages>> {
    let list = reader.list(path, value, LONGEST_BATCH)?;
    if list.len() != count {
        let what = format!("has {} elements", list.len());
        reader.fault(path, what, format!("one for each of the {count} events"));
    }
    // Every age is read before any is missed, so that each fault is noted.
    let ages: Vec<Option<Ages>> = list
        .iter()
        .enumerate()
        .map(|(nth, value)| {
            if value.is_null() {
                return Some(Ages::default());
            }
            read_ages_of(reader, &format!("{path}[{nth}]"), value)
        })
        .collect();
    ages.into_iter().collect()
}

/// The ages of one event.
pub(super) fn read_ages_of(reader: &Reader, path: &str, value: &Value) -> Option<Ages> {
    let object = reader.object(path, value)?;
    let wall_ms = object.take_if("wall_ms", read_age);
    let mono_ms = object.take_if("mono_ms", read_age);
    object.close();
    Some(Ages {
        wall_ms: wall_ms?,
        mono_ms: mono_ms?,
    })
}

pub(super) fn read_age(reader: &Reader, path: &str, value: &Value) -> Option<i64> {
    let ms = value.as_i64().filter(|ms| (0..=OLDEST_MS).contains(ms));
    if ms.is_none() {
        let allowed = format!("a whole number of milliseconds from 0 to {OLDEST_MS}");
        reader.fault(path, "is no age", allowed);
    }
    ms
}

pub(super) fn read_value(reader: &Reader, path: &str, value: &Value) -> Option<(Event, Content)> {
    let object = reader.object(path, value)?;
    let content = Content::of(value);
    if content.text.len() > LARGEST_EVENT {
        reader.fault(
            path,
            "is too large",
            format!("an event of at most {LARGEST_EVENT} bytes"),
        );
        return None;
    }
    let id = object.take("id", id_of).map(EventId::new);
    let trip = object.take("trip", id_of).map(TripId::new);
    let device = object.take("device", id_of).map(DeviceId::new);
    let device_seq = object.take("device_seq", |r, p, v| r.whole(p, v, &SEQ));
    let kind = object.take("kind", |r, p, v| r.text(p, v, 60));
    let version = object.take("v", |r, p, v| r.whole(p, v, &VERSION));
    let about = object.take("about", typed::<About>);
    let knows = object.take("knows", typed::<Knows>);
    let by = object.take("by", typed::<By>);
    let at = object.take("at", Reader::instant);
    let app = object.take("app", |r, p, v| r.text(p, v, 60));
    let corrects = object.take_if("corrects", id_of);
    let fact = read_fact(&object, kind?.as_str(), version?);
    object.close();
    let event = Event {
        id: id?,
        trip: trip?,
        about: about?,
        device: device?,
        device_seq: u64::from(device_seq?),
        knows: knows?,
        by: by?,
        at: at?,
        app: app?,
        corrects: corrects?.map(EventId::new),
        fact: fact?,
    };
    check(reader, path, &event);
    Some((event, content))
}

fn read_fact(object: &Object<'_>, kind: &str, version: u32) -> Option<Fact> {
    object.take("payload", |reader, path, payload| {
        match Fact::from_wire(kind, version, payload) {
            Some(Ok(fact)) => Some(fact),
            Some(Err(fault)) => {
                let inner = fault.path().to_string();
                let path = if inner == "." {
                    path.to_owned()
                } else {
                    joined(path, &inner)
                };
                reader.fault(
                    path,
                    format!("does not fit: {}", fault.inner()),
                    format!("a payload of '{kind}'"),
                );
                None
            }
            None => Some(Fact::Unread(Unread {
                kind: kind.to_owned(),
                version,
                payload: payload.clone(),
            })),
        }
    })
}

fn check(reader: &Reader, path: &str, event: &Event) {
    if event.about.persons.len() > MOST_PERSONS {
        reader.fault(
            joined(path, "about.persons"),
            "is too long",
            format!("at most {MOST_PERSONS} people"),
        );
    }
    if event.by.name.trim().is_empty() {
        reader.fault(joined(path, "by.name"), "is empty", "the author's name");
    }
    // A clock can be wrong, but an event outside living memory is a slip of a program.
    let earliest = Timestamp::from_second(946_684_800).unwrap_or(Timestamp::UNIX_EPOCH);
    if event.at < earliest {
        reader.fault(
            joined(path, "at"),
            format!("is {}", event.at),
            "a time after the year 2000",
        );
    }
    for fault in event.fact.faults(&event.about) {
        reader.fault(joined(path, &fault.path), fault.what, fault.allowed);
    }
}

pub(super) fn id_of(reader: &Reader, path: &str, value: &Value) -> Option<uuid::Uuid> {
    let id = value
        .as_str()
        .and_then(|text| uuid::Uuid::try_parse(text).ok());
    if id.is_none() {
        reader.fault(path, "is not an identity", "a UUID (RFC 9562)");
    }
    id
}

fn typed<T: serde::de::DeserializeOwned>(reader: &Reader, path: &str, value: &Value) -> Option<T> {
    match serde_path_to_error::deserialize(value) {
        Ok(read) => Some(read),
        Err(fault) => {
            let inner = fault.path().to_string();
            let path = if inner == "." {
                path.to_owned()
            } else {
                joined(path, &inner)
            };
            reader.fault(path, format!("does not fit: {}", fault.inner()), "");
            None
        }
    }
}

pub(super) fn joined(path: &str, field: &str) -> String {
    if path.is_empty() {
        field.to_owned()
    } else {
        format!("{path}.{field}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample(payload: &Value, kind: &str) -> Value {
        json!({
            "id": "0190b5d2-0000-7000-8000-000000000001",
            "trip": "0190b5d2-0000-7000-8000-000000000002",
            "kind": kind, "v": 1, "payload": payload,
            "about": {"persons": ["0190b5d2-0000-7000-8000-000000000003"],
                      "group": "0190b5d2-0000-7000-8000-000000000004", "dive": 1},
            "device": "0190b5d2-0000-7000-8000-000000000005", "device_seq": 1,
            "knows": {}, "at": "2026-06-01T09:32:00Z", "app": "0.1.0",
            "by": {"crew": "0190b5d2-0000-7000-8000-000000000006", "name": "Ilka Voss", "role": "skipper"},
        })
    }

    #[test]
    fn the_content_is_the_same_whatever_order_the_keys_come_in() {
        let value = sample(
            &json!({"signal": "well", "place": null, "from_boat": null}),
            "at-surface",
        );
        let (event, content) = read(value.to_string().as_bytes()).unwrap();
        let mut backwards: Vec<_> = value.as_object().unwrap().iter().collect();
        backwards.reverse();
        let text = backwards
            .iter()
            .map(|(k, v)| format!("{k:?} : {v}"))
            .collect::<Vec<_>>()
            .join(" , ");
        let (again, same) = read(format!("{{{text}}}").as_bytes()).unwrap();
        assert_eq!((again, same), (event.clone(), content.clone()));
        assert_eq!(event.content(), content, "what is written is what was read");
    }

    #[test]
    fn a_kind_from_a_newer_program_is_kept_untouched() {
        let value = sample(&json!({"depth": [1, {"x": 2.5}]}), "buoy-dreamt");
        let (event, content) = read(value.to_string().as_bytes()).unwrap();
        assert!(matches!(&event.fact, Fact::Unread(unread) if unread.kind == "buoy-dreamt"));
        assert_eq!(event.content(), content);
    }

    #[test]
    fn a_malformed_event_is_refused_with_every_fault() {
        let mut value = sample(
            &json!({"vessel": {"kind": "own"}, "seen_by": "x", "detail": {"bar": 9000.0}}),
            "aboard",
        );
        value["odd"] = json!(1);
        value["device_seq"] = json!(0);
        value["about"]["persons"] = json!([]);
        value["at"] = json!("yesterday");
        let faults = read(value.to_string().as_bytes()).unwrap_err();
        let paths: Vec<_> = faults.iter().map(|f| f.path.clone()).collect();
        assert_eq!(
            paths,
            ["device_seq", "at", "payload.detail.bar", "odd"],
            "{faults}"
        );
    }

    #[test]
    fn each_person_aboard_is_named() {
        let mut value = sample(
            &json!({"vessel": {"kind": "own"}, "seen_by": "Ilka", "detail": {}}),
            "aboard",
        );
        value["about"]["persons"] = json!([
            "0190b5d2-0000-7000-8000-000000000003",
            "0190b5d2-0000-7000-8000-000000000007"
        ]);
        let faults = read(value.to_string().as_bytes()).unwrap_err();
        assert_eq!(faults.iter().next().unwrap().path, "about.persons");
    }

    #[test]
    fn ages_stand_beside_the_events_and_outside_their_content() {
        let event = sample(
            &json!({"signal": "well", "place": null, "from_boat": null}),
            "at-surface",
        );
        let bare = json!({"events": [event]}).to_string();
        let aged = json!({"events": [event], "ages": [{"wall_ms": 1500, "mono_ms": 1480}]});
        let bare = read_delivery(bare.as_bytes()).unwrap();
        let aged = read_delivery(aged.to_string().as_bytes()).unwrap();
        assert_eq!(bare[0].content, aged[0].content);
        assert_eq!(bare[0].ages, Ages::default());
        assert_eq!(aged[0].ages.wall_ms, Some(1500));
        assert_eq!(aged[0].ages.mono_ms, Some(1480));
    }

    #[test]
    fn every_fault_of_a_delivery_is_named() {
        let event = sample(
            &json!({"signal": "well", "place": null, "from_boat": null}),
            "at-surface",
        );
        let paths = |value: Value| -> Vec<String> {
            let faults = read_delivery(value.to_string().as_bytes()).unwrap_err();
            faults.into_iter().map(|fault| fault.path).collect()
        };
        let ages = json!([{"wall_ms": -1, "mono_ms": 1.5, "odd": 0}, 7]);
        assert_eq!(
            paths(json!({"events": [event, {}], "ages": ages, "odd": 1}))
                .into_iter()
                .filter(|path| !path.starts_with("events[1]"))
                .collect::<Vec<_>>(),
            [
                "ages[0].wall_ms",
                "ages[0].mono_ms",
                "ages[0].odd",
                "ages[1]",
                "odd"
            ]
        );
        assert_eq!(paths(json!({"events": [event], "ages": []})), ["ages"]);
        assert_eq!(paths(json!({"events": []})), ["events"]);
        assert_eq!(paths(json!({})), ["events"]);
        assert_eq!(paths(json!([])), [""]);
    }
}
