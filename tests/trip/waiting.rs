//! The waiting list: in order, moved up by the rules of the roster, and counted nowhere.

use deckwatch::trip::decide;
use deckwatch::trip::event::*;
use deckwatch::trip::gate::gate;
use deckwatch::trip::state::{State, fold};
use proptest::prelude::*;

use super::scene::*;

/// Beyond the people of the scene.
const GERO: u128 = 301;
const HANNE: u128 = 302;
const NAMES_WAITING: [(u128, &str); 2] = [(GERO, "Gero Falk"), (HANNE, "Hanne Ost")];

/// Two on the roster of a boat that carries two.
fn full() -> Scene {
    let mut s = Scene::opened();
    s.by(DESK)
        .says(About::nobody(), Fact::TripOpened(opened(2)));
    for (n, name) in &NAMES[..2] {
        let card = card(name, Activity::Diver);
        let fact = Fact::PersonJoined(PersonJoined { card });
        s.by(DESK).says(people(&[*n]), fact);
    }
    s
}

fn says(s: &mut Scene, decided: decide::Decided) {
    for draft in decided.unwrap() {
        s.by(DESK).says(draft.about, draft.fact);
    }
}

fn waits(s: &mut Scene, n: u128, name: &str) {
    let decided = decide::wait(&s.state(), who(n), card(name, Activity::Diver), None, false);
    says(s, decided);
}

fn two_wait() -> Scene {
    let mut s = full();
    for ((n, name), time) in NAMES_WAITING.iter().zip(["07:05", "07:10"]) {
        s.until(time);
        waits(&mut s, *n, name);
    }
    s
}

fn names(state: &State) -> Vec<String> {
    state.waiting.iter().map(|w| w.card.name.clone()).collect()
}

fn keys(decided: decide::Decided) -> Vec<(&'static str, &'static str)> {
    let refused = decided.expect_err("it is refused");
    refused.0.iter().map(|r| (r.field, r.key)).collect()
}

/// All that counts people.
fn counted(state: &State) -> impl PartialEq + std::fmt::Debug + use<> {
    (
        state.people.clone(),
        state.counts(),
        state.aboard(),
        [Point::Departure, Point::Leaving, Point::Return].map(|at| gate(state, at)),
        decide::places_left(state),
    )
}

#[test]
fn who_waits_is_counted_nowhere() {
    let before = full().state();
    let after = two_wait().state();
    assert_eq!(names(&after), ["Gero Falk", "Hanne Ost"]);
    assert_eq!(counted(&after), counted(&before));
    // Nor where the event says that it is about the person, as a device might send it.
    let mut s = full();
    let joined = WaitingJoined {
        person: who(GERO),
        card: card("Gero Falk", Activity::Diver),
        wish: None,
    };
    s.by(DESK)
        .says(people(&[GERO]), Fact::WaitingJoined(joined));
    assert_eq!(counted(&s.state()), counted(&before));
    // Nor in a program that cannot read the kind.
    let mut s = full();
    s.by(DESK)
        .says(About::nobody(), unread("waiting-since-1999"));
    assert_eq!(s.state().people, before.people);
}

#[test]
fn the_list_opens_when_the_boat_is_full_and_takes_nobody_twice() {
    let s = Scene::opened();
    let gero = card("Gero Falk", Activity::Diver);
    let wait = |s: &Scene, n, card, both| decide::wait(&s.state(), who(n), card, None, both);
    assert_eq!(
        keys(wait(&s, GERO, gero.clone(), false)),
        [("person", "refused-place-free")]
    );
    let s = two_wait();
    assert_eq!(
        keys(wait(&s, GERO, gero, false)),
        [("name", "refused-waiting")]
    );
    let same = card(" hanne  OST", Activity::Diver);
    assert_eq!(
        keys(wait(&s, 303, same.clone(), false)),
        [("name", "refused-waiting")]
    );
    assert!(wait(&s, 303, same, true).is_ok());
    let anna = card("Anna Berg", Activity::Diver);
    assert_eq!(
        keys(wait(&s, ANNA, anna.clone(), false)),
        [("person", "refused-on-roster")]
    );
    assert_eq!(
        keys(wait(&s, 303, anna, false)),
        [("name", "refused-same-name")]
    );
    let nameless = card(" ", Activity::Diver);
    assert_eq!(
        keys(wait(&s, 304, nameless, false)),
        [("name", "refused-empty")]
    );
}

