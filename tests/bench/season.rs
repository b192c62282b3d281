//! A season of 200 trips of 60 people and 600 events each, asked for as its page, on a real file;
//! and what a live trip feels of it: the time from an appended event to its new picture, with
//! nobody asking and while the season is read.
//!
//! `cargo bench --bench season`; budgets: the page under 10 s, so that a small board has it within
//! the 30 s an answer may take; of a live trip 99 % of pictures within 150 ms meanwhile.
#![expect(
    clippy::wildcard_imports,
    clippy::unwrap_used,
    clippy::indexing_slicing,
    reason = "a bench stops where its own data are wrong"
)]

#[expect(dead_code, reason = "told here with a few of its words only")]
#[path = "../trip/scene.rs"]
mod scene;

use std::collections::BTreeSet;
use std::io::Write as _;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use axum::body::Body;
use axum::http::Request;
use deckwatch::clock::Clock;
use deckwatch::store::crew::{DeviceKind, Pin};
use deckwatch::store::{Incoming, Store};
use deckwatch::trip::TripId;
use deckwatch::trip::event::*;
use deckwatch::web::app::{App, Reached};
use deckwatch::web::router::router;
use http_body_util::BodyExt as _;
use scene::*;
use tokio_util::sync::CancellationToken;
use tower::ServiceExt as _;
use uuid::Uuid;

const TRIPS: u128 = 200;
const LETTERS: [&str; 12] = ["B", "C", "D", "E", "F", "G", "H", "J", "K", "L", "M", "N"];

#[expect(
    clippy::disallowed_methods,
    reason = "a benchmark measures real time itself"
)]
fn now() -> Instant {
    Instant::now()
}

/// A trip of 60: five to a group, down for 35 to 46 minutes, every third group told late.
fn day() -> Scene {
    let mut s = Scene::opened();
    let persons: Vec<u128> = (1_000..1_060).collect();
    for n in &persons {
        let card = card(&format!("Diver {n}"), Activity::Diver);
        s.by(DESK)
            .says(people(&[*n]), Fact::PersonJoined(PersonJoined { card }));
    }
    s.by(DESK)
        .says(About::nobody().on_dive(1), Fact::DivePlanned(planned()));
    for (five, nth) in persons.chunks(5).zip(0_u128..) {
        let letter = LETTERS[usize::try_from(nth).unwrap()];
        let fact = Fact::GroupFormed(formed(letter, &[&five[..2], &five[2..]], 18.0));
        s.by(DESK)
            .says(About::nobody().in_group(group(300 + nth), 1), fact);
    }
    s.until("08:00")
        .by(HELM)
        .roll(Point::Departure, &persons, &[]);
    let departed = Departed {
        override_reason: None,
    };
    s.by(HELM).says(About::nobody(), Fact::Departed(departed));
    s.by(HELM)
        .says(About::nobody().on_dive(1), Fact::OnSite(OnSite {}));
    for (five, nth) in persons.chunks(5).zip(0_u128..) {
        s.until(&format!("09:{:02}", 2 * nth))
            .by(DECK)
            .left_surface(300 + nth, 1, five);
    }
    for (five, nth) in persons.chunks(5).zip(0_u128..) {
        let about = people(five).in_group(group(300 + nth), 1);
        let up = 35 + 3 * nth;
        s.until(&format!("{:02}:{:02}", 9 + up / 60, up % 60));
        s.by(DECK).says(about, at_surface(Signal::Well));
        for person in five {
            let about = people(&[*person]).in_group(group(300 + nth), 1);
            s.by(DECK).says(about, aboard_own());
        }
    }
    s.until("11:30");
    while s.log.len() < 598 {
        s.by(HELM).current(0.5);
    }
    s.until("12:00")
        .by(HELM)
        .says(About::nobody(), Fact::BackInHarbour(BackInHarbour {}));
    s
}

/// The same day as another trip: every identity moved, so that nothing clashes.
fn again(log: &[Entry], nth: u128) -> (TripId, Vec<Event>) {
    let moved = |id: Uuid| Uuid::from_u128(id.as_u128() + (nth + 1) * (1 << 64));
    let trip = TripId::new(moved(trip().uuid()));
    let events = log.iter().map(|entry| {
        let mut event = Event::clone(&entry.event);
        event.trip = trip;
        event.id = EventId::new(moved(event.id.uuid()));
        event
    });
    (trip, events.collect())
}

async fn cookie(store: &Store) -> String {
    let pin = Pin::new("961402").unwrap();
    let roles = BTreeSet::from([Role::Desk]);
    store.add_crew("Oda Frei", &roles, &pin).await.unwrap();
    let code = store.enrolment_code(None).await.unwrap();
    let device = store
        .enrol_device(&code.digits, "Desk", DeviceKind::Desk)
        .await
        .unwrap();
    let session = store
        .sign_in(device.device, "Oda Frei", "961402")
        .await
        .unwrap();
    let (device, session) = (device.secret.text(), session.text());
    format!("deckwatch-device={device}; deckwatch-session={session}")
}

