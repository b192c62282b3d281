//! The day of each diver: what earlier dives leave, whether a plan holds, what is owed.

use deckwatch::dive::findings::{Finding, Limiting};
use deckwatch::trip::after::{Ground, median_rate, next_entry, no_fly, surface_rate};
use deckwatch::trip::decide::{self, Refused};
use deckwatch::trip::dives::{self, Entry};
use deckwatch::trip::event::{
    Aboard, About, DivedEarlier, DropChecked, Event, Fact, GroupFormed, LeftSurface, PersonChanged,
    RecallSounded, Return, StopPlan, ToldDive, Vessel, read,
};
use deckwatch::trip::state::State;
use deckwatch::units::{CylinderBar, Depth, LitresPerMinute, Minutes};
use serde_json::json;

use crate::scene::*;

fn keys(decided: Result<Vec<decide::Draft>, Refused>) -> Vec<&'static str> {
    decided.unwrap_err().0.iter().map(|one| one.key).collect()
}

/// A group of two with big cylinders, so that nothing but what a test asks for limits it.
fn pair(letter: &str, units: &[&[u128]], depth_m: f64, minutes: f64) -> GroupFormed {
    let mut group = formed(letter, units, depth_m);
    group.plan.levels[0].minutes = Minutes::from_min(minutes).unwrap();
    for kit in group.kit.values_mut() {
        kit.cylinder_l = deckwatch::units::CylinderLitres::from_l(24.0).unwrap();
        kit.breathing_l_min = LitresPerMinute::from_l_min(12.0).unwrap();
    }
    group
}

fn form(s: &mut Scene, id: u128, dive: u32, group_formed: GroupFormed) {
    s.by(DESK).says(
        About::nobody().in_group(group(id), dive),
        Fact::GroupFormed(group_formed),
    );
}

fn came_up(s: &mut Scene, id: u128, dive: u32, person: u128, deepest_m: f64, bar: f64) {
    let detail = Return {
        surfaced_at: None,
        bar: Some(CylinderBar::from_bar(bar).unwrap()),
        greatest_depth_m: Some(Depth::from_m(deepest_m).unwrap()),
        stop_done: Some(true),
        problem: None,
    };
    let aboard = Aboard {
        vessel: Vessel::Own,
        seen_by: "Timo Rast".into(),
        detail,
    };
    s.by(DECK).says(
        people(&[person]).in_group(group(id), dive),
        Fact::Aboard(aboard),
    );
}

fn limit(state: &State, dive: u32, formed: &GroupFormed, entry: Entry) -> f64 {
    let answer = dives::answer(state, dive, formed, entry).unwrap();
    answer
        .strictest_by_load()
        .and_then(|member| member.reckoned.no_stop_limit_min)
        .unwrap()
}

/// Given mixed certifications, when a plan goes to 28 m, then the weakest member's limit keeps
/// the group out of the water until somebody releases it by name.
#[test]
fn a_plan_beyond_the_weakest_limit_is_kept_and_needs_a_named_release() {
    let mut s = Scene::on_site();
    let mut weak = card("Bela Kiss", deckwatch::trip::event::Activity::Diver);
    weak.depth_limit_m = Some(Depth::from_m(20.0).unwrap());
    s.by(DESK).says(
        people(&[BELA]),
        Fact::PersonChanged(PersonChanged { card: weak }),
    );
    let deep = decide::FormGroup {
        id: group(B),
        dive: 1,
        formed: pair("B", &[&[ANNA, BELA]], 28.0, 14.0),
    };
    let kept = decide::form_group(&s.state(), deep).unwrap();
    s.by(DESK).says(kept[0].about.clone(), kept[0].fact.clone());
    let check = DropChecked {
        engine_neutral: true,
        flag_shown: true,
        lights: None,
    };
    let checked = decide::check_drop(&s.state(), group(B), check.clone(), false, s.now);
    assert_eq!(keys(checked), ["refused-not-released", "refused-too-deep"]);

    let released = decide::release(
        &s.state(),
        group(B),
        "Ilka Voss",
        "guided, one to one",
        s.now,
    )
    .unwrap();
    s.by(HELM)
        .says(released[0].about.clone(), released[0].fact.clone());
    let by_name = s.group(B).formed.limit_override;
    assert_eq!(by_name.as_deref(), Some("Ilka Voss: guided, one to one"));
    decide::check_drop(&s.state(), group(B), check, false, s.now).unwrap();
    let nothing = decide::release(&s.state(), group(B), "Ilka Voss", " ", s.now);
    assert_eq!(keys(nothing), ["refused-empty"]);
}

