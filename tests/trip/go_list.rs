//! The go/no-go list: what is not answered never counts as go, the least safe of words said apart
//! counts, and a list that was begun asks for a reason at departure.

use deckwatch::trip::decide;
use deckwatch::trip::event::*;
use deckwatch::trip::gate::{Block, gate};
use deckwatch::trip::go_hints::{Hint, hints};
use deckwatch::trip::ground::Grounds;
use deckwatch::trip::state::{GoList, Verdict, fold};
use proptest::prelude::*;

use super::scene::*;

fn answered(condition: Condition, answer: Answer, note: Option<&str>) -> ConditionAnswered {
    ConditionAnswered {
        condition,
        answer,
        note: note.map(ToOwned::to_owned),
    }
}

fn says(s: &mut Scene, crew: Crew, condition: Condition, answer: Answer) -> EventId {
    let note = (answer == Answer::NoGo).then_some("seen");
    let fact = Fact::ConditionAnswered(answered(condition, answer, note));
    s.by(crew).says(About::nobody(), fact)
}

fn decides(s: &mut Scene, crew: Crew, go: bool) -> EventId {
    let decided = TripDecided {
        go,
        not_go: s.state().go_list.not_go(&[]),
        reason: Some("calm until noon".into()),
    };
    s.by(crew).says(About::nobody(), Fact::TripDecided(decided))
}

fn all_go(s: &mut Scene) {
    for condition in Condition::USUAL {
        says(s, DECK, condition, Answer::Go);
    }
}

fn list_block(s: &Scene) -> Option<Block> {
    let is_of_list =
        |b: &Block| matches!(b, Block::NotDecided | Block::ChangedSinceGo | Block::NoGo);
    gate(&s.state(), Point::Departure)
        .into_iter()
        .find(is_of_list)
}

fn keys(decided: Result<Vec<decide::Draft>, decide::Refused>) -> Vec<(&'static str, &'static str)> {
    let refused = decided.expect_err("it is refused");
    refused.0.iter().map(|r| (r.field, r.key)).collect()
}

#[test]
fn what_nobody_answered_is_open_and_keeps_no_boat() {
    let s = Scene::opened();
    let list = s.state().go_list;
    assert_eq!(list.verdict(), Verdict::NotBegun);
    assert_eq!(list.not_go(&[]), Condition::USUAL);
    let own = ["Tender fuelled".to_owned()];
    assert_eq!(list.not_go(&own).len(), Condition::USUAL.len() + 1);
    assert_eq!(list_block(&s), None);
}

#[test]
fn a_list_that_is_begun_waits_for_the_skipper() {
    let mut s = Scene::opened();
    all_go(&mut s);
    assert_eq!(s.state().go_list.verdict(), Verdict::Open);
    assert_eq!(list_block(&s), Some(Block::NotDecided));
    let state = s.state();
    assert_eq!(
        keys(decide::decide_trip(&state, true, None, &[], false)),
        [("", "refused-only-skipper-decides")]
    );
    // An own line that nobody answered is open too.
    let own = ["Tender fuelled".to_owned()];
    assert_eq!(
        keys(decide::decide_trip(&state, true, None, &own, true)),
        [("reason", "refused-go-over")]
    );
    let drafts = decide::decide_trip(&state, true, None, &[], true).unwrap();
    let fact = drafts[0].fact.clone();
    s.by(HELM).says(About::nobody(), fact);
    assert_eq!(s.state().go_list.verdict(), Verdict::Go);
    assert_eq!(list_block(&s), None);
}

#[test]
fn go_over_what_is_open_has_a_reason_and_names_it() {
    let mut s = Scene::opened();
    says(&mut s, DESK, Condition::Weather, Answer::Go);
    let drafts = decide::decide_trip(&s.state(), true, Some(" calm "), &[], true).unwrap();
    let Fact::TripDecided(decided) = &drafts[0].fact else {
        panic!("{drafts:?}")
    };
    assert_eq!(decided.reason.as_deref(), Some("calm"));
    assert_eq!(decided.not_go.len(), Condition::USUAL.len() - 1);
    assert!(!decided.not_go.contains(&Condition::Weather));
    s.by(HELM).says(About::nobody(), drafts[0].fact.clone());
    assert_eq!(s.state().go_list.verdict(), Verdict::GoOver);
    assert_eq!(list_block(&s), None);
    assert_eq!(
        keys(decide::decide_trip(&s.state(), false, Some(" "), &[], true)),
        [("reason", "refused-no-go-why")]
    );
}

