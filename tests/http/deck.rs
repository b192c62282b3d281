//! The deck: what each tap does, what each form refuses, and what the deck must never get wrong.

use deckwatch::trip::event::{Activity, BuoyColour, Fact, Signal, Vessel};
use deckwatch::trip::state::{Person, Place, Seen, State};
use deckwatch::trip::watch::{Cause, Priority, Standing, watch};
use jiff::{SignedDuration, Timestamp};

use crate::app::App;
use crate::client::Answer;
use crate::trip::Trip;

const MARA: &str = "Mara Lind";
const TOMAS: &str = "Tomas Reyl";
const ANOUK: &str = "Anouk Petri";
const DARIO: &str = "Dario Benn";
const B: [&str; 4] = [MARA, TOMAS, ANOUK, DARIO];

fn minutes(n: i64) -> SignedDuration {
    SignedDuration::from_mins(n)
}

fn deck(trip: &Trip, rest: &str) -> String {
    format!("/deck/{}{rest}", trip.id)
}

fn group(trip: &Trip, letter: &str, rest: &str) -> String {
    deck(trip, &format!("/group/{}{rest}", trip.group(letter)))
}

fn returns_of(trip: &Trip, name: &str) -> String {
    deck(trip, &format!("/return/{}", trip.person(name)))
}

fn ids(trip: &Trip, field: &str, names: &[&str]) -> Vec<(String, String)> {
    names
        .iter()
        .map(|name| (field.to_owned(), trip.person(name).to_string()))
        .collect()
}

fn borrowed(fields: &[(String, String)]) -> Vec<(&str, &str)> {
    fields
        .iter()
        .map(|(n, v)| (n.as_str(), v.as_str()))
        .collect()
}

fn person<'a>(state: &'a State, trip: &Trip, name: &str) -> &'a Person {
    &state.people[&trip.person(name)]
}

/// A trip with group B in the water since now.
async fn with_b_down(app: &App) -> Trip {
    let trip = app.trip().await;
    app.drop_group(&trip, "B").await;
    trip
}

/// Sends the form of heads seen, as the button of a signal does.
async fn heads(app: &App, trip: &Trip, names: &[&str], signal: &str) -> Answer {
    let mut fields = ids(trip, "persons", names);
    fields.push(("signal".to_owned(), signal.to_owned()));
    let (page, action) = (group(trip, "B", ""), group(trip, "B", "/surface"));
    app.divemaster()
        .submit(&page, &action, &borrowed(&fields))
        .await
}

/// The one tap that logs somebody aboard.
async fn aboard_now(app: &App, trip: &Trip, name: &str) -> Answer {
    let id = trip.person(name).to_string();
    app.divemaster()
        .post(&deck(trip, "/aboard"), &[("person", &id)])
        .await
}

/// The event that a redirect says was done.
fn did(answer: &Answer) -> String {
    answer.location().split_once("did=").unwrap().1.to_owned()
}

// The list

#[tokio::test]
async fn groups_stand_by_what_to_do_next_and_who_is_out_stands_on_top() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "C").await;
    app.drop_group(&trip, "B").await;
    app.surfaced(&trip, &[MARA, TOMAS, ANOUK, DARIO], Signal::Well)
        .await;
    let page = app.divemaster().get(&deck(&trip, "")).await;
    let titles = page.is(200).all("section.part h2");
    assert_eq!(titles, ["Look and fetch", "Down", "To check"]);
    let links = page.attributes(".row-link", "href");
    let expected = ["B", "C", "D"].map(|letter| group(&trip, letter, ""));
    assert_eq!(links, expected);
    assert_eq!(page.count("h1"), 1);
    let mast = page.one(".mast-text");
    assert!(
        mast.contains("7 out") && mast.contains("3 not seen up"),
        "{mast}"
    );
}

#[tokio::test]
async fn no_figure_stands_on_the_deck_while_a_blind_count_is_open() {
    let app = App::new().await;
    let trip = app.trip().await;
    let counted = app.helm.by.crew;
    app.decide(&trip, &app.helm, |state, _| {
        let count = deckwatch::trip::decide::HeadCount {
            point: deckwatch::trip::event::Point::Leaving,
            call: state.current_call(deckwatch::trip::event::Point::Leaving).0,
            round: 1,
            method: deckwatch::trip::event::Method::Heads,
            people: 13,
        };
        deckwatch::trip::decide::count(state, count, counted)
    })
    .await;
    let page = app.divemaster().get(&deck(&trip, "")).await;
    let mast = page.one(".mast-text");
    assert_eq!(mast, "A count is open: no figures until both are in");
}

#[tokio::test]
async fn a_trip_or_group_that_is_not_there_and_a_stranger_find_nothing() {
    let app = App::new().await;
    let trip = app.trip().await;
    let nowhere = "0190a1b2-0000-7000-8000-000000000000";
    let client = app.divemaster();
    client.get(&format!("/deck/{nowhere}")).await.is(404);
    let path = deck(&trip, &format!("/group/{nowhere}"));
    client.get(&path).await.is(404);
    client.get(&deck(&trip, "/seen/gulls")).await.is(404);
    app.desk().get(&deck(&trip, "")).await.is(403);
    let asked = app.stranger().get(&deck(&trip, "")).await;
    assert!(asked.location().starts_with("/sign-in"));
}

// Into the water

#[tokio::test]
async fn the_checks_are_each_asked_and_a_refused_form_keeps_its_ticks() {
    let app = App::new().await;
    let trip = app.trip().await;
    let (page, action) = (group(&trip, "B", ""), group(&trip, "B", "/check"));
    let client = app.divemaster();
    let refused = client
        .submit(&page, &action, &[("flag_shown", "yes")])
        .await;
    refused.is(422);
    assert_eq!(
        refused.one("#engine_neutral-fault"),
        "Engine in neutral first: say that you have seen it."
    );
    assert_eq!(refused.count("#flag_shown[checked]"), 1);
    assert!(refused.one("head title").starts_with("Error:"));
    let both = [("engine_neutral", "yes"), ("flag_shown", "yes")];
    let answer = client.submit(&page, &action, &both).await;
    let shown = client.get(answer.location()).await;
    // Every member stands there by name, ticked.
    assert_eq!(shown.count("input[name=members][checked]"), 4);
}