/// Appends to a live trip and waits for its picture, until it is told to stop.
async fn live(app: App, trip: TripId, first: u64, stop: Arc<AtomicBool>) -> (u64, Vec<Duration>) {
    let mut took = Vec::new();
    let mut seq = first;
    while !stop.load(Ordering::Relaxed) {
        let event = Event {
            id: EventId::new(app.clock().new_uuid()),
            trip,
            about: About::nobody(),
            device: DeviceId::new(Uuid::from_u128(77)),
            device_seq: seq,
            knows: Knows::default(),
            by: By {
                crew: CrewId::new(Uuid::from_u128(1)),
                name: "Ilka Voss".to_owned(),
                role: Role::Skipper,
            },
            at: app.clock().now(),
            app: "0.1.0".to_owned(),
            corrects: None,
            fact: Fact::IncidentNoted(IncidentNoted {
                text: "note".to_owned(),
                record: None,
            }),
        };
        seq += 1;
        let begun = now();
        let done = app.store().append(trip, vec![Incoming::from(event)]);
        drop(done.await.unwrap());
        drop(app.live().snapshot(trip).await.unwrap());
        took.push(begun.elapsed());
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
    (seq, took)
}

fn told(took: &mut [Duration]) -> String {
    took.sort();
    let at = |share: usize| took[(took.len() - 1) * share / 100].as_secs_f64() * 1e3;
    format!(
        "{} pictures, median {:.1} ms, 99 % within {:.1} ms, worst {:.1} ms",
        took.len(),
        at(50),
        at(99),
        at(100)
    )
}

/// Memory of this process that is in use and its greatest so far, MB; where the system tells.
fn memory_mb() -> Option<(f64, f64)> {
    let told = std::fs::read_to_string("/proc/self/status").ok()?;
    let of = |name: &str| {
        let line = told.lines().find(|line| line.starts_with(name))?;
        let kb: f64 = line.split_whitespace().nth(1)?.parse().ok()?;
        Some(kb / 1024.0)
    };
    Some((of("VmRSS:")?, of("VmHWM:")?))
}

fn main() {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .unwrap();
    runtime.block_on(measure());
}

async fn measure() {
    let mut out = std::io::stdout();
    let folder = tempfile::tempdir().unwrap();
    let clock = Clock::fixed(clock("18:00"));
    let store = Store::open(folder.path(), clock).await.unwrap();
    let s = day();
    for nth in 0..TRIPS {
        let (trip, events) = again(&s.log, nth);
        let events = events.into_iter().map(Incoming::from).collect();
        drop(store.append(trip, events).await.unwrap());
    }
    let cookie = cookie(&store).await;
    let reached = Reached {
        origins: vec!["http://deckwatch.test".to_owned()],
        drill_speed: None,
        lets_devices_in: false,
    };
    let app = App::new(store, reached, CancellationToken::new());
    let (trip, _) = again(&s.log, 0);
    drop(app.live().snapshot(trip).await.unwrap());

    let stop = Arc::new(AtomicBool::new(false));
    let quiet = tokio::spawn(live(app.clone(), trip, 1, stop.clone()));
    tokio::time::sleep(Duration::from_secs(4)).await;
    stop.store(true, Ordering::Relaxed);
    let (seq, mut quiet) = quiet.await.unwrap();

    let before = memory_mb();
    let stop = Arc::new(AtomicBool::new(false));
    let busy = tokio::spawn(live(app.clone(), trip, seq, stop.clone()));
    let request = Request::get("/desk/season?from=2026-01-01&to=2026-12-31")
        .header("host", "deckwatch.test")
        .header("cookie", cookie)
        .body(Body::empty())
        .unwrap();
    let begun = now();
    let answer = router(app).oneshot(request).await.unwrap();
    let (status, spent) = (answer.status(), begun.elapsed());
    stop.store(true, Ordering::Relaxed);
    let page = answer.into_body().collect().await.unwrap().to_bytes();
    let (_, mut busy) = busy.await.unwrap();
    let page = String::from_utf8_lossy(&page);
    assert!(
        status == 200 && page.contains("200 trips, 2400 group dives"),
        "{status}"
    );
    writeln!(
        out,
        "page of {TRIPS} trips, {} events each: {:.2} s, {} KB (budget 10 s)",
        s.log.len(),
        spent.as_secs_f64(),
        page.len() / 1024
    )
    .unwrap();
    writeln!(out, "live trip, nobody asking: {}", told(&mut quiet)).unwrap();
    writeln!(
        out,
        "live trip meanwhile (budget: 99 % within 150 ms): {}",
        told(&mut busy)
    )
    .unwrap();
    if let (Some((was, _)), Some((_, most))) = (before, memory_mb()) {
        writeln!(out, "memory before {was:.0} MB, at most {most:.0} MB").unwrap();
    }
}
