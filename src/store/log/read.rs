//! Reading the log: entries, heads, what a page knew, the list of trips, what was kept aside.

use std::collections::BTreeMap;

use super::super::plant::{self, Plant};
use super::super::row::RowOf;
use super::super::{Store, StoreError};
use super::line::{head, within};
use super::{Head, LogEntry, TripNote, TripRow};
use crate::trip::TripId;
use crate::trip::event::{self, DeviceId, Entry, Knows, Receipt, Travelled};

#[derive(sqlx::FromRow)]
struct EntryRow {
    entry: i64,
    content: String,
    hash: Vec<u8>,
    chain: Vec<u8>,
    recorded_at: i64,
    wall_age_ms: Option<i64>,
    mono_age_ms: Option<i64>,
    boot: String,
    uptime_ms: i64,
    relayed_by: Option<String>,
}

/// A receipt of an entry with an earlier reckoned time than the one it was written with.
#[derive(sqlx::FromRow)]
struct EarlierRow {
    entry: i64,
    recorded_at: i64,
    wall_age_ms: Option<i64>,
    mono_age_ms: Option<i64>,
    boot: String,
    uptime_ms: i64,
}

impl EarlierRow {
    /// The receipt that counts, of this one and the entry's: the earlier one.
    fn over(self, kept: &mut LogEntry, trip: TripId) -> Result<(), StoreError> {
        let key = format!("{trip}/{}", self.entry);
        let row = RowOf {
            table: "earlier_receipt",
            key: &key,
        };
        let receipt = Receipt {
            entry: kept.receipt.entry,
            recorded_at: row.instant("recorded_at", self.recorded_at)?,
            wall_age_ms: self.wall_age_ms,
            mono_age_ms: self.mono_age_ms,
        };
        let boot = row.parse("boot", &self.boot)?;
        let uptime_ms = row.figure("uptime_ms", self.uptime_ms)?;
        let held = Travelled::new(&kept.receipt, kept.boot, kept.uptime_ms);
        if Travelled::new(&receipt, boot, uptime_ms) < held {
            (kept.receipt, kept.boot, kept.uptime_ms) = (receipt, boot, uptime_ms);
        }
        Ok(())
    }
}

impl EntryRow {
    fn read(self, trip: TripId) -> Result<LogEntry, StoreError> {
        let key = format!("{trip}/{}", self.entry);
        let row = RowOf {
            table: "entry",
            key: &key,
        };
        Ok(LogEntry {
            hash: row.digest("hash", &self.hash)?,
            chain: row.digest("chain", &self.chain)?,
            receipt: Receipt {
                entry: row.figure("entry", self.entry)?,
                recorded_at: row.instant("recorded_at", self.recorded_at)?,
                wall_age_ms: self.wall_age_ms,
                mono_age_ms: self.mono_age_ms,
            },
            boot: row.parse("boot", &self.boot)?,
            uptime_ms: row.figure("uptime_ms", self.uptime_ms)?,
            content: self.content,
            relayed_by: self.relayed_by,
        })
    }
}

#[derive(sqlx::FromRow)]
struct TripRowRow {
    id: String,
    day: Option<String>,
    harbour: Option<String>,
    boat: Option<String>,
    drill: bool,
    opened_at: Option<i64>,
    closed: bool,
    last_entry: i64,
    last_chain: Option<Vec<u8>>,
}

impl TryFrom<TripRowRow> for TripRow {
    type Error = StoreError;
    fn try_from(found: TripRowRow) -> Result<Self, StoreError> {
        let row = RowOf {
            table: "trip",
            key: &found.id,
        };
        let trip = row.parse("id", &found.id)?;
        Ok(Self {
            trip,
            day: row.parse_if("day", found.day.as_deref())?,
            opened_at: found
                .opened_at
                .map(|ms| row.instant("opened_at", ms))
                .transpose()?,
            head: head(trip, found.last_entry, found.last_chain.as_deref())?,
            harbour: found.harbour,
            boat: found.boat,
            drill: found.drill,
            closed: found.closed,
        })
    }
}

