//! What holds for every log: made by several devices that each know a part, delivered in any
//! order, doubled, late. `PROPTEST_CASES` sets how many are tried.
#![expect(
    clippy::wildcard_enum_match_arm,
    reason = "a second, simpler reading of the log than the room's own"
)]

use std::collections::BTreeSet;

use deckwatch::trip::event::*;
use deckwatch::trip::gate::gate;
use deckwatch::trip::state::{State, fold, fold_on, fold_whole};
use deckwatch::trip::watch::{AlertState, watch};
use jiff::{SignedDuration, Timestamp};
use proptest::prelude::*;
use serde_json::json;

use super::scene::*;

/// One event of a random log.
#[derive(Debug, Clone)]
struct Step {
    crew: usize,
    /// Which devices' words the author takes in first.
    hears: [bool; 4],
    kind: u8,
    person: usize,
    other: usize,
    minute: i64,
    late_min: i64,
    target: usize,
    amount: u8,
}

fn step() -> impl Strategy<Value = Step> {
    (
        0..4_usize,
        any::<[bool; 4]>(),
        0..28_u8,
        0..5_usize,
        0..5_usize,
        0..90_i64,
        prop_oneof![3 => Just(0_i64), 1 => 1..60_i64],
        0..60_usize,
        0..4_u8,
    )
        .prop_map(
            |(crew, hears, kind, person, other, minute, late_min, target, amount)| Step {
                crew,
                hears,
                kind,
                person,
                other,
                minute,
                late_min,
                target,
                amount,
            },
        )
}

fn at(minute: i64) -> Timestamp {
    clock("09:00") + SignedDuration::from_mins(minute)
}

/// Tells the steps on top of a trip on its site.
fn told(steps: &[Step]) -> Scene {
    let mut s = Scene::on_site();
    let start = s.knowledge();
    let mut known = [0; 4].map(|_: u8| start.clone());
    for step in steps {
        let crew = [HELM, DECK, BOW, DESK][step.crew];
        let all = s.knowledge();
        for (nth, heard) in step.hears.iter().enumerate() {
            let device = DeviceId::new(uuid::Uuid::from_u128(nth as u128 + 1));
            if let (true, Some(seq)) = (*heard, all.0.get(&device)) {
                known[step.crew].0.insert(device, *seq);
            }
        }
        s.now = at(step.minute);
        tell(&mut s, step, crew, &known[step.crew]);
        let last = s.log.last_mut().unwrap();
        last.receipt.recorded_at = at(step.minute + step.late_min);
    }
    s
}

fn tell(s: &mut Scene, step: &Step, crew: Crew, knows: &Knows) -> EventId {
    let (p, q) = (NAMES[step.person].0, NAMES[step.other].0);
    let target = s.log[s.log.len() - 1 - step.target.min(s.log.len() - 1)]
        .event
        .id;
    let of_group = || About::nobody().in_group(group(B), 1);
    let dive = if step.amount == 3 { 2 } else { 1 };
    let alerts = watch(&s.state(), s.now).alerts;
    let says = s.by(crew).knowing(knows);
    match step.kind {
        0 | 1 => says.left_surface(if dive == 1 { B } else { C }, dive, &[p, q]),
        2 => says.seen(&[p], Signal::Well),
        3 => says.seen(&[p, q], Signal::NoSignal),
        4 => says.seen(&[p], Signal::Help),
        5..=7 => says.aboard(p),
        8 => says.missing(p),
        9 => says.roll(
            Point::Leaving,
            &[p],
            if p == q {
                &[]
            } else {
                std::slice::from_ref(&q)
            },
        ),
        10 => says.more_time(f64::from(step.amount + 1) * 5.0, step.other as f64 * 5.0),
        11 => says.recall(),
        12 => says.current(f64::from(step.amount)),
        13 => says.says(people(&[p]), unread("dreamt")),
        14 => says.says(of_group(), unread("group-dreamt")),
        15 | 16 => says.voids(target),
        17 => says.says(of_group(), Fact::OthersWell(OthersWell { said_by: who(p) })),
        18 => says.says(
            of_group(),
            Fact::LostContact(LostContact { said_by: who(p) }),
        ),
        19 => {
            let stays = PersonNotComing {
                reason: "ill".into(),
            };
            says.says(people(&[p]), Fact::PersonNotComing(stays))
        }
        20 => {
            let colour = BuoyColour::Yellow;
            let buoy = BuoySeen {
                colour,
                place: None,
                from_boat: None,
            };
            says.says(of_group(), Fact::BuoySeen(buoy))
        }
        21 => match alerts.get(step.target % alerts.len().max(1)) {
            Some(alert) => says.acknowledges(alert),
            None => says.recall(),
        },
        22 => {
            let found = payload(json!({"vessel": null, "seen_by": "Jo", "place": null}));
            says.says(people(&[p]).in_group(group(B), 1), Fact::PersonFound(found))
        }
        24..=27 => {
            let source = ["typed", "instruments"][usize::from(step.amount % 2)];
            let place = json!([
                45.0,
                -30.0 + f64::from(step.kind) + step.person as f64 / 10.0
            ]);
            let fact = json!({"position": place, "source": source});
            says.says(About::nobody(), Fact::BoatPositioned(payload(fact)))
        }
        _ => says.correcting(target).aboard(p),
    }
}

