//! At the start: contacts that older programs left in the clear are sealed, and the file is
//! written anew so that no page of it, free or in the write-ahead log, holds them any more.

use std::path::Path;

use sqlx::Connection as _;
use sqlx::sqlite::SqliteConnection;

use super::super::StoreError;
use super::super::register::{Contact, write_sealed};
use super::super::row::RowOf;
use super::super::writer::{Fold, checkpoint};
use crate::clock::Clock;

/// What kind of file it was before this start.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in super::super) enum Found {
    /// There was none: no contact was ever in the clear in it.
    New,
    /// Some program had it before.
    Older,
}

/// The setting that says that nothing is left in the clear.
const DONE: &str = "contacts-sealed";

/// Seals what lies in the clear. Returns how many contacts that were.
pub(in super::super) async fn seal_all(
    connection: &mut SqliteConnection,
    database: &Path,
    clock: &Clock,
    found: Found,
) -> Result<usize, StoreError> {
    let done: Option<String> = sqlx::query_scalar("SELECT value FROM setting WHERE key = $1")
        .bind(DONE)
        .fetch_optional(&mut *connection)
        .await?;
    let plain: Vec<(String, String, String, String)> =
        sqlx::query_as("SELECT person, name, relation, telephone FROM contact")
            .fetch_all(&mut *connection)
            .await?;
    if done.is_some() && plain.is_empty() {
        return Ok(0);
    }
    let mut write = connection.begin_with("BEGIN IMMEDIATE").await?;
    for (person, name, relation, telephone) in &plain {
        let row = RowOf {
            table: "contact",
            key: person,
        };
        let contact = Contact {
            name: name.clone(),
            relation: relation.clone(),
            telephone: telephone.clone(),
        };
        let person = row.parse("person", person)?;
        write_sealed(&mut write, database, clock, person, &contact).await?;
    }
    // Whatever lies there now was read above: nobody else writes.
    sqlx::query("DELETE FROM contact")
        .execute(&mut *write)
        .await?;
    // Told as done only when the pages are gone: a start that is cut short does it again.
    sqlx::query("DELETE FROM setting WHERE key = $1")
        .bind(DONE)
        .execute(&mut *write)
        .await?;
    write.commit().await?;
    if found == Found::Older {
        // Deletions of older programs left their bytes in free space.
        checkpoint(connection, Fold::Whole).await?;
        sqlx::query("VACUUM").execute(&mut *connection).await?;
        checkpoint(connection, Fold::Whole).await?;
        is_folded(database)?;
    }
    sqlx::query("INSERT INTO setting (key, value) VALUES ($1, 'true')")
        .bind(DONE)
        .execute(&mut *connection)
        .await?;
    checkpoint(connection, Fold::Whole).await?;
    Ok(plain.len())
}

/// Whether the write-ahead log is empty: while somebody else reads it stays as it is, with pages
/// of before in it.
fn is_folded(database: &Path) -> Result<(), StoreError> {
    let mut log = database.as_os_str().to_owned();
    log.push("-wal");
    let log = std::path::PathBuf::from(log);
    match std::fs::metadata(&log) {
        Ok(seen) if seen.len() > 0 => Err(StoreError::File {
            doing: "empty, as another program reads it,",
            path: log,
            cause: std::sync::Arc::new(std::io::ErrorKind::ResourceBusy.into()),
        }),
        Ok(_) | Err(_) => Ok(()),
    }
}
