//! The sea on pages: chart and bearings, a buoy tapped, what conditions bring, briefing cards.

use deckwatch::trip::event::Signal;
use deckwatch::trip::state::Seen;
use jiff::SignedDuration;

use crate::app::App;
use crate::trip::Trip;

fn helm(trip: &Trip, page: &str) -> String {
    format!("/helm/{}/{page}", trip.id)
}

#[tokio::test]
async fn the_chart_tells_the_same_as_a_drawing_and_as_a_list() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "B").await;
    app.drop_group(&trip, "D").await;
    let page = app.skipper().get(&helm(&trip, "chart")).await;
    page.is(200);
    assert_eq!(page.count("svg.sea-chart"), 1);
    assert_eq!(page.count("svg.sea-chart .chart-likely"), 2);
    assert_eq!(page.count("ul.bearings .bearing a"), 2, "{}", page.text());
    for word in ["Not for navigation", "WGS 84", "likely area, valid"] {
        assert!(page.text().contains(word), "{word}");
    }
    assert!(
        page.text()
            .contains("reference place: where the boat lies is not known")
    );
    // The divemaster sees the same.
    let deck = format!("/deck/{}/chart", trip.id);
    app.divemaster().get(&deck).await.is(200);
    app.desk().get(&helm(&trip, "chart")).await.is(403);
}

#[tokio::test]
async fn an_old_place_of_the_boat_is_never_used_silently() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "B").await;
    let typed = [("latitude", "45 0.1 N"), ("longitude", "30 0.1 W")];
    let there = helm(&trip, "position");
    app.skipper().post(&there, &typed).await.location();
    let chart = app.skipper().get(&helm(&trip, "chart")).await;
    assert!(
        chart.text().contains("From the boat at 45"),
        "{}",
        chart.text()
    );
    assert!(!chart.text().contains("The boat's place is of"));
    app.wait(SignedDuration::from_mins(30));
    for page in ["chart", "pickup"] {
        let old = app.skipper().get(&helm(&trip, page)).await;
        assert!(
            old.text()
                .contains("30 min ago: bearings and runs start from"),
            "{page}"
        );
    }
}

#[tokio::test]
async fn a_buoy_is_logged_where_the_chart_was_tapped() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "B").await;
    app.drop_group(&trip, "D").await;
    let tapped = helm(&trip, "buoy?east=100&north=-50");
    let page = app.skipper().get(&tapped).await;
    page.is(200);
    assert_eq!(page.count("input[name=lat]"), 1);
    let group = trip.group("D").to_string();
    let path = helm(&trip, "buoy");
    for bad in [
        vec![("colour", "orange")],
        vec![("group", group.as_str())],
        vec![("group", "nonsense"), ("colour", "orange")],
        vec![
            ("group", group.as_str()),
            ("colour", "orange"),
            ("lat", "95"),
            ("lon", "1"),
        ],
    ] {
        app.skipper().post(&path, &bad).await.is(422);
    }
    let seen = [
        ("group", group.as_str()),
        ("colour", "orange"),
        ("lat", "44.99955"),
        ("lon", "-29.99873"),
    ];
    app.skipper().post(&path, &seen).await.location();
    let state = app.state(&trip).await;
    let sightings = &state.groups[&trip.group("D")].sightings;
    assert_eq!(sightings.len(), 1);
    assert!(matches!(sightings[0].what, Seen::Buoy(_)));
    let place = sightings[0].place.unwrap();
    assert!((place.lon_deg() + 29.99873).abs() < 1e-9);
    let chart = app.skipper().get(&helm(&trip, "chart")).await;
    assert_eq!(chart.count(".chart-sighting"), 1);
    // A tap that is no place opens the form with bearing and range.
    for nonsense in ["east=NaN&north=1", "east=1", "east=1e9&north=0", ""] {
        let page = app
            .skipper()
            .get(&helm(&trip, &format!("buoy?{nonsense}")))
            .await;
        page.is(200);
        assert_eq!(page.count("input[name=bearing]"), 1, "{nonsense}");
    }
}

#[tokio::test]
async fn conditions_say_what_they_bring_before_and_after_they_are_logged() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "B").await;
    app.surfaced(&trip, &["Mara Lind"], Signal::Well).await;
    let path = helm(&trip, "conditions");
    let fields = |what: &'static str| [("set_deg", "0"), ("drift_kn", "1"), ("do", what)];
    let asked = app.skipper().post(&path, &fields("check")).await;
    asked.is(200);
    assert!(asked.text().contains("Best zone"), "{}", asked.text());
    assert!(asked.text().contains("drifts within the stand-off of"));
    assert!(
        app.state(&trip).await.conditions.current().is_none(),
        "nothing is logged"
    );
    app.skipper().post(&path, &fields("log")).await.location();
    let page = app.skipper().get(&path).await;
    assert!(page.text().contains("drifts within the stand-off of"));
    let chart = app.skipper().get(&helm(&trip, "chart")).await;
    assert_eq!(chart.count(".bearing.drifting"), 1);
}

#[tokio::test]
async fn a_group_has_its_briefing_on_the_phone_and_in_print() {
    let app = App::new().await;
    let trip = app.trip().await;
    let group = trip.group("B");
    let card = format!("/deck/{}/group/{group}/briefing", trip.id);
    let page = app.divemaster().get(&card).await;
    page.is(200);
    assert_eq!(page.count(".briefing dl.facts dt"), 8);
    for word in [
        "Recall",
        "agree on one now",
        "run time",
        "Zones, as they stand",
    ] {
        assert!(page.text().contains(word), "{word}: {}", page.text());
    }
    let cards = app
        .desk()
        .get(&format!("/desk/{}/briefings/1", trip.id))
        .await;
    cards.is(200);
    assert_eq!(cards.count(".briefing"), 3);
    let none = format!("/desk/{}/briefings/9", trip.id);
    app.desk().get(&none).await.is(404);
}

#[tokio::test]
async fn a_plan_past_sunset_shows_its_conflict_when_it_is_saved() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let plan = format!("/desk/{}/plan/{}", trip.id, trip.group("B"));
    let page = app.desk().get(&plan).await;
    assert!(!page.text().contains("Ends after sunset"));
    let with = |changes: &[(&str, &str)]| {
        let mut fields = page.form(&plan);
        for (name, value) in changes {
            fields.retain(|(known, _)| known != name);
            fields.push(((*name).to_owned(), (*value).to_owned()));
        }
        fields
    };
    let wrong = with(&[("do", "check"), ("enters", "half past")]);
    app.desk().post_raw(&plan, &wrong).await.is(422);
    let late = with(&[("do", "save"), ("enters", "23:20")]);
    app.desk().post_raw(&plan, &late).await.location();
    let page = app.desk().get(&plan).await;
    assert!(page.text().contains("23:20"));
    assert!(page.text().contains("Ends after sunset"), "{}", page.text());
    let card = format!("/deck/{}/group/{}/briefing", trip.id, trip.group("B"));
    let card = app.divemaster().get(&card).await;
    assert!(card.text().contains("Ends after sunset"));
}
