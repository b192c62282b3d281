use proptest::prelude::*;
use serde_json::{Value, json};

use super::*;

const METRE: f64 = 1.0 / 111_000.0;

fn at(east: f64, north: f64) -> Value {
    json!([57.0 + east * METRE, -8.0 + north * METRE])
}

fn document(groups: &[Value]) -> Value {
    json!({
        "now": "2026-06-01T10:00:00Z",
        "boat": {"position": at(0.0, 0.0), "speed_kn": 6.0, "boarding_s_per_person": 120, "approach_s": 120},
        "water": {"set_deg": 90.0, "drift_kn": 0.5},
        "keep_clear": [],
        "stand_off_m": 50,
        "groups": groups,
    })
}

fn group(id: &str, east: f64, north: f64) -> Value {
    json!({"id": id, "people": 2, "position": at(east, north), "position_at": "2026-06-01T10:00:00Z",
        "expected_at": "2026-06-01T09:58:00Z", "surfaced_at": "2026-06-01T09:58:00Z"})
}

fn square(east: f64, north: f64, half: f64) -> Value {
    json!([[
        at(east - half, north - half),
        at(east + half, north - half),
        at(east + half, north + half),
        at(east - half, north + half),
        at(east - half, north - half),
    ]])
}

fn solved(document: &Value) -> Answer {
    solve(&read(document.to_string().as_bytes()).unwrap())
}

fn ids(answer: &Answer) -> Vec<&str> {
    answer.order.iter().map(|row| row.id.as_str()).collect()
}

#[test]
fn no_groups_make_an_empty_order() {
    let answer = answer(document(&[]).to_string().as_bytes()).unwrap();
    assert_eq!(
        answer,
        json!({"order": [], "unreachable": [], "cost": 0.0, "proven": true, "gap": 0.0})
    );
}

/// By hand: still water, 308.667 m at 3.0867 m/s are 100 s; two people wait from 120 s before.
#[test]
fn one_group_costs_what_it_waits() {
    let mut document = document(&[]);
    document["water"]["drift_kn"] = json!(0.0);
    let plane =
        crate::sea::position::LocalPlane::round(Position::from_degrees(57.0, -8.0).unwrap());
    let north = crate::sea::position::Metres::new(0.0, 100.0 * 6.0 * 1852.0 / 3600.0);
    let mut one = group("A", 0.0, 0.0);
    one["position"] = json!(plane.position(north));
    document["groups"] = json!([one]);
    let answer = solved(&document);
    assert!(
        (answer.cost - 2.0 * 220.0 / 60.0).abs() < 1e-6,
        "{}",
        answer.cost
    );
    let row = &answer.order[0];
    assert_eq!(row.arrive_at.to_string(), "2026-06-01T10:01:40Z");
    assert_eq!(row.end_at.to_string(), "2026-06-01T10:07:40Z");
    assert!(row.course_deg.unwrap() < 0.001 && (row.run_m - 308.667).abs() < 0.001);
    assert_eq!((row.stand_off_m, row.stand_off_min), (None, None));
    assert!(row.warnings.is_empty() && row.why == Why::Last);
}

/// By hand: in a stream of 0.257 m/s from the west a group 300 m east goes away from a boat of
/// 3.087 m/s: 300 / (3.0867 - 0.2572) = 106.0 s.
#[test]
fn a_drifting_group_is_met_where_it_will_be() {
    let document = document(&[group("A", 300.0, 0.0)]);
    let answer = solved(&document);
    let row = &answer.order[0];
    let (v, u) = (6.0 * 1852.0 / 3600.0, 0.5 * 1852.0 / 3600.0);
    let run_s = row.arrive_at.duration_since(row.depart_at).as_secs_f64();
    assert!((run_s - row.run_m / v).abs() < 0.002);
    assert!((run_s - 300.0 / (v - u)).abs() < 1.0, "{run_s}");
}

#[test]
fn distress_comes_before_all_who_are_not() {
    let mut far = group("far", 2_000.0, 0.0);
    far["urgency"] = json!("distress");
    let answer = solved(&document(&[group("near", 100.0, 0.0), far]));
    assert_eq!(ids(&answer), ["far", "near"]);
    assert_eq!(answer.order[0].why, Why::Distress);
}

