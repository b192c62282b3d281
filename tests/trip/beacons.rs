//! Locator beacons: one alert for each, until the skipper says that it is nobody's here. Doubt is
//! never safe.

use deckwatch::trip::decide::{beacon_heard, boat_fix, dismiss_beacon};
use deckwatch::trip::event::*;
use deckwatch::trip::state::Beacon;
use deckwatch::trip::watch::{Alert, AlertState, Priority};
use jiff::SignedDuration;
use serde_json::json;

use super::scene::*;

/// The box, which has no say.
const BOX: Crew = Crew {
    device: 7,
    name: "Instruments",
    role: Role::Desk,
};
const WHO: &str = "972123456";

fn heard(test: bool, place: Option<[f64; 2]>) -> BeaconHeard {
    payload(json!({"identity": WHO, "sort": "person", "place": place,
        "place_is_last": false, "test": test, "text": null}))
}

fn hear(s: &mut Scene, time: &str, test: bool, place: Option<[f64; 2]>) -> EventId {
    s.until(time);
    let fact = Fact::BeaconHeard(heard(test, place));
    s.by(BOX).says(About::nobody(), fact)
}

fn dismissal() -> Fact {
    Fact::BeaconDismissed(BeaconDismissed {
        identity: WHO.into(),
        reason: "neighbour's drill".into(),
    })
}

fn dismiss(s: &mut Scene, time: &str) {
    s.until(time);
    s.by(HELM).says(About::nobody(), dismissal());
}

fn alert(s: &Scene, time: &str) -> Option<Alert> {
    s.alert(&format!("beacon:{WHO}"), time)
}

fn beacon(s: &Scene) -> Beacon {
    s.state().beacons[WHO].clone()
}

const HERE: Option<[f64; 2]> = Some([10.0, 20.0]);
/// By hand: a thousandth of a degree of latitude is 111 m.
const THERE: Option<[f64; 2]> = Some([10.0, 20.001]);

#[test]
fn one_alert_rises_at_once_and_proposes_the_emergency() {
    let mut s = Scene::four_down();
    hear(&mut s, "09:10", false, None);
    let raised = alert(&s, "09:10").unwrap();
    assert_eq!(raised.priority, Priority::Alarm);
    assert!(raised.cause.proposes_emergency() && raised.is_audible());
    hear(&mut s, "09:11", false, HERE);
    hear(&mut s, "09:12", false, THERE);
    let same = alert(&s, "09:12").unwrap();
    let watch = s.watch("09:12");
    let of_beacons = watch.alerts.iter().filter(|a| a.key.contains("beacon"));
    assert_eq!((same.since, of_beacons.count()), (clock("09:10"), 1));
    let place = beacon(&s).place.unwrap();
    assert_eq!(
        (<[f64; 2]>::from(place.position), place.at),
        (THERE.unwrap(), clock("09:12"))
    );
    // Falling silent is no sign that all is well.
    assert!(alert(&s, "11:00").is_some());
}

#[test]
fn whoever_acknowledged_is_not_asked_again_while_it_goes_on() {
    let mut s = Scene::four_down();
    hear(&mut s, "09:10", false, HERE);
    let ack = Fact::AlertAcknowledged(AlertAcknowledged {
        alert: format!("beacon:{WHO}"),
        cause: alert(&s, "09:10").unwrap().cause.word(),
    });
    s.until("09:11").by(DECK).says(About::nobody(), ack);
    hear(&mut s, "09:12", false, THERE);
    assert_eq!(alert(&s, "09:12").unwrap().state, AlertState::Acknowledged);
}

