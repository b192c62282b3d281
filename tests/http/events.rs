//! The append door: atomic, idempotent by identity, kept apart where contents differ, closed to
//! whoever did not make the event, open to every well-formed fact.

use deckwatch::trip::decide;
use deckwatch::trip::event::{
    Aboard, About, DeviceId, Event, Fact, IncidentNoted, LookoutPosted, PersonMissing, TripClosed,
    Vessel,
};
use deckwatch::trip::state::{Phase, Place};
use deckwatch::trip::{EventId, TripId};
use jiff::SignedDuration;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::app::{App, Seat};
use crate::client::Answer;
use crate::trip::{Trip, no_detail};

pub fn path(trip: &Trip) -> String {
    format!("/api/trips/{}/events", trip.id)
}

pub fn value(event: &Event) -> Value {
    serde_json::from_str(&event.content().text).unwrap()
}

/// The next events of a seat's device, not appended yet.
pub async fn notes(app: &App, trip: &Trip, seat: &Seat, count: usize) -> Vec<Event> {
    let drafts = (0..count)
        .map(|nth| decide::Draft {
            about: About::nobody(),
            fact: Fact::IncidentNoted(IncidentNoted {
                text: format!("Note {nth}"),
                record: None,
            }),
            at: None,
            corrects: None,
        })
        .collect();
    app.sign(trip, seat, drafts).await
}

async fn send(app: &App, trip: &Trip, seat: &Seat, events: &[Event]) -> Answer {
    let events: Vec<Value> = events.iter().map(value).collect();
    let document = json!({ "events": events });
    app.at(seat).post_json(&path(trip), &document).await
}

async fn entries(app: &App, trip: &Trip) -> u64 {
    app.store.head(trip.id).await.unwrap().unwrap().entry
}

#[tokio::test]
async fn a_batch_is_appended_and_a_repeat_is_answered_as_the_first_time() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let before = entries(&app, &trip).await;
    let events = notes(&app, &trip, &app.helm, 3).await;
    let first = send(&app, &trip, &app.helm, &events).await;
    let told = first.is(200).json();
    assert_eq!(told["events"][2]["entry"], before + 3);
    assert_eq!(told["events"][2]["id"], events[2].id.to_string());
    let again = send(&app, &trip, &app.helm, &events).await;
    assert_eq!(again.is(200).json(), told);
    assert_eq!(entries(&app, &trip).await, before + 3);
}

#[tokio::test]
async fn the_same_identity_with_other_content_is_refused_and_both_are_kept() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let mut events = notes(&app, &trip, &app.helm, 2).await;
    send(&app, &trip, &app.helm, &events[..1]).await.is(200);
    let before = entries(&app, &trip).await;
    events[0].fact = Fact::IncidentNoted(IncidentNoted {
        text: "Another story".to_owned(),
        record: None,
    });
    let clash = send(&app, &trip, &app.helm, &events).await;
    let problem = clash.is(409).json();
    assert_eq!(problem["type"], "/problems/clash");
    assert_eq!(problem["faults"][0]["path"], "events[0]");
    assert_eq!(entries(&app, &trip).await, before, "all or none");
    let kept = app.store.clashes(trip.id).await.unwrap();
    assert!(kept.iter().any(|text| text.contains("Another story")));
}

#[tokio::test]
async fn one_malformed_event_keeps_the_whole_batch_out_and_every_fault_is_named() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let before = entries(&app, &trip).await;
    let events = notes(&app, &trip, &app.helm, 2).await;
    let mut odd = value(&events[1]);
    odd["device_seq"] = json!(0);
    odd["at"] = json!("noon");
    odd["extra"] = json!(true);
    let document = json!({"events": [value(&events[0]), odd], "more": 1});
    let answer = app.skipper().post_json(&path(&trip), &document).await;
    let problem = answer.is(422).json();
    let paths: Vec<&str> = problem["faults"]
        .as_array()
        .unwrap()
        .iter()
        .map(|fault| fault["path"].as_str().unwrap())
        .collect();
    assert_eq!(
        paths,
        [
            "events[1].device_seq",
            "events[1].at",
            "events[1].extra",
            "more"
        ]
    );
    assert_eq!(entries(&app, &trip).await, before);
}

