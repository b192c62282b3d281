//! Computations over HTTP: the same answer to whoever asks, and every fault of a document named.

use serde_json::{Value, json};

use crate::app::App;

fn drift() -> Value {
    json!({
        "start": {"position": [-30.0, 45.0], "at": "2026-06-01T10:00:00Z"},
        "until": "2026-06-01T11:00:00Z",
        "stream": [{"at": "2026-06-01T10:00:00Z", "set_deg": 90, "drift_kn": 1.0}],
        "object": "water",
    })
}

fn stream() -> Value {
    json!({
        "table": [
            {"hour": 0, "set_deg": 20, "spring_kn": 2.0, "neap_kn": 1.0},
            {"hour": 1, "set_deg": 20, "spring_kn": 2.0, "neap_kn": 1.0}],
        "high_water": [{"at": "2026-06-01T10:00:00Z", "range_m": 4.0}],
        "spring_range_m": 4.0, "neap_range_m": 2.0, "at": "2026-06-01T10:30:00Z",
    })
}

fn daylight() -> Value {
    json!({"position": [0.0, 0.0], "date": "2026-03-20"})
}

fn dive_plan() -> Value {
    json!({
        "gas": {"oxygen": 0.32},
        "levels": [{"depth_m": 24, "minutes": 25}],
        "earlier_dives": [{"gas": {"oxygen": 0.32}, "levels": [{"depth_m": 28, "minutes": 20}],
            "interval_min": 75}],
        "divers": [{"id": "Noor", "cylinder_l": 12, "start_bar": 210}],
    })
}

fn pickup() -> Value {
    json!({
        "now": "2026-06-01T10:00:00Z",
        "boat": {"position": [-30.0, 45.0], "speed_kn": 6.0, "boarding_s_per_person": 60,
                 "approach_s": 120},
        "water": {"set_deg": 0, "drift_kn": 0},
        "keep_clear": [], "stand_off_m": 50,
        "groups": [{"id": "B", "people": 2, "position": [-30.0, 45.01],
                    "position_at": "2026-06-01T10:00:00Z",
                    "expected_at": "2026-06-01T10:00:00Z"}],
    })
}

#[tokio::test]
async fn each_answers_whoever_asks() {
    let app = App::new().await;
    let anybody = app.stranger();
    for (what, document, field) in [
        ("dive-plan", dive_plan(), "no_stop_limit_min"),
        ("no-stop-limits", json!({"gas": {"oxygen": 0.21}}), "limits"),
        ("drift", drift(), "track"),
        ("stream", stream(), "set_deg"),
        ("daylight", daylight(), "sunrise"),
        ("pickup-order", pickup(), "order"),
    ] {
        let answer = anybody
            .post_json(&format!("/api/compute/{what}"), &document)
            .await;
        assert!(
            answer.is(200).json().get(field).is_some(),
            "{}",
            answer.text()
        );
        assert_eq!(answer.header("content-type"), "application/json");
    }
    anybody
        .post_json("/api/compute/weather", &json!({}))
        .await
        .is(404);
}

/// One knot for an hour is one nautical mile: 1852 m (BIPM, SI brochure, table 8 of the eighth
/// edition).
#[tokio::test]
async fn a_knot_for_an_hour_is_a_nautical_mile() {
    let app = App::new().await;
    let answer = app
        .stranger()
        .post_json("/api/compute/drift", &drift())
        .await;
    let distance_m = answer.is(200).json()["distance_m"].as_f64().unwrap();
    assert!((distance_m - 1_852.0).abs() < 1.0, "{distance_m}");
}

/// Changes one field of a document by its path.
fn with(document: &Value, pointer: &str, value: Value) -> Value {
    let mut changed = document.clone();
    *changed.pointer_mut(pointer).unwrap() = value;
    changed
}

