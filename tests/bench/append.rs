//! A durable append against a bare insert with the same settings on the same file system,
//! turn about in one run.
//!
//! `cargo bench --bench append`; budget: at least 0.7 of the bare rate. The bare table has no
//! index, no hash and no chain: it is what the medium allows.

use std::collections::BTreeMap;
use std::io::Write;
use std::time::{Duration, Instant};

use deckwatch::clock::Clock;
use deckwatch::store::{Incoming, Store};
use deckwatch::trip::event::{About, By, Event, Fact, Knows, Role, Unread};
use deckwatch::trip::{CrewId, DeviceId, EventId, TripId};
use sqlx::ConnectOptions;
use sqlx::sqlite::{SqliteConnectOptions, SqliteConnection, SqliteJournalMode, SqliteSynchronous};
use uuid::Uuid;

const ROUNDS: u64 = 150;
/// Until both write-ahead logs have reached their full length: a file that still grows is
/// synced more slowly than one that is written over.
const WARM_UP: u64 = 50;
/// Few at a time, so that what else the machine does falls on both alike.
const EACH: u64 = 20;
/// Inserts after which the bare log is folded in: about 4 MiB of it, as with the store.
const FOLD_EVERY: u64 = 850;

fn event(clock: &Clock, trip: TripId, device: DeviceId, device_seq: u64) -> Event {
    Event {
        id: EventId::new(clock.new_uuid()),
        trip,
        about: About::nobody(),
        device,
        device_seq,
        knows: Knows(BTreeMap::from([(device, device_seq - 1)])),
        by: By {
            crew: CrewId::new(Uuid::from_u128(7)),
            name: "Ilka Voss".to_owned(),
            role: Role::Skipper,
        },
        at: clock.now(),
        app: "0.1.0".to_owned(),
        corrects: None,
        fact: Fact::Unread(Unread {
            kind: "mark".to_owned(),
            version: 1,
            payload: serde_json::json!({"text": "seen by the ladder, all well, 60 bar left"}),
        }),
    }
}

async fn bare(connection: &mut SqliteConnection, content: &str, nth: u64) -> anyhow::Result<()> {
    sqlx::query("INSERT INTO bare (content) VALUES ($1)")
        .bind(content)
        .execute(&mut *connection)
        .await?;
    if nth.is_multiple_of(FOLD_EVERY) {
        sqlx::query("PRAGMA wal_checkpoint(PASSIVE)")
            .execute(connection)
            .await?;
    }
    Ok(())
}

#[expect(
    clippy::disallowed_methods,
    reason = "a benchmark measures real time itself"
)]
fn now() -> Instant {
    Instant::now()
}

fn rate(spent: Duration) -> f64 {
    (ROUNDS * EACH) as f64 / spent.as_secs_f64()
}

fn main() -> anyhow::Result<()> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()?;
    // In a task, as handlers run, not on the thread that waits for all.
    runtime.block_on(async { tokio::spawn(compare()).await? })
}

async fn compare() -> anyhow::Result<()> {
    // Beside the build, as a folder for temporary files may lie in memory.
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR"))?;
    let clock = Clock::system();
    let store = Store::open(folder.path(), clock.clone()).await?;
    let mut connection = SqliteConnectOptions::new()
        .filename(folder.path().join("bare.db"))
        .create_if_missing(true)
        .journal_mode(SqliteJournalMode::Wal)
        .synchronous(SqliteSynchronous::Full)
        .foreign_keys(true)
        .pragma("wal_autocheckpoint", "0")
        .connect()
        .await?;
    sqlx::query("CREATE TABLE bare (id INTEGER PRIMARY KEY, content TEXT NOT NULL) STRICT")
        .execute(&mut connection)
        .await?;

    let trip = TripId::new(clock.new_uuid());
    let device = DeviceId::new(clock.new_uuid());
    let mut ours = Duration::ZERO;
    let mut theirs = Duration::ZERO;
    let mut ratios = Vec::new();
    let mut seq = 0;
    for round in 0..WARM_UP + ROUNDS {
        let events: Vec<Incoming> = (1..=EACH)
            .map(|n| Incoming::from(event(&clock, trip, device, seq + n)))
            .collect();
        let texts: Vec<String> = events.iter().map(|one| one.content.text.clone()).collect();

        let start = now();
        for one in events {
            let done = store.append(trip, vec![one]).await?;
            anyhow::ensure!(done.len() == 1, "one event, one answer");
        }
        let append = start.elapsed();

        let start = now();
        for (nth, text) in (seq + 1..).zip(&texts) {
            bare(&mut connection, text, nth).await?;
        }
        let insert = start.elapsed();

        seq += EACH;
        if round >= WARM_UP {
            ours += append;
            theirs += insert;
            ratios.push(insert.as_secs_f64() / append.as_secs_f64());
        }
    }
    ratios.sort_by(f64::total_cmp);
    let median = ratios.get(ratios.len() / 2).copied().unwrap_or(f64::NAN);

    // Deliveries that wait share commits: sixteen senders at a time.
    let together = now();
    let mut tasks = Vec::new();
    for _ in 0..16 {
        let (store, clock) = (store.clone(), clock.clone());
        tasks.push(tokio::spawn(async move {
            let device = DeviceId::new(clock.new_uuid());
            for n in 1..=EACH {
                let one = Incoming::from(event(&clock, trip, device, n));
                let done = store.append(trip, vec![one]).await?;
                anyhow::ensure!(done.len() == 1, "one event, one answer");
            }
            anyhow::Ok(())
        }));
    }
    for task in tasks {
        task.await??;
    }
    let together = (16 * EACH) as f64 / together.elapsed().as_secs_f64();

    tell(rate(ours), rate(theirs), median, together)?;
    store.close().await?;
    Ok(())
}

fn tell(ours: f64, theirs: f64, median: f64, together: f64) -> anyhow::Result<()> {
    let mut out = std::io::stdout().lock();
    writeln!(out, "durable append      {ours:8.0} /s")?;
    writeln!(out, "bare insert         {theirs:8.0} /s")?;
    writeln!(
        out,
        "ratio               {:8.2}    (median of {ROUNDS} rounds {median:.2}; budget 0.70)",
        ours / theirs
    )?;
    writeln!(out, "sixteen senders     {together:8.0} /s")?;
    Ok(())
}
