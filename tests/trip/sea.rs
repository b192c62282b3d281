//! What the sea does to a trip: likely places, what groups drift to, zones, sunset and slack.
//!
//! The chart is invented: a reef 200 m across, its south edge 300 m north of the site.

use deckwatch::sea::position::{LocalPlane, Metres, Position};
use deckwatch::sea::stream::Tides;
use deckwatch::sea::zones::{Sets, Unfit};
use deckwatch::trip::event::{
    About, BuoyColour, BuoySeen, Fact, LeftSurface, Mode, OnSite, Signal, SiteSheet,
};
use deckwatch::trip::forecast::{pickup_order, window_at_drop};
use deckwatch::trip::ground::{Grounds, Sea};
use deckwatch::trip::likely::{Basis, Likely, likely, likely_at};
use deckwatch::trip::outlook::{Ashore, Conflict, ashore, conflicts};
use deckwatch::trip::state::State;
use deckwatch::trip::waters::{CurrentBasis, Waters};
use deckwatch::trip::zones::zones_at;
use jiff::Timestamp;
use serde_json::{Value, json};

use crate::scene::*;

fn ring(plane: &LocalPlane, corners: &[(f64, f64)]) -> Vec<Position> {
    let at = |&(east, north): &(f64, f64)| plane.position(Metres::new(east, north));
    corners.iter().chain(corners.first()).map(at).collect()
}

fn area(plane: &LocalPlane, kind: &str, name: &str, corners: &[(f64, f64)]) -> Value {
    json!({"type": "Feature", "properties": {"kind": kind, "name": name},
        "geometry": {"type": "Polygon", "coordinates": [ring(plane, corners)]}})
}

/// The site with a reef to the north, a zone close to it and one south of the site.
fn site() -> SiteSheet {
    let mut site = planned().site;
    let plane = LocalPlane::round(site.position);
    let square = |east: f64, north: f64, half: f64| {
        [
            (east - half, north - half),
            (east + half, north - half),
            (east + half, north + half),
            (east - half, north + half),
        ]
    };
    site.chart = json!({"type": "FeatureCollection", "features": [
        area(&plane, "keep-clear", "Lantern Reef", &square(0.0, 400.0, 100.0)),
        area(&plane, "pickup-zone", "Reef side", &square(0.0, 200.0, 30.0)),
        area(&plane, "pickup-zone", "South side", &square(0.0, -150.0, 50.0)),
        {"type": "Feature", "properties": {"kind": "mooring", "name": "Old mooring"},
         "geometry": {"type": "Point",
            "coordinates": plane.position(Metres::new(60.0, 0.0))}},
    ]});
    site
}

/// Group B left the surface at 09:00 at the site, in that way of diving.
fn down(mode: Mode) -> Scene {
    let mut s = Scene::on_site();
    let mut planned = planned();
    planned.site = site();
    s.by(DESK)
        .says(About::nobody().on_dive(1), Fact::DivePlanned(planned));
    let mut formed = s.group(B).formed;
    formed.mode = mode;
    s.by(DESK).says(
        About::nobody().in_group(group(B), 1),
        Fact::GroupFormed(formed),
    );
    s.by(HELM)
        .says(About::nobody().on_dive(1), Fact::OnSite(OnSite {}));
    let fact = Fact::LeftSurface(LeftSurface {
        window: WINDOW,
        place: Some(site().position),
        owes: Vec::new(),
    });
    s.until("09:00").by(DECK).says(
        people(&[ANNA, BELA, CARO, DINO]).in_group(group(B), 1),
        fact,
    );
    s
}

