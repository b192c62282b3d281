//! Boats: how many they carry, how fast they fetch, and what their crew does in an emergency.

use super::super::row::{RowOf, word_of};
use super::super::{Store, StoreError};
use crate::trip::BoatId;
use crate::trip::event::{ApproachSide, Boarding, BoatSheet};
use crate::units::bounds;

/// A boat of the register.
#[derive(Debug, Clone, PartialEq)]
pub struct Boat {
    /// What a trip's log carries of it.
    pub sheet: BoatSheet,
    /// Maritime identity of its radio, nine digits, if it has one.
    pub mmsi: Option<String>,
    /// Radio and the channel that is kept, in words.
    pub radio: Option<String>,
}

/// Most people that a boat of this program carries, crew included.
pub const MOST_CARRIED: u32 = 200;

impl Boat {
    /// A boat of which nothing is known yet: without name, place or plan.
    ///
    /// # Source
    /// Common practice, no source: six knots, two minutes a diver by ladder, two to set up.
    #[must_use]
    pub fn usual(id: BoatId) -> Self {
        Self {
            sheet: BoatSheet {
                id,
                name: String::new(),
                call_sign: String::new(),
                capacity: 0,
                speed_kn: 6.0,
                boarding_s_per_person: 120,
                approach_s: 120,
                boarding: Boarding::Ladder,
                approach_side: ApproachSide::NotSet,
                emergency_plan: Vec::new(),
                recall_signal: None,
            },
            mmsi: None,
            radio: None,
        }
    }
}

#[derive(sqlx::FromRow)]
struct BoatRow {
    id: String,
    name: String,
    call_sign: String,
    capacity: i64,
    speed_kn: f64,
    boarding_s_per_person: i64,
    approach_s: i64,
    boarding: String,
    approach_side: String,
    mmsi: Option<String>,
    radio: Option<String>,
    emergency_plan: String,
    recall_signal: Option<String>,
}

impl TryFrom<BoatRow> for Boat {
    type Error = StoreError;
    fn try_from(found: BoatRow) -> Result<Self, StoreError> {
        let row = RowOf {
            table: "boat",
            key: &found.id,
        };
        if !bounds::BOAT_KN.holds(found.speed_kn) {
            let why = format!("{} is not {}", found.speed_kn, bounds::BOAT_KN.in_words());
            return Err(row.fault("speed_kn", why));
        }
        let boarding: Boarding = row.word("boarding", &found.boarding)?;
        let approach_side: ApproachSide = row.word("approach_side", &found.approach_side)?;
        Ok(Self {
            sheet: BoatSheet {
                id: row.parse("id", &found.id)?,
                capacity: row.figure("capacity", found.capacity)?,
                boarding_s_per_person: row
                    .figure("boarding_s_per_person", found.boarding_s_per_person)?,
                approach_s: row.figure("approach_s", found.approach_s)?,
                speed_kn: found.speed_kn,
                boarding,
                approach_side,
                emergency_plan: found.emergency_plan.lines().map(str::to_owned).collect(),
                recall_signal: found.recall_signal,
                name: found.name,
                call_sign: found.call_sign,
            },
            mmsi: found.mmsi,
            radio: found.radio,
        })
    }
}

impl Store {
    /// Writes a boat, new or changed. Steps of the emergency plan are lines: a step with a line
    /// break in it comes back as two.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn save_boat(&self, boat: &Boat) -> Result<(), StoreError> {
        let sheet = &boat.sheet;
        let boarding = word_of("boat", "boarding", sheet.id, &sheet.boarding)?;
        let side = word_of("boat", "approach_side", sheet.id, &sheet.approach_side)?;
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        sqlx::query(
            "INSERT INTO boat (id, name, call_sign, capacity, speed_kn, boarding_s_per_person, \
             approach_s, boarding, approach_side, mmsi, radio, emergency_plan, recall_signal) \
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13) \
             ON CONFLICT (id) DO UPDATE SET name = $2, call_sign = $3, capacity = $4, \
             speed_kn = $5, boarding_s_per_person = $6, approach_s = $7, boarding = $8, \
             approach_side = $9, mmsi = $10, radio = $11, emergency_plan = $12, \
             recall_signal = $13",
        )
        .bind(sheet.id.to_string())
        .bind(sheet.name.as_str())
        .bind(sheet.call_sign.as_str())
        .bind(i64::from(sheet.capacity))
        .bind(sheet.speed_kn)
        .bind(i64::from(sheet.boarding_s_per_person))
        .bind(i64::from(sheet.approach_s))
        .bind(boarding)
        .bind(side)
        .bind(boat.mmsi.as_deref())
        .bind(boat.radio.as_deref())
        .bind(sheet.emergency_plan.join("\n"))
        .bind(sheet.recall_signal.as_deref())
        .execute(write.on())
        .await?;
        write.commit(0).await
    }

    /// A boat; none if there is no such one.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn boat(&self, id: BoatId) -> Result<Option<Boat>, StoreError> {
        let found: Option<BoatRow> = sqlx::query_as(
            "SELECT id, name, call_sign, capacity, speed_kn, boarding_s_per_person, approach_s, \
             boarding, approach_side, mmsi, radio, emergency_plan, recall_signal FROM boat WHERE id = $1",
        )
        .bind(id.to_string())
        .fetch_optional(self.readers())
        .await?;
        found.map(Boat::try_from).transpose()
    }

    /// All boats, by name.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn boats(&self) -> Result<Vec<Boat>, StoreError> {
        let found: Vec<BoatRow> = sqlx::query_as(
            "SELECT id, name, call_sign, capacity, speed_kn, boarding_s_per_person, approach_s, \
             boarding, approach_side, mmsi, radio, emergency_plan, recall_signal FROM boat ORDER BY name, id",
        )
        .fetch_all(self.readers())
        .await?;
        found.into_iter().map(Boat::try_from).collect()
    }

    /// Takes a boat out of the register; logs keep what they say. Returns whether it was there.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn remove_boat(&self, id: BoatId) -> Result<bool, StoreError> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let done = sqlx::query("DELETE FROM boat WHERE id = $1")
            .bind(id.to_string())
            .execute(write.on())
            .await?;
        write.commit(0).await?;
        Ok(done.rows_affected() == 1)
    }
}
