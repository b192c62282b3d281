//! What is due when, and what holds it.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use jiff::{SignedDuration, Timestamp};
use proptest::prelude::*;
use uuid::Uuid;

use super::*;
use crate::store::register::Item;
use crate::trip::PersonId;

fn start() -> Timestamp {
    "2026-06-01T12:00:00Z".parse().unwrap()
}

fn day(n: i64) -> Timestamp {
    start() + SignedDuration::from_hours(24 * n)
}

fn person(n: u128) -> PersonId {
    PersonId::new(Uuid::from_u128(n))
}

fn trip(n: u128, of: &[u128], ended: Option<i64>, asks: bool) -> Attended {
    Attended {
        trip: TripId::new(Uuid::from_u128(100 + n)),
        entry: 9,
        day: None,
        boat: String::new(),
        persons: of.iter().map(|n| person(*n)).collect(),
        engaged: BTreeSet::new(),
        ended: ended.map(day),
        asks,
    }
}

fn known(n: u128) -> Known {
    Known {
        person: person(n),
        name: format!("person {n}"),
        since: day(0),
        contact: Some(day(1)),
        cleared: true,
    }
}

fn of(trips: Vec<Attended>) -> Attendance {
    Attendance {
        trips: trips.into_iter().map(Arc::new).collect(),
        unread: Vec::new(),
    }
}

fn due(all: &[Ahead], who: u128, item: Item) -> (Timestamp, Option<Held>) {
    let mut of = all
        .iter()
        .filter(|one| one.person == person(who) && one.item == item);
    let one = of.next().unwrap();
    assert!(of.next().is_none());
    (one.due_at, one.held)
}

#[test]
fn days_run_from_the_last_trip_or_from_when_it_was_given() {
    let trips = of(vec![
        trip(1, &[1], Some(10), false),
        trip(2, &[1], Some(4), false),
    ]);
    let all = ahead(
        &Rule::default(),
        &[known(1), known(2)],
        &trips,
        &BTreeMap::new(),
    );
    assert_eq!(due(&all, 1, Item::Contact), (day(17), None));
    assert_eq!(due(&all, 2, Item::Contact), (day(8), None));
    assert_eq!(due(&all, 1, Item::Fitness), (day(17), None));
    assert_eq!(due(&all, 2, Item::Entry), (day(365), None));
    let none = Known {
        contact: None,
        cleared: false,
        ..known(3)
    };
    let all = ahead(&Rule::default(), &[none], &trips, &BTreeMap::new());
    assert_eq!(all.len(), 1, "{all:?}");
}

#[test]
fn a_trip_that_is_not_over_or_asks_or_cannot_be_read_holds_its_people() {
    let (rule, none) = (Rule::default(), BTreeMap::new());
    let open = trip(1, &[1], None, false);
    let asks = trip(2, &[2], Some(2), true);
    let ids = (open.trip, asks.trip);
    let trips = of(vec![open, asks]);
    let people = [known(1), known(2), known(3)];
    let all = ahead(&rule, &people, &trips, &none);
    for item in Item::ALL {
        assert_eq!(due(&all, 1, item).1, Some(Held::NotOver(ids.0)));
        assert_eq!(due(&all, 2, item).1, Some(Held::Asks(ids.1)));
        assert_eq!(due(&all, 3, item).1, None);
    }
    // Settled up to its last entry it holds nobody; what comes later counts anew.
    let all = ahead(&rule, &people, &trips, &BTreeMap::from([(ids.1, 9)]));
    assert_eq!(due(&all, 2, Item::Contact).1, None);
    let all = ahead(&rule, &people, &trips, &BTreeMap::from([(ids.1, 8)]));
    assert_eq!(due(&all, 2, Item::Contact).1, Some(Held::Asks(ids.1)));
    // Settling a trip that is not over changes nothing.
    let all = ahead(&rule, &people, &trips, &BTreeMap::from([(ids.0, 9)]));
    assert_eq!(due(&all, 1, Item::Contact).1, Some(Held::NotOver(ids.0)));
    let lost = TripId::new(Uuid::from_u128(7));
    let unread = Attendance {
        unread: vec![lost],
        ..trips
    };
    let all = ahead(&rule, &people, &unread, &none);
    assert_eq!(due(&all, 3, Item::Entry).1, Some(Held::Unread(lost)));
}

#[test]
fn entries_go_only_by_a_rule_that_somebody_checked() {
    let rule = Rule::default();
    assert!(rule.deletes(Item::Contact) && rule.deletes(Item::Fitness));
    assert!(!rule.deletes(Item::Entry));
    let confirmed = Some(Confirmed {
        by: "Berit Holm".to_owned(),
        on: "2026-06-01".parse().unwrap(),
    });
    assert!(Rule { confirmed, ..rule }.deletes(Item::Entry));
    assert_eq!(serde_json::from_str::<Rule>("{}").unwrap(), Rule::default());
}

proptest! {
    /// Whatever the trips: nobody on one that is not over is free, nothing is due before the rule's
    /// days after the last trip, and another trip never makes anything go earlier.
    #[test]
    fn nothing_goes_early_and_nobody_who_is_held_is_free(
        trips in prop::collection::vec(
            (prop::collection::btree_set(1_u128..5, 0..4), prop::option::of(0_i64..400), any::<bool>()),
            0..8,
        ),
        more in (prop::collection::btree_set(1_u128..5, 0..4), prop::option::of(0_i64..400), any::<bool>()),
        days in 0_u32..400,
    ) {
        let rule = Rule { contact_days: days, fitness_days: days, entry_days: days, ..Rule::default() };
        let make = |n: usize, of: &BTreeSet<u128>, ended: Option<i64>, asks: bool| {
            let of: Vec<u128> = of.iter().copied().collect();
            trip(u128::try_from(n).unwrap(), &of, ended, asks)
        };
        let mut all: Vec<Attended> = trips
            .iter()
            .enumerate()
            .map(|(n, (of, ended, asks))| make(n, of, *ended, *asks))
            .collect();
        let people: Vec<Known> = (1..5).map(known).collect();
        let before = ahead(&rule, &people, &of(all.clone()), &BTreeMap::new());
        for one in &before {
            let mine: Vec<_> = all.iter().filter(|t| t.persons.contains(&one.person)).collect();
            let held = mine.iter().any(|t| t.ended.is_none() || t.asks);
            prop_assert_eq!(one.held.is_some(), held);
            for ended in mine.iter().filter_map(|t| t.ended) {
                prop_assert!(one.due_at >= ended + SignedDuration::from_hours(24 * i64::from(days)));
            }
        }
        all.push(make(99, &more.0, more.1, more.2));
        let after = ahead(&rule, &people, &of(all), &BTreeMap::new());
        for one in &before {
            let then = after.iter().find(|a| (a.person, a.item) == (one.person, one.item)).unwrap();
            prop_assert!(then.due_at >= one.due_at);
            prop_assert!(one.held.is_none() || then.held.is_some());
        }
    }
}
