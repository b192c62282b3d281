//! Files of other ages: an older one is brought up to date with all it holds, a newer one is
//! taken only if this program reads it rightly.

use std::path::Path;

use deckwatch::clock::Clock;
use deckwatch::store::{AppendError, Appended, Head, Store, StoreError};
use deckwatch::trip::event::Event;
use sqlx::migrate::MigrateError;
use sqlx::{AssertSqlSafe, Connection};

use crate::older::{of_that_age, older_file, older_program, raw};
use crate::world::{World, device, event, id, incoming, noon, trip};

async fn change(folder: &Path, statement: &'static str) {
    let mut raw = raw(folder).await;
    sqlx::query("PRAGMA foreign_keys = OFF")
        .execute(&mut raw)
        .await
        .unwrap();
    let done = sqlx::query(statement).execute(&mut raw).await.unwrap();
    assert!(done.rows_affected() >= 1, "{statement}");
    raw.close().await.unwrap();
}

async fn open(folder: &Path) -> Result<Store, StoreError> {
    Store::open(folder, Clock::fixed(noon())).await
}

#[tokio::test]
async fn every_older_file_is_brought_up_to_date_with_its_rows() {
    for version in 1..=3 {
        let folder = older_file(version).await;
        for _ in 0..2 {
            let store = open(folder.path()).await.unwrap();
            for sent in [of_that_age().0, of_that_age().1] {
                let trip = sent[0].event.trip;
                let log = store.log(trip, 0).await.unwrap();
                assert_eq!(log.len(), sent.len());
                let mut head = Head::start(trip);
                for (kept, sent) in log.iter().zip(&sent) {
                    head = head.then(&sent.content.hash);
                    assert_eq!(kept.content, sent.content.text);
                    assert_eq!((kept.hash, kept.chain), (sent.content.hash, head.chain));
                    let entry = i64::try_from(head.entry).unwrap();
                    let receipt = &kept.receipt;
                    assert_eq!(receipt.entry, head.entry);
                    let ms = noon().as_millisecond() + entry;
                    assert_eq!(receipt.recorded_at.as_millisecond(), ms);
                    assert_eq!(receipt.wall_age_ms, Some(1_000 + entry));
                    assert_eq!(receipt.mono_age_ms, None);
                    assert_eq!(
                        (kept.boot.as_u128(), kept.uptime_ms),
                        (11, 7_000 + head.entry)
                    );
                }
                assert_eq!(store.head(trip).await.unwrap(), Some(head));
                let row = store.trip(trip).await.unwrap().unwrap();
                assert_eq!(row.boat.as_deref(), Some("Seelöwin"));
            }
            assert_eq!(store.clashes(trip(2)).await.unwrap(), ["kept aside"]);
            assert!(store.people().await.unwrap().is_empty());
            assert!(store.list_crew().await.unwrap().is_empty());
            let verdict = store.verify().await.unwrap();
            assert_eq!((verdict.trips, verdict.entries), (2, 5));
            assert!(verdict.flaws.is_empty(), "{:?}", verdict.flaws);
            store.close().await.unwrap();
        }
    }
}

#[tokio::test]
async fn a_log_of_an_older_file_goes_on_with_its_guarantees() {
    let folder = older_file(3).await;
    let store = open(folder.path()).await.unwrap();
    let again = store.append(trip(2), of_that_age().0).await.unwrap();
    let repeats: Vec<_> = (1..=4).map(|entry| Appended::Repeat { entry }).collect();
    assert_eq!(again, repeats);
    for other in [
        event(trip(2), device(2), 1, "same id, other content"),
        Event {
            id: id(1),
            ..event(trip(2), device(1), 3, "same number, other id")
        },
    ] {
        let refused = store.append(trip(2), incoming([other])).await;
        assert!(matches!(refused, Err(AppendError::Clash(_))), "{refused:?}");
    }
    let next = incoming([event(trip(2), device(2), 2, "next")]);
    let done = store.append(trip(2), next).await.unwrap();
    assert_eq!(done, [Appended::New { entry: 5 }]);
    let third = incoming([event(trip(3), device(2), 1, "a new trip")]);
    let done = store.append(trip(3), third).await.unwrap();
    assert_eq!(done, [Appended::New { entry: 1 }]);
    assert!(store.verify().await.unwrap().flaws.is_empty());
}

