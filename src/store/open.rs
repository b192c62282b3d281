//! Opening: the lock, the settings durability rests on and their reading back, migrations,
//! the writer and the readers.

use std::fs::File;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use sqlx::migrate::{Migrate as _, MigrateError, Migrator};
use sqlx::sqlite::{
    SqliteConnectOptions, SqliteConnection, SqliteJournalMode, SqlitePoolOptions, SqliteSynchronous,
};
use sqlx::{ConnectOptions, Connection};
use tokio::sync::{broadcast, mpsc};

use super::file::{self, Identity};
use super::plant::{self, Plant};
use super::seal::{self, Found};
use super::space::{self, Room};
use super::writer::{Fold, Health, Writer, checkpoint};
use super::{Durability, Inner, Store, StoreError, crew, log};
use crate::clock::Clock;

/// Readers at a time.
const READERS: u32 = 4;
/// Deliveries that may wait for the writer before their senders do.
const JOBS: usize = 1_024;
/// Entries a listener may lag behind before it must read the log anew.
const NEWS: usize = 1_024;
/// First library without the fault that can lose the write-ahead log.
/// Source: sqlite.org/wal.html, the WAL-reset bug, fixed in 3.51.3.
const OLDEST_LIBRARY: [u32; 3] = [3, 51, 3];

/// The format of files this program works on, which they keep as `user_version`. Raised by a
/// migration after which an older program would misread the file.
const FORMAT: i64 = 1;

pub(super) async fn open(place: &Path, clock: Clock) -> Result<Store, StoreError> {
    let path = file::database_in(place)?;
    let lock = file::lock_beside(&path)?;
    let (mut connection, found) = recover_somehow(&path).await?;
    // A box that cannot seal keeps watch all the same; what lies in the clear is told.
    match seal::seal_all(&mut connection, &path, &clock, found).await {
        Ok(0) => {}
        Ok(count) => tracing::info!(count, "contacts that lay in the clear are sealed"),
        Err(error) => {
            tracing::error!(error = ?error, "contacts in the clear were not sealed");
            // Whatever it was, the next connection begins anew.
            connection.close().await?;
            connection = connect(&path).await?;
        }
    }
    finish(path, clock, connection, lock).await
}

/// Opens a copy to prove it: nothing is sealed.
pub(super) async fn open_copy(place: &Path, clock: Clock) -> Result<Store, StoreError> {
    let path = file::database_in(place)?;
    let lock = file::lock_beside(&path)?;
    let (connection, _) = recover_somehow(&path).await?;
    finish(path, clock, connection, lock).await
}

/// Recovers, if need be out of the reserve.
async fn recover_somehow(path: &Path) -> Result<(SqliteConnection, Found), StoreError> {
    match recover(path).await {
        Err(StoreError::Full) => {
            space::give_up(&space::reserve_of(path));
            recover(path).await
        }
        recovered => recovered,
    }
}

async fn finish(
    path: PathBuf,
    clock: Clock,
    connection: SqliteConnection,
    lock: File,
) -> Result<Store, StoreError> {
    let store = around(path, clock, Some(connection), Some(lock)).await?;
    for gone in store.lost().await? {
        tracing::error!(
            trip.id = gone.trip,
            entry = gone.entry,
            "an entry of the log {}: ask devices and the shore for it, and have the file checked",
            gone.what
        );
    }
    Ok(store)
}

/// Opens without taking the lock, bringing anything up to date, or a connection that writes.
pub(super) async fn open_to_read(place: &Path, clock: Clock) -> Result<Store, StoreError> {
    let path = file::database_in(place)?;
    let mut connection = connect_to_read(&path).await?;
    let looked = is_up_to_date(&mut connection, &path).await;
    connection.close().await?;
    if looked? {
        around(path, clock, None, None).await
    } else {
        Err(StoreError::Older { path })
    }
}

/// The store around its connections.
async fn around(
    path: PathBuf,
    clock: Clock,
    connection: Option<SqliteConnection>,
    lock: Option<File>,
) -> Result<Store, StoreError> {
    let readers = SqlitePoolOptions::new()
        .max_connections(READERS)
        .test_before_acquire(false)
        .connect_with(reading(&path))
        .await?;
    let health = Health::sound(Room::beside(&path));
    let identity = Identity::of(&path)?;
    let writer = Arc::new(Writer::new(
        connection,
        health.clone(),
        path.clone(),
        identity,
        lock,
    ));
    let (jobs, waiting) = mpsc::channel(JOBS);
    let (news, _) = broadcast::channel(NEWS);
    tokio::spawn(log::write_all(
        waiting,
        Arc::clone(&writer),
        clock.clone(),
        news.clone(),
    ));
    Ok(Store(Arc::new(Inner {
        clock,
        path,
        readers,
        writer,
        jobs,
        news,
        health,
        pins: crew::PinWork::new(),
    })))
}

/// A connection that only reads, whoever else works on the file.
pub(super) async fn connect_to_read(path: &Path) -> Result<SqliteConnection, StoreError> {
    Ok(reading(path).connect().await?)
}

/// A connection to whatever database lies there, which changes nothing by itself.
pub(super) async fn connect_plainly(path: &Path) -> Result<SqliteConnection, StoreError> {
    let options = SqliteConnectOptions::new()
        .filename(path)
        .synchronous(SqliteSynchronous::Full)
        .busy_timeout(Duration::from_secs(1))
        .pragma("trusted_schema", "OFF")
        .optimize_on_close(false, None);
    Ok(options.connect().await?)
}

/// A writing connection whose settings were read back.
pub(super) async fn connect(path: &Path) -> Result<SqliteConnection, StoreError> {
    let mut connection = writing(path).connect().await?;
    read_back(&mut connection).await?;
    if plant::is(Plant::Normal) {
        sqlx::query(plant::NOT_SYNCED)
            .execute(&mut connection)
            .await?;
    }
    Ok(connection)
}

