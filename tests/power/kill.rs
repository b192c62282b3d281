//! K: killed without warning, at random: while devices send, while tables are brought up to
//! date, while a backup is made or restored. A kill says nothing about power cuts, as the kernel
//! keeps what was written: those are in `cut`.

use std::io::Read as _;
use std::path::Path;
use std::process::Child;
use std::sync::atomic::{AtomicU64, AtomicUsize, Ordering};
use std::time::Duration;

use deckwatch::clock::Clock;
use deckwatch::store::Store;
use deckwatch::store::copy::{kept_in, restore};

use crate::chance::{Chance, now, seed, times};
use crate::child::{backups, command, data};
use crate::judge::{self, acks};
use crate::older::older_file;
use crate::world::{noon, trip};

/// Kills a child after a while, if it has not ended; returns what it had said.
pub fn kill_after(mut child: Child, wait: Duration) -> String {
    let mut out = child.stdout.take().unwrap();
    let reader = std::thread::spawn(move || {
        let mut said = Vec::new();
        out.read_to_end(&mut said).unwrap();
        said
    });
    let mut err = child.stderr.take().unwrap();
    let errors = std::thread::spawn(move || {
        let mut said = Vec::new();
        err.read_to_end(&mut said).unwrap();
        said
    });
    std::thread::sleep(wait);
    child.kill().unwrap();
    let status = child.wait().unwrap();
    let said = String::from_utf8(reader.join().unwrap()).unwrap();
    let errors = String::from_utf8(errors.join().unwrap()).unwrap();
    // A process that the other thread starts holds, between fork and exec, what this one has just
    // let go, the lock of a judged file too. Such a child was rightly refused, and said nothing.
    let refused = said.contains("is open already") && acks(&said).is_empty();
    assert!(
        refused || status.code().is_none_or(|code| code == 0),
        "it ended by itself: {status} {said} {errors}"
    );
    // A line that the kill cut short acknowledges nothing.
    let whole = said.rfind('\n').map_or(0, |end| end + 1);
    said[..whole].to_owned()
}

fn runtime() -> tokio::runtime::Runtime {
    tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .unwrap()
}

/// Shares `count` pieces of work among two threads.
pub fn share(count: usize, work: impl Fn(usize) + Sync) {
    let next = AtomicUsize::new(0);
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                loop {
                    let nth = next.fetch_add(1, Ordering::Relaxed);
                    if nth >= count {
                        return;
                    }
                    work(nth);
                }
            });
        }
    });
}

/// Kills in one folder before the next; a log that grows for ever takes ever longer to judge.
const IN_ONE_FOLDER: usize = 12;

/// Kills of a child that does `what`, judged after each; returns how many were acknowledged and
/// the longest opening after a kill.
pub fn kills(
    what: &str,
    count: usize,
    longest_ms: usize,
    seed: u64,
    plant: Option<&str>,
) -> Result<(usize, Duration), String> {
    let acknowledged = AtomicUsize::new(0);
    let failed = std::sync::Mutex::new(None);
    let slowest = std::sync::Mutex::new(Duration::ZERO);
    share(count.div_ceil(IN_ONE_FOLDER), |nth| {
        let folder = tempfile::tempdir().unwrap();
        let mut chance = Chance::new(seed ^ (nth as u64) << 20);
        let mut all = Vec::new();
        for _ in 0..IN_ONE_FOLDER.min(count - nth * IN_ONE_FOLDER) {
            if failed.lock().unwrap().is_some() {
                return;
            }
            let mut command = command(&[], what, folder.path(), 1_000);
            if let Some(plant) = plant {
                command.env("DECKWATCH_PLANT", plant);
            }
            let wait = Duration::from_micros(chance.below(longest_ms * 1_000) as u64);
            let said = kill_after(command.spawn().unwrap(), wait);
            all.extend(acks(&said));
            let start = now();
            let judged = runtime().block_on(after_kill(folder.path(), &all));
            let took = start.elapsed();
            let mut slowest = slowest.lock().unwrap();
            *slowest = took.max(*slowest);
            if let Err(why) = judged {
                let why = format!("{what}, folder {nth}: {why}");
                failed.lock().unwrap().get_or_insert(why);
                return;
            }
        }
        acknowledged.fetch_add(all.len(), Ordering::Relaxed);
    });
    match failed.into_inner().unwrap() {
        None => Ok((acknowledged.into_inner(), slowest.into_inner().unwrap())),
        Some(why) => Err(why),
    }
}

