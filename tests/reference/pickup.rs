//! Pickup orders with the best order and cost worked out elsewhere, by trying out all orders in
//! a separate program (`pickup/*.json`; computed, not published).
//!
//! That program takes the earth for a sphere of 6,371 km: laid on WGS 84 as so many metres east
//! and north, eight of its ten samples agree with ours to 0.005 %. Read as positions on WGS 84,
//! as they must be, they differ by up to 0.3 %; sample 003 by 2.2 %, because its cost hangs on
//! 1.7 seconds with somebody in distress, and 0.34 m of 801 m make 0.05 of them. For that
//! run the geodesic says what we say.
//!
//! Samples 005 and 009 are not the best their own rules permit: there are cheaper orders, and
//! the runs they rest on keep the stand-off and are as long as told, which is checked here with
//! the `geo` library. The other program seems to miss a way close round a corner.

use deckwatch::sea::position::{LocalPlane, Metres, Position};
use deckwatch::trip::pickup;
use geo::{Coord, Distance as _, Euclidean, Line, LineString, Polygon};
use serde_json::{Value, json};

/// Radius of the sphere that stands for the earth in the separate program, metres.
const SPHERE_M: f64 = 6_371_000.0;
/// The other program rounds corners of a buffer otherwise.
const PART: f64 = 0.005;
const NOT_BEST: [&str; 2] = ["005.json", "009.json"];
const HANGS_ON_DISTRESS: &str = "003.json";

fn samples() -> Vec<(String, Value)> {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/pickup");
    let mut samples: Vec<(String, Value)> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| {
            let path = entry.unwrap().path();
            let sample = serde_json::from_slice(&std::fs::read(&path).unwrap()).unwrap();
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            (name, sample)
        })
        .collect();
    samples.sort_by(|a, b| a.0.cmp(&b.0));
    assert_eq!(samples.len(), 10);
    samples
}

fn boat_of(instance: &Value) -> Position {
    serde_json::from_value(instance["boat"]["position"].clone()).unwrap()
}

/// The same figures in metres laid on WGS 84: every position where it is as far east and north
/// of the boat as it is on the sphere.
fn laid_on_wgs84(value: &mut Value, boat: Position, plane: &LocalPlane) {
    match value {
        Value::Array(list) if list.len() == 2 && list.iter().all(Value::is_f64) => {
            let (lon, lat) = (list[0].as_f64().unwrap(), list[1].as_f64().unwrap());
            let at = Metres::new(
                (lon - boat.lon_deg()).to_radians() * SPHERE_M * boat.lat_deg().to_radians().cos(),
                (lat - boat.lat_deg()).to_radians() * SPHERE_M,
            );
            *value = json!(plane.position(at));
        }
        Value::Array(list) => list.iter_mut().for_each(|v| laid_on_wgs84(v, boat, plane)),
        Value::Object(map) => map.values_mut().for_each(|v| laid_on_wgs84(v, boat, plane)),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}

fn ids(list: &Value) -> Vec<String> {
    let list = list.as_array().unwrap();
    list.iter()
        .map(|row| row.get("id").unwrap_or(row).as_str().unwrap().to_owned())
        .collect()
}

fn finish_s(instance: &Value, answer: &Value) -> f64 {
    let at = |value: &Value| value.as_str().unwrap().parse::<jiff::Timestamp>().unwrap();
    let last = answer["order"].as_array().unwrap().last().unwrap();
    at(&last["end_at"])
        .duration_since(at(&instance["now"]))
        .as_secs_f64()
}

#[test]
fn all_samples_reach_their_best_cost() {
    for (name, sample) in samples() {
        let best = sample["best_cost"].as_f64().unwrap();
        let boat = boat_of(&sample["instance"]);
        let mut laid = sample["instance"].clone();
        laid_on_wgs84(&mut laid, boat, &LocalPlane::round(boat));
        for (instance, part) in [(&laid, 5e-5), (&sample["instance"], PART)] {
            let answer = pickup::answer(instance.to_string().as_bytes()).unwrap();
            let cost = answer["cost"].as_f64().unwrap();
            assert_eq!(answer["proven"], true, "{name}");
            let off = (cost / best - 1.0).abs();
            if NOT_BEST.contains(&name.as_str()) {
                assert!(cost < 0.8 * best, "{name}: {cost} for {best}");
            } else if name == HANGS_ON_DISTRESS && part > 1e-3 {
                assert!(off < 0.03, "{name}: {cost} for {best}");
            } else {
                assert!(off < part, "{name}: {cost} for {best}");
                let told = finish_s(instance, &answer) / sample["finish_s"].as_f64().unwrap();
                assert!((told - 1.0).abs() < PART, "{name}: finish");
                if part < 1e-3 {
                    assert_eq!(ids(&answer["order"]), ids(&sample["best_order"]), "{name}");
                }
            }
        }
    }
}

/// The runs of the samples that we undercut are real: they keep the stand-off from the areas as
/// `geo` measures it, are as long as their legs, and are covered in the time told.
#[test]
fn the_runs_of_cheaper_orders_keep_clear() {
    for (name, sample) in samples() {
        let instance = pickup::read(sample["instance"].to_string().as_bytes()).unwrap();
        let answer = pickup::solve(&instance);
        let plane = LocalPlane::round(boat_of(&sample["instance"]));
        let coord = |at: Position| {
            let at = plane.metres(at);
            Coord {
                x: at.east,
                y: at.north,
            }
        };
        let areas: Vec<Polygon> = instance
            .keep_clear
            .iter()
            .map(|area| {
                let outline = area.rings()[0].iter().map(|&at| coord(at)).collect();
                Polygon::new(LineString::new(outline), Vec::new())
            })
            .collect();
        for row in &answer.order {
            let mut run_m = 0.0;
            for leg in row.way.windows(2) {
                let leg = Line::new(coord(leg[0]), coord(leg[1]));
                run_m += Euclidean.distance(leg.start, leg.end);
                for area in &areas {
                    let off = Euclidean.distance(&leg, area);
                    assert!(
                        off >= instance.stand_off_m - 1e-3,
                        "{name} {}: {off}",
                        row.id
                    );
                }
            }
            assert!((run_m - row.run_m).abs() < 1e-3, "{name} {}", row.id);
            let time_s = row.arrive_at.duration_since(row.depart_at).as_secs_f64();
            let speed = instance.boat.speed_kn * 1852.0 / 3600.0;
            assert!(run_m <= speed * (time_s + 0.002), "{name} {}", row.id);
        }
    }
}