/// Connects, brings the tables up to date and the log to its end.
async fn recover(path: &Path) -> Result<(SqliteConnection, Found), StoreError> {
    let mut connection = connect(path).await?;
    let found = migrate(&mut connection, path).await?;
    log::own_up(&mut connection).await?;
    // What a crash left in the log is folded in before anybody reads.
    match checkpoint(&mut connection, Fold::Whole).await {
        Err(StoreError::Full) if !space::reserve_of(path).exists() => {
            tracing::error!("the disk is full: the write-ahead log stays as it is");
        }
        folded => folded?,
    }
    Ok((connection, found))
}

fn writing(path: &Path) -> SqliteConnectOptions {
    SqliteConnectOptions::new()
        .filename(path)
        .create_if_missing(true)
        .journal_mode(SqliteJournalMode::Wal)
        .synchronous(SqliteSynchronous::Full)
        .foreign_keys(true)
        .busy_timeout(Duration::from_secs(5))
        .pragma("wal_autocheckpoint", "0")
        .pragma("trusted_schema", "OFF")
        .pragma("cell_size_check", "ON")
        // What is deleted is overwritten: contacts that went must not lie in free space.
        .pragma("secure_delete", "ON")
        .optimize_on_close(false, None)
}

fn reading(path: &Path) -> SqliteConnectOptions {
    SqliteConnectOptions::new()
        .filename(path)
        .read_only(true)
        .busy_timeout(Duration::from_secs(5))
        .pragma("trusted_schema", "OFF")
        .pragma("cell_size_check", "ON")
}

/// Reads the settings back: asking for them is not having them.
pub(super) async fn read_back(connection: &mut SqliteConnection) -> Result<Durability, StoreError> {
    let library: String = sqlx::query_scalar("SELECT sqlite_version()")
        .fetch_one(&mut *connection)
        .await?;
    let parts: Vec<u32> = library.split('.').map_while(|n| n.parse().ok()).collect();
    if parts.as_slice() < OLDEST_LIBRARY.as_slice() {
        return Err(StoreError::TooOld { found: library });
    }
    let journal_mode: String = sqlx::query_scalar("PRAGMA journal_mode")
        .fetch_one(&mut *connection)
        .await?;
    let synchronous: i64 = sqlx::query_scalar("PRAGMA synchronous")
        .fetch_one(&mut *connection)
        .await?;
    let foreign_keys: i64 = sqlx::query_scalar("PRAGMA foreign_keys")
        .fetch_one(&mut *connection)
        .await?;
    let wal_autocheckpoint: i64 = sqlx::query_scalar("PRAGMA wal_autocheckpoint")
        .fetch_one(&mut *connection)
        .await?;
    for (name, found, wanted) in [
        ("journal_mode", journal_mode.clone(), "wal"),
        ("synchronous", synchronous.to_string(), "2"),
        ("foreign_keys", foreign_keys.to_string(), "1"),
        ("wal_autocheckpoint", wal_autocheckpoint.to_string(), "0"),
    ] {
        if found != wanted {
            return Err(StoreError::Pragma {
                name,
                found,
                wanted,
            });
        }
    }
    Ok(Durability {
        journal_mode,
        synchronous,
        foreign_keys,
        wal_autocheckpoint,
        library,
    })
}

/// Where the migrations a file has been through are on record.
const MIGRATIONS: &str = "_sqlx_migrations";

async fn is_up_to_date(connection: &mut SqliteConnection, path: &Path) -> Result<bool, StoreError> {
    is_known(connection, path).await?;
    let applied = connection.list_applied_migrations(MIGRATIONS).await?;
    let migrator: Migrator = sqlx::migrate!();
    Ok(migrator
        .iter()
        .all(|known| applied.iter().any(|had| had.version == known.version)))
}

/// Whether a migration makes a trigger or view of this name.
pub(super) fn is_of_a_migration(name: &str) -> bool {
    let migrator: Migrator = sqlx::migrate!();
    migrator.iter().any(|migration| {
        let words: Vec<&str> = migration.sql.as_str().split_whitespace().collect();
        words
            .windows(3)
            .any(|words| matches!(words, ["CREATE", "TRIGGER" | "VIEW", made] if *made == name))
    })
}

async fn is_known(connection: &mut SqliteConnection, path: &Path) -> Result<(), StoreError> {
    let format: i64 = sqlx::query_scalar("PRAGMA user_version")
        .fetch_one(&mut *connection)
        .await?;
    if format > FORMAT {
        return Err(StoreError::Newer {
            path: path.to_owned(),
            found: format,
            known: FORMAT,
        });
    }
    Ok(())
}

/// Each migration is one transaction. Most only add, so that a file which a newer program has
/// brought further is still good for this one; one that does not raises the file's format.
async fn migrate(connection: &mut SqliteConnection, path: &Path) -> Result<Found, StoreError> {
    is_known(connection, path).await?;
    let migrator: Migrator = sqlx::migrate!();
    connection.ensure_migrations_table(MIGRATIONS).await?;
    let applied = connection.list_applied_migrations(MIGRATIONS).await?;
    for migration in migrator.iter() {
        let before = applied
            .iter()
            .find(|before| before.version == migration.version);
        match before {
            None => {
                connection.apply(MIGRATIONS, migration).await?;
            }
            Some(before) if before.checksum == migration.checksum => {}
            Some(_) => return Err(MigrateError::VersionMismatch(migration.version).into()),
        }
    }
    Ok(if applied.is_empty() {
        Found::New
    } else {
        Found::Older
    })
}