#[tokio::test]
async fn by_night_a_group_stays_aboard_until_every_light_is_seen() {
    let app = App::new().await;
    let trip = app.trip().await;
    // The site lies at 45 N, 30 W: on 1 June the sun sets there at about 21:40 UTC, civil
    // twilight ends at about 22:15 (from memory; the almanac itself is held elsewhere).
    app.wait(minutes(11 * 60 + 55));
    let (page, action) = (group(&trip, "D", ""), group(&trip, "D", "/check"));
    let client = app.divemaster();
    let mut fields = ids(&trip, "lights", &["Noor Adan"]);
    fields.push(("engine_neutral".into(), "yes".into()));
    fields.push(("flag_shown".into(), "yes".into()));
    let refused = client.submit(&page, &action, &borrowed(&fields)).await;
    assert_eq!(
        refused.is(422).one("#lights-fault"),
        "It will be night: record that every diver has a light."
    );
    fields.extend(ids(&trip, "lights", &["Pavel Strand"]));
    client
        .submit(&page, &action, &borrowed(&fields))
        .await
        .is(303);
    assert_eq!(
        app.state(&trip).await.groups[&trip.group("D")]
            .checked
            .as_ref()
            .unwrap()
            .lights,
        Some(true)
    );
}

#[tokio::test]
async fn a_group_drops_and_its_window_runs_from_that_time() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.check_drop(&trip, "B").await;
    app.wait(minutes(5));
    let (page, action) = (group(&trip, "B", ""), group(&trip, "B", "/drop"));
    // Noon at the boat was the start; the drop was three minutes ago.
    let answer = app
        .divemaster()
        .submit(&page, &action, &[("at", "12:02")])
        .await;
    let state = app.state(&trip).await;
    let drop = state.groups[&trip.group("B")].drop.clone().unwrap();
    let at: Timestamp = "2026-06-01T10:02:00Z".parse().unwrap();
    assert_eq!(drop.at, at);
    assert_eq!(drop.members.len(), 4);
    let run = state.groups[&trip.group("B")].formed.plan.run_time_min;
    let expected = drop.deadlines().expected.duration_since(at).as_secs_f64() / 60.0;
    assert!((expected - run).abs() < 0.1, "{expected} against {run}");
    // Both times are kept: when it happened and when it was logged.
    let shown = app.divemaster().get(answer.location()).await;
    assert!(
        shown
            .all(".entry b")
            .contains(&"12:02, logged 12:05".to_owned()),
        "{:?}",
        shown.all(".entry")
    );
}

#[tokio::test]
async fn a_wrong_time_of_the_drop_is_corrected_with_a_reason_and_the_window_follows() {
    let app = App::new().await;
    let trip = with_b_down(&app).await;
    app.wait(minutes(20));
    let (page, action) = (group(&trip, "B", "/time"), group(&trip, "B", "/restate"));
    let client = app.divemaster();
    let refused = client.submit(&page, &action, &[("left_at", "12:10")]).await;
    assert_eq!(refused.is(422).one("#why-fault"), "Fill this in.");
    assert_eq!(refused.attributes("#left_at", "value"), ["12:10"]);
    // A later time would make the group look safer: that is the skipper's.
    let fields = [("left_at", "12:10"), ("why", "Wrong group tapped first")];
    let refused = client.submit(&page, &action, &fields).await;
    assert!(
        refused
            .is(422)
            .one("#left_at-fault")
            .starts_with("Only the skipper")
    );
    app.skipper().submit(&page, &action, &fields).await.is(303);
    let drop_of = |state: &State| state.groups[&trip.group("B")].drop.clone().unwrap();
    let state = app.state(&trip).await;
    let at: Timestamp = "2026-06-01T10:10:00Z".parse().unwrap();
    assert_eq!((drop_of(&state).at, drop_of(&state).members.len()), (at, 4));
    for name in B {
        assert_eq!(person(&state, &trip, name).place, Place::InWater);
    }
    let shown = client.get(&group(&trip, "B", "")).await;
    assert!(
        shown
            .all(".entry")
            .iter()
            .any(|e| e.contains("Does not count: Wrong group tapped first (Ilka Voss)")),
        "{:?}",
        shown.all(".entry")
    );
    // An earlier time brings every deadline forward; anybody on deck may say so.
    let late = watch(&state, app.clock.now()).rows[0].deadlines.unwrap();
    let fields = [("left_at", "12:07"), ("why", "Read the wrong watch")];
    client.submit(&page, &action, &fields).await.is(303);
    let state = app.state(&trip).await;
    assert_eq!(drop_of(&state).at, at - minutes(3));
    let sooner = watch(&state, app.clock.now()).rows[0].deadlines.unwrap();
    assert_eq!(late.overdue.duration_since(sooner.overdue), minutes(3));
    // Once somebody is up, the time of the drop is history.
    app.surfaced(&trip, &[MARA], Signal::Well).await;
    let late = client.submit(&page, &action, &fields).await;
    assert!(
        late.is(422)
            .one("#left_at-fault")
            .starts_with("Up already: Mara Lind")
    );
}

#[tokio::test]
async fn more_time_is_given_for_a_reason_and_only_once_for_one_page() {
    let app = App::new().await;
    let trip = with_b_down(&app).await;
    let before = app.state(&trip).await.groups[&trip.group("B")]
        .drop
        .clone()
        .unwrap()
        .deadlines();
    let (page, action) = (group(&trip, "B", "/time"), group(&trip, "B", "/more"));
    let client = app.divemaster();
    let refused = client.submit(&page, &action, &[("minutes", "soon")]).await;
    refused.is(422);
    assert_eq!(refused.count("#minutes-fault"), 1);
    assert_eq!(refused.count("#reason-fault"), 1);
    let shown = client.get(&page).await;
    let mut form = shown.form(&action);
    form.retain(|(name, _)| !["minutes", "reason"].contains(&name.as_str()));
    let with = |minutes: &str| {
        let mut form = form.clone();
        form.push(("minutes".into(), minutes.into()));
        form.push(("reason".into(), "Skipper agreed, slack water".into()));
        form
    };
    client.post_raw(&action, &with("3")).await.is(303);
    // Another phone's page that did not show these minutes gives nothing on top.
    client.post_raw(&action, &with("6")).await.is(422);
    let state = app.state(&trip).await;
    let after = state.groups[&trip.group("B")]
        .drop
        .clone()
        .unwrap()
        .deadlines();
    assert_eq!(after.expected.duration_since(before.expected), minutes(3));
}

