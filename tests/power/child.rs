//! What is killed: this test binary again, doing one thing to one folder and telling on its
//! standard output what was acknowledged.

use std::fmt::Write as _;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode, Stdio};
use std::time::Duration;

use deckwatch::clock::Clock;
use deckwatch::store::copy::restore;
use deckwatch::store::{AppendError, Appended, FormError, Incoming, Store, StoreError};
use deckwatch::trip::event::{
    Aboard, About, Event, Fact, Knows, PersonCard, PersonJoined, PersonMissing, Vessel,
};
use deckwatch::trip::{EventId, PersonId};
use uuid::Uuid;

use crate::judge;
use crate::world::{device, event, id, incoming, noon, opened, trip};

const WHAT: &str = "DECKWATCH_POWER_DO";
const FOLDER: &str = "DECKWATCH_POWER_FOLDER";
const ROUNDS: &str = "DECKWATCH_POWER_ROUNDS";

/// A command that runs this binary to do `what` to `folder`, as often as `rounds`.
pub fn command(program: &[&str], what: &str, folder: &Path, rounds: usize) -> Command {
    let this = std::env::current_exe().unwrap();
    let mut command = match program.split_first() {
        Some((first, rest)) => {
            let mut command = Command::new(first);
            command.args(rest).arg(this);
            command
        }
        None => Command::new(this),
    };
    command
        .args(["--exact", "child::works", "--nocapture", "--test-threads=1"])
        .env(WHAT, what)
        .env(FOLDER, folder)
        .env(ROUNDS, rounds.to_string())
        .env("RUST_BACKTRACE", "0")
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    command
}

/// Ends of the child: what it was told to do is done; the store stopped, or did not open, and
/// said why; what it looked at is not right.
pub const DONE: i32 = 0;
pub const STOPPED: i32 = 3;
pub const WRONG: i32 = 4;

#[test]
fn works() {
    let Some(what) = std::env::var_os(WHAT) else {
        return;
    };
    let folder = PathBuf::from(std::env::var_os(FOLDER).unwrap());
    let rounds = std::env::var_os(ROUNDS).unwrap();
    let rounds = rounds.to_str().unwrap().parse().unwrap();
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .unwrap();
    let ended = runtime.block_on(async {
        match what.to_str().unwrap() {
            "send" => send(&folder, rounds, false).await,
            "send-and-back-up" => send(&folder, rounds, true).await,
            "open" => open(&folder).await,
            "restore" => bring_back(&folder).await,
            "look" => return look(&folder).await,
            other => panic!("{other}"),
        }
        .map_or_else(
            |error| {
                // What failed in the middle of it is told like what did not start.
                say(&format!("stopped {error}\n"));
                STOPPED
            },
            |()| DONE,
        )
    });
    std::process::exit(ended);
}

/// One write, so that a line is whole or absent.
fn say(text: &str) {
    let mut out = std::io::stdout();
    out.write_all(text.as_bytes()).unwrap();
    out.flush().unwrap();
}

pub fn data(folder: &Path) -> PathBuf {
    folder.join("data")
}

pub fn backups(folder: &Path) -> PathBuf {
    folder.join("backups")
}

/// Events of tablet `nth` from its number `first` on: the same ones whenever they are made.
pub fn of_tablet(nth: u128, first: u64, count: u64) -> Vec<Incoming> {
    // Some fill pages of their own, so that there is much to write.
    incoming((first..first + count).map(|seq| {
        let long = if seq % 7 == 0 { 6_000 } else { 10 };
        event(trip(1), device(nth), seq, &"x".repeat(long))
    }))
}

pub fn person(n: u128) -> PersonId {
    PersonId::new(Uuid::from_u128((8 << 100) + n))
}

fn about(n: u128, by: u128, seq: u64, knows: &[(u128, u64)], fact: Fact) -> Event {
    let known = knows.iter().map(|(who, seq)| (device(*who), *seq));
    Event {
        about: About::person(person(n)),
        knows: Knows(known.collect()),
        fact,
        ..event(trip(2), device(by), seq, "")
    }
}

/// Two devices that do not hear of each other say different things of person `n`, who was put
/// on the roster first: aboard, says the one, and missing the other.
pub fn disagreement(n: u64) -> [Event; 3] {
    let who = u128::from(n);
    let card: PersonCard = serde_json::from_value(serde_json::json!({
        "name": format!("Person {n}"), "activity": "diver", "level": "autonomous diver",
        "depth_limit_m": 30.0, "fitness": "cleared", "last_dive": "2026-05-20"
    }))
    .unwrap();
    let joined = Fact::PersonJoined(PersonJoined { card });
    let aboard = Fact::Aboard(Aboard {
        vessel: Vessel::Own,
        seen_by: "Ilka Voss".to_owned(),
        detail: serde_json::from_value(serde_json::json!({})).unwrap(),
    });
    let missing = Fact::PersonMissing(PersonMissing {
        note: "not on deck".to_owned(),
    });
    // The opening has number 1 of device 1.
    let first = 1 + n;
    [
        about(who, 1, first, &[], joined),
        about(who, 2, n, &[(1, first)], aboard),
        about(who, 3, n, &[(1, first)], missing),
    ]
}

