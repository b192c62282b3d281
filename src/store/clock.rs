//! Notes of the clock: what it was tied to, by whom, and how the wall clock was set.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::row::{RowOf, signed, word_of};
use super::{Store, StoreError};
use crate::trip::CrewId;
use crate::trip::event::DeviceId;

/// What happened to the clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ClockEvent {
    /// The program started.
    Start,
    /// The wall clock was set; the trip clock did not move.
    Step,
    /// The trip clock was tied anew.
    Tie,
}

/// What the trip clock rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ClockSource {
    /// The machine's wall clock.
    Wall,
    /// The uptime since an earlier start in the same boot.
    SameBoot,
    /// The last entry of a log: the time is that or later.
    LastEntry,
    /// Somebody's watch.
    Watch,
    /// The middle of the devices.
    Devices,
    /// What it showed, confirmed by somebody.
    Confirmed,
}

/// One note.
#[derive(Debug, Clone, PartialEq)]
pub struct ClockNote {
    /// What happened.
    pub event: ClockEvent,
    /// What the trip clock shows since.
    pub at: Timestamp,
    /// What the wall clock showed.
    pub wall: Timestamp,
    /// The boot.
    pub boot: Uuid,
    /// The uptime in it, milliseconds.
    pub uptime_ms: u64,
    /// What the trip clock rests on.
    pub source: ClockSource,
    /// By how much it may be wrong, milliseconds, if anybody knows.
    pub uncertainty_ms: Option<u64>,
    /// Whether it may be relied on.
    pub confirmed: bool,
    /// Who answers for it.
    pub who: Option<(CrewId, String)>,
    /// On which device.
    pub device: Option<DeviceId>,
}

#[derive(sqlx::FromRow)]
struct NoteRow {
    id: i64,
    kind: String,
    at: i64,
    wall: i64,
    boot: String,
    uptime_ms: i64,
    source: String,
    uncertainty_ms: Option<i64>,
    confirmed: bool,
    who: Option<String>,
    who_name: Option<String>,
    device: Option<String>,
}

impl TryFrom<NoteRow> for ClockNote {
    type Error = StoreError;
    fn try_from(found: NoteRow) -> Result<Self, StoreError> {
        let key = found.id.to_string();
        let row = RowOf {
            table: "clock_note",
            key: &key,
        };
        let who = row.parse_if("who", found.who.as_deref())?;
        Ok(Self {
            event: row.word("kind", &found.kind)?,
            at: row.instant("at", found.at)?,
            wall: row.instant("wall", found.wall)?,
            boot: row.parse("boot", &found.boot)?,
            uptime_ms: row.figure("uptime_ms", found.uptime_ms)?,
            source: row.word("source", &found.source)?,
            uncertainty_ms: found
                .uncertainty_ms
                .map(|ms| row.figure("uncertainty_ms", ms))
                .transpose()?,
            confirmed: found.confirmed,
            who: who.zip(found.who_name),
            device: row.parse_if("device", found.device.as_deref())?,
        })
    }
}

impl Store {
    /// Writes a note of the clock.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn note_clock(&self, note: &ClockNote) -> Result<(), StoreError> {
        let (table, row) = ("clock_note", note.at);
        let kind = word_of(table, "kind", row, &note.event)?;
        let source = word_of(table, "source", row, &note.source)?;
        let uptime_ms = signed(table, "uptime_ms", row, note.uptime_ms)?;
        let uncertainty_ms = note
            .uncertainty_ms
            .map(|ms| signed(table, "uncertainty_ms", row, ms))
            .transpose()?;
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        sqlx::query(
            "INSERT INTO clock_note (kind, at, wall, boot, uptime_ms, source, uncertainty_ms, \
             confirmed, who, who_name, device) \
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)",
        )
        .bind(kind)
        .bind(note.at.as_millisecond())
        .bind(note.wall.as_millisecond())
        .bind(note.boot.to_string())
        .bind(uptime_ms)
        .bind(source)
        .bind(uncertainty_ms)
        .bind(note.confirmed)
        .bind(note.who.as_ref().map(|(crew, _)| crew.to_string()))
        .bind(note.who.as_ref().map(|(_, name)| name.clone()))
        .bind(note.device.map(|device| device.to_string()))
        .execute(write.on())
        .await?;
        write.commit(0).await
    }

    /// The last note of a boot.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn clock_note_of(&self, boot: Uuid) -> Result<Option<ClockNote>, StoreError> {
        let found: Option<NoteRow> = sqlx::query_as(
            "SELECT id, kind, at, wall, boot, uptime_ms, source, uncertainty_ms, confirmed, who, \
             who_name, device FROM clock_note WHERE boot = $1 ORDER BY id DESC LIMIT 1",
        )
        .bind(boot.to_string())
        .fetch_optional(self.readers())
        .await?;
        found.map(ClockNote::try_from).transpose()
    }

    /// The last `most` notes, the latest first.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn clock_notes(&self, most: u32) -> Result<Vec<ClockNote>, StoreError> {
        let found: Vec<NoteRow> = sqlx::query_as(
            "SELECT id, kind, at, wall, boot, uptime_ms, source, uncertainty_ms, confirmed, who, \
             who_name, device FROM clock_note ORDER BY id DESC LIMIT $1",
        )
        .bind(i64::from(most))
        .fetch_all(self.readers())
        .await?;
        found.into_iter().map(ClockNote::try_from).collect()
    }
}
