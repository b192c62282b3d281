//! Lines of a log as it leaves a box or a device: an event, and the receipt of the box that had
//! it first. What a device made and never delivered stands there without a receipt.

use jiff::{SignedDuration, Timestamp};
use serde_json::Value;
use uuid::Uuid;

use super::wire::{
    Ages, Content, LONGEST_BATCH, id_of, joined, read_age, read_ages_of, read_value,
};
use super::{Event, Receipt, TripId};
use crate::units::Faults;
use crate::units::document::{self, Reader};

/// The greatest number of an entry that a box gives, as the store keeps them.
const LAST_ENTRY: u64 = 0xffff_ffff;

/// How an event came to the box that had it first: what of a receipt holds on every box.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Travelled {
    /// When the event was made by that box's clock. Stands first: earlier ones come before.
    made_at: Timestamp,
    /// That box's clock at receipt.
    pub recorded_at: Timestamp,
    /// Age of the event at sending by the device's wall clock.
    pub wall_age_ms: Option<i64>,
    /// Age of the event at sending by the device's monotonic clock.
    pub mono_age_ms: Option<i64>,
    /// The run of that box.
    pub boot: Uuid,
    /// Its uptime at receipt, milliseconds.
    pub uptime_ms: u64,
}

impl Travelled {
    /// Of these parts.
    #[must_use]
    pub fn new(receipt: &Receipt, boot: Uuid, uptime_ms: u64) -> Self {
        Self {
            made_at: receipt.made_at(),
            recorded_at: receipt.recorded_at,
            wall_age_ms: receipt.wall_age_ms,
            mono_age_ms: receipt.mono_age_ms,
            boot,
            uptime_ms,
        }
    }
}

/// How an event of a line came there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Came {
    /// A box had it.
    Received {
        /// Its number on that box: the order in which it came there, of no meaning elsewhere.
        entry: u64,
        /// The rest of the receipt.
        receipt: Travelled,
    },
    /// Only its device had it, this old when it handed it over.
    Undelivered(Ages),
}

/// One line.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Its number in the text, from 1.
    pub number: usize,
    /// The event.
    pub event: Event,
    /// Its canonical content, reckoned here.
    pub content: Content,
    /// How it came there.
    pub came: Came,
}

impl Line {
    /// The order in which the lines of several copies are best written: as they were received,
    /// and what no box had at the end.
    #[must_use]
    pub fn order(&self) -> impl Ord + use<> {
        match &self.came {
            Came::Received { entry, receipt } => (false, receipt.recorded_at, *entry),
            Came::Undelivered(_) => (true, self.event.at, self.event.device_seq),
        }
    }
}

/// Reads lines of the log of `trip`, in JSON Lines: what `GET /api/trips/{trip}/log` answers, and
/// `{"event": …}` or `{"event": …, "ages": {"wall_ms": …, "mono_ms": …}}` for what no box had.
/// Empty lines are passed over.
///
/// # Errors
/// Every fault, with the number of its line: `line 3.event.at`.
pub fn read_lines(trip: TripId, text: &[u8]) -> Result<Vec<Line>, Faults> {
    let reader = Reader::new();
    let mut lines = Vec::new();
    for (number, raw) in (1..).zip(text.split(|byte| *byte == b'\n')) {
        let raw = raw.trim_ascii();
        if raw.is_empty() {
            continue;
        }
        let path = format!("line {number}");
        if lines.len() == LONGEST_BATCH {
            let allowed = format!("at most {LONGEST_BATCH} lines at once");
            reader.fault(path, "is one too many", allowed);
            break;
        }
        match document::parse(raw) {
            Ok(value) => lines.push(read_line(&reader, trip, number, &path, &value)),
            Err(faults) => {
                for fault in faults {
                    reader.fault(path.as_str(), fault.what, "one line of a log in JSON Lines");
                }
                lines.push(None);
            }
        }
    }
    if lines.is_empty() {
        reader.fault("", "holds no line", "at least one line of the log");
    }
    // Every line is read before any is missed, so that each fault is noted.
    reader.finish(lines.into_iter().collect())
}

fn read_line(
    reader: &Reader,
    trip: TripId,
    number: usize,
    path: &str,
    value: &Value,
) -> Option<Line> {
    let object = reader.object(path, value)?;
    let read = object.take("event", read_value);
    let hash = object.take_if("hash", read_digest);
    // The chain is of the box that wrote it: the events in between may be missing here.
    let chain = object.take_if("chain", read_digest);
    let receipt = object.take_if("receipt", read_receipt);
    let ages = object.take_if("ages", read_ages_of);
    object.close();
    let (event, content) = read?;
    if event.trip != trip {
        let path = joined(path, "event.trip");
        reader.fault(path, "is another trip", "the trip of the address");
    }
    if hash?.is_some_and(|hash| hash != content.hash) {
        let path = joined(path, "hash");
        reader.fault(
            path,
            "is not of the event",
            "its SHA-256: the line as it was written",
        );
    }
    chain?;
    let came = match (receipt?, ages?) {
        (Some((entry, receipt)), None) => Came::Received { entry, receipt },
        (None, ages) => Came::Undelivered(ages.unwrap_or_default()),
        (Some(_), Some(_)) => {
            let path = joined(path, "ages");
            reader.fault(path, "stands beside a receipt", "one of the two");
            return None;
        }
    };
    Some(Line {
        number,
        event,
        content,
        came,
    })
}

