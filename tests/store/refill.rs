//! A lost box, filled again from the copies that devices kept: the same digest and the same
//! state, whoever comes first, however often, and with whatever is doubled.

use std::collections::BTreeMap;

use deckwatch::clock::Clock;
use deckwatch::store::{Bringer, Numbers, Refilled, Store, Taken};
use deckwatch::trip::event::{Came, Entry, Event, Line, digest, read_lines};
use deckwatch::trip::state::fold;
use deckwatch::trip::{CrewId, TripId};
use deckwatch::web::export::log_lines;
use jiff::{SignedDuration, Timestamp};
use proptest::prelude::*;
use proptest::sample::Index;
use tempfile::TempDir;
use uuid::Uuid;

use crate::scene::{self, BOW, Crew, DECK, DESK, HELM, NAMES, Scene};
use crate::world::{World, device, event, id, incoming, noon, opened, trip};

fn bringer(n: u128) -> Bringer {
    Bringer {
        crew: CrewId::new(Uuid::from_u128((7 << 100) + n)),
        name: format!("Crew {n}"),
        device: device(900 + n),
    }
}

async fn copy_of(store: &Store, trip: TripId) -> String {
    log_lines(&store.log(trip, 0).await.unwrap())
}

async fn refill(store: &Store, trip: TripId, text: &str) -> Refilled {
    let lines = read_lines(trip, text.as_bytes()).unwrap();
    store.refill(trip, lines, bringer(1)).await.unwrap()
}

fn new_box(at: Timestamp) -> (TempDir, Clock) {
    (tempfile::tempdir().unwrap(), Clock::fixed(at))
}

/// New, earlier, clashing: what the store can be asked to write and to tell of it.
pub async fn every_way(store: &Store) {
    let one = event(trip(7), device(1), 1, "x");
    let other = event(trip(7), device(1), 1, "y");
    let early = format!(
        "{{\"event\":{},\"receipt\":{{\"entry\":1,\"recorded_at\":\"2026-05-01T00:00:00Z\",\
         \"boot\":\"{}\",\"uptime_ms\":0}}}}",
        one.content().text,
        Uuid::nil()
    );
    let bare = |event: &Event| format!("{{\"event\":{}}}", event.content().text);
    for text in [bare(&one), early, bare(&other)] {
        refill(store, trip(7), &text).await;
    }
    assert_eq!(store.refills(trip(7)).await.unwrap().len(), 3);
    assert_eq!(store.holds(trip(7)).await.unwrap().entries, 1);
    assert_eq!(store.relayed(trip(7)).await.unwrap()[&1], "Crew 1");
    assert_eq!(store.log(trip(7), 0).await.unwrap().len(), 1);
}

#[tokio::test]
async fn a_new_box_takes_a_log_in_with_its_receipts_and_numbers_it_anew() {
    let old = World::new().await;
    for n in 1..=4_u64 {
        old.clock.advance(SignedDuration::from_secs(20));
        let mut sent = incoming([event(trip(1), device(1), n, "x")]);
        sent[0].mono_age_ms = Some(1_000);
        old.store.append(trip(1), sent).await.unwrap();
    }
    old.store
        .append(trip(1), incoming([opened(trip(1), device(2))]))
        .await
        .unwrap();
    let text = copy_of(&old.store, trip(1)).await;
    let before = old.store.log(trip(1), 0).await.unwrap();

    // The box that has it now knows another time, and gets the lines in another order.
    let (folder, clock) = new_box(noon() - SignedDuration::from_hours(3));
    let store = Store::open(folder.path(), clock).await.unwrap();
    let mut lines: Vec<&str> = text.lines().collect();
    lines.reverse();
    let done = refill(&store, trip(1), &lines[..2].join("\n")).await;
    assert_eq!(done.counts(), (2, 0, 0));
    // The trip is listed as its opening says, though that was not the first line to come.
    let row = store.trip(trip(1)).await.unwrap().unwrap();
    assert_eq!(row.boat.as_deref(), Some("Seelöwin"));
    let done = refill(&store, trip(1), &text).await;
    assert_eq!(done.counts(), (3, 2, 0));
    assert_eq!(done.lines[0], Taken::New { entry: 3 });
    assert_eq!(done.lines[4], Taken::Repeat { entry: 2 });

    store.close().await.unwrap();
    let store = Store::open(folder.path(), Clock::fixed(noon()))
        .await
        .unwrap();
    let after = store.log(trip(1), 0).await.unwrap();
    let by_hash: BTreeMap<_, _> = before.iter().map(|kept| (kept.hash, kept)).collect();
    assert_eq!(after.len(), before.len());
    for (n, kept) in (1..).zip(&after) {
        let was = by_hash[&kept.hash];
        assert_eq!(kept.content, was.content);
        assert_eq!(kept.receipt.entry, n);
        assert_eq!(kept.receipt.recorded_at, was.receipt.recorded_at);
        assert_eq!(kept.receipt.mono_age_ms, was.receipt.mono_age_ms);
        assert_eq!((kept.boot, kept.uptime_ms), (was.boot, was.uptime_ms));
        assert_eq!(kept.relayed_by.as_deref(), Some("Crew 1"));
        assert_eq!(was.relayed_by, None);
    }
    assert!(store.verify().await.unwrap().flaws.is_empty());
    let told = store.holds(trip(1)).await.unwrap();
    assert_eq!(told, old.store.holds(trip(1)).await.unwrap());
    assert_eq!(
        (told.entries, told.digest),
        (5, digest(before.iter().map(|kept| kept.hash)))
    );
    assert_eq!(
        told.devices[&device(1)],
        Numbers {
            through: 4,
            highest: 4,
            missing: vec![]
        }
    );
    // Two came first: what a third device asks names what is missing.
    let rows = store.refills(trip(1)).await.unwrap();
    assert_eq!(
        rows.iter()
            .map(|row| (row.taken, row.repeats))
            .collect::<Vec<_>>(),
        [(2, 0), (3, 2)]
    );
    assert_eq!(rows[0].by, bringer(1));
    let audit = store.audits(9).await.unwrap();
    assert!(
        audit[0].what.contains("3 new, 2 there"),
        "{}",
        audit[0].what
    );
    assert_eq!(audit[0].device, Some(bringer(1).device));

    // Once more, nothing happens and nothing is put on record.
    let again = refill(&store, trip(1), &text).await;
    assert_eq!(again.counts(), (0, 5, 0));
    assert_eq!(store.refills(trip(1)).await.unwrap().len(), 2);
    assert_eq!(store.log(trip(1), 0).await.unwrap(), after);
}

