//! Retention: what is listed to be deleted, deleting it, and erasing somebody. What is due is
//! decided above; here it happens in one transaction with its line in the audit.

use std::collections::BTreeMap;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use sqlx::sqlite::SqliteConnection;

use super::super::crew::{AuditKind, Doer, note_of};
use super::super::row::{RowOf, word_of};
use super::super::{Store, StoreError};
use super::contacts;
use crate::trip::{PersonId, TripId};

/// What is kept of somebody beside the logs of trips.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Item {
    /// Whom to call.
    Contact,
    /// Whether the person was cleared to dive. Deleted, it is to be asked again.
    Fitness,
    /// The whole entry of the register: name, level, last dive, breathing.
    Entry,
}

impl Item {
    /// All, in the order they are told.
    pub const ALL: [Self; 3] = [Self::Contact, Self::Fitness, Self::Entry];
}

/// Something that stands on the list of what will be deleted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Listed {
    /// Of whom.
    pub person: PersonId,
    /// What.
    pub item: Item,
    /// From when on its time is over.
    pub due_at: Timestamp,
    /// Since when it stands on the list.
    pub listed_at: Timestamp,
}

/// What erasing somebody deleted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Erased {
    /// Whether a contact was known.
    pub contact: bool,
    /// Breathing rates that were learned.
    pub rates: u64,
}

fn word(item: Item) -> Result<String, StoreError> {
    word_of("to_delete", "what", "", &item)
}

async fn delete(
    connection: &mut SqliteConnection,
    person: PersonId,
    item: Item,
) -> Result<bool, StoreError> {
    let done = match item {
        Item::Contact => contacts::remove(&mut *connection, person).await?,
        // Doubt is not safe: with nobody's word for it the person is asked at the desk.
        Item::Fitness => {
            let done =
                sqlx::query("UPDATE person SET fitness = 'restricted' WHERE id = $1 AND fitness <> 'restricted'")
                    .bind(person.to_string())
                    .execute(&mut *connection)
                    .await?;
            done.rows_affected() > 0
        }
        Item::Entry => {
            let done = sqlx::query("DELETE FROM person WHERE id = $1")
                .bind(person.to_string())
                .execute(&mut *connection)
                .await?;
            done.rows_affected() > 0
        }
    };
    sqlx::query("DELETE FROM to_delete WHERE person = $1 AND what = $2")
        .bind(person.to_string())
        .bind(word(item)?)
        .execute(connection)
        .await?;
    Ok(done)
}

pub(super) async fn count_entries(connection: &mut SqliteConnection) -> Result<i64, StoreError> {
    let count = sqlx::query_scalar("SELECT count(*) FROM entry");
    Ok(count.fetch_one(connection).await?)
}

