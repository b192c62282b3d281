//! What a boat has aboard for an emergency, when it was looked at and when it is to be again; and
//! whom to call and where to go from her. It belongs to the boat, not to any trip's log.

use jiff::civil::Date;
use uuid::Uuid;

use super::super::crew::{AuditKind, Doer, note_of};
use super::super::row::RowOf;
use super::super::{Store, StoreError};
use crate::trip::BoatId;

/// A thing aboard.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Equipment {
    /// Its number.
    pub id: Uuid,
    /// Of which boat.
    pub boat: BoatId,
    /// What it is.
    pub name: String,
    /// How many.
    pub count: u32,
    /// Where aboard.
    pub place: String,
    /// By when it is to be looked at again, that day too; none if nobody said.
    pub due: Option<Date>,
    /// When it was last looked at, and by whom.
    pub checked: Option<(Date, String)>,
}

impl Equipment {
    /// Whether it has to be looked at before a day on which it may be needed: its time is over, or
    /// nobody ever said that it was looked at, or until when that holds.
    #[must_use]
    pub fn is_overdue(&self, on: Date) -> bool {
        self.checked.is_none() || self.due.is_none_or(|due| due < on)
    }
}

/// Whom to call and where to go from a boat, as the centre tells it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EmergencyCard {
    /// The radio channel on which help is called.
    pub channel: String,
    /// Numbers ashore, one a line.
    pub numbers: String,
    /// The nearest recompression chamber that takes people, and how to reach it.
    pub chamber: String,
    /// Where a casualty is handed over.
    pub evacuation: String,
    /// When that was last gone through.
    pub told_on: Date,
    /// By whom.
    pub told_by: String,
}

#[derive(sqlx::FromRow)]
struct EquipmentRow {
    id: String,
    boat: String,
    name: String,
    count: i64,
    place: String,
    due: Option<String>,
    checked_on: Option<String>,
    checked_by: Option<String>,
}

impl TryFrom<EquipmentRow> for Equipment {
    type Error = StoreError;
    fn try_from(found: EquipmentRow) -> Result<Self, StoreError> {
        let row = RowOf {
            table: "boat_equipment",
            key: &found.id,
        };
        let on: Option<Date> = row.parse_if("checked_on", found.checked_on.as_deref())?;
        Ok(Self {
            id: row.parse("id", &found.id)?,
            boat: row.parse("boat", &found.boat)?,
            count: row.figure("count", found.count)?,
            due: row.parse_if("due", found.due.as_deref())?,
            checked: on.zip(found.checked_by),
            name: found.name,
            place: found.place,
        })
    }
}

#[derive(sqlx::FromRow)]
struct CardRow {
    channel: String,
    numbers: String,
    chamber: String,
    evacuation: String,
    told_on: String,
    told_by: String,
}

