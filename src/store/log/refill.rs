//! The second copy: lines of a log that devices kept come back into a box that lost it, or never
//! had it, by set union. Their receipts come with them; the numbers of the entries are this box's.

use std::collections::BTreeMap;

use jiff::Timestamp;
use sqlx::Connection;
use sqlx::sqlite::SqliteConnection;
use tokio::sync::oneshot;

use super::super::crew::note;
use super::super::row::{RowOf, signed};
use super::super::{Store, StoreError};
use super::append::{
    Done, End, Ends, Inserted, Stamp, end_of, gone, insert, keep_aside, list, note_opening,
};
use super::line::line;
use super::{AppendError, Head, Incoming, Work};
use crate::trip::TripId;
use crate::trip::event::{
    Ages, Came, CrewId, DeviceId, EventId, Fact, Line, Receipt, Travelled, digest,
};

/// Who hands lines over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bringer {
    /// The account.
    pub crew: CrewId,
    /// Its name.
    pub name: String,
    /// The device that is signed in.
    pub device: DeviceId,
}

/// What became of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Taken {
    /// It was written as this entry.
    New {
        /// The box's number.
        entry: u64,
    },
    /// It stands there already, with the same content.
    Repeat {
        /// The number it got the first time.
        entry: u64,
    },
    /// Its id, or its number of its device, stands there with other content. It was kept aside.
    Clash {
        /// The trip in which the other stands.
        stands_in: TripId,
        /// The entry of the other.
        stands_at: u64,
    },
}

/// What came of lines that were handed over.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Refilled {
    /// For each line, in the order given.
    pub lines: Vec<Taken>,
    /// Entries that stood there and now count from an earlier time.
    pub earlier: usize,
}

impl Refilled {
    /// How many were new, were there, and were kept aside.
    #[must_use]
    pub fn counts(&self) -> (usize, usize, usize) {
        let count = |is: fn(&Taken) -> bool| self.lines.iter().filter(|one| is(one)).count();
        (
            count(|one| matches!(one, Taken::New { .. })),
            count(|one| matches!(one, Taken::Repeat { .. })),
            count(|one| matches!(one, Taken::Clash { .. })),
        )
    }
}

/// A time at which lines were handed over that were not all here.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RefillRow {
    /// When, by this box's clock.
    pub at: Timestamp,
    /// Who brought them.
    pub by: Bringer,
    /// How many were new.
    pub taken: usize,
    /// How many stood here already.
    pub repeats: usize,
    /// How many were kept aside.
    pub clashes: usize,
}

/// What a box holds of one device.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Numbers {
    /// Up to here nothing is missing.
    pub through: u64,
    /// The highest that is here.
    pub highest: u64,
    /// What is missing between the two: first and last of each run.
    pub missing: Vec<(u64, u64)>,
}

impl Numbers {
    /// Of numbers in rising order, each once.
    fn of(numbers: &[u64]) -> Self {
        let mut told = Self::default();
        for number in numbers {
            if *number > told.highest + 1 {
                told.missing.push((told.highest + 1, number - 1));
            }
            told.highest = *number;
        }
        told.through = told
            .missing
            .first()
            .map_or(told.highest, |(first, _)| first - 1);
        told
    }
}

/// What a box holds of a trip, in few words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Holds {
    /// How many entries.
    pub entries: usize,
    /// Their [`digest`]: the same on every box that holds the same events.
    pub digest: [u8; 32],
    /// Per device.
    pub devices: BTreeMap<DeviceId, Numbers>,
}

/// Lines on their way to the writer.
#[derive(Debug)]
pub(super) struct Refill {
    lines: Vec<Line>,
    by: Bringer,
    tell: oneshot::Sender<Refilled>,
}

