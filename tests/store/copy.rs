//! Backups and their way back: what is made is proven, what is not proven is not restored, and
//! what was there stays.

use std::path::{Path, PathBuf};

use deckwatch::clock::Clock;
use deckwatch::store::copy::{kept_in, restore};
use deckwatch::store::{Store, StoreError};
use jiff::SignedDuration;

use crate::world::{World, device, event, incoming, noon, opened, trip, unguard};

async fn filled() -> World {
    let world = World::new().await;
    let events = incoming([
        opened(trip(1), device(1)),
        event(trip(1), device(1), 2, "a"),
        event(trip(1), device(2), 1, "b"),
    ]);
    world.store.append(trip(1), events).await.unwrap();
    world
        .store
        .set_setting("centre", &"North Pier")
        .await
        .unwrap();
    world
}

async fn back_up(world: &World, to: &Path) -> PathBuf {
    world.store.back_up(to, 9).await.unwrap().path
}

fn clock() -> Clock {
    Clock::fixed(noon())
}

/// Every file below a folder with its bytes.
fn all_in(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let mut all = Vec::new();
    for found in std::fs::read_dir(folder).unwrap() {
        let path = found.unwrap().path();
        if path
            .extension()
            .is_some_and(|end| end == "lock" || end == "db-shm")
        {
            continue;
        }
        all.push((path.clone(), std::fs::read(&path).unwrap()));
    }
    all.sort();
    all
}

#[tokio::test]
async fn a_backup_restored_is_the_same_store_and_goes_on() {
    let world = filled().await;
    let to = tempfile::tempdir().unwrap();
    let made = world.store.back_up(to.path(), 9).await.unwrap();
    assert_eq!(made.flaws, 0);
    assert_eq!(made.proof, world.store.proof(None).await.unwrap());
    // Only the backup is there.
    assert_eq!(std::fs::read_dir(to.path()).unwrap().count(), 1);

    let fresh = tempfile::tempdir().unwrap();
    let place = fresh.path().join("data");
    let done = restore(&made.path, &place, false, &clock()).await.unwrap();
    assert_eq!((&done.proof, done.made_at), (&made.proof, noon()));
    assert!(done.states_compared);
    assert_eq!(done.aside, None);
    let store = Store::open(&place, clock()).await.unwrap();
    assert_eq!(store.proof(None).await.unwrap(), made.proof);
    assert_eq!(
        store.setting::<String>("centre").await.unwrap().as_deref(),
        Some("North Pier")
    );
    let next = incoming([event(trip(1), device(2), 2, "c")]);
    let _entry = store.append(trip(1), next).await.unwrap();
    assert!(store.verify().await.unwrap().flaws.is_empty());
    // A backup of what was restored has a proof of its own.
    let again = store.back_up(to.path(), 9).await;
    assert!(again.is_err(), "the same instant has a backup already");
    world.clock.advance(SignedDuration::from_secs(1));
    assert!(!to.path().join(".deckwatch-backup").exists());
}

#[tokio::test]
async fn a_backup_is_made_of_a_store_that_another_program_has_open() {
    let world = filled().await;
    let to = tempfile::tempdir().unwrap();
    let reader = Store::open_to_read(world.folder.path(), clock())
        .await
        .unwrap();
    let made = reader.back_up(to.path(), 1).await.unwrap();
    assert_eq!(made.proof, world.store.proof(None).await.unwrap());
    // It cannot write.
    let late = incoming([event(trip(1), device(1), 3, "late")]);
    assert!(reader.append(trip(1), late.clone()).await.is_err());
    assert!(reader.set_setting("centre", &"x").await.is_err());
    reader.close().await.unwrap();
    let _entry = world.store.append(trip(1), late).await.unwrap();
}

#[tokio::test]
async fn only_so_many_backups_stay_and_foreign_files_are_not_touched() {
    let world = filled().await;
    let to = tempfile::tempdir().unwrap();
    std::fs::write(to.path().join("deckwatch-notes.db"), "mine").unwrap();
    let mut made = Vec::new();
    for _ in 0..4 {
        world.clock.advance(SignedDuration::from_mins(60));
        made.push(world.store.back_up(to.path(), 2).await.unwrap());
    }
    assert_eq!(made[3].removed, [made[1].path.clone()]);
    let kept: Vec<PathBuf> = kept_in(to.path())
        .unwrap()
        .into_iter()
        .map(|kept| kept.path)
        .collect();
    assert_eq!(kept, [made[2].path.clone(), made[3].path.clone()]);
    assert!(to.path().join("deckwatch-notes.db").exists());
}

#[tokio::test]
async fn what_was_lost_before_the_backup_is_told_and_stays_on_record() {
    let mut world = filled().await;
    world.tamper(&["DELETE FROM entry WHERE entry = 3"]).await;
    let to = tempfile::tempdir().unwrap();
    let made = world.store.back_up(to.path(), 9).await.unwrap();
    assert!(made.flaws > 0);
    let fresh = tempfile::tempdir().unwrap();
    restore(&made.path, fresh.path(), false, &clock())
        .await
        .unwrap();
    let store = Store::open(fresh.path(), clock()).await.unwrap();
    assert_eq!(store.lost().await.unwrap().len(), 1);
}

