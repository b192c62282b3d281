//! Ids of another trip under the address of this one: nothing is written to either, and nothing
//! of the other stands in the answer.

use axum::body::Body;
use axum::http::Method;
use deckwatch::trip::decide::{self, SurfaceTap};
use deckwatch::trip::event::{
    About, Activity, BeaconHeard, BeaconSort, Fact, IncidentNoted, PersonMissing, Signal,
};
use deckwatch::web::export::log_lines;
use deckwatch::web::router::routes;
use jiff::SignedDuration;
use serde_json::json;

use super::forms::{Form, forms};
use crate::app::App;
use crate::client::{Answer, Client};
use crate::trip::Trip;

/// Stands in every name and note of the other trip, and nowhere else.
const MARK: &str = "Zyx";

/// A trip with people out: overdue, at the surface, missing, with a beacon and a note.
async fn under_way(app: &App, trip: &Trip, names: [&str; 3], beacon: &str, note: &str) {
    let letter = if note.contains(MARK) { "K" } else { "B" };
    app.drop_group(trip, letter).await;
    app.buoy(trip, letter).await;
    app.surfaced(trip, &names[..1], Signal::NoSignal).await;
    let noted = IncidentNoted {
        text: note.to_owned(),
        ..incident()
    };
    app.tell(trip, &app.helm, About::nobody(), Fact::IncidentNoted(noted))
        .await;
    let missing = Fact::PersonMissing(PersonMissing {
        note: note.to_owned(),
    });
    let about = About::person(trip.person(names[2]));
    app.tell(trip, &app.deck, about, missing).await;
    let heard = Fact::BeaconHeard(BeaconHeard {
        identity: beacon.to_owned(),
        sort: BeaconSort::Person,
        place: None,
        place_is_last: false,
        test: false,
        text: Some(note.to_owned()),
    });
    app.tell(trip, &app.helm, About::nobody(), heard).await;
}

fn incident() -> IncidentNoted {
    IncidentNoted {
        text: "a note".to_owned(),
        record: None,
    }
}

/// This trip and the other, both with people out for an hour and a half.
async fn two_trips(app: &App) -> (Trip, Trip) {
    let own = app.trip().await;
    let mut other = app.empty_trip().await;
    for (name, activity) in [
        ("Zyx One", Activity::Diver),
        ("Zyx Two", Activity::Diver),
        ("Zyx Three", Activity::Passenger),
        ("Zyx Four", Activity::Diver),
        ("Zyx Five", Activity::Diver),
    ] {
        app.join(&mut other, name, activity).await;
    }
    let planned = deckwatch::trip::event::DivePlanned {
        site: crate::trip::site_sheet(),
    };
    app.decide(&other, &app.desk, move |state, _| {
        decide::plan_dive(state, 1, planned)
    })
    .await;
    app.form(&mut other, "K", &[&["Zyx One", "Zyx Two"]]).await;
    app.form(&mut other, "L", &[&["Zyx Four", "Zyx Five"]])
        .await;
    app.sail(&other).await;
    let names = ["Mara Lind", "Tomas Reyl", "Ruta Sol"];
    under_way(app, &own, names, "972000001", "seen off the bow").await;
    let names = ["Zyx One", "Zyx Two", "Zyx Three"];
    under_way(app, &other, names, "972000002", "Zyx off the bow").await;
    app.wait(SignedDuration::from_mins(90));
    (own, other)
}

/// What both trips hold: their last entries, with the chain.
async fn heads(app: &App, trips: [&Trip; 2]) -> Vec<String> {
    let mut heads = Vec::new();
    for trip in trips {
        heads.push(format!("{:?}", app.store.head(trip.id).await.unwrap()));
    }
    heads
}

/// Identities of this trip, each with one of the other that stands for the same.
async fn pairs(app: &App, own: &Trip, other: &Trip) -> Vec<(String, String)> {
    let state = app.state(own).await;
    let of_other = app.state(other).await;
    let people = of_other.people.keys().cycle();
    let groups = of_other.groups.keys().cycle();
    let mut pairs: Vec<(String, String)> = Vec::new();
    for (one, its) in state.people.keys().zip(people) {
        pairs.push((one.to_string(), its.to_string()));
    }
    for (one, its) in state.groups.keys().zip(groups) {
        pairs.push((one.to_string(), its.to_string()));
    }
    let log = app.store.entries(other.id, 0).await.unwrap();
    for one in app.store.entries(own.id, 0).await.unwrap() {
        let same =
            |its: &&deckwatch::trip::event::Entry| its.event.fact.kind() == one.event.fact.kind();
        let its = log.iter().rev().find(same).unwrap_or(&log[0]);
        pairs.push((one.event.id.to_string(), its.event.id.to_string()));
    }
    pairs
}