impl Store {
    /// Takes in lines of a log that devices kept: set union by the event's id.
    ///
    /// All that is new goes in by one commit, in the order of its receipts; what clashes is kept
    /// aside by the same commit and keeps nothing else out. An entry that stands here already
    /// takes the receipt of the line if that tells of an earlier time. Who brought it stands
    /// beside each new entry, in [`Store::refills`] and in the audit.
    ///
    /// # Errors
    /// [`AppendError::OtherTrip`] for a line of another trip; else if the store fails. Then
    /// nothing is written, or at worst written and not acknowledged, which a repeat finds out.
    pub async fn refill(
        &self,
        trip: TripId,
        lines: Vec<Line>,
        by: Bringer,
    ) -> Result<Refilled, AppendError> {
        if let Some(index) = lines.iter().position(|line| line.event.trip != trip) {
            return Err(AppendError::OtherTrip { index });
        }
        if lines.is_empty() {
            return Ok(Refilled::default());
        }
        let (tell, told) = oneshot::channel();
        let work = Work::Refill(Box::new(Refill { lines, by, tell }));
        self.write(trip, work).await?;
        told.await.map_err(|_| gone().into())
    }

    /// Every time lines were handed over that were not all here, the first one first.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn refills(&self, trip: TripId) -> Result<Vec<RefillRow>, StoreError> {
        let found: Vec<Row> = sqlx::query_as(
            "SELECT nth, at, crew, name, device, taken, repeats, clashes FROM refill \
             WHERE trip = $1 ORDER BY nth",
        )
        .bind(trip.to_string())
        .fetch_all(self.readers())
        .await?;
        found.into_iter().map(RefillRow::try_from).collect()
    }

    /// Entries that were brought by somebody else than who made them, with the name of who.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn relayed(&self, trip: TripId) -> Result<BTreeMap<u64, String>, StoreError> {
        let found: Vec<(i64, String)> = sqlx::query_as(
            "SELECT line & 4294967295, refill.name FROM trip JOIN relayed \
             ON line > trip.nth << 32 AND line <= (trip.nth << 32) + 4294967295 \
             JOIN refill ON refill.nth = relayed.refill WHERE id = $1",
        )
        .bind(trip.to_string())
        .fetch_all(self.readers())
        .await?;
        let key = trip.to_string();
        let row = RowOf {
            table: "relayed",
            key: &key,
        };
        found
            .into_iter()
            .map(|(entry, name)| Ok((row.figure("line", entry)?, name)))
            .collect()
    }

    /// What this box holds of a trip; of one that is not here, nothing.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn holds(&self, trip: TripId) -> Result<Holds, StoreError> {
        let found: Vec<(String, i64, Vec<u8>)> = sqlx::query_as(
            "SELECT device, device_seq, hash FROM trip JOIN entry \
             ON line > nth << 32 AND line <= (nth << 32) + 4294967295 \
             WHERE id = $1 ORDER BY device, device_seq",
        )
        .bind(trip.to_string())
        .fetch_all(self.readers())
        .await?;
        let key = trip.to_string();
        let row = RowOf {
            table: "entry",
            key: &key,
        };
        let mut numbers: BTreeMap<DeviceId, Vec<u64>> = BTreeMap::new();
        let mut hashes = Vec::with_capacity(found.len());
        for (device, seq, hash) in found {
            let of = numbers.entry(row.parse("device", &device)?).or_default();
            of.push(row.figure("device_seq", seq)?);
            hashes.push(row.digest("hash", &hash)?);
        }
        Ok(Holds {
            entries: hashes.len(),
            digest: digest(hashes),
            devices: numbers
                .into_iter()
                .map(|(device, numbers)| (device, Numbers::of(&numbers)))
                .collect(),
        })
    }
}

#[derive(sqlx::FromRow)]
struct Row {
    nth: i64,
    at: i64,
    crew: String,
    name: String,
    device: String,
    taken: i64,
    repeats: i64,
    clashes: i64,
}

impl TryFrom<Row> for RefillRow {
    type Error = StoreError;
    fn try_from(found: Row) -> Result<Self, StoreError> {
        let key = found.nth.to_string();
        let row = RowOf {
            table: "refill",
            key: &key,
        };
        Ok(Self {
            at: row.instant("at", found.at)?,
            by: Bringer {
                crew: row.parse("crew", &found.crew)?,
                name: found.name,
                device: row.parse("device", &found.device)?,
            },
            taken: row.figure("taken", found.taken)?,
            repeats: row.figure("repeats", found.repeats)?,
            clashes: row.figure("clashes", found.clashes)?,
        })
    }
}

/// What a refill writes besides entries.
#[derive(Default)]
struct Beside {
    relayed: Vec<i64>,
    earlier: Vec<(i64, Travelled)>,
    written: u64,
}

