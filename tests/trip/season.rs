//! Figures of trips and of a season, each worked by hand.

use deckwatch::dive::window::Light;
use deckwatch::trip::SiteId;
use deckwatch::trip::TripId;
use deckwatch::trip::event::*;
use deckwatch::trip::season::{
    At, Band, GroupDive, Return as GasBack, Season, Spread, TripFigures, Up, read,
};
use deckwatch::trip::watch::{Acknowledged, Cause, Episode, Priority, Told, history};
use serde_json::json;
use uuid::Uuid;

use super::scene::*;

const FOUR: [u128; 4] = [ANNA, BELA, CARO, DINO];

fn acknowledged(cause: &str) -> Fact {
    Fact::AlertAcknowledged(AlertAcknowledged {
        alert: format!("group:{}", group(B)),
        cause: cause.into(),
    })
}

fn aboard_with(bar: f64) -> Fact {
    Fact::Aboard(payload(
        json!({"vessel": {"kind": "own"}, "seen_by": "Timo Rast",
        "detail": {"bar": bar}}),
    ))
}

fn figures(s: &Scene, now: &str) -> TripFigures {
    read(trip(), &s.log, clock(now)).unwrap()
}

/// In at nine, expected after 40 min, late after 45: up at 9:48 is 48 min, 3 after the latest.
#[test]
fn a_trip_in_figures() {
    let mut s = Scene::on_site();
    s.until("08:30").by(HELM).current(0.7);
    s.until("09:00").by(DECK).left_surface(B, 1, &FOUR);
    s.until("09:46")
        .by(HELM)
        .says(About::nobody(), acknowledged("late"));
    s.until("09:48").by(DECK).seen(&FOUR, Signal::Well);
    for (person, bar) in [(ANNA, 70.0), (BELA, 45.0), (CARO, 60.0)] {
        s.until("09:55")
            .by(DECK)
            .says(people(&[person]).in_group(group(B), 1), aboard_with(bar));
    }
    s.by(DECK).aboard(DINO);
    s.until("11:00")
        .by(HELM)
        .says(About::nobody(), Fact::BackInHarbour(BackInHarbour {}));

    let trip = figures(&s, "12:00");
    // Left the quay at eight.
    assert_eq!(
        (trip.departed, trip.hours),
        (Some(clock("08:00")), Some(3.0))
    );
    let [dive] = trip.dives.as_slice() else {
        panic!("{:?}", trip.dives)
    };
    assert_eq!(
        (dive.planned_min, dive.people, dive.light),
        (40.0, 4, Light::Day)
    );
    let up = Up::Seen {
        actual_min: 48.0,
        late_min: 3.0,
    };
    assert_eq!(dive.up, up);
    assert!((dive.current_kn.unwrap() - 0.7).abs() < 1e-9);
    assert_eq!(dive.at.as_ref().unwrap().name, "Lantern Reef");
    let mut bars: Vec<_> = trip.returns.iter().map(|one| one.bar).collect();
    bars.sort_by(|a, b| a.partial_cmp(b).unwrap());
    assert_eq!(bars, [None, Some(45.0), Some(60.0), Some(70.0)]);
    assert!(
        trip.returns
            .iter()
            .all(|one| (one.reserve_bar - 50.0).abs() < 1e-9)
    );
    let [late] = trip.alarms.as_slice() else {
        panic!("{:?}", trip.alarms)
    };
    let (one, by_late_word) = (&late.episode, late.by_late_word);
    assert_eq!((one.cause.word().as_str(), by_late_word), ("late", false));
    assert_eq!(
        (one.since, one.until),
        (clock("09:45"), Some(clock("09:48")))
    );
    assert_eq!(one.acknowledged.as_ref().unwrap().at, clock("09:46"));
    assert!(!one.ended_unseen());
}