fn logs() -> impl Strategy<Value = Scene> {
    prop::collection::vec(step(), 1..40).prop_map(|steps| told(&steps))
}

/// A log of which everything is delivered once more, later, as another number.
fn doubled(log: &[Entry]) -> Vec<Entry> {
    let again = log.iter().cloned().map(|mut entry| {
        entry.receipt.entry += 1_000;
        entry.receipt.recorded_at += SignedDuration::from_mins(40);
        entry
    });
    log.iter().cloned().chain(again).collect()
}

/// As entries may come from several devices: late, out of turn, and some of them twice.
fn arrivals() -> impl Strategy<Value = Vec<Entry>> {
    let swapped = |mut log: Vec<Entry>, swaps: Vec<(usize, usize)>| {
        let count = log.len();
        for (one, other) in swaps {
            log.swap(one % count, other % count);
        }
        log
    };
    let swaps = prop::collection::vec((0..80_usize, 0..80_usize), 1..6);
    prop_oneof![
        (logs(), swaps).prop_map(move |(s, swaps)| swapped(s.log, swaps)),
        logs().prop_flat_map(|s| Just(doubled(&s.log)).prop_shuffle()),
    ]
}

/// Whether an event puts this person somewhere, and if so whether accounted for.
fn puts(event: &Event, person: PersonId) -> Option<bool> {
    let named = event.about.persons.contains(&person);
    match &event.fact {
        Fact::RollCalled(roll) if roll.not_seen.contains(&person) => Some(false),
        Fact::Aboard(_)
        | Fact::RollCalled(_)
        | Fact::PersonJoined(_)
        | Fact::PersonNotComing(_)
            if named =>
        {
            Some(true)
        }
        Fact::PersonFound(found) if named => Some(found.vessel.is_some()),
        Fact::LeftSurface(_) | Fact::AtSurface(_) | Fact::PersonMissing(_) | Fact::Unread(_)
            if named =>
        {
            Some(false)
        }
        _ => None,
    }
}

