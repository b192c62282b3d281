//! One frozen event for each kind and version: it reads, writes and hashes the same for ever,
//! and all of them together fold to the same places for ever.
//!
//! Where a kind or a version is new, its fixture is added; none is ever changed. To write the
//! missing ones: `cargo nextest run --test trip --run-ignored only`, then look at each.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use deckwatch::trip::event::*;
use deckwatch::trip::state::{Phase, Place, fold};
use serde_json::{Value, json};

use super::scene::*;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/log")
}

fn hex(hash: [u8; 32]) -> String {
    use std::fmt::Write;
    hash.iter().fold(String::new(), |mut text, byte| {
        write!(text, "{byte:02x}").unwrap();
        text
    })
}

/// A payload of each kind with every field filled.
#[expect(clippy::too_many_lines, reason = "a table: one row for each kind")]
fn sample(kind: &str) -> (About, Value) {
    let of = |n: u128| who(n).to_string();
    let account = "00000000-0000-0000-0000-000000000001";
    let place = json!([10.25, 20.5]);
    let bearing = json!({"bearing_deg": 135.0, "range_m": 250.0});
    let one = people(&[ANNA]).in_group(group(B), 1);
    let two = people(&[ANNA, BELA]).in_group(group(B), 1);
    let of_group = About::nobody().in_group(group(B), 1);
    let on_dive = About::nobody().on_dive(1);
    let nobody = About::nobody();
    let card = json!(card("Anna Berg", Activity::Diver));
    let detail = json!({"surfaced_at": "2026-06-01T09:38:00Z", "bar": 70.0,
        "greatest_depth_m": 17.5, "stop_done": true, "problem": "cold hands"});
    let reason = json!({"reason": "rough sea"});
    let overridden = json!({"override_reason": "weather"});
    let named = json!({"name": "Jo Quist"});
    let alert = json!({"alert": format!("group:{}", group(B)), "cause": "late"});
    match kind {
        "trip-opened" => (nobody, json!(opened(20))),
        "person-joined" | "person-changed" => (people(&[ANNA]), json!({"card": card})),
        "person-not-coming" => (people(&[EDDA]), reason),
        "dived-earlier" => (
            people(&[ANNA]),
            json!({"dives": [{"depth_m": 22.0, "minutes": 35.0, "oxygen": 0.32,
                "surfaced_at": "2026-06-01T07:40:00Z", "source": "Anna Berg"}]}),
        ),
        "dive-planned" => (on_dive, json!(planned())),
        "group-formed" => {
            let mut formed = formed("B", &[&[ANNA, BELA]], 18.0);
            formed.leader = Some(who(ANNA));
            formed.exit_zone = Some("North buoy".into());
            formed.entry_place = Some(payload(place));
            formed.limit_override = Some("Ilka Voss: guided".into());
            formed.mode = Mode::OneWay {
                course_deg: payload(json!(45.0)),
            };
            (of_group, json!(formed))
        }
        "group-stood-down" => (About::nobody().in_group(group(C), 1), reason),
        "head-counted" => (
            on_dive,
            json!({"point": "leaving", "call": 1, "round": 1,
            "method": "heads", "people": 4, "log_aboard": 4}),
        ),
        "roll-called" => (
            people(&[CARO]).on_dive(1),
            json!({"point": "leaving", "not_seen": [of(DINO)]}),
        ),
        "departed" | "left-site" | "trip-closed" => (nobody, overridden),
        "on-site" => (on_dive, json!({})),
        "conditions-observed" => (
            nobody,
            json!({"set_deg": 90.0, "drift_kn": 0.8,
            "wind_from_deg": 225.0, "wind_kn": 12.0, "visibility_m": 15.0, "sea": "slight",
            "water_c": 19.5}),
        ),
        "boat-positioned" => (nobody, json!({"position": place, "source": "instruments"})),
        "drop-checked" => (
            of_group,
            json!({"engine_neutral": true, "flag_shown": true, "lights": true}),
        ),
        "left-surface" => (two, json!({"window": WINDOW, "place": place})),
        "buoy-seen" => (
            of_group,
            json!({"colour": "orange", "place": place, "from_boat": bearing}),
        ),
        "at-surface" => (
            one,
            json!({"signal": "well", "place": place, "from_boat": bearing}),
        ),
        "others-well" | "lost-contact" => (of_group, json!({"said_by": of(ANNA)})),
        "aboard" => (
            one,
            json!({"vessel": {"kind": "other", "name": "Grey Heron"},
            "seen_by": "Mate Rolf", "detail": detail}),
        ),
        "return-noted" => (one, json!({"detail": detail})),
        "more-time" => (
            of_group,
            json!({"minutes": 5.0, "granted_before_min": 0.0, "reason": "slack"}),
        ),
        "recall-sounded" => (on_dive, json!({"signal": "engine revs"})),
        "person-missing" => (
            people(&[BELA]).in_group(group(B), 1),
            json!({"note": "last seen at the line"}),
        ),
        "person-found" => (
            people(&[BELA]).in_group(group(B), 1),
            json!({
            "vessel": {"kind": "shore", "place": "West beach"}, "seen_by": "Warden Pell", "place": place}),
        ),
        "emergency-declared" => (
            people(&[BELA]),
            json!({"reason": "diver lost", "datum": place}),
        ),
        "emergency-step" => (
            nobody,
            json!({"step": 0, "text": "Sound the recall", "note": "twice"}),
        ),
        "emergency-ended" => (nobody, json!({"reason": "found well"})),
        "alert-acknowledged" | "alert-silenced" => (nobody, alert),
        "lookout-posted" | "lookout-relieved" => (nobody, named),
        "command-handed-over" => (nobody, json!({"to": account, "name": "Ilka Voss"})),
        "command-accepted" | "back-in-harbour" => (nobody, json!({})),
        "pickup-arranged" => (
            nobody,
            json!({"fixed": ["b"], "under_way": "b", "reason": "squall"}),
        ),
        "incident-noted" => (people(&[ANNA]), json!({"text": "cut on the ladder"})),
        "voided" => (
            one,
            json!({"of": "00000000-0000-0000-0000-0000000f4240", "reason": "wrong face"}),
        ),
        "beacon-heard" => (
            nobody,
            json!({"identity": "972123456", "sort": "person", "place": place,
                "place_is_last": true, "test": false, "text": "MOB ACTIVE"}),
        ),
        "beacon-dismissed" => (
            nobody,
            json!({"identity": "972123456", "reason": "neighbour's drill"}),
        ),
        "report-signed" => (
            nobody,
            json!({"over": {"entry": 40, "chain": "0a".repeat(32), "digest": "0b".repeat(32)}}),
        ),
        "record-sealed" => (
            nobody,
            json!({"over": {"entry": 41, "chain": "0a".repeat(32), "digest": "0b".repeat(32)},
                "signatures": [account, "00000000-0000-0000-0000-000000000002"]}),
        ),
        "condition-answered" => (
            nobody,
            json!({"condition": {"own": "Tender fuelled"}, "answer": "no-go", "note": "empty"}),
        ),
        "trip-decided" => (
            nobody,
            json!({"go": true, "not_go": ["weather", {"own": "Tender fuelled"}],
                "reason": "calm until noon"}),
        ),
        "waiting-joined" => (
            nobody,
            json!({"person": of(0xABC), "card": card, "wish": "with Bela"}),
        ),
        "waiting-left" => (
            nobody,
            json!({"person": of(0xABC), "reason": "found another boat"}),
        ),
        "sheet-printed" => (on_dive, json!({"sheet": "briefings"})),
        "forecast-noted" => (
            nobody,
            json!({"of": "tide", "text": "high water 06:20, springs", "source": "harbour office"}),
        ),
        other => panic!("a new kind, {other}: give it a sample and a fixture"),
    }
}