#[tokio::test]
async fn what_clashes_is_kept_aside_and_the_rest_goes_in() {
    let world = World::new().await;
    let store = &world.store;
    let here = incoming((1..=2).map(|n| event(trip(1), device(1), n, "here")));
    store.append(trip(1), here).await.unwrap();
    let same_id = event(trip(1), device(1), 2, "there");
    let same_number = Event {
        id: id(77),
        ..event(trip(1), device(1), 1, "there")
    };
    let sound = event(trip(1), device(2), 1, "sound");
    let text = [
        &same_id,
        &sound,
        &same_number,
        &event(trip(1), device(1), 1, "here"),
    ]
    .map(|event| format!("{{\"event\":{}}}", event.content().text))
    .join("\n");
    let done = refill(store, trip(1), &text).await;
    let clash = |stands_at| Taken::Clash {
        stands_in: trip(1),
        stands_at,
    };
    assert_eq!(
        done.lines,
        [
            clash(2),
            Taken::New { entry: 3 },
            clash(1),
            Taken::Repeat { entry: 1 }
        ]
    );
    let mut aside = store.clashes(trip(1)).await.unwrap();
    aside.sort();
    let mut expected = [same_id.content().text, same_number.content().text];
    expected.sort();
    assert_eq!(aside, expected);
    let row = &store.refills(trip(1)).await.unwrap()[0];
    assert_eq!((row.taken, row.repeats, row.clashes), (1, 1, 2));
    // What no box had is received now.
    let log = store.log(trip(1), 2).await.unwrap();
    assert_eq!(log[0].receipt.recorded_at, noon());
    assert_eq!(log[0].boot, world.clock.boot_id());
    assert!(store.verify().await.unwrap().flaws.is_empty());
}

#[tokio::test]
async fn a_trip_of_which_everything_clashes_is_not_listed() {
    let world = World::new().await;
    let one = event(trip(1), device(1), 1, "a");
    world
        .store
        .append(trip(1), incoming([one.clone()]))
        .await
        .unwrap();
    let stray = Event {
        trip: trip(2),
        ..one
    };
    let text = format!("{{\"event\":{}}}", stray.content().text);
    let done = refill(&world.store, trip(2), &text).await;
    assert_eq!(
        done.lines,
        [Taken::Clash {
            stands_in: trip(1),
            stands_at: 1
        }]
    );
    assert_eq!(world.store.trips().await.unwrap().len(), 1);
    let next = incoming([event(trip(2), device(1), 2, "b")]);
    world.store.append(trip(2), next).await.unwrap();
    assert!(world.store.verify().await.unwrap().flaws.is_empty());
    let lines = read_lines(trip(2), text.as_bytes()).unwrap();
    assert!(
        world
            .store
            .refill(trip(1), lines, bringer(1))
            .await
            .is_err()
    );
}