#[tokio::test]
async fn a_pair_is_not_split_at_the_drop_but_may_stay_aboard_whole() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.check_drop(&trip, "B").await;
    let (page, action) = (group(&trip, "B", ""), group(&trip, "B", "/drop"));
    let client = app.divemaster();
    let three = ids(&trip, "members", &[MARA, TOMAS, ANOUK]);
    let refused = client.submit(&page, &action, &borrowed(&three)).await;
    assert_eq!(
        refused.is(422).one("#members-fault"),
        "Anouk Petri would go alone. Send the pair, or form the group anew."
    );
    assert_eq!(refused.count("input[name=members][checked]"), 3);
    let pair = ids(&trip, "members", &[MARA, TOMAS]);
    client
        .submit(&page, &action, &borrowed(&pair))
        .await
        .is(303);
    let state = app.state(&trip).await;
    assert_eq!(person(&state, &trip, MARA).place, Place::InWater);
    assert_eq!(person(&state, &trip, ANOUK).place, Place::Aboard);
}

#[tokio::test]
async fn a_drop_in_the_future_or_at_half_a_place_is_refused_with_what_was_typed() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.check_drop(&trip, "B").await;
    let (page, action) = (group(&trip, "B", ""), group(&trip, "B", "/drop"));
    let client = app.divemaster();
    let fields = [("at", "noonish"), ("lat", "4 10.5 N"), ("lon", "")];
    let refused = client.submit(&page, &action, &fields).await;
    refused.is(422);
    assert_eq!(refused.count("#at-fault"), 1);
    assert_eq!(refused.count("#lon-fault"), 1);
    assert_eq!(refused.attributes("#at", "value"), ["noonish"]);
    assert_eq!(refused.attributes("#lat", "value"), ["4 10.5 N"]);
    let refused = client.submit(&page, &action, &[("at", "15:00")]).await;
    assert_eq!(refused.is(422).count("#at-fault"), 1);
    assert!(
        app.state(&trip).await.groups[&trip.group("B")]
            .drop
            .is_none()
    );
}

// Seen

#[tokio::test]
async fn a_buoy_alone_counts_nobody_and_says_hold_off() {
    let app = App::new().await;
    let trip = with_b_down(&app).await;
    app.wait(minutes(40));
    let page = group(&trip, "B", "");
    let action = group(&trip, "B", "/buoy");
    let client = app.divemaster();
    client.post(&action, &[("colour", "orange")]).await.is(303);
    let shown = client.get(&page).await;
    assert!(shown.one("#hold-off").starts_with("Hold off."));
    let state = app.state(&trip).await;
    for name in B {
        assert_eq!(person(&state, &trip, name).place, Place::InWater);
    }
    let watch = watch(&state, app.clock.now());
    assert_eq!((watch.out, watch.under), (4, 4));
    assert_eq!(watch.rows[0].standing, Standing::BuoyUp);
    assert_eq!(watch.rows[0].up, 0);
}

#[tokio::test]
async fn a_buoy_by_bearing_lies_where_the_boat_saw_it_and_half_a_bearing_is_refused() {
    let app = App::new().await;
    let trip = with_b_down(&app).await;
    let boat: deckwatch::sea::position::Position =
        serde_json::from_value(serde_json::json!([-30.0, 45.0])).unwrap();
    app.decide(&trip, &app.helm, |state, _| {
        let typed = deckwatch::trip::event::PositionSource::Typed;
        deckwatch::trip::decide::boat_at(state, boat, typed)
    })
    .await;
    let page = group(&trip, "B", "/buoy");
    let client = app.divemaster();
    let half = [("colour", "other"), ("bearing", "90")];
    let refused = client.submit(&page, &page, &half).await;
    assert_eq!(refused.is(422).count("#range-fault"), 1);
    assert_eq!(refused.attributes("#bearing", "value"), ["90"]);
    let whole = [("colour", "other"), ("bearing", "90"), ("range", "200")];
    client.submit(&page, &page, &whole).await.is(303);
    let state = app.state(&trip).await;
    let seen = &state.groups[&trip.group("B")].sightings[0];
    assert_eq!(seen.what, Seen::Buoy(BuoyColour::Other));
    let place = seen.place.unwrap();
    assert!((boat.distance_m(place) - 200.0).abs() < 0.5);
    assert!((boat.bearing_deg(place) - 90.0).abs() < 0.5);
}

#[tokio::test]
async fn a_yellow_buoy_alarms_at_once() {
    let app = App::new().await;
    let trip = with_b_down(&app).await;
    let action = group(&trip, "B", "/buoy");
    let client = app.divemaster();
    client.post(&action, &[("colour", "yellow")]).await.is(303);
    let watch = watch(&app.state(&trip).await, app.clock.now());
    assert_eq!(watch.alerts[0].cause, Cause::YellowBuoy);
    assert_eq!(watch.alerts[0].priority, Priority::Alarm);
    client.post(&action, &[("colour", "pink")]).await.is(422);
}

#[tokio::test]
async fn three_heads_of_four_are_three_of_four() {
    let app = App::new().await;
    let trip = with_b_down(&app).await;
    heads(&app, &trip, &[MARA, TOMAS, ANOUK], "well")
        .await
        .is(303);
    let shown = app.divemaster().get(&group(&trip, "B", "")).await;
    let row = shown.one(".row-who");
    assert!(row.starts_with("3 of 4 at surface"), "{row}");
    let nobody = heads(&app, &trip, &[], "well").await;
    assert_eq!(
        nobody.is(422).one("#persons-fault"),
        "Name at least one person."
    );
}

#[tokio::test]
async fn one_diver_up_early_is_ready_for_pickup_and_the_partners_clock_runs() {
    let app = App::new().await;
    let trip = with_b_down(&app).await;
    app.wait(minutes(10));
    heads(&app, &trip, &[MARA], "well").await.is(303);
    let state = app.state(&trip).await;
    let seen = watch(&state, app.clock.now());
    assert_eq!(seen.rows[0].standing, Standing::PartnerClock);
    assert_eq!(
        seen.rows[0].partner_until,
        Some(app.clock.now() + minutes(5))
    );
    let grounds = deckwatch::trip::ground::Grounds::of(&state, None);
    let order = deckwatch::trip::forecast::pickup_order(&state, &grounds, app.clock.now());
    let hers = order
        .entries
        .values()
        .find(|e| e.persons.contains(&trip.person(MARA)))
        .unwrap();
    assert!(hers.seen && hers.persons.len() == 1);
    app.wait(minutes(6));
    let seen = watch(&state, app.clock.now());
    let down = vec![TOMAS.to_owned()];
    assert_eq!(seen.alerts[0].cause, Cause::PartnerOverdue { down });
}