fn with_sea<T>(state: &State, look: impl FnOnce(&Sea<'_>) -> T) -> T {
    let grounds = Grounds::of(state, None);
    look(&grounds.sea(state, 1).unwrap())
}

fn likely_of(s: &Scene, at: Timestamp) -> Likely {
    let state = s.state();
    with_sea(&state, |sea| likely_at(&s.group(B), sea, at).unwrap())
}

fn off(likely: &Likely) -> Metres {
    LocalPlane::round(site().position).metres(likely.position)
}

fn ashore_of(s: &Scene, time: &str) -> Option<Ashore> {
    let state = s.state();
    with_sea(&state, |sea| ashore(&s.group(B), sea, clock(time)))
}

fn current(s: &mut Scene, time: &str, set_deg: f64, drift_kn: f64) {
    s.until(time).by(HELM).says(
        About::nobody(),
        Fact::ConditionsObserved(payload(json!({
            "set_deg": set_deg, "drift_kn": drift_kn, "wind_from_deg": null, "wind_kn": null,
            "visibility_m": null, "sea": null, "water_c": null,
        }))),
    );
}

/// Given a drifting dive, when the current is updated, then the pickup area moves, its
/// uncertainty grows with time and reef clearance is rechecked.
#[test]
fn a_new_current_moves_the_likely_area_which_grows_and_the_reef_is_looked_at_again() {
    let mut s = down(Mode::Drift);
    current(&mut s, "09:00", 180.0, 0.5);
    let before = likely_of(&s, clock("09:40"));
    // Half a knot for 40 minutes to the south: a third of a mile, 617 m.
    assert!(
        (off(&before).north + 1852.0 / 3.0).abs() < 2.0,
        "{:?}",
        off(&before)
    );
    assert_eq!(before.basis, Basis::Reckoned);
    assert_eq!(ashore_of(&s, "09:10"), None, "it drifts away from the reef");

    current(&mut s, "09:10", 0.0, 0.5);
    let after = likely_of(&s, clock("09:40"));
    // Ten minutes turning from south to north carry nowhere, then 30 to the north.
    assert!(
        (off(&after).north - 1852.0 / 4.0).abs() < 2.0,
        "{:?}",
        off(&after)
    );
    let spread = |at: &str| likely_of(&s, clock(at)).spread_m;
    assert!(spread("09:20") < spread("09:40") && spread("09:40") < spread("10:00"));
    // 0.1 m/s for 40 min, and the boat's own place off by 20 m.
    assert!((spread("09:40") - 240.0_f64.hypot(20.0)).abs() < 0.1);

    let danger = ashore_of(&s, "09:10").unwrap();
    assert_eq!(danger.area, "Lantern Reef");
    assert!(!danger.if_adrift);
    // 250 m to the stand-off and 300 m to the reef at half a knot, 15.43 m a minute, less what
    // the first five minutes of the turn still lack.
    let minutes = |at: Timestamp| at.duration_since(clock("09:10")).as_secs_f64() / 60.0;
    assert!((minutes(danger.near_at) - 250.0 / 15.433).abs() < 0.5);
    assert!((minutes(danger.touches_at.unwrap()) - 300.0 / 15.433).abs() < 0.5);
}

#[test]
fn a_group_that_returns_stays_at_its_line_and_is_told_what_happens_if_it_lets_go() {
    let mut s = down(Mode::Return);
    current(&mut s, "09:00", 0.0, 0.5);
    let likely = likely_of(&s, clock("09:40"));
    assert!(
        (off(&likely).east - 60.0).abs() < 0.1,
        "the mooring near by"
    );
    assert!(off(&likely).north.abs() < 0.1);
    assert!(ashore_of(&s, "09:10").unwrap().if_adrift);
}

#[test]
fn a_group_briefed_to_a_zone_swims_towards_it_during_its_stop() {
    let mut s = down(Mode::Drift);
    let mut formed = s.group(B).formed;
    formed.exit_zone = Some("South side".into());
    s.by(DESK).says(
        About::nobody().in_group(group(B), 1),
        Fact::GroupFormed(formed),
    );
    // Three minutes of stop at 0.25 m/s: 45 m of the 100 m there are.
    let likely = likely_of(&s, clock("09:40"));
    assert!(
        (off(&likely).north + 45.0).abs() < 0.1,
        "{:?}",
        off(&likely)
    );
}

/// A buoy goes with the water; heads at the surface with the wind as well: 0.63 % of it downwind
/// (Allen and Plourde 1999, scuba suit, as listed in the leeway table of the reference data).
#[test]
fn what_was_seen_drifts_on_from_there() {
    let mut s = down(Mode::Drift);
    current(&mut s, "09:20", 90.0, 1.0);
    let place = Some(site().position);
    let seen = Fact::BuoySeen(BuoySeen {
        colour: BuoyColour::Orange,
        place,
        from_boat: None,
    });
    s.until("09:30")
        .by(HELM)
        .says(About::nobody().in_group(group(B), 1), seen);
    let buoy = likely_of(&s, clock("09:40"));
    assert_eq!(buoy.basis, Basis::Buoy);
    assert!((off(&buoy).east - 1852.0 / 6.0).abs() < 1.0);
    assert_eq!(buoy.last_known(), (site().position, clock("09:30")));

    s.by(HELM).says(
        About::nobody(),
        Fact::ConditionsObserved(payload(json!({
            "set_deg": null, "drift_kn": null, "wind_from_deg": 0.0, "wind_kn": 20.0,
            "visibility_m": null, "sea": null, "water_c": null,
        }))),
    );
    assert!(
        off(&likely_of(&s, clock("09:40"))).north.abs() < 0.5,
        "no leeway of a buoy's line"
    );
    let mut heads = at_surface(Signal::Well);
    if let Fact::AtSurface(seen) = &mut heads {
        seen.place = place;
    }
    s.by(HELM)
        .says(people(&[ANNA]).in_group(group(B), 1), heads);
    let seen = likely_of(&s, clock("09:40"));
    assert_eq!(seen.basis, Basis::Seen);
    let leeway = -0.0063 * 20.0 * 1852.0 / 6.0;
    assert!((off(&seen).north - leeway).abs() < 0.5, "{:?}", off(&seen));
}

fn tides() -> Tides {
    r#"{"table": [
        {"hour": -1, "set_deg": 0, "spring_kn": 1.2, "neap_kn": 0.6},
        {"hour": 0, "set_deg": 0, "spring_kn": 0.4, "neap_kn": 0.2},
        {"hour": 1, "set_deg": 180, "spring_kn": 1.2, "neap_kn": 0.6},
        {"hour": 2, "set_deg": 180, "spring_kn": 1.2, "neap_kn": 0.6}],
      "high_water": [{"at": "2026-06-01T10:00:00Z", "range_m": 3.0}],
      "spring_range_m": 3.0, "neap_range_m": 1.0}"#
        .parse()
        .unwrap()
}