impl Store {
    /// The entries of a trip after `after` (0: all), in the order of their numbers. Of several
    /// receipts each has the one with the earliest reckoned time.
    ///
    /// # Errors
    /// [`StoreError`], naming the row if one makes no sense.
    pub async fn log(&self, trip: TripId, after: u64) -> Result<Vec<LogEntry>, StoreError> {
        let rows: Vec<EntryRow> = sqlx::query_as(
            "SELECT entry.entry, content, hash, chain, recorded_at, wall_age_ms, mono_age_ms, \
             boot, uptime_ms, refill.name AS relayed_by FROM trip JOIN entry \
             ON entry.line > (trip.nth << 32) + $2 \
             AND entry.line <= (trip.nth << 32) + 4294967295 \
             LEFT JOIN relayed ON relayed.line = entry.line \
             LEFT JOIN refill ON refill.nth = relayed.refill \
             WHERE id = $1 ORDER BY entry.line",
        )
        .bind(trip.to_string())
        .bind(within(after))
        .fetch_all(self.readers())
        .await?;
        let mut log: Vec<LogEntry> = rows
            .into_iter()
            .map(|row| row.read(trip))
            .collect::<Result<_, _>>()?;
        self.count_from_earliest(trip, after, &mut log).await?;
        Ok(log)
    }

    async fn count_from_earliest(
        &self,
        trip: TripId,
        after: u64,
        log: &mut [LogEntry],
    ) -> Result<(), StoreError> {
        let earlier: Vec<EarlierRow> = sqlx::query_as(
            "SELECT line & 4294967295 AS entry, recorded_at, wall_age_ms, mono_age_ms, boot, \
             uptime_ms FROM trip JOIN earlier_receipt \
             ON line > (nth << 32) + $2 AND line <= (nth << 32) + 4294967295 WHERE id = $1",
        )
        .bind(trip.to_string())
        .bind(within(after))
        .fetch_all(self.readers())
        .await?;
        for row in earlier {
            let number = u64::try_from(row.entry).unwrap_or(0);
            let at = log.binary_search_by_key(&number, |kept| kept.receipt.entry);
            if let Some(kept) = at.ok().and_then(|at| log.get_mut(at)) {
                row.over(kept, trip)?;
            }
        }
        Ok(())
    }

    /// The same as the fold reads them.
    ///
    /// # Errors
    /// As [`Store::log`]; content that cannot be read as an event any more is named, too.
    pub async fn entries(&self, trip: TripId, after: u64) -> Result<Vec<Entry>, StoreError> {
        read_entries(trip, self.log(trip, after).await?)
    }