#[tokio::test]
async fn the_word_of_who_is_up_stops_the_clock_or_alarms_at_once() {
    let app = App::new().await;
    let trip = with_b_down(&app).await;
    heads(&app, &trip, &[MARA], "well").await.is(303);
    let (page, action) = (group(&trip, "B", ""), group(&trip, "B", "/word"));
    let client = app.divemaster();
    let tomas = trip.person(TOMAS).to_string();
    let under = [("word", "well"), ("said_by", tomas.as_str())];
    let refused = client.post(&action, &under).await;
    assert_eq!(
        refused.is(422).one("#said_by-fault"),
        "Tomas Reyl is not up. Ask somebody of the group who is."
    );
    // The only one who is up is chosen already.
    client
        .submit(&page, &action, &[("word", "well")])
        .await
        .is(303);
    app.wait(minutes(6));
    let seen = watch(&app.state(&trip).await, app.clock.now());
    assert_eq!(seen.alerts, []);
    client
        .submit(&page, &action, &[("word", "lost")])
        .await
        .is(303);
    let seen = watch(&app.state(&trip).await, app.clock.now());
    assert!(matches!(seen.alerts[0].cause, Cause::LostContact { .. }));
}

#[tokio::test]
async fn a_call_for_help_needs_no_name_and_counts_nobody_up() {
    let app = App::new().await;
    let trip = with_b_down(&app).await;
    heads(&app, &trip, &[], "help").await.is(303);
    let state = app.state(&trip).await;
    let seen = watch(&state, app.clock.now());
    assert_eq!(seen.alerts[0].priority, Priority::Emergency);
    assert_eq!(seen.under, 4);
    assert_eq!(
        state.emergency.unwrap().declared.what,
        "Group Bravo signals for help"
    );
}

#[tokio::test]
async fn a_call_for_help_names_who_is_at_the_surface_whatever_else_was_typed() {
    let app = App::new().await;
    let trip = with_b_down(&app).await;
    heads(&app, &trip, &[MARA, TOMAS], "well").await.is(303);
    let (page, action) = (group(&trip, "B", ""), group(&trip, "B", "/surface"));
    let fields = [("signal", "help"), ("range", "far"), ("at", "soon")];
    app.divemaster()
        .submit(&page, &action, &fields)
        .await
        .is(303);
    let state = app.state(&trip).await;
    assert!(person(&state, &trip, MARA).distress && person(&state, &trip, TOMAS).distress);
    assert_eq!(person(&state, &trip, ANOUK).place, Place::InWater);
    let seen = watch(&state, app.clock.now());
    assert!(matches!(seen.alerts[0].cause, Cause::Distress { .. }));
}

// Aboard

#[tokio::test]
async fn one_tap_logs_one_person_aboard_and_can_be_taken_back_for_a_minute() {
    let app = App::new().await;
    let trip = with_b_down(&app).await;
    heads(&app, &trip, &[MARA, TOMAS], "well").await.is(303);
    let answer = aboard_now(&app, &trip, MARA).await;
    let state = app.state(&trip).await;
    assert_eq!(person(&state, &trip, MARA).place, Place::Aboard);
    assert_eq!(person(&state, &trip, TOMAS).place, Place::AtSurface);
    let dive = &person(&state, &trip, MARA).dives[&1];
    assert_eq!(dive.seen_by.as_deref(), Some("Jonne Aalto"));
    let client = app.divemaster();
    let shown = client.get(answer.location()).await;
    assert!(shown.one(".undo p").starts_with("Mara Lind aboard"));
    let undo = deck(&trip, "/undo");
    client.submit(answer.location(), &undo, &[]).await.is(303);
    let state = app.state(&trip).await;
    assert_eq!(person(&state, &trip, MARA).place, Place::AtSurface);
    // After a minute there is no undo, and the tap is taken back with a reason instead.
    let answer = aboard_now(&app, &trip, MARA).await;
    app.wait(SignedDuration::from_secs(61));
    let shown = client.get(answer.location()).await;
    assert_eq!(shown.count(".undo"), 0);
    let late = client.post(&undo, &[("event", &did(&answer))]).await;
    assert_eq!(late.is(422).count("#reason"), 1);
}

#[tokio::test]
async fn the_same_tap_sent_twice_counts_once_and_who_is_back_is_not_boarded_again() {
    let app = App::new().await;
    let trip = with_b_down(&app).await;
    let client = app.divemaster();
    let page = client.get(&group(&trip, "B", "")).await;
    let form = page.form(&deck(&trip, "/aboard"));
    let events = app.state(&trip).await.events;
    let first = client.post_raw(&deck(&trip, "/aboard"), &form).await;
    let again = client.post_raw(&deck(&trip, "/aboard"), &form).await;
    assert_eq!(first.location(), again.location());
    assert_eq!(app.state(&trip).await.events, events + 1);
    let name = [MARA, TOMAS, ANOUK, DARIO]
        .into_iter()
        .find(|name| {
            form.iter()
                .any(|(_, v)| *v == trip.person(name).to_string())
        })
        .unwrap();
    let refused = aboard_now(&app, &trip, name).await;
    assert!(
        refused
            .is(422)
            .one("#problem")
            .contains("is not out: never in, or back already.")
    );
}

