//! Statements made without knowledge of each other, pair by pair: doubt is never safe.

use std::sync::Arc;

use deckwatch::trip::event::*;
use deckwatch::trip::state::Place;
use deckwatch::trip::watch::{Alert, AlertState};
use serde_json::json;

use super::scene::*;

/// Each of these, said apart from 'aboard', leaves the person unresolved.
#[test]
fn aboard_against_any_other_word_is_unresolved() {
    type Say = fn(Saying<'_>) -> EventId;
    let others: [(&str, Say); 4] = [
        ("not seen", |s| s.roll(Point::Leaving, &[EDDA], &[ANNA])),
        ("in the water", |s| s.left_surface(B, 1, &[ANNA])),
        ("missing", |s| s.missing(ANNA)),
        ("at the surface", |s| s.seen(&[ANNA], Signal::Well)),
    ];
    for (what, say) in others {
        for aboard_first in [true, false] {
            let mut s = Scene::four_down();
            let before = s.knowledge();
            s.until("09:30");
            if aboard_first {
                s.by(DECK).knowing(&before).aboard(ANNA);
                say(s.by(BOW).knowing(&before));
            } else {
                say(s.by(BOW).knowing(&before));
                s.by(DECK).knowing(&before).aboard(ANNA);
            }
            assert_eq!(s.place(ANNA), Place::Unresolved, "{what}, {aboard_first}");
            assert_eq!(s.person(ANNA).statements.len(), 2, "each shown");
        }
    }
}

#[test]
fn a_signal_for_help_wins_outright() {
    let mut s = Scene::four_down();
    let before = s.knowledge();
    s.by(DECK).knowing(&before).aboard(ANNA);
    s.by(BOW).knowing(&before).seen(&[ANNA], Signal::Help);
    let anna = s.person(ANNA);
    assert!(anna.distress && anna.place == Place::AtSurface);
}

#[test]
fn missing_is_not_talked_down_by_a_doubt() {
    let mut s = Scene::four_down();
    let before = s.knowledge();
    s.by(HELM).knowing(&before).missing(ANNA);
    s.by(DECK).knowing(&before).aboard(ANNA);
    assert_eq!(s.place(ANNA), Place::Unresolved);
    assert!(s.alert(&format!("missing:{}", group(B)), "09:10").is_some());
}

#[test]
fn a_late_word_about_an_earlier_dive_worsens_but_never_improves() {
    let second = |say: fn(Saying<'_>) -> EventId, knowing: bool, back: bool| {
        let mut s = Scene::four_down();
        s.until("09:40").by(DECK).aboard(ANNA);
        let first = s.knowledge();
        s.until("12:00").by(DECK).left_surface(C, 2, &[ANNA]);
        if back {
            s.by(DECK)
                .says(people(&[ANNA]).in_group(group(C), 2), aboard_own());
        }
        let all = s.knowledge();
        s.until("12:30");
        say(s.by(BOW).knowing(if knowing { &all } else { &first }));
        s.place(ANNA)
    };
    for knowing in [true, false] {
        assert_eq!(second(|s| s.aboard(ANNA), knowing, false), Place::InWater);
        assert_ne!(
            second(|s| s.seen(&[ANNA], Signal::Well), knowing, false),
            Place::AtSurface
        );
        let worse = second(|s| s.left_surface(B, 1, &[ANNA]), knowing, true);
        assert_eq!(worse, Place::Unresolved, "{knowing}");
    }
}

#[test]
fn of_two_entry_times_the_earliest_counts_and_of_two_lists_the_union() {
    let mut s = Scene::on_site();
    let before = s.knowledge();
    s.until("09:04")
        .by(DECK)
        .knowing(&before)
        .left_surface(B, 1, &[ANNA, BELA]);
    s.until("09:02")
        .by(BOW)
        .knowing(&before)
        .left_surface(B, 1, &[BELA, CARO]);
    let drop = s.group(B).drop.unwrap();
    assert_eq!(drop.at, clock("09:02"));
    assert_eq!(drop.deadlines().overdue, clock("09:52"));
    assert_eq!(drop.members, set(&[ANNA, BELA, CARO]));
}

#[test]
fn more_time_apart_from_a_recall_counts_only_when_repeated() {
    let mut s = Scene::four_down();
    let before = s.knowledge();
    s.until("09:20").by(HELM).knowing(&before).recall();
    s.by(DECK).knowing(&before).more_time(10.0, 0.0);
    assert_eq!(s.granted_s(B), 0);
    assert_eq!(s.group(B).drop.unwrap().ignored_extensions, 1);
    s.until("09:25").by(DECK).more_time(10.0, 0.0);
    assert_eq!(s.granted_s(B), 600);
}

#[test]
fn more_time_that_comes_after_the_overdue_alarm_counts_only_when_repeated() {
    let mut s = Scene::four_down();
    s.until("09:30").by(DECK).more_time(10.0, 0.0);
    // Made at half past nine, but it came in when the group had been overdue for two minutes.
    let late = s.log.last_mut().unwrap();
    late.receipt.recorded_at = clock("09:52");
    late.receipt.wall_age_ms = Some(22 * 60 * 1000);
    assert_eq!(s.granted_s(B), 0);
    assert_eq!(s.group_alert(B, "09:53").unwrap().cause.word(), "overdue");
    s.until("09:54").by(DECK).more_time(10.0, 0.0);
    assert_eq!(s.granted_s(B), 600);
}

#[test]
fn of_two_extensions_given_apart_the_shorter_counts() {
    let mut s = Scene::four_down();
    let before = s.knowledge();
    s.by(HELM).knowing(&before).more_time(15.0, 0.0);
    s.by(DECK).knowing(&before).more_time(5.0, 0.0);
    assert_eq!(s.granted_s(B), 300);
}

#[test]
fn the_same_person_added_twice_is_two_heads() {
    let mut s = Scene::opened();
    for n in [ANNA, BELA] {
        let fact = Fact::PersonJoined(PersonJoined {
            card: card("Anna Berg", Activity::Diver),
        });
        s.by(DESK).says(people(&[n]), fact);
    }
    assert_eq!(s.state().people.len(), 2);
}

#[test]
fn not_coming_against_seen_on_board_is_unresolved() {
    let mut s = Scene::on_site();
    let before = s.knowledge();
    let stays = Fact::PersonNotComing(PersonNotComing {
        reason: "ill".into(),
    });
    s.by(DESK)
        .knowing(&before)
        .says(people(&[EDDA]), stays.clone());
    s.by(HELM)
        .knowing(&before)
        .roll(Point::Leaving, &[EDDA], &[]);
    assert_eq!(s.place(EDDA), Place::Unresolved);
    // A word of the desk, who knows that somebody is in the water, brings nobody ashore.
    let mut s = Scene::four_down();
    s.by(DESK).says(people(&[ANNA]), stays);
    assert_eq!(s.place(ANNA), Place::Unresolved);
}

#[test]
fn a_safe_word_is_taken_back_by_anybody_a_word_of_danger_by_the_skipper() {
    let mut s = Scene::four_down();
    let aboard = s.until("09:40").by(DECK).aboard(ANNA);
    s.until("09:50").by(BOW).voids(aboard);
    assert_eq!(s.place(ANNA), Place::InWater);
    let help = s.by(DECK).seen(&[ANNA], Signal::Help);
    s.until("09:55").by(BOW).voids(help);
    assert!(s.person(ANNA).distress);
    s.until("09:56").by(HELM).voids(help);
    assert!(!s.person(ANNA).distress);
    assert_eq!(s.place(ANNA), Place::InWater);
}

#[test]
fn taking_back_that_a_group_went_in_is_the_skippers() {
    let mut s = Scene::on_site();
    let drop = s.by(DECK).left_surface(B, 1, &[ANNA, BELA]);
    s.until("09:30").by(BOW).voids(drop);
    assert_eq!(s.place(ANNA), Place::InWater);
    s.by(HELM).voids(drop);
    assert_eq!(s.place(ANNA), Place::Aboard);
}

/// Approval by more than one for what does most harm (OWASP ASVS 5.0, 2.3.5).
#[test]
fn a_word_of_danger_goes_by_two_people_on_two_devices_or_by_a_skipper_whom_nobody_could_second() {
    let mut s = Scene::four_down();
    let help = s.until("09:10").by(DECK).seen(&[ANNA], Signal::Help);
    let calm = s.clone();
    s.until("09:20").by(HELM).voids(help);
    s.by(HELM).voids(help);
    assert!(s.person(ANNA).distress, "one person's word, twice");
    s.by(BOW).voids(help);
    assert!(!s.person(ANNA).distress);

    // In whatever order the two arrive.
    let mut s = calm.clone();
    s.until("09:20").by(BOW).voids(help);
    assert!(s.person(ANNA).distress);
    s.by(HELM).voids(help);
    assert!(!s.person(ANNA).distress);

    // Two of the crew are no skipper, and being alone makes nobody one.
    let mut s = calm.clone();
    s.until("09:20").by(BOW).voids_alone(help);
    s.by(DESK).voids_alone(help);
    assert!(s.person(ANNA).distress);

    let mut s = calm;
    s.until("09:20").by(HELM).voids_alone(help);
    assert!(!s.person(ANNA).distress);
}

#[test]
fn a_drop_stated_anew_by_the_skipper_needs_no_second_as_its_people_stay_in_the_water() {
    let mut s = Scene::on_site();
    let drop = s.by(DECK).left_surface(B, 1, &[ANNA, BELA]);
    s.until("09:30").by(HELM).voids(drop);
    assert_eq!(s.group(B).drop.unwrap().at, clock("09:00"));
    s.by(HELM).at("09:04").left_surface(B, 1, &[ANNA, BELA]);
    assert_eq!(s.group(B).drop.unwrap().at, clock("09:04"));
    assert_eq!(s.place(ANNA), Place::InWater);

    // Not if the new words leave somebody out.
    let mut s = Scene::on_site();
    let drop = s.by(DECK).left_surface(B, 1, &[ANNA, BELA]);
    s.until("09:30").by(HELM).voids(drop);
    s.by(HELM).at("09:04").left_surface(B, 1, &[ANNA]);
    assert_eq!(s.place(BELA), Place::InWater);
}

#[test]
fn a_slip_is_taken_back_in_the_next_word_within_a_minute_and_while_nobody_acted_on_it() {
    let slip = |stated: &str, between: bool, answered: bool| {
        let mut s = Scene::four_down();
        let help = s.until("09:10").by(DECK).seen(&[ANNA], Signal::Help);
        if answered {
            let alert = s.alert(&format!("distress:{}", group(B)), "09:10").unwrap();
            s.by(HELM).acknowledges(&alert);
        }
        if between {
            s.by(DECK).current(0.3);
        }
        // The stated time is the device's own word; the box received it two hours later.
        s.until("11:10").by(DECK).at(stated).voids(help);
        s.person(ANNA).distress
    };
    assert!(!slip("09:10:40", false, false));
    assert!(slip("09:11:01", false, false), "too late by its own word");
    assert!(slip("09:09:59", false, false), "before it was said");
    assert!(
        slip("09:10:40", true, false),
        "the device has said something since"
    );
    assert!(slip("09:10:40", false, true), "somebody acted on it");
}

#[test]
fn a_void_that_comes_before_its_event_takes_effect_when_that_arrives() {
    let mut s = Scene::four_down();
    let aboard = s.by(DECK).aboard(ANNA);
    s.by(HELM).voids(aboard);
    let whole = s.state();
    let entry = s
        .log
        .remove(s.log.iter().position(|e| e.event.id == aboard).unwrap());
    assert_eq!(s.place(ANNA), Place::InWater);
    s.log.push(entry);
    assert_eq!(s.state(), whole);
    assert_eq!(s.place(ANNA), Place::InWater);
}

#[test]
fn a_correction_that_is_voided_leaves_what_it_corrected() {
    let mut s = Scene::on_site();
    let drop = s.by(DECK).left_surface(B, 1, &[ANNA, BELA]);
    let corrected = s.until("09:10").by(HELM).at("09:05").correcting(drop);
    let corrected = corrected.left_surface(B, 1, &[ANNA, BELA]);
    assert_eq!(s.group(B).drop.unwrap().at, clock("09:05"));
    s.by(HELM).voids_alone(corrected);
    assert_eq!(s.group(B).drop.unwrap().at, clock("09:00"));
    assert_eq!(s.place(ANNA), Place::InWater);
}

#[test]
fn corrections_that_correct_each_other_take_nothing_out() {
    let mut s = Scene::on_site();
    let first = EventId::new(uuid::Uuid::from_u128(HELM.device * 1_000_000 + 7));
    let mut say = |corrects| {
        s.by(HELM)
            .correcting(corrects)
            .left_surface(B, 1, &[ANNA, BELA])
    };
    let one = say(first);
    let two = say(one);
    for entry in &mut s.log {
        if entry.event.id == one {
            Arc::make_mut(&mut entry.event).corrects = Some(two);
        }
    }
    assert_eq!(s.place(ANNA), Place::InWater);
}

#[test]
fn an_unreadable_event_puts_its_people_in_doubt_also_where_it_names_only_their_group() {
    let mut s = Scene::four_down();
    s.by(DECK).aboard(ANNA);
    s.by(BOW).says(
        About::nobody().in_group(group(B), 1),
        unread("group-dreamt"),
    );
    assert_eq!(s.place(ANNA), Place::Unresolved);
    s.by(DECK).aboard(ANNA);
    assert_eq!(
        s.place(ANNA),
        Place::Aboard,
        "seen by somebody who knew of it"
    );
}

#[test]
fn the_same_identity_with_two_contents_is_a_doubt_whichever_came_first() {
    let mut s = Scene::four_down();
    s.by(DECK).aboard(ANNA);
    let mut twin = s.log.last().unwrap().clone();
    Arc::make_mut(&mut twin.event).fact = Fact::PersonMissing(PersonMissing {
        note: String::new(),
    });
    s.log.push(twin);
    let state = s.state();
    assert_eq!(s.place(ANNA), Place::Unresolved);
    s.log.reverse();
    assert_eq!(s.state(), state);
}

#[test]
fn two_that_claim_to_have_known_each_other_both_stand() {
    let mut s = Scene::four_down();
    let mut all = s.knowledge();
    all.0
        .insert(DeviceId::new(uuid::Uuid::from_u128(BOW.device)), 100);
    s.by(DECK).knowing(&all).aboard(ANNA);
    s.by(BOW).missing(ANNA);
    assert_eq!(s.place(ANNA), Place::Unresolved);
}

#[test]
fn a_group_seen_going_in_has_deadlines_though_nobody_heard_how_it_was_formed() {
    let mut s = Scene::on_site();
    s.by(DECK).left_surface(C, 1, &[ANNA, BELA]);
    assert_eq!(s.group_alert(C, "09:51").unwrap().cause.word(), "overdue");
    s.until("09:30").by(DECK).says(
        people(&[ANNA]).in_group(group(C), 1),
        at_surface(Signal::Well),
    );
    let alert = s.group_alert(C, "09:35").unwrap();
    assert_eq!(alert.cause.word(), "partner-overdue Bela Kiss");
}

#[test]
fn no_sign_from_somebody_who_signalled_for_help_is_no_better() {
    let mut s = Scene::four_down();
    s.by(DECK).seen(&[ANNA], Signal::Help);
    s.by(BOW).seen(&[ANNA], Signal::NoSignal);
    assert!(s.person(ANNA).distress);
    s.by(BOW).roll(Point::Leaving, &[EDDA], &[ANNA]);
    assert!(s.person(ANNA).distress);
    s.by(BOW).seen(&[ANNA], Signal::Well);
    assert!(!s.person(ANNA).distress);
}

#[test]
fn a_slower_current_seen_later_moves_no_deadline_back() {
    let mut s = Scene::four_down();
    s.until("09:10").by(HELM).current(3.0);
    let short = s.row(B, "09:11").deadlines.unwrap().overdue;
    assert_eq!(
        short,
        clock("09:45"),
        "12 min at 1 knot is 4 min at 3, but not before latest"
    );
    s.until("09:20").by(HELM).current(0.1);
    assert_eq!(s.row(B, "09:21").deadlines.unwrap().overdue, short);
}

#[test]
fn a_word_that_the_others_are_well_does_not_stop_a_clock_that_starts_later() {
    let mut s = Scene::four_down();
    s.until("09:10").by(DECK).seen(&[ANNA, BELA], Signal::Well);
    let well = Fact::OthersWell(OthersWell { said_by: who(ANNA) });
    s.until("09:11")
        .by(DECK)
        .says(About::nobody().in_group(group(B), 1), well);
    assert!(s.group_alert(B, "09:20").is_none());
    s.until("09:25").by(DECK).seen(&[CARO], Signal::Well);
    assert_eq!(
        s.group_alert(B, "09:31").unwrap().cause.word(),
        "partner-overdue Dino Marr"
    );
}

#[test]
fn a_trip_closed_over_somebody_opens_again_by_a_fact_its_skipper_did_not_know() {
    let mut s = Scene::four_down();
    for n in [ANNA, BELA, CARO] {
        s.by(DECK).aboard(n);
    }
    s.by(HELM).missing(DINO);
    let before = s.knowledge();
    s.by(HELM)
        .says(About::nobody(), Fact::BackInHarbour(BackInHarbour {}));
    let over = TripClosed {
        override_reason: Some("search handed over".into()),
    };
    s.by(HELM)
        .says(About::nobody(), Fact::TripClosed(over.clone()));
    assert!(!s.state().reopened);
    s.by(BOW).knowing(&before).seen(&[CARO], Signal::NoSignal);
    assert!(s.state().reopened);
    // The reason of somebody who is no skipper closes over nobody.
    let mut s = Scene::four_down();
    s.by(DECK).says(About::nobody(), Fact::TripClosed(over));
    assert!(s.state().reopened);
}

#[test]
fn an_alert_that_nobody_heard_is_not_hidden_by_one_that_was_acknowledged() {
    let mut s = Scene::four_down();
    let overdue = s.group_alert(B, "09:51").unwrap();
    s.until("09:51").by(HELM).acknowledges(&overdue);
    // A word of twenty minutes ago, which comes in only now.
    let lost = Fact::LostContact(LostContact { said_by: who(ANNA) });
    s.by(DECK)
        .at("09:31")
        .says(About::nobody().in_group(group(B), 1), lost);
    let alert = s.group_alert(B, "09:52").unwrap();
    assert!(alert.cause.word().starts_with("lost-contact"), "{alert:?}");
    assert!(alert.acknowledged.is_none());
}

#[test]
fn what_an_author_knew_and_we_do_not_hold_is_named_as_missing() {
    let mut s = Scene::four_down();
    s.by(BOW).aboard(ANNA);
    s.by(HELM).roll(Point::Leaving, &[EDDA], &[]);
    s.log
        .retain(|e| e.event.device != DeviceId::new(uuid::Uuid::from_u128(BOW.device)));
    let gaps = s.state().gaps;
    assert_eq!(gaps[&DeviceId::new(uuid::Uuid::from_u128(BOW.device))], [1]);
    assert!(s.alert("gap", "09:10").is_some());
}

#[test]
fn a_roll_that_names_somebody_present_and_not_seen_is_malformed() {
    let mut s = Scene::four_down();
    let cases = [
        (
            Fact::RollCalled(RollCalled {
                point: Point::Leaving,
                not_seen: vec![who(ANNA)],
            }),
            true,
        ),
        (
            Fact::Aboard(payload(
                json!({"vessel": {"kind": "own"}, "seen_by": " ", "detail": {}}),
            )),
            true,
        ),
        (
            Fact::PersonFound(payload(json!({"vessel": {"kind": "other", "name": ""},
            "seen_by": "Mate", "place": null}))),
            true,
        ),
        (aboard_own(), false),
    ];
    for (fact, malformed) in cases {
        s.by(DECK).says(people(&[ANNA]), fact);
        let text = s.log.last().unwrap().event.content().text;
        assert_eq!(read(text.as_bytes()).is_err(), malformed, "{text}");
    }
}

#[test]
fn a_plight_of_two_is_told_as_long_as_one_of_them_is_in_it() {
    let mut s = Scene::four_down();
    s.until("09:10").by(DECK).seen(&[ANNA, BELA], Signal::Help);
    s.until("09:12").by(DECK).aboard(ANNA);
    let key = format!("distress:{}", group(B));
    let told: Vec<Alert> = s.watch("09:13").alerts;
    let of: Vec<&Alert> = told.iter().filter(|a| a.key == key).collect();
    assert_eq!(of.len(), 1, "one alert for one situation");
    assert_eq!(of[0].state, AlertState::Active, "Bela Kiss still signals");
    s.until("09:14").by(DECK).aboard(BELA);
    let over = s.alert(&key, "09:15").unwrap();
    assert_eq!(over.state, AlertState::ResolvedUnacknowledged);
}

#[test]
fn a_diver_who_is_seen_at_the_surface_after_being_logged_aboard_came_up_by_the_earlier_word() {
    let mut s = Scene::four_down();
    s.until("09:10").by(DECK).aboard(ANNA);
    s.until("09:14").by(DECK).seen(&[ANNA], Signal::Well);
    // Bela's five minutes run from the first word, not anew from the second.
    let clock_until = s.row(B, "09:14").partner_until;
    assert_eq!(clock_until, Some(clock("09:15")));
}
