//! What a crew lives through in a day, and what the state, the watch and the forms make of it.

use deckwatch::trip::decide;
use deckwatch::trip::event::*;
use deckwatch::trip::gate::{Block, gate};
use deckwatch::trip::roll::Outcome;
use deckwatch::trip::state::Place;
use deckwatch::trip::watch::{AlertState, Priority, Why};

use super::scene::*;

fn keys(decided: decide::Decided) -> Vec<&'static str> {
    decided.map_or_else(
        |refused| refused.0.iter().map(|r| r.key).collect(),
        |_| Vec::new(),
    )
}

#[test]
fn two_blind_counts_that_differ_twice_keep_the_boat_at_the_quay() {
    let mut s = Scene::opened();
    for (n, name) in NAMES {
        let fact = Fact::PersonJoined(PersonJoined {
            card: card(name, Activity::Diver),
        });
        s.by(DESK).says(people(&[n]), fact);
    }
    s.by(HELM)
        .roll(Point::Departure, &NAMES.map(|(n, _)| n), &[]);
    s.by(HELM).count(Point::Departure, 1, Method::Heads, (5, 5));
    assert!(gate(&s.state(), Point::Departure).contains(&Block::CountOpen { round: 1 }));
    s.by(DECK).count(Point::Departure, 1, Method::Heads, (4, 5));
    assert!(gate(&s.state(), Point::Departure).contains(&Block::CountOpen { round: 2 }));
    s.by(HELM).count(Point::Departure, 2, Method::Heads, (5, 5));
    s.by(DECK).count(Point::Departure, 2, Method::Heads, (4, 5));
    assert_eq!(gate(&s.state(), Point::Departure), [Block::CountFailed]);
    assert_eq!(
        keys(decide::depart(&s.state(), None, true)),
        ["refused-count-failed"]
    );
}

#[test]
fn one_crew_member_alone_needs_a_second_count_by_names() {
    let mut s = Scene::on_site();
    s.by(HELM).roll(Point::Leaving, &NAMES.map(|(n, _)| n), &[]);
    s.by(HELM).count(Point::Leaving, 1, Method::Heads, (5, 5));
    assert_eq!(
        gate(&s.state(), Point::Leaving),
        [Block::CountOpen { round: 1 }]
    );
    s.by(HELM).count(Point::Leaving, 1, Method::Names, (5, 5));
    assert_eq!(gate(&s.state(), Point::Leaving), []);
}

#[test]
fn a_walk_on_changes_the_totals_and_closes_the_gate_again() {
    let mut s = Scene::opened();
    let join = |s: &mut Scene, n: u128, name: &str| {
        let fact = Fact::PersonJoined(PersonJoined {
            card: card(name, Activity::Diver),
        });
        s.by(DESK).says(people(&[n]), fact);
    };
    join(&mut s, ANNA, "Anna Berg");
    s.by(HELM).roll(Point::Departure, &[ANNA], &[]);
    s.by(HELM).count(Point::Departure, 1, Method::Heads, (1, 1));
    s.by(DECK).count(Point::Departure, 1, Method::Heads, (1, 1));
    assert_eq!(gate(&s.state(), Point::Departure), []);
    join(&mut s, BELA, "Bela Kiss");
    assert_eq!(s.state().coming().count(), 2);
    assert_eq!(
        gate(&s.state(), Point::Departure),
        [Block::NotAboard(vec!["Bela Kiss".into()])]
    );
}

#[test]
fn the_window_runs_from_the_stated_time_of_leaving_the_surface() {
    let mut s = Scene::on_site();
    s.until("09:06")
        .by(DECK)
        .at("09:02")
        .left_surface(B, 1, &[ANNA, BELA]);
    let d = s.row(B, "09:07").deadlines.unwrap();
    assert_eq!((d.expected, d.overdue), (clock("09:42"), clock("09:52")));
    // Taken in too late by a tablet's slow clock: the earlier of the two reckonings counts.
    s.log.last_mut().unwrap().receipt.wall_age_ms = Some(5 * 60 * 1000);
    assert_eq!(s.row(B, "09:07").deadlines.unwrap().overdue, clock("09:51"));
}