#[tokio::test]
async fn a_return_says_bar_depth_stop_and_trouble_and_refuses_what_cannot_be() {
    let app = App::new().await;
    let trip = with_b_down(&app).await;
    app.wait(minutes(45));
    let path = returns_of(&trip, MARA);
    let client = app.divemaster();
    let wrong = [("bar", "250"), ("depth", "1800"), ("at", "12:40")];
    let refused = client.submit(&path, &path, &wrong).await;
    assert_eq!(refused.is(422).count("#depth-fault"), 1);
    assert_eq!(refused.attributes("#bar", "value"), ["250"]);
    assert_eq!(refused.attributes("#at", "value"), ["12:40"]);
    let more = [("bar", "250"), ("depth", "18.2")];
    let refused = client.submit(&path, &path, &more).await;
    assert_eq!(
        refused.is(422).one("#bar-fault"),
        "That is more than the 200 bar at the start. Read the gauge again."
    );
    let fields = [
        ("bar", "70"),
        ("depth", "18.2"),
        ("stop", "done"),
        ("trouble", "Lost a fin"),
        ("surfaced_at", "12:41"),
        ("vessel", "tender"),
    ];
    client.submit(&path, &path, &fields).await.is(303);
    let state = app.state(&trip).await;
    let mara = person(&state, &trip, MARA);
    let dive = &mara.dives[&1];
    assert_eq!(mara.place, Place::Aboard);
    assert_eq!((dive.bar, dive.greatest_depth_m), (Some(70.0), Some(18.2)));
    assert_eq!(dive.stop_done, Some(true));
    assert_eq!(dive.problem.as_deref(), Some("Lost a fin"));
    let up: Timestamp = "2026-06-01T10:41:00Z".parse().unwrap();
    assert_eq!(dive.surfaced_at, Some(up));
}

#[tokio::test]
async fn a_diver_on_the_wrong_boat_is_confirmed_by_that_boats_named_person() {
    let app = App::new().await;
    let trip = with_b_down(&app).await;
    let path = returns_of(&trip, MARA);
    let client = app.divemaster();
    let hearsay = [("vessel", "other"), ("vessel_name", "Dun Plover")];
    let refused = client.submit(&path, &path, &hearsay).await;
    assert_eq!(
        refused.is(422).one("#seen_by-fault"),
        "Name who sees them there. Until then they are not accounted for."
    );
    assert_eq!(refused.attributes("#vessel_name", "value"), ["Dun Plover"]);
    let state = app.state(&trip).await;
    assert_eq!(person(&state, &trip, MARA).place, Place::InWater);
    let seen = [
        ("vessel", "other"),
        ("vessel_name", "Dun Plover"),
        ("seen_by", "Ragna Sool"),
    ];
    client.submit(&path, &path, &seen).await.is(303);
    let state = app.state(&trip).await;
    assert_eq!(person(&state, &trip, MARA).place, Place::OtherVessel);
    let log = app.store.entries(trip.id, 0).await.unwrap();
    let Fact::Aboard(aboard) = &log.last().unwrap().event.fact else {
        panic!("{:?}", log.last());
    };
    assert_eq!(aboard.seen_by, "Ragna Sool");
    let name = "Dun Plover".to_owned();
    assert_eq!(aboard.vessel, Vessel::Other { name });
}

#[tokio::test]
async fn a_wrong_face_is_corrected_and_the_error_stays_in_the_history() {
    let app = App::new().await;
    let trip = with_b_down(&app).await;
    heads(&app, &trip, &[MARA, TOMAS], "well").await.is(303);
    let wrong = did(&aboard_now(&app, &trip, MARA).await);
    app.wait(minutes(3));
    let path = deck(&trip, &format!("/entry/{wrong}"));
    let client = app.divemaster();
    let tomas = trip.person(TOMAS).to_string();
    let refused = client.submit(&path, &path, &[("right", &tomas)]).await;
    assert_eq!(refused.is(422).one("#reason-fault"), "Fill this in.");
    let fields = [("right", tomas.as_str()), ("reason", "Wrong face")];
    client.submit(&path, &path, &fields).await.is(303);
    let state = app.state(&trip).await;
    assert_eq!(person(&state, &trip, MARA).place, Place::AtSurface);
    assert_eq!(person(&state, &trip, TOMAS).place, Place::Aboard);
    let shown = client.get(&group(&trip, "B", "")).await;
    let history = shown.all(".entry");
    assert!(
        history.iter().any(|e| e.contains("Mara Lind aboard")
            && e.contains("Does not count: Wrong face (Jonne Aalto)")
            && e.contains("Deck of Jonne Aalto")),
        "{history:?}"
    );
    // What was taken back is not taken back again.
    client.post(&path, &fields).await.is(422);
}

#[tokio::test]
async fn a_word_of_danger_is_the_skippers_to_take_back() {
    let app = App::new().await;
    let trip = with_b_down(&app).await;
    let event = did(&heads(&app, &trip, &[MARA], "help").await);
    app.wait(minutes(2));
    let path = deck(&trip, &format!("/entry/{event}"));
    let reason = [("reason", "She waved at a friend")];
    let refused = app.divemaster().submit(&path, &path, &reason).await;
    assert!(
        refused
            .is(422)
            .one("#problem")
            .contains("Only the skipper takes back a word of danger.")
    );
    // The divemaster is out of touch by then, so the skipper's word alone will do.
    app.wait(minutes(2));
    app.skipper().submit(&path, &path, &reason).await.is(303);
    let state = app.state(&trip).await;
    assert_eq!(person(&state, &trip, MARA).place, Place::InWater);
}

#[tokio::test]
async fn a_return_logged_twenty_minutes_late_ends_the_alarm_and_keeps_both_times() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "D").await;
    app.wait(minutes(70));
    let state = app.state(&trip).await;
    let overdue = |state: &State| {
        watch(state, app.clock.now())
            .alerts
            .iter()
            .any(|a| a.priority <= Priority::Alarm && a.until.is_none())
    };
    assert!(overdue(&state));
    let client = app.divemaster();
    for name in ["Noor Adan", "Pavel Strand"] {
        let path = returns_of(&trip, name);
        let at = [("at", "12:50"), ("bar", "60")];
        client.submit(&path, &path, &at).await.is(303);
    }
    let state = app.state(&trip).await;
    assert!(!overdue(&state));
    let happened: Timestamp = "2026-06-01T10:50:00Z".parse().unwrap();
    for name in ["Noor Adan", "Pavel Strand"] {
        let dive = &person(&state, &trip, name).dives[&1];
        // A surface interval runs from when it happened.
        assert_eq!(dive.surfaced_at, Some(happened));
    }
    let log = app.store.entries(trip.id, 0).await.unwrap();
    let last = log.last().unwrap();
    assert_eq!(last.event.at, happened);
    assert_eq!(last.receipt.recorded_at, app.clock.now());
    let shown = client.get(&group(&trip, "D", "")).await;
    assert!(
        shown
            .all(".entry b")
            .contains(&"12:50, logged 13:10".to_owned())
    );
}

