//! The tides of a site: its stream table with the high waters that are known.

use std::fmt;
use std::str::FromStr;

use jiff::{SignedDuration, Timestamp};
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::{HighWater, REACH, Stream, StreamError, StreamTable, wire};
use crate::units::Faults;
use crate::units::document::parse;

/// A stream table with high waters. On the wire: the `stream` document without its instant.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "Value", into = "Value")]
pub struct Tides {
    table: StreamTable,
    high_waters: Vec<HighWater>,
}

impl Tides {
    /// A table with high waters, in any order; none may be known yet.
    #[must_use]
    pub fn new(table: StreamTable, mut high_waters: Vec<HighWater>) -> Self {
        high_waters.sort_by_key(|tide| tide.at);
        Self { table, high_waters }
    }

    /// The table.
    #[must_use]
    pub fn table(&self) -> &StreamTable {
        &self.table
    }

    /// The high waters, by time.
    #[must_use]
    pub fn high_waters(&self) -> &[HighWater] {
        &self.high_waters
    }

    /// The stream at `at`.
    ///
    /// # Errors
    /// [`StreamError`] where no high water is near enough or the table has a hole there.
    pub fn at(&self, at: Timestamp) -> Result<Stream, StreamError> {
        self.table.at(&self.high_waters, at)
    }

    /// The same tides with no more high waters than tell the stream from `from` to `until`.
    #[must_use]
    pub fn between(&self, from: Timestamp, until: Timestamp) -> Self {
        // The one before and the one after bound the reach of those between.
        let reach = REACH + REACH;
        let near = |tide: &&HighWater| {
            tide.at.duration_since(from) >= SignedDuration::ZERO - reach
                && tide.at.duration_since(until) <= reach
        };
        Self {
            table: self.table.clone(),
            high_waters: self.high_waters.iter().filter(near).copied().collect(),
        }
    }
}

impl TryFrom<Value> for Tides {
    type Error = Faults;
    fn try_from(value: Value) -> Result<Self, Faults> {
        wire::read_tides(&value)
    }
}

impl From<Tides> for Value {
    fn from(tides: Tides) -> Self {
        wire::tell_tides(&tides)
    }
}

impl FromStr for Tides {
    type Err = Faults;
    fn from_str(text: &str) -> Result<Self, Faults> {
        wire::read_tides(&parse(text.as_bytes())?)
    }
}

/// The document.
impl fmt::Display for Tides {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        wire::tell_tides(self).fmt(f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TIDES: &str = r#"{"table": [
            {"hour": 0, "set_deg": 20, "spring_kn": 2.0, "neap_kn": 1.0},
            {"hour": 1, "set_deg": 20, "spring_kn": 2.0, "neap_kn": 1.0}],
          "high_water": [
            {"at": "2026-06-02T00:25:00Z", "range_m": 3.0},
            {"at": "2026-06-01T12:00:00Z", "range_m": 3.0},
            {"at": "2026-06-09T12:00:00Z", "range_m": 3.0}],
          "spring_range_m": 4.0, "neap_range_m": 2.0}"#;

    fn instant(text: &str) -> Timestamp {
        text.parse().unwrap()
    }

    #[test]
    fn tides_are_written_as_they_were_read() {
        let tides: Tides = TIDES.parse().unwrap();
        assert_eq!(tides.to_string().parse::<Tides>().unwrap(), tides);
        assert!(tides.at(instant("2026-06-01T12:30:00Z")).is_ok());
        assert!(tides.at(instant("2026-06-05T12:30:00Z")).is_err());
        let none = tides.between(Timestamp::UNIX_EPOCH, Timestamp::UNIX_EPOCH);
        assert!(none.high_waters().is_empty());
        assert_eq!(none.to_string().parse::<Tides>().unwrap(), none);
    }

    /// What a trip takes along tells the same stream over its time.
    #[test]
    fn the_tides_of_a_day_tell_the_same() {
        let tides: Tides = TIDES.parse().unwrap();
        let (from, until) = (
            instant("2026-06-01T12:00:00Z"),
            instant("2026-06-01T13:00:00Z"),
        );
        let day = tides.between(from, until);
        assert_eq!(day.high_waters().len(), 2);
        assert_eq!(day.at(until), tides.at(until));
    }
}