#[test]
fn a_group_of_four_with_three_heads_seen_is_three_of_four_never_up() {
    let mut s = Scene::four_down();
    s.until("09:30")
        .by(HELM)
        .seen(&[ANNA, BELA, CARO], Signal::Well);
    let row = s.row(B, "09:31");
    assert_eq!((row.up, row.members.len(), row.accounted), (3, 4, 0));
    assert_eq!(s.place(DINO), Place::InWater);
    assert!(row.why.contains(&Why::AtSurface {
        at_surface: 3,
        of: 4,
        minutes: 1
    }));
    assert_eq!(s.watch("09:31").under, 1);
    assert_eq!(s.group_alert(B, "09:51").unwrap().cause.word(), "overdue");
}

#[test]
fn a_diver_up_early_starts_the_partners_five_minutes_whatever_the_window_says() {
    let mut s = Scene::four_down();
    s.until("09:10").by(HELM).seen(&[ANNA], Signal::Well);
    let row = s.row(B, "09:12");
    assert_eq!(row.partner_until, Some(clock("09:15")));
    assert!(s.group_alert(B, "09:14:59").is_none());
    let alert = s.group_alert(B, "09:15").unwrap();
    assert_eq!(alert.cause.word(), "partner-overdue Bela Kiss");
    assert_eq!(alert.priority, Priority::Alarm);
    // Heard by nobody, it stays listed when the partner is up.
    s.until("09:17").by(HELM).seen(&[BELA], Signal::Well);
    let alert = s.group_alert(B, "09:18").unwrap();
    assert_eq!(alert.state, AlertState::ResolvedUnacknowledged);
    s.until("09:19").by(HELM).acknowledges(&alert);
    assert!(s.group_alert(B, "09:20").is_none());
}

#[test]
fn a_buoy_alone_counts_nobody_and_says_hold_off() {
    let mut s = Scene::four_down();
    let buoy = Fact::BuoySeen(BuoySeen {
        colour: BuoyColour::Orange,
        place: None,
        from_boat: None,
    });
    s.until("09:30")
        .by(HELM)
        .says(About::nobody().in_group(group(B), 1), buoy);
    let row = s.row(B, "09:32");
    assert_eq!((row.up, row.at_surface), (0, 0));
    assert!(row.why.contains(&Why::BuoyOnly { minutes: 2 }));
    assert_eq!(s.watch("09:32").under, 4);
}

#[test]
fn the_halves_of_a_split_group_each_have_their_place_and_both_must_close() {
    let mut s = Scene::four_down();
    let seen_at = |place: [f64; 2]| {
        let place = Some(payload(serde_json::json!(place)));
        Fact::AtSurface(AtSurface {
            signal: Signal::Well,
            place,
            from_boat: None,
        })
    };
    s.until("09:35");
    for (pair, place) in [
        ([ANNA, BELA], [10.0, 20.001]),
        ([CARO, DINO], [10.003, 20.0]),
    ] {
        s.by(HELM)
            .says(people(&pair).in_group(group(B), 1), seen_at(place));
    }
    let [anna, caro] = [ANNA, CARO].map(|n| s.person(n).surface_position().unwrap().0);
    assert_ne!(anna, caro);
    s.by(DECK).aboard(ANNA);
    s.by(DECK).aboard(BELA);
    assert_eq!(s.state().groups_out().count(), 1);
    s.by(DECK).aboard(CARO);
    s.by(DECK).aboard(DINO);
    assert_eq!(s.state().groups_out().count(), 0);
}

#[test]
fn a_swap_found_out_afterwards_keeps_planned_and_actual_members() {
    let mut s = Scene::on_site();
    s.by(DECK).left_surface(B, 1, &[ANNA, BELA, CARO, EDDA]);
    let g = s.group(B);
    assert_eq!(g.planned, set(&[ANNA, BELA, CARO, DINO]));
    assert_eq!(*g.members(), set(&[ANNA, BELA, CARO, EDDA]));
    assert_eq!(
        (s.place(EDDA), s.place(DINO)),
        (Place::InWater, Place::Aboard)
    );
}

