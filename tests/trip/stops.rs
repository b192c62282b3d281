//! Stops that are owed: since a recall, by a group that stays longer, by the plan itself.

use deckwatch::trip::event::*;
use deckwatch::trip::forecast::{Order, pickup_order, window_at_drop};
use deckwatch::trip::ground::Grounds;
use deckwatch::trip::watch::Row;
use serde_json::json;

use super::scene::*;

const FIN: u128 = 106;
const GRET: u128 = 107;
const HUGO: u128 = 108;
const D: u128 = 203;
const E: u128 = 204;
const FIRST: u128 = 205;

/// Pairs of the second dive with letter, depth and when they drop: beyond the no-stop limit by
/// plan; the same day's second dive; within limits; just gone in.
const PAIRS: [(u128, &str, [u128; 2], f64, &str); 4] = [
    (B, "B", [ANNA, BELA], 27.0, "10:58"),
    (C, "C", [CARO, DINO], 21.0, "11:05"),
    (D, "D", [EDDA, FIN], 12.0, "11:10"),
    (E, "E", [GRET, HUGO], 18.0, "11:34"),
];

fn on_dive(s: &mut Scene, dive: u32) {
    s.by(DESK)
        .says(About::nobody().on_dive(dive), Fact::DivePlanned(planned()));
}

fn form(s: &mut Scene, of: u128, dive: u32, formed: GroupFormed) {
    s.by(DESK).says(
        About::nobody().in_group(group(of), dive),
        Fact::GroupFormed(formed),
    );
}

/// A plan of 40 minutes at a depth.
fn forty_minutes(letter: &str, pair: &[u128], depth_m: f64) -> GroupFormed {
    let mut formed = formed(letter, &[pair], depth_m);
    formed.plan.levels = payload(json!([{"depth_m": depth_m, "minutes": 40.0}]));
    for kit in formed.kit.values_mut() {
        kit.cylinder_l = payload(json!(24.0));
    }
    formed
}

/// A group leaves the surface with what is frozen then.
fn drop(s: &mut Scene, of: u128, dive: u32, pair: &[u128]) {
    let (state, now) = (s.state(), s.now);
    let frozen = window_at_drop(&state, &state.groups[&group(of)], &set(pair), now).unwrap();
    let fact = Fact::LeftSurface(LeftSurface {
        window: frozen.window,
        place: None,
        owes: frozen.owes,
    });
    s.by(DECK)
        .says(people(pair).in_group(group(of), dive), fact);
}

/// Four groups down on the second dive at 11:35. `has_first`: Caro and Dino made the first one,
/// 24 m for 30 minutes, up an hour before they drop.
fn four_groups_down(has_first: bool) -> Scene {
    let mut s = Scene::opened();
    let others = [(FIN, "Fin Osk"), (GRET, "Gret Ulm"), (HUGO, "Hugo Vey")];
    for (n, name) in NAMES.into_iter().chain(others) {
        let card = card(name, Activity::Diver);
        s.by(DESK)
            .says(people(&[n]), Fact::PersonJoined(PersonJoined { card }));
    }
    on_dive(&mut s, 1);
    on_dive(&mut s, 2);
    let everybody: Vec<u128> = PAIRS.iter().flat_map(|(_, _, pair, ..)| *pair).collect();
    s.until("08:00")
        .by(HELM)
        .roll(Point::Departure, &everybody, &[]);
    if has_first {
        form(&mut s, FIRST, 1, formed("F", &[&[CARO, DINO]], 24.0));
        s.until("09:30");
        drop(&mut s, FIRST, 1, &[CARO, DINO]);
        s.until("10:05");
        for n in [CARO, DINO] {
            s.by(DECK)
                .says(people(&[n]).in_group(group(FIRST), 1), aboard_own());
        }
    }
    s.until("10:50")
        .by(HELM)
        .says(About::nobody().on_dive(2), Fact::OnSite(OnSite {}));
    s.by(HELM).current(0.4);
    for (of, letter, pair, depth_m, at) in PAIRS {
        form(&mut s, of, 2, forty_minutes(letter, &pair, depth_m));
        s.until(at);
        drop(&mut s, of, 2, &pair);
    }
    s.until("11:35");
    s
}