#[test]
fn what_is_under_way_or_fixed_keeps_its_place() {
    let mut hurt = group("hurt", 400.0, 0.0);
    hurt["urgency"] = json!("distress");
    let mut document = document(&[
        group("a", 100.0, 0.0),
        group("b", 900.0, 0.0),
        group("c", -900.0, 0.0),
        hurt,
    ]);
    document["under_way"] = json!("b");
    document["fixed"] = json!(["c"]);
    let answer = solved(&document);
    assert_eq!(ids(&answer), ["b", "c", "hurt", "a"]);
    assert_eq!(answer.order[0].why, Why::UnderWay);
    assert_eq!(answer.order[1].why, Why::Fixed);
}

/// A boat slower than the drift reaches what comes towards it, and tells what it cannot.
#[test]
fn a_boat_slower_than_the_drift_tells_whom_it_cannot_reach() {
    let mut document = document(&[group("up", -800.0, 0.0), group("down", 800.0, 0.0)]);
    document["boat"]["speed_kn"] = json!(1.0);
    document["water"]["drift_kn"] = json!(2.0);
    let answer = solved(&document);
    assert_eq!(ids(&answer), ["up"]);
    assert_eq!(
        answer.unreachable,
        [("down".to_owned(), Unreachable::OutrunByDrift)]
    );
    assert!(answer.proven);
}

#[test]
fn a_group_closed_in_is_told() {
    let mut ring = square(600.0, 0.0, 300.0);
    ring.as_array_mut()
        .unwrap()
        .push(square(600.0, 0.0, 200.0)[0].clone());
    let mut inside = group("lagoon", 600.0, 0.0);
    inside["drifts"] = json!(false);
    let mut document = document(&[inside, group("open", -300.0, 0.0)]);
    document["keep_clear"] = json!([ring]);
    let answer = solved(&document);
    assert_eq!(ids(&answer), ["open"]);
    assert_eq!(
        answer.unreachable,
        [("lagoon".to_owned(), Unreachable::ClosedIn)]
    );
}

/// By hand: 20 m off a square with 50 m to keep, at rest: a swim of 30 m at 0.3 m/s is 100 s from
/// when they came up, 120 s before now: done before the boat is there.
#[test]
fn a_group_in_a_buffer_swims_out_while_the_boat_comes() {
    let mut late = group("late", 380.0, 0.0);
    late["drifts"] = json!(false);
    late["expected_at"] = json!("2026-06-01T10:20:00Z");
    late["surfaced_at"] = Value::Null;
    let mut document = document(&[late]);
    document["keep_clear"] = json!([square(500.0, 0.0, 100.0)]);
    let answer = solved(&document);
    let row = &answer.order[0];
    assert!((row.run_m - 350.0).abs() < 3.0, "{}", row.run_m);
    let from_up = row
        .start_at
        .duration_since("2026-06-01T10:20:00Z".parse().unwrap());
    assert!((from_up.as_secs_f64() - 100.0).abs() < 3.0, "{from_up}");
    assert!((row.stand_off_m.unwrap() - 50.0).abs() < 0.1);
    assert!(row.warnings.contains(&Warning::NotSeen));
}

#[test]
fn dangers_stand_beside_the_row() {
    let mut below = group("below", 200.0, 30.0);
    below["surfaced_at"] = Value::Null;
    below["expected_at"] = json!("2026-06-01T10:40:00Z");
    below["position_at"] = json!("2026-06-01T10:40:00Z");
    let mut document = document(&[group("seen", 400.0, 0.0), below]);
    document["water"]["drift_kn"] = json!(1.0);
    document["keep_clear"] = json!([square(560.0, 0.0, 100.0)]);
    document["wind"] = json!({"from_deg": 270, "speed_kn": 10});
    document["fixed"] = json!(["seen"]);
    let answer = solved(&document);
    let row = &answer.order[0];
    let told = |wanted: &str| {
        row.warnings
            .iter()
            .any(|w| w.to_string().starts_with(wanted))
    };
    for wanted in [
        "stand-off below minimum",
        "groups still down within 100 m of the run (below): slow, lookout",
        "cannot swim clear",
    ] {
        assert!(told(wanted), "{wanted}: {:?}", row.warnings);
    }
    assert!(row.stand_off_min.is_some());
    let advice = row.advice.to_string();
    assert!(
        advice.contains("towards 090°") && advice.contains("not set"),
        "{advice}"
    );
}

