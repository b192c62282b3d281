//! A disk that is full, and one that takes nothing: told plainly, nothing lost, and on again
//! when there is room. On small file systems of their own where this machine lets one be made.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Duration;

use deckwatch::store::{Space, StoreError};
use deckwatch::trip::decide;
use deckwatch::trip::event::{About, Event, Fact, IncidentNoted};
use deckwatch::trip::watch::Priority;
use deckwatch::web::storage;
use deckwatch::words::{Arg, Words};
use serde_json::{Value, json};

use crate::app::{App, Seat};
use crate::client::Answer;
use crate::trip::Trip;

/// A file system in memory, taken down at the end.
struct Small(PathBuf);

impl Small {
    /// None where this machine lets nobody mount.
    fn of(megabytes: u32) -> Option<Self> {
        let place = tempfile::tempdir().unwrap().keep();
        let size = format!("size={megabytes}m");
        let mounted = Command::new("mount")
            .args(["-t", "tmpfs", "-o", &size, "tmpfs"])
            .arg(&place)
            .output();
        if mounted.is_ok_and(|done| done.status.success()) {
            return Some(Self(place));
        }
        std::fs::remove_dir(&place).unwrap();
        eprintln!("NOT TESTED HERE: nobody may mount; faults of single calls are in tests/power");
        None
    }

    /// Fills it to the last byte.
    fn fill(&self) {
        use std::io::Write as _;
        let mut ballast = std::fs::File::create(self.0.join("ballast")).unwrap();
        for piece in [1 << 20, 4096, 1] {
            while ballast.write_all(&vec![1; piece]).is_ok() {}
        }
    }

    fn empty(&self) {
        std::fs::remove_file(self.0.join("ballast")).unwrap();
    }
}

impl Drop for Small {
    fn drop(&mut self) {
        // What still has files open there lets go of it later.
        let done = Command::new("umount").arg("-l").arg(&self.0).status();
        if done.is_ok_and(|status| status.success()) {
            drop(std::fs::remove_dir(&self.0));
        }
    }
}

async fn note(app: &App, trip: &Trip, seat: &Seat, text: &str) -> Event {
    let draft = decide::Draft {
        about: About::nobody(),
        fact: Fact::IncidentNoted(IncidentNoted {
            text: text.to_owned(),
            record: None,
        }),
        at: None,
        corrects: None,
    };
    app.sign(trip, seat, vec![draft]).await.remove(0)
}

async fn send(app: &App, trip: &Trip, seat: &Seat, event: &Event) -> Answer {
    let value: Value = serde_json::from_str(&event.content().text).unwrap();
    let path = format!("/api/trips/{}/events", trip.id);
    let document = json!({ "events": [value] });
    app.at(seat).post_json(&path, &document).await
}

/// Delivers event after event until one is refused.
async fn until_refused(app: &App, trip: &Trip, acknowledged: &mut Vec<Event>) -> (Event, Answer) {
    for nth in 0..2_000 {
        let text = format!("{nth} {}", "x".repeat(900));
        let event = note(app, trip, &app.helm, &text).await;
        let answer = send(app, trip, &app.helm, &event).await;
        if answer.status.as_u16() != 200 {
            return (event, answer);
        }
        acknowledged.push(event);
    }
    panic!("the disk never was full");
}

