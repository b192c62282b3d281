//! The picture as it travels: the pickup order by keys and figures, and how much a change weighs.

use deckwatch::trip::event::*;
use deckwatch::trip::forecast::pickup_order;
use deckwatch::trip::ground::Grounds;
use deckwatch::trip::picture::{patch, picture};
use serde_json::{Value, json};

use crate::scene::*;

const LETTERS: [&str; 12] = ["B", "C", "D", "E", "F", "G", "H", "J", "K", "L", "M", "N"];

/// Twelve groups of two, all drifting, all down since nine.
fn twelve_down() -> Scene {
    let mut s = Scene::opened();
    let persons: Vec<u128> = (1_000..1_024).collect();
    for n in &persons {
        let card = card(&format!("Diver {n}"), Activity::Diver);
        s.by(DESK)
            .says(people(&[*n]), Fact::PersonJoined(PersonJoined { card }));
    }
    s.by(DESK)
        .says(About::nobody().on_dive(1), Fact::DivePlanned(planned()));
    for ((pair, nth), letter) in persons.chunks(2).zip(0_u128..).zip(LETTERS) {
        let about = About::nobody().in_group(group(300 + nth), 1);
        s.by(DESK)
            .says(about, Fact::GroupFormed(formed(letter, &[pair], 18.0)));
    }
    s.until("08:00")
        .by(HELM)
        .roll(Point::Departure, &persons, &[]);
    s.by(HELM).says(
        About::nobody(),
        Fact::Departed(Departed {
            override_reason: None,
        }),
    );
    s.by(HELM)
        .says(About::nobody().on_dive(1), Fact::OnSite(OnSite {}));
    for ((pair, nth), minute) in persons.chunks(2).zip(0_u128..).zip(0..) {
        s.until(&format!("09:{minute:02}"))
            .by(DECK)
            .left_surface(300 + nth, 1, pair);
    }
    s.until("09:20").by(HELM).current(0.3);
    s
}

fn seen_at(s: &Scene, time: &str) -> Value {
    let state = s.state();
    let now = clock(time);
    let grounds = Grounds::of(&state, None);
    let order = pickup_order(&state, &grounds, now);
    picture(
        &state,
        &s.watch(time),
        &order,
        &grounds,
        s.log.len() as u64,
        "00",
    )
}

#[test]
fn a_pickup_row_says_why_and_what_to_beware_of_by_key() {
    let s = twelve_down();
    let told = seen_at(&s, "09:20");
    let pickup = &told["pickup"];
    assert_eq!(pickup["rows"].as_object().unwrap().len(), 12);
    // Set 090 at 0.3 kn, no wind: the hull goes with the water.
    assert_eq!(pickup["advice"]["hull_towards_deg"], 90);
    assert_eq!(pickup["advice"]["hull_kn"], 0.3);
    assert!(pickup["advice"]["wind_from_deg"].is_null());
    let mut last = 0;
    for (id, row) in pickup["rows"].as_object().unwrap() {
        assert_eq!(row["warnings"]["not-seen"], true, "{id}");
        let arrive_at: jiff::Timestamp = row["arrive_at"].as_str().unwrap().parse().unwrap();
        assert!(arrive_at >= clock("09:20"), "{id}");
        assert!(row["boarding_s"].as_i64().unwrap() > 0, "{id}");
        assert!(row["why"]["because"].is_string(), "{id}");
        if row["why"]["because"] == "last" {
            last += 1;
            assert_eq!(row["rank"], 12);
        } else {
            let next = row["why"]["next"].as_str().unwrap();
            assert_eq!(
                pickup["rows"][next]["rank"].as_u64(),
                row["rank"].as_u64().map(|rank| rank + 1),
                "{id} is told against the one after it"
            );
            assert!(row["why"]["swap_costs"].is_number(), "{id}");
        }
    }
    assert_eq!(last, 1);
}

#[test]
fn what_a_device_alone_raises_names_an_instant_of_its_group() {
    let told = seen_at(&twelve_down(), "09:20");
    let ahead = told["ahead"].as_object().unwrap();
    assert_eq!(ahead.len(), 12);
    for (key, names) in ahead {
        let group = &told["groups"][key.strip_prefix("group:").unwrap()];
        for cause in ["late", "overdue", "out-of-gas"] {
            let name = names[cause].as_str().unwrap();
            let instant = group.pointer(&format!("/{}", name.replace('.', "/")));
            let instant = instant.unwrap().as_str().unwrap();
            assert!(
                instant.parse::<jiff::Timestamp>().is_ok(),
                "{cause} {instant}"
            );
        }
        assert!(
            group
                .get(names["partner-overdue"].as_str().unwrap())
                .is_some()
        );
    }
}

