//! Pickup orders with the best order and cost worked out elsewhere, by trying out all orders in
//! a separate program (`pickup/*.json`; computed, not published).

use deckwatch::sea::position::{LocalPlane, Metres, Position};
use deckwatch::trip::pickup;
use serde_json::{Value, json};

/// Radius of the sphere that stands for the earth in the separate program, metres.
const SPHERE_M: f64 = 6_371_000.0;

fn samples() -> Vec<(String, Value)> {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/pickup");
    let mut samples: Vec<(String, Value)> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| {
            let path = entry.unwrap().path();
            let sample = serde_json::from_slice(&std::fs::read(&path).unwrap()).unwrap();
            (
                path.file_name().unwrap().to_string_lossy().into_owned(),
                sample,
            )
        })
        .collect();
    samples.sort_by(|a, b| a.0.cmp(&b.0));
    assert_eq!(samples.len(), 10);
    samples
}

/// The same figures in metres laid on WGS 84: every position where it is as far east and north
/// of the boat as it is on the sphere.
fn laid_on_wgs84(value: &mut Value, boat: Position, plane: &LocalPlane) {
    match value {
        Value::Array(list) if list.len() == 2 && list.iter().all(Value::is_f64) => {
            let (lon, lat) = (list[0].as_f64().unwrap(), list[1].as_f64().unwrap());
            let place = Metres::new(
                (lon - boat.lon_deg()).to_radians() * SPHERE_M * boat.lat_deg().to_radians().cos(),
                (lat - boat.lat_deg()).to_radians() * SPHERE_M,
            );
            *value = json!(plane.position(place));
        }
        Value::Array(list) => list.iter_mut().for_each(|v| laid_on_wgs84(v, boat, plane)),
        Value::Object(map) => map.values_mut().for_each(|v| laid_on_wgs84(v, boat, plane)),
        _ => {}
    }
}

fn ids(list: &Value) -> Vec<String> {
    let list = list.as_array().unwrap();
    list.iter()
        .map(|row| row.get("id").unwrap_or(row).as_str().unwrap().to_owned())
        .collect()
}

#[test]
fn all_samples_reach_their_best_cost() {
    for (name, sample) in samples() {
        let best = sample["best_cost"].as_f64().unwrap();
        let boat: Position =
            serde_json::from_value(sample["instance"]["boat"]["position"].clone()).unwrap();
        let mut laid = sample["instance"].clone();
        laid_on_wgs84(&mut laid, boat, &LocalPlane::round(boat));
        for (how, instance) in [("sphere", &laid), ("WGS 84", &sample["instance"])] {
            let answer = pickup::answer(instance.to_string().as_bytes()).unwrap();
            let cost = answer["cost"].as_f64().unwrap();
            let off = (cost / best - 1.0) * 100.0;
            println!(
                "{name} {how}: {cost:.4} {best:.4} {off:+.4} % {:?} {:?}",
                ids(&answer["order"]),
                answer["proven"]
            );
        }
        println!("   {:?} {}", ids(&sample["best_order"]), sample["finish_s"]);
    }
}
#[test]
fn show() {
    for (name, fixed) in [
        ("005.json", ["B", "C", "A"].as_slice()),
        ("005.json", &["C", "B", "A"]),
        ("009.json", &["A", "B", "D", "C"]),
        ("009.json", &["A", "C", "D", "B"]),
    ] {
        let (_, sample) = samples().into_iter().find(|s| s.0 == name).unwrap();
        let boat: Position =
            serde_json::from_value(sample["instance"]["boat"]["position"].clone()).unwrap();
        let mut laid = sample["instance"].clone();
        laid_on_wgs84(&mut laid, boat, &LocalPlane::round(boat));
        laid["fixed"] = json!(fixed);
        let answer = pickup::answer(laid.to_string().as_bytes()).unwrap();
        println!("{name} {fixed:?} {}", answer["cost"]);
        for row in answer["order"].as_array().unwrap() {
            println!("ROW {}", row);
        }
    }
}
