//! The live stream: the whole picture first, then what changes, and a beat whatever happens.

use std::collections::BTreeSet;

use axum::http::StatusCode;
use jiff::SignedDuration;

use crate::app::App;
use crate::client::{Listening, Told};
use crate::trip::Trip;

async fn listen(app: &App, trip: &Trip, last: Option<&str>) -> Listening {
    let path = format!("/api/trips/{}/live", trip.id);
    app.skipper().listen(&path, last).await
}

fn is_whole(told: &Told) -> bool {
    told.data.get("picture").is_some() && told.data.get("patch").is_none()
}

#[tokio::test]
async fn it_gives_the_whole_picture_then_only_what_changed() {
    let app = App::new().await;
    let trip = app.trip().await;
    let mut stream = listen(&app, &trip, None).await;
    let first = stream.next_named("picture").await;
    assert!(is_whole(&first), "{first:?}");
    assert_eq!(first.data["picture"]["under"], 0);
    app.drop_group(&trip, "D").await;
    let group = trip.group("D").to_string();
    // Checks and drop are two entries, and so may be two changes.
    loop {
        let told = stream.next_named("picture").await;
        assert!(!is_whole(&told), "{told:?}");
        assert!(
            told.data["patch"].get("boat").is_none(),
            "the boat did not change"
        );
        if told.data["patch"]["groups"][&group]["entered_at"].is_string() {
            assert_eq!(told.data["patch"]["under"], 2);
            break;
        }
    }
}

#[tokio::test]
async fn a_beat_with_a_name_and_the_clock_comes_though_nothing_happens() {
    let app = App::new().await;
    let trip = app.trip().await;
    let mut stream = listen(&app, &trip, None).await;
    let beat = stream.next_named("beat").await;
    assert_eq!(beat.data["now"], app.clock.now().to_string());
    assert_eq!(
        beat.data["entry"],
        app.store.head(trip.id).await.unwrap().unwrap().entry
    );
    assert_eq!(
        beat.id, None,
        "a beat must not move the place to go on from"
    );
}

#[tokio::test]
async fn who_was_away_gets_what_was_missed_and_no_more() {
    let app = App::new().await;
    let trip = app.trip().await;
    let mut stream = listen(&app, &trip, None).await;
    let heard = stream.next_named("picture").await.id.unwrap();
    drop(stream);
    app.drop_group(&trip, "D").await;
    app.web.live().snapshot(trip.id).await.unwrap();
    let mut again = listen(&app, &trip, Some(&heard)).await;
    let missed = again.next_named("picture").await;
    assert!(!is_whole(&missed), "{missed:?}");
    let mut never = listen(&app, &trip, Some("another0-3")).await;
    assert!(
        is_whole(&never.next_named("picture").await),
        "another run of the box"
    );
    let mut ahead = listen(&app, &trip, Some(&format!("{heard}9999"))).await;
    assert!(
        is_whole(&ahead.next_named("picture").await),
        "a number never told"
    );
}

#[tokio::test]
async fn a_deadline_that_passes_is_told_without_an_event() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "D").await;
    let mut stream = listen(&app, &trip, None).await;
    stream.next_named("picture").await;
    app.wait(SignedDuration::from_mins(70));
    let told = stream.next_named("picture").await;
    let alerts = told.data["patch"]["alerts"].as_object().unwrap();
    let alert = alerts
        .values()
        .find(|a| a["group"] == trip.group("D").to_string());
    let priority = &alert.expect("an alert of the group")["priority"];
    assert!(
        ["alarm", "emergency"].contains(&priority.as_str().unwrap()),
        "{told:?}"
    );
}

#[tokio::test]
async fn it_ends_when_the_server_stops() {
    let app = App::new().await;
    let trip = app.trip().await;
    let mut stream = listen(&app, &trip, None).await;
    stream.next_named("picture").await;
    app.closing.cancel();
    while stream.next().await.is_some() {}
}

#[tokio::test]
async fn there_is_no_stream_of_a_trip_that_is_not_here_nor_for_strangers() {
    let app = App::new().await;
    let trip = app.trip().await;
    let none = "/api/trips/00000000-0000-0000-0000-000000000001/live";
    app.skipper().get(none).await.is(404);
    let path = format!("/api/trips/{}/live", trip.id);
    let refused = app.stranger().get(&path).await;
    assert_eq!(refused.status, StatusCode::UNAUTHORIZED);
}

#[tokio::test]
async fn who_waits_for_a_snapshot_takes_the_one_that_was_made_meanwhile() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "D").await;
    let before = app.web.live().snapshot(trip.id).await.unwrap().unwrap();
    app.drop_group(&trip, "B").await;
    let mut waiting = tokio::task::JoinSet::new();
    for _ in 0..50 {
        let (live, trip) = (app.web.live().clone(), trip.id);
        waiting.spawn(async move { live.snapshot(trip).await.unwrap().unwrap() });
    }
    let got = waiting.join_all().await;
    let head = app.store.head(trip.id).await.unwrap().unwrap().entry;
    assert!(got.iter().all(|one| one.head.entry == head));
    assert!(before.head.entry < head);
    // Two at most: the one that was being made, and the one that reaches as far.
    let made: BTreeSet<_> = got.iter().map(std::sync::Arc::as_ptr).collect();
    assert!(made.len() <= 2, "{} were made", made.len());
}