#[test]
fn a_minute_that_passes_changes_no_reason_of_a_group() {
    let s = twelve_down();
    let later = patch(&seen_at(&s, "09:20"), &seen_at(&s, "09:21")).unwrap();
    assert!(later["groups"].is_null(), "{later}");
}

/// The heaviest change: a new current moves every group and every row. The budget is 4 KB.
#[test]
fn a_new_current_with_twelve_groups_down_weighs_less_than_four_kilobytes() {
    let before = seen_at(&twelve_down(), "09:20");
    for drift_kn in [0.31, 0.8, 1.9] {
        let mut s = twelve_down();
        s.until("09:21").by(HELM).current(drift_kn);
        let change = patch(&before, &seen_at(&s, "09:21")).unwrap();
        let rows = change["pickup"]["rows"].as_object().unwrap();
        assert_eq!(rows.len(), 12, "every row changed");
        let weight = change.to_string().len();
        assert!(weight <= 4_000, "{weight} bytes at {drift_kn} kn: {change}");
    }
}

/// Past their expected time and recalled, all twelve: what each owes by now changes by the minute.
#[test]
fn a_minute_with_twelve_groups_down_past_a_recall_weighs_less_than_four_kilobytes() {
    let mut s = twelve_down();
    s.until("09:25").by(HELM).recall();
    let before = seen_at(&s, "09:55");
    for group in before["groups"].as_object().unwrap().values() {
        assert_eq!(group["recalled"]["at"], clock("09:25").to_string());
        let up_at = group["recalled"]["up_at"].as_str().unwrap();
        assert!(up_at.ends_with(":00Z"), "to the whole minute: {up_at}");
        assert_eq!(group["recalled"]["safety"], json!([[5.0, 3.0]]));
        assert!(group["longer"]["takes_min"].as_i64().unwrap() >= 5);
    }
    // 54 minutes at 18 m are owed for; the pair that went in at nine went in first.
    let first = &before["groups"][group(300).to_string()]["longer"];
    assert!(first["owes"][0][1].as_f64().unwrap() > 0.0, "{first}");

    let after = seen_at(&s, "09:56");
    let change = patch(&before, &after).unwrap();
    let weight = change.to_string().len();
    assert!(weight <= 4_000, "{weight} bytes: {change}");
    for group in change["groups"].as_object().unwrap().values() {
        assert!(
            group["recalled"].is_null(),
            "since the recall nothing changed"
        );
    }
}

/// A plight that is over and unheard must not lie over another's that stands: the picture keeps
/// alerts by their key.
#[test]
fn what_held_of_one_diver_does_not_hide_what_holds_of_another_of_the_group() {
    let key = |word: &str| format!("{word}:{}", group(B));
    let mut s = Scene::four_down();
    s.until("09:10").by(HELM).missing(ANNA);
    s.until("09:12").by(DECK).seen(&[BELA], Signal::Help);
    s.until("09:14").by(DECK).aboard(ANNA);
    s.by(DECK).aboard(BELA);
    s.until("09:20").by(HELM).missing(CARO);
    s.by(DECK).seen(&[DINO], Signal::Help);
    for word in ["missing", "distress"] {
        let of_key = |time| {
            let mut alerts = s.watch(time).alerts;
            alerts.retain(|alert| alert.key == key(word));
            alerts
        };
        assert_eq!(of_key("09:21").len(), 1, "one alert for one situation");
        let shown = &seen_at(&s, "09:21")["alerts"][key(word)];
        assert_eq!(shown["state"], "active", "{word}: {shown}");
        assert!(shown["until"].is_null(), "{word}: {shown}");
    }
    // What nobody heard is listed again when nothing else holds any more.
    s.until("09:30").by(DECK).aboard(CARO);
    let shown = &seen_at(&s, "09:31")["alerts"][key("missing")];
    assert_eq!(shown["state"], "resolved-unacknowledged", "{shown}");
}