/// Up at 9:44, told at 9:52: the log has nobody late, yet at 9:50 the boat had an overdue group.
#[test]
fn what_sounded_only_because_a_word_came_late_is_counted() {
    let mut s = Scene::four_down();
    s.until("09:52")
        .by(DECK)
        .at("09:44")
        .seen(&FOUR, Signal::Well);
    assert_eq!(
        s.group_alert(B, "10:00"),
        None,
        "by the whole log nothing was late"
    );
    let alarms = figures(&s, "12:00").alarms;
    let [told] = alarms.as_slice() else {
        panic!("{alarms:?}")
    };
    let one = &told.episode;
    assert_eq!(
        (one.cause.word().as_str(), told.by_late_word),
        ("overdue", true)
    );
    assert_eq!(
        (one.since, one.until),
        (clock("09:50"), Some(clock("09:52")))
    );
    assert!(one.ended_unseen());
    // Told in time, nothing sounded.
    let mut s = Scene::four_down();
    s.until("09:44").by(DECK).seen(&FOUR, Signal::Well);
    assert_eq!(figures(&s, "12:00").alarms, []);
}

#[test]
fn a_late_group_told_at_once_is_one_alarm_and_not_two() {
    let mut s = Scene::four_down();
    s.until("09:44")
        .by(DECK)
        .seen(&[ANNA, BELA, CARO], Signal::Well);
    // Dino at 9:47, told at 9:51: late by the whole log, overdue by what was known at 9:50.
    s.until("09:51")
        .by(DECK)
        .at("09:47")
        .seen(&[DINO], Signal::Well);
    let of_group: Vec<(String, bool)> = figures(&s, "12:00")
        .alarms
        .into_iter()
        .map(|one| (one.episode.cause.word(), one.by_late_word))
        .filter(|(cause, _)| ["late", "overdue"].contains(&cause.as_str()))
        .collect();
    assert_eq!(
        of_group,
        [("late".to_owned(), false), ("overdue".to_owned(), true)]
    );
}

#[test]
fn an_end_that_nobody_saw_is_no_run_time() {
    let up = |s: &Scene| figures(s, "12:00").dives[0].up;
    let mut s = Scene::four_down();
    assert_eq!(up(&s), Up::NotKnown, "still down");
    s.until("09:40").by(DECK).seen(&[ANNA, BELA], Signal::Well);
    s.until("09:43").by(DECK).aboard(CARO);
    assert_eq!(up(&s), Up::NotKnown, "one is down");
    s.until("09:44").by(DECK).aboard(DINO);
    assert_eq!(
        up(&s),
        Up::OnlyAboard,
        "the last was seen on the ladder first"
    );
    let mut s = Scene::four_down();
    s.until("09:40").by(DECK).seen(&FOUR, Signal::Well);
    let then = s.knowledge();
    s.until("09:41").by(DECK).aboard(DINO);
    s.until("09:42").by(BOW).knowing(&then).missing(DINO);
    assert_eq!(s.place(DINO), deckwatch::trip::state::Place::Unresolved);
    assert_eq!(up(&s), Up::NotKnown, "in doubt");
}

/// The first counts differ from 9:11 on, the recount agrees at 9:14.
#[test]
fn a_count_that_differed_stays_in_the_history() {
    let mut s = Scene::on_site();
    s.until("09:10")
        .by(HELM)
        .count(Point::Leaving, 1, Method::Heads, (5, 5));
    s.until("09:11")
        .by(DECK)
        .count(Point::Leaving, 1, Method::Heads, (4, 5));
    s.until("09:13")
        .by(HELM)
        .count(Point::Leaving, 2, Method::Heads, (5, 5));
    s.until("09:14")
        .by(DECK)
        .count(Point::Leaving, 2, Method::Heads, (5, 5));
    let alarms = figures(&s, "12:00").alarms;
    let [told] = alarms.as_slice() else {
        panic!("{alarms:?}")
    };
    let one = &told.episode;
    assert_eq!(one.cause.word(), "count-differs");
    assert_eq!(
        (one.since, one.until),
        (clock("09:11"), Some(clock("09:14")))
    );
}