#[test]
fn aboard_another_boat_needs_that_boats_named_person_and_hearsay_leaves_missing() {
    let mut s = Scene::four_down();
    s.by(HELM).missing(ANNA);
    let other = || Vessel::Other {
        name: "Grey Heron".into(),
    };
    let hearsay = decide::found(&s.state(), who(ANNA), Some(other()), "  ", None);
    assert_eq!(keys(hearsay), ["refused-empty"]);
    assert_eq!(s.place(ANNA), Place::Missing);
    let seen = decide::found(&s.state(), who(ANNA), Some(other()), "Mate Rolf", None).unwrap();
    for draft in seen {
        s.by(HELM).says(draft.about, draft.fact);
    }
    assert_eq!(s.place(ANNA), Place::OtherVessel);
}

#[test]
fn a_wrong_face_corrected_puts_both_back_where_they_are_and_stays_in_the_log() {
    let mut s = Scene::four_down();
    s.until("09:40");
    let wrong = s.by(DECK).aboard(ANNA);
    let events = s.state().events;
    s.until("09:45").by(DECK).voids(wrong);
    s.by(DECK).aboard(BELA);
    assert_eq!(
        (s.place(ANNA), s.place(BELA)),
        (Place::InWater, Place::Aboard)
    );
    assert_eq!(s.state().events, events + 2);
    assert!(
        s.log.iter().any(|e| e.event.id == wrong),
        "the error stays readable"
    );
}

#[test]
fn a_return_logged_late_ends_the_alarm_and_keeps_both_times() {
    let mut s = Scene::on_site();
    s.by(DECK).left_surface(B, 1, &[ANNA, BELA]);
    assert!(s.group_alert(B, "09:51").is_some());
    s.until("10:00");
    for n in [ANNA, BELA] {
        s.by(DECK).at("09:40").aboard(n);
    }
    assert!(s.group_alert(B, "10:01").is_none(), "it never was late");
    let logged = s.person(ANNA).dives[&1].clone();
    assert_eq!(logged.surfaced_at, Some(clock("09:40")));
    let entry = s.log.last().unwrap();
    assert_eq!(
        (entry.event.at, entry.receipt.recorded_at),
        (clock("09:40"), clock("10:00"))
    );
}

#[test]
fn snorkellers_still_block_leaving_when_all_divers_are_aboard() {
    let mut s = Scene::on_site();
    let card = card("Fynn Holt", Activity::Snorkeller);
    s.by(DESK)
        .says(people(&[106]), Fact::PersonJoined(PersonJoined { card }));
    s.by(DECK)
        .says(people(&[106]).on_dive(1), at_surface(Signal::NoSignal));
    let blocks = gate(&s.state(), Point::Leaving);
    assert!(blocks.contains(&Block::Out(vec!["Fynn Holt".into()])));
    assert_eq!(s.state().swimmers().count(), 1);
    assert_eq!(
        keys(decide::relieve_lookout(&s.state())),
        ["refused-lookout-needed"]
    );
}

#[test]
fn at_night_no_group_goes_in_before_lights_are_recorded() {
    let s = Scene::on_site();
    let tap = |night| decide::DropTap {
        group: group(B),
        members: set(&[ANNA, BELA]),
        window: WINDOW,
        owes: Vec::new(),
        place: None,
        at: None,
        night,
    };
    assert_eq!(
        keys(decide::left_surface(&s.state(), tap(true), s.now)),
        ["refused-no-lights"]
    );
    assert_eq!(
        keys(decide::left_surface(&s.state(), tap(false), s.now)),
        [""; 0]
    );
    let dark = DropChecked {
        engine_neutral: true,
        flag_shown: true,
        lights: Some(false),
    };
    let checked = decide::check_drop(&s.state(), group(B), dark, true, s.now);
    assert_eq!(keys(checked), ["refused-no-lights"]);
}

#[test]
fn a_check_with_the_engine_in_gear_readies_nobody() {
    let mut s = Scene::on_site();
    let check = DropChecked {
        engine_neutral: false,
        flag_shown: true,
        lights: None,
    };
    s.by(BOW).says(
        About::nobody().in_group(group(B), 1),
        Fact::DropChecked(check),
    );
    assert!(s.group(B).checked.is_none());
}

