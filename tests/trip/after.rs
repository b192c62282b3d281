//! After the dive: hours on the ground, the next entry, what a diver breathed.

use deckwatch::trip::after::{
    Ground, NoFly, median_rate, next_entry, no_fly, surface_rate, surface_rates,
};
use deckwatch::trip::event::*;
use deckwatch::units::LitresPerMinute;
use serde_json::json;

use super::scene::*;

fn note(s: &mut Scene, n: u128, dive: u32, detail: serde_json::Value) {
    let mut about = people(&[n]).on_dive(dive);
    about.group = Some(group(if dive == 1 { B } else { C }));
    let detail = payload(detail);
    s.by(DECK)
        .says(about, Fact::ReturnNoted(ReturnNoted { detail }));
}

/// Anna and Bela, Caro and Dino in at nine on 18 m for 30 minutes, up after 36.
fn dived_once() -> Scene {
    let mut s = Scene::four_down();
    s.until("09:36");
    s.by(HELM).seen(&[ANNA, BELA, CARO, DINO], Signal::Well);
    for n in [ANNA, BELA, CARO, DINO] {
        s.by(DECK).aboard(n);
    }
    s
}

/// The same, then a second dive of Anna and Bela, in at eleven, up after 36 minutes.
fn dived_twice() -> Scene {
    let mut s = dived_once();
    s.by(DESK)
        .says(About::nobody().on_dive(2), Fact::DivePlanned(planned()));
    s.by(DESK).says(
        About::nobody().in_group(group(C), 2),
        Fact::GroupFormed(formed("C", &[&[ANNA, BELA]], 12.0)),
    );
    s.until("11:00").by(DECK).left_surface(C, 2, &[ANNA, BELA]);
    s.until("11:36").by(HELM).says(
        people(&[ANNA, BELA]).in_group(group(C), 2),
        at_surface(Signal::Well),
    );
    s
}

fn hours(s: &Scene, n: u128) -> NoFly {
    no_fly(&s.state(), &s.person(n)).unwrap()
}

/// DAN, Flying After Recreational Diving workshop, 2002: 12 hours after a single dive, 18 after
/// several, substantially longer than 18 after required stops (24: common practice).
#[test]
fn hours_on_the_ground_are_those_of_the_workshop_and_run_from_the_last_surfacing() {
    let single = hours(&dived_once(), ANNA);
    assert_eq!((single.ground, single.dives), (Ground::Single, 1));
    assert_eq!(single.until, clock("21:36"));

    let twice = dived_twice();
    let several = hours(&twice, ANNA);
    assert_eq!((several.ground, several.dives), (Ground::Repeated, 2));
    assert_eq!(several.until.duration_since(clock("11:36")).as_hours(), 18);
    assert_eq!(
        hours(&twice, CARO).ground.hours(),
        12,
        "she made the first alone"
    );

    // 50 m instead of 18 for 36 minutes owe stops in every table.
    let mut deep = dived_once();
    note(&mut deep, ANNA, 1, json!({"greatest_depth_m": 50.0}));
    let owed = hours(&deep, ANNA);
    assert_eq!((owed.ground, owed.ground.hours()), (Ground::WithStops, 24));
    assert_eq!(owed.until.duration_since(clock("09:36")).as_hours(), 24);
    assert_eq!(hours(&deep, BELA).ground.hours(), 12);

    // Stops that the plan owed at the drop count, however short the dive became.
    let mut s = Scene::on_site();
    let owes = payload(json!([{"depth_m": 3.0, "minutes": 4.0}]));
    s.by(DECK).says(
        people(&[ANNA, BELA]).in_group(group(B), 1),
        Fact::LeftSurface(LeftSurface {
            window: WINDOW,
            place: None,
            owes,
        }),
    );
    s.until("09:20").by(HELM).seen(&[ANNA, BELA], Signal::Well);
    assert_eq!(hours(&s, ANNA).ground.hours(), 24);
    assert_eq!(
        no_fly(&s.state(), &s.person(EDDA)),
        None,
        "who has not dived"
    );
}