#[test]
fn one_act_moves_up_when_a_place_is_free() {
    let mut s = two_wait();
    assert_eq!(
        keys(decide::move_up(&s.state(), who(GERO), false)),
        [("person", "refused-full")]
    );
    let stays = decide::not_coming(&s.state(), who(ANNA), "cold");
    says(&mut s, stays);
    assert_eq!(decide::places_left(&s.state()), 1);
    let up = decide::move_up(&s.state(), who(GERO), false);
    says(&mut s, up);
    let state = s.state();
    assert_eq!(names(&state), ["Hanne Ost"]);
    assert!(state.people[&who(GERO)].coming);
    assert_eq!(decide::places_left(&state), 0);
    assert_eq!(
        keys(decide::move_up(&state, who(GERO), false)),
        [("person", "refused-not-waiting")]
    );
    // While somebody waits, a newcomer may stand behind them though a place is free.
    let stays = decide::not_coming(&state, who(GERO), "late");
    says(&mut s, stays);
    assert_eq!(
        names(&s.state()),
        ["Hanne Ost"],
        "who had a place waits no more"
    );
    waits(&mut s, 303, "Ilse Rohn");
    assert_eq!(names(&s.state()), ["Hanne Ost", "Ilse Rohn"]);
}

#[test]
fn who_leaves_the_list_has_a_reason_and_may_come_again_at_its_end() {
    let mut s = two_wait();
    assert_eq!(
        keys(decide::leave_waiting(&s.state(), who(GERO), "  ")),
        [("reason", "refused-empty")]
    );
    let off = decide::leave_waiting(&s.state(), who(GERO), "found another boat");
    says(&mut s, off);
    assert_eq!(names(&s.state()), ["Hanne Ost"]);
    s.until("07:20");
    waits(&mut s, GERO, "Gero Falk");
    assert_eq!(names(&s.state()), ["Hanne Ost", "Gero Falk"]);
}

#[test]
fn said_apart_nobody_is_forgotten() {
    let mut s = two_wait();
    let before = s.knowledge();
    let left = WaitingLeft {
        person: who(GERO),
        reason: "no answer".into(),
    };
    s.by(DESK)
        .knowing(&before)
        .says(About::nobody(), Fact::WaitingLeft(left));
    let again = WaitingJoined {
        person: who(GERO),
        card: card("Gero Falk", Activity::Diver),
        wish: Some("rang back".into()),
    };
    s.by(HELM)
        .knowing(&before)
        .says(About::nobody(), Fact::WaitingJoined(again));
    assert!(names(&s.state()).contains(&"Gero Falk".to_owned()));
}

proptest! {
    /// Nobody stands on list and roster at once, and the order of arrival changes nothing.
    #[test]
    fn on_the_list_or_on_the_roster_whatever_order_it_came_in(
        words in prop::collection::vec((0_u128..4, 0_usize..4, 0_usize..3, any::<bool>()), 0..16),
        turn in any::<prop::sample::Index>(),
    ) {
        let mut s = full();
        let mut known = s.knowledge();
        for (n, what, crew, sees) in words {
            if sees {
                known = s.knowledge();
            }
            let (id, card) = (who(400 + n), card(&format!("Guest {n}"), Activity::Diver));
            let person = people(&[400 + n]);
            let reason = "said".to_owned();
            let (about, fact) = match what {
                0 => (About::nobody(), Fact::WaitingJoined(WaitingJoined { person: id, card, wish: None })),
                1 => (About::nobody(), Fact::WaitingLeft(WaitingLeft { person: id, reason })),
                2 => (person, Fact::PersonJoined(PersonJoined { card })),
                _ => (person, Fact::PersonNotComing(PersonNotComing { reason })),
            };
            s.by([HELM, DECK, DESK][crew]).knowing(&known).says(about, fact);
        }
        let state = s.state();
        for one in &state.waiting {
            prop_assert!(!state.people.get(&one.id).is_some_and(|p| p.coming));
        }
        let mut other = s.log.clone();
        other.reverse();
        let turn = turn.index(other.len());
        other.rotate_left(turn);
        prop_assert_eq!(fold(trip(), &other).waiting, state.waiting);
    }
}
