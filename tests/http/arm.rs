//! The page that arms a screen, and the alarm that covers the helm.

use jiff::SignedDuration;
use serde_json::json;

use crate::app::App;

#[tokio::test]
async fn the_page_asks_whether_the_tone_was_heard_and_works_without_scripts() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    for (client, place) in [(app.skipper(), "helm"), (app.divemaster(), "deck")] {
        let page = client.get(&format!("/{place}/{}/arm", trip.id)).await;
        page.is(200);
        assert_eq!(page.count("button[data-arm]"), 1);
        assert_eq!(page.count("[data-heard]"), 2);
        assert_eq!(page.count("[data-check]"), 6);
        let without = page.one("[data-without-script]");
        assert!(without.contains("sounder of the box"), "{without}");
    }
    let refused = app.desk().get(&format!("/helm/{}/arm", trip.id)).await;
    refused.is(403);
    // The way there.
    let deck = app.divemaster().get(&format!("/deck/{}", trip.id)).await;
    let arm = format!("/deck/{}/arm", trip.id);
    assert!(deck.attributes("nav.ways a", "href").contains(&arm));
    let helm = app.skipper().get(&format!("/helm/{}/trip", trip.id)).await;
    let arm = format!("/helm/{}/arm", trip.id);
    assert!(helm.attributes("main a", "href").contains(&arm));
}

#[tokio::test]
async fn it_lists_the_screens_that_report_and_whether_they_watch() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let report = json!({
        "trip": trip.id, "place": "deck", "visible": false, "armed": true, "wake_lock": false,
    });
    let told = app.divemaster().post_json("/api/watching", &report).await;
    told.is(204);
    app.wait(SignedDuration::from_secs(7));
    let page = app.skipper().get(&format!("/helm/{}/arm", trip.id)).await;
    let screens = page.one("#screens");
    assert!(screens.contains("Deck of Jonne Aalto"), "{screens}");
    assert!(
        screens.contains("hidden") && screens.contains("7 s"),
        "{screens}"
    );
}

#[tokio::test]
async fn an_unanswered_alarm_covers_the_helm_after_fifteen_seconds_until_it_is_answered() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.web.go_on_duty();
    app.drop_group(&trip, "D").await;
    let path = format!("/helm/{}", trip.id);
    let picture = format!("/api/trips/{}/picture", trip.id);
    let group = trip.group("D").to_string();
    let picture = app.skipper().get(&picture).await.json()["picture"].clone();
    let overdue = picture["groups"][&group]["deadlines"]["overdue"].clone();
    let overdue: jiff::Timestamp = overdue.as_str().unwrap().parse().unwrap();
    app.wait(overdue.duration_since(app.clock.now()) - SignedDuration::from_secs(1));
    let before = app.skipper().get(&path).await;
    assert_eq!(before.count("#cover"), 0, "late is no alarm");

    app.wait(SignedDuration::from_secs(1));
    let at_once = app.skipper().get(&path).await;
    assert_eq!(at_once.count("#cover[hidden]"), 1, "the script lays it");
    app.wait(SignedDuration::from_secs(15));
    let covered = app.skipper().get(&path).await;
    assert_eq!(covered.count("#cover:not([hidden])"), 1, "without a script");
    assert_eq!(
        covered.attributes("#cover", "data-since"),
        [overdue.to_string()]
    );
    let deck = app.divemaster().get(&format!("/deck/{}", trip.id)).await;
    assert_eq!(deck.count("#cover"), 0, "the deck works on");

    let acknowledge = format!("{path}/acknowledge");
    let answered = app.skipper().submit(&path, &acknowledge, &[]).await;
    assert_eq!(answered.location(), format!("{path}/alerts"));
    let after = app.skipper().get(&path).await;
    assert_eq!(after.count("#cover"), 0);
}
