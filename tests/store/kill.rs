//! Killed without warning, again and again: every acknowledged event is there, none twice.
//!
//! A kill says nothing about power cuts, as the kernel keeps what was written; that commits
//! are synced is read back in `opening`.

use std::fmt::Write as _;
use std::io::{BufRead, BufReader, Write as _};
use std::path::Path;
use std::process::{Command, Stdio};

use deckwatch::clock::Clock;
use deckwatch::store::{Store, StoreError};

use crate::world::{device, event, incoming, noon, trip};

/// Set, to a folder, in the process that is killed.
const FOLDER: &str = "DECKWATCH_KILL_FOLDER";
const CYCLES: u64 = 30;

#[test]
fn acknowledged_events_survive_a_kill() {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .unwrap();
    if let Some(folder) = std::env::var_os(FOLDER) {
        return runtime.block_on(append_for_ever(Path::new(&folder)));
    }
    let folder = tempfile::tempdir().unwrap();
    let mut acknowledged = Vec::new();
    for cycle in 0..CYCLES {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args([
                "--exact",
                "kill::acknowledged_events_survive_a_kill",
                "--nocapture",
            ])
            .env(FOLDER, folder.path())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let wanted = 1 + (cycle * 7) % 40;
        let mut got = 0;
        for line in lines {
            let line = line.unwrap();
            let Some(ack) = line.strip_prefix("ack ") else {
                continue;
            };
            acknowledged.push(ack.to_owned());
            got += 1;
            if got == 1 {
                // While it runs nobody else gets in.
                let second = runtime.block_on(Store::open(folder.path(), Clock::fixed(noon())));
                assert!(matches!(second, Err(StoreError::InUse { .. })));
            }
            if got == wanted {
                // SIGKILL; what it said before is still read.
                child.kill().unwrap();
            }
        }
        assert!(!child.wait().unwrap().success());
        assert!(got >= wanted, "cycle {cycle} ended early");
        runtime.block_on(look(folder.path(), &acknowledged));
    }
}

async fn append_for_ever(folder: &Path) {
    let store = Store::open(folder, Clock::system()).await.unwrap();
    let mut tasks: Vec<tokio::task::JoinHandle<()>> = Vec::new();
    for tablet in 1..=3 {
        let store = store.clone();
        tasks.push(tokio::spawn(async move {
            let log = store.log(trip(1), 0).await.unwrap();
            let name = device(tablet).to_string();
            let mine = log
                .iter()
                .filter(|kept| kept.content.contains(&name))
                .count();
            let mut seq = 1 + mine as u64;
            loop {
                // Each tablet delivers one, two or three at a time.
                let count = u64::try_from(tablet).unwrap();
                let events = (seq..seq + count).map(|n| event(trip(1), device(tablet), n, "x"));
                let sent = incoming(events);
                let done = store.append(trip(1), sent.clone()).await.unwrap();
                // One write, so that a line is whole or absent.
                let mut said = String::new();
                for (one, appended) in sent.iter().zip(done) {
                    writeln!(said, "ack {} {}", appended.entry(), one.event.id).unwrap();
                }
                std::io::stdout().write_all(said.as_bytes()).unwrap();
                std::io::stdout().flush().unwrap();
                seq += count;
            }
        }));
    }
    for task in tasks {
        task.await.unwrap();
    }
}

async fn look(folder: &Path, acknowledged: &[String]) {
    let store = Store::open(folder, Clock::fixed(noon())).await.unwrap();
    let entries = store.entries(trip(1), 0).await.unwrap();
    let kept: std::collections::BTreeSet<String> = entries
        .iter()
        .map(|entry| format!("{} {}", entry.receipt.entry, entry.event.id))
        .collect();
    let ids: std::collections::BTreeSet<_> = entries.iter().map(|entry| entry.event.id).collect();
    assert_eq!(ids.len(), entries.len(), "none stands twice");
    for ack in acknowledged {
        assert!(kept.contains(ack), "acknowledged and lost: {ack}");
    }
    // A delivery of two or three is whole or absent.
    for tablet in 2..=3 {
        let of = entries
            .iter()
            .filter(|entry| entry.event.device == device(tablet));
        assert_eq!(of.count() as u128 % tablet, 0, "tablet {tablet}");
    }
    let verdict = store.verify().await.unwrap();
    assert!(verdict.flaws.is_empty(), "{:?}", verdict.flaws);
    store.close().await.unwrap();
}