/// The notice as the screens word it, when it is there.
async fn notice(app: &App, holds: bool) -> Option<(Priority, String)> {
    for _ in 0..200 {
        let held = app.web.notices().all().remove("storage");
        if held.is_some() == holds {
            return held.map(|notice| {
                let args: Vec<(&str, Arg)> = notice
                    .args
                    .iter()
                    .map(|(name, value)| (name.as_str(), Arg::from(value)))
                    .collect();
                let text = Words::english().say_with("notice-storage", &args);
                (notice.priority, text)
            });
        }
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    panic!("the notice did not come to {holds}");
}

fn reserve(app: &App) -> Option<u64> {
    let path = app.store.path().with_extension("reserve");
    std::fs::metadata(path).ok().map(|held| held.len())
}

#[tokio::test(flavor = "multi_thread")]
async fn a_full_disk_is_told_gives_its_reserve_and_goes_on_when_there_is_room() {
    let Some(small) = Small::of(40) else {
        return;
    };
    let app = App::within(tempfile::tempdir_in(&small.0).unwrap()).await;
    let trip = app.trip().await;
    app.drop_group(&trip, "B").await;
    let keeping = tokio::spawn(storage::keep(app.web.clone()));
    let (priority, text) = notice(&app, true).await.unwrap();
    assert_eq!(priority, Priority::Caution, "{text}");
    assert!(text.contains("nearly full"), "{text}");
    assert_eq!(reserve(&app), Some(deckwatch::store::RESERVE));
    small.fill();

    // The log grows within blocks that it has; then there are no more.
    let mut acknowledged = Vec::new();
    let (refused, answer) = until_refused(&app, &trip, &mut acknowledged).await;
    let problem = answer.is(507).json();
    assert_eq!(problem["type"], "/problems/storage-full");
    assert!(problem["detail"].as_str().unwrap().contains("Free space"));
    assert_eq!(
        reserve(&app),
        Some(deckwatch::store::RESERVE / 2),
        "half is kept for closing"
    );
    // What was refused, sent again, is taken: the reserve's room is there for it.
    send(&app, &trip, &app.helm, &refused).await.is(200);
    acknowledged.push(refused);
    let held = *app.store.space().borrow();
    assert_eq!(held, Space::Reserve);

    // That is used up, too.
    small.fill();
    let (refused, answer) = until_refused(&app, &trip, &mut acknowledged).await;
    answer.is(507);
    let told = app.web.notices().all()["storage"].clone();
    for _ in 0..100 {
        if app.web.notices().all()["storage"].priority == Priority::Alarm {
            break;
        }
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
    let (priority, text) = notice(&app, true).await.unwrap();
    assert_eq!(priority, Priority::Alarm, "{text} after {told:?}");
    assert!(text.starts_with("Not saving"), "{text}");
    // A form says the same as a page, and what only shows goes on: the watch, and its alarms.
    let form = format!("/helm/{}/alerts", trip.id);
    let page = app.skipper().get(&form).await;
    page.is(200);
    app.wait(jiff::SignedDuration::from_hours(3));
    let alarmed = app.skipper().get(&form).await;
    assert!(alarmed.text().contains("data-alert-priority=\"alarm\""));
    // A commit of this size still finds none.
    send(&app, &trip, &app.helm, &refused).await.is(507);

    // Nor does a transaction of several statements, and it does not get stuck in one.
    let long = "y".repeat(200_000);
    let refused_too = app.store.set_setting("note", &long).await;
    assert!(
        matches!(refused_too, Err(StoreError::Full)),
        "{refused_too:?}"
    );

    small.empty();
    app.store.set_setting("note", &long).await.unwrap();
    send(&app, &trip, &app.helm, &refused).await.is(200);
    acknowledged.push(refused.clone());
    let again = send(&app, &trip, &app.helm, &refused).await.is(200).json();
    let entries = app.store.entries(trip.id, 0).await.unwrap();
    for event in &acknowledged {
        let stands = entries.iter().filter(|entry| entry.event.id == event.id);
        assert_eq!(stands.count(), 1, "{}", event.id);
    }
    let last = entries.last().unwrap();
    assert_eq!(again["events"][0]["entry"], last.receipt.entry);
    app.store.look_after_space().await;
    assert_eq!(reserve(&app), Some(deckwatch::store::RESERVE), "remade");
    tokio::time::sleep(Duration::from_millis(50)).await;
    let (priority, text) = notice(&app, true).await.unwrap();
    assert_eq!(priority, Priority::Caution, "{text}");
    assert!(app.store.verify().await.unwrap().flaws.is_empty());

    // Closing works on a disk that is full again.
    small.fill();
    app.closing.cancel();
    keeping.await.unwrap();
    app.store.close().await.unwrap();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_file_that_was_replaced_stops_the_saving_and_no_restart_is_asked_for() {
    let app = App::new().await;
    let trip = app.trip().await;
    let keeping = tokio::spawn(storage::keep(app.web.clone()));
    let mut failing = tokio::spawn(storage::until_anew_would_do(app.web.clone()));
    let path = app.store.path().to_owned();
    std::fs::rename(&path, path.with_extension("aside")).unwrap();
    let event = note(&app, &trip, &app.helm, "after that").await;
    let problem = send(&app, &trip, &app.helm, &event).await.is(503).json();
    assert_eq!(problem["type"], "/problems/not-saving");
    let (priority, text) = notice(&app, true).await.unwrap();
    assert_eq!(priority, Priority::Alarm, "{text}");
    assert!(
        text.starts_with("Not saving: ") && text.contains("gone"),
        "{text}"
    );
    // A new program would make an empty file where the log was: a person must see to it.
    let waited = tokio::time::timeout(Duration::from_millis(300), &mut failing).await;
    assert!(waited.is_err());
    app.skipper().get(&format!("/helm/{}", trip.id)).await;
    std::fs::rename(path.with_extension("aside"), Path::new(&path)).unwrap();
    tokio::time::timeout(Duration::from_secs(10), failing)
        .await
        .unwrap()
        .unwrap();
    app.closing.cancel();
    keeping.await.unwrap();
}