/// What was logged replaces what was planned: longer and deeper leaves less for the next dive,
/// a longer interval more.
#[test]
fn the_dive_that_was_made_counts_and_not_the_one_that_was_planned() {
    let mut s = Scene::on_site();
    form(&mut s, B, 1, pair("B", &[&[ANNA, BELA]], 18.0, 30.0));
    let second = pair("C", &[&[ANNA, BELA]], 18.0, 20.0);
    let planned = limit(&s.state(), 2, &second, Entry::Planned);
    let alone = limit(&s.state(), 1, &second, Entry::Planned);
    assert!(planned < alone - 1.0, "{planned} after one, {alone} rested");

    s.by(DECK).left_surface(B, 1, &[ANNA, BELA]);
    s.until("09:50");
    came_up(&mut s, B, 1, ANNA, 24.0, 80.0);
    came_up(&mut s, B, 1, BELA, 18.0, 80.0);
    let state = s.state();
    let after = |interval: &str| limit(&state, 2, &second, Entry::At(clock(interval)));
    assert!(
        after("10:50") < planned,
        "50 min at 24 m against 30 at 18 m"
    );
    assert!(after("12:50") > after("10:50"));
    let answer = dives::answer(&state, 2, &second, Entry::At(clock("10:50"))).unwrap();
    let strictest = answer.strictest_by_load().unwrap().id;
    assert_eq!(strictest, who(ANNA), "the group takes its strictest member");
}

#[test]
fn a_dive_told_from_before_the_trip_counts() {
    let mut s = Scene::on_site();
    let first = pair("B", &[&[ANNA, BELA]], 18.0, 30.0);
    let rested = limit(&s.state(), 1, &first, Entry::At(s.now));
    let dives = vec![ToldDive {
        depth_m: Depth::from_m(25.0).unwrap(),
        minutes: Minutes::from_min(25.0).unwrap(),
        oxygen: deckwatch::units::OxygenFraction::from_fraction(0.21).unwrap(),
        surfaced_at: clock("08:00"),
        source: "Anna Berg".into(),
    }];
    s.by(DESK)
        .says(people(&[ANNA]), Fact::DivedEarlier(DivedEarlier { dives }));
    let repeated = limit(&s.state(), 1, &first, Entry::At(s.now));
    assert!(repeated < rested - 3.0, "{repeated} against {rested}");
    // Somebody who knew of it takes it back: nothing was dived.
    s.by(DESK).says(
        people(&[ANNA]),
        Fact::DivedEarlier(DivedEarlier { dives: Vec::new() }),
    );
    assert!((limit(&s.state(), 1, &first, Entry::At(s.now)) - rested).abs() < 1e-9);
}

/// A dive of which neither a group nor a depth is known cannot be reckoned: it stands against the
/// next plan, and the hours before flying are those after stops.
#[test]
fn a_dive_of_which_too_little_is_known_is_never_passed_over() {
    let mut s = Scene::on_site();
    s.by(DECK).says(
        people(&[EDDA]).on_dive(1),
        Fact::LeftSurface(LeftSurface {
            window: WINDOW,
            place: None,
            owes: Vec::new(),
        }),
    );
    s.until("09:40");
    let detail = Return {
        surfaced_at: None,
        bar: None,
        greatest_depth_m: None,
        stop_done: None,
        problem: None,
    };
    s.by(DECK).says(
        people(&[EDDA]).on_dive(1),
        Fact::Aboard(Aboard {
            vessel: Vessel::Own,
            seen_by: "Timo Rast".into(),
            detail,
        }),
    );
    let state = s.state();
    let before = dives::dives_before(&state, who(EDDA), 2, Entry::Planned);
    assert_eq!((before.dives.len(), before.unknown), (0, 1));
    let second = pair("C", &[&[EDDA, BELA]], 18.0, 20.0);
    let answer = dives::answer(&state, 2, &second, Entry::Planned).unwrap();
    let found = |id| {
        let mut members = answer.members.iter();
        let member = members.find(|member| member.id == who(id)).unwrap();
        member.findings.clone()
    };
    let unknown = Finding::EarlierUnknown { dives: 1 };
    assert!(found(EDDA).contains(&unknown));
    assert!(!found(BELA).contains(&unknown));
    let no_fly = no_fly(&state, &state.people[&who(EDDA)]).unwrap();
    assert_eq!(no_fly.ground, Ground::WithStops);
}

#[test]
fn what_limits_a_member_is_said() {
    let s = Scene::on_site();
    let limiting = |formed: &GroupFormed| {
        let answer = dives::answer(&s.state(), 1, formed, Entry::Planned).unwrap();
        answer.members[0].limiting().unwrap()
    };
    assert_eq!(
        limiting(&pair("B", &[&[ANNA, BELA]], 28.0, 14.0)),
        Limiting::NoStop
    );
    assert_eq!(
        limiting(&formed("B", &[&[ANNA, BELA]], 18.0)),
        Limiting::Gas
    );
    assert_eq!(
        limiting(&pair("B", &[&[ANNA, BELA]], 35.0, 5.0)),
        Limiting::Certification
    );
}