#[tokio::test]
async fn who_is_back_without_bar_or_depth_is_listed_until_both_are_said() {
    let app = App::new().await;
    let trip = with_b_down(&app).await;
    aboard_now(&app, &trip, MARA).await.is(303);
    let path = deck(&trip, "/returns");
    let client = app.divemaster();
    let shown = client.get(&path).await;
    assert_eq!(shown.is(200).all(".missing legend a"), [MARA]);
    assert_eq!(shown.count(".mates .mate"), 4);
    let (bar, depth) = (
        format!("bar-{}", trip.person(MARA)),
        format!("depth-{}", trip.person(MARA)),
    );
    let refused = client.submit(&path, &path, &[]).await;
    assert_eq!(
        refused.is(422).one(".fault"),
        "Log at least one thing you see."
    );
    let refused = client.submit(&path, &path, &[(&bar, "-3")]).await;
    assert_eq!(
        refused
            .is(422)
            .attributes(&format!("[id='{bar}']"), "value"),
        ["-3"]
    );
    client.submit(&path, &path, &[(&bar, "80")]).await.is(303);
    assert_eq!(client.get(&path).await.all(".missing legend a"), [MARA]);
    client
        .submit(&path, &path, &[(&depth, "17,5")])
        .await
        .is(303);
    let shown = client.get(&path).await;
    assert_eq!(shown.count(".missing"), 0);
    let dive = &app.state(&trip).await.people[&trip.person(MARA)].dives[&1];
    assert_eq!((dive.bar, dive.greatest_depth_m), (Some(80.0), Some(17.5)));
}

/// A keypad of figures is asked for, what was planned is not sent, and one tap logs the pair.
#[tokio::test]
async fn bar_depth_and_time_up_of_a_whole_group_are_logged_in_one_go_or_not_at_all() {
    let app = App::new().await;
    let trip = with_b_down(&app).await;
    app.wait(minutes(46));
    for name in [MARA, TOMAS] {
        aboard_now(&app, &trip, name).await.is(303);
    }
    app.wait(minutes(4));
    let (path, client) = (deck(&trip, "/returns"), app.divemaster());
    let of = |what: &str, name: &str| format!("{what}-{}", trip.person(name));
    let shown = client.get(&path).await;
    assert_eq!(shown.count("form.missing"), 1, "one form for the group");
    for (what, mode, hold) in [("bar", "numeric", ""), ("depth", "decimal", "plan 18")] {
        let input = format!("[id='{}']", of(what, TOMAS));
        assert_eq!(shown.attributes(&input, "inputmode"), [mode]);
        assert_eq!(shown.attributes(&input, "placeholder"), [hold]);
        assert_eq!(shown.attributes(&input, "value"), [""]);
    }
    let before = app.state(&trip).await.events;
    let (bar, up) = (of("bar", MARA), of("up", MARA));
    let (other, depth) = (of("bar", TOMAS), of("depth", TOMAS));
    let two = |second: &'static str, at: &'static str| {
        [
            (bar.as_str(), "80"),
            (up.as_str(), at),
            (other.as_str(), second),
            (depth.as_str(), "17,5"),
        ]
    };
    // More than the 200 bar it went in with; a time before the drop: each beside its field.
    let refused = client.submit(&path, &path, &two("230", "1155")).await;
    assert_eq!(refused.is(422).count(&format!("[id='{other}-fault']")), 1);
    assert_eq!(refused.count(&format!("[id='{up}-fault']")), 1);
    assert_eq!(
        app.state(&trip).await.events,
        before,
        "all of it or nothing"
    );
    client
        .submit(&path, &path, &two("65", "1244"))
        .await
        .is(303);
    let state = app.state(&trip).await;
    let dive = |name: &str| state.people[&trip.person(name)].dives[&1].clone();
    assert_eq!(
        (dive(MARA).bar, dive(MARA).greatest_depth_m),
        (Some(80.0), None)
    );
    let zone = jiff::tz::TimeZone::get("Etc/GMT-2").unwrap();
    let up = dive(MARA).surfaced_at.unwrap().to_zoned_datetime(zone);
    assert_eq!(up.strftime("%H:%M").to_string(), "12:44");
    assert_eq!(
        (dive(TOMAS).bar, dive(TOMAS).greatest_depth_m),
        (Some(65.0), Some(17.5))
    );
    assert_eq!(client.get(&path).await.all(".missing legend a"), [MARA]);
}

#[tokio::test]
async fn details_follow_later_and_an_empty_form_says_nothing() {
    let app = App::new().await;
    let trip = with_b_down(&app).await;
    aboard_now(&app, &trip, MARA).await.is(303);
    let path = returns_of(&trip, MARA);
    let client = app.divemaster();
    let refused = client.submit(&path, &path, &[]).await;
    assert_eq!(refused.is(422).count("#bar-fault"), 1);
    // Where she is was said; the page no longer asks it.
    assert_eq!(refused.count("#vessel"), 0);
    client
        .submit(&path, &path, &[("stop", "missed")])
        .await
        .is(303);
    let dive = &app.state(&trip).await.people[&trip.person(MARA)].dives[&1];
    assert_eq!(dive.stop_done, Some(false));
}

// The lookout and the snorkellers

#[tokio::test]
async fn the_lookout_is_posted_relieved_in_an_hour_and_not_let_go_while_people_are_out() {
    let app = App::new().await;
    let trip = with_b_down(&app).await;
    let path = deck(&trip, "/lookout");
    let client = app.divemaster();
    let shown = client.get(&path).await;
    assert!(
        shown
            .one(".keeper")
            .contains("Lookout: Jonne Aalto, since 12:00")
    );
    let due = shown.attributes(".relief .numeral", "data-due");
    assert_eq!(due, ["2026-06-01T11:00:00Z"]);
    assert_eq!(shown.count(".ledger .row"), 1);
    let refused = client.post(&deck(&trip, "/lookout/relieve"), &[]).await;
    assert!(
        refused
            .is(422)
            .one("#problem")
            .contains("People are in the water: post another lookout instead.")
    );
    client.post(&path, &[("lookout", " ")]).await.is(422);
    client.post(&path, &[("lookout", "Ruta Sol")]).await.is(303);
    let state = app.state(&trip).await;
    assert_eq!(state.lookout.unwrap().name, "Ruta Sol");
}