#[tokio::test]
async fn bad_documents_are_refused() {
    let app = App::new().await;
    let trip = app.empty_trip().await;
    let seq = entries(&app, &trip).await;
    for (text, at) in [
        ("", ""),
        ("{", ""),
        ("[]", ""),
        ("null", ""),
        ("{}", "events"),
        (r#"{"events": []}"#, "events"),
        (r#"{"events": {}}"#, "events"),
        (r#"{"events": [7]}"#, "events[0]"),
        (r#"{"events": [{}]}"#, "events[0].id"),
        ("{\"events\": [\"\u{0}\"]}", ""),
    ] {
        let answer = app.skipper().post_text(&path(&trip), text).await;
        let problem = answer.is(422).json();
        assert_eq!(problem["faults"][0]["path"], at, "{text}: {problem}");
    }
    let many = json!({"events": vec![json!({}); 5_001]});
    let answer = app.skipper().post_json(&path(&trip), &many).await;
    assert_eq!(answer.is(422).json()["faults"][0]["path"], "events");
    assert_eq!(entries(&app, &trip).await, seq);
}

#[tokio::test]
async fn an_event_of_another_trip_does_not_come_in_here() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let mut events = notes(&app, &trip, &app.helm, 1).await;
    events[0].trip = TripId::new(Uuid::from_u128(77));
    let answer = send(&app, &trip, &app.helm, &events).await;
    assert_eq!(answer.is(422).json()["faults"][0]["path"], "events[0].trip");
}

#[tokio::test]
async fn a_trip_that_is_not_here_is_not_made_by_a_note() {
    let app = App::new().await;
    let mut trip = app.trip_at_quay().await;
    let opening = app.store.entries(trip.id, 0).await.unwrap().remove(0).event;
    trip.id = TripId::new(app.clock.new_uuid());
    let events = notes(&app, &trip, &app.desk, 1).await;
    let answer = send(&app, &trip, &app.desk, &events).await;
    assert_eq!(answer.is(404).json()["type"], "/problems/no-such-trip");
    assert_eq!(app.store.head(trip.id).await.unwrap(), None);
    // It is by the event that opens it, as when a box that lost its disk is filled again.
    let opened = Event {
        id: EventId::new(app.clock.new_uuid()),
        trip: trip.id,
        ..std::sync::Arc::unwrap_or_clone(opening)
    };
    send(&app, &trip, &app.desk, &[opened]).await.is(200);
    app.desk()
        .get(&format!("/api/trips/{}/picture", trip.id))
        .await
        .is(200);
}

#[tokio::test]
async fn events_that_others_made_are_refused_with_the_field_named() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let before = entries(&app, &trip).await;
    let mine = notes(&app, &trip, &app.helm, 1).await.remove(0);
    let cases: [(&str, Event); 4] = [
        (
            "device",
            Event {
                device: DeviceId::new(Uuid::from_u128(9)),
                ..mine.clone()
            },
        ),
        ("by.crew", {
            let mut event = mine.clone();
            event.by.crew = app.deck.by.crew;
            event
        }),
        ("by.name", {
            let mut event = mine.clone();
            event.by.name = "Somebody".to_owned();
            event
        }),
        ("by.role", {
            let mut event = mine.clone();
            event.by.role = app.deck.by.role;
            event
        }),
    ];
    for (field, event) in cases {
        let answer = send(&app, &trip, &app.helm, &[event]).await;
        let problem = answer.is(403).json();
        assert_eq!(problem["type"], "/problems/not-yours");
        assert_eq!(problem["faults"][0]["path"], format!("events[0].{field}"));
    }
    assert_eq!(entries(&app, &trip).await, before);
    app.stranger()
        .post_json(&path(&trip), &json!({"events": [value(&mine)]}))
        .await
        .is(401);
}

#[tokio::test]
async fn what_stands_in_the_log_is_answered_to_whoever_relays_it() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let events = notes(&app, &trip, &app.deck, 2).await;
    let first = send(&app, &trip, &app.deck, &events).await;
    let told = first.is(200).json();
    let relayed = send(&app, &trip, &app.helm, &events).await;
    assert_eq!(relayed.is(200).json(), told);
    // With a word changed it is no repeat any more.
    let mut changed = events.clone();
    changed[0].fact = Fact::IncidentNoted(IncidentNoted {
        text: "Changed".to_owned(),
        record: None,
    });
    send(&app, &trip, &app.helm, &changed).await.is(403);
}

#[tokio::test]
async fn ages_of_the_delivery_make_the_time_the_earlier_one() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let events = notes(&app, &trip, &app.helm, 2).await;
    let document = json!({
        "events": [value(&events[0]), value(&events[1])],
        "ages": [{"wall_ms": 60_000, "mono_ms": 90_000}, null],
    });
    app.skipper()
        .post_json(&path(&trip), &document)
        .await
        .is(200);
    let log = app.store.entries(trip.id, 0).await.unwrap();
    let [aged, bare] = &log[log.len() - 2..] else {
        panic!("two entries");
    };
    let made = app.clock.now() - SignedDuration::from_secs(90);
    assert_eq!(aged.receipt.made_at(), made);
    assert_eq!(bare.receipt.made_at(), app.clock.now());
    // The delivery is no part of the event: without ages the repeat is the same event.
    send(&app, &trip, &app.helm, &events).await.is(200);
}