#[test]
fn the_count_wins_over_the_ticks() {
    let mut s = Scene::on_site();
    s.by(HELM).roll(Point::Leaving, &NAMES.map(|(n, _)| n), &[]);
    for round in [1, 2] {
        for crew in [HELM, DECK] {
            s.by(crew)
                .count(Point::Leaving, round, Method::Heads, (4, 5));
        }
    }
    assert_eq!(s.state().calls[0].outcome(), Outcome::Failed);
    assert_eq!(gate(&s.state(), Point::Leaving), [Block::CountFailed]);
    let alert = s.alert("count:leaving:1:1", "09:01").unwrap();
    assert!(alert.cause.proposes_emergency());
    assert_eq!(
        keys(decide::leave_site(&s.state(), None, true)),
        ["refused-count-failed"]
    );
}

#[test]
fn a_plight_that_ended_before_anybody_heard_stays_listed_until_acknowledged() {
    let key = |word: &str| match word {
        "unresolved" => format!("{word}:{}", who(ANNA)),
        _ => format!("{word}:{}", group(B)),
    };
    let mut s = Scene::four_down();
    s.until("09:10").by(DECK).seen(&[ANNA], Signal::Help);
    s.until("09:12").by(DECK).aboard(ANNA);
    let before = s.knowledge();
    s.until("09:13").by(HELM).missing(ANNA);
    s.until("09:14").by(DECK).knowing(&before).aboard(ANNA);
    s.until("09:15").by(DECK).aboard(ANNA);
    for word in ["distress", "missing", "unresolved"] {
        let alert = s.alert(&key(word), "09:16").unwrap();
        assert_eq!(alert.state, AlertState::ResolvedUnacknowledged, "{word}");
        s.until("09:16").by(HELM).acknowledges(&alert);
        assert!(s.alert(&key(word), "09:17").is_none(), "{word}");
    }
}

#[test]
fn an_emergency_that_is_over_stays_listed_until_acknowledged() {
    let mut s = Scene::four_down();
    let declared = EmergencyDeclared {
        reason: "diver lost".into(),
        datum: None,
    };
    s.by(DECK)
        .says(About::nobody(), Fact::EmergencyDeclared(declared));
    assert_eq!(
        s.alert("emergency", "09:01").unwrap().state,
        AlertState::Active
    );
    let ended = EmergencyEnded {
        reason: "found well".into(),
    };
    // Anybody of the crew declares; that it is over is the skipper's word.
    s.by(DECK)
        .says(About::nobody(), Fact::EmergencyEnded(ended.clone()));
    assert!(s.state().emergency.is_some());
    for (role, refused) in [
        (Role::Divemaster, true),
        (Role::Desk, true),
        (Role::Skipper, false),
    ] {
        let decided = decide::end_emergency(&s.state(), "found well", role);
        assert_eq!(decided.is_err(), refused, "{role:?}");
    }
    s.by(HELM)
        .says(About::nobody(), Fact::EmergencyEnded(ended));
    let alert = s.alert("emergency", "09:02").unwrap();
    assert_eq!(alert.state, AlertState::ResolvedUnacknowledged);
    s.by(HELM).acknowledges(&alert);
    assert!(s.alert("emergency", "09:03").is_none());
}

#[test]
fn a_tablet_whose_clock_is_behind_can_acknowledge_a_distress() {
    let mut s = Scene::four_down();
    s.until("09:10").by(DECK).seen(&[ANNA], Signal::Help);
    let alert = s.alert(&format!("distress:{}", group(B)), "09:11").unwrap();
    s.until("09:11").by(BOW).at("08:11").acknowledges(&alert);
    let alert = s.alert(&alert.key, "09:12").unwrap();
    assert_eq!(alert.state, AlertState::Acknowledged);
    // A second signal is a new cause, whatever time it states.
    let before = s.knowledge();
    s.until("09:13")
        .by(HELM)
        .at("09:09")
        .knowing(&before)
        .seen(&[ANNA], Signal::Help);
    assert_eq!(
        s.alert(&alert.key, "09:14").unwrap().state,
        AlertState::Active
    );
}

#[test]
fn a_pair_swapped_on_the_second_dive_raises_nothing_for_the_first() {
    let mut s = Scene::four_down();
    s.until("09:40");
    for n in [ANNA, BELA, CARO, DINO] {
        s.by(DECK).aboard(n);
    }
    s.until("12:00").by(DECK).left_surface(C, 2, &[ANNA, CARO]);
    assert!(s.group_alert(B, "12:10").is_none());
    assert!(s.group_alert(C, "12:51").is_some());
}

