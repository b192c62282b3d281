//! Guardians' consent for minors: for one trip or until a day, on a paper that somebody saw; and
//! trips on which a minor comes along without it, by whose decision and why.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;
use uuid::Uuid;

use super::super::crew::{AuditKind, Doer, note_of};
use super::super::row::RowOf;
use super::super::{Store, StoreError};
use super::merged::remaining;
use crate::trip::{PersonId, TripId};

/// How far a consent reaches.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reaches {
    /// One trip, whenever it sails.
    Trip(TripId),
    /// Every trip up to a day, that day too.
    Until(Date),
}

/// A guardian's consent, as the paper says it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Consent {
    /// Its number.
    pub id: Uuid,
    /// For whom.
    pub person: PersonId,
    /// The guardian's name.
    pub guardian: String,
    /// The day on the paper.
    pub given_on: Date,
    /// How far it reaches.
    pub reaches: Reaches,
    /// Who saw the paper.
    pub seen_by: String,
    /// When that was written.
    pub seen_at: Timestamp,
}

impl Consent {
    /// Whether it covers a trip on its day.
    #[must_use]
    pub fn covers(&self, trip: TripId, day: Date) -> bool {
        self.given_on <= day
            && match self.reaches {
                Reaches::Trip(one) => one == trip,
                Reaches::Until(last) => day <= last,
            }
    }
}

/// A decision that a minor comes along on a trip without consent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ConsentOverride {
    /// Who comes along.
    pub person: PersonId,
    /// On which trip.
    pub trip: TripId,
    /// Why.
    pub why: String,
    /// Who decided that.
    pub who: String,
    /// When.
    pub at: Timestamp,
}

#[derive(sqlx::FromRow)]
struct ConsentRow {
    id: String,
    person: String,
    guardian: String,
    given_on: String,
    trip: Option<String>,
    until: Option<String>,
    seen_by: String,
    seen_at: i64,
}

impl TryFrom<ConsentRow> for Consent {
    type Error = StoreError;
    fn try_from(found: ConsentRow) -> Result<Self, StoreError> {
        let row = RowOf {
            table: "consent",
            key: &found.id,
        };
        let trip = row.parse_if("trip", found.trip.as_deref())?;
        let until = row.parse_if("until", found.until.as_deref())?;
        Ok(Self {
            id: row.parse("id", &found.id)?,
            person: row.parse("person", &found.person)?,
            given_on: row.parse("given_on", &found.given_on)?,
            reaches: match (trip, until) {
                (Some(trip), None) => Reaches::Trip(trip),
                (None, Some(until)) => Reaches::Until(until),
                _ => return Err(row.fault("until", "stands beside a trip, or neither does")),
            },
            seen_at: row.instant("seen_at", found.seen_at)?,
            guardian: found.guardian,
            seen_by: found.seen_by,
        })
    }
}

