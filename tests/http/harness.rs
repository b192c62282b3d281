//! The harness itself: what the other modules stand on is as they think it is.

use deckwatch::trip::event::{About, Fact, PersonMissing, Point, Signal};
use deckwatch::trip::state::{Phase, Place};

use crate::app::App;
use crate::trip::ROSTER;

#[tokio::test]
async fn the_trip_is_on_its_site_with_everybody_counted() {
    let app = App::new().await;
    let trip = app.trip().await;
    let state = app.state(&trip).await;
    assert_eq!(state.phase, Phase::OnSite);
    assert_eq!(state.aboard(), ROSTER.len());
    assert!(state.lookout.is_some());
    let verdict = app.store.verify().await.unwrap();
    assert_eq!(verdict.flaws, []);
}

#[tokio::test]
async fn a_group_goes_in_and_comes_back_through_the_rules() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "B").await;
    app.wait(jiff::SignedDuration::from_mins(40));
    app.buoy(&trip, "B").await;
    app.surfaced(&trip, &["Mara Lind", "Tomas Reyl"], Signal::Well)
        .await;
    app.aboard(&trip, &["Mara Lind"]).await;
    let state = app.state(&trip).await;
    let place = |name: &str| state.people[&trip.person(name)].place;
    assert_eq!(place("Mara Lind"), Place::Aboard);
    assert_eq!(place("Tomas Reyl"), Place::AtSurface);
    assert_eq!(place("Anouk Petri"), Place::InWater);
    assert_eq!(state.dive_of(Point::Leaving), 1);
}

#[tokio::test]
async fn each_place_of_work_is_signed_in_and_a_stranger_is_not() {
    let app = App::new().await;
    for client in [app.skipper(), app.divemaster(), app.desk()] {
        client.get("/").await.is(200);
    }
    let asked = app.stranger().get("/").await;
    assert_eq!(asked.location(), "/sign-in?to=%2F");
    let page = app.enrolled().await.get("/sign-in").await;
    assert_eq!(page.is(200).count("h1"), 1);
}

#[tokio::test]
async fn a_form_is_filled_as_a_browser_fills_it() {
    let app = App::new().await;
    let client = app.enrolled().await;
    let shown = client.get("/sign-in").await;
    assert!(!shown.attributes("form", "action").is_empty());
    let filled = [("name", "Ilka Voss"), ("pin", app.helm.pin.as_str())];
    let signed = client.submit("/sign-in", "/sign-in", &filled).await;
    assert_eq!(signed.location(), "/");
    let wrong = client.post("/sign-in", &[("name", "Ilka Voss"), ("pin", "000000")]);
    wrong.await.is(422);
}

#[tokio::test]
async fn a_fact_that_the_rules_would_refuse_can_be_told_all_the_same() {
    let app = App::new().await;
    let trip = app.trip().await;
    let about = About::person(trip.person("Ruta Sol"));
    let fact = Fact::PersonMissing(PersonMissing {
        note: "not at her seat".to_owned(),
    });
    app.tell(&trip, &app.desk, about, fact).await;
    let state = app.state(&trip).await;
    assert_eq!(state.people[&trip.person("Ruta Sol")].place, Place::Missing);
}