impl Store {
    /// Since when each person's entry stands as it does, as far as this program saw it. Who was
    /// there before it looked counts from now.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn registered_since(&self) -> Result<BTreeMap<PersonId, Timestamp>, StoreError> {
        let lacking: bool = sqlx::query_scalar(
            "SELECT EXISTS (SELECT 1 FROM person WHERE id NOT IN (SELECT person FROM registered))",
        )
        .fetch_one(self.readers())
        .await?;
        if lacking {
            let mut turn = self.turn().await?;
            let mut write = turn.begin().await?;
            sqlx::query(
                "INSERT INTO registered (person, since) SELECT id, $1 FROM person \
                 WHERE id NOT IN (SELECT person FROM registered)",
            )
            .bind(self.0.clock.now().as_millisecond())
            .execute(write.on())
            .await?;
            write.commit(0).await?;
        }
        let found: Vec<(String, i64)> = sqlx::query_as("SELECT person, since FROM registered")
            .fetch_all(self.readers())
            .await?;
        let read = found.iter().map(|(person, ms)| {
            let row = RowOf {
                table: "registered",
                key: person,
            };
            Ok((row.parse("person", person)?, row.instant("since", *ms)?))
        });
        read.collect()
    }

    /// What stands on the list of what will be deleted.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn listed(&self) -> Result<Vec<Listed>, StoreError> {
        let found: Vec<(String, String, i64, i64)> = sqlx::query_as(
            "SELECT person, what, due_at, listed_at FROM to_delete ORDER BY due_at, person, what",
        )
        .fetch_all(self.readers())
        .await?;
        let read = found.iter().map(|(person, what, due, listed)| {
            let row = RowOf {
                table: "to_delete",
                key: person,
            };
            Ok(Listed {
                person: row.parse("person", person)?,
                item: row.word("what", what)?,
                due_at: row.instant("due_at", *due)?,
                listed_at: row.instant("listed_at", *listed)?,
            })
        });
        read.collect()
    }

    /// Writes the list anew: what stands on it already keeps since when it does, unless its time
    /// now ends earlier than was told, which is told anew.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn list(&self, due: &[(PersonId, Item, Timestamp)]) -> Result<(), StoreError> {
        let before = self.listed().await?;
        let now = self.0.clock.now();
        let since = |person: PersonId, item: Item, at: Timestamp| {
            before
                .iter()
                .find(|held| (held.person, held.item) == (person, item) && held.due_at <= at)
                .map_or(now, |held| held.listed_at)
        };
        let after: Vec<Listed> = due
            .iter()
            .map(|&(person, item, due_at)| Listed {
                person,
                item,
                due_at,
                listed_at: since(person, item, due_at),
            })
            .collect();
        let same = before.len() == after.len() && after.iter().all(|one| before.contains(one));
        if same {
            return Ok(());
        }
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        sqlx::query("DELETE FROM to_delete")
            .execute(write.on())
            .await?;
        for one in after {
            sqlx::query(
                "INSERT INTO to_delete (person, what, due_at, listed_at) \
                 SELECT id, $2, $3, $4 FROM person WHERE id = $1",
            )
            .bind(one.person.to_string())
            .bind(word(one.item)?)
            .bind(one.due_at.as_millisecond())
            .bind(one.listed_at.as_millisecond())
            .execute(write.on())
            .await?;
        }
        write.commit(0).await
    }

    /// How many entries all logs have together: what was decided from them holds only as long as
    /// this does.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn all_entries(&self) -> Result<i64, StoreError> {
        let mut reader = self.readers().acquire().await?;
        count_entries(&mut reader).await
    }

    /// Deletes one kind of thing of these people, with one line in the audit that says how many
    /// and by which `rule`, never of whom. Returns how many there were; none if any log has grown
    /// since it had `entries` in all, as somebody may have joined a trip meanwhile: then nothing
    /// was deleted.
    ///
    /// # Errors
    /// [`StoreError`]; then nothing was deleted.
    pub async fn delete_listed(
        &self,
        item: Item,
        of: &[PersonId],
        rule: &str,
        entries: i64,
    ) -> Result<Option<u64>, StoreError> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        if count_entries(write.on()).await? != entries {
            return Ok(None);
        }
        let mut count = 0;
        for person in of {
            if delete(write.on(), *person, item).await? {
                count += 1;
            }
        }
        if count > 0 {
            let what = format!("deleted {} of {count} people: {rule}", word(item)?);
            let now = self.0.clock.now();
            let by = Doer::default();
            note_of(write.on(), now, by, AuditKind::Retention, None, &what).await?;
        }
        write.commit(0).await?;
        Ok(Some(count))
    }

    /// Takes a person, the contact and everything learned of them out of the register; logs of
    /// trips keep what they say. None if there is no such person, or any log has grown since it
    /// had `entries` in all: then nothing was deleted.
    ///
    /// # Errors
    /// [`StoreError`]; then nothing was deleted.
    pub async fn erase(
        &self,
        person: PersonId,
        by: Doer,
        why: &str,
        entries: i64,
    ) -> Result<Option<Erased>, StoreError> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let person = super::merged::remaining(write.on(), person).await?;
        let id = person.to_string();
        if count_entries(write.on()).await? != entries {
            return Ok(None);
        }
        let rates = sqlx::query("DELETE FROM surface_rate WHERE person = $1")
            .bind(id.as_str())
            .execute(write.on())
            .await?;
        let erased = Erased {
            contact: contacts::remove(write.on(), person).await?,
            rates: rates.rows_affected(),
        };
        if !delete(write.on(), person, Item::Entry).await? {
            return Ok(None);
        }
        let now = self.0.clock.now();
        let what = format!("erased from the register, reason: {why}");
        note_of(write.on(), now, by, AuditKind::Erased, Some(person), &what).await?;
        write.commit(0).await?;
        Ok(Some(erased))
    }

    /// Says that nothing is open any more about what happened on a trip, up to its entry `upto`.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn settle_incident(
        &self,
        trip: TripId,
        upto: u64,
        by: Doer,
        why: &str,
    ) -> Result<(), StoreError> {
        let now = self.0.clock.now();
        let id = trip.to_string();
        let entry = super::super::row::signed("incident_settled", "entry", &id, upto)?;
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        sqlx::query(
            "INSERT INTO incident_settled (trip, entry, at, crew, why) VALUES ($1, $2, $3, $4, $5) \
             ON CONFLICT (trip) DO UPDATE SET entry = $2, at = $3, crew = $4, why = $5",
        )
        .bind(id.as_str())
        .bind(entry)
        .bind(now.as_millisecond())
        .bind(by.who.map_or_else(String::new, |crew| crew.to_string()))
        .bind(why)
        .execute(write.on())
        .await?;
        let what = format!("settled what happened on trip {id}: {why}");
        note_of(write.on(), now, by, AuditKind::Retention, None, &what).await?;
        write.commit(0).await
    }

    /// Trips about which nothing is open any more, each up to an entry.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn settled_incidents(&self) -> Result<BTreeMap<TripId, u64>, StoreError> {
        let found: Vec<(String, i64)> = sqlx::query_as("SELECT trip, entry FROM incident_settled")
            .fetch_all(self.readers())
            .await?;
        let read = found.iter().map(|(trip, entry)| {
            let row = RowOf {
                table: "incident_settled",
                key: trip,
            };
            Ok((row.parse("trip", trip)?, row.figure("entry", *entry)?))
        });
        read.collect()
    }
}