async fn after_kill(folder: &Path, all: &[String]) -> Result<(), String> {
    judge::look(&data(folder), all).await?;
    // Every backup that has its name is whole.
    for kept in kept_in(&backups(folder)).map_err(|e| e.to_string())? {
        let fresh = tempfile::tempdir().unwrap();
        let clock = Clock::fixed(noon());
        let restored = restore(&kept.path, fresh.path(), false, &clock).await;
        restored.map_err(|error| error.to_string())?;
    }
    Ok(())
}

#[test]
fn acknowledged_events_survive_kills_while_devices_send() {
    let (count, start) = (600 * times(), now());
    let (acknowledged, slowest) = kills("send", count, 90, seed(), None).unwrap();
    eprintln!(
        "K: {count} kills while sending in {:?}: {acknowledged} acknowledged, 0 lost; slowest start and proof {slowest:?}",
        start.elapsed()
    );
    assert!(
        acknowledged > count,
        "{acknowledged}: killed before anything was sent"
    );
    assert!(slowest < Duration::from_secs(2), "{slowest:?}");
}

#[test]
fn acknowledged_events_and_backups_survive_kills_while_backups_are_made() {
    let (count, start) = (150 * times(), now());
    let (acknowledged, _) = kills("send-and-back-up", count, 150, seed(), None).unwrap();
    eprintln!(
        "K: {count} kills while backing up in {:?}: {acknowledged} acknowledged, 0 lost",
        start.elapsed()
    );
    assert!(acknowledged > count / 2, "{acknowledged}");
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for found in std::fs::read_dir(from).unwrap() {
        let path = found.unwrap().path();
        std::fs::copy(&path, to.join(path.file_name().unwrap())).unwrap();
    }
}

/// Killed again and again while its tables are brought up to date, an old file gets there with
/// all that it held.
#[test]
fn an_old_file_survives_kills_while_it_is_brought_up_to_date() {
    let (count, seed, start) = (150 * times(), seed(), now());
    let old: Vec<_> = (1..=3)
        .map(|version| runtime().block_on(older_file(version)))
        .collect();
    let halfway = AtomicUsize::new(0);
    share(count, |nth| {
        let mut chance = Chance::new(seed ^ 0x01d ^ (nth as u64) << 20);
        let folder = tempfile::tempdir().unwrap();
        copy(old[nth % 3].path(), &data(folder.path()));
        for _ in 0..=(nth % 2) {
            let wait = Duration::from_micros(chance.below(50_000) as u64);
            let child = command(&[], "open", folder.path(), 1).spawn().unwrap();
            if !kill_after(child, wait).contains("open") {
                halfway.fetch_add(1, Ordering::Relaxed);
            }
        }
        runtime().block_on(async {
            let store = Store::open(&data(folder.path()), Clock::fixed(noon()))
                .await
                .unwrap();
            assert_eq!(store.log(trip(2), 0).await.unwrap().len(), 4);
            assert_eq!(store.log(trip(1), 0).await.unwrap().len(), 1);
            assert_eq!(store.clashes(trip(2)).await.unwrap(), ["kept aside"]);
            let verdict = store.verify().await.unwrap();
            assert!(verdict.flaws.is_empty(), "{:?}", verdict.flaws);
            store.close().await.unwrap();
        });
    });
    let halfway = halfway.into_inner();
    eprintln!(
        "K: {count} old files killed while opening ({halfway} kills before it was open) in {:?}",
        start.elapsed()
    );
    assert!(halfway > count / 4, "{halfway}: killed too late");
}