fn recall(s: &mut Scene) {
    let signal = "engine revs".into();
    s.by(HELM).says(
        About::nobody().on_dive(2),
        Fact::RecallSounded(RecallSounded { signal }),
    );
}

fn order(s: &Scene, time: &str) -> Order {
    let state = s.state();
    pickup_order(&state, &Grounds::of(&state, None), clock(time))
}

fn owed_min(row: &Row) -> f64 {
    let recalled = row.recalled.as_ref().unwrap();
    let owed = recalled.coming.owed();
    owed.iter().map(|stop| stop.minutes()).sum()
}

#[test]
fn a_recall_gives_each_group_its_earliest_time_up_with_the_stops_it_owes_and_the_pickup_replans() {
    let mut s = four_groups_down(true);
    let before = order(&s, "11:35");
    let windows: Vec<_> = PAIRS.map(|(of, ..)| s.row(of, "11:35").deadlines).into();
    for (of, ..) in PAIRS {
        assert_eq!(s.row(of, "11:35").recalled, None);
    }
    recall(&mut s);

    // The time is logged, and no deadline moves: nobody may have heard it.
    let rows = PAIRS.map(|(of, ..)| s.row(of, "11:35"));
    for (row, window) in rows.iter().zip(&windows) {
        assert_eq!(row.recalled.as_ref().unwrap().at, clock("11:35"));
        assert_eq!(row.deadlines, *window);
    }
    let [b, c, d, e] = &rows;

    // 37 minutes at 27 m. U.S. Navy Diving Manual, revision 7, table 9-7: 90 fsw without stops
    // for 30 minutes at most, so stops are owed.
    assert!(owed_min(b) > 0.0, "{b:?}");
    // Up at 9 m and 5 m a minute takes 3 minutes and more, beside what is owed.
    let way_up = |row: &Row| {
        let coming = &row.recalled.as_ref().unwrap().coming;
        coming.up_at.duration_since(clock("11:35")).as_secs_f64() / 60.0
    };
    assert!(way_up(b) >= 3.0 + owed_min(b), "{}", way_up(b));

    // 30 minutes at 21 m need no stop after a day without dives (table 9-7: 70 fsw for 48
    // minutes), and do an hour after 30 minutes at 24 m.
    let mut rested = four_groups_down(false);
    recall(&mut rested);
    assert!(owed_min(&rested.row(C, "11:35")).abs() < 1e-9);
    assert!(owed_min(c) > 0.0, "{c:?}");
    assert!(way_up(c) > way_up(&rested.row(C, "11:35")));

    // Within limits: the safety stop alone, three minutes at 5 m.
    assert!(owed_min(d).abs() < 1e-9);
    let held = &d.recalled.as_ref().unwrap().coming.stops;
    assert_eq!((held.len(), held[0].required), (1, false));
    assert!(
        (way_up(d) - (3.0 + 7.0 / 9.0 + 1.0)).abs() < 0.1,
        "{}",
        way_up(d)
    );

    // In for a minute: not up at once, and long before its plan.
    assert!(owed_min(e).abs() < 1e-9);
    assert!((3.0..8.0).contains(&way_up(e)), "{}", way_up(e));

    // The order is made for those instants: nobody is fetched before they can be up, and the
    // last one is aboard far sooner than by the plans.
    let after = order(&s, "11:35");
    for row in &after.answer.order {
        let of = PAIRS
            .iter()
            .find(|(_, letter, ..)| *letter == row.id)
            .unwrap();
        let group = s.row(of.0, "11:35");
        assert!(
            row.start_at >= group.recalled.unwrap().coming.up_at,
            "{} is fetched at {} before it is up: {:?}",
            row.id,
            row.start_at,
            s.row(of.0, "11:35")
        );
    }
    let ends = |order: &Order| {
        order
            .answer
            .order
            .iter()
            .map(|row| row.end_at)
            .max()
            .unwrap()
    };
    assert!(
        ends(&before).duration_since(ends(&after)).as_mins() > 15,
        "{} by the plans, {} since the recall",
        ends(&before),
        ends(&after)
    );
    assert_eq!(after.answer.order.len(), 4);

    // Once its earliest time is past, a group may be up any moment.
    let late = order(&s, "11:50");
    assert!(
        late.answer
            .order
            .iter()
            .all(|row| row.arrive_at >= clock("11:50"))
    );
}