#[test]
#[ignore = "writes the fixtures that are missing"]
fn write_missing() {
    for (kind, seq) in Fact::KINDS.iter().zip(1_u64..) {
        let path = folder().join(format!("{kind}.json"));
        if path.exists() {
            continue;
        }
        let (about, payload) = sample(kind);
        let value = json!({
            "id": uuid::Uuid::from_u128(5_000_000 + u128::from(seq)), "trip": trip(), "kind": kind,
            "v": 1, "payload": payload, "about": about,
            "device": uuid::Uuid::from_u128(1), "device_seq": seq,
            "knows": {uuid::Uuid::from_u128(2).to_string(): 3},
            "by": {"crew": uuid::Uuid::from_u128(1), "name": "Ilka Voss", "role": "skipper"},
            "at": "2026-06-01T09:32:00Z", "app": "0.1.0",
        });
        let (_, content) = read(value.to_string().as_bytes()).unwrap();
        let frozen = json!({"sha256": hex(content.hash), "event": value});
        fs::create_dir_all(folder()).unwrap();
        fs::write(
            path,
            format!("{}\n", serde_json::to_string_pretty(&frozen).unwrap()),
        )
        .unwrap();
    }
}

#[test]
fn every_kind_has_a_frozen_event_that_reads_writes_and_hashes_as_ever() {
    let mut log = Vec::new();
    for kind in Fact::KINDS {
        let text = fs::read(folder().join(format!("{kind}.json")))
            .unwrap_or_else(|cause| panic!("{kind} has no frozen event: {cause}"));
        let frozen: Value = serde_json::from_slice(&text).unwrap();
        let event = frozen["event"].to_string();
        let (event, content) = read(event.as_bytes()).unwrap_or_else(|f| panic!("{kind}: {f}"));
        assert_eq!(event.fact.kind(), *kind);
        assert!(
            !matches!(event.fact, Fact::Unread(_)),
            "{kind} reads as itself"
        );
        assert_eq!(hex(content.hash), frozen["sha256"], "{kind}");
        assert_eq!(event.content(), content, "{kind} is written as it was read");
        let receipt = Receipt {
            entry: log.len() as u64 + 1,
            recorded_at: event.at,
            wall_age_ms: None,
            mono_age_ms: None,
        };
        log.push(Entry::new(event, receipt));
    }
    let state = fold(trip(), &log);
    let expected = [
        (ANNA, Place::OtherVessel),
        (BELA, Place::Landed),
        (CARO, Place::Aboard),
        (DINO, Place::Unresolved),
        (EDDA, Place::Ashore),
    ];
    let expected: BTreeMap<_, _> = expected.map(|(n, place)| (who(n), place)).into();
    assert_eq!(places(&state), expected);
    // The skipper closed it over Dino with a stated reason, knowing that he was not seen.
    assert_eq!((state.phase, state.reopened), (Phase::Closed, false));
    assert_eq!(
        state.groups[&group(B)]
            .drop
            .as_ref()
            .map(|d| d.deadlines().overdue),
        Some(clock("10:27")),
        "five minutes granted"
    );
}

#[test]
fn no_fixture_stands_for_a_kind_that_cannot_be_read() {
    for file in fs::read_dir(folder()).unwrap() {
        let name = file.unwrap().file_name().into_string().unwrap();
        let kind = name.trim_end_matches(".json").to_owned();
        assert!(Fact::KINDS.contains(&kind.as_str()), "{name}");
    }
}