impl Store {
    /// What a boat has aboard, by name.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn equipment(&self, boat: BoatId) -> Result<Vec<Equipment>, StoreError> {
        let found: Vec<EquipmentRow> = sqlx::query_as(
            "SELECT id, boat, name, count, place, due, checked_on, checked_by \
             FROM boat_equipment WHERE boat = $1 ORDER BY name, place, id",
        )
        .bind(boat.to_string())
        .fetch_all(self.readers())
        .await?;
        found.into_iter().map(Equipment::try_from).collect()
    }

    /// Puts things on the list of a boat, all or none; a number that is there stays as it is.
    /// Returns whether the boat is in the register.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn add_equipment(
        &self,
        boat: BoatId,
        things: &[Equipment],
    ) -> Result<bool, StoreError> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let known: bool = sqlx::query_scalar("SELECT EXISTS (SELECT 1 FROM boat WHERE id = $1)")
            .bind(boat.to_string())
            .fetch_one(write.on())
            .await?;
        if !known {
            return Ok(false);
        }
        for thing in things {
            let (on, by) = match &thing.checked {
                Some((on, by)) => (Some(on.to_string()), Some(by.as_str())),
                None => (None, None),
            };
            sqlx::query(
                "INSERT INTO boat_equipment \
                 (id, boat, name, count, place, due, checked_on, checked_by) \
                 VALUES ($1, $2, $3, $4, $5, $6, $7, $8) ON CONFLICT (id) DO NOTHING",
            )
            .bind(thing.id.to_string())
            .bind(boat.to_string())
            .bind(thing.name.as_str())
            .bind(i64::from(thing.count))
            .bind(thing.place.as_str())
            .bind(thing.due.map(|day| day.to_string()))
            .bind(on)
            .bind(by)
            .execute(write.on())
            .await?;
        }
        write.commit(0).await?;
        Ok(true)
    }

    /// Writes that somebody looked at a thing, with a line in the audit. Returns whether it is on
    /// the boat's list.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn check_equipment(
        &self,
        boat: BoatId,
        id: Uuid,
        (on, who): (Date, &str),
        due: Date,
        by: Doer,
    ) -> Result<bool, StoreError> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let name: Option<String> = sqlx::query_scalar(
            "UPDATE boat_equipment SET checked_on = $3, checked_by = $4, due = $5 \
             WHERE id = $1 AND boat = $2 RETURNING name",
        )
        .bind(id.to_string())
        .bind(boat.to_string())
        .bind(on.to_string())
        .bind(who)
        .bind(due.to_string())
        .fetch_optional(write.on())
        .await?;
        let Some(name) = name else {
            return Ok(false);
        };
        let what = format!("looked at '{name}' of boat {boat}, next by {due}");
        let now = self.0.clock.now();
        note_of(write.on(), now, by, AuditKind::Box, None, &what).await?;
        write.commit(0).await?;
        Ok(true)
    }

    /// Takes a thing off the list, with a line in the audit. Returns whether it was there.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn remove_equipment(
        &self,
        boat: BoatId,
        id: Uuid,
        by: Doer,
    ) -> Result<bool, StoreError> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let name: Option<String> = sqlx::query_scalar(
            "DELETE FROM boat_equipment WHERE id = $1 AND boat = $2 RETURNING name",
        )
        .bind(id.to_string())
        .bind(boat.to_string())
        .fetch_optional(write.on())
        .await?;
        let Some(name) = name else {
            return Ok(false);
        };
        let what = format!("took '{name}' off the list of boat {boat}");
        let now = self.0.clock.now();
        note_of(write.on(), now, by, AuditKind::Box, None, &what).await?;
        write.commit(0).await?;
        Ok(true)
    }

    /// Whom to call and where to go from a boat; none if nobody said.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn emergency_card(&self, boat: BoatId) -> Result<Option<EmergencyCard>, StoreError> {
        let id = boat.to_string();
        let found: Option<CardRow> = sqlx::query_as(
            "SELECT channel, numbers, chamber, evacuation, told_on, told_by \
             FROM boat_emergency WHERE boat = $1",
        )
        .bind(id.as_str())
        .fetch_optional(self.readers())
        .await?;
        let row = RowOf {
            table: "boat_emergency",
            key: &id,
        };
        let read = found.map(|found| {
            Ok(EmergencyCard {
                told_on: row.parse("told_on", &found.told_on)?,
                channel: found.channel,
                numbers: found.numbers,
                chamber: found.chamber,
                evacuation: found.evacuation,
                told_by: found.told_by,
            })
        });
        read.transpose()
    }

    /// Writes whom to call and where to go from a boat. Returns whether the boat is in the
    /// register.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn save_emergency_card(
        &self,
        boat: BoatId,
        card: &EmergencyCard,
    ) -> Result<bool, StoreError> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let done = sqlx::query(
            "INSERT INTO boat_emergency \
             (boat, channel, numbers, chamber, evacuation, told_on, told_by) \
             SELECT id, $2, $3, $4, $5, $6, $7 FROM boat WHERE id = $1 \
             ON CONFLICT (boat) DO UPDATE SET channel = $2, numbers = $3, chamber = $4, \
             evacuation = $5, told_on = $6, told_by = $7",
        )
        .bind(boat.to_string())
        .bind(card.channel.as_str())
        .bind(card.numbers.as_str())
        .bind(card.chamber.as_str())
        .bind(card.evacuation.as_str())
        .bind(card.told_on.to_string())
        .bind(card.told_by.as_str())
        .execute(write.on())
        .await?;
        write.commit(0).await?;
        Ok(done.rows_affected() == 1)
    }
}