#[test]
fn of_words_said_apart_the_least_safe_counts() {
    for (one, other, counts) in [
        (Answer::Go, Answer::NoGo, Answer::NoGo),
        (Answer::Go, Answer::Open, Answer::Open),
        (Answer::Open, Answer::NoGo, Answer::NoGo),
        (Answer::Go, Answer::Go, Answer::Go),
    ] {
        let mut s = Scene::opened();
        let before = s.knowledge();
        for (crew, answer) in [(DECK, one), (DESK, other)] {
            let fact = answered(Condition::Radio, answer, Some("heard"));
            s.by(crew)
                .knowing(&before)
                .says(About::nobody(), Fact::ConditionAnswered(fact));
        }
        assert_eq!(s.state().go_list.standing(&Condition::Radio), counts);
        // Who has seen both settles it.
        says(&mut s, HELM, Condition::Radio, Answer::Go);
        assert_eq!(s.state().go_list.standing(&Condition::Radio), Answer::Go);
    }
}

#[test]
fn what_comes_after_go_unseen_asks_for_another_decision() {
    let mut s = Scene::opened();
    all_go(&mut s);
    let before = s.knowledge();
    decides(&mut s, HELM, true);
    assert_eq!(s.state().go_list.verdict(), Verdict::Go);
    s.by(DECK).knowing(&before).says(
        About::nobody(),
        Fact::ConditionAnswered(answered(Condition::Weather, Answer::NoGo, Some("squalls"))),
    );
    assert_eq!(s.state().go_list.verdict(), Verdict::ChangedSince);
    assert_eq!(s.state().go_list.since(), [&Condition::Weather]);
    assert_eq!(list_block(&s), Some(Block::ChangedSinceGo));
    decides(&mut s, HELM, true);
    assert_eq!(s.state().go_list.verdict(), Verdict::GoOver);
    // Of two decisions made apart, no go counts.
    let before = s.knowledge();
    decides(&mut s, HELM, true);
    let other = Crew { device: 77, ..HELM };
    let fact = Fact::TripDecided(TripDecided {
        go: false,
        not_go: Vec::new(),
        reason: Some("squalls".into()),
    });
    s.by(other).knowing(&before).says(About::nobody(), fact);
    assert_eq!(s.state().go_list.verdict(), Verdict::NoGo);
    assert_eq!(list_block(&s), Some(Block::NoGo));
}

#[test]
fn a_decision_of_anybody_but_a_skipper_decides_nothing() {
    let mut s = Scene::opened();
    all_go(&mut s);
    decides(&mut s, DESK, true);
    decides(&mut s, DECK, true);
    assert_eq!(s.state().go_list.verdict(), Verdict::Open);
}

#[test]
fn an_answer_that_is_taken_back_is_open_again() {
    let mut s = Scene::opened();
    let event = says(&mut s, DECK, Condition::Radio, Answer::Go);
    s.by(DECK).voids(event);
    assert_eq!(s.state().go_list.standing(&Condition::Radio), Answer::Open);
    assert_eq!(s.state().go_list.verdict(), Verdict::NotBegun);
}

#[test]
fn departing_over_the_list_needs_a_reason_that_the_record_shows() {
    let mut s = Scene::opened();
    says(&mut s, DECK, Condition::Weather, Answer::NoGo);
    let state = s.state();
    let why = keys(decide::depart(&state, None, true));
    assert!(why.contains(&("", "refused-go-not-decided")), "{why:?}");
    assert!(decide::depart(&state, Some("to shelter"), false).is_err());
    let drafts = decide::depart(&state, Some("to shelter"), true).unwrap();
    s.by(HELM).says(About::nobody(), drafts[0].fact.clone());
    assert_eq!(s.state().overrides[0].what.1, "to shelter");
    let late = [answered(Condition::Radio, Answer::Go, None)];
    assert_eq!(
        keys(decide::answer_conditions(&s.state(), &late)),
        [("", "refused-departed")]
    );
}