#[tokio::test]
async fn a_late_fact_that_contradicts_is_kept_and_reopens_a_closed_trip() {
    let app = App::new().await;
    let trip = app.trip().await;
    let closed = Fact::TripClosed(TripClosed {
        override_reason: Some("Log handed in by hand".to_owned()),
    });
    // Closed by the rules of nobody: the log keeps what it is told.
    app.tell(&trip, &app.helm, About::nobody(), closed).await;
    assert_eq!(app.state(&trip).await.phase, Phase::Closed);
    // A form would refuse 'aboard' of one who never left the surface.
    let person = trip.person("Ruta Sol");
    let missing = Fact::PersonMissing(PersonMissing {
        note: "her seat is empty".to_owned(),
    });
    let draft = decide::Draft {
        about: About::person(person),
        fact: missing,
        at: None,
        corrects: None,
    };
    let late = app.sign(&trip, &app.deck, vec![draft]).await;
    send(&app, &trip, &app.deck, &late).await.is(200);
    let state = app.state(&trip).await;
    assert!(state.reopened, "{:?}", state.phase);
    assert_ne!(state.phase, Phase::Closed);
    assert!(!state.people[&person].place.is_accounted());
}

#[tokio::test]
async fn a_fact_the_forms_refuse_is_kept_and_doubt_is_never_aboard() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "D").await;
    let person = trip.person("Noor Adan");
    let aboard = |seen_by: &str| decide::Draft {
        about: About::person(person).in_group(trip.group("D"), 1),
        fact: Fact::Aboard(Aboard {
            vessel: Vessel::Own,
            seen_by: seen_by.to_owned(),
            detail: no_detail(),
        }),
        at: None,
        corrects: None,
    };
    // Two devices at the same time, neither knowing of the other.
    let seen = app
        .sign(&trip, &app.deck, vec![aboard("Jonne Aalto")])
        .await;
    let missing = app
        .sign(
            &trip,
            &app.helm,
            vec![decide::Draft {
                about: About::person(person),
                fact: Fact::PersonMissing(PersonMissing {
                    note: "not seen".to_owned(),
                }),
                at: None,
                corrects: None,
            }],
        )
        .await;
    send(&app, &trip, &app.deck, &seen).await.is(200);
    send(&app, &trip, &app.helm, &missing).await.is(200);
    let place = app.state(&trip).await.people[&person].place;
    assert!(
        matches!(place, Place::Unresolved | Place::Missing),
        "{place:?}"
    );
    assert!(!place.is_accounted());
}

#[tokio::test]
async fn a_kind_from_a_newer_program_is_kept_as_it_came() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let mut newer = value(&notes(&app, &trip, &app.helm, 1).await[0]);
    newer["kind"] = json!("tide-turned");
    newer["payload"] = json!({"towards": "north", "rates": [1, 2.5]});
    let document = json!({ "events": [newer] });
    app.skipper()
        .post_json(&path(&trip), &document)
        .await
        .is(200);
    let log = app
        .skipper()
        .get(&format!("/api/trips/{}/log", trip.id))
        .await;
    let last: Value = serde_json::from_str(log.text().lines().last().unwrap()).unwrap();
    assert_eq!(last["event"], newer);
}

#[tokio::test]
async fn a_form_sent_twice_counts_once() {
    let app = App::new().await;
    let trip = app.trip().await;
    let before = entries(&app, &trip).await;
    let path = format!("/deck/{}/lookout", trip.id);
    let snapshot = app.web.live().snapshot(trip.id).await.unwrap().unwrap();
    let mut fields = deckwatch::web::page::tokens(&app.web, &snapshot);
    fields.push(("lookout".to_owned(), "Wim Haal".to_owned()));
    let first = app.divemaster().post_raw(&path, &fields).await;
    assert_eq!(first.status, 303, "{}", first.text());
    let one = entries(&app, &trip).await;
    assert_eq!(one, before + 1);
    let second = app.divemaster().post_raw(&path, &fields).await;
    assert_eq!(second.location(), first.location());
    assert_eq!(entries(&app, &trip).await, one);
    let posted = app.store.entries(trip.id, before).await.unwrap();
    assert!(
        matches!(&posted[0].event.fact, Fact::LookoutPosted(LookoutPosted { name }) if name == "Wim Haal")
    );
}

#[tokio::test]
async fn a_page_of_a_log_that_is_not_here_is_refused() {
    let app = App::new().await;
    let trip = app.trip().await;
    let before = entries(&app, &trip).await;
    let path = format!("/deck/{}/lookout", trip.id);
    for knows in [
        "",
        "0",
        "99999-00000000",
        "3-deadbeef",
        "x-y",
        "-1-00000000",
    ] {
        let fields = [("lookout", "Wim Haal"), ("knows", knows)];
        let answer = app.divemaster().post(&path, &fields).await;
        assert_eq!(answer.status, 409, "{knows}: {}", answer.text());
    }
    assert_eq!(entries(&app, &trip).await, before);
}
