//! Doubles of the register, merged by somebody: one entry remains, the other's identity points to
//! it, and no log is touched. Everything that is asked about an identity which was given up is
//! answered for the one that remained.

use jiff::Timestamp;
use sqlx::sqlite::SqliteConnection;

use super::super::crew::{AuditKind, Doer, note_of};
use super::super::row::RowOf;
use super::super::{Store, StoreError};
use super::people::{Person, write_person};
use super::{contacts, retention};
use crate::trip::same::Same;
use crate::trip::{CrewId, PersonId};

/// Two entries that are to be one.
#[derive(Debug, Clone, PartialEq)]
pub struct Merge {
    /// The one that remains, with the values that are to stand.
    pub stays: Person,
    /// The one that is given up.
    pub gone: PersonId,
    /// Whose emergency contact stands; none, if nobody's.
    pub contact_of: Option<PersonId>,
    /// Entries of all logs when it was looked whether a trip holds either.
    pub entries: i64,
}

/// An identity that was given up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Merged {
    /// It.
    pub gone: PersonId,
    /// The name it had.
    pub name: String,
    /// When.
    pub at: Timestamp,
    /// Which account said so.
    pub who: Option<CrewId>,
    /// Its name.
    pub who_name: Option<String>,
}

/// Who an identity is now, inside a transaction.
pub(in super::super) async fn remaining(
    connection: &mut SqliteConnection,
    id: PersonId,
) -> Result<PersonId, StoreError> {
    let text = id.to_string();
    let found: Option<String> =
        sqlx::query_scalar("SELECT person FROM merged_person WHERE gone = $1")
            .bind(text.as_str())
            .fetch_optional(connection)
            .await?;
    let row = RowOf {
        table: "merged_person",
        key: &text,
    };
    Ok(row.parse_if("person", found.as_deref())?.unwrap_or(id))
}

