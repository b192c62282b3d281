//! Emergency contacts: sealed, each under a key of its own, and opened by whoever gives a reason.

use std::collections::BTreeSet;
use std::path::Path;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use sqlx::sqlite::SqliteConnection;
use zeroize::Zeroizing;

use super::super::row::RowOf;
use super::super::seal::{self, SealError, Sealed};
use super::super::{Store, StoreError};
use super::merged::remaining;
use crate::clock::Clock;
use crate::trip::PersonId;

/// Whom to call. Never part of a trip's log.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Contact {
    /// Name.
    pub name: String,
    /// What they are to the person.
    pub relation: String,
    /// Telephone number as given.
    pub telephone: String,
}

/// What is sealed is filled up to a multiple of this, so that its length says little of a name.
const FILLED_TO: usize = 128;

impl Contact {
    fn text(&self) -> Result<Zeroizing<Vec<u8>>, StoreError> {
        let mut text = serde_json::to_vec(self).map_err(|cause| StoreError::Setting {
            key: "contact".to_owned(),
            cause: cause.into(),
        })?;
        // White space after a document means nothing in JSON.
        text.resize(text.len().next_multiple_of(FILLED_TO), b' ');
        Ok(Zeroizing::new(text))
    }
}

type Row = (Vec<u8>, Vec<u8>, Vec<u8>);

fn sealed_of((box_key, key, sealed): Row, person: PersonId) -> Result<Sealed, StoreError> {
    let id = person.to_string();
    let row = RowOf {
        table: "sealed_contact",
        key: &id,
    };
    let box_key = box_key.as_slice().try_into();
    Ok(Sealed {
        box_key: box_key.map_err(|_| row.fault("box_key", "is not 8 bytes long"))?,
        key,
        text: sealed,
    })
}

/// The key file by which contacts are sealed; none if there are none.
async fn sealed_by(connection: &mut SqliteConnection) -> Result<Vec<Vec<u8>>, StoreError> {
    let keys = sqlx::query_scalar("SELECT DISTINCT box_key FROM sealed_contact ORDER BY box_key");
    Ok(keys.fetch_all(connection).await?)
}

/// Seals a contact inside a transaction.
pub(in super::super) async fn write_sealed(
    connection: &mut SqliteConnection,
    database: &Path,
    clock: &Clock,
    of: PersonId,
    contact: &Contact,
) -> Result<(), StoreError> {
    let may_make = sealed_by(&mut *connection).await?.is_empty();
    let held = seal::seal_for(database, clock, of, &contact.text()?, may_make)?;
    sqlx::query(
        "INSERT INTO sealed_contact (person, box_key, key, sealed, given_at) \
         VALUES ($1, $2, $3, $4, $5) ON CONFLICT (person) \
         DO UPDATE SET box_key = $2, key = $3, sealed = $4, given_at = $5",
    )
    .bind(of.to_string())
    .bind(held.box_key.as_slice())
    .bind(held.key)
    .bind(held.text)
    .bind(clock.now().as_millisecond())
    .execute(connection)
    .await?;
    Ok(())
}