/// An observation counts for an hour; then the table of the site, and without one the old
/// observation, marked.
#[test]
fn an_observation_counts_for_an_hour_and_then_the_table() {
    let mut s = Scene::on_site();
    current(&mut s, "08:30", 90.0, 2.0);
    let state = s.state();
    let mut site = site();
    let at =
        |site: &SiteSheet, time: &str| Waters::of(site, &state.conditions).current(clock(time));
    let told = at(&site, "09:30");
    assert_eq!(told.basis, CurrentBasis::Observed);
    assert_eq!(told.seen_at, Some(clock("08:30")));
    assert_eq!(at(&site, "09:31").basis, CurrentBasis::Old);
    site.tides = Some(tides());
    let told = at(&site, "09:31");
    assert_eq!(told.basis, CurrentBasis::Table);
    assert!(told.velocity.speed_kn() < 1.0, "half way to 0.4 kn");
    assert_eq!(
        at(&site, "18:00").basis,
        CurrentBasis::Old,
        "beyond the table"
    );
    let nothing = deckwatch::trip::state::Conditions::default();
    let unknown = Waters::of(&planned().site, &nothing).current(clock("09:00"));
    assert_eq!(unknown.basis, CurrentBasis::Unknown);
}

/// Given a plan past sunset or slack, when it is saved, then the conflict is told.
#[test]
fn a_plan_past_slack_or_sunset_tells_its_conflicts() {
    let mut state = Scene::on_site().state();
    let mut site = site();
    site.tides = Some(tides());
    state.dives.get_mut(&1).unwrap().site = site;
    let found = |mode, enters: &str, leaves: &str| {
        with_sea(&state, |sea| {
            conflicts(mode, sea, clock(enters), clock(leaves))
        })
    };
    // The stream runs north until high water at 10:00 and south after it.
    let turns = found(Mode::Drift, "09:30", "10:40");
    let Some(Conflict::Turns { at, set_deg, .. }) = turns.first() else {
        panic!("{turns:?}");
    };
    assert!(*at > clock("10:00") && *at < clock("10:40"), "{at}");
    assert!((set_deg - 180.0).abs() < 1.0);
    assert_eq!(found(Mode::Drift, "11:05", "11:40"), []);
    let outgrown = found(Mode::Return, "11:05", "11:40");
    assert!(
        matches!(outgrown.first(), Some(Conflict::Outgrows { at, .. }) if *at == clock("11:05"))
    );

    // At 10 E, 20 N the sun sets near 17:50 UTC on the first of June.
    let late = found(Mode::Drift, "17:20", "18:05");
    let Some(Conflict::AfterSunset { sunset: Some(at) }) = late.first() else {
        panic!("{late:?}");
    };
    assert!(*at > clock("17:30") && *at < clock("18:05"), "{at}");
    assert_eq!(found(Mode::Drift, "16:20", "17:05"), []);
}