/// A tablet whose wall clock is an hour out: the box reckons from the ages, so the window runs from
/// when it was, and nothing is overdue or safe by the clock. Both times stay in the log.
#[test]
fn a_tablet_clock_an_hour_out_makes_nothing_overdue_or_safe() {
    for (stated, is_ahead) in [("10:05", true), ("09:05", false)] {
        let mut s = Scene::on_site();
        s.until("09:05")
            .by(DECK)
            .at(stated)
            .left_surface(B, 1, &[ANNA, BELA]);
        // Made five minutes before it came, by either clock of the tablet.
        let drop = s.log.last_mut().unwrap();
        drop.receipt.recorded_at = clock("09:10");
        (drop.receipt.wall_age_ms, drop.receipt.mono_age_ms) = (Some(300_000), Some(300_000));
        let deadlines = s.row(B, "09:11").deadlines.unwrap();
        assert_eq!(deadlines.latest, clock("09:50"), "{is_ahead}");
        assert!(s.group_alert(B, "09:49:59").is_none());
        assert_eq!(s.group_alert(B, "09:55").unwrap().cause.word(), "overdue");
        let drop = s.log.last().unwrap();
        assert_eq!(
            drop.event.at,
            clock(stated),
            "what it stated stays readable"
        );
        // The same tablet says that one is aboard, stating an hour ahead: aboard from when it came.
        if is_ahead {
            s.until("09:56").by(DECK).at("10:56").aboard(ANNA);
            assert_eq!(s.person(ANNA).dives[&1].aboard_at, Some(clock("09:56")));
            assert_eq!(s.group_alert(B, "09:57").unwrap().cause.word(), "overdue");
        }
    }
}

/// While it slept the tablet's monotonic clock stood still: of the two ages the greater counts, and
/// the entry is the earlier.
#[test]
fn of_a_tablets_two_clocks_the_one_that_went_on_in_sleep_counts() {
    for (wall_age_ms, mono_age_ms) in [(Some(1_200_000), Some(60_000)), (Some(0), Some(1_200_000))]
    {
        let mut s = Scene::on_site();
        s.until("09:20").by(DECK).left_surface(B, 1, &[ANNA, BELA]);
        let drop = s.log.last_mut().unwrap();
        (drop.receipt.wall_age_ms, drop.receipt.mono_age_ms) = (wall_age_ms, mono_age_ms);
        assert_eq!(s.group(B).drop.unwrap().at, clock("09:00"));
    }
}

/// The helm tablet goes overboard: whoever signs in on another sees everything that came to the
/// box; what the lost one knew and never delivered is named as missing, and no gate opens by it.
#[test]
fn a_tablet_overboard_takes_nothing_along_that_came_and_what_did_not_come_is_named() {
    let mut s = Scene::four_down();
    s.until("09:30").by(HELM).seen(&[ANNA, BELA], Signal::Well);
    let before = s.state();
    // It says one more thing, which only the bow hears, and is gone.
    s.until("09:31").by(HELM).seen(&[CARO], Signal::Well);
    s.by(BOW).says(
        About::nobody(),
        Fact::IncidentNoted(IncidentNoted {
            text: "helm tablet overboard".into(),
            record: None,
        }),
    );
    let lost = s.log.remove(s.log.len() - 2);
    let state = s.state();
    assert_eq!(places(&state), places(&before), "nobody moved by the loss");
    assert_eq!(
        state.events,
        before.events + 1,
        "revoking takes nothing out of the log"
    );
    let gaps = &state.gaps[&lost.event.device];
    assert_eq!(
        *gaps,
        [lost.event.device_seq],
        "and what is missing is named"
    );
    assert!(s.alert("gap", "09:32").is_some());
    // Another helm goes on with what came, and no more.
    let other = Crew { device: 31, ..HELM };
    let came = state.head.clone();
    assert!(!came.covers(lost.event.device, lost.event.device_seq));
    assert_eq!(s.place(CARO), Place::InWater);
    s.until("09:40")
        .by(other)
        .knowing(&came)
        .seen(&[CARO, DINO], Signal::Well);
    for n in [ANNA, BELA, CARO, DINO] {
        s.by(other).knowing(&came).aboard(n);
    }
    assert!(!s.state().anybody_out());
    // Its last word comes late, from a copy: it is older than what the other helm saw, and yet
    // nobody who said 'aboard' knew it. Doubt is not safe.
    s.log.push(lost);
    assert_eq!(s.place(CARO), Place::Unresolved);
    assert!(gate(&s.state(), Point::Leaving).contains(&Block::Out(vec!["Caro Lind".into()])));
}