fn swapped(text: &str, pairs: &[(String, String)]) -> String {
    pairs.iter().fold(text.to_owned(), |text, (own, other)| {
        text.replace(own.as_str(), other)
    })
}

fn tells_nothing(answer: &Answer, what: &str) {
    assert!(answer.status.as_u16() < 500, "{what}: {}", answer.status);
    let told = String::from_utf8_lossy(&answer.body);
    let at = told.find(MARK).map(|at| &told[at.saturating_sub(60)..]);
    assert_eq!(at, None, "{what} tells of the other trip");
}

#[tokio::test]
async fn no_address_of_this_trip_shows_or_writes_anything_of_another() {
    let app = App::new().await;
    let (own, other) = two_trips(&app).await;
    let before = heads(&app, [&own, &other]).await;
    let last = app.store.entries(other.id, 0).await.unwrap().pop().unwrap();
    let picture = format!("/api/trips/{}/picture", other.id);
    let picture = app.skipper().get(&picture).await.json();
    let hash = picture["site"]["chart"].as_str().unwrap_or("00").to_owned();
    let path = |path: &str| {
        path.replace("{trip}", &own.id.to_string())
            .replace("{group}", &other.group("K").to_string())
            .replace("{person}", &other.person("Zyx One").to_string())
            .replace("{event}", &last.event.id.to_string())
            .replace("{identity}", "972000002")
            .replace("{device}", &app.deck.device.to_string())
            .replace("{hash}", &hash)
            .replace("{dive}", "1")
            .replace("{what}", &other.group("K").to_string())
    };
    let mut asked = 0;
    for route in routes() {
        let further = route.path.matches('{').count() > 1;
        // A stream never ends; revoking a device is about no trip.
        let not_here = route.path.ends_with("/live") || route.path.contains("{device}");
        if !route.path.contains("{trip}") || !further || not_here {
            continue;
        }
        let path = path(route.path);
        assert!(!path.contains('{'), "{path} has a part of its own");
        for client in [app.skipper(), app.divemaster(), app.desk()] {
            asked += 1;
            let answer = if route.methods == ["GET"] {
                client.get(&path).await
            } else {
                // Fresh tokens of this trip, and all that an act could want.
                let person = other.person("Zyx Two").to_string();
                let fields = [
                    ("person", person.as_str()),
                    ("persons", person.as_str()),
                    ("members", person.as_str()),
                    ("reason", "because"),
                    ("minutes", "10"),
                    ("word", "well"),
                    ("said_by", person.as_str()),
                    ("signal", "well"),
                    ("engine_neutral", "yes"),
                    ("flag_shown", "yes"),
                ];
                client.post(&path, &fields).await
            };
            tells_nothing(&answer, &path);
            assert_eq!(heads(&app, [&own, &other]).await, before, "{path} wrote");
        }
    }
    assert!(asked > 100, "{asked} requests");
}

/// The forms of every page of this trip, with who sees them.
async fn forms_under(app: &App, own: &Trip) -> Vec<(Client, Form)> {
    let mut all = Vec::new();
    for (client, places) in [
        (app.skipper(), ["helm", "deck"]),
        (app.desk(), ["desk", "desk"]),
    ] {
        let from = places.map(|place| format!("/{place}/{}", own.id));
        for form in forms(&client, &from, 2).await {
            all.push((client.clone(), form));
        }
    }
    all
}