fn read_receipt(reader: &Reader, path: &str, value: &Value) -> Option<(u64, Travelled)> {
    let object = reader.object(path, value)?;
    let entry = object.take("entry", |r, p, v| read_whole(r, p, v, 1, LAST_ENTRY));
    let recorded_at = object.take("recorded_at", read_recorded);
    let wall_age_ms = object.take_if("wall_age_ms", read_age);
    let mono_age_ms = object.take_if("mono_age_ms", read_age);
    let boot = object.take("boot", id_of);
    // Fifty years, longer than any box runs.
    let uptime_ms = object.take("uptime_ms", |r, p, v| {
        read_whole(r, p, v, 0, 1_600_000_000_000)
    });
    // Who relayed it to that box; who relays it to this one is known here.
    let relayed = object.take_if("relayed_by", |r, p, v| r.text(p, v, 200));
    object.close();
    relayed?;
    let receipt = Receipt {
        entry: entry?,
        recorded_at: recorded_at?,
        wall_age_ms: wall_age_ms?,
        mono_age_ms: mono_age_ms?,
    };
    Some((receipt.entry, Travelled::new(&receipt, boot?, uptime_ms?)))
}

/// The clock of a box may have been wrong, also ahead of this one's: only what no clock says is
/// refused. Boxes count milliseconds.
fn read_recorded(reader: &Reader, path: &str, value: &Value) -> Option<Timestamp> {
    let at = reader.instant(path, value)?;
    let earliest = Timestamp::UNIX_EPOCH;
    let latest = earliest + SignedDuration::from_hours(24 * 366 * 150);
    if !(earliest..latest).contains(&at) {
        reader.fault(path, format!("is {at}"), "a time from 1970 to 2119");
        return None;
    }
    Timestamp::from_millisecond(at.as_millisecond()).ok()
}

fn read_whole(reader: &Reader, path: &str, value: &Value, least: u64, most: u64) -> Option<u64> {
    let number = value.as_u64().filter(|n| (least..=most).contains(n));
    if number.is_none() {
        let allowed = format!("a whole number from {least} to {most}");
        reader.fault(path, "is no such number", allowed);
    }
    number
}

fn read_digest(reader: &Reader, path: &str, value: &Value) -> Option<[u8; 32]> {
    let digest = value.as_str().and_then(from_hex);
    if digest.is_none() {
        reader.fault(path, "is no SHA-256", "64 hexadecimal digits");
    }
    digest
}