/// The receipt of an event that came by two ways: whichever is known first, the earlier counts.
#[tokio::test]
async fn the_earliest_receipt_counts_whichever_came_first() {
    let world = World::new().await;
    let one = event(trip(1), device(1), 1, "x");
    let text = |recorded: &str, age: i64| {
        format!(
            "{{\"event\":{},\"receipt\":{{\"entry\":1,\"recorded_at\":\"{recorded}\",\
             \"mono_age_ms\":{age},\"boot\":\"{}\",\"uptime_ms\":5}}}}",
            one.content().text,
            Uuid::from_u128(8),
        )
    };
    let made = |log: Vec<deckwatch::store::LogEntry>| log[0].receipt.made_at().to_string();
    world
        .store
        .append(trip(1), incoming([one.clone()]))
        .await
        .unwrap();
    for (recorded, age, earlier, counts) in [
        ("2026-06-01T12:10:00Z", 0, 0, "2026-06-01T12:00:00Z"),
        ("2026-06-01T12:10:00Z", 900_000, 1, "2026-06-01T11:55:00Z"),
        ("2026-06-01T11:58:00Z", 0, 0, "2026-06-01T11:55:00Z"),
        ("2026-06-01T11:40:00Z", 0, 1, "2026-06-01T11:40:00Z"),
    ] {
        let done = refill(&world.store, trip(1), &text(recorded, age)).await;
        assert_eq!(
            (done.counts(), done.earlier),
            ((0, 1, 0), earlier),
            "{recorded}"
        );
        assert_eq!(made(world.store.log(trip(1), 0).await.unwrap()), counts);
        assert_eq!(
            world.store.entries(trip(1), 0).await.unwrap()[0]
                .receipt
                .made_at()
                .to_string(),
            counts
        );
    }
    // And the copy made of it carries that one on.
    let copy = copy_of(&world.store, trip(1)).await;
    assert!(
        copy.contains("\"recorded_at\":\"2026-06-01T11:40:00Z\""),
        "{copy}"
    );
}

/// One event of a random log.
#[derive(Debug, Clone)]
struct Step {
    crew: usize,
    hears: bool,
    kind: u8,
    person: usize,
    target: usize,
    minute: i64,
}

fn step() -> impl Strategy<Value = Step> {
    (
        0..4_usize,
        any::<bool>(),
        0..9_u8,
        0..5_usize,
        0..40_usize,
        0..90_i64,
    )
        .prop_map(|(crew, hears, kind, person, target, minute)| Step {
            crew,
            hears,
            kind,
            person,
            target,
            minute,
        })
}

fn told(steps: &[Step]) -> Vec<Event> {
    use deckwatch::trip::event::{Point, Signal};
    let mut s = Scene::on_site();
    let mut known = [0; 4].map(|_: u8| s.knowledge());
    for step in steps {
        let crew: Crew = [HELM, DECK, BOW, DESK][step.crew];
        if step.hears {
            known[step.crew] = s.knowledge();
        }
        s.now = scene::clock("09:00") + SignedDuration::from_mins(step.minute);
        let target = s.log[s.log.len() - 1 - step.target.min(s.log.len() - 1)]
            .event
            .id;
        let p = NAMES[step.person].0;
        let says = s.by(crew).knowing(&known[step.crew]);
        match step.kind {
            0 | 1 => says.left_surface(scene::B, 1, &[p]),
            2 => says.seen(&[p], Signal::Well),
            3 | 4 => says.aboard(p),
            5 => says.missing(p),
            6 => says.roll(Point::Leaving, &[], &[p]),
            7 => says.voids(target),
            _ => says.says(scene::people(&[p]), scene::unread("dreamt")),
        };
    }
    s.log
        .into_iter()
        .map(|entry| std::sync::Arc::unwrap_or_clone(entry.event))
        .collect()
}

/// How one line lies in the copies.
#[derive(Debug, Clone)]
struct Spread {
    /// In which copies; in none of them is in the first.
    copies: [bool; 3],
    /// Another box had it too, so many minutes later, and a copy has that receipt instead.
    later_min: Option<i64>,
    age_ms: Option<i64>,
    wait_s: i64,
}

fn spread() -> impl Strategy<Value = Spread> {
    (
        any::<[bool; 3]>(),
        proptest::option::weighted(0.2, 1..30_i64),
        proptest::option::of(0..7_200_000_i64),
        0..90_i64,
    )
        .prop_map(|(copies, later_min, age_ms, wait_s)| Spread {
            copies,
            later_min,
            age_ms,
            wait_s,
        })
}