#[tokio::test]
async fn a_database_that_is_there_is_put_aside_only_when_asked() {
    let world = filled().await;
    let to = tempfile::tempdir().unwrap();
    let backup = back_up(&world, to.path()).await;
    let other = filled().await;
    let more = incoming([event(trip(2), device(1), 1, "only here")]);
    let _entry = other.store.append(trip(2), more).await.unwrap();

    let error = restore(&backup, other.folder.path(), true, &clock())
        .await
        .unwrap_err();
    assert!(matches!(error, StoreError::InUse { .. }), "{error}");
    // As a program leaves it that was killed: with its log beside it.
    let after = tempfile::tempdir().unwrap();
    for name in ["deckwatch.db", "deckwatch.db-wal"] {
        std::fs::copy(other.folder.path().join(name), after.path().join(name)).unwrap();
    }
    let before = all_in(after.path());
    let error = restore(&backup, after.path(), false, &clock())
        .await
        .unwrap_err();
    assert!(error.to_string().contains("--replace"), "{error}");
    assert_eq!(all_in(after.path()), before);

    let done = restore(&backup, after.path(), true, &clock())
        .await
        .unwrap();
    let aside = done.aside.unwrap();
    let old = Store::open(&aside, clock()).await.unwrap();
    assert_eq!(
        old.log(trip(2), 0).await.unwrap().len(),
        1,
        "its log was folded in first"
    );
    old.close().await.unwrap();
    let new = Store::open(after.path(), clock()).await.unwrap();
    assert_eq!(
        new.proof(None).await.unwrap(),
        world.store.proof(None).await.unwrap()
    );
    assert!(new.trip(trip(2)).await.unwrap().is_none());
}

async fn tampered(backup: &Path, name: &str, statements: &[&'static str]) -> PathBuf {
    use sqlx::{ConnectOptions as _, Connection as _};
    let path = backup.with_file_name(name);
    std::fs::copy(backup, &path).unwrap();
    let mut raw = sqlx::sqlite::SqliteConnectOptions::new()
        .filename(&path)
        .connect()
        .await
        .unwrap();
    unguard(&mut raw).await;
    for statement in statements {
        sqlx::query(*statement).execute(&mut raw).await.unwrap();
    }
    raw.close().await.unwrap();
    path
}

#[tokio::test]
async fn whatever_is_not_a_whole_backup_is_refused_and_nothing_is_left() {
    let world = filled().await;
    let to = tempfile::tempdir().unwrap();
    let backup = back_up(&world, to.path()).await;
    let mut bad: Vec<(PathBuf, &str)> = Vec::new();
    let text = to.path().join("letter.db");
    std::fs::write(&text, "Dear harbour master, ".repeat(400)).unwrap();
    bad.push((text, "no backup"));
    let short = to.path().join("short.db");
    let bytes = std::fs::read(&backup).unwrap();
    std::fs::write(&short, &bytes[..bytes.len() / 2]).unwrap();
    bad.push((short, "damaged"));
    let link = to.path().join("link.db");
    std::os::unix::fs::symlink(&backup, &link).unwrap();
    bad.push((link, "no plain file"));
    bad.push((to.path().to_owned(), "no plain file"));
    let pipe = to.path().join("pipe.db");
    let made = std::process::Command::new("mkfifo").arg(&pipe).status();
    assert!(made.unwrap().success());
    bad.push((pipe, "no plain file"));
    for (name, statements, why) in [
        (
            "changed.db",
            &["UPDATE entry SET content = replace(content, '\"a\"', '\"z\"') WHERE entry = 2"][..],
            "damaged",
        ),
        (
            "shorter.db",
            &[
                "DELETE FROM entry WHERE entry = 3",
                "DELETE FROM number WHERE entry = 3",
            ][..],
            "proven to be",
        ),
        ("unproven.db", &["DELETE FROM proof"][..], "no proof"),
        (
            "acting.db",
            &["CREATE TRIGGER odd AFTER INSERT ON proof BEGIN DELETE FROM clash; END"][..],
            "'odd'",
        ),
        ("later.db", &["PRAGMA user_version = 99"][..], "newer"),
    ] {
        bad.push((tampered(&backup, name, statements).await, why));
    }
    // A store that is no backup.
    let live = world.folder.path().join("deckwatch.db");
    world.store.close().await.unwrap();
    bad.push((live, "no proof"));
    bad.push((to.path().join("gone.db"), "cannot read"));
    for (from, why) in bad {
        let fresh = tempfile::tempdir().unwrap();
        let error = restore(&from, fresh.path(), false, &clock())
            .await
            .unwrap_err();
        assert!(
            error.to_string().contains(why),
            "{}: {error}",
            from.display()
        );
        assert_eq!(all_in(fresh.path()), [], "{}", from.display());
    }
}

#[tokio::test]
async fn no_single_changed_byte_of_the_log_comes_back_unseen() {
    let world = filled().await;
    let to = tempfile::tempdir().unwrap();
    let backup = back_up(&world, to.path()).await;
    let proof = world.store.proof(None).await.unwrap();
    let bytes = std::fs::read(&backup).unwrap();
    let (mut refused, mut same) = (0, 0);
    for nth in 0..60 {
        let at = (nth * 7_919 + 131) % bytes.len();
        let mut changed = bytes.clone();
        changed[at] ^= 0x20;
        let path = to.path().join("changed.db");
        std::fs::write(&path, &changed).unwrap();
        let fresh = tempfile::tempdir().unwrap();
        match restore(&path, fresh.path(), false, &clock()).await {
            Err(_) => refused += 1,
            // A byte that holds nothing of the log.
            Ok(done) => {
                assert_eq!(done.proof, proof, "byte {at}");
                same += 1;
            }
        }
    }
    assert!(refused > 0, "{refused} refused, {same} the same");
}