/// One refill inside a transaction.
pub(super) async fn job(
    connection: &mut SqliteConnection,
    stamp: &Stamp,
    ends: &mut Ends,
    trip: TripId,
    refill: Refill,
) -> Result<Done, StoreError> {
    let Refill { lines, by, tell } = refill;
    let end = end_of(connection, ends, trip).await?;
    let mut inner = connection.begin().await?;
    let nth = match end.nth {
        Some(nth) => nth,
        None => list(&mut inner, trip).await?,
    };
    let mut order: Vec<usize> = (0..lines.len()).collect();
    order.sort_by_cached_key(|index| lines.get(*index).map(Line::order));
    let mut head = end.head;
    let mut taken = BTreeMap::new();
    let mut beside = Beside::default();
    for index in order {
        if let Some(line) = lines.get(index) {
            let became = take(&mut inner, stamp, nth, &mut head, &mut beside, line).await?;
            taken.insert(index, became);
        }
    }
    let refilled = Refilled {
        lines: taken.into_values().collect(),
        earlier: beside.earlier.len(),
    };
    if head.entry == end.head.entry && end.nth.is_none() {
        // Nothing of it is new: the trip is not listed for that.
        inner.rollback().await?;
    } else {
        inner.commit().await?;
        let nth = Some(nth);
        ends.insert(trip, End { nth, head });
    }
    for (one, became) in lines.iter().zip(&refilled.lines) {
        if matches!(became, Taken::Clash { .. }) {
            keep_aside(connection, stamp, trip, &incoming(one)).await?;
        }
    }
    put_on_record(connection, stamp, trip, &by, &refilled, &beside).await?;
    // Heard only after the commit. The asker may have gone; what is written stands.
    drop(tell.send(refilled));
    Ok(Done {
        answer: Ok(Vec::new()),
        written: beside.written,
    })
}

fn incoming(line: &Line) -> Incoming {
    let ages = match &line.came {
        Came::Received { receipt, .. } => Ages {
            wall_ms: receipt.wall_age_ms,
            mono_ms: receipt.mono_age_ms,
        },
        Came::Undelivered(ages) => *ages,
    };
    Incoming {
        event: line.event.clone(),
        content: line.content.clone(),
        wall_age_ms: ages.wall_ms,
        mono_age_ms: ages.mono_ms,
    }
}

async fn take(
    connection: &mut SqliteConnection,
    stamp: &Stamp,
    nth: i64,
    head: &mut Head,
    beside: &mut Beside,
    one: &Line,
) -> Result<Taken, StoreError> {
    let travelled = match &one.came {
        Came::Received { receipt, .. } => Some(receipt),
        Came::Undelivered(_) => None,
    };
    let first = travelled.map(|receipt| Stamp {
        now: receipt.recorded_at,
        now_ms: receipt.recorded_at.as_millisecond(),
        boot: receipt.boot.to_string(),
        uptime_ms: i64::try_from(receipt.uptime_ms).unwrap_or(i64::MAX),
    });
    let stamp = first.as_ref().unwrap_or(stamp);
    let next = head.then(&one.content.hash);
    let inserted = insert(connection, stamp, nth, next, &incoming(one)).await?;
    Ok(match inserted {
        Inserted::New => {
            *head = next;
            beside.written += one.content.text.len() as u64;
            beside.relayed.push(line(one.event.trip, nth, next.entry)?);
            if let Fact::TripOpened(opened) = &one.event.fact {
                note_opening(connection, one.event.trip, one.event.at, opened).await?;
            }
            Taken::New { entry: next.entry }
        }
        Inserted::Repeat(entry) => {
            let stands_on = line(one.event.trip, nth, entry)?;
            if let Some(receipt) = travelled
                && is_earlier(connection, one.event.id, stands_on, beside, receipt).await?
            {
                beside.earlier.push((stands_on, receipt.clone()));
            }
            Taken::Repeat { entry }
        }
        Inserted::Clash(stands_in, stands_at) => Taken::Clash {
            stands_in,
            stands_at,
        },
    })
}

type ReceiptRow = (i64, Option<i64>, Option<i64>, String, i64);

