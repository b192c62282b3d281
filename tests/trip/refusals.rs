//! What the forms refuse, each with its sentence.

use deckwatch::trip::decide::{self, Decided};
use deckwatch::trip::event::*;
use deckwatch::trip::state::State;
use jiff::Timestamp;
use serde_json::json;

use super::scene::*;

fn drop_tap(members: &[u128], at: Option<&str>) -> decide::DropTap {
    decide::DropTap {
        group: group(B),
        members: set(members),
        window: WINDOW,
        owes: Vec::new(),
        place: None,
        at: at.map(clock),
        night: false,
    }
}

fn aboard_tap(person: u128, at: Option<&str>) -> decide::AboardTap {
    decide::AboardTap {
        person: who(person),
        vessel: Vessel::Own,
        seen_by: "Timo Rast".into(),
        detail: payload(json!({})),
        at: at.map(clock),
    }
}

fn form(letter: &str, units: &[&[u128]], depth_m: f64) -> decide::FormGroup {
    decide::FormGroup {
        id: group(C),
        dive: 1,
        formed: formed(letter, units, depth_m),
    }
}

fn closed() -> Scene {
    let mut s = Scene::on_site();
    s.by(HELM).says(
        About::nobody(),
        Fact::LeftSite(LeftSite {
            override_reason: None,
        }),
    );
    s.by(HELM)
        .says(About::nobody(), Fact::BackInHarbour(BackInHarbour {}));
    s.by(HELM).says(
        About::nobody(),
        Fact::TripClosed(TripClosed {
            override_reason: None,
        }),
    );
    s
}

#[test]
#[expect(
    clippy::too_many_lines,
    reason = "a table: one row for each wrong form"
)]
fn every_wrong_form_is_refused_with_its_reason() {
    type Try = fn(&State, Timestamp) -> Decided;
    let rows: Vec<(&str, Scene, Try, &[&str])> = vec![
        (
            "a time ahead",
            Scene::on_site(),
            |s, now| decide::left_surface(s, drop_tap(&[ANNA, BELA], Some("09:30")), now),
            &["refused-future"],
        ),
        (
            "a time before the trip",
            Scene::on_site(),
            |s, now| decide::left_surface(s, drop_tap(&[ANNA, BELA], Some("05:00")), now),
            &["refused-before"],
        ),
        (
            "in the water twice",
            Scene::four_down(),
            |s, now| decide::left_surface(s, drop_tap(&[ANNA, BELA], None), now),
            &["refused-in-water-twice"],
        ),
        (
            "one of a pair alone",
            Scene::on_site(),
            |s, now| decide::left_surface(s, drop_tap(&[ANNA], None), now),
            &["refused-alone"],
        ),
        (
            "somebody of no group",
            Scene::on_site(),
            |s, now| decide::left_surface(s, drop_tap(&[ANNA, BELA, EDDA], None), now),
            &["refused-not-in-group"],
        ),
        (
            "nobody",
            Scene::on_site(),
            |s, now| decide::left_surface(s, drop_tap(&[], None), now),
            &["refused-nobody"],
        ),
        (
            "aboard before in",
            Scene::on_site(),
            |s, now| decide::aboard(s, aboard_tap(ANNA, None), now),
            &["refused-not-out"],
        ),
        (
            "aboard before the entry",
            Scene::four_down(),
            |s, now| decide::aboard(s, aboard_tap(ANNA, Some("08:30")), now),
            &["refused-before"],
        ),
        (
            "more gas than at the start",
            Scene::four_down(),
            |s, now| {
                let mut tap = aboard_tap(ANNA, None);
                tap.detail = payload(json!({"bar": 230.0}));
                decide::aboard(s, tap, now)
            },
            &["refused-more-gas"],
        ),
        (
            "in two groups",
            Scene::on_site(),
            |s, _| decide::form_group(s, form("C", &[&[ANNA, EDDA]], 18.0)),
            &["refused-in-another-group"],
        ),
        (
            "twice in a group, in a letter that is taken",
            Scene::on_site(),
            |s, _| decide::form_group(s, form("B", &[&[EDDA, EDDA]], 18.0)),
            &["refused-letter-taken", "refused-twice-in-group"],
        ),
        (
            "somebody who is not on the roster",
            Scene::on_site(),
            |s, _| decide::form_group(s, form("C", &[&[EDDA, 999]], 18.0)),
            &["refused-not-on-roster"],
        ),
        (
            "a name twice",
            Scene::on_site(),
            |s, _| decide::join(s, who(150), card("anna  BERG", Activity::Diver), false),
            &["refused-same-name"],
        ),
        (
            "on the roster twice",
            Scene::on_site(),
            |s, _| decide::join(s, who(ANNA), card("Anna Berg", Activity::Diver), false),
            &["refused-on-roster"],
        ),
        (
            "more time than was seen to be granted",
            Scene::four_down(),
            |s, _| {
                let five = payload(json!(5.0));
                decide::more_time(s, group(B), five, 5.0, "slack water")
            },
            &["refused-granted"],
        ),
        (
            "present and not seen",
            Scene::on_site(),
            |s, _| {
                let present = set(&[ANNA, BELA, CARO, DINO, EDDA]);
                let not_seen = set(&[ANNA]);
                decide::call_roll(
                    s,
                    decide::RollCall {
                        point: Point::Leaving,
                        present,
                        not_seen,
                    },
                )
            },
            &["refused-seen-and-not-seen"],
        ),
        (
            "ticked aboard while in the water",
            Scene::four_down(),
            |s, _| {
                let present = set(&[ANNA, EDDA]);
                let not_seen = set(&[]);
                decide::call_roll(
                    s,
                    decide::RollCall {
                        point: Point::Leaving,
                        present,
                        not_seen,
                    },
                )
            },
            &["refused-roll-in-water"],
        ),
        (
            "closed",
            closed(),
            |s, now| decide::aboard(s, aboard_tap(ANNA, None), now),
            &["refused-closed"],
        ),
        (
            "a gate overridden by no skipper",
            Scene::four_down(),
            |s, _| decide::leave_site(s, Some("weather"), false),
            &["refused-only-skipper"],
        ),
        (
            "a gate overridden without a reason",
            Scene::four_down(),
            |s, _| decide::leave_site(s, Some(" "), true),
            &["refused-out", "refused-not-counted", "refused-no-roll"],
        ),
    ];
    for (what, scene, attempt, expected) in rows {
        let refused = attempt(&scene.state(), scene.now).unwrap_err();
        let keys: Vec<_> = refused.0.iter().map(|r| r.key).collect();
        assert_eq!(keys, expected, "{what}");
    }
}

