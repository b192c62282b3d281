//! Devices that say whether they watch, what follows for the box, and how that is shown.

use std::time::Duration;

use deckwatch::trip::event::Point;
use deckwatch::trip::watch::Priority;
use jiff::SignedDuration;
use serde_json::{Value, json};

use crate::app::App;
use crate::client::Client;
use crate::trip::Trip;

fn report(trip: &Trip, change: &Value) -> Value {
    let mut report = json!({
        "trip": trip.id, "place": "helm", "visible": true, "armed": true, "wake_lock": true,
    });
    for (name, value) in change.as_object().unwrap() {
        report[name] = value.clone();
    }
    report
}

async fn tell(client: &Client, trip: &Trip, change: &Value) {
    let report = report(trip, change);
    client.post_json("/api/watching", &report).await.is(204);
}

/// What holds of the box, once it is `wanted` or when it does not come to be.
async fn notices(app: &App, wanted: impl Fn(&Value) -> bool) -> Value {
    for _ in 0..200 {
        let told = app.skipper().get("/api/notices").await.json()["notices"].clone();
        if wanted(&told) {
            return told;
        }
        tokio::time::sleep(Duration::from_millis(10)).await;
    }
    app.skipper().get("/api/notices").await.json()["notices"].clone()
}

/// A boat at work: somebody is down, and the box looks after who watches.
async fn at_work() -> (App, Trip) {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "D").await;
    app.web.go_on_duty();
    (app, trip)
}

#[tokio::test]
async fn nobody_watches_until_an_armed_screen_reports_and_again_when_it_stops() {
    let (app, trip) = at_work().await;
    // The box has run for longer than the half minute that it grants after its start.
    app.wait(SignedDuration::from_secs(31));
    let told = notices(&app, |told| told.get("nobody-watching").is_some()).await;
    assert_eq!(told["nobody-watching"]["priority"], "alarm");
    let text = told["nobody-watching"]["text"].as_str().unwrap();
    assert!(text.contains("arm"), "it says what to do: {text}");

    // The strip of every page has it, and it sounds there: the script looks for these.
    let page = app.skipper().get(&format!("/helm/{}", trip.id)).await;
    let shown = "#strip #notice-nobody-watching[data-alert-state=active]";
    assert_eq!(
        page.attributes(shown, "data-alert-priority"),
        ["alarm"],
        "{}",
        page.text()
    );
    let start = app.desk().get("/desk").await;
    assert_eq!(start.count("#notice-nobody-watching"), 1);

    for blind in [
        json!({"visible": false}),
        json!({"armed": false}),
        json!({"place": "desk"}),
    ] {
        tell(&app.skipper(), &trip, &blind).await;
        tokio::time::sleep(Duration::from_millis(60)).await;
        let told = notices(&app, |_| true).await;
        assert!(told.get("nobody-watching").is_some(), "{blind}: {told}");
    }
    tell(&app.skipper(), &trip, &json!({})).await;
    let told = notices(&app, |told| told.get("nobody-watching").is_none()).await;
    assert!(told.get("nobody-watching").is_none(), "{told}");
    app.wait(SignedDuration::from_secs(31));
    let told = notices(&app, |told| told.get("nobody-watching").is_some()).await;
    assert!(told.get("nobody-watching").is_some(), "{told}");
}

#[tokio::test]
async fn a_device_that_falls_silent_or_is_hidden_is_named() {
    let (app, trip) = at_work().await;
    tell(&app.divemaster(), &trip, &json!({"place": "deck"})).await;
    app.wait(SignedDuration::from_secs(30));
    tell(&app.skipper(), &trip, &json!({"visible": false})).await;
    app.wait(SignedDuration::from_secs(31));
    let told = notices(&app, |told| {
        told.get("devices-silent").is_some() && told.get("devices-hidden").is_some()
    })
    .await;
    let names = |about: &str| told[about]["args"]["names"].clone();
    assert_eq!(names("devices-silent"), "Deck of Jonne Aalto");
    assert_eq!(names("devices-hidden"), "Helm of Ilka Voss");
    assert_eq!(told["devices-silent"]["priority"], "caution");
}