/// Whether a receipt tells of an earlier time than all that the entry has.
async fn is_earlier(
    connection: &mut SqliteConnection,
    event: EventId,
    stands_on: i64,
    beside: &Beside,
    receipt: &Travelled,
) -> Result<bool, StoreError> {
    let found: Vec<ReceiptRow> = sqlx::query_as(
        "SELECT recorded_at, wall_age_ms, mono_age_ms, boot, uptime_ms FROM entry \
         WHERE line = $1 UNION ALL \
         SELECT recorded_at, wall_age_ms, mono_age_ms, boot, uptime_ms FROM earlier_receipt \
         WHERE line = $1",
    )
    .bind(stands_on)
    .fetch_all(connection)
    .await?;
    let key = event.to_string();
    for row in found {
        if travelled(&key, row)? <= *receipt {
            return Ok(false);
        }
    }
    let brought = beside.earlier.iter().filter(|(on, _)| *on == stands_on);
    Ok(brought.into_iter().all(|(_, held)| receipt < held))
}

fn travelled(key: &str, found: ReceiptRow) -> Result<Travelled, StoreError> {
    let (recorded_at, wall_age_ms, mono_age_ms, boot, uptime_ms) = found;
    let row = RowOf {
        table: "entry",
        key,
    };
    let receipt = Receipt {
        entry: 0,
        recorded_at: row.instant("recorded_at", recorded_at)?,
        wall_age_ms,
        mono_age_ms,
    };
    let boot = row.parse("boot", &boot)?;
    Ok(Travelled::new(
        &receipt,
        boot,
        row.figure("uptime_ms", uptime_ms)?,
    ))
}

/// Writes who brought it; not for lines that all stood here, which changed nothing.
async fn put_on_record(
    connection: &mut SqliteConnection,
    stamp: &Stamp,
    trip: TripId,
    by: &Bringer,
    refilled: &Refilled,
    beside: &Beside,
) -> Result<(), StoreError> {
    let (new, repeats, clashes) = refilled.counts();
    if new + clashes + refilled.earlier == 0 {
        return Ok(());
    }
    let figure = |count: usize| signed("refill", "taken", trip, count as u64);
    let nth: i64 = sqlx::query_scalar(
        "INSERT INTO refill (trip, at, crew, name, device, taken, repeats, clashes) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8) RETURNING nth",
    )
    .bind(trip.to_string())
    .bind(stamp.now_ms)
    .bind(by.crew.to_string())
    .bind(by.name.as_str())
    .bind(by.device.to_string())
    .bind(figure(new)?)
    .bind(figure(repeats)?)
    .bind(figure(clashes)?)
    .fetch_one(&mut *connection)
    .await?;
    for on in &beside.relayed {
        sqlx::query("INSERT INTO relayed (line, refill) VALUES ($1, $2)")
            .bind(on)
            .bind(nth)
            .execute(&mut *connection)
            .await?;
    }
    for (on, receipt) in &beside.earlier {
        sqlx::query(
            "INSERT INTO earlier_receipt (line, recorded_at, wall_age_ms, mono_age_ms, boot, \
             uptime_ms, refill) VALUES ($1, $2, $3, $4, $5, $6, $7)",
        )
        .bind(on)
        .bind(receipt.recorded_at.as_millisecond())
        .bind(receipt.wall_age_ms)
        .bind(receipt.mono_age_ms)
        .bind(receipt.boot.to_string())
        .bind(signed(
            "earlier_receipt",
            "uptime_ms",
            trip,
            receipt.uptime_ms,
        )?)
        .bind(nth)
        .execute(&mut *connection)
        .await?;
    }
    let what = format!(
        "refilled trip {trip}: {new} new, {repeats} there, {clashes} kept aside, {} earlier",
        refilled.earlier
    );
    note(connection, stamp.now, Some(by.crew), Some(by.device), &what).await
}

#[cfg(test)]
mod tests {
    use super::Numbers;

    #[test]
    fn numbers_are_told_by_what_is_missing() {
        let told = |numbers: &[u64]| {
            let Numbers {
                through,
                highest,
                missing,
            } = Numbers::of(numbers);
            (through, highest, missing)
        };
        assert_eq!(told(&[]), (0, 0, vec![]));
        assert_eq!(told(&[1, 2, 3]), (3, 3, vec![]));
        assert_eq!(told(&[2]), (0, 2, vec![(1, 1)]));
        assert_eq!(told(&[1, 4, 5, 9]), (1, 9, vec![(2, 3), (6, 8)]));
    }
}