    /// Where a trip's log ends; none for a trip that is not here.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn head(&self, trip: TripId) -> Result<Option<Head>, StoreError> {
        Ok(self.trip(trip).await?.map(|row| row.head))
    }

    /// A trip as lists show it; none if it is not here.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn trip(&self, trip: TripId) -> Result<Option<TripRow>, StoreError> {
        let found: Option<TripRowRow> = sqlx::query_as(
            "SELECT id, day, harbour, boat, drill, opened_at, closed, last_entry, \
             last_chain FROM trip_head WHERE id = $1",
        )
        .bind(trip.to_string())
        .fetch_optional(self.readers())
        .await?;
        found.map(TripRow::try_from).transpose()
    }

    /// All trips, the latest day first.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn trips(&self) -> Result<Vec<TripRow>, StoreError> {
        let found: Vec<TripRowRow> = sqlx::query_as(
            "SELECT id, day, harbour, boat, drill, opened_at, closed, last_entry, \
             last_chain FROM trip_head ORDER BY day DESC NULLS FIRST, opened_at DESC, id DESC",
        )
        .fetch_all(self.readers())
        .await?;
        found.into_iter().map(TripRow::try_from).collect()
    }

    /// Notes for the lists what a trip's fold says. Returns whether the trip is here.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn note_trip(&self, trip: TripId, note: &TripNote) -> Result<bool, StoreError> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let done = sqlx::query(
            "UPDATE trip SET day = $2, harbour = $3, boat = $4, closed = $5 WHERE id = $1",
        )
        .bind(trip.to_string())
        .bind(note.day.to_string())
        .bind(note.harbour.as_str())
        .bind(note.boat.as_str())
        .bind(note.closed)
        .execute(write.on())
        .await?;
        write.commit(0).await?;
        Ok(done.rows_affected() == 1)
    }

    /// What a page rendered at `entry` knew: per device, the number up to which nothing was
    /// missing among the entries up to there.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn vector_at(&self, trip: TripId, entry: u64) -> Result<Knows, StoreError> {
        // Numbers are unique and start at 1: the n-th smallest is n exactly as long as there
        // is no gap before it.
        let found: Vec<(String, i64)> = sqlx::query_as(
            "SELECT device, max(device_seq) FROM (SELECT device, device_seq, \
             row_number() OVER (PARTITION BY device ORDER BY device_seq) AS rank \
             FROM trip JOIN entry ON line > nth << 32 AND line <= (nth << 32) + $2 \
             WHERE id = $1) WHERE device_seq = rank GROUP BY device",
        )
        .bind(trip.to_string())
        .bind(within(entry))
        .fetch_all(self.readers())
        .await?;
        let key = format!("{trip}/{entry}");
        let row = RowOf {
            table: "entry",
            key: &key,
        };
        let mut known = BTreeMap::new();
        for (device, seq) in found {
            let device: DeviceId = row.parse("device", &device)?;
            known.insert(device, row.figure("device_seq", seq)?);
        }
        Ok(Knows(known))
    }

    /// The chain up to and with an entry, against which a page or another box checks that it
    /// speaks of the same log; at 0 the chain's start; none past the end.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn chain_at(&self, trip: TripId, entry: u64) -> Result<Option<[u8; 32]>, StoreError> {
        if entry == 0 {
            return Ok(Some(Head::start(trip).chain));
        }
        let found: Option<Vec<u8>> = sqlx::query_scalar(
            "SELECT chain FROM trip JOIN entry ON line = (nth << 32) + $2 WHERE id = $1",
        )
        .bind(trip.to_string())
        .bind(within(entry))
        .fetch_optional(self.readers())
        .await?;
        let key = format!("{trip}/{entry}");
        let row = RowOf {
            table: "entry",
            key: &key,
        };
        found.map(|chain| row.digest("chain", &chain)).transpose()
    }

    /// Contents that were refused because others stand under their id or number.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn clashes(&self, trip: TripId) -> Result<Vec<String>, StoreError> {
        Ok(
            sqlx::query_scalar("SELECT content FROM clash WHERE trip = $1 ORDER BY rowid")
                .bind(trip.to_string())
                .fetch_all(self.readers())
                .await?,
        )
    }
}

/// Entries of a trip's log as the fold reads them. Many logs are work: who reads them does so off
/// the runtime's threads.
///
/// # Errors
/// Content that cannot be read as an event any more is named.
pub fn read_entries(trip: TripId, log: Vec<LogEntry>) -> Result<Vec<Entry>, StoreError> {
    let mut known = Knows::default();
    log.into_iter()
        .map(|kept| match event::read(kept.content.as_bytes()) {
            Ok((mut event, _)) => {
                if plant::is(Plant::LastWrite) {
                    let replaced = event.knows.clone();
                    event.knows.0.extend(known.0.clone());
                    known.0.extend(replaced.0);
                    known.0.insert(event.device, event.device_seq);
                }
                Ok(Entry::new(event, kept.receipt))
            }
            Err(faults) => Err(StoreError::row(
                "entry",
                "content",
                &format_args!("{trip}/{}", kept.receipt.entry),
                &faults,
            )),
        })
        .collect()
}
