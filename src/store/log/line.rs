//! Lines: the place of an entry in the file is its trip's number there and its own, in one
//! figure, so that the entries of a trip lie together in the order they came.

use super::super::row::RowOf;
use super::super::{Head, StoreError};
use crate::trip::TripId;

/// The greatest number of an entry: what a line leaves it.
pub(in super::super) const LAST_ENTRY: u64 = 0xffff_ffff;

/// The line of an entry of the trip whose number is `nth`.
///
/// # Errors
/// [`StoreError::Row`] for an entry past what a line can hold.
pub(super) fn line(trip: TripId, nth: i64, entry: u64) -> Result<i64, StoreError> {
    if entry > LAST_ENTRY {
        let why = format!("{entry} is past {LAST_ENTRY}, the last a trip can have");
        return Err(StoreError::row("entry", "line", &trip, &why));
    }
    let within = i64::try_from(entry);
    within
        .ok()
        .zip(nth.checked_mul(1 << 32))
        .and_then(|(within, start)| start.checked_add(within))
        .ok_or_else(|| StoreError::row("trip", "nth", &trip, &format_args!("{nth} is too great")))
}

/// An entry's number to compare lines with: past the last is as good as the last.
pub(super) fn within(entry: u64) -> i64 {
    i64::try_from(entry.min(LAST_ENTRY)).unwrap_or(i64::MAX)
}

/// Where a log ends, as `trip_head` says it: no chain before the first entry.
pub(super) fn head(trip: TripId, entry: i64, chain: Option<&[u8]>) -> Result<Head, StoreError> {
    let key = trip.to_string();
    let row = RowOf {
        table: "trip_head",
        key: &key,
    };
    let start = Head::start(trip);
    Ok(match chain {
        None => Head {
            entry: row.figure("last_entry", entry)?,
            ..start
        },
        Some(chain) => Head {
            entry: row.figure("last_entry", entry)?,
            chain: row.digest("last_chain", chain)?,
        },
    })
}
