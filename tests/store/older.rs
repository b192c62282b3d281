//! Files as the programs before the file said its format left them.

use std::path::Path;

use deckwatch::store::{Head, Incoming};
use sqlx::migrate::{MigrateError, Migrator};
use sqlx::{ConnectOptions, Connection, SqliteConnection};

use crate::world::{device, event, incoming, noon, opened, trip};

/// The migrations of the programs before the file said its format, run as they ran them.
pub async fn older_program(raw: &mut SqliteConnection, version: i64) -> Result<(), MigrateError> {
    let folder = tempfile::tempdir().unwrap();
    for found in std::fs::read_dir("migrations").unwrap() {
        let path = found.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap();
        if name[..4].parse::<i64>().unwrap() <= version {
            std::fs::copy(&path, folder.path().join(name)).unwrap();
        }
    }
    let mut migrator = Migrator::new(folder.path()).await.unwrap();
    migrator.set_ignore_missing(true);
    migrator.run_direct(None, raw, false).await
}

pub async fn raw(folder: &Path) -> SqliteConnection {
    sqlx::sqlite::SqliteConnectOptions::new()
        .filename(folder.join("deckwatch.db"))
        .create_if_missing(true)
        .foreign_keys(true)
        .connect()
        .await
        .unwrap()
}

/// Appends as the programs of that age did.
async fn append(raw: &mut SqliteConnection, sent: &[Incoming]) {
    let trip = sent[0].event.trip;
    let mut head = Head::start(trip);
    sqlx::query("INSERT INTO trip (id, last_entry, chain, boat) VALUES ($1, 0, $2, 'Seelöwin')")
        .bind(trip.to_string())
        .bind(head.chain.as_slice())
        .execute(&mut *raw)
        .await
        .unwrap();
    for one in sent {
        head = head.then(&one.content.hash);
        let entry = i64::try_from(head.entry).unwrap();
        sqlx::query(
            "INSERT INTO entry (trip, entry, event, device, device_seq, content, hash, chain, \
             recorded_at, wall_age_ms, mono_age_ms, boot, uptime_ms) \
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)",
        )
        .bind(trip.to_string())
        .bind(entry)
        .bind(one.event.id.to_string())
        .bind(one.event.device.to_string())
        .bind(i64::try_from(one.event.device_seq).unwrap())
        .bind(one.content.text.as_str())
        .bind(one.content.hash.as_slice())
        .bind(head.chain.as_slice())
        .bind(noon().as_millisecond() + entry)
        .bind(1_000 + entry)
        .bind(None::<i64>)
        .bind("00000000-0000-0000-0000-00000000000b")
        .bind(7_000 + entry)
        .execute(&mut *raw)
        .await
        .unwrap();
    }
}

pub fn of_that_age() -> (Vec<Incoming>, Vec<Incoming>) {
    // The later id comes first, so that neither order is the other.
    (
        incoming([
            opened(trip(2), device(1)),
            event(trip(2), device(2), 1, "Grüße"),
            event(trip(2), device(1), 2, "of that age"),
            event(trip(2), device(1), 3, &"long ".repeat(3_000)),
        ]),
        incoming([event(trip(1), device(1), 1, "a trip beside it")]),
    )
}

pub async fn older_file(version: i64) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let mut raw = raw(folder.path()).await;
    older_program(&mut raw, version).await.unwrap();
    let (first, second) = of_that_age();
    append(&mut raw, &first).await;
    append(&mut raw, &second).await;
    sqlx::query(
        "INSERT INTO clash (trip, event, device, device_seq, content, hash, recorded_at, boot) \
         VALUES ($1, 'e', 'd', 1, 'kept aside', zeroblob(32), 1, 'b')",
    )
    .bind(trip(2).to_string())
    .execute(&mut raw)
    .await
    .unwrap();
    raw.close().await.unwrap();
    folder
}