proptest! {
    #[test]
    fn everybody_is_in_exactly_one_place_and_the_counts_sum_to_the_roster(s in logs()) {
        let state = s.state();
        prop_assert_eq!(state.counts().values().sum::<usize>(), state.people.len());
        prop_assert_eq!(state.people.len(), NAMES.len());
        for person in state.people.values() {
            prop_assert_eq!(person.place.is_accounted() && person.distress, false);
        }
    }

    #[test]
    fn the_fold_and_the_alerts_are_the_same_in_any_order_however_often_it_comes(
        (s, other) in logs().prop_flat_map(|s| {
            let doubled = doubled(&s.log);
            (Just(s), Just(doubled).prop_shuffle())
        }),
        minute in 0..120_i64,
    ) {
        let (one, two) = (s.state(), fold(trip(), &other));
        prop_assert_eq!(&one, &two);
        prop_assert_eq!(watch(&one, at(minute)), watch(&two, at(minute)));
        let contents = |log: &[Entry]| digest(log.iter().map(|e| e.event.content().hash));
        prop_assert_eq!(contents(&s.log), contents(&other));
    }

    #[test]
    fn a_fold_that_is_carried_on_is_the_fold_of_the_whole_log(
        log in prop_oneof![logs().prop_map(|s| s.log), arrivals()],
        begun in 0..20_usize,
        batch in 1..5_usize,
    ) {
        let mut folded = begun.min(log.len());
        let (mut state, mut rests_on) = fold_whole(trip(), &log[..folded]);
        while folded < log.len() {
            let upto = (folded + batch).min(log.len());
            (state, rests_on) = fold_on((&state, &rests_on), &log[..upto], folded);
            folded = upto;
            prop_assert_eq!(&state, &fold(trip(), &log[..folded]));
            prop_assert!(rests_on.count() <= folded);
        }
    }

    #[test]
    fn nobody_is_accounted_for_against_a_word_that_nobody_who_knew_it_replaced(s in logs()) {
        let state = s.state();
        let voided: BTreeSet<EventId> = s.log.iter().filter_map(|e| match &e.event.fact {
            Fact::Voided(v) => Some(v.of),
            _ => e.event.corrects,
        }).collect();
        for (id, person) in &state.people {
            let doubt = s.log.iter().find(|e| {
                puts(&e.event, *id) == Some(false)
                    && !voided.contains(&e.event.id)
                    && !s.log.iter().any(|f| puts(&f.event, *id).is_some() && f.event.knew(&e.event))
            });
            prop_assert!(doubt.is_none() || !person.place.is_accounted(), "{:?}", doubt);
        }
    }

    #[test]
    fn no_event_but_a_sighting_that_knew_or_the_skippers_void_makes_anybody_safer(
        (s, cut) in logs().prop_flat_map(|s| { let n = s.log.len(); (Just(s), 12..n) })
    ) {
        let event = &s.log[cut].event;
        let before = fold(trip(), &s.log[..cut]);
        let after = fold(trip(), &s.log[..=cut]);
        for (id, was) in &before.people {
            let is = &after.people[id];
            if was.place.is_accounted() || !is.place.is_accounted() {
                continue;
            }
            let all_safe = was.statements.iter().all(|s| s.place.is_accounted());
            let mending = matches!(event.fact, Fact::Voided(_)) || event.corrects.is_some();
            let slip = mending && s.log[..cut].iter().any(|e| {
                e.event.device == event.device && e.event.device_seq + 1 == event.device_seq
            });
            // The second of the two who take a word of danger back may be anybody of the crew.
            let skipper = s.log[..=cut].iter().any(|e| {
                e.event.by.role == Role::Skipper
                    && match (&e.event.fact, &event.fact) {
                        (Fact::Voided(first), Fact::Voided(second)) => first.of == second.of,
                        _ => e.event.id == event.id,
                    }
            });
            let knew = puts(event, *id) == Some(true) && was.statements.iter().all(|st| {
                event.author().saw(st.mark) || st.place.is_accounted()
            });
            prop_assert!(
                knew || all_safe || slip || (mending && skipper),
                "{:?} made {} {:?}, who was {:?}", event, is.card.name, is.place, was.statements
            );
        }
    }

    #[test]
    fn deadlines_move_later_only_by_a_counted_extension_or_by_what_is_taken_back(
        (s, cut) in logs().prop_flat_map(|s| { let n = s.log.len(); (Just(s), 12..n) })
    ) {
        let event = &s.log[cut].event;
        prop_assume!(!matches!(event.fact, Fact::Voided(_)) && event.corrects.is_none());
        let before = fold(trip(), &s.log[..cut]);
        let after = fold(trip(), &s.log[..=cut]);
        for (id, group) in before.groups.iter().filter(|(_, g)| g.drop.is_some()) {
            let (was, is) = (group.drop.as_ref().unwrap(), after.groups[id].drop.as_ref().unwrap());
            if is.granted_min > was.granted_min {
                prop_assert!(matches!(event.fact, Fact::MoreTime(_)), "{:?}", event);
                continue;
            }
            let of = |state: &State| {
                let group = &state.groups[id];
                deckwatch::trip::watch::deadlines(state, group).unwrap()
            };
            let (was, is) = (of(&before), of(&after));
            prop_assert!(is.expected <= was.expected && is.latest <= was.latest);
            prop_assert!(is.overdue <= was.overdue && is.endurance <= was.endurance, "{:?}", event);
        }
    }

    #[test]
    fn an_unreadable_event_accounts_for_nobody_and_a_void_removes_nobody(
        s in logs(), person in 0..5_usize, target in 0..50_usize,
    ) {
        let mut s = s;
        let before = s.state();
        s.by(DECK).says(people(&[NAMES[person].0]), unread("dreamt"));
        prop_assert!(!s.place(NAMES[person].0).is_accounted());
        let target = s.log[target % s.log.len()].event.id;
        s.by(HELM).voids(target);
        let after = s.state();
        prop_assert_eq!(after.events, before.events + 2);
        prop_assert!(before.people.keys().all(|id| after.people.contains_key(id)));
    }

    #[test]
    fn an_acknowledgement_silences_only_the_alert_it_saw(s in logs(), minute in 0..120_i64) {
        let mut s = s;
        s.now = at(90 + minute);
        let before = watch(&s.state(), s.now).alerts;
        let Some(alert) = before.iter().find(|a| a.state == AlertState::Active) else {
            return Ok(());
        };
        s.by(HELM).acknowledges(alert);
        let after = watch(&s.state(), s.now).alerts;
        for other in before.iter().filter(|a| a.key != alert.key && a.key != "gap") {
            prop_assert!(after.contains(other), "{:?} is gone", other);
        }
        let heard = after.iter().find(|a| a.key == alert.key);
        let silent = heard.is_none_or(|a| {
            a.state != AlertState::Active || a.cause.word() != alert.cause.word()
        });
        prop_assert!(silent, "{:?}", heard);
    }

    #[test]
    fn nothing_changes_before_the_next_change(s in logs(), minute in 0..120_i64, share in 0..1_000_i32) {
        let state = s.state();
        // Nobody looks at a log before its last entry was made.
        let recorded = s.log.iter().map(|entry| entry.receipt.recorded_at.max(entry.event.at));
        let from = recorded.max().map_or(at(minute), |last| at(minute).max(last));
        let now = watch(&state, from);
        let until = now.next_change.unwrap_or(at(600));
        let between = from + until.duration_since(from) / 1_000 * share;
        prop_assume!(between < until);
        let then = watch(&state, between);
        let alerts = |w: &deckwatch::trip::watch::Watch| w.alerts.clone();
        prop_assert_eq!(alerts(&now), alerts(&then));
        let standings = |w: &deckwatch::trip::watch::Watch| {
            w.rows.iter().map(|r| (r.group, r.standing)).collect::<Vec<_>>()
        };
        prop_assert_eq!(standings(&now), standings(&then));
    }

    #[test]
    fn every_number_that_is_missing_is_named(s in logs(), gone in prop::collection::btree_set(0..60_usize, 1..5)) {
        let kept: Vec<Entry> = s.log.iter().enumerate()
            .filter(|(nth, _)| !gone.contains(nth)).map(|(_, e)| e.clone()).collect();
        let lost: Vec<&Event> = s.log.iter().enumerate()
            .filter(|(nth, _)| gone.contains(nth)).map(|(_, e)| &*e.event).collect();
        let state = fold(trip(), &kept);
        for event in lost {
            // Somebody who is here knew of it, or a later number of its device is.
            if kept.iter().any(|e| e.event.knew(event)) {
                prop_assert!(state.gaps[&event.device].contains(&event.device_seq));
                prop_assert!(!state.head.covers(event.device, event.device_seq));
            }
        }
    }

    #[test]
    fn no_gate_opens_while_anybody_is_out(s in logs()) {
        let state = s.state();
        if !state.anybody_out() {
            return Ok(());
        }
        for point in [Point::Departure, Point::Leaving, Point::Return] {
            prop_assert!(!gate(&state, point).is_empty());
        }
        for decided in [
            deckwatch::trip::decide::leave_site(&state, None, true),
            deckwatch::trip::decide::close(&state, None, true),
            deckwatch::trip::decide::leave_site(&state, Some("weather"), false),
        ] {
            prop_assert!(decided.is_err());
        }
        let mut s = s;
        s.by(HELM).says(About::nobody(), Fact::TripClosed(TripClosed { override_reason: None }));
        prop_assert!(s.state().reopened, "a closing without a reason closes over nobody");
    }

    #[test]
    fn what_is_written_is_read_back_the_same(s in logs()) {
        for entry in &s.log {
            let content = entry.event.content();
            let (event, again) = read(content.text.as_bytes()).unwrap();
            prop_assert_eq!(&event, &*entry.event);
            prop_assert_eq!(again, content);
        }
    }
}