#[tokio::test]
async fn the_lookout_calls_help_in_one_tap_and_is_asked_whose_it_is() {
    let app = App::new().await;
    let trip = with_b_down(&app).await;
    let client = app.divemaster();
    let answer = client.post(&deck(&trip, "/lookout/help"), &[]).await;
    let shown = client.get(answer.location()).await;
    assert_eq!(shown.one("h1"), "Who signals for help?");
    assert!(shown.one("#strip").contains("Signal for help seen"));
    let links = shown.attributes(".row-link", "href");
    assert_eq!(links, [group(&trip, "B", "#heads")]);
    let buoys = client.get(&deck(&trip, "/seen/buoy")).await;
    let links = buoys.attributes(".row-link", "href");
    assert_eq!(links, [group(&trip, "B", "/buoy")]);
}

#[tokio::test]
async fn snorkellers_go_in_by_name_and_come_back_one_by_one() {
    let app = App::new().await;
    let trip = app.trip().await;
    let path = deck(&trip, "/swim");
    let client = app.divemaster();
    let refused = client.submit(&path, &path, &[]).await;
    assert_eq!(refused.is(422).count("#persons-fault"), 1);
    let keno = trip.person("Keno Marsh").to_string();
    client
        .submit(&path, &path, &[("persons", &keno)])
        .await
        .is(303);
    let mara = trip.person(MARA).to_string();
    let refused = client.post(&path, &[("persons", &mara)]).await;
    assert!(
        refused
            .is(422)
            .one("#problem")
            .contains("Mara Lind is not aboard as a snorkeller.")
    );
    assert_eq!(app.state(&trip).await.not_accounted().count(), 1);
    let help = deck(&trip, "/swim/help");
    client.submit(&path, &help, &[]).await.is(303);
    let state = app.state(&trip).await;
    assert!(person(&state, &trip, "Keno Marsh").distress);
    let answer = client.submit(&path, &deck(&trip, "/aboard"), &[]).await;
    assert!(answer.location().starts_with(&path));
    let state = app.state(&trip).await;
    assert_eq!(person(&state, &trip, "Keno Marsh").place, Place::Aboard);
    assert_eq!(
        person(&state, &trip, "Keno Marsh").card.activity,
        Activity::Snorkeller
    );
}

#[tokio::test]
async fn every_page_of_the_deck_has_one_heading_and_each_reference_finds_its_mark() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.check_drop(&trip, "C").await;
    app.drop_group(&trip, "B").await;
    heads(&app, &trip, &[MARA], "none").await.is(303);
    let event = did(&aboard_now(&app, &trip, TOMAS).await);
    let pages = [
        deck(&trip, ""),
        group(&trip, "B", ""),
        group(&trip, "C", ""),
        group(&trip, "D", ""),
        group(&trip, "B", "/buoy"),
        group(&trip, "B", "/time"),
        returns_of(&trip, MARA),
        returns_of(&trip, TOMAS),
        deck(&trip, "/returns"),
        deck(&trip, "/lookout"),
        deck(&trip, "/seen/heads"),
        deck(&trip, "/swim"),
        deck(&trip, &format!("/entry/{event}")),
    ];
    for path in pages {
        let page = app.divemaster().get(&path).await;
        assert_eq!(page.is(200).count("h1"), 1, "{path}");
        let ids = page.attributes("[id]", "id");
        let once: std::collections::BTreeSet<_> = ids.iter().collect();
        assert_eq!(once.len(), ids.len(), "{path}: an id stands twice");
        let mut named = page.attributes("label[for]", "for");
        named.extend(page.attributes("[form]", "form"));
        for words in page.attributes("[aria-describedby]", "aria-describedby") {
            named.extend(words.split_whitespace().map(ToOwned::to_owned));
        }
        for href in page.attributes("a[href^='#']", "href") {
            named.push(href.trim_start_matches('#').to_owned());
        }
        for id in named {
            assert!(once.contains(&id), "{path}: nothing is called {id}");
        }
        assert!(!page.text().contains(" style="), "{path}");
        assert!(!page.text().contains('{'), "{path}: a word is missing");
    }
}

#[tokio::test]
async fn a_call_for_help_is_taken_back_by_the_skipper_and_a_second_who_is_in_touch() {
    let app = App::new().await;
    let trip = with_b_down(&app).await;
    app.wait(minutes(20));
    app.surfaced(&trip, &[MARA], Signal::Help).await;
    let log = app.store.entries(trip.id, 0).await.unwrap();
    let help = log.last().unwrap().event.id;
    app.wait(minutes(2));
    let entry = deck(&trip, &format!("/entry/{help}"));
    let (skipper, divemaster) = (app.skipper(), app.divemaster());
    let why = [("reason", "Waved at a gull")];
    divemaster.get(&deck(&trip, "")).await.is(200);
    // Alone, who is no skipper takes back nothing.
    divemaster.submit(&entry, &entry, &why).await.is(422);
    let in_distress = async || person(&app.state(&trip).await, &trip, MARA).distress;
    let asked = skipper.submit(&entry, &entry, &why).await;
    let told = skipper.get(asked.location()).await.one(".undo");
    assert!(told.starts_with("Still counts until a second"), "{told}");
    assert!(
        in_distress().await,
        "a second is in touch and has not agreed"
    );
    let again = skipper.submit(&entry, &entry, &why).await;
    assert!(again.is(422).text().contains("took this back already"));
    let waits = divemaster.get(&entry).await.one("main .caution");
    assert!(
        waits.starts_with("Ilka Voss takes this back: Waved at a gull"),
        "{waits}"
    );
    let log = skipper.get(&format!("/desk/{}/log", trip.id)).await;
    assert!(log.text().contains("takes this back: Waved at a gull"));
    divemaster
        .submit(&entry, &entry, &[("reason", "I saw it too")])
        .await
        .location();
    assert!(!in_distress().await);
}

#[tokio::test]
async fn a_skipper_whom_nobody_could_second_takes_a_call_for_help_back_alone() {
    let app = App::new().await;
    let trip = with_b_down(&app).await;
    app.divemaster().get(&deck(&trip, "")).await.is(200);
    app.wait(minutes(20));
    app.surfaced(&trip, &[MARA], Signal::Help).await;
    let log = app.store.entries(trip.id, 0).await.unwrap();
    let entry = deck(&trip, &format!("/entry/{}", log.last().unwrap().event.id));
    app.wait(minutes(2));
    app.desk().get(&format!("/desk/{}", trip.id)).await.is(200);
    let why = [("reason", "Waved at a gull")];
    app.skipper().submit(&entry, &entry, &why).await.location();
    assert!(!person(&app.state(&trip).await, &trip, MARA).distress);
}