impl Store {
    /// Seals whom to call for a person.
    ///
    /// # Errors
    /// [`StoreError`]; also if there is no such person, or the key file is missing though
    /// contacts were sealed by one.
    pub async fn save_contact(&self, of: PersonId, contact: &Contact) -> Result<(), StoreError> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let of = remaining(write.on(), of).await?;
        let clock = self.0.clock.clone();
        write_sealed(write.on(), &self.0.path, &clock, of, contact).await?;
        // What an older program left of them in the clear is out of date.
        sqlx::query("DELETE FROM contact WHERE person = $1")
            .bind(of.to_string())
            .execute(write.on())
            .await?;
        write.commit(0).await
    }

    /// Opens whom to call for a person, if known. Whoever opens it is to be named in the audit
    /// before.
    ///
    /// # Errors
    /// [`StoreError::Sealed`] if the key file is missing or another one, or what was sealed is
    /// damaged.
    pub async fn contact(&self, of: PersonId) -> Result<Option<Contact>, StoreError> {
        let mut reader = self.readers().acquire().await?;
        let of = remaining(&mut reader, of).await?;
        read_within(&mut reader, &self.0.path, of).await
    }

    /// Whether whom to call for a person is known; nothing is opened for that.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn has_contact(&self, of: PersonId) -> Result<bool, StoreError> {
        let found: bool = sqlx::query_scalar(
            "SELECT EXISTS (SELECT 1 FROM sealed_contact WHERE person = $1) \
             OR EXISTS (SELECT 1 FROM contact WHERE person = $1)",
        )
        .bind(self.remaining(of).await?.to_string())
        .fetch_one(self.readers())
        .await?;
        Ok(found)
    }

    /// Everybody whose contact is known, under each identity that logs may name; nothing is opened
    /// for that.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn contacts_given(&self) -> Result<BTreeSet<PersonId>, StoreError> {
        let found: Vec<String> = sqlx::query_scalar(
            "WITH given AS (SELECT person FROM sealed_contact UNION SELECT person FROM contact) \
             SELECT person FROM given UNION SELECT gone FROM merged_person \
             WHERE person IN (SELECT person FROM given)",
        )
        .fetch_all(self.readers())
        .await?;
        let read = found.iter().map(|person| {
            let row = RowOf {
                table: "sealed_contact",
                key: person,
            };
            row.parse("person", person)
        });
        read.collect()
    }

    /// Since when each contact is known.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn contacts_since(
        &self,
    ) -> Result<std::collections::BTreeMap<PersonId, Timestamp>, StoreError> {
        let found: Vec<(String, i64)> =
            sqlx::query_as("SELECT person, given_at FROM sealed_contact")
                .fetch_all(self.readers())
                .await?;
        let read = found.iter().map(|(person, ms)| {
            let row = RowOf {
                table: "sealed_contact",
                key: person,
            };
            Ok((row.parse("person", person)?, row.instant("given_at", *ms)?))
        });
        read.collect()
    }

    /// Whether everything that is sealed can be opened, and a contact sealed.
    ///
    /// # Errors
    /// [`StoreError::Sealed`] with what is the matter with the key file.
    pub async fn can_open_contacts(&self) -> Result<(), StoreError> {
        let mut reader = self.readers().acquire().await?;
        let keys = sealed_by(&mut reader).await?;
        drop(reader);
        let mut first = None;
        for key in &keys {
            let id: Option<[u8; 8]> = key.as_slice().try_into().ok();
            first = first.or(id);
        }
        seal::fits(&self.0.path, first)?;
        if keys.len() > 1 {
            return Err(SealError::OtherKey {
                path: seal::path_of(&self.0.path),
            }
            .into());
        }
        Ok(())
    }

    /// Forgets whom to call for a person, and the key it was sealed by. Returns whether it was
    /// known.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn remove_contact(&self, of: PersonId) -> Result<bool, StoreError> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let of = remaining(write.on(), of).await?;
        let gone = remove(write.on(), of).await?;
        write.commit(0).await?;
        Ok(gone)
    }
}

/// Opens a contact inside a transaction, or by a connection that reads.
pub(super) async fn read_within(
    connection: &mut SqliteConnection,
    database: &Path,
    of: PersonId,
) -> Result<Option<Contact>, StoreError> {
    let found: Option<Row> =
        sqlx::query_as("SELECT box_key, key, sealed FROM sealed_contact WHERE person = $1")
            .bind(of.to_string())
            .fetch_optional(&mut *connection)
            .await?;
    let Some(found) = found else {
        return plain_contact(connection, of).await;
    };
    let text = seal::open_for(database, of, &sealed_of(found, of)?)?;
    let read = serde_json::from_slice(&text).map_err(|_| SealError::Damaged {
        person: of.to_string(),
    })?;
    Ok(Some(read))
}

/// One that could not be sealed at the start, since the key file is missing: nobody has to do
/// without it for that.
async fn plain_contact(
    connection: &mut SqliteConnection,
    of: PersonId,
) -> Result<Option<Contact>, StoreError> {
    let found: Option<(String, String, String)> =
        sqlx::query_as("SELECT name, relation, telephone FROM contact WHERE person = $1")
            .bind(of.to_string())
            .fetch_optional(connection)
            .await?;
    Ok(found.map(|(name, relation, telephone)| Contact {
        name,
        relation,
        telephone,
    }))
}

/// Forgets a contact inside a transaction. What is deleted is overwritten (`secure_delete`).
pub(super) async fn remove(
    connection: &mut SqliteConnection,
    of: PersonId,
) -> Result<bool, StoreError> {
    let sealed = sqlx::query("DELETE FROM sealed_contact WHERE person = $1")
        .bind(of.to_string())
        .execute(&mut *connection)
        .await?;
    let plain = sqlx::query("DELETE FROM contact WHERE person = $1")
        .bind(of.to_string())
        .execute(connection)
        .await?;
    Ok(sealed.rows_affected() + plain.rows_affected() > 0)
}