/// The same line as another box had it.
fn by_another_box(line: &str, later: SignedDuration) -> String {
    let mut value: serde_json::Value = serde_json::from_str(line).unwrap();
    let at: Timestamp = value["receipt"]["recorded_at"]
        .as_str()
        .unwrap()
        .parse()
        .unwrap();
    value["receipt"]["recorded_at"] = serde_json::json!(at + later);
    value["receipt"]["boot"] = serde_json::json!(Uuid::from_u128(77));
    value.to_string()
}

async fn the_same_from_copies(steps: &[Step], spreads: &[Spread], order: &[Index], size: usize) {
    let of = scene::trip();
    let (folder, clock) = new_box(scene::clock("10:00"));
    let first = Store::open(folder.path(), clock.clone()).await.unwrap();
    let events = told(steps);
    let spreads: Vec<&Spread> = spreads.iter().cycle().take(events.len()).collect();
    for (batch, spreads) in events.chunks(5).zip(spreads.chunks(5)) {
        clock.advance(SignedDuration::from_secs(spreads[0].wait_s));
        let mut sent = incoming(batch.to_vec());
        for (one, spread) in sent.iter_mut().zip(spreads) {
            one.mono_age_ms = spread.age_ms;
        }
        first.append(of, sent).await.unwrap();
    }
    let log = first.log(of, 0).await.unwrap();
    let mut copies = [Vec::new(), Vec::new(), Vec::new()];
    for (line, spread) in log_lines(&log).lines().zip(&spreads) {
        let nowhere = !spread.copies.iter().any(|held| *held);
        for (nth, copy) in copies.iter_mut().enumerate() {
            if spread.copies[nth] || (nowhere && nth == 0) {
                copy.push(line.to_owned());
            } else if let Some(later) = spread.later_min {
                copy.push(by_another_box(line, SignedDuration::from_mins(later)));
            }
        }
    }
    let (folder, clock) = new_box(scene::clock("08:00"));
    let second = Store::open(folder.path(), clock).await.unwrap();
    for turn in order {
        let copy = &copies[turn.index(3)];
        bring(&second, of, copy, turn.index(copy.len().max(1)), size).await;
    }
    for copy in &copies {
        bring(&second, of, copy, 0, size).await;
    }
    assert_eq!(
        second.holds(of).await.unwrap(),
        first.holds(of).await.unwrap()
    );
    let (one, two) = (
        first.entries(of, 0).await.unwrap(),
        second.entries(of, 0).await.unwrap(),
    );
    let times = |log: &[Entry]| -> BTreeMap<_, _> {
        log.iter()
            .map(|e| (e.event.id, (e.time(), e.receipt.made_at())))
            .collect()
    };
    assert_eq!(times(&one), times(&two));
    assert_eq!(fold(of, &one), fold(of, &two));
    assert!(second.verify().await.unwrap().flaws.is_empty());
    first.close().await.unwrap();
    second.close().await.unwrap();
}

/// Hands a copy over from some line on, round about, in pieces.
async fn bring(store: &Store, of: TripId, copy: &[String], start: usize, size: usize) {
    let mut copy = copy.to_vec();
    if copy.is_empty() {
        return;
    }
    copy.rotate_left(start);
    for piece in copy.chunks(size) {
        let done = refill(store, of, &piece.join("\n")).await;
        assert_eq!(done.counts().2, 0, "nothing clashes");
    }
}

proptest! {
    // Each case is two stores on files.
    #![proptest_config(ProptestConfig {
        cases: ProptestConfig::default().cases / 8,
        ..ProptestConfig::default()
    })]

    #[test]
    fn any_log_spread_over_copies_comes_back_the_same(
        steps in proptest::collection::vec(step(), 0..25),
        spreads in proptest::collection::vec(spread(), 7..20),
        order in proptest::collection::vec(any::<Index>(), 0..4),
        size in 1..60_usize,
    ) {
        let runtime = tokio::runtime::Runtime::new().unwrap();
        runtime.block_on(the_same_from_copies(&steps, &spreads, &order, size));
    }
}

#[test]
fn lines_are_written_in_the_order_of_their_receipts() {
    let event = event(trip(1), device(1), 1, "x");
    let line = |came: Came| Line {
        number: 1,
        content: event.content(),
        event: event.clone(),
        came,
    };
    let undelivered = line(Came::Undelivered(deckwatch::trip::event::Ages::default()));
    let receipt = deckwatch::trip::event::Receipt {
        entry: 4,
        recorded_at: noon() + SignedDuration::from_hours(100),
        wall_age_ms: None,
        mono_age_ms: None,
    };
    let receipt = deckwatch::trip::event::Travelled::new(&receipt, Uuid::nil(), 0);
    let received = line(Came::Received { entry: 4, receipt });
    assert!(received.order() < undelivered.order());
}
