//! Surface rates: what each diver of the register breathed on the dives that were logged.

use std::collections::BTreeMap;

use super::super::row::RowOf;
use super::super::{Store, StoreError};
use crate::trip::after::Rate;
use crate::trip::same::Same;
use crate::trip::{PersonId, TripId};
use crate::units::LitresPerMinute;

#[derive(sqlx::FromRow)]
struct RateRow {
    person: String,
    dive: i64,
    at: i64,
    l_min: f64,
}

impl TryFrom<RateRow> for Rate {
    type Error = StoreError;
    fn try_from(found: RateRow) -> Result<Self, StoreError> {
        let row = RowOf {
            table: "surface_rate",
            key: &found.person,
        };
        Ok(Self {
            person: row.parse("person", &found.person)?,
            dive: row.figure("dive", found.dive)?,
            at: row.instant("at", found.at)?,
            l_min: row.figure("l_min", found.l_min)?,
        })
    }
}

impl Store {
    /// Writes what a trip's log says of its divers' surface rates, in place of what it said
    /// before. Who is not in the register is left out, whoever was merged written as who remained.
    /// Returns whether anything changed.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn learn_rates(&self, trip: TripId, rates: &[Rate]) -> Result<bool, StoreError> {
        let rates = &one_each(rates, &self.same().await?);
        let held = self.rates_of_trip(trip).await?;
        let is_held = |rate: &Rate| {
            held.iter().any(|held| {
                (held.person, held.dive) == (rate.person, rate.dive)
                    && held.at.as_millisecond() == rate.at.as_millisecond()
                    && held.l_min == rate.l_min
            })
        };
        if held.len() == rates.len() && rates.iter().all(is_held) {
            return Ok(false);
        }
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        sqlx::query("DELETE FROM surface_rate WHERE trip = $1")
            .bind(trip.to_string())
            .execute(write.on())
            .await?;
        for rate in rates {
            sqlx::query(
                "INSERT INTO surface_rate (person, trip, dive, at, l_min) \
                 SELECT id, $2, $3, $4, $5 FROM person WHERE id = $1",
            )
            .bind(rate.person.to_string())
            .bind(trip.to_string())
            .bind(i64::from(rate.dive))
            .bind(rate.at.as_millisecond())
            .bind(rate.l_min.l_min())
            .execute(write.on())
            .await?;
        }
        write.commit(0).await?;
        Ok(true)
    }

    async fn rates_of_trip(&self, trip: TripId) -> Result<Vec<Rate>, StoreError> {
        let found: Vec<RateRow> = sqlx::query_as(
            "SELECT person, dive, at, l_min FROM surface_rate WHERE trip = $1 \
             ORDER BY person, dive",
        )
        .bind(trip.to_string())
        .fetch_all(self.readers())
        .await?;
        found.into_iter().map(Rate::try_from).collect()
    }

    /// Surface rates of the last dives of these people, at most `most` of each, the latest first.
    /// Who has none is left out.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn last_rates(
        &self,
        of: &[PersonId],
        most: u32,
    ) -> Result<BTreeMap<PersonId, Vec<LitresPerMinute>>, StoreError> {
        let same = self.same().await?;
        let now: Vec<PersonId> = of.iter().map(|id| same.remaining(*id)).collect();
        let found: Vec<RateRow> = sqlx::query_as(
            "SELECT person, dive, at, l_min FROM (SELECT person, dive, at, l_min, \
             row_number() OVER (PARTITION BY person ORDER BY at DESC, dive DESC) AS nth \
             FROM surface_rate WHERE person IN (SELECT value FROM json_each($1))) \
             WHERE nth <= $2 ORDER BY person, nth",
        )
        .bind(listed(&now))
        .bind(i64::from(most))
        .fetch_all(self.readers())
        .await?;
        let mut rates: BTreeMap<PersonId, Vec<LitresPerMinute>> = BTreeMap::new();
        for row in found {
            let rate = Rate::try_from(row)?;
            rates.entry(rate.person).or_default().push(rate.l_min);
        }
        let asked = of.iter().filter_map(|id| {
            let found = rates.get(&same.remaining(*id))?;
            Some((*id, found.clone()))
        });
        Ok(asked.collect())
    }

    /// Breathing rates that the register states for these people.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn stated_rates(
        &self,
        of: &[PersonId],
    ) -> Result<BTreeMap<PersonId, LitresPerMinute>, StoreError> {
        let same = self.same().await?;
        let now: Vec<PersonId> = of.iter().map(|id| same.remaining(*id)).collect();
        let found: Vec<(String, f64)> = sqlx::query_as(
            "SELECT id, breathing_l_min FROM person WHERE breathing_l_min IS NOT NULL \
             AND id IN (SELECT value FROM json_each($1))",
        )
        .bind(listed(&now))
        .fetch_all(self.readers())
        .await?;
        let rates: BTreeMap<PersonId, LitresPerMinute> = found
            .into_iter()
            .map(|(id, l_min)| {
                let row = RowOf {
                    table: "person",
                    key: &id,
                };
                Ok((row.parse("id", &id)?, row.figure("breathing_l_min", l_min)?))
            })
            .collect::<Result<_, StoreError>>()?;
        let asked = of.iter().filter_map(|id| {
            let rate = rates.get(&same.remaining(*id))?;
            Some((*id, *rate))
        });
        Ok(asked.collect())
    }
}

/// Rates under who remained; of a dive that two identities were logged on, the faster one, which
/// asks for more gas.
fn one_each(rates: &[Rate], same: &Same) -> Vec<Rate> {
    let mut each: BTreeMap<(PersonId, u32), Rate> = BTreeMap::new();
    for rate in rates {
        let person = same.remaining(rate.person);
        let rate = Rate { person, ..*rate };
        let held = each.entry((person, rate.dive)).or_insert(rate);
        if rate.l_min.l_min() > held.l_min.l_min() {
            *held = rate;
        }
    }
    each.into_values().collect()
}

/// Identities as a JSON array, which one statement takes however many they are.
fn listed(of: &[PersonId]) -> String {
    let ids: Vec<String> = of.iter().map(ToString::to_string).collect();
    serde_json::Value::from(ids).to_string()
}