#[test]
fn of_a_track_only_the_last_place_is_read_again() {
    let mut s = Scene::four_down();
    let (mut state, mut rests_on) = fold_whole(trip(), &s.log);
    let folded = rests_on.count();
    for nth in 0..50 {
        let held = s.log.len();
        s.now += SignedDuration::from_secs(30);
        let place = json!([45.0, -30.0 + f64::from(nth) / 1e4]);
        let fact = json!({"position": place, "source": "instruments"});
        s.by(HELM)
            .says(About::nobody(), Fact::BoatPositioned(payload(fact)));
        (state, rests_on) = fold_on((&state, &rests_on), &s.log, held);
        assert_eq!(state, s.state());
    }
    assert_eq!(rests_on.count(), folded);
    let held = s.log.len();
    s.by(HELM).current(0.3);
    (state, rests_on) = fold_on((&state, &rests_on), &s.log, held);
    assert_eq!((state, rests_on.count()), (s.state(), folded + 1));
}

#[test]
fn what_was_taken_back_before_it_came_does_not_count_when_it_comes() {
    let mut s = Scene::four_down();
    let knows = s.knowledge();
    let fact = json!({"position": [45.0, -30.0], "source": "typed"});
    let said = s
        .by(DECK)
        .says(About::nobody(), Fact::BoatPositioned(payload(fact)));
    s.by(HELM).knowing(&knows).voids(said);
    let last = s.log.len() - 1;
    s.log.swap(last, last - 1);
    let (state, rests_on) = fold_whole(trip(), &s.log[..last]);
    let (state, _) = fold_on((&state, &rests_on), &s.log, last);
    assert_eq!((state.boat.clone(), state), (None, s.state()));
}
