//! Dives of other trips: never a lighter load than the dive as it was made, and no dive twice.

use deckwatch::dive::mix::Mix;
use deckwatch::dive::pressure::Column;
use deckwatch::dive::tissue::Tissues;
use deckwatch::trip::carried::{Carried, Reach};
use deckwatch::trip::decide;
use deckwatch::trip::dives::{self, Entry};
use deckwatch::trip::event::{About, DivedEarlier, Fact, GroupFormed, PersonId, ToldDive};
use deckwatch::trip::same::Same;
use deckwatch::trip::state::State;
use deckwatch::units::{Depth, Minutes, OxygenFraction};
use jiff::tz::TimeZone;
use proptest::prelude::*;
use serde_json::json;

use crate::scene::*;

/// A trip on which Anna and Bela dived these levels from nine o'clock for so long.
fn dived(levels: &[(f64, f64)], run_min: i64) -> State {
    let mut s = Scene::on_site();
    let mut pair: GroupFormed = formed("B", &[&[ANNA, BELA]], 18.0);
    pair.plan.levels = levels
        .iter()
        .map(|(m, min)| payload(json!({"depth_m": m, "minutes": min})))
        .collect();
    s.by(DESK).says(
        About::nobody().in_group(group(B), 1),
        Fact::GroupFormed(pair),
    );
    s.by(DECK).left_surface(B, 1, &[ANNA, BELA]);
    s.now += jiff::SignedDuration::from_mins(run_min);
    s.by(DECK).says(
        people(&[ANNA, BELA]).in_group(group(B), 1),
        at_surface(deckwatch::trip::event::Signal::Well),
    );
    s.state()
}

fn carried(other: &State, roster: &State, now: &str) -> Carried {
    let mut carried = Carried::default();
    let reach = Reach::of(clock("00:00"), clock(now));
    carried.take_in(other, roster, reach, &TimeZone::UTC, &Same::default());
    carried
}

fn told(carried: &Carried, state: &State, id: PersonId) -> Vec<ToldDive> {
    carried.untold(state).remove(&id).unwrap_or_default()
}

fn loads(tissues: &Tissues) -> Vec<f64> {
    tissues.loads().iter().map(|load| load.n2_bar).collect()
}

#[test]
fn a_dive_of_two_levels_is_told_no_lighter_and_not_as_if_all_of_it_were_deep() {
    let other = dived(&[(30.0, 10.0), (12.0, 40.0)], 56);
    let afternoon = Scene::on_site().state();
    let told = told(&carried(&other, &afternoon, "12:00"), &afternoon, who(ANNA));
    let [told] = told.as_slice() else {
        panic!("{told:?}")
    };
    assert_eq!(told.source, "Morning Tern, 2026-06-01 09:00");
    assert!((told.depth_m.m() - 30.0).abs() < 1e-9);
    let minutes = told.minutes.min();
    assert!(minutes > 10.0 && minutes < 50.0, "{minutes}");
}

/// Entered twice in the register, in the morning as Anna and in the afternoon as Caro, and merged
/// at noon: whoever remained comes with the load of the morning, and so does the other.
#[test]
fn a_dive_under_an_identity_that_was_merged_is_carried() {
    let other = dived(&[(18.0, 40.0)], 46);
    let afternoon = Scene::on_site().state();
    for (gone, stays) in [(ANNA, CARO), (CARO, ANNA)] {
        let same = Same::new([(who(gone), who(stays))]);
        let mut carried = Carried::default();
        let reach = Reach::of(clock("00:00"), clock("12:00"));
        carried.take_in(&other, &afternoon, reach, &TimeZone::UTC, &same);
        for id in [ANNA, CARO] {
            let told = told(&carried, &afternoon, who(id));
            assert_eq!(told.len(), 1, "{id}");
            assert!((told[0].depth_m.m() - 18.0).abs() < 1e-9);
        }
    }
}