async fn send(folder: &Path, rounds: u64, backs_up: bool) -> Result<(), StoreError> {
    let store = Store::open(&data(folder), Clock::system()).await?;
    say("open\n");
    let mut tasks = Vec::new();
    for nth in 1..=3 {
        tasks.push(tokio::spawn(tablet(store.clone(), nth, rounds)));
    }
    tasks.push(tokio::spawn(form(store.clone(), rounds)));
    tasks.push(tokio::spawn(disagree(store.clone(), rounds)));
    if backs_up {
        let (store, to) = (store.clone(), backups(folder));
        tasks.push(tokio::spawn(async move {
            for _ in 0..rounds.div_ceil(4) {
                let made = store.back_up(&to, 2).await?;
                say(&format!("backup {}\n", made.path.display()));
            }
            Ok(())
        }));
    }
    let mut ended = Ok(());
    for task in tasks {
        ended = ended.and(task.await.unwrap());
    }
    let closed = store.close().await;
    ended.and(closed)
}

/// Sends till it is acknowledged, as a device's outbox does; ends when the store has.
async fn deliver(store: &Store, events: Vec<Incoming>) -> Result<Vec<Appended>, StoreError> {
    let trip = events[0].event.trip;
    for _ in 0..20 {
        match store.append(trip, events.clone()).await {
            Ok(appended) => {
                let mut said = String::new();
                for (one, appended) in events.iter().zip(&appended) {
                    let id = one.event.id;
                    writeln!(said, "ack {} {} {id}", trip, appended.entry()).unwrap();
                }
                say(&said);
                return Ok(appended);
            }
            Err(AppendError::Store(StoreError::Full)) => {
                say("full\n");
                tokio::time::sleep(Duration::from_millis(2)).await;
            }
            Err(AppendError::Store(error)) => return Err(error),
            Err(other) => panic!("{other}"),
        }
    }
    Err(StoreError::Full)
}

/// Tablet `nth` delivers `nth` events at a time. What it delivered last, it delivers again: it
/// may not have heard the answer.
async fn tablet(store: Store, nth: u128, rounds: u64) -> Result<(), StoreError> {
    let count = u64::try_from(nth).unwrap();
    let log = store.log(trip(1), 0).await?;
    let name = device(nth).to_string();
    let mine = log.iter().filter(|kept| kept.content.contains(&name));
    let start = (mine.count() as u64 / count).saturating_sub(1);
    for round in start..start + rounds {
        deliver(&store, of_tablet(nth, 1 + round * count, count)).await?;
    }
    Ok(())
}

/// A page's form of two events, sent twice as by an impatient thumb.
async fn form(store: Store, rounds: u64) -> Result<(), StoreError> {
    for _ in 0..rounds.div_ceil(3) {
        let form = id(store.clock().new_uuid().as_u128() >> 64);
        for _ in 0..2 {
            let done = store.append_from_form::<(), _>(trip(1), device(9), form, move |place| {
                let made = |seq, id: EventId| Event {
                    id,
                    ..event(trip(1), device(9), seq, "form")
                };
                let second = id(form.uuid().as_u128() ^ (1 << 90));
                Ok(vec![
                    made(place.next_seq, form),
                    made(place.next_seq + 1, second),
                ])
            });
            match done.await {
                Ok(appended) => {
                    let entry = appended[0].entry();
                    say(&format!("ack {} {entry} {form}\n", trip(1)));
                }
                Err(FormError::Append(AppendError::Store(StoreError::Full))) => say("full\n"),
                Err(FormError::Append(AppendError::Store(error))) => return Err(error),
                Err(other) => panic!("{other}"),
            }
        }
    }
    Ok(())
}

async fn disagree(store: Store, rounds: u64) -> Result<(), StoreError> {
    deliver(&store, incoming([opened(trip(2), device(1))])).await?;
    for n in 0..rounds.div_ceil(2) {
        let [joined, aboard, missing] = disagreement(n + 1);
        deliver(&store, incoming([joined])).await?;
        let (one, other) = tokio::join!(
            deliver(&store, incoming([aboard])),
            deliver(&store, incoming([missing]))
        );
        one?;
        other?;
    }
    Ok(())
}

async fn open(folder: &Path) -> Result<(), StoreError> {
    let store = Store::open(&data(folder), Clock::system()).await?;
    say("open\n");
    store.close().await
}

async fn bring_back(folder: &Path) -> Result<(), StoreError> {
    let from = backups(folder).join("new.db");
    let clock = Clock::fixed(noon());
    let done = restore(&from, &data(folder), true, &clock).await?;
    say(&format!("restored {}\n", done.proof.hash()));
    Ok(())
}

async fn look(folder: &Path) -> i32 {
    match judge::look(&data(folder), &[]).await {
        Ok(_) => DONE,
        Err(why) => {
            say(&format!("wrong {why}\n"));
            WRONG
        }
    }
}

/// So that the ends above are ends that a process can have.
const _: fn(u8) -> ExitCode = ExitCode::from;