/// Killed while a backup takes the place of what is there: one of the two is there.
#[test]
fn a_restore_that_is_killed_leaves_the_old_or_the_new() {
    let (count, seed, start) = (100 * times(), seed(), now());
    let template = tempfile::tempdir().unwrap();
    let (old, new) = runtime().block_on(async {
        let folder = tempfile::tempdir().unwrap();
        let status = command(&[], "send", folder.path(), 6).status().unwrap();
        assert!(status.success());
        let store = Store::open(&data(folder.path()), Clock::fixed(noon()))
            .await
            .unwrap();
        let made = store.back_up(folder.path(), 1).await.unwrap();
        std::fs::create_dir_all(backups(template.path())).unwrap();
        std::fs::copy(made.path, backups(template.path()).join("new.db")).unwrap();
        store.close().await.unwrap();
        // The old one as a kill left it: with a log beside it.
        let child = command(&[], "send", template.path(), 1_000)
            .spawn()
            .unwrap();
        kill_after(child, Duration::from_millis(250));
        let looked = tempfile::tempdir().unwrap();
        copy(&data(template.path()), looked.path());
        let store = Store::open(looked.path(), Clock::fixed(noon()))
            .await
            .unwrap();
        (store.proof(None).await.unwrap().hash(), made.proof.hash())
    });
    assert_ne!(old, new);
    // Kills fall before and after the change of files on a slow machine too: they are drawn over
    // twice what a restore takes that is let be, side by side as the killed ones are.
    let longest = AtomicU64::new(0);
    share(4, |_| {
        let folder = tempfile::tempdir().unwrap();
        copy(&data(template.path()), &data(folder.path()));
        copy(&backups(template.path()), &backups(folder.path()));
        let begun = now();
        let done = command(&[], "restore", folder.path(), 1).output().unwrap();
        let said = String::from_utf8_lossy(&done.stdout).into_owned();
        assert!(said.contains("restored"), "{said}");
        let took = u64::try_from(begun.elapsed().as_micros()).unwrap();
        longest.fetch_max(took, Ordering::Relaxed);
    });
    let span = usize::try_from(2 * longest.into_inner()).unwrap();
    let (was_old, was_new) = (AtomicUsize::new(0), AtomicUsize::new(0));
    share(count, |nth| {
        let mut chance = Chance::new(seed ^ 0xbac ^ (nth as u64) << 20);
        let folder = tempfile::tempdir().unwrap();
        copy(&data(template.path()), &data(folder.path()));
        copy(&backups(template.path()), &backups(folder.path()));
        let wait = Duration::from_micros(chance.below(span) as u64);
        let child = command(&[], "restore", folder.path(), 1).spawn().unwrap();
        let said = kill_after(child, wait);
        let found = runtime().block_on(async {
            let store = Store::open(&data(folder.path()), Clock::fixed(noon()))
                .await
                .unwrap();
            let found = store.proof(None).await.unwrap().hash();
            assert!(store.verify().await.unwrap().flaws.is_empty());
            store.close().await.unwrap();
            found
        });
        if found == new {
            was_new.fetch_add(1, Ordering::Relaxed);
        } else {
            assert_eq!(found, old, "neither the old nor the new");
            assert!(!said.contains("restored"), "told as done, and is not");
            was_old.fetch_add(1, Ordering::Relaxed);
        }
    });
    let (was_old, was_new) = (was_old.into_inner(), was_new.into_inner());
    eprintln!(
        "K: {count} kills while restoring in {:?}: {was_old} left the old, {was_new} the new",
        start.elapsed()
    );
    assert!(was_old > 0 && was_new > 0, "{was_old} {was_new}");
}
