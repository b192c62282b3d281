//! I: every call to the disk fails once, and every call is the last one before a kill, while
//! devices send. Nothing that was acknowledged is lost, nothing is acknowledged falsely, and
//! whoever stops says why.

use std::path::Path;
use std::process::Command;
use std::sync::atomic::{AtomicUsize, Ordering};

use deckwatch::clock::Clock;
use deckwatch::store::Store;

use crate::chance::{now, seed, times};
use crate::child::{DONE, STOPPED, backups, command, data};
use crate::cut::scratch;
use crate::judge::{acks, deliver_again, judge};
use crate::kill::share;
use crate::world::noon;

/// A call and what becomes of it.
const FAULTS: &[(&str, &str)] = &[
    ("pwrite64", "error=EIO"),
    ("pwrite64", "error=ENOSPC"),
    ("pwrite64", "error=EROFS"),
    ("pwrite64", "error=EINTR"),
    ("pwrite64", "signal=KILL"),
    ("fsync", "error=EIO"),
    ("fsync", "signal=KILL"),
    ("pread64", "error=EIO"),
    ("ftruncate", "error=EIO"),
    ("ftruncate", "error=ENOSPC"),
    ("ftruncate", "signal=KILL"),
    ("openat", "error=EIO"),
    ("openat", "error=ENOSPC"),
    ("openat", "error=EROFS"),
    ("openat", "error=EINTR"),
    ("unlink", "error=EIO"),
    ("unlink", "signal=KILL"),
    ("rename", "error=EIO"),
    ("rename", "error=ENOSPC"),
    ("rename", "signal=KILL"),
    ("fcntl", "error=EIO"),
];

fn runtime() -> tokio::runtime::Runtime {
    tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .unwrap()
}

/// The child under strace (without `--seccomp-bpf`, which sends no signals), which looks at calls on the files of `folder` only.
fn faulted(folder: &Path, call: &str, fault: &str, when: usize) -> Command {
    let inject = format!("inject={call}:{fault}:when={when}");
    let trace = format!("trace={call}");
    let mut program = vec!["strace", "-f", "-qq", "-e", &trace, "-e", &inject];
    let record = folder.join("record").display().to_string();
    program.extend(["-o", &record]);
    let (data, backups) = (data(folder), backups(folder));
    let paths: Vec<String> = [
        "deckwatch.db",
        "deckwatch.db-wal",
        "deckwatch.db-shm",
        "deckwatch.lock",
        "",
    ]
    .iter()
    .map(|name| data.join(name).display().to_string())
    .chain([backups
        .join(".deckwatch-backup/deckwatch.db")
        .display()
        .to_string()])
    .map(|path| path.trim_end_matches('/').to_owned())
    .collect();
    for path in &paths {
        program.extend(["-P", path]);
    }
    // Files are named and removed by backups only.
    let what = if ["rename", "unlink"].contains(&call) {
        "send-and-back-up"
    } else {
        "send"
    };
    command(&program, what, folder, 2)
}

/// What came of one fault.
#[derive(Debug, PartialEq, Eq)]
enum Came {
    /// No call was left to fail.
    Past,
    /// The run went on.
    Through,
    /// It stopped, and said why.
    Stopped,
    /// It was killed.
    Killed,
}

fn point(template: &Path, call: &str, fault: &str, when: usize) -> Result<Came, String> {
    let folder = scratch();
    std::fs::create_dir_all(data(folder.path())).unwrap();
    for found in std::fs::read_dir(data(template)).unwrap() {
        let path = found.unwrap().path();
        std::fs::copy(&path, data(folder.path()).join(path.file_name().unwrap())).unwrap();
    }
    let done = faulted(folder.path(), call, fault, when).output().unwrap();
    let said = String::from_utf8(done.stdout).unwrap();
    let errors = String::from_utf8_lossy(&done.stderr).into_owned();
    let record = std::fs::read_to_string(folder.path().join("record")).unwrap();
    let came = match done.status.code() {
        Some(DONE) if record.contains("INJECTED") => Came::Through,
        Some(DONE) => Came::Past,
        Some(STOPPED) => {
            let why = said
                .lines()
                .rev()
                .find_map(|line| line.split_once("stopped "));
            let why = why.map_or("", |(_, why)| why);
            if why.len() < 10 {
                return Err(format!("stopped and did not say why: {said}"));
            }
            Came::Stopped
        }
        // strace ends as its child was ended.
        None | Some(137) => Came::Killed,
        Some(other) => return Err(format!("ended with {other}: {said} {errors}")),
    };
    let whole = said.rfind('\n').map_or(0, |end| end + 1);
    let acknowledged = acks(&said[..whole]);
    runtime().block_on(async {
        let store = Store::open(&data(folder.path()), Clock::fixed(noon()))
            .await
            .map_err(|error| format!("does not open: {error}"))?;
        judge(&store, &acknowledged, true).await?;
        deliver_again(&store).await?;
        judge(&store, &acknowledged, false).await?;
        store.close().await.map_err(|error| error.to_string())
    })?;
    Ok(came)
}

#[test]
fn each_call_to_the_disk_may_fail_once() {
    let (_, start) = (seed(), now());
    // A file that is made anew, and what a kill leaves, with a log to recover from.
    let empty = scratch();
    std::fs::create_dir_all(data(empty.path())).unwrap();
    let template = scratch();
    let child = command(&[], "send", template.path(), 1_000)
        .spawn()
        .unwrap();
    crate::kill::kill_after(child, std::time::Duration::from_millis(60));
    let counts: [AtomicUsize; 4] = Default::default();
    // In CI all of the first, as opening and recovery are there, and fewer and fewer after them;
    // every single one in a run ten times as long.
    let is_whole = times() >= 10;
    let afresh = FAULTS
        .iter()
        .filter(|(call, _)| ["pwrite64", "fsync"].contains(call))
        .map(|fault| (empty.path(), *fault));
    let recovering = FAULTS.iter().map(|fault| (template.path(), *fault));
    let work: Vec<_> = recovering.chain(afresh).collect();
    share(work.len(), |nth| {
        let (template, (call, fault)) = work[nth];
        let mut when = 1;
        loop {
            let came = point(template, call, fault, when)
                .unwrap_or_else(|why| panic!("{call} {fault} at {when}: {why}"));
            counts[match came {
                Came::Past => 0,
                Came::Through => 1,
                Came::Stopped => 2,
                Came::Killed => 3,
            }]
            .fetch_add(1, Ordering::Relaxed);
            if came == Came::Past {
                eprintln!("I: {call} {fault}: up to {when}");
                return;
            }
            when += if is_whole { 1 } else { (when / 3).max(1) };
            assert!(when < 3_000, "{call} {fault}: no end");
        }
    });
    let [_, through, stopped, killed] = counts.map(AtomicUsize::into_inner);
    eprintln!(
        "I: {} faults in {:?}: {through} went on, {stopped} stopped and said why, {killed} killed; 0 lost",
        through + stopped + killed,
        start.elapsed()
    );
    assert!(stopped > 20 && through > 20 && killed > 20);
}