// A plan that breaks a limit

/// Given mixed certifications, when a plan goes to 28 m, then the weakest member's limit keeps
/// the group aboard until somebody on board releases it by name, up to the drop.
#[tokio::test]
async fn a_plan_beyond_the_weakest_limit_is_released_by_name_before_the_drop() {
    let app = App::new().await;
    let trip = app.trip().await;
    let client = app.divemaster();
    let noor = trip.person("Noor Adan");
    app.decide(&trip, &app.desk, |state, _| {
        let mut card = state.people[&noor].card.clone();
        card.depth_limit_m = deckwatch::units::Depth::from_m(18.0).ok();
        deckwatch::trip::decide::change_person(state, noor, card)
    })
    .await;
    let page = group(&trip, "D", "");
    let holds = client.get(&page).await;
    assert!(
        holds
            .is(200)
            .one(".before-drop")
            .contains("No limit is broken")
    );
    let leave = "Leave the bottom at 60 bar";
    assert_eq!(holds.all(".leaving .numeral"), [leave, leave]);
    assert_eq!(holds.count("#release"), 0);
    let plan = format!("/desk/{}/plan/{}", trip.id, trip.group("D"));
    let deep = [("depth-0", "28"), ("minutes-0", "15"), ("do", "save")];
    app.desk().submit(&plan, &plan, &deep).await.location();

    let shown = client.get(&page).await;
    assert_eq!(shown.count(".leaving .broken"), 1);
    let said = shown.one(".leaving .broken");
    assert!(
        said.contains("Noor Adan") && said.contains("18 m"),
        "{said}"
    );
    assert!(shown.one(".before-drop").contains("Nobody has released it"));
    let check = group(&trip, "D", "/check");
    let ticks = [("engine_neutral", "yes"), ("flag_shown", "yes")];
    let refused = client.submit(&page, &check, &ticks).await;
    let links = refused.is(422).attributes(".problem a", "href");
    assert_eq!(links, ["#release"], "what it breaks stands on the page");
    assert_eq!(refused.count("#release"), 1);
    assert!(refused.one("#release-fault").contains("release it by name"));
    assert_eq!(refused.count("#flag_shown[checked]"), 1, "ticks stay");
    assert_eq!(
        app.state(&trip).await.groups[&trip.group("D")].checked,
        None
    );

    let release = group(&trip, "D", "/release");
    let empty = client.submit(&page, &release, &[("release", " ")]).await;
    assert_eq!(empty.is(422).count("#release-fault"), 1);
    app.desk()
        .post(&release, &[("release", "it is fine")])
        .await
        .is(403);
    let reason = [("release", "guided one to one, clear water")];
    client.submit(&page, &release, &reason).await.location();
    let shown = client.get(&page).await;
    let released = shown.one(".released");
    assert!(
        released.contains("Jonne Aalto: guided one to one"),
        "{released}"
    );
    assert_eq!(shown.count("#release"), 0);
    assert_eq!(
        shown.count(".leaving .broken"),
        1,
        "what is broken stays in sight"
    );
    client.submit(&page, &check, &ticks).await.location();
    let drop = group(&trip, "D", "/drop");
    client.submit(&page, &drop, &[]).await.location();
    let state = app.state(&trip).await;
    assert!(state.groups[&trip.group("D")].drop.is_some());
    let gone = client.get(&page).await;
    assert_eq!(gone.count(".before-drop"), 0);
    client.post(&release, &reason).await.is(422);
}

#[tokio::test]
async fn a_dive_on_another_boat_is_told_at_the_drop_and_reckoned_at_the_check() {
    let app = App::new().await;
    let other = app.trip().await;
    app.drop_group(&other, "B").await;
    app.wait(minutes(75));
    app.surfaced(&other, &B, Signal::Well).await;
    app.aboard(&other, &B).await;
    app.wait(minutes(15));
    let mut trip = app.empty_trip().await;
    for name in ["Ilka Voss", "Jonne Aalto"] {
        let known = other.person(name);
        app.join_known(&mut trip, name, Activity::Crew, known).await;
    }
    for name in [MARA, TOMAS] {
        let known = other.person(name);
        app.join_known(&mut trip, name, Activity::Diver, known)
            .await;
    }
    let planned = deckwatch::trip::event::DivePlanned {
        site: crate::trip::site_sheet(),
    };
    app.decide(&trip, &app.desk, move |state, _| {
        deckwatch::trip::decide::plan_dive(state, 1, planned)
    })
    .await;
    app.form(&mut trip, "B", &[&[MARA, TOMAS]]).await;
    app.sail(&trip).await;
    // By this trip's log alone they are rested, and 40 min at 18 m hold.
    let client = app.divemaster();
    let page = group(&trip, "B", "");
    let shown = client.get(&page).await;
    assert_eq!(
        shown.is(200).count(".leaving .broken"),
        2,
        "{}",
        shown.text()
    );
    assert_eq!(shown.count(".owes"), 1);
    let check = group(&trip, "B", "/check");
    let ticks = [("engine_neutral", "yes"), ("flag_shown", "yes")];
    let refused = client.submit(&page, &check, &ticks).await;
    assert!(
        refused
            .is(422)
            .one("#release-fault")
            .contains("release it by name")
    );
    let told = async || {
        let state = app.state(&trip).await;
        state.people[&trip.person(MARA)].earlier.len()
    };
    assert_eq!(told().await, 0, "a refused form writes nothing");
    let reason = [("release", "stops planned, spare gas hangs below")];
    client
        .submit(&page, &group(&trip, "B", "/release"), &reason)
        .await
        .location();
    assert_eq!(told().await, 1);
    let done = client.submit(&page, &check, &ticks).await;
    let shown = client.get(done.location()).await;
    assert_eq!(
        shown.count("form[action$='/undo']"),
        1,
        "the tap itself is undone"
    );
    client
        .submit(&page, &group(&trip, "B", "/drop"), &[])
        .await
        .location();
    let state = app.state(&trip).await;
    let drop = state.groups[&trip.group("B")].drop.as_ref().unwrap();
    assert!(!drop.owes.is_empty(), "what is owed is frozen");
    assert_eq!(told().await, 1);
}