impl Store {
    /// Who an identity is now: itself, unless it was merged.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn remaining(&self, id: PersonId) -> Result<PersonId, StoreError> {
        let mut reader = self.readers().acquire().await?;
        remaining(&mut reader, id).await
    }

    /// All identities that were given up.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn same(&self) -> Result<Same, StoreError> {
        let found: Vec<(String, String)> =
            sqlx::query_as("SELECT gone, person FROM merged_person ORDER BY gone")
                .fetch_all(self.readers())
                .await?;
        let read: Result<Vec<_>, StoreError> = found
            .iter()
            .map(|(gone, person)| {
                let row = RowOf {
                    table: "merged_person",
                    key: gone,
                };
                Ok((row.parse("gone", gone)?, row.parse("person", person)?))
            })
            .collect();
        Ok(Same::new(read?))
    }

    /// What was merged into a person, by whom and when, the latest first.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn merged_into(&self, person: PersonId) -> Result<Vec<Merged>, StoreError> {
        type Row = (String, String, i64, Option<String>, Option<String>);
        let found: Vec<Row> = sqlx::query_as(
            "SELECT m.gone, m.name, m.at, m.who, crew.name FROM merged_person m \
             LEFT JOIN crew ON crew.id = m.who WHERE m.person = $1 ORDER BY m.at DESC, m.gone",
        )
        .bind(person.to_string())
        .fetch_all(self.readers())
        .await?;
        let read = found.into_iter().map(|(gone, name, at, who, who_name)| {
            let row = RowOf {
                table: "merged_person",
                key: &gone,
            };
            Ok(Merged {
                gone: row.parse("gone", &gone)?,
                at: row.instant("at", at)?,
                who: row.parse_if("who", who.as_deref())?,
                name,
                who_name,
            })
        });
        read.collect()
    }

    /// Makes one of two entries, with a line in the audit: the one that stays takes the values
    /// that were chosen, and everything that was learned of the other; the other goes, and its
    /// identity points to the one that stays from then on, as do all that pointed to it. Returns
    /// whether it was done: not if either is not in the register, both are the same, or any log
    /// has grown meanwhile.
    ///
    /// # Errors
    /// [`StoreError`], also if the contact that is to stand cannot be opened; then nothing was
    /// changed.
    pub async fn merge(&self, merge: &Merge, by: Doer) -> Result<bool, StoreError> {
        let (stays, gone) = (merge.stays.id, merge.gone);
        let (stays_id, gone_id) = (stays.to_string(), gone.to_string());
        let now = self.0.clock.now();
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        if stays == gone || retention::count_entries(write.on()).await? != merge.entries {
            return Ok(false);
        }
        let names: Vec<(String, String)> =
            sqlx::query_as("SELECT id, name FROM person WHERE id IN ($1, $2)")
                .bind(stays_id.as_str())
                .bind(gone_id.as_str())
                .fetch_all(write.on())
                .await?;
        let name = names.iter().find(|(id, _)| *id == gone_id);
        let (Some((_, name)), 2) = (name, names.len()) else {
            return Ok(false);
        };
        match merge.contact_of {
            // It is sealed for one identity, and is sealed anew for the other.
            Some(of) if of == gone => {
                let path = &self.0.path;
                let held = contacts::read_within(write.on(), path, gone).await?;
                contacts::remove(write.on(), stays).await?;
                if let Some(contact) = held {
                    let clock = self.0.clock.clone();
                    contacts::write_sealed(write.on(), path, &clock, stays, &contact).await?;
                }
            }
            Some(_) => {}
            None => {
                contacts::remove(write.on(), stays).await?;
            }
        }
        contacts::remove(write.on(), gone).await?;
        // Of a dive that both were logged on, the faster rate counts: it asks for more gas.
        sqlx::query(
            "INSERT INTO surface_rate (person, trip, dive, at, l_min) \
             SELECT $1, trip, dive, at, l_min FROM surface_rate WHERE person = $2 \
             ON CONFLICT (person, trip, dive) DO UPDATE SET at = excluded.at, \
             l_min = excluded.l_min WHERE excluded.l_min > surface_rate.l_min",
        )
        .bind(stays_id.as_str())
        .bind(gone_id.as_str())
        .execute(write.on())
        .await?;
        for statement in [
            "UPDATE merged_person SET person = $1 WHERE person = $2",
            "UPDATE consent SET person = $1 WHERE person = $2",
            "UPDATE gas_analysis SET person = $1 WHERE person = $2",
            "INSERT INTO consent_override (person, trip, why, who, at) \
             SELECT $1, trip, why, who, at FROM consent_override WHERE person = $2 \
             ON CONFLICT (person, trip) DO NOTHING",
        ] {
            sqlx::query(statement)
                .bind(stays_id.as_str())
                .bind(gone_id.as_str())
                .execute(write.on())
                .await?;
        }
        write_person(write.on(), &merge.stays, now).await?;
        sqlx::query(
            "INSERT INTO merged_person (gone, person, name, at, who) VALUES ($1, $2, $3, $4, $5)",
        )
        .bind(gone_id.as_str())
        .bind(stays_id.as_str())
        .bind(name.as_str())
        .bind(now.as_millisecond())
        .bind(by.who.map(|crew| crew.to_string()))
        .execute(write.on())
        .await?;
        sqlx::query("DELETE FROM person WHERE id = $1")
            .bind(gone_id.as_str())
            .execute(write.on())
            .await?;
        let what = format!("merged the entry {gone_id} into this one");
        note_of(write.on(), now, by, AuditKind::Merged, Some(stays), &what).await?;
        write.commit(0).await?;
        Ok(true)
    }

    /// Keeps somebody's word that two entries that look alike are two people, with a line in the
    /// audit. Returns whether both are in the register.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn keep_apart(&self, a: PersonId, b: PersonId, by: Doer) -> Result<bool, StoreError> {
        let now = self.0.clock.now();
        let (one, other) = in_order(a, b);
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let done = sqlx::query(
            "INSERT INTO two_people (one, other, at, who) SELECT a.id, b.id, $3, $4 \
             FROM person a, person b WHERE a.id = $1 AND b.id = $2 AND a.id < b.id \
             ON CONFLICT (one, other) DO UPDATE SET at = $3, who = $4",
        )
        .bind(one.as_str())
        .bind(other.as_str())
        .bind(now.as_millisecond())
        .bind(by.who.map(|crew| crew.to_string()))
        .execute(write.on())
        .await?;
        if done.rows_affected() == 0 {
            return Ok(false);
        }
        let what = format!("said that the entry {b} is another person");
        note_of(write.on(), now, by, AuditKind::Merged, Some(a), &what).await?;
        write.commit(0).await?;
        Ok(true)
    }

    /// Pairs that are two people by somebody's word, the lower identity first.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn kept_apart(&self) -> Result<Vec<(PersonId, PersonId)>, StoreError> {
        let found: Vec<(String, String)> =
            sqlx::query_as("SELECT one, other FROM two_people ORDER BY one, other")
                .fetch_all(self.readers())
                .await?;
        let read = found.iter().map(|(one, other)| {
            let row = RowOf {
                table: "two_people",
                key: one,
            };
            Ok((row.parse("one", one)?, row.parse("other", other)?))
        });
        read.collect()
    }
}

/// The same pair whichever comes first.
fn in_order(a: PersonId, b: PersonId) -> (String, String) {
    let (a, b) = (a.to_string(), b.to_string());
    if a < b { (a, b) } else { (b, a) }
}