/// The largest input permitted is answered, with a gap that a better order cannot exceed.
#[test]
fn many_groups_get_a_good_order_and_its_gap() {
    let groups: Vec<Value> = (0..20)
        .map(|n| {
            let turn = f64::from(n) * 2.4;
            let far = 100.0 + 40.0 * f64::from(n);
            group(&format!("G{n}"), far * turn.cos(), far * turn.sin())
        })
        .collect();
    let answer = solved(&document(&groups));
    assert_eq!(answer.order.len(), 20);
    assert!(
        !answer.proven && answer.gap > 0.0 && answer.gap < 0.6,
        "{}",
        answer.gap
    );
}

#[test]
fn every_fault_is_told_with_its_path() {
    let sound = document(&[group("A", 100.0, 0.0), group("B", 200.0, 0.0)]);
    let table: &[(&str, Value, &str)] = &[
        ("/now", json!("2026-06-01T10:00:00"), "now"),
        ("/now", json!(null), "now"),
        ("/boat/speed_kn", json!(0), "boat.speed_kn"),
        ("/boat/speed_kn", json!(-3), "boat.speed_kn"),
        ("/boat/speed_kn", json!("six"), "boat.speed_kn"),
        ("/boat/position", json!([57.0]), "boat.position"),
        ("/boat/position", json!([57.0, 99.0]), "boat.position[1]"),
        ("/boat/approach_s", json!(-1), "boat.approach_s"),
        (
            "/boat/boarding_s_per_person",
            json!(1e9),
            "boat.boarding_s_per_person",
        ),
        ("/boat/colour", json!("red"), "boat.colour"),
        ("/water/set_deg", json!(400), "water.set_deg"),
        ("/water/drift_kn", json!(-0.1), "water.drift_kn"),
        ("/wind", json!({"from_deg": 10}), "wind.speed_kn"),
        ("/stand_off_m", json!(-5), "stand_off_m"),
        (
            "/keep_clear",
            json!([[[[57.0, -8.0], [57.001, -8.0], [57.0, -8.0]]]]),
            "keep_clear[0][0]",
        ),
        ("/keep_clear", json!({}), "keep_clear"),
        ("/groups/0/people", json!(0), "groups[0].people"),
        ("/groups/0/people", json!(1.5), "groups[0].people"),
        ("/groups/1/id", json!("A"), "groups[1].id"),
        ("/groups/1/id", json!(""), "groups[1].id"),
        ("/groups/1/urgency", json!("soon"), "groups[1].urgency"),
        ("/groups/1/drifts", json!("yes"), "groups[1].drifts"),
        (
            "/groups/1/position",
            json!([58.0, -8.0]),
            "groups[1].position",
        ),
        (
            "/groups/1/position_at",
            json!("2027-06-01T10:00:00Z"),
            "groups[1].position_at",
        ),
        (
            "/groups/1/surfaced_at",
            json!("noon"),
            "groups[1].surfaced_at",
        ),
        ("/under_way", json!("C"), "under_way"),
        ("/fixed", json!(["A", "A"]), "fixed[1]"),
        ("/fixed", json!(["A", "Z"]), "fixed[1]"),
        ("/speed", json!(1), "speed"),
    ];
    for (place, value, path) in table {
        let mut document = sound.clone();
        let (parent, name) = place.rsplit_once('/').unwrap();
        document.pointer_mut(parent).unwrap()[name] = value.clone();
        let faults = answer(document.to_string().as_bytes()).unwrap_err();
        assert!(
            faults.iter().any(|fault| fault.path == *path),
            "{place} {value}: {faults}"
        );
    }
    for text in ["", "[]", "{", "{\"now\": NaN}", "null"] {
        assert!(answer(text.as_bytes()).is_err(), "{text}");
    }
    assert!(answer(sound.to_string().as_bytes()).is_ok());
}