#[test]
fn what_lies_out_of_reach_is_not_carried_and_what_is_told_not_twice() {
    let other = dived(&[(18.0, 40.0)], 46);
    let afternoon = Scene::on_site().state();
    assert!(told(&carried(&other, &afternoon, "09:30"), &afternoon, who(ANNA)).is_empty());
    let carried = carried(&other, &afternoon, "12:00");
    assert!(told(&carried, &afternoon, who(CARO)).is_empty());
    let with = carried.with(&afternoon);
    assert!(carried.untold(&with).is_empty(), "all is told then");

    // The same dive told by hand, a little wrong: it stays one, with the worse of each figure.
    let by_hand = |depth_m: f64, minutes: f64, up: &str| ToldDive {
        depth_m: Depth::from_m(depth_m).unwrap(),
        minutes: Minutes::from_min(minutes).unwrap(),
        oxygen: OxygenFraction::from_fraction(0.32).unwrap(),
        surfaced_at: clock(up),
        source: "Rosa Kent".into(),
    };
    let with_told = |dives: Vec<ToldDive>| {
        let mut s = Scene::on_site();
        s.by(DESK)
            .says(people(&[ANNA]), Fact::DivedEarlier(DivedEarlier { dives }));
        s.state()
    };
    let state = with_told(vec![by_hand(20.0, 30.0, "09:40")]);
    let one = told(&carried, &state, who(ANNA));
    assert_eq!(one.len(), 1);
    assert!((one[0].depth_m.m() - 20.0).abs() < 1e-9);
    assert!(one[0].minutes.min() >= 40.0 - 1e-9, "{one:?}");
    assert!((one[0].oxygen.fraction() - 0.21).abs() < 1e-9);
    assert_eq!(one[0].surfaced_at, clock("09:46"));
    assert_eq!(one[0].source, "Rosa Kent; Morning Tern, 2026-06-01 09:00");
    // Another dive beside it is another dive.
    let state = with_told(vec![by_hand(20.0, 30.0, "08:00")]);
    assert_eq!(told(&carried, &state, who(ANNA)).len(), 2);
}

#[test]
fn what_is_decided_comes_first_and_a_refusal_tells_nothing() {
    let other = dived(&[(18.0, 40.0)], 46);
    let mut s = Scene::on_site();
    s.until("10:30");
    let state = s.state();
    let carried = carried(&other, &state, "10:30");
    let formed = formed("B", &[&[ANNA, BELA], &[CARO, DINO]], 10.0);
    let command = decide::FormGroup {
        id: group(B),
        dive: 1,
        formed: formed.clone(),
    };
    let drafts = decide::carrying(&state, &carried, |state| {
        decide::form_group(state, command.clone())
    })
    .unwrap();
    let kinds: Vec<bool> = drafts
        .iter()
        .map(|draft| matches!(draft.fact, Fact::DivedEarlier(_)))
        .collect();
    assert_eq!(kinds, [false, true, true]);
    let refused = decide::carrying(&state, &carried, |state| {
        decide::form_group(
            state,
            decide::FormGroup {
                dive: 7,
                ..command.clone()
            },
        )
    });
    assert!(refused.is_err());
    let limit = |state: &State| {
        let answer = dives::answer(state, 1, &formed, Entry::At(clock("10:30"))).unwrap();
        let anna = answer.members.into_iter().find(|one| one.id == who(ANNA));
        anna.unwrap().reckoned.no_stop_limit_min.unwrap()
    };
    assert!(limit(&carried.with(&state)) < limit(&state));
}

proptest! {
    /// Whatever the levels, no compartment of whom it is told of carries less at the surface
    /// than after the dive as it was made.
    #[test]
    fn a_dive_is_never_told_lighter(
        first in 6.0_f64..40.0, second in 5.0_f64..40.0, longer in 0_i64..20,
        minutes in (4.0_f64..30.0, 4.0_f64..40.0),
    ) {
        let levels = [(first, minutes.0), (second, minutes.1)];
        let planned = (minutes.0 + minutes.1).ceil();
        #[expect(clippy::cast_possible_truncation, reason = "below 100")]
        let other = dived(&levels, planned as i64 + 6 + longer);
        let afternoon = Scene::on_site().state();
        let told = told(&carried(&other, &afternoon, "16:00"), &afternoon, who(ANNA));
        prop_assert_eq!(told.len(), 1);
        let made = dives::dives_before(&other, who(ANNA), 2, Entry::Planned);
        let column = Column::default();
        let rested = Tissues::at_rest(column);
        let after = rested.after_all(made.dives[0].profile.legs(), Mix::AIR, column);
        let as_told = dives::told_plan(told[0].depth_m, told[0].minutes)
            .and_then(|plan| plan.profile(&[]))
            .unwrap();
        let told = rested.after_all(as_told.legs(), Mix::AIR, column);
        for (told, made) in loads(&told).into_iter().zip(loads(&after)) {
            prop_assert!(told >= made - 1e-5, "{told} {made}");
        }
    }
}
