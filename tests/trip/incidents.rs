//! Notes and records of incidents: the old ones stay as they are, the new fields have a version.

use deckwatch::trip::event::*;
use serde_json::{Value, json};

use super::scene::*;

fn written(version: u32, payload: &Value) -> Value {
    json!({
        "id": uuid::Uuid::from_u128(77), "trip": trip(), "kind": "incident-noted", "v": version,
        "payload": payload, "about": {"persons": [who(ANNA)]},
        "device": uuid::Uuid::from_u128(1), "device_seq": 1, "knows": {},
        "by": {"crew": uuid::Uuid::from_u128(1), "name": "Ilka Voss", "role": "skipper"},
        "at": "2026-06-01T09:32:00Z", "app": "0.1.0",
    })
}

fn read_back(value: &Value) -> Event {
    let (event, content) = read(value.to_string().as_bytes()).unwrap();
    assert_eq!(event.content(), content, "written as it was read");
    event
}

fn record() -> Value {
    json!({"sort": "after-dive", "whereabouts": "at the ladder", "place": [10.25, 20.5],
        "greatest_depth_m": 24.0, "under_min": 41.0, "stops_missed": true,
        "signs": "tingling in the left arm", "oxygen_from": "2026-06-01T09:50:00Z",
        "done": "laid flat, kept warm", "called": "channel 16 at 09:52", "witnesses": "Timo Rast",
        "outcome": "fetched by the rescue boat at 10:30"})
}

#[test]
fn a_plain_note_keeps_its_version_and_a_record_has_the_next() {
    let plain = read_back(&written(1, &json!({"text": "cut on the ladder"})));
    assert!(matches!(&plain.fact, Fact::IncidentNoted(note) if note.record.is_none()));
    assert!(plain.content().text.contains("\"v\":1"));
    let full = read_back(&written(2, &json!({"text": "unwell", "record": record()})));
    let Fact::IncidentNoted(note) = &full.fact else {
        panic!("{:?}", full.fact)
    };
    let filled = note.record.as_ref().unwrap();
    assert_eq!(filled.sort, IncidentSort::AfterDive);
    assert_eq!(filled.stops_missed, Some(true));
    // Only what is known is written.
    let bare = read_back(&written(
        2,
        &json!({"text": "unwell", "record": {"sort": "other"}}),
    ));
    assert!(bare.content().text.contains(r#""record":{"sort":"other"}"#));
}

#[test]
fn a_version_that_does_not_fit_is_kept_unread() {
    for (version, payload) in [
        (1, json!({"text": "unwell", "record": record()})),
        (2, json!({"text": "cut on the ladder"})),
        (3, json!({"text": "unwell", "record": record()})),
    ] {
        let event = read_back(&written(version, &payload));
        assert!(matches!(event.fact, Fact::Unread(_)), "{version}");
    }
}

#[test]
fn a_record_that_makes_no_sense_is_refused_with_its_field() {
    let faults = |change: &dyn Fn(&mut Value)| -> Vec<String> {
        let mut payload = json!({"text": "unwell", "record": record()});
        change(&mut payload);
        let faults = read(written(2, &payload).to_string().as_bytes()).unwrap_err();
        faults.into_iter().map(|fault| fault.path).collect()
    };
    assert_eq!(faults(&|p| p["text"] = json!("  ")), ["payload.text"]);
    assert_eq!(
        faults(&|p| p["record"]["sort"] = json!("bad")),
        ["payload.record.sort"]
    );
    let depth = faults(&|p| p["record"]["greatest_depth_m"] = json!(-3.0));
    assert_eq!(depth, ["payload.record.greatest_depth_m"]);
    assert_eq!(
        faults(&|p| p["record"]["signs"] = json!("x".repeat(2_001))),
        ["payload"]
    );
    assert!(!faults(&|p| p["record"]["odd"] = json!(1)).is_empty());
}

#[test]
fn a_record_puts_nobody_on_the_roster_and_nobody_in_another_place() {
    let mut s = Scene::four_down();
    let before = places(&s.state());
    let fact = Fact::IncidentNoted(payload(json!({"text": "unwell", "record": record()})));
    s.by(DECK).says(people(&[ANNA, 999]), fact);
    let state = s.state();
    assert_eq!(places(&state), before);
    assert!(state.incidents[0].what.record.is_some());
    assert!(state.incidents[0].what.persons.contains(&who(ANNA)));
}