fn from_hex(text: &str) -> Option<[u8; 32]> {
    let mut bytes = [0; 32];
    if text.len() != 64 || !text.is_ascii() {
        return None;
    }
    for (byte, digits) in bytes.iter_mut().zip(text.as_bytes().chunks(2)) {
        let digits = std::str::from_utf8(digits).ok()?;
        if digits.starts_with('+') {
            return None;
        }
        *byte = u8::from_str_radix(digits, 16).ok()?;
    }
    Some(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;
    use sha2::{Digest, Sha256};

    const TRIP: &str = "0190b5d2-0000-7000-8000-000000000002";

    fn trip() -> TripId {
        TRIP.parse().unwrap()
    }

    fn event(seq: u32) -> Value {
        json!({
            "id": format!("0190b5d2-0000-7000-8000-0000000001{seq:02}"), "trip": TRIP,
            "kind": "incident-noted", "v": 1, "payload": {"text": "Ladder loose"},
            "about": {}, "device": "0190b5d2-0000-7000-8000-000000000005", "device_seq": seq,
            "knows": {}, "at": "2026-06-01T09:32:00Z", "app": "0.1.0",
            "by": {"crew": "0190b5d2-0000-7000-8000-000000000006", "name": "Ilka Voss", "role": "skipper"},
        })
    }

    fn line(seq: u32) -> Value {
        let event = event(seq);
        let hash: [u8; 32] = Sha256::digest(event.to_string()).into();
        json!({
            "event": event, "hash": hex(&hash),
            "chain": "00".repeat(32),
            "receipt": {"entry": 7, "recorded_at": "2026-06-01T09:40:00.25Z", "wall_age_ms": null,
                "mono_age_ms": 60_000, "boot": "0190b5d2-0000-4000-8000-000000000009", "uptime_ms": 12},
        })
    }

    fn hex(hash: &[u8; 32]) -> String {
        hash.iter()
            .fold(String::new(), |text, byte| text + &format!("{byte:02x}"))
    }

    fn faults(text: &str) -> Vec<String> {
        let faults = read_lines(trip(), text.as_bytes()).unwrap_err();
        faults.into_iter().map(|fault| fault.path).collect()
    }

    /// A log with the boat's own track is taken by another box: places have many figures.
    #[test]
    fn a_line_with_a_place_of_many_figures_keeps_its_hash() {
        for place in [
            [14.168_536_774_085_865, -27.644_584_272_573_738],
            [0.1, 45.000_000_000_000_01],
        ] {
            let mut one = event(1);
            one["kind"] = json!("boat-positioned");
            one["payload"] = json!({"position": place, "source": "instruments"});
            let hash: [u8; 32] = Sha256::digest(one.to_string()).into();
            let text = json!({"event": one, "hash": hex(&hash)}).to_string();
            let read = read_lines(trip(), text.as_bytes()).unwrap();
            assert_eq!(read[0].content.hash, hash);
        }
    }

    #[test]
    fn lines_with_and_without_a_receipt_are_read_and_empty_ones_passed_over() {
        let bare = json!({"event": event(2), "ages": {"mono_ms": 5}});
        let text = format!("{}\r\n\n{}\n{bare}\n", line(1), json!({"event": event(3)}));
        let read = read_lines(trip(), text.as_bytes()).unwrap();
        let numbers: Vec<_> = read.iter().map(|line| line.number).collect();
        assert_eq!(numbers, [1, 3, 4]);
        let Came::Received { entry: 7, receipt } = &read[0].came else {
            panic!("{:?}", read[0].came)
        };
        assert_eq!(receipt.recorded_at.to_string(), "2026-06-01T09:40:00.25Z");
        assert_eq!(receipt.made_at.to_string(), "2026-06-01T09:39:00.25Z");
        assert_eq!(read[1].came, Came::Undelivered(Ages::default()));
        let aged = Ages {
            wall_ms: None,
            mono_ms: Some(5),
        };
        assert_eq!(read[2].came, Came::Undelivered(aged));
    }

    #[test]
    fn every_fault_is_named_with_its_line() {
        let mut odd = line(2);
        odd["hash"] = json!("ff".repeat(32));
        odd["receipt"]["entry"] = json!(0);
        odd["receipt"]["boot"] = json!("x");
        odd["receipt"]["uptime_ms"] = json!(-1);
        odd["receipt"]["recorded_at"] = json!("1969-12-31T00:00:00Z");
        odd["receipt"]["extra"] = json!(1);
        odd["more"] = json!(1);
        odd["event"]["device_seq"] = json!(0);
        let mut other = line(3);
        other["event"]["trip"] = json!("0190b5d2-0000-7000-8000-00000000000a");
        other["ages"] = json!({"wall_ms": -1});
        other["chain"] = json!("+0".repeat(32));
        let mut twice = line(4);
        twice["ages"] = json!({});
        let text = format!("{}\n{odd}\n{other}\n{{\n[]\n{{}}\n{twice}", line(1));
        assert_eq!(
            faults(&text),
            [
                "line 2.event.device_seq",
                "line 2.receipt.entry",
                "line 2.receipt.recorded_at",
                "line 2.receipt.boot",
                "line 2.receipt.uptime_ms",
                "line 2.receipt.extra",
                "line 2.more",
                "line 3.chain",
                "line 3.ages.wall_ms",
                "line 3.event.trip",
                "line 3.hash",
                "line 4",
                "line 5",
                "line 6.event",
                "line 7.ages",
            ]
        );
        assert_eq!(faults("\n \n"), [""]);
    }

    #[test]
    fn the_hash_must_be_that_of_the_event() {
        let mut changed = line(1);
        changed["event"]["payload"]["text"] = json!("Ladder sound");
        assert_eq!(faults(&changed.to_string()), ["line 1.hash"]);
    }

    #[test]
    fn a_receipt_made_earlier_comes_first_whatever_its_other_parts_say() {
        let receipt = |recorded: &str, age| Receipt {
            entry: 1,
            recorded_at: recorded.parse().unwrap(),
            wall_age_ms: age,
            mono_age_ms: None,
        };
        let late = Travelled::new(
            &receipt("2026-06-01T10:00:00Z", Some(3_600_000)),
            Uuid::nil(),
            9,
        );
        let soon = Travelled::new(&receipt("2026-06-01T09:30:00Z", None), Uuid::nil(), 0);
        assert!(late < soon);
    }
}