#[test]
fn after_a_recall_a_group_is_up_when_its_stops_are_held() {
    let mut s = Scene::on_site();
    form(&mut s, B, 1, pair("B", &[&[ANNA, BELA]], 27.0, 15.0));
    s.by(DECK).left_surface(B, 1, &[ANNA, BELA]);
    assert_eq!(s.row(B, "09:10").recalled, None);
    let recall = RecallSounded {
        signal: "engine revs".into(),
    };
    s.until("09:10")
        .by(HELM)
        .says(About::nobody().on_dive(1), Fact::RecallSounded(recall));
    let recalled = s.row(B, "09:11").recalled.unwrap();
    // From 27 m: 22 m at 9 m/min, 3 min, 5 m at 5 m/min; nothing owed after ten minutes.
    let way_up_s = recalled
        .coming
        .up_at
        .duration_since(clock("09:10"))
        .as_secs();
    assert!((way_up_s - 387).abs() <= 1, "{way_up_s} s");
    assert!(recalled.coming.owed().is_empty());
}

/// By hand: 24 l from 200 to 80 bar are 2,880 litre-bar; the dive was 30 min long to 18 m: a
/// minute down at 9 m, 23.56 min at 18 m, the way up of 5.44 min as planned.
#[test]
fn the_surface_rate_is_what_the_cylinder_lost_over_the_dive() {
    let mut s = Scene::on_site();
    form(&mut s, B, 1, pair("B", &[&[ANNA, BELA]], 18.0, 40.0));
    s.by(DECK).left_surface(B, 1, &[ANNA, BELA]);
    s.until("09:30");
    came_up(&mut s, B, 1, ANNA, 18.0, 80.0);
    let state = s.state();
    let rate = surface_rate(&state, &s.person(ANNA), 1).unwrap().l_min();
    let ambient = |m: f64| 1.013_25 + 0.100_518_162_5 * m;
    let stay_min = 30.0 - 1.0 - (13.0 / 9.0 + 3.0 + 1.0);
    let at_one = ambient(9.0)
        + stay_min * ambient(18.0)
        + 13.0 / 9.0 * ambient(11.5)
        + 3.0 * ambient(5.0)
        + ambient(2.5);
    assert!((rate - 24.0 * 120.0 / at_one).abs() < 1e-6, "{rate}");
    assert_eq!(surface_rate(&state, &s.person(BELA), 1), None, "not back");
    let rates = [14.0, 22.0, 18.0, 16.0].map(|l| LitresPerMinute::from_l_min(l).unwrap());
    assert!((median_rate(&rates).unwrap().l_min() - 18.0).abs() < 1e-12);
    assert_eq!(median_rate(&[]), None);
}

/// From the instant that is told the next dive needs no stops, a minute before it would.
#[test]
fn the_next_entry_is_the_first_minute_that_needs_no_stops() {
    let mut s = Scene::on_site();
    form(&mut s, B, 1, pair("B", &[&[ANNA, BELA]], 18.0, 38.0));
    let next = pair("C", &[&[ANNA, BELA]], 18.0, 36.0);
    form(&mut s, C, 2, next.clone());
    s.by(DECK).left_surface(B, 1, &[ANNA, BELA]);
    s.until("09:43");
    came_up(&mut s, B, 1, ANNA, 18.0, 90.0);
    let state = s.state();
    let entry = next_entry(&state, &s.person(ANNA), 1).unwrap();
    assert!(entry.is_planned && entry.at > clock("10:00"), "{entry:?}");
    let needs_none = |at| {
        let answer = dives::answer_for(&state, 2, &next, &[who(ANNA)], Entry::At(at)).unwrap();
        answer.members[0].reckoned.within_no_stop
    };
    assert!(needs_none(entry.at));
    assert!(!needs_none(entry.at - jiff::SignedDuration::from_mins(1)));
}

/// Stops came with version 2 of the payload: without them the bytes stay those of version 1,
/// and a version that this program would not write is kept unread.
#[test]
fn a_drop_that_owes_stops_is_written_as_version_2() {
    let mut s = Scene::on_site();
    let owes = vec![StopPlan {
        depth_m: Depth::from_m(3.0).unwrap(),
        minutes: Minutes::from_min(4.0).unwrap(),
    }];
    let about = people(&[ANNA, BELA]).in_group(group(B), 1);
    let drop = |owes| {
        Fact::LeftSurface(LeftSurface {
            window: WINDOW,
            place: None,
            owes,
        })
    };
    s.by(DECK).says(about.clone(), drop(owes.clone()));
    let written = |event: &Event| event.content().text;
    let with_stops = written(&s.log.last().unwrap().event);
    let (back, _) = read(with_stops.as_bytes()).unwrap();
    assert_eq!(back, *s.log.last().unwrap().event);
    let value: serde_json::Value = serde_json::from_str(&with_stops).unwrap();
    assert_eq!(value["v"], json!(2));
    assert_eq!(s.group(B).drop.unwrap().owes, owes);

    s.by(DECK).says(about, drop(Vec::new()));
    let mut plain: serde_json::Value =
        serde_json::from_str(&written(&s.log.last().unwrap().event)).unwrap();
    assert_eq!(plain["v"], json!(1));
    assert_eq!(plain["payload"].get("owes"), None);
    plain["v"] = json!(2);
    let (unread, content) = read(plain.to_string().as_bytes()).unwrap();
    assert!(matches!(unread.fact, Fact::Unread(_)));
    assert_eq!(unread.content(), content);
}
