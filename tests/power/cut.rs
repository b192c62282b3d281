//! R: what runs asked of their disk is recorded, and thousands of disks that a power cut could
//! have left are made of it and opened: whatever was acknowledged before the cut is there.
//!
//! The runs start from nothing, from a file of an older program, and from what a kill left, so
//! that cuts fall into migrations, appends, checkpoints, backups and recovery itself.

use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;

use deckwatch::clock::Clock;
use deckwatch::store::Store;
use deckwatch::store::copy::{kept_in, restore};

use crate::chance::{Chance, now, seed, times};
use crate::child::{backups, command, data};
use crate::disk::Disk;
use crate::judge::{acks, judge};
use crate::kill::{kill_after, share};
use crate::older::older_file;
use crate::trace::{Call, record, under};
use crate::world::noon;

/// A recorded run, and the disk on which it began.
pub struct Run {
    name: &'static str,
    folder: PathBuf,
    before: Disk,
    calls: Vec<Call>,
    /// Acknowledged by runs before.
    acknowledged: Vec<String>,
}

fn runtime() -> tokio::runtime::Runtime {
    tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .unwrap()
}

/// Files are made in memory where there is such a folder: the disks here are imagined anyway.
pub fn scratch() -> tempfile::TempDir {
    let memory = Path::new("/dev/shm");
    if memory.is_dir() {
        tempfile::tempdir_in(memory).unwrap()
    } else {
        tempfile::tempdir().unwrap()
    }
}

pub fn run(
    name: &'static str,
    what: &str,
    rounds: usize,
    plant: Option<&str>,
    prepare: impl FnOnce(&Path) -> Vec<String>,
) -> Run {
    let folder = scratch();
    std::fs::create_dir_all(data(folder.path())).unwrap();
    std::fs::create_dir_all(backups(folder.path())).unwrap();
    let acknowledged = prepare(folder.path());
    let before = Disk::holding(folder.path());
    let records = scratch();
    let file = records.path().join("record");
    let program = under(&file);
    let program: Vec<&str> = program.iter().map(String::as_str).collect();
    let mut command = command(&program, what, folder.path(), rounds);
    if let Some(plant) = plant {
        command.env("DECKWATCH_PLANT", plant);
    }
    let calls = record(command, &file);
    Run {
        name,
        folder: folder.path().to_owned(),
        before,
        calls,
        acknowledged,
    }
}

/// Parts of the work, each with its own chance.
const SHARES: usize = 8;

/// Makes `count` disks of a run and judges each; returns how many lost what was acknowledged or
/// were wrong otherwise, with the first reason.
pub fn cuts(run: &Run, count: usize, seed: u64) -> (usize, Option<String>) {
    let (wrong, first) = (AtomicUsize::new(0), std::sync::Mutex::new(None));
    share(SHARES, |nth| {
        let mut chance = Chance::new(seed ^ (nth as u64) << 32);
        let runtime = runtime();
        let mine = count.div_ceil(SHARES);
        let mut at: Vec<usize> = (0..mine)
            .map(|_| chance.below(run.calls.len() + 1))
            .collect();
        at.sort_unstable();
        let (mut disk, mut done) = (run.before.clone(), 0);
        let mut said = String::new();
        for (state, cut) in at.into_iter().enumerate() {
            for call in &run.calls[done..cut] {
                disk.does(call);
                if let Call::Said(text) = call {
                    said.push_str(text);
                }
            }
            done = cut;
            let found = scratch();
            disk.fails(&mut chance, &run.folder, found.path());
            let mut all = run.acknowledged.clone();
            all.extend(acks(&said));
            let made = said.lines().filter_map(|line| line.split_once("backup "));
            let made: Vec<PathBuf> = made
                .filter_map(|(_, path)| Some(Path::new(path).file_name()?.into()))
                .collect();
            let judged = runtime.block_on(opened(found.path(), &all, &made, state % 12 == 0));
            if let Err(why) = judged {
                wrong.fetch_add(1, Ordering::Relaxed);
                let why = format!("{}, share {nth}, cut at {cut}: {why}", run.name);
                first.lock().unwrap().get_or_insert(why);
            }
        }
    });
    (wrong.into_inner(), first.into_inner().unwrap())
}

async fn opened(
    found: &Path,
    acknowledged: &[String],
    made: &[PathBuf],
    proves: bool,
) -> Result<(), String> {
    let place = data(found);
    std::fs::create_dir_all(&place).unwrap();
    let store = Store::open(&place, Clock::fixed(noon()))
        .await
        .map_err(|error| format!("does not open: {error}"))?;
    let judged = judge(&store, acknowledged, proves).await;
    store.close().await.map_err(|error| error.to_string())?;
    judged?;
    // What has a backup's name is whole; the last one that was told as made is there.
    let kept = kept_in(&backups(found)).map_err(|e| e.to_string())?;
    if let Some(last) = made.last()
        && !kept.iter().any(|kept| kept.path.ends_with(last))
        && kept.len() < 2
    {
        return Err(format!("{} was told as made, and is gone", last.display()));
    }
    if proves && let Some(kept) = kept.last() {
        let fresh = scratch();
        let clock = Clock::fixed(noon());
        let restored = restore(&kept.path, fresh.path(), false, &clock).await;
        restored.map_err(|error| format!("{}: {error}", kept.path.display()))?;
    }
    Ok(())
}

fn copy(from: &Path, to: &Path) {
    for found in std::fs::read_dir(from).unwrap() {
        let path = found.unwrap().path();
        std::fs::copy(&path, to.join(path.file_name().unwrap())).unwrap();
    }
}

/// What a kill leaves: a log that is not folded in.
fn killed(folder: &Path) -> Vec<String> {
    let child = command(&[], "send", folder, 1_000).spawn().unwrap();
    acks(&kill_after(child, Duration::from_millis(120)))
}

#[test]
fn acknowledged_events_survive_power_cuts() {
    let (seed, start) = (seed(), now());
    let old = runtime().block_on(older_file(3));
    let runs = [
        (
            run("from nothing", "send-and-back-up", 8, None, |_| Vec::new()),
            1_800,
        ),
        (run("recovery", "send-and-back-up", 4, None, killed), 1_000),
        (
            run("old file", "open", 1, None, |folder| {
                copy(old.path(), &data(folder));
                Vec::new()
            }),
            500,
        ),
        (run("many events", "send", 14, None, |_| Vec::new()), 1_700),
    ];
    let recorded = start.elapsed();
    let mut states = 0;
    for (run, count) in &runs {
        let count = count * times();
        let began = now();
        let (wrong, first) = cuts(run, count, seed);
        states += count;
        eprintln!(
            "R: {count} power cuts, {}: {} calls, {wrong} wrong, {:?}",
            run.name,
            run.calls.len(),
            began.elapsed()
        );
        assert_eq!((wrong, first), (0, None));
    }
    eprintln!(
        "R: {states} power cuts in {:?} (recording {recorded:?})",
        start.elapsed()
    );
}