impl Store {
    /// Writes a consent, with a line in the audit; the same number again changes nothing. Returns
    /// whether the person is in the register.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn add_consent(&self, consent: &Consent, by: Doer) -> Result<bool, StoreError> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let person = remaining(write.on(), consent.person).await?;
        let id = person.to_string();
        let known: bool = sqlx::query_scalar("SELECT EXISTS (SELECT 1 FROM person WHERE id = $1)")
            .bind(id.as_str())
            .fetch_one(write.on())
            .await?;
        if !known {
            return Ok(false);
        }
        let (trip, until) = match consent.reaches {
            Reaches::Trip(trip) => (Some(trip.to_string()), None),
            Reaches::Until(day) => (None, Some(day.to_string())),
        };
        let what = match (&trip, &until) {
            (Some(trip), _) => format!("wrote a guardian's consent for trip {trip}"),
            (None, until) => format!(
                "wrote a guardian's consent until {}",
                until.as_deref().unwrap_or_default()
            ),
        };
        let done = sqlx::query(
            "INSERT INTO consent (id, person, guardian, given_on, trip, until, seen_by, seen_at) \
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8) ON CONFLICT (id) DO NOTHING",
        )
        .bind(consent.id.to_string())
        .bind(id.as_str())
        .bind(consent.guardian.as_str())
        .bind(consent.given_on.to_string())
        .bind(trip)
        .bind(until)
        .bind(consent.seen_by.as_str())
        .bind(consent.seen_at.as_millisecond())
        .execute(write.on())
        .await?;
        if done.rows_affected() > 0 {
            let now = self.0.clock.now();
            note_of(write.on(), now, by, AuditKind::Consent, Some(person), &what).await?;
        }
        write.commit(0).await?;
        Ok(true)
    }

    /// Takes a consent of a person out, with a line in the audit. Returns whether it was there.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn withdraw_consent(
        &self,
        person: PersonId,
        id: Uuid,
        by: Doer,
    ) -> Result<bool, StoreError> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let person = remaining(write.on(), person).await?;
        let done = sqlx::query("DELETE FROM consent WHERE id = $1 AND person = $2")
            .bind(id.to_string())
            .bind(person.to_string())
            .execute(write.on())
            .await?;
        if done.rows_affected() == 0 {
            return Ok(false);
        }
        let now = self.0.clock.now();
        let what = "withdrew a guardian's consent";
        note_of(write.on(), now, by, AuditKind::Consent, Some(person), what).await?;
        write.commit(0).await?;
        Ok(true)
    }

    /// All consents, those of one person together, the latest first.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn consents(&self) -> Result<BTreeMap<PersonId, Vec<Consent>>, StoreError> {
        let found: Vec<ConsentRow> = sqlx::query_as(
            "SELECT id, person, guardian, given_on, trip, until, seen_by, seen_at FROM consent \
             ORDER BY person, given_on DESC, id",
        )
        .fetch_all(self.readers())
        .await?;
        let mut consents: BTreeMap<PersonId, Vec<Consent>> = BTreeMap::new();
        for row in found {
            let consent = Consent::try_from(row)?;
            consents.entry(consent.person).or_default().push(consent);
        }
        Ok(consents)
    }

    /// Keeps the decision that a minor comes along without consent, with a line in the audit; the
    /// first word of a decision stands. Returns whether the person is in the register.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn override_consent(
        &self,
        decided: &ConsentOverride,
        by: Doer,
    ) -> Result<bool, StoreError> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let person = remaining(write.on(), decided.person).await?;
        let done = sqlx::query(
            "INSERT INTO consent_override (person, trip, why, who, at) \
             SELECT id, $2, $3, $4, $5 FROM person WHERE id = $1 \
             ON CONFLICT (person, trip) DO NOTHING",
        )
        .bind(person.to_string())
        .bind(decided.trip.to_string())
        .bind(decided.why.as_str())
        .bind(decided.who.as_str())
        .bind(decided.at.as_millisecond())
        .execute(write.on())
        .await?;
        if done.rows_affected() > 0 {
            let now = self.0.clock.now();
            let what = format!(
                "takes a minor along without consent on trip {}: {}",
                decided.trip, decided.why
            );
            note_of(write.on(), now, by, AuditKind::Consent, Some(person), &what).await?;
        }
        let known: bool = sqlx::query_scalar(
            "SELECT EXISTS (SELECT 1 FROM consent_override WHERE person = $1 AND trip = $2)",
        )
        .bind(person.to_string())
        .bind(decided.trip.to_string())
        .fetch_one(write.on())
        .await?;
        write.commit(0).await?;
        Ok(known)
    }

    /// Minors who come along on a trip without consent, by decision.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn consent_overrides(
        &self,
        trip: TripId,
    ) -> Result<BTreeMap<PersonId, ConsentOverride>, StoreError> {
        let found: Vec<(String, String, String, i64)> = sqlx::query_as(
            "SELECT person, why, who, at FROM consent_override WHERE trip = $1 ORDER BY person",
        )
        .bind(trip.to_string())
        .fetch_all(self.readers())
        .await?;
        let read = found.into_iter().map(|(person, why, who, at)| {
            let row = RowOf {
                table: "consent_override",
                key: &person,
            };
            let person = row.parse("person", &person)?;
            let at = row.instant("at", at)?;
            let decided = ConsentOverride {
                person,
                trip,
                why,
                who,
                at,
            };
            Ok((person, decided))
        });
        read.collect()
    }
}