/// Where nobody has looked, the table's stream over the whole dive shortens a window all the same: a
/// head is 0.2 nm off after six minutes at 2 kn.
#[test]
fn a_stream_of_the_table_shortens_the_window() {
    let mut state = Scene::on_site().state();
    let strong = tides().to_string().replace("1.2", "2.0");
    let overdue_min = |state: &State| {
        let group = state.groups[&group(B)].clone();
        let window = window_at_drop(state, &group, group.members(), clock("10:20"))
            .unwrap()
            .window;
        f64::from(window.overdue_s - window.expected_s) / 60.0
    };
    assert!((overdue_min(&state) - 10.0).abs() < 0.02);
    let mut site = site();
    site.tides = Some(strong.parse().unwrap());
    state.dives.get_mut(&1).unwrap().site = site;
    assert!((overdue_min(&state) - 6.0).abs() < 0.02);
}

/// Given a night dive, late comes sooner: three minutes after the expected time and three to
/// overdue.
#[test]
fn at_night_late_comes_sooner() {
    let s = Scene::on_site();
    let state = s.state();
    let group = s.group(B);
    let frozen = |time: &str| {
        window_at_drop(&state, &group, group.members(), clock(time))
            .unwrap()
            .window
    };
    let (day, night) = (frozen("09:00"), frozen("19:00"));
    assert_eq!(day.latest_s - day.expected_s, 5 * 60);
    assert_eq!(night.latest_s - night.expected_s, 3 * 60);
    assert_eq!(night.overdue_s - night.latest_s, 3 * 60);
}

#[test]
fn zones_are_ranked_by_what_the_water_does_there() {
    let mut s = down(Mode::Drift);
    current(&mut s, "09:00", 0.0, 0.6);
    let state = s.state();
    let boat = &state.opened.as_ref().unwrap().boat;
    let ranked = |people| {
        with_sea(&state, |sea| {
            zones_at(sea, boat, people, site().position, clock("09:05"))
        })
    };
    let zones = ranked(2);
    let names: Vec<&str> = zones.iter().map(|zone| zone.name.as_str()).collect();
    assert_eq!(names, ["South side", "Reef side"]);
    assert_eq!(zones[0].sets, Sets::Towards);
    // From 170 m north of the site it is 130 m to the reef, 7 min at 0.6 kn: too few for two
    // people, who take 2 + 4 min, and two to spare.
    let Some(Unfit::TooSoon { minutes, least }) = zones[1].unfit else {
        panic!("{:?}", zones[1]);
    };
    assert!((minutes - 130.0 / (0.6 * 30.867)).abs() < 0.05, "{minutes}");
    assert!((least - 8.0).abs() < 1e-9);
    assert_eq!(zones[0].unfit, None, "{:?}", zones[0]);

    current(&mut s, "09:06", 180.0, 0.6);
    let state = s.state();
    let away = with_sea(&state, |sea| {
        zones_at(sea, boat, 2, site().position, clock("09:06"))
    });
    assert!(
        away.iter()
            .all(|zone| zone.unfit.is_none() && zone.sets == Sets::Clear)
    );
    assert_eq!(away[0].name, "South side", "100 m against 170 m");
}

/// The order starts from likely places, adds leeway to the water and tells a pickup after sunset.
#[test]
fn the_pickup_order_reckons_with_the_sea() {
    let mut s = down(Mode::Drift);
    current(&mut s, "09:00", 180.0, 0.5);
    let state = s.state();
    let grounds = Grounds::of(&state, None);
    let order = pickup_order(&state, &grounds, clock("09:41"));
    let row = &order.answer.order[0];
    let met = LocalPlane::round(site().position).metres(row.meet);
    let sea = grounds.sea(&state, 1).unwrap();
    let thought = likely(&state, &s.group(B), &sea, clock("09:41")).unwrap();
    assert!(
        met.north < off(&thought).north + 1.0,
        "it drifts on while the boat comes"
    );
    assert_eq!(order.sunset, None);
    let night = pickup_order(&state, &grounds, clock("17:55"));
    assert!(night.sunset.is_some());
}
