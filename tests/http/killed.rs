//! The server itself killed at random, in its start and under way, while devices deliver over
//! HTTP: what it answered for is there, once, at the entry it told. The store alone is killed far
//! more often in the power programme (`tests/power/kill.rs`).

use std::collections::BTreeSet;
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use deckwatch::clock::Clock;
use deckwatch::store::Store;
use deckwatch::trip::EventId;
use serde_json::{Value, json};

use crate::app::App;
use crate::chance::{Chance, now, seed, times};
use crate::events::{notes, path, value};

const PROGRAM: &str = env!("CARGO_BIN_EXE_deckwatch");
const KILLS: usize = 40;
/// More than are delivered before the last kill.
const NOTES: usize = 4_000;

fn serve(data: &Path, host: &str) -> Child {
    Command::new(PROGRAM)
        .args(["serve", "--log", "error", "--bind", host, "--data"])
        .arg(data)
        .env_remove("NOTIFY_SOCKET")
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .spawn()
        .unwrap()
}

/// Delivers one event after the other, each until it is answered for, as an outbox does; returns
/// what was, with the entry told.
fn deliver(
    host: &str,
    to: &str,
    cookie: &str,
    outbox: &[(EventId, Value)],
    ends: &AtomicBool,
) -> Vec<(EventId, u64)> {
    let agent: ureq::Agent = ureq::Agent::config_builder()
        .http_status_as_error(false)
        .timeout_global(Some(Duration::from_secs(5)))
        .build()
        .into();
    let mut told = Vec::new();
    for (id, event) in outbox {
        let body = json!({ "events": [event] }).to_string();
        loop {
            if ends.load(Ordering::Relaxed) {
                return told;
            }
            let sent = agent
                .post(format!("http://{host}{to}"))
                .header("origin", format!("http://{host}"))
                .header("cookie", cookie)
                .header("content-type", "application/json")
                .send(&body);
            let answer = sent.and_then(|mut answer| {
                let text = answer.body_mut().read_to_string()?;
                Ok((answer.status().as_u16(), text))
            });
            // Killed before it answered: it may have it or not, and is sent it again.
            let Ok((status, text)) = answer else {
                std::thread::sleep(Duration::from_millis(2));
                continue;
            };
            assert_eq!(status, 200, "{text}");
            let answer: Value = serde_json::from_str(&text).unwrap();
            assert_eq!(answer["events"][0]["id"], id.to_string());
            told.push((*id, answer["events"][0]["entry"].as_u64().unwrap()));
            break;
        }
    }
    panic!("everything was delivered before the last kill: {NOTES} are too few");
}

#[tokio::test]
async fn what_the_server_answered_for_survives_kills_of_the_server() {
    let app = App::at_start(Clock::system().now()).await;
    let trip = app.trip_at_quay().await;
    let mut devices = Vec::new();
    for seat in [&app.helm, &app.deck] {
        let notes = notes(&app, &trip, seat, NOTES).await;
        let outbox: Vec<_> = notes.iter().map(|one| (one.id, value(one))).collect();
        devices.push((seat.cookie.clone(), outbox));
    }
    app.closing.cancel();
    app.store.close().await.unwrap();
    let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let host = listener.local_addr().unwrap().to_string();
    drop(listener);

    let (data, to, ends) = (app.folder.path(), path(&trip), AtomicBool::new(false));
    let (mut chance, mut in_start, begun) = (Chance::new(seed() ^ 0x4ee), 0, now());
    let told: Vec<(EventId, u64)> = std::thread::scope(|scope| {
        let senders: Vec<_> = devices
            .iter()
            .map(|(cookie, outbox)| {
                let (host, to, ends) = (&host, &to, &ends);
                scope.spawn(move || deliver(host, to, cookie, outbox, ends))
            })
            .collect();
        for nth in 0..KILLS * times() {
            let mut server = serve(data, &host);
            // One in four is killed wherever it is in its start, which takes some 30 ms.
            let (started, starts) = (now(), nth % 4 == 0);
            while !starts && TcpStream::connect(&host).is_err() {
                assert!(started.elapsed() < Duration::from_secs(20), "no start");
                std::thread::sleep(Duration::from_millis(2));
            }
            std::thread::sleep(Duration::from_millis(
                chance.below(if starts { 20 } else { 250 }) as u64,
            ));
            in_start += usize::from(TcpStream::connect(&host).is_err());
            server.kill().unwrap();
            server.wait().unwrap();
        }
        ends.store(true, Ordering::Relaxed);
        senders
            .into_iter()
            .flat_map(|sender| sender.join().unwrap())
            .collect()
    });
    eprintln!(
        "{} kills of the server in {:?}, {in_start} in its start: {} answered for",
        KILLS * times(),
        begun.elapsed(),
        told.len()
    );

    let store = Store::open(data, Clock::system()).await.unwrap();
    let entries = store.entries(trip.id, 0).await.unwrap();
    let ids: BTreeSet<_> = entries.iter().map(|entry| entry.event.id).collect();
    assert_eq!(ids.len(), entries.len(), "an event twice");
    for (id, at) in &told {
        let kept = entries.iter().find(|entry| entry.event.id == *id);
        let kept = kept.unwrap_or_else(|| panic!("answered for and lost: {id}"));
        assert_eq!(kept.receipt.entry, *at, "{id}");
    }
    let flaws = store.verify().await.unwrap().flaws;
    assert!(flaws.is_empty(), "{flaws:?}");
    store.close().await.unwrap();
    assert!(in_start > 0, "no kill fell into a start");
    assert!(
        told.len() > KILLS,
        "{}: killed before anything came",
        told.len()
    );
}