#[tokio::test]
async fn clocks_that_are_off_are_told_the_devices_and_the_boxs() {
    let (app, trip) = at_work().await;
    let off = |ms: f64| json!({"offset_ms": ms, "bound_ms": 20});
    tell(&app.skipper(), &trip, &off(-600_000.0)).await;
    let told = notices(&app, |told| told.get("device-clocks").is_some()).await;
    assert_eq!(told["device-clocks"]["args"]["names"], "Helm of Ilka Voss");
    assert!(
        told.get("box-clock-off").is_none(),
        "one device proves nothing of the box: {told}"
    );
    tell(&app.divemaster(), &trip, &off(-590_000.0)).await;
    let told = notices(&app, |told| told.get("box-clock-off").is_some()).await;
    assert_eq!(told["box-clock-off"]["priority"], "warning");
    assert_eq!(told["box-clock-off"]["args"]["seconds"], "595");
    for client in [app.skipper(), app.divemaster()] {
        tell(&client, &trip, &off(-6_000.0)).await;
    }
    let told = notices(&app, |told| {
        told["box-clock-off"]["priority"] == "caution" && told.get("device-clocks").is_none()
    })
    .await;
    assert_eq!(told["box-clock-off"]["priority"], "caution", "{told}");
}

#[tokio::test]
async fn a_report_is_read_strictly_and_every_fault_named() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let wrong = json!({
        "trip": "7", "place": "bridge", "visible": "yes", "armed": true, "odd": 1,
        "heard_at_ms": -1, "offset_ms": 5,
    });
    let answer = app.skipper().post_json("/api/watching", &wrong).await;
    let faults = answer.is(422).json()["faults"].clone();
    let mut paths: Vec<&str> = faults
        .as_array()
        .unwrap()
        .iter()
        .map(|fault| fault["path"].as_str().unwrap())
        .collect();
    paths.sort_unstable();
    assert_eq!(
        paths,
        [
            "heard_at_ms",
            "odd",
            "offset_ms",
            "place",
            "trip",
            "visible",
            "wake_lock"
        ]
    );
    let elsewhere = report(
        &trip,
        &json!({"trip": "00000000-0000-4000-8000-00000000000f"}),
    );
    let unknown = app.skipper().post_json("/api/watching", &elsewhere).await;
    unknown.is(404);
    let sound = report(&trip, &json!({}));
    let nobody = app.stranger().post_json("/api/watching", &sound).await;
    nobody.is(401);
}

#[tokio::test]
async fn the_stream_tells_the_notices_at_first_and_when_one_changes() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let path = format!("/api/trips/{}/live", trip.id);
    let mut stream = app.skipper().listen(&path, None).await;
    let first = stream.next_named("notices").await;
    assert_eq!(first.data["notices"], json!({}));
    let since = app.clock.now();
    let args = [("names", "Deck 2".to_owned()), ("count", "1".to_owned())];
    let notices = app.web.notices();
    notices.raise("devices-silent", Priority::Caution, &args, since);
    let told = stream.next_named("notices").await;
    let told = &told.data["notices"]["devices-silent"];
    assert_eq!(told["since"], since.to_string());
    assert!(told["text"].as_str().unwrap().contains("Deck 2"), "{told}");
    let page = app
        .skipper()
        .get(&format!("/helm/{}/alerts", trip.id))
        .await;
    assert_eq!(page.count("main #notice-devices-silent"), 1);
    assert_eq!(page.count("#notice-devices-silent"), 1, "an id stands once");
    let silent = "main #notice-devices-silent";
    let state = page.attributes(silent, "data-alert-state");
    assert_eq!(state, ["standing"], "what nobody can answer does not sound");
    let desk = app.desk().get(&format!("/desk/{}/alerts", trip.id)).await;
    assert_eq!(desk.count(silent), 1);
    notices.clear("devices-silent");
    let told = stream.next_named("notices").await;
    assert_eq!(told.data["notices"], json!({}));
}

#[tokio::test]
async fn every_answer_carries_the_boxs_time() {
    let app = App::new().await;
    let now = app.clock.now().to_string();
    for path in ["/sign-in", "/api/health", "/nowhere", "/desk"] {
        let answer = app.stranger().get(path).await;
        assert_eq!(answer.header("deckwatch-now"), now, "{path}");
    }
}

#[tokio::test]
async fn a_gate_with_a_silent_device_is_not_called_clear() {
    let app = App::new().await;
    let trip = app.trip().await;
    let gate = format!("/helm/{}/gate", trip.id);
    app.call_roll(&trip, Point::Leaving).await;
    app.count(&trip, Point::Leaving, None).await;
    let clear = app.skipper().get(&gate).await;
    assert!(
        clear
            .is(200)
            .text()
            .contains("Counts, log and roll agree, and nobody is out.")
    );
    tell(&app.divemaster(), &trip, &json!({"place": "deck"})).await;
    let told = app.skipper().get(&gate).await;
    assert!(told.text().contains("nobody is out."), "it reports");
    app.clock.advance(SignedDuration::from_secs(61));
    let told = app.skipper().get(&gate).await;
    assert!(
        !told.text().contains("nobody is out."),
        "silent: {}",
        told.text()
    );
    assert!(told.text().contains("is silent since"));
}