#[tokio::test]
async fn bad_plans_are_refused_with_the_field_named() {
    let app = App::new().await;
    for (what, document, path) in [
        (
            "dive-plan",
            with(&dive_plan(), "/gas", json!({"oxygen": 0.3, "odd": 1})),
            "gas.odd",
        ),
        (
            "dive-plan",
            with(&dive_plan(), "/levels/0/depth_m", json!(500)),
            "levels[0].depth_m",
        ),
        (
            "dive-plan",
            with(&dive_plan(), "/earlier_dives/0/interval_min", json!(-1)),
            "earlier_dives[0].interval_min",
        ),
        (
            "no-stop-limits",
            json!({"gas": {"oxygen": 1.2}}),
            "gas.oxygen",
        ),
    ] {
        let refused = app
            .stranger()
            .post_json(&format!("/api/compute/{what}"), &document)
            .await;
        let problem = refused.is(422).text();
        assert!(problem.contains(path), "{problem}");
    }
}

#[tokio::test]
async fn bad_documents_are_refused_with_the_field_named() {
    let app = App::new().await;
    let odd = |mut document: Value| {
        document["odd"] = json!(1);
        document
    };
    let cases = [
        ("drift", odd(drift()), "odd"),
        (
            "drift",
            with(&drift(), "/start/position", json!([200, 45])),
            "start.position[0]",
        ),
        (
            "drift",
            with(&drift(), "/stream/0/drift_kn", json!(-1)),
            "stream[0].drift_kn",
        ),
        (
            "drift",
            with(&drift(), "/stream/0/drift_kn", json!(1e300)),
            "stream[0].drift_kn",
        ),
        (
            "drift",
            with(&drift(), "/stream/0/set_deg", json!("90")),
            "stream[0].set_deg",
        ),
        ("drift", with(&drift(), "/object", json!("whale")), "object"),
        (
            "drift",
            with(&drift(), "/until", json!("2026-06-01T11:00:00")),
            "until",
        ),
        ("drift", json!({}), "start"),
        ("stream", odd(stream()), "odd"),
        (
            "stream",
            with(&stream(), "/table/0/hour", json!(7)),
            "table[0].hour",
        ),
        (
            "stream",
            with(&stream(), "/high_water", json!([])),
            "high_water",
        ),
        ("daylight", odd(daylight()), "odd"),
        (
            "daylight",
            with(&daylight(), "/date", json!("2026-02-30")),
            "date",
        ),
        (
            "daylight",
            with(&daylight(), "/position", json!([0.0, "x"])),
            "position[1]",
        ),
        ("pickup-order", odd(pickup()), "odd"),
        (
            "pickup-order",
            with(&pickup(), "/boat/speed_kn", json!(0)),
            "boat.speed_kn",
        ),
        (
            "pickup-order",
            with(&pickup(), "/boat/speed_kn", json!(null)),
            "boat.speed_kn",
        ),
        (
            "pickup-order",
            with(&pickup(), "/groups/0/people", json!(0)),
            "groups[0].people",
        ),
        (
            "pickup-order",
            with(&pickup(), "/groups/0/people", json!(1.5)),
            "groups[0].people",
        ),
        (
            "pickup-order",
            with(&pickup(), "/stand_off_m", json!(true)),
            "stand_off_m",
        ),
    ];
    for (what, document, path) in cases {
        let answer = app
            .stranger()
            .post_json(&format!("/api/compute/{what}"), &document)
            .await;
        let problem = answer.is(422).json();
        let faults = problem["faults"].as_array().unwrap();
        let starts = |fault: &Value| fault["path"].as_str().unwrap().starts_with(path);
        assert!(faults.iter().any(starts), "{what} {path}: {problem}");
    }
}

/// RFC 8259, section 6: not-a-number and infinity have no spelling.
#[tokio::test]
async fn what_is_not_a_number_is_not_json() {
    let app = App::new().await;
    for text in [
        r#"{"position": [NaN, 0], "date": "2026-03-20"}"#,
        r#"{"position": [Infinity, 0], "date": "2026-03-20"}"#,
        r#"{"position": [1e999, 0], "date": "2026-03-20"}"#,
        "",
        "\u{feff}{}",
        "[",
    ] {
        let answer = app
            .stranger()
            .post_text("/api/compute/daylight", text)
            .await;
        assert_eq!(answer.is(422).json()["faults"][0]["path"], "", "{text}");
    }
}