/// The server loses its power in mid-dive: what it had accepted is folded to the same state and
/// the same deadlines by whoever holds a copy, before and after, in whatever order it comes back.
#[test]
fn power_that_fails_in_mid_dive_moves_no_deadline_and_a_copy_lists_everybody_meanwhile() {
    let mut s = Scene::four_down();
    s.until("09:20").by(DECK).current(0.8);
    s.until("09:30").by(HELM).seen(&[ANNA], Signal::Well);
    let accepted = s.state();
    let copy = s.clone();
    // Alone, the tablet's copy lists everybody and alarms by itself.
    assert_eq!(copy.watch("09:34").under, 3);
    let alone = copy.group_alert(B, "09:35").unwrap();
    assert_eq!(alone.cause.word(), "partner-overdue Bela Kiss");
    // A new box takes the copy in backwards, and doubled.
    let mut refilled = copy.clone();
    refilled.log.reverse();
    refilled.log.extend(copy.log.clone());
    assert_eq!(refilled.state(), accepted);
    let content = |s: &Scene| digest(s.log.iter().map(|e| e.event.content().hash));
    assert_eq!(content(&refilled), content(&s));
    // What the tablet said alone comes late; the windows are as they were.
    let before = s.row(B, "09:41").deadlines;
    s.until("09:40").by(DECK).seen(&[BELA], Signal::Well);
    s.log.last_mut().unwrap().receipt.recorded_at = clock("09:50");
    s.log.last_mut().unwrap().receipt.mono_age_ms = Some(600_000);
    assert_eq!(s.row(B, "09:41").deadlines, before);
    assert_eq!(s.person(BELA).since, clock("09:40"));
}

/// No network, two devices: the less safe state shows until a person who sees both words says
/// which it is.
#[test]
fn two_devices_that_log_apart_leave_the_less_safe_state_until_a_person_resolves_it() {
    let mut s = Scene::four_down();
    let apart = s.knowledge();
    s.until("09:40").by(DECK).knowing(&apart).aboard(ANNA);
    s.by(BOW).knowing(&apart).seen(&[ANNA], Signal::NoSignal);
    s.until("09:41").by(DECK).knowing(&apart).aboard(BELA);
    s.by(BOW).knowing(&apart).missing(BELA);
    let state = s.state();
    for n in [ANNA, BELA] {
        assert_eq!(s.place(n), Place::Unresolved);
        let said: Vec<_> = s
            .person(n)
            .statements
            .iter()
            .map(|w| w.by.clone())
            .collect();
        assert_eq!(said.len(), 2, "each word is shown with its author");
    }
    assert!(
        s.alert(&format!("unresolved:{}", who(ANNA)), "09:42")
            .is_some()
    );
    assert!(s.alert(&format!("missing:{}", group(B)), "09:42").is_some());
    // The deadline runs on, and neither time nor hearing it again settles anything.
    assert_eq!(s.group_alert(B, "09:50").unwrap().cause.word(), "overdue");
    assert_eq!(
        keys(decide::leave_site(&state, None, true)).first(),
        Some(&"refused-out")
    );
    let again = s.log.clone();
    s.log.extend(again);
    assert_eq!(s.place(ANNA), Place::Unresolved);
    s.log.truncate(s.log.len() / 2);
    // The skipper looks, and says what is seen, knowing both.
    s.until("09:52").by(HELM).aboard(ANNA);
    assert_eq!(s.place(ANNA), Place::Aboard);
    let found = decide::found(&s.state(), who(BELA), Some(Vessel::Own), HELM.name, None).unwrap();
    for draft in found {
        s.by(HELM).says(draft.about, draft.fact);
    }
    assert_eq!(s.place(BELA), Place::Aboard);
}