/// What an older program would have found wrong is still found.
#[tokio::test]
async fn what_was_wrong_with_an_older_file_is_still_told() {
    for (wrong, at) in [
        ("DELETE FROM entry WHERE entry = 4", 4),
        ("DELETE FROM entry WHERE device_seq = 3", 4),
        ("DELETE FROM entry WHERE entry = 2", 3),
        ("DELETE FROM entry WHERE content LIKE '%long long%'", 4),
        ("DELETE FROM entry WHERE entry >= 3", 4),
        (
            "UPDATE trip SET chain = zeroblob(32) WHERE last_entry = 4",
            4,
        ),
        ("UPDATE trip SET last_entry = 3 WHERE last_entry = 4", 4),
        (
            "UPDATE entry SET content = content || ' ' WHERE entry = 2",
            2,
        ),
    ] {
        let folder = older_file(3).await;
        change(folder.path(), wrong).await;
        for _ in 0..2 {
            let store = open(folder.path()).await.unwrap();
            let flaws = store.verify().await.unwrap().flaws;
            assert!(
                flaws.iter().any(|flaw| flaw.entry == at),
                "{wrong}: {flaws:?}"
            );
            let trip = trip(2).to_string();
            assert!(
                flaws.iter().all(|flaw| flaw.trip == trip),
                "{wrong}: {flaws:?}"
            );
            assert_eq!(
                store
                    .head(trip.parse().unwrap())
                    .await
                    .unwrap()
                    .unwrap()
                    .entry,
                4
            );
            store.close().await.unwrap();
        }
    }
}

#[tokio::test]
async fn entries_of_an_older_file_that_are_in_no_list_are_not_dropped() {
    let folder = older_file(3).await;
    change(folder.path(), "DELETE FROM trip WHERE last_entry = 4").await;
    let store = open(folder.path()).await.unwrap();
    assert_eq!(store.log(trip(2), 0).await.unwrap().len(), 4);
    assert!(store.trip(trip(2)).await.unwrap().is_some());
    assert!(!store.verify().await.unwrap().flaws.is_empty());
}

#[tokio::test]
async fn a_migration_that_fails_leaves_the_file_to_the_older_program() {
    let folder = older_file(3).await;
    change(folder.path(), "INSERT INTO setting VALUES ('a', 'b')").await;
    let mut file = raw(folder.path()).await;
    // The name that the migration wants near its end is taken.
    sqlx::query("CREATE VIEW trip_head AS SELECT 1")
        .execute(&mut file)
        .await
        .unwrap();
    file.close().await.unwrap();
    let error = open(folder.path()).await.unwrap_err();
    assert!(matches!(error, StoreError::Migration(_)), "{error}");

    let mut file = raw(folder.path()).await;
    older_program(&mut file, 3).await.unwrap();
    let kept: (i64, i64, i64) = sqlx::query_as(
        "SELECT (SELECT count(*) FROM entry), (SELECT sum(last_entry) FROM trip), \
         (SELECT user_version FROM pragma_user_version)",
    )
    .fetch_one(&mut file)
    .await
    .unwrap();
    assert_eq!(kept, (5, 5, 0));
    sqlx::query("DROP VIEW trip_head")
        .execute(&mut file)
        .await
        .unwrap();
    file.close().await.unwrap();
    let store = open(folder.path()).await.unwrap();
    assert!(store.verify().await.unwrap().flaws.is_empty());
}

#[tokio::test]
async fn an_older_program_refuses_a_file_that_was_brought_further() {
    for version in 1..=3 {
        for folder in [older_file(version).await, tempfile::tempdir().unwrap()] {
            open(folder.path()).await.unwrap().close().await.unwrap();
            let mut file = raw(folder.path()).await;
            let refused = older_program(&mut file, version).await.unwrap_err();
            assert!(matches!(refused, MigrateError::Dirty(_)), "{refused}");
            // Nor would it get far.
            let lost = sqlx::query("SELECT last_entry, chain FROM trip").execute(&mut file);
            assert!(lost.await.is_err());
            file.close().await.unwrap();
            let store = open(folder.path()).await.unwrap();
            assert!(store.verify().await.unwrap().flaws.is_empty());
            store.close().await.unwrap();
        }
    }
}

#[tokio::test]
async fn a_file_of_a_format_to_come_is_refused_and_left_alone() {
    let world = World::new().await;
    world.store.close().await.unwrap();
    let mut file = world.raw().await;
    sqlx::query("PRAGMA user_version = 2")
        .execute(&mut file)
        .await
        .unwrap();
    file.close().await.unwrap();
    let before = std::fs::read(world.store.path()).unwrap();
    let error = open(world.folder.path()).await.unwrap_err();
    assert!(
        matches!(
            error,
            StoreError::Newer {
                found: 2,
                known: 1,
                ..
            }
        ),
        "{error:?}"
    );
    assert!(error.is_permanent());
    assert!(error.to_string().contains("newer Deckwatch"), "{error}");
    assert_eq!(std::fs::read(world.store.path()).unwrap(), before);
}

#[tokio::test]
async fn a_file_to_which_a_newer_program_only_added_still_opens() {
    let world = World::new().await;
    world.store.close().await.unwrap();
    let mut raw = world.raw().await;
    for statement in [
        "CREATE TABLE tide (id INTEGER PRIMARY KEY) STRICT",
        "INSERT INTO _sqlx_migrations (version, description, success, checksum, execution_time) \
         VALUES (9999, 'tide', 1, x'00', 0)",
    ] {
        sqlx::query(AssertSqlSafe(statement))
            .execute(&mut raw)
            .await
            .unwrap();
    }
    raw.close().await.unwrap();
    let store = open(world.folder.path()).await.unwrap();
    let events = incoming([event(trip(1), device(1), 1, "a")]);
    store.append(trip(1), events).await.unwrap();
}