/// The quick reading against the exact one, which asks the watch at every instant of the trip: for
/// each situation the last cause that sounded, as a group's causes only become graver.
#[test]
fn the_quick_reading_agrees_with_the_watch_asked_at_every_instant() {
    let mut answered = Scene::four_down();
    answered.until("09:52");
    let alert = answered.group_alert(B, "09:52").unwrap();
    answered.by(HELM).acknowledges(&alert);
    answered.until("09:58").by(DECK).seen(&FOUR, Signal::Well);
    let mut told_late = Scene::four_down();
    told_late
        .until("09:52")
        .by(DECK)
        .at("09:44")
        .seen(&FOUR, Signal::Well);
    let mut help = Scene::four_down();
    help.until("09:40").by(DECK).seen(&[ANNA], Signal::Help);
    help.until("09:51").by(DECK).seen(&FOUR, Signal::Well);
    let mut still_down = Scene::four_down();
    still_down.until("12:00");
    for s in [answered, told_late, help, still_down] {
        let now = clock("12:00");
        let last = |all: Vec<Episode>| {
            let mut by_key = std::collections::BTreeMap::new();
            for one in all.into_iter().filter(Episode::asks_for_an_act) {
                let told = (one.since, one.priority, one.cause.word());
                let held = by_key.entry(one.key).or_insert_with(|| told.clone());
                *held = told.max(held.clone());
            }
            by_key
        };
        let quick = figures(&s, "12:00").alarms.into_iter();
        assert_eq!(
            last(quick.map(|one| one.episode).collect()),
            last(history(trip(), &s.log, now))
        );
    }
}

#[test]
fn a_departure_that_was_taken_back_does_not_count() {
    let mut s = Scene::on_site();
    let departed = s
        .log
        .iter()
        .find(|e| matches!(e.event.fact, Fact::Departed(_)))
        .map(|e| e.event.id);
    s.by(HELM).voids(departed.unwrap());
    s.until("11:00")
        .by(HELM)
        .says(About::nobody(), Fact::BackInHarbour(BackInHarbour {}));
    let trip = figures(&s, "12:00");
    assert_eq!((trip.departed, trip.hours), (None, None));
}

#[test]
fn a_log_that_opens_no_trip_has_no_figures() {
    assert_eq!(read(trip(), &[], clock("12:00")), None);
}

fn at(name: &str) -> At {
    At {
        name: name.into(),
        site: SiteId::new(Uuid::from_u128(u128::from(name.as_bytes()[0]))),
    }
}

fn dive(site: &str, actual_min: f64, current_kn: Option<f64>) -> GroupDive {
    GroupDive {
        dive: 1,
        letter: "B".into(),
        at: Some(at(site)),
        entered: clock("09:00"),
        people: 2,
        planned_min: 40.0,
        given_min: 0.0,
        light: Light::Day,
        up: Up::Seen {
            actual_min,
            late_min: actual_min - 45.0,
        },
        current_kn,
    }
}

fn told(since: &str, until: Option<&str>, acknowledged: Option<&str>) -> Told {
    let episode = Episode {
        key: "group:b".into(),
        cause: Cause::Late,
        priority: Priority::Warning,
        since: clock(since),
        acknowledged: acknowledged.map(|at| Acknowledged {
            by: "Rina Solberg".into(),
            at: clock(at),
        }),
        until: until.map(clock),
        went_over: false,
        group: None,
    };
    episode.into()
}

fn day(n: u128, dives: Vec<GroupDive>, alarms: Vec<Told>) -> TripFigures {
    TripFigures {
        trip: TripId::new(Uuid::from_u128(n)),
        day: "2026-06-01".parse().unwrap(),
        boat: "Morning Tern".into(),
        drill: false,
        departed: Some(clock("08:00")),
        hours: Some(2.5),
        dives,
        returns: vec![GasBack {
            dive: 1,
            at: Some(at("Reef")),
            bar: Some(45.0),
            reserve_bar: 50.0,
        }],
        alarms,
    }
}

