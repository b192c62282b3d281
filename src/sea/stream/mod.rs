//! Stream: the tidal stream of a place from a table of hours about high water.

use std::cmp::Ordering;

use jiff::{SignedDuration, Timestamp};

use super::drift::Velocity;
use super::drift::flow::between;
use crate::units::{Knots, SetTowards};

mod tides;
pub mod wire;

pub use tides::Tides;

/// Farthest from a high water that its table still tells the stream: half a lunar day of 12 h
/// 25 min from one high water to the next, and a quarter of an hour for unequal tides.
pub const REACH: SignedDuration = SignedDuration::from_mins(6 * 60 + 28);

/// The stream of one hour about high water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hour {
    /// Hours after high water, negative before it; -6 to 6.
    pub hour: i8,
    /// Where the stream sets.
    pub set: SetTowards,
    /// Rate at springs.
    pub spring: Knots,
    /// Rate at neaps.
    pub neap: Knots,
}

/// A high water, with the range of its tide in metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HighWater {
    /// When.
    pub at: Timestamp,
    /// Height of high over low water, metres.
    pub range_m: f64,
}

/// Why a table tells no stream.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum StreamError {
    /// Springs that are no larger than neaps leave no line between them. Said of the spring range.
    #[error("is not larger than the neap range")]
    Ranges,
    /// The instant is out of reach of every high water given.
    #[error("no high water within 6 h 28 min is given")]
    NoHighWater,
    /// The table has no rows about the hour asked for.
    #[error("the table has no rows on both sides of hour {tenths}/10")]
    NoRows {
        /// The hour about high water, in tenths.
        tenths: i16,
    },
}

/// A table of hours about high water.
#[derive(Debug, Clone, PartialEq)]
pub struct StreamTable {
    /// By hour, no hour twice.
    rows: Vec<Hour>,
    spring_range_m: f64,
    neap_range_m: f64,
}

/// The stream at an instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stream {
    /// As a vector, with the stream.
    pub velocity: Velocity,
    /// Hours after the nearest high water.
    pub hour: f64,
    /// Place of that tide between neaps (0) and springs (1); beyond them on the same line.
    pub factor: f64,
}

impl StreamTable {
    /// A table with the mean ranges of its port; of rows for the same hour the first counts.
    ///
    /// # Errors
    /// [`StreamError::Ranges`] where springs are not larger than neaps.
    pub fn new(
        mut rows: Vec<Hour>,
        spring_range_m: f64,
        neap_range_m: f64,
    ) -> Result<Self, StreamError> {
        // Written so that not-a-number is refused too.
        if spring_range_m.partial_cmp(&neap_range_m) != Some(Ordering::Greater) {
            return Err(StreamError::Ranges);
        }
        rows.sort_by_key(|row| row.hour);
        rows.dedup_by_key(|row| row.hour);
        Ok(Self {
            rows,
            spring_range_m,
            neap_range_m,
        })
    }

    /// The rows by hour.
    #[must_use]
    pub fn rows(&self) -> &[Hour] {
        &self.rows
    }

    /// Mean range of spring tides, metres.
    #[must_use]
    pub fn spring_range_m(&self) -> f64 {
        self.spring_range_m
    }

    /// Mean range of neap tides, metres.
    #[must_use]
    pub fn neap_range_m(&self) -> f64 {
        self.neap_range_m
    }

    /// The stream at `at`: between two hours as a vector, between neaps and springs on a
    /// straight line by the range of the tide.
    ///
    /// Between the last hour of one tide and the first of the next the line goes from one to
    /// the other.
    ///
    /// # Errors
    /// [`StreamError`] where no high water is near enough or the table has a hole there.
    ///
    /// # Source
    /// rate = neap + (spring - neap) x (range - neap range) / (spring range - neap range):
    /// R. Brown, sea-kayak navigation text, ch. 2.10.
    pub fn at(&self, high_waters: &[HighWater], at: Timestamp) -> Result<Stream, StreamError> {
        let nearest = nearest(high_waters, at)
            .filter(|tide| off(tide, at) <= REACH)
            .ok_or(StreamError::NoHighWater)?;
        let hour = at.duration_since(nearest.at).as_secs_f64() / 3600.0;
        let factor = self.factor(nearest.range_m);
        let rows = self.told(high_waters);
        let beyond = || {
            #[expect(
                clippy::cast_possible_truncation,
                reason = "within seven hours of a high water, as held above"
            )]
            let tenths = (hour * 10.0).round() as i16;
            StreamError::NoRows { tenths }
        };
        // Outside the outermost rows these hold on for the half hour that a table of thirteen
        // hours leaves open; a wider hole is told.
        let near = SignedDuration::from_mins(30);
        let widest = SignedDuration::from_hours(3);
        let before = rows.iter().rev().find(|(told, _)| *told <= at);
        let after = rows.iter().find(|(told, _)| *told >= at);
        let velocity = match (before, after) {
            (Some(before), Some(after)) if before.0 == after.0 => before.1,
            (Some(before), Some(after)) if after.0.duration_since(before.0) <= widest => {
                let whole = after.0.duration_since(before.0).as_secs_f64();
                let gone = at.duration_since(before.0).as_secs_f64();
                between(before.1, after.1, gone / whole)
            }
            (Some(only), None) | (None, Some(only)) if at.duration_since(only.0).abs() <= near => {
                only.1
            }
            _ => return Err(beyond()),
        };
        Ok(Stream {
            velocity,
            hour,
            factor,
        })
    }

    fn factor(&self, range_m: f64) -> f64 {
        (range_m - self.neap_range_m) / (self.spring_range_m - self.neap_range_m)
    }

    /// Every row of every tide as an instant and a vector, in order of time, each told by the
    /// high water nearest to it.
    fn told(&self, high_waters: &[HighWater]) -> Vec<(Timestamp, Velocity)> {
        let mut told = Vec::new();
        for tide in high_waters {
            for row in &self.rows {
                let Ok(at) = tide
                    .at
                    .checked_add(SignedDuration::from_hours(i64::from(row.hour)))
                else {
                    // Out of the calendar, and so out of anybody's reach.
                    continue;
                };
                if nearest(high_waters, at).is_some_and(|nearest| nearest.at == tide.at) {
                    told.push((at, self.velocity(row, tide.range_m)));
                }
            }
        }
        told.sort_by_key(|(at, _)| *at);
        told.dedup_by_key(|(at, _)| *at);
        told
    }

    fn velocity(&self, row: &Hour, range_m: f64) -> Velocity {
        let (neap_kn, spring_kn) = (row.neap.kn(), row.spring.kn());
        // Far below neaps the line would cross zero; a stream does not turn for that.
        let kn = (neap_kn + (spring_kn - neap_kn) * self.factor(range_m)).max(0.0);
        Velocity::towards_kn(row.set.deg(), kn)
    }
}

fn off(tide: &HighWater, at: Timestamp) -> SignedDuration {
    at.duration_since(tide.at).abs()
}

fn nearest(high_waters: &[HighWater], at: Timestamp) -> Option<HighWater> {
    high_waters.iter().min_by_key(|tide| off(tide, at)).copied()
}
