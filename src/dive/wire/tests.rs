use serde_json::{Value, json};

use super::{dive_plan, no_stop_limits};
use crate::units::Faults;

fn plan(change: impl FnOnce(&mut Value)) -> Result<Value, Faults> {
    let mut document = json!({
        "gas": {"oxygen": 0.21},
        "levels": [{"depth_m": 18, "minutes": 40}],
        "divers": [{"id": "Tam", "cylinder_l": 12, "start_bar": 200}],
    });
    change(&mut document);
    dive_plan(document.to_string().as_bytes())
}

fn paths(answer: Result<Value, Faults>) -> Vec<String> {
    answer
        .unwrap_err()
        .into_iter()
        .map(|fault| fault.path)
        .collect()
}

/// By hand: 18 m for 40 min: 1 min down at 9 m, 39 min at 18 m, 13/9 min up to 5 m through
/// 11.5 m, 3 min at 5 m, 1 min up through 2.5 m.
#[test]
fn a_plain_dive_is_answered_whole() {
    let answer = plan(|_| ()).unwrap();
    let number = |pointer: &str| answer.pointer(pointer).and_then(Value::as_f64).unwrap();
    let run = 40.0 + 13.0 / 9.0 + 3.0 + 1.0;
    assert!((number("/run_time_min") - run).abs() < 1e-9);
    let ambient = |depth: f64| 1.013_25 + 0.100_518_162_5 * depth;
    let used = 20.0
        * (ambient(9.0)
            + 39.0 * ambient(18.0)
            + 13.0 / 9.0 * ambient(11.5)
            + 3.0 * ambient(5.0)
            + ambient(2.5));
    assert!((number("/divers/0/used_l") - used).abs() < 1e-9);
    assert!((number("/divers/0/end_bar") - (200.0 - used / 12.0)).abs() < 1e-9);
    assert_eq!(answer["divers"][0]["enough"], json!(false), "{answer}");
    assert_eq!(answer["findings"][0]["severity"], json!("limit"));
    assert_eq!(answer["findings"][0]["field"], json!("divers[0].start_bar"));
    assert_eq!(
        answer["stops"],
        json!([{"depth_m": 5.0, "minutes": 3.0, "required": false}])
    );
    assert!((number("/window_min/expected") - run).abs() < 1e-4);
}

#[test]
fn every_bad_figure_is_refused_by_its_field() {
    let with = |pointer: &'static str, value: Value| {
        plan(move |document| *document.pointer_mut(pointer).unwrap() = value)
    };
    for (pointer, value, path) in [
        ("/levels/0/depth_m", json!(0), "levels[0].depth_m"),
        ("/levels/0/depth_m", json!(500), "levels[0].depth_m"),
        ("/levels/0/depth_m", json!("NaN"), "levels[0].depth_m"),
        ("/levels/0/minutes", json!(-5), "levels[0].minutes"),
        ("/levels", json!([]), "levels"),
        ("/gas/oxygen", json!(0.10), "gas.oxygen"),
        ("/gas/oxygen", json!(1.2), "gas.oxygen"),
        ("/gas", json!({"oxygen": 0.5, "helium": 0.6}), "gas.helium"),
        ("/divers/0/cylinder_l", json!(0), "divers[0].cylinder_l"),
        ("/divers/0/start_bar", json!(40), "divers[0].start_bar"),
    ] {
        assert_eq!(
            paths(with(pointer, value.clone())),
            [path],
            "{pointer} {value}"
        );
    }
    let many = vec![json!({"depth_m": 10, "minutes": 5}); 200];
    assert_eq!(paths(with("/levels", json!(many))), ["levels"]);
    let earlier = json!([{"gas": {"oxygen": 0.21}, "levels": [{"depth_m": 20, "minutes": 30}],
        "interval_min": -1}]);
    let answer = plan(|document| document["earlier_dives"] = earlier);
    assert_eq!(paths(answer), ["earlier_dives[0].interval_min"]);
    let unknown = plan(|document| document["levels"][0]["colour"] = json!("blue"));
    assert_eq!(paths(unknown), ["levels[0].colour"]);
    let twice = plan(|document| {
        let tam = document["divers"][0].clone();
        document["divers"] = json!([tam, tam]);
    });
    assert_eq!(paths(twice), ["divers[1].id"]);
    let factors = plan(|document| document["gradient_factors"] = json!({"low": 0.9, "high": 0.5}));
    assert_eq!(paths(factors), ["gradient_factors.low"]);
    let short = plan(|document| {
        document["earlier_dives"] = json!([{"gas": {"oxygen": 0.21},
            "levels": [{"depth_m": 40, "minutes": 1}], "interval_min": 60}]);
    });
    assert_eq!(paths(short), ["earlier_dives[0].levels[0].minutes"]);
}

#[test]
fn a_gas_that_cannot_be_breathed_is_marked_and_not_refused() {
    let fields = |oxygen: f64, depth_m: f64| -> Vec<(String, String)> {
        let answer = plan(|document| {
            document["gas"]["oxygen"] = json!(oxygen);
            document["levels"] = json!([{"depth_m": depth_m, "minutes": 10}]);
        })
        .unwrap();
        let findings = answer["findings"].as_array().unwrap();
        findings
            .iter()
            .map(|one| {
                let text = |name: &str| one[name].as_str().unwrap().to_owned();
                (text("severity"), text("field"))
            })
            .collect()
    };
    let has = |found: &[(String, String)], field: &str| {
        found
            .iter()
            .any(|(severity, at)| severity == "limit" && at == field)
    };
    assert!(
        has(&fields(0.16, 18.0), "gas.oxygen"),
        "hypoxic at the surface"
    );
    assert!(
        has(&fields(0.36, 35.0), "levels[0].depth_m"),
        "past 1.6 bar"
    );
    assert!(
        has(&fields(0.32, 35.0), "levels[0].depth_m"),
        "past 1.4 bar"
    );
    assert!(
        !has(&fields(0.32, 33.0), "levels[0].depth_m"),
        "within 1.4 bar"
    );
}

#[test]
fn limits_fall_with_depth_and_end_shallow() {
    let answer = no_stop_limits(
        json!({"gas": {"oxygen": 0.21}, "depths_m": [5, 18, 30, 40]})
            .to_string()
            .as_bytes(),
    )
    .unwrap();
    let minutes = |nth: usize| answer["limits"][nth]["minutes"].as_f64();
    assert_eq!(minutes(0), None, "ten hours at 5 m");
    assert!(minutes(1) > minutes(2) && minutes(2) > minutes(3));
    let faults = no_stop_limits(br#"{"gas": {"oxygen": 0.21}, "depths_m": [500]}"#);
    assert_eq!(paths(faults), ["depths_m[0]"]);
}