#[test]
fn lateness_stands_by_site_and_by_current() {
    let dives = vec![
        dive("Reef", 41.0, Some(0.4)),
        dive("Reef", 47.0, Some(0.5)),
        dive("Wreck", 44.0, Some(1.6)),
        dive("Wreck", 46.0, None),
    ];
    let season = Season::of(vec![day(1, dives, vec![])], None);
    let by_site = season.lateness_by_site();
    assert_eq!(by_site[0].key.as_deref(), Some("Reef"));
    assert_eq!(
        (by_site[0].figures.as_slice(), by_site[1].figures.as_slice()),
        (&[-4.0, 2.0][..], &[-1.0, 1.0][..])
    );
    let bands: Vec<_> = season
        .lateness_by_current()
        .iter()
        .map(|by| (by.key, by.figures.clone()))
        .collect();
    // Half a knot is the beginning of the second band, 1.6 lies in the last.
    assert_eq!(
        bands,
        [
            (Band::Of(0), vec![-4.0]),
            (Band::Of(1), vec![2.0]),
            (Band::Of(3), vec![-1.0]),
            (Band::NotKnown, vec![1.0]),
        ]
    );
    assert_eq!(season.gas_by_site()[0].figures, [-5.0]);
    let only = Season::of(season.trips.clone(), Some(at("Wreck").site));
    assert_eq!((only.dives().count(), only.trips[0].returns.len()), (2, 0));
    assert_eq!(Season::of(season.trips, Some(at("Nowhere").site)).trips, []);
}

/// Two trips of 2.5 h with three alarms: 0.6 an hour. Begun in the first, first and third hour.
#[test]
fn alarms_by_trip_and_by_hour_under_way() {
    let one = vec![
        told("08:10", Some("08:12"), Some("08:11")),
        told("10:15", None, None),
    ];
    let two = vec![told("08:59", Some("09:05"), Some("09:06"))];
    let season = Season::of(vec![day(1, vec![], one), day(2, vec![], two)], None);
    assert_eq!(season.alarms_an_hour(), Some((0.6, 5.0)));
    let hours: Vec<_> = season
        .alarms_by_hour()
        .iter()
        .map(|h| (h.hour, h.alarms, h.hours))
        .collect();
    assert_eq!(hours, [(1, 2, 2.0), (2, 0, 2.0), (3, 1, 1.0)]);
    let all = season.alarms();
    // Two are over, one of them before anybody acknowledged it.
    assert_eq!(
        (all.alarms, all.over, all.unanswered, all.unanswered_pct()),
        (3, 2, 1, Some(50.0))
    );
    assert_eq!(all.to_acknowledge_min, [1.0, 7.0]);
    assert_eq!(
        all.to_acknowledge().unwrap().median,
        None,
        "two are too few"
    );
    assert_eq!(season.alarms_by_trip()[0].answered.alarms, 2);
}

/// 20 dives of 40 min planned that took 31, 32, … 50: h = 0.95 gives 31.95 as the 5 % quantile,
/// h = 18.05 gives 49.05 as the 95 %.
#[test]
fn what_the_dives_would_give_beside_the_minutes_of_the_watch() {
    let dives: Vec<GroupDive> = (31..=50)
        .map(|min| dive("Reef", f64::from(min), None))
        .collect();
    let season = Season::of(vec![day(1, dives.clone(), vec![])], None);
    let observed = season.observed(Light::Day).unwrap();
    assert!((observed.share.low.unwrap() - 31.95 / 40.0).abs() < 1e-9);
    assert!((observed.after_min.high.unwrap() - 9.05).abs() < 1e-9);
    assert_eq!(season.observed(Light::Night), None);
    let mut given = dives;
    given[0].given_min = 10.0;
    let fewer = Season::of(vec![day(1, given, vec![])], None)
        .observed(Light::Day)
        .unwrap();
    assert_eq!((fewer.share.n, fewer.share.low), (19, None));
    assert_eq!(
        Spread::of(season.run_times().iter().map(|(_, a)| *a))
            .unwrap()
            .median,
        Some(40.5)
    );
}

#[test]
fn drills_are_left_out() {
    let mut drill = day(1, vec![dive("Reef", 60.0, None)], vec![]);
    drill.drill = true;
    let season = Season::of(vec![drill, day(2, vec![], vec![])], None);
    assert_eq!((season.trips.len(), season.dives().count()), (1, 0));
}