#[tokio::test]
async fn no_form_of_this_trip_takes_ids_of_another() {
    let app = App::new().await;
    let (own, other) = two_trips(&app).await;
    let pairs = pairs(&app, &own, &other).await;
    let all = forms_under(&app, &own).await;
    let before = heads(&app, [&own, &other]).await;
    let mut wrote = Vec::new();
    let mut sent = 0;
    for (client, mut form) in all {
        if form.method != Method::POST || !form.action.contains(&own.id.to_string()) {
            continue;
        }
        let plain = form.with(&[]);
        let fields: Vec<(String, String)> = plain
            .iter()
            .map(|(name, value)| (swapped(name, &pairs), swapped(value, &pairs)))
            .collect();
        let action = swapped(&form.action, &pairs);
        if fields == plain && action == form.action {
            continue;
        }
        form.action = action;
        let answer = form.send(&client, &fields).await;
        sent += 1;
        tells_nothing(&answer, &form.action);
        if heads(&app, [&own, &other]).await != before {
            wrote.push(format!("{} {} {fields:?}", answer.status, form.action));
            break;
        }
    }
    assert_eq!(wrote, [""; 0], "of {sent}");
    assert!(sent > 20, "{sent} forms carry ids");
}

#[tokio::test]
async fn what_a_page_of_another_trip_knew_counts_nothing_here() {
    let app = App::new().await;
    let (own, other) = two_trips(&app).await;
    let before = heads(&app, [&own, &other]).await;
    let client = app.skipper();
    let theirs = client.get(&format!("/helm/{}/conditions", other.id)).await;
    let action = format!("/helm/{}/conditions", other.id);
    let mut fields = theirs.form(&action);
    for (name, value) in [("set_deg", "285"), ("drift_kn", "0.4")] {
        fields.push((name.to_owned(), value.to_owned()));
    }
    let here = format!("/helm/{}/conditions", own.id);
    let answer = client.post_raw(&here, &fields).await;
    assert_ne!(answer.status, 303, "the page knew another log");
    assert_eq!(heads(&app, [&own, &other]).await, before);
    // From its own page the same form is taken.
    client.post_raw(&action, &fields).await.location();
}

#[tokio::test]
async fn programs_bring_nothing_of_another_trip() {
    let app = App::new().await;
    let (own, other) = two_trips(&app).await;
    let before = heads(&app, [&own, &other]).await;
    let client = app.skipper();
    let state = app.state(&other).await;
    let drafts = decide::surfaced(
        &state,
        SurfaceTap {
            persons: [other.person("Zyx Two")].into(),
            signal: Signal::Well,
            place: None,
            from_boat: None,
            at: None,
        },
        app.clock.now(),
    )
    .unwrap();
    let events = app.sign(&other, &app.helm, drafts).await;
    let batch = |events: Vec<serde_json::Value>| json!({"events": events});
    let text = |event: &deckwatch::trip::event::Event| {
        serde_json::from_str::<serde_json::Value>(&event.content().text).unwrap()
    };
    // An event of the other trip, sent to this one.
    let path = format!("/api/trips/{}/events", own.id);
    let theirs = batch(events.iter().map(text).collect());
    let answer = client.post_json(&path, &theirs).await;
    assert!(
        [403, 422].contains(&answer.status.as_u16()),
        "{}",
        answer.text()
    );
    tells_nothing(&answer, &path);
    // One good event and one of the other trip: neither.
    let fact = Fact::IncidentNoted(incident());
    let draft = decide::Draft {
        about: About::nobody(),
        fact,
        at: None,
        corrects: None,
    };
    let good = app.sign(&own, &app.helm, vec![draft]).await;
    let mixed = batch(good.iter().chain(&events).map(text).collect());
    let answer = client.post_json(&path, &mixed).await;
    assert!(
        [403, 422].contains(&answer.status.as_u16()),
        "{}",
        answer.text()
    );
    // Lines of the other log, handed over to this one.
    let log = app.store.log(other.id, 0).await.unwrap();
    let request = client
        .request(&Method::POST, &format!("/api/trips/{}/refill", own.id))
        .header("content-type", "application/jsonl");
    let request = request.body(Body::from(log_lines(&log))).unwrap();
    let answer = client.send(request).await;
    assert!(
        [415, 422].contains(&answer.status.as_u16()),
        "{}",
        answer.text()
    );
    assert_eq!(heads(&app, [&own, &other]).await, before);
    // To its own trip the first is taken.
    let path = format!("/api/trips/{}/events", other.id);
    client.post_json(&path, &theirs).await.is(200);
}
