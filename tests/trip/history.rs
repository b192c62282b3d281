//! The alerts of a trip, told afterwards: what the watch said at each instant, gathered.

use std::collections::BTreeSet;

use deckwatch::trip::event::*;
use deckwatch::trip::watch::{AlertState, Cause, Episode, Priority, history, watch};
use jiff::SignedDuration;

use super::scene::*;

fn told(s: &Scene, now: &str) -> Vec<Episode> {
    history(trip(), &s.log, clock(now))
}

fn of_group(s: &Scene, now: &str) -> Vec<Episode> {
    let key = format!("group:{}", group(B));
    told(s, now)
        .into_iter()
        .filter(|one| one.key == key)
        .collect()
}

/// In the water at 09:00: late at 09:45, overdue at 09:50 (the window of the scene).
fn late_and_overdue() -> Scene {
    let mut s = Scene::four_down();
    s.until("09:52");
    let alert = s.group_alert(B, "09:52").unwrap();
    s.by(HELM).acknowledges(&alert);
    s.until("09:58");
    for person in [ANNA, BELA, CARO, DINO] {
        s.by(DECK).aboard(person);
    }
    s
}

#[test]
fn an_alert_is_told_from_its_beginning_to_its_end_with_who_answered_it() {
    let told = of_group(&late_and_overdue(), "11:00");
    assert_eq!(told.len(), 2, "{told:#?}");
    let (late, overdue) = (&told[0], &told[1]);
    assert_eq!((&late.cause, late.since), (&Cause::Late, clock("09:45")));
    assert!(late.went_over && !late.ended_unseen());
    assert_eq!(late.until, Some(clock("09:50")));
    assert_eq!(
        (&overdue.cause, overdue.since),
        (&Cause::Overdue, clock("09:50"))
    );
    assert_eq!(overdue.priority, Priority::Alarm);
    assert_eq!(
        overdue.acknowledged.as_ref().map(|a| &*a.by),
        Some(HELM.name)
    );
    assert_eq!(overdue.answered_after(), Some(SignedDuration::from_mins(2)));
    assert_eq!(overdue.until, Some(clock("09:58")));
    assert!(!overdue.ended_unseen());
}

#[test]
fn what_ended_before_anybody_acknowledged_it_is_told_so() {
    let mut s = Scene::four_down();
    s.until("09:47");
    for person in [ANNA, BELA, CARO, DINO] {
        s.by(DECK).aboard(person);
    }
    let told = of_group(&s, "11:00");
    assert_eq!(told.len(), 1, "{told:#?}");
    assert!(told[0].ended_unseen());
    assert_eq!(told[0].until, Some(clock("09:47")));
    assert_eq!(told[0].answered_after(), None);
    // Acknowledged a quarter of an hour after: that comes late, and is told with its time.
    s.until("10:00");
    let alert = s.group_alert(B, "10:00").unwrap();
    assert_eq!(alert.state, AlertState::ResolvedUnacknowledged);
    s.by(HELM).acknowledges(&alert);
    let told = of_group(&s, "11:00");
    assert_eq!(told.len(), 1);
    assert!(told[0].ended_unseen());
    assert_eq!(
        told[0].answered_after(),
        Some(SignedDuration::from_mins(15))
    );
}

#[test]
fn what_holds_still_has_no_end_and_a_quiet_trip_has_no_alerts() {
    let s = Scene::four_down();
    assert!(of_group(&s, "09:44").is_empty());
    let told = of_group(&s, "09:46");
    assert_eq!(told[0].until, None);
    assert!(!told[0].ended_unseen());
}

/// Held to the watch itself, asked every ten seconds: no cause that asks for an act is missed, and
/// none is told that the watch never showed.
#[test]
fn it_tells_what_the_watch_showed_and_nothing_else() {
    let mut s = late_and_overdue();
    s.until("10:05");
    s.by(DECK).missing(BELA);
    s.until("10:20");
    let told: BTreeSet<(String, String)> = told(&s, "10:30")
        .into_iter()
        .filter(Episode::asks_for_an_act)
        .map(|one| (one.key, one.cause.word()))
        .collect();
    let mut shown = BTreeSet::new();
    let mut at = clock("07:00");
    while at <= clock("10:30") {
        let known: Vec<Entry> = s
            .log
            .iter()
            .filter(|entry| entry.receipt.recorded_at <= at)
            .cloned()
            .collect();
        let state = deckwatch::trip::state::fold(trip(), &known);
        let alerts = watch(&state, at).alerts;
        shown.extend(
            alerts
                .into_iter()
                .filter(|alert| alert.priority < Priority::Caution)
                .map(|alert| (alert.key, alert.cause.word())),
        );
        at += SignedDuration::from_secs(10);
    }
    assert_eq!(told, shown);
    assert!(told.len() >= 3, "{told:?}");
}

/// It costs a fold for each instant of the log, so the boat's own track is passed over.
#[test]
fn the_boats_track_changes_nothing() {
    let s = late_and_overdue();
    let mut tracked = s.clone();
    for minute in 0..30 {
        tracked.until(&format!("09:{minute:02}"));
        let track = payload(serde_json::json!({"position": [10.0, 20.0], "source": "instruments"}));
        tracked
            .by(BOW)
            .says(About::nobody(), Fact::BoatPositioned(track));
    }
    assert_eq!(told(&s, "11:00"), told(&tracked, "11:00"));
}
