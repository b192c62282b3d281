//! The box loses power in the middle of a dive.

use jiff::SignedDuration;

use crate::app::App;

#[tokio::test]
async fn a_box_that_loses_power_mid_dive_keeps_every_entry_and_its_windows_run_on() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "D").await;
    let path = format!("/api/trips/{}/picture", trip.id);
    let group = trip.group("D").to_string();
    let before = app.skipper().get(&path).await.json()["picture"].clone();

    let again = app.after_power_cut(SignedDuration::from_mins(20)).await;
    // The skipper is signed in still, and everything that was acknowledged is there.
    let after = again.skipper().get(&path).await.json()["picture"].clone();
    assert_eq!(after["entry"], before["entry"]);
    assert_eq!(after["people"], before["people"]);
    assert_eq!(
        again.store.head(trip.id).await.unwrap(),
        app.store.head(trip.id).await.unwrap()
    );
    assert_eq!(
        after["groups"][&group]["deadlines"], before["groups"][&group]["deadlines"],
        "no deadline moves"
    );
    assert!(again.store.verify().await.unwrap().flaws.is_empty());

    // Twenty minutes of the dive went by without power; the alarm comes when it is due.
    let overdue = &after["groups"][&group]["deadlines"]["overdue"];
    let overdue: jiff::Timestamp = overdue.as_str().unwrap().parse().unwrap();
    let page = format!("/helm/{}/alerts", trip.id);
    let quiet = again.skipper().get(&page).await;
    let alarm = "data-alert-priority=\"alarm\"";
    assert!(!quiet.text().contains(alarm), "{}", quiet.text());
    again.wait(overdue.duration_since(again.clock.now()));
    let alerts = again.skipper().get(&page).await;
    assert!(alerts.text().contains(alarm), "{}", alerts.text());
}
