//! How good the alarms are over the drill's day: its whole log, looked at every quarter of a second
//! as the loop of the deadlines looks, with nobody at a screen.
//!
//! The story taps what happens at the instant it happens, so that no alarm here can be false by a
//! late tap; the thousand simulated days in `tests/sim` are about those.

use std::collections::{BTreeMap, BTreeSet};

use jiff::{SignedDuration, Timestamp};

use super::{OPENS_AT, cast, story};
use crate::clock::Clock;
use crate::store::Store;
use crate::store::crew::Pin;
use crate::trip::event::Entry;
use crate::trip::state::{Place, fold};
use crate::trip::watch::{Priority, alerts, next_change};

const LOOK: SignedDuration = SignedDuration::from_millis(250);

/// The log of the day, from the morning until the story ends.
async fn whole_day() -> Vec<Entry> {
    let folder = tempfile::tempdir().unwrap();
    let opens_at: Timestamp = OPENS_AT.parse().unwrap();
    let clock = Clock::fixed(opens_at);
    let store = Store::open(folder.path(), clock.clone()).await.unwrap();
    let pin = Pin::new("730518").unwrap();
    let cast = cast::Cast::enter(&store, &pin).await.unwrap();
    let trip = story::open(&store, &cast, opens_at).await.unwrap();
    let mut going = tokio::spawn(story::go_on(store.clone(), cast, trip, opens_at));
    loop {
        // Real time for the story to take a step, all of which are at whole minutes.
        let step = std::time::Duration::from_millis(150);
        if tokio::time::timeout(step, &mut going).await.is_ok() {
            break;
        }
        clock.advance(SignedDuration::from_mins(1));
    }
    store.entries(trip, 0).await.unwrap()
}

/// What sounded over a day.
#[derive(Debug, Default)]
struct Figures {
    hours_out: f64,
    /// How often each cause sounded.
    sounded: BTreeMap<&'static str, usize>,
    /// Of those about a group, how often all of it was up.
    of_a_group_up: usize,
    /// The longest from a deadline to the look that told it, milliseconds.
    latest_look_ms: i64,
    /// The most that sounded within ten minutes.
    worst_ten_minutes: usize,
}

/// Looks at the log as it was at each instant: the figures of a day on which nobody acknowledged.
fn looked_at(entries: &[Entry]) -> Figures {
    let mut figures = Figures::default();
    let mut sounded = BTreeSet::new();
    let mut times: Vec<Timestamp> = Vec::new();
    let trip = entries[0].event.trip;
    let mut by_time: Vec<&Entry> = entries.iter().collect();
    by_time.sort_by_key(|entry| (entry.event.at, entry.receipt.entry));
    let ends = by_time.last().unwrap().event.at + SignedDuration::from_mins(30);
    let mut known: Vec<Entry> = Vec::new();
    let mut state = fold(trip, &known);
    let mut waiting = by_time.into_iter().peekable();
    let mut now = waiting.peek().unwrap().event.at;
    while now <= ends {
        let before = known.len();
        while let Some(entry) = waiting.next_if(|entry| entry.event.at <= now) {
            known.push(entry.clone());
        }
        if known.len() > before {
            state = fold(trip, &known);
        }
        let held = alerts(&state, now);
        for alert in held.iter().filter(|alert| alert.is_audible()) {
            if !sounded.insert((alert.key.clone(), alert.cause.word(), alert.priority)) {
                continue;
            }
            *figures.sounded.entry(word(alert.priority)).or_default() += 1;
            times.push(now);
            let late = now.duration_since(alert.since).as_millis();
            figures.latest_look_ms = figures.latest_look_ms.max(late.try_into().unwrap());
            let group = alert.group.and_then(|id| state.groups.get(&id));
            let up = group.is_some_and(|group| {
                let mut members = group.members().iter();
                members.all(|id| state.people[id].place != Place::InWater)
            });
            if up && matches!(alert.priority, Priority::Alarm | Priority::Warning) {
                figures.of_a_group_up += 1;
            }
        }
        // The next look that can tell anything new.
        let change = next_change(&state, &held, now);
        let entry = waiting.peek().map(|entry| entry.event.at);
        let next = [change, entry].into_iter().flatten().min().unwrap_or(ends);
        let mut to = now + LOOK;
        if next > to {
            let looks = next.duration_since(now).as_millis() / LOOK.as_millis();
            to = now + LOOK * i32::try_from(looks).unwrap();
        }
        if state.anybody_out() {
            figures.hours_out += to.duration_since(now).as_secs_f64() / 3_600.0;
        }
        now = to;
    }
    let within = |from: &Timestamp| {
        let to = *from + SignedDuration::from_mins(10);
        times.iter().filter(|at| (*from..to).contains(at)).count()
    };
    figures.worst_ten_minutes = times.iter().map(within).max().unwrap_or(0);
    figures
}

fn word(priority: Priority) -> &'static str {
    crate::sounder::priority_name(priority)
}

#[tokio::test]
async fn the_alarms_of_the_drills_day_are_as_told() {
    let figures = looked_at(&whole_day().await);
    // As `tests/sim/quality.md` tells them. One alarm holds though everybody of its group is up:
    // two phones say different things of one of them.
    assert!((figures.hours_out - 2.08).abs() < 0.05, "{figures:?}");
    let sounded = [("alarm", 6), ("emergency", 1), ("warning", 5)];
    assert_eq!(figures.sounded, sounded.into(), "{figures:?}");
    assert_eq!(figures.of_a_group_up, 1, "{figures:?}");
    assert_eq!(figures.worst_ten_minutes, 6, "{figures:?}");
    assert!(figures.latest_look_ms < 1_000, "{figures:?}");
}
