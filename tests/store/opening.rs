//! Opening: the lock, the settings durability rests on, migrations.

use deckwatch::clock::Clock;
use deckwatch::store::{Durability, Store, StoreError};
use sqlx::{ConnectOptions, Connection};

use crate::world::{World, device, event, incoming, noon, trip};

#[tokio::test]
async fn commits_are_synced_and_the_writer_folds_the_log_in() {
    let world = World::new().await;
    let read = world.store.durability().await.unwrap();
    let Durability {
        journal_mode,
        synchronous,
        foreign_keys,
        wal_autocheckpoint,
        library,
    } = read;
    assert_eq!(journal_mode, "wal");
    // 2 is FULL: sqlite.org/pragma.html#pragma_synchronous.
    assert_eq!((synchronous, foreign_keys, wal_autocheckpoint), (2, 1, 0));
    assert!(library.starts_with("3."), "{library}");
}

#[tokio::test]
async fn a_second_opening_is_refused_until_the_first_is_closed() {
    let world = World::new().await;
    let again = Store::open(world.folder.path(), world.clock.clone()).await;
    let error = again.unwrap_err();
    assert!(matches!(error, StoreError::InUse { .. }), "{error}");
    assert!(error.to_string().contains("another Deckwatch"), "{error}");
    assert!(!error.is_permanent());

    world.store.close().await.unwrap();
    let after = Store::open(world.folder.path(), world.clock.clone()).await;
    after.unwrap().close().await.unwrap();
}

#[tokio::test]
async fn a_closed_store_takes_nothing_and_says_so() {
    let world = World::new().await;
    world.store.close().await.unwrap();
    let refused = world
        .store
        .append(trip(1), incoming([event(trip(1), device(1), 1, "late")]))
        .await
        .unwrap_err();
    assert!(refused.to_string().contains("closed"), "{refused}");
    assert!(world.store.log(trip(1), 0).await.is_err());
    world.store.close().await.unwrap();
}

#[tokio::test]
async fn closing_leaves_one_file_without_a_log_beside_it() {
    let world = World::new().await;
    let done = world
        .store
        .append(trip(1), incoming([event(trip(1), device(1), 1, "a")]))
        .await
        .unwrap();
    assert_eq!(done.len(), 1);
    let beside = world.store.path().with_extension("db-wal");
    assert!(std::fs::metadata(&beside).unwrap().len() > 0);
    world.store.close().await.unwrap();
    assert!(!beside.exists());
}

#[tokio::test]
async fn a_file_can_be_named_instead_of_a_folder() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("deep").join("season.sqlite");
    let store = Store::open(&file, Clock::fixed(noon())).await.unwrap();
    assert_eq!(store.path(), file);
    store.close().await.unwrap();
    assert!(file.is_file());
}

#[tokio::test]
async fn a_file_that_is_no_database_is_refused_and_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("letter.db");
    let text = "Dear harbour master, ".repeat(100);
    std::fs::write(&file, &text).unwrap();
    let error = Store::open(&file, Clock::fixed(noon())).await.unwrap_err();
    assert!(error.is_permanent(), "{error:?}");
    assert_eq!(std::fs::read_to_string(&file).unwrap(), text);
}

#[tokio::test]
async fn a_file_replaced_underneath_ends_the_acknowledging() {
    let world = World::new().await;
    let one = incoming([event(trip(1), device(1), 1, "a")]);
    world.store.append(trip(1), one).await.unwrap();
    let path = world.store.path();
    std::fs::copy(path, path.with_extension("copy")).unwrap();
    std::fs::rename(path.with_extension("copy"), path).unwrap();

    let two = incoming([event(trip(1), device(1), 2, "b")]);
    let error = world.store.append(trip(1), two).await.unwrap_err();
    assert!(error.to_string().contains("replaced"), "{error}");
    assert!(world.store.check().is_err());
    assert!(world.store.health().borrow().is_some());
}

#[tokio::test]
async fn a_merged_migration_that_was_touched_is_found_out() {
    let world = World::new().await;
    world.store.close().await.unwrap();
    let mut raw = world.raw().await;
    sqlx::query("UPDATE _sqlx_migrations SET checksum = x'00' WHERE version = 1")
        .execute(&mut raw)
        .await
        .unwrap();
    raw.close().await.unwrap();
    let again = Store::open(world.folder.path(), world.clock.clone()).await;
    assert!(matches!(again.unwrap_err(), StoreError::Migration(_)));
}

#[tokio::test]
async fn every_table_is_strict() {
    let world = World::new().await;
    let mut raw = sqlx::sqlite::SqliteConnectOptions::new()
        .filename(world.store.path())
        .read_only(true)
        .connect()
        .await
        .unwrap();
    let loose: Vec<String> = sqlx::query_scalar(
        "SELECT name FROM pragma_table_list WHERE type = 'table' AND strict = 0 \
         AND name NOT LIKE 'sqlite_%' AND name <> '_sqlx_migrations'",
    )
    .fetch_all(&mut raw)
    .await
    .unwrap();
    assert!(loose.is_empty(), "{loose:?}");
}