#[test]
fn a_recall_heard_on_the_way_up_brings_nobody_up_later_than_the_plan() {
    let mut s = four_groups_down(false);
    // B left the bottom at 11:38 by its plan and is on its stops.
    s.until("11:41");
    recall(&mut s);
    let row = s.row(B, "11:41");
    let up_at = row.recalled.unwrap().coming.up_at;
    let expected = row.deadlines.unwrap().expected;
    assert!(
        expected.duration_since(clock("11:41")).as_mins() > 1,
        "{expected} {:?}",
        s.row(B, "11:41")
    );
    assert!(
        up_at.duration_since(expected).as_secs().abs() <= 60,
        "{up_at} {expected}"
    );
}

#[test]
fn a_group_that_drops_after_the_recall_was_not_recalled() {
    let mut s = four_groups_down(false);
    s.until("11:30");
    recall(&mut s);
    assert!(s.row(D, "11:35").recalled.is_some());
    assert_eq!(s.row(E, "11:35").recalled, None, "it dropped at 11:34");
}

#[test]
fn who_stays_longer_is_told_what_is_owed_then_and_no_deadline_moves_until_more_time_is_given() {
    let mut s = four_groups_down(false);
    let of_c = |s: &Scene, time: &str| s.row(C, time);
    let window = of_c(&s, "11:35").deadlines.unwrap();
    // 40 minutes at 21 m from 11:05, the way up, the stop: due before 11:55.
    let expected = window.expected;
    assert_eq!(of_c(&s, "11:49").longer, None);
    let mut last = (clock("11:49"), 0.0);
    for minute in [55, 57, 59] {
        let time = format!("11:{minute}");
        let row = of_c(&s, &time);
        assert!(clock(&time) > expected, "{expected}");
        assert_eq!(row.deadlines, Some(window), "{time}");
        let longer = row.longer.unwrap();
        let owed: f64 = longer.owed().iter().map(|stop| stop.minutes()).sum();
        // The longer at the bottom, the more is owed and the later it is up.
        assert!(
            longer.up_at > last.0 && owed >= last.1,
            "{time}: {longer:?}"
        );
        assert!(longer.up_at > clock(&time));
        last = (longer.up_at, owed);
    }
    // 54 minutes at 21 m: beyond table 9-7's 48 minutes at 70 fsw.
    assert!(last.1 > 0.0, "stops are owed by then");

    let more = payload(json!({"minutes": 10.0, "granted_before_min": 0.0, "reason": "slack"}));
    s.until("11:59")
        .by(HELM)
        .says(About::nobody().in_group(group(C), 2), Fact::MoreTime(more));
    let row = of_c(&s, "11:59");
    let given = row.deadlines.unwrap();
    assert_eq!(given.expected.duration_since(window.expected).as_mins(), 10);
    assert_eq!(row.longer, None, "due in time again");
}

#[test]
fn stops_owed_by_the_plan_are_told_from_the_drop_until_everybody_is_up() {
    let mut s = four_groups_down(false);
    let owes = s.row(B, "11:20").owes;
    assert!(!owes.is_empty());
    assert!(
        owes.windows(2)
            .all(|pair| pair[0].depth_m.m() > pair[1].depth_m.m())
    );
    assert_eq!(s.row(D, "11:20").owes, []);
    s.until("11:50");
    for n in [ANNA, BELA] {
        s.by(HELM)
            .says(people(&[n]).in_group(group(B), 2), at_surface(Signal::Well));
    }
    let row = s.row(B, "11:51");
    assert_eq!((row.owes.len(), row.longer, row.recalled), (0, None, None));
}