#[test]
fn a_form_says_only_what_is_new_and_a_no_go_says_why() {
    let mut s = Scene::opened();
    let go = answered(Condition::Weather, Answer::Go, Some("fair"));
    s.by(DECK)
        .says(About::nobody(), Fact::ConditionAnswered(go.clone()));
    let open = answered(Condition::Radio, Answer::Open, None);
    let state = s.state();
    assert_eq!(
        keys(decide::answer_conditions(
            &state,
            &[go.clone(), open.clone()]
        )),
        [("", "refused-nothing-said")]
    );
    let bare = answered(Condition::Daylight, Answer::NoGo, Some("  "));
    let refused = decide::answer_conditions(&state, &[go.clone(), bare]).unwrap_err();
    assert_eq!(refused.0[0].row.as_deref(), Some("1"));
    let new = answered(Condition::Stream, Answer::Go, None);
    let drafts = decide::answer_conditions(&state, &[go, open, new.clone()]).unwrap();
    assert_eq!(drafts.len(), 1);
    assert_eq!(drafts[0].fact, Fact::ConditionAnswered(new));
}

#[test]
fn a_payload_without_its_reason_is_malformed() {
    for payload in [
        serde_json::json!({"go": false}),
        serde_json::json!({"go": true, "not_go": ["weather"]}),
        serde_json::json!({"go": true, "not_go": [{"own": " "}], "reason": "calm"}),
        serde_json::json!({"go": true, "reason": ""}),
    ] {
        let event = serde_json::json!({
            "id": uuid::Uuid::from_u128(77), "trip": trip(), "kind": "trip-decided", "v": 1,
            "payload": payload, "about": {},
            "device": uuid::Uuid::from_u128(1), "device_seq": 1, "knows": {},
            "by": {"crew": uuid::Uuid::from_u128(1), "name": "Ilka Voss", "role": "skipper"},
            "at": "2026-06-01T09:32:00Z", "app": "0.1.0",
        });
        assert!(read(event.to_string().as_bytes()).is_err(), "{event}");
    }
}

/// What the program can say beside an answer, on the trip of the scene: no time of entry is
/// planned, so no latest surfacing is made up.
#[test]
fn hints_say_what_is_known_and_what_is_not() {
    let s = Scene::on_site();
    let state = s.state();
    let grounds = Grounds::of(&state, None);
    let of = |condition| hints(&state, &grounds, &condition);
    assert!(
        matches!(&of(Condition::Daylight)[..],
        [Hint::Sunset { latest: None, after: false, .. }, Hint::NoEntryTime { letters, .. }]
            if letters == &["B"]),
        "{:?}",
        of(Condition::Daylight)
    );
    assert_eq!(
        of(Condition::LookoutNamed),
        [Hint::Lookout(Some("Jo Quist".into()))]
    );
    assert_eq!(
        of(Condition::ListAshore),
        [Hint::Roster {
            coming: 5,
            capacity: 20
        }]
    );
    assert!(of(Condition::OxygenFirstAid).is_empty());
    let empty = Scene::opened().state();
    let nothing = hints(&empty, &Grounds::of(&empty, None), &Condition::Stream);
    assert_eq!(nothing, [Hint::NoGroups]);
}

proptest! {
    /// The list is the same whatever order its entries came in, and a condition is at go only if
    /// somebody said so and nobody's standing word says otherwise.
    #[test]
    fn the_list_does_not_hang_on_the_order_of_arrival(
        words in prop::collection::vec((0_usize..3, 0_usize..3, 0_usize..4, any::<bool>()), 0..12),
        shuffle in any::<prop::sample::Index>(),
    ) {
        let mut s = Scene::opened();
        let crews = [HELM, DECK, DESK];
        let mut known = s.knowledge();
        for (crew, answer, condition, sees) in words {
            if sees {
                known = s.knowledge();
            }
            let answer = [Answer::Go, Answer::NoGo, Answer::Open][answer];
            let fact = if condition == 3 {
                Fact::TripDecided(TripDecided { go: answer == Answer::Go, not_go: Vec::new(),
                    reason: Some("said".into()) })
            } else {
                let condition = Condition::USUAL[condition].clone();
                Fact::ConditionAnswered(answered(condition, answer, Some("said")))
            };
            s.by(crews[crew]).knowing(&known).says(About::nobody(), fact);
        }
        let list: GoList = s.state().go_list;
        let mut other = s.log.clone();
        other.reverse();
        let turn = shuffle.index(other.len());
        other.rotate_left(turn);
        prop_assert_eq!(&fold(trip(), &other).go_list, &list);
        for condition in Condition::USUAL {
            let said = list.answers.get(&condition).cloned().unwrap_or_default();
            let is_go = !said.is_empty() && said.iter().all(|one| one.answer == Answer::Go);
            prop_assert_eq!(list.standing(&condition) == Answer::Go, is_go);
        }
    }
}