#[test]
fn a_last_dive_on_the_day_before_counts_as_several() {
    let mut s = Scene::on_site();
    let mut card = card("Anna Berg", Activity::Diver);
    card.last_dive = Some("2026-05-31".parse().unwrap());
    s.by(DESK)
        .says(people(&[ANNA]), Fact::PersonChanged(PersonChanged { card }));
    s.by(DECK).left_surface(B, 1, &[ANNA, BELA]);
    s.until("09:36").by(HELM).seen(&[ANNA, BELA], Signal::Well);
    assert_eq!(
        (
            hours(&s, ANNA).ground.hours(),
            hours(&s, BELA).ground.hours()
        ),
        (18, 12)
    );
}

#[test]
fn the_next_entry_waits_for_the_dive_that_is_planned_else_for_the_same_again() {
    let mut s = dived_once();
    let state = s.state();
    let again = next_entry(&state, &s.person(ANNA), 1).unwrap();
    assert!(!again.is_planned);
    // Ten minutes are the shortest interval (U.S. Navy Diving Manual, revision 7, 9-8); after 36
    // minutes at 18 m the same again needs longer.
    assert!(again.at.duration_since(clock("09:36")).as_mins() >= 10);
    s.by(DESK)
        .says(About::nobody().on_dive(2), Fact::DivePlanned(planned()));
    let mut form = |depth_m: f64| {
        s.by(DESK).says(
            About::nobody().in_group(group(C), 2),
            Fact::GroupFormed(formed("C", &[&[ANNA, BELA]], depth_m)),
        );
        next_entry(&s.state(), &s.person(ANNA), 1)
    };
    let shallow = form(8.0).unwrap();
    assert!(shallow.is_planned && shallow.at <= again.at);
    let deep = form(24.0);
    assert!(
        deep.is_none_or(|deep| deep.at > shallow.at),
        "deeper never sooner: {deep:?}"
    );
    let down = Scene::four_down();
    assert_eq!(next_entry(&down.state(), &down.person(ANNA), 1), None);
}

/// 12 l from 200 to 80 bar over 36 minutes: 1440 l of ideal gas, less what it is short of that;
/// 29 minutes at 2.8 bar, and the ways with the stop at about 1.7: near 93 bar minutes.
#[test]
fn what_was_breathed_follows_from_gas_time_and_depth_or_is_not_said() {
    let mut s = dived_once();
    assert_eq!(surface_rates(&s.state()), []);
    note(&mut s, ANNA, 1, json!({"bar": 80.0}));
    note(
        &mut s,
        BELA,
        1,
        json!({"bar": 80.0, "greatest_depth_m": 21.0}),
    );
    // Nothing used: a gauge read wrong, or a cylinder changed.
    note(&mut s, CARO, 1, json!({"bar": 200.0}));
    let state = s.state();
    let rate = |n: u128| surface_rate(&state, &s.person(n), 1).map(LitresPerMinute::l_min);
    let by_hand = 1440.0 / (29.0 * 2.8 + 7.0 * 1.7);
    assert!(
        (rate(ANNA).unwrap() / by_hand - 1.0).abs() < 0.08,
        "{:?} {by_hand}",
        rate(ANNA)
    );
    assert!(rate(BELA) < rate(ANNA), "the same gas at a greater depth");
    assert_eq!((rate(CARO), rate(DINO)), (None, None));
    let told = surface_rates(&state);
    assert_eq!(told.len(), 2);
    assert!(
        told.iter()
            .all(|rate| rate.at == clock("09:36") && rate.dive == 1)
    );
}

#[test]
fn the_median_of_an_even_number_is_the_greater_of_the_middle_two() {
    let median = |of: &[f64]| {
        let rates: Vec<LitresPerMinute> = of
            .iter()
            .map(|l| LitresPerMinute::from_l_min(*l).unwrap())
            .collect();
        median_rate(&rates).map(LitresPerMinute::l_min)
    };
    assert_eq!(median(&[]), None);
    assert_eq!(median(&[18.0]), Some(18.0));
    assert_eq!(median(&[25.0, 14.0, 17.0]), Some(17.0));
    assert_eq!(median(&[25.0, 14.0, 17.0, 18.0]), Some(18.0));
}