fn any_group() -> impl Strategy<Value = Value> {
    (
        (-600.0..600.0, -600.0..600.0, 1_u32..6),
        (-5_i64..20, prop::bool::weighted(0.7), prop::sample::select(vec!["routine", "prompt", "routine", "distress"])),
    )
        .prop_map(|((east, north, people), (minutes, drifts, urgency))| {
            let now: Timestamp = "2026-06-01T10:00:00Z".parse().unwrap();
            let up = now + SignedDuration::from_mins(minutes);
            let mut group = json!({"people": people, "position": at(east, north), "position_at": up.max(now),
                "expected_at": up, "drifts": drifts, "urgency": urgency});
            if minutes < 0 {
                group["surfaced_at"] = json!(up);
            }
            group
        })
}

fn any_document() -> impl Strategy<Value = Value> {
    (
        prop::collection::vec(any_group(), 1..7),
        (-300.0..300.0, -300.0..300.0, 40.0..180.0),
        0.0..1.4,
        0.0..360.0,
    )
        .prop_map(|(groups, (east, north, half), drift, set)| {
            let groups: Vec<Value> = groups
                .into_iter()
                .enumerate()
                .map(|(nth, mut group)| {
                    group["id"] = json!(format!("G{nth}"));
                    group
                })
                .collect();
            let mut document = document(&groups);
            document["keep_clear"] = json!([square(east, north, half)]);
            document["water"] = json!({"set_deg": set, "drift_kn": drift});
            document
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn the_order_in_which_groups_are_listed_does_not_matter(document in any_document(), turn in 0_usize..6) {
        let answer = solved(&document);
        let mut other = document.clone();
        let groups = other["groups"].as_array_mut().unwrap();
        let turn = turn % groups.len();
        groups.rotate_left(turn);
        groups.reverse();
        let again = solved(&other);
        prop_assert!((answer.cost - again.cost).abs() <= 1e-6 * answer.cost.abs().max(1.0), "{} {}", answer.cost, again.cost);
        prop_assert!(answer.proven && again.proven);
    }

    #[test]
    fn rows_follow_one_another_and_distress_leads(document in any_document()) {
        let answer = solved(&document);
        let instance = read(document.to_string().as_bytes()).unwrap();
        prop_assert_eq!(answer.order.len() + answer.unreachable.len(), instance.groups.len());
        let mut before = instance.now;
        let mut calm = false;
        for row in &answer.order {
            prop_assert!(row.depart_at == before && row.depart_at <= row.arrive_at);
            prop_assert!(row.arrive_at <= row.start_at && row.start_at <= row.end_at);
            let group = instance.groups.iter().find(|group| group.id == row.id).unwrap();
            let up = group.surfaced_at.unwrap_or(group.expected_at);
            prop_assert!(row.start_at >= up);
            prop_assert!(row.stand_off_m.unwrap() >= instance.stand_off_m - 1e-3);
            prop_assert!(!(calm && group.urgency == Urgency::Distress));
            calm |= group.urgency != Urgency::Distress;
            before = row.end_at;
        }
    }

    /// No order that the skipper might fix instead is cheaper.
    #[test]
    fn no_fixed_order_beats_the_best(document in any_document(), shuffle in any::<prop::sample::Index>()) {
        let best = solved(&document);
        let mut ids: Vec<String> = best.order.iter().map(|row| row.id.clone()).collect();
        if ids.len() < 2 || !best.unreachable.is_empty() {
            return Ok(());
        }
        let distress = |id: &str| {
            let groups = document["groups"].as_array().unwrap();
            groups.iter().any(|group| group["id"] == id && group["urgency"] == "distress")
        };
        let from = shuffle.index(ids.len());
        let moved = ids.remove(from);
        ids.insert(shuffle.index(7) % (ids.len() + 1), moved);
        ids.sort_by_key(|id| !distress(id));
        let mut fixed = document.clone();
        fixed["fixed"] = json!(ids);
        let other = solved(&fixed);
        prop_assert!(!other.unreachable.is_empty() || other.cost >= best.cost - 1e-6 * best.cost.max(1.0), "{} {}", other.cost, best.cost);
    }
}