#[test]
fn a_full_boat_takes_nobody_more() {
    let mut s = Scene::opened();
    s.log.clear();
    s.by(DESK)
        .says(About::nobody(), Fact::TripOpened(opened(1)));
    let join = |s: &Scene, n: u128, name: &str| {
        decide::join(&s.state(), who(n), card(name, Activity::Diver), false)
    };
    assert!(join(&s, ANNA, "Anna Berg").is_ok());
    let fact = Fact::PersonJoined(PersonJoined {
        card: card("Anna Berg", Activity::Diver),
    });
    s.by(DESK).says(people(&[ANNA]), fact);
    let refused = join(&s, BELA, "Bela Kiss").unwrap_err();
    assert_eq!(refused.0[0].key, "refused-full");
}

#[test]
fn missing_and_a_signal_for_help_are_taken_whatever_the_log_holds() {
    let s = closed();
    let drafts = decide::missing(&s.state(), &set(&[ANNA]), "not on the bus").unwrap();
    let mut s = s;
    for draft in drafts {
        s.by(DECK).says(draft.about, draft.fact);
    }
    assert!(s.state().reopened);
    let mut s = Scene::four_down();
    s.by(DECK).aboard(ANNA);
    let tap = |signal| decide::SurfaceTap {
        persons: set(&[ANNA]),
        signal,
        place: None,
        from_boat: None,
        at: None,
    };
    assert!(decide::surfaced(&s.state(), tap(Signal::Well), s.now).is_err());
    assert!(decide::surfaced(&s.state(), tap(Signal::Help), s.now).is_ok());
}

#[test]
fn undo_is_for_ones_own_last_tap_and_agrees_with_the_fold() {
    let mut s = Scene::four_down();
    let help = s.until("09:10").by(DECK).seen(&[ANNA], Signal::Help);
    let device = |crew: Crew| DeviceId::new(uuid::Uuid::from_u128(crew.device));
    let undo =
        |s: &Scene, crew: Crew, now: &str| decide::undo(&s.log, help, device(crew), clock(now));
    assert!(undo(&s, HELM, "09:10:30").is_err());
    assert!(undo(&s, DECK, "09:11:01").is_err());
    let draft = undo(&s, DECK, "09:10:30").unwrap().remove(0);
    let mut undone = s.clone();
    undone
        .until("09:10:30")
        .by(DECK)
        .says(draft.about, draft.fact);
    assert!(!undone.person(ANNA).distress);
    s.by(DECK).current(0.5);
    assert_eq!(
        undo(&s, DECK, "09:10:30").unwrap_err().0[0].key,
        "refused-void-danger"
    );
}

#[test]
fn a_form_of_several_events_gives_each_an_identity_of_its_own() {
    let s = Scene::on_site();
    let signing = |id: u128| decide::Signing {
        id: EventId::new(uuid::Uuid::from_u128(id)),
        trip: trip(),
        device: DeviceId::new(uuid::Uuid::from_u128(2)),
        knows: s.knowledge(),
        by: s.log[0].event.by.clone(),
        now: s.now,
    };
    let draft = decide::incident(&s.state(), set(&[]), "a net on the bow")
        .unwrap()
        .remove(0);
    let drafts = vec![draft.clone(), draft.clone(), draft];
    let ids: std::collections::BTreeSet<_> = [2, 3]
        .into_iter()
        .flat_map(|id| signing(id).sign(1, drafts.clone()))
        .map(|e| e.id)
        .collect();
    assert_eq!(ids.len(), 6, "no form's event has another form's identity");
    assert_eq!(
        signing(2).sign(1, drafts.clone()),
        signing(2).sign(1, drafts)
    );
}