#[test]
fn a_test_is_a_caution_that_fades_and_earnest_is_an_alarm_that_nobody_has_heard() {
    let mut s = Scene::four_down();
    hear(&mut s, "09:10", true, HERE);
    let raised = alert(&s, "09:10").unwrap();
    assert_eq!(raised.priority, Priority::Caution);
    assert!(!raised.cause.proposes_emergency());
    assert!(alert(&s, "09:19").is_some());
    assert_eq!(s.watch("09:19").next_change, Some(clock("09:20")));
    assert!(alert(&s, "09:20").is_none());
    let ack = Fact::AlertAcknowledged(AlertAcknowledged {
        alert: format!("beacon:{WHO}"),
        cause: raised.cause.word(),
    });
    s.until("09:12").by(DECK).says(About::nobody(), ack);
    hear(&mut s, "09:13", false, HERE);
    let now = alert(&s, "09:13").unwrap();
    assert_eq!(
        (now.priority, now.state),
        (Priority::Alarm, AlertState::Active)
    );
    assert_eq!(now.since, clock("09:13"));
    hear(&mut s, "09:14", true, HERE);
    assert_eq!(
        alert(&s, "09:14").unwrap().priority,
        Priority::Alarm,
        "no talking it down"
    );
}

#[test]
fn a_dismissal_is_the_skippers_and_holds_while_it_goes_on_sending() {
    let mut s = Scene::four_down();
    hear(&mut s, "09:10", false, HERE);
    s.until("09:11").by(DECK).says(About::nobody(), dismissal());
    assert!(
        alert(&s, "09:11").is_some(),
        "a divemaster's word does not do"
    );
    dismiss(&mut s, "09:12");
    assert!(alert(&s, "09:12").is_none());
    assert_eq!(beacon(&s).dismissed.unwrap().what, "neighbour's drill");
    for time in ["09:13", "09:20", "09:29", "09:39"] {
        hear(&mut s, time, false, HERE);
        assert!(alert(&s, time).is_none(), "{time}");
    }
    // Silent for eleven minutes: it was switched off, and somebody switched it on again.
    hear(&mut s, "09:50", false, HERE);
    let anew = alert(&s, "09:50").unwrap();
    assert_eq!(
        (anew.state, anew.since),
        (AlertState::Active, clock("09:50"))
    );
}

#[test]
fn a_dismissed_test_hides_no_earnest() {
    let mut s = Scene::four_down();
    hear(&mut s, "09:10", true, HERE);
    dismiss(&mut s, "09:11");
    hear(&mut s, "09:12", true, HERE);
    assert!(alert(&s, "09:12").is_none());
    hear(&mut s, "09:13", false, HERE);
    assert_eq!(alert(&s, "09:13").unwrap().priority, Priority::Alarm);
}

#[test]
fn who_dismissed_without_having_heard_the_earnest_dismissed_the_test() {
    let mut s = Scene::four_down();
    hear(&mut s, "09:10", true, HERE);
    let before = s.knowledge();
    hear(&mut s, "09:11", false, HERE);
    s.until("09:12");
    s.by(HELM)
        .knowing(&before)
        .says(About::nobody(), dismissal());
    assert_eq!(alert(&s, "09:12").unwrap().priority, Priority::Alarm);
}

#[test]
fn the_box_notes_what_is_new_and_no_more() {
    let mut s = Scene::four_down();
    let notes = |s: &Scene, time: &str, test, place| {
        let drafts = beacon_heard(&s.state(), heard(test, place), clock(time)).unwrap();
        drafts.len() == 1
    };
    assert!(notes(&s, "09:10:00", true, None));
    hear(&mut s, "09:10:00", true, None);
    assert!(!notes(&s, "09:10:02", true, None), "the same burst");
    assert!(notes(&s, "09:10:02", true, HERE), "a first place");
    hear(&mut s, "09:10:02", true, HERE);
    assert!(!notes(&s, "09:10:59", true, HERE));
    assert!(!notes(&s, "09:10:04", true, THERE), "two seconds on");
    assert!(notes(&s, "09:10:10", true, THERE), "111 m off");
    let near = Some([10.0, 20.0004]);
    assert!(!notes(&s, "09:10:10", true, near), "44 m off");
    assert!(notes(&s, "09:11:02", true, HERE), "a minute on");
    assert!(notes(&s, "09:10:03", false, HERE), "in earnest");
}

#[test]
fn a_sea_full_of_beacons_is_noise() {
    let mut s = Scene::four_down();
    for nth in 0..100 {
        s.until("09:10");
        let mut one = heard(false, None);
        one.identity = format!("9721{nth:05}");
        for draft in beacon_heard(&s.state(), one, clock("09:10")).unwrap() {
            s.by(BOX).says(draft.about, draft.fact);
        }
    }
    assert_eq!(s.state().beacons.len(), 32);
}

#[test]
fn what_concerns_nobody_is_not_noted() {
    let quay = Scene::opened();
    let drafts = beacon_heard(&quay.state(), heard(false, HERE), clock("09:00")).unwrap();
    assert!(drafts.is_empty(), "nobody is aboard yet");
    let position = payload(json!([10.0, 20.0]));
    assert!(
        boat_fix(&quay.state(), position, clock("09:00"))
            .unwrap()
            .is_empty()
    );
}

#[test]
fn a_dismissal_is_asked_for_with_a_reason_and_once() {
    let mut s = Scene::four_down();
    let keys = |s: &Scene, reason: &str, role| {
        let refused = dismiss_beacon(&s.state(), WHO, reason, role).unwrap_err();
        refused.0.iter().map(|r| r.key).collect::<Vec<_>>()
    };
    assert_eq!(keys(&s, "x", Role::Skipper), ["refused-no-beacon"]);
    hear(&mut s, "09:10", false, HERE);
    assert_eq!(keys(&s, " ", Role::Skipper), ["refused-empty"]);
    assert_eq!(keys(&s, "x", Role::Divemaster), ["refused-dismiss-beacon"]);
    dismiss(&mut s, "09:11");
    assert_eq!(keys(&s, "x", Role::Skipper), ["refused-no-beacon"]);
}

/// While anybody is out the last fix in the log is never older than it counts for.
#[test]
fn the_box_notes_the_boats_place_as_it_moves() {
    let fix = |s: &Scene, time: &str, lat: f64| {
        let position = payload(json!([10.0, lat]));
        !boat_fix(&s.state(), position, clock(time))
            .unwrap()
            .is_empty()
    };
    let at = |s: &mut Scene, source: &str, time: &str| {
        s.until(time);
        let fact =
            Fact::BoatPositioned(payload(json!({"position": [10.0, 20.0], "source": source})));
        s.by(BOX).says(About::nobody(), fact);
    };
    // By hand: 0.0001 degrees of latitude are 11 m, 0.0002 are 22 m.
    for (anybody_out, patience_s) in [(false, 300), (true, 45)] {
        let mut s = if anybody_out {
            Scene::four_down()
        } else {
            Scene::on_site()
        };
        assert!(fix(&s, "09:10:00", 20.0), "the first");
        at(&mut s, "instruments", "09:10:00");
        assert!(!fix(&s, "09:10:14", 20.0002), "too soon");
        assert!(fix(&s, "09:10:15", 20.0002), "22 m off");
        assert!(!fix(&s, "09:10:16", 20.0001), "11 m off");
        let then = |s: i64| {
            let at = clock("09:10") + SignedDuration::from_secs(s);
            at.strftime("%H:%M:%S").to_string()
        };
        assert!(!fix(&s, &then(patience_s - 1), 20.0));
        assert!(fix(&s, &then(patience_s), 20.0));
        assert!(!fix(&s, "09:09:00", 20.1), "older than what is known");
        at(&mut s, "typed", "09:20:00");
        assert!(!fix(&s, "09:20:10", 20.0));
        assert!(fix(&s, "09:20:15", 20.0), "what was typed is mended");
        at(&mut s, "instruments", "09:30:00");
        let last = s.state().boat.unwrap();
        let next = last.at + SignedDuration::from_secs(patience_s);
        assert_eq!(last.is_old(next), !anybody_out);
    }
}
