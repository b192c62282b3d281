//! Appending and reading: numbered without gaps, idempotent, whole or absent.

use std::collections::BTreeSet;

use deckwatch::store::{AppendError, Appended, Clash, FormError, Incoming, TripNote};
use deckwatch::trip::event::{Event, read_batch};
use jiff::SignedDuration;
use sha2::{Digest, Sha256};

use crate::world::{World, device, event, id, incoming, noon, opened, trip};

fn entries(appended: &[Appended]) -> Vec<u64> {
    appended.iter().map(|one| one.entry()).collect()
}

#[tokio::test]
async fn what_was_appended_is_read_back_byte_for_byte() {
    let mut world = World::new().await;
    let first = opened(trip(1), device(1));
    let second = event(trip(1), device(1), 2, "Grüße, 田中 \u{0} \"\\");
    let mut sent = incoming([first.clone(), second.clone()]);
    sent[1].wall_age_ms = Some(1_500);
    sent[1].mono_age_ms = Some(2_500);
    world.clock.advance(SignedDuration::from_secs(10));
    let done = world.store.append(trip(1), sent.clone()).await.unwrap();
    assert_eq!(
        done,
        [Appended::New { entry: 1 }, Appended::New { entry: 2 }]
    );

    world.reopen().await;
    let log = world.store.log(trip(1), 0).await.unwrap();
    for (kept, sent) in log.iter().zip(&sent) {
        assert_eq!(kept.content, sent.content.text);
        assert_eq!(kept.hash, sent.content.hash);
        assert_eq!(kept.receipt.wall_age_ms, sent.wall_age_ms);
        assert_eq!(kept.receipt.mono_age_ms, sent.mono_age_ms);
        assert_eq!(kept.boot, world.clock.boot_id());
        assert_eq!(kept.uptime_ms, 10_000);
        assert_eq!(
            kept.receipt.recorded_at,
            noon() + SignedDuration::from_secs(10)
        );
    }
    let read = world.store.entries(trip(1), 1).await.unwrap();
    assert_eq!(read.len(), 1);
    assert_eq!(*read[0].event, second);
    assert_eq!(read[0].receipt.entry, 2);
}

#[tokio::test]
async fn the_chain_is_what_anybody_can_reckon() {
    let world = World::new().await;
    let sent = incoming([
        event(trip(1), device(1), 1, "a"),
        event(trip(1), device(1), 2, "b"),
    ]);
    world.store.append(trip(1), sent.clone()).await.unwrap();
    // Reckoned here from its definition alone.
    let mut chain = Sha256::digest(trip(1).uuid().as_bytes()).to_vec();
    assert_eq!(
        world.store.chain_at(trip(1), 0).await.unwrap().unwrap(),
        chain[..]
    );
    for (n, one) in (1..).zip(&sent) {
        let hash = Sha256::digest(one.content.text.as_bytes());
        chain = Sha256::digest([chain.as_slice(), hash.as_slice()].concat()).to_vec();
        assert_eq!(
            world.store.chain_at(trip(1), n).await.unwrap().unwrap(),
            chain[..]
        );
    }
    let head = world.store.head(trip(1)).await.unwrap().unwrap();
    assert_eq!((head.entry, &head.chain[..]), (2, &chain[..]));
    assert_eq!(world.store.chain_at(trip(1), 3).await.unwrap(), None);
    assert_eq!(world.store.head(trip(9)).await.unwrap(), None);
}

#[tokio::test]
async fn the_same_event_again_is_answered_as_the_first_time() {
    let mut world = World::new().await;
    let sent: Vec<Incoming> = incoming((1..=3).map(|n| event(trip(1), device(1), n, "x")));
    let first = world.store.append(trip(1), sent.clone()).await.unwrap();
    assert_eq!(entries(&first), [1, 2, 3]);
    for again in 0..2 {
        let repeat = world.store.append(trip(1), sent.clone()).await.unwrap();
        let repeats: Vec<_> = (1..=3).map(|entry| Appended::Repeat { entry }).collect();
        assert_eq!(repeat, repeats, "{again}");
        world.reopen().await;
    }
    // Half known, half new, in another order, and twice in one batch.
    let mixed = incoming([2, 4, 4, 1].map(|n| event(trip(1), device(1), n, "x")));
    let done = world.store.append(trip(1), mixed).await.unwrap();
    assert_eq!(
        done,
        [
            Appended::Repeat { entry: 2 },
            Appended::New { entry: 4 },
            Appended::Repeat { entry: 4 },
            Appended::Repeat { entry: 1 },
        ]
    );
    assert_eq!(world.store.log(trip(1), 0).await.unwrap().len(), 4);
    assert!(world.store.verify().await.unwrap().flaws.is_empty());
}

#[tokio::test]
async fn a_clash_refuses_the_whole_batch_and_both_contents_are_kept() {
    let world = World::new().await;
    let store = &world.store;
    let sent = incoming((1..=2).map(|n| event(trip(1), device(1), n, "first")));
    store.append(trip(1), sent).await.unwrap();

    let same_id = event(trip(1), device(1), 2, "second");
    let same_number = Event {
        id: id(77),
        ..event(trip(1), device(1), 1, "third")
    };
    let batch = incoming([
        event(trip(1), device(2), 1, "sound"),
        same_id.clone(),
        same_number.clone(),
    ]);
    let error = store.append(trip(1), batch).await.unwrap_err();
    let AppendError::Clash(clashes) = error else {
        panic!("{error}")
    };
    assert_eq!(
        clashes,
        [
            Clash {
                index: 1,
                event: same_id.id,
                stands_in: trip(1),
                stands_at: 2,
            },
            Clash {
                index: 2,
                event: id(77),
                stands_in: trip(1),
                stands_at: 1,
            },
        ]
    );
    assert_eq!(store.log(trip(1), 0).await.unwrap().len(), 2);
    let aside = store.clashes(trip(1)).await.unwrap();
    assert_eq!(aside, [same_id.content().text, same_number.content().text]);
    // A lone one is refused just the same, and kept once.
    let alone = store.append(trip(1), incoming([same_id])).await;
    assert!(matches!(alone, Err(AppendError::Clash(_))));
    assert_eq!(store.clashes(trip(1)).await.unwrap().len(), 2);
    // The sound one passes by itself, with the next number.
    let sound = incoming([event(trip(1), device(2), 1, "sound")]);
    assert_eq!(entries(&store.append(trip(1), sound).await.unwrap()), [3]);
    assert!(store.verify().await.unwrap().flaws.is_empty());
}

#[tokio::test]
async fn an_id_of_another_trip_clashes_and_leaves_no_empty_trip_behind() {
    let world = World::new().await;
    let one = event(trip(1), device(1), 1, "a");
    world
        .store
        .append(trip(1), incoming([one.clone()]))
        .await
        .unwrap();
    let stray = Event {
        trip: trip(2),
        ..one.clone()
    };
    let error = world.store.append(trip(2), incoming([stray])).await;
    assert!(matches!(error, Err(AppendError::Clash(found)) if found[0].stands_in == trip(1)));
    assert_eq!(world.store.trips().await.unwrap().len(), 1);

    let wrong = world.store.append(trip(2), incoming([one])).await;
    assert!(matches!(wrong, Err(AppendError::OtherTrip { index: 0 })));
}

#[tokio::test]
async fn deliveries_at_the_same_time_share_commits_and_lose_nothing() {
    let world = World::new().await;
    let mut tasks = Vec::new();
    for boat in 1..=3 {
        for tablet in 1..=8 {
            let store = world.store.clone();
            tasks.push(tokio::spawn(async move {
                for n in 1..=10 {
                    let one = event(trip(boat), device(tablet), n, "x");
                    let bad = Event {
                        id: id(9_000_000 + tablet),
                        ..event(trip(boat), device(tablet), n, "bad")
                    };
                    let done = store.append(trip(boat), incoming([one])).await.unwrap();
                    assert!(matches!(done[..], [Appended::New { .. }]));
                    let refused = store.append(trip(boat), incoming([bad])).await;
                    assert!(matches!(refused, Err(AppendError::Clash(_))));
                }
            }));
        }
    }
    for task in tasks {
        task.await.unwrap();
    }
    for boat in 1..=3 {
        let numbers: Vec<_> = world.store.log(trip(boat), 0).await.unwrap();
        let numbers: Vec<_> = numbers.iter().map(|kept| kept.receipt.entry).collect();
        assert_eq!(numbers, (1..=80).collect::<Vec<_>>());
    }
    let verdict = world.store.verify().await.unwrap();
    assert_eq!((verdict.trips, verdict.entries), (3, 240));
    assert!(verdict.flaws.is_empty(), "{:?}", verdict.flaws);
}

#[tokio::test]
async fn listeners_hear_of_an_append_after_it_stands() {
    let world = World::new().await;
    let mut news = world.store.news();
    let sent = incoming((1..=3).map(|n| event(trip(1), device(1), n, "x")));
    world.store.append(trip(1), sent.clone()).await.unwrap();
    let heard = news.recv().await.unwrap();
    assert_eq!((heard.trip, heard.entry), (trip(1), 3));
    world.store.append(trip(1), sent).await.unwrap();
    assert!(news.try_recv().is_err(), "a repeat is no news");
}

#[tokio::test]
async fn forms_are_numbered_without_gaps_and_sent_twice_count_once() {
    let world = World::new().await;
    let mut tasks = Vec::new();
    for form in 1..=20 {
        let store = world.store.clone();
        tasks.push(tokio::spawn(async move {
            let mut answers = Vec::new();
            for _ in 0..2 {
                let done = store
                    .append_from_form::<(), _>(trip(1), device(1), id(form), move |place| {
                        assert_eq!(place.next_seq, place.head.entry + 1);
                        assert_eq!(place.now, noon());
                        let make = |id, seq| Event {
                            id,
                            ..event(trip(1), device(1), seq, "form")
                        };
                        Ok(vec![
                            make(id(form), place.next_seq),
                            make(id(1_000 + form), place.next_seq + 1),
                        ])
                    })
                    .await
                    .unwrap();
                answers.push(done);
            }
            assert_eq!(answers[0][0].entry(), answers[1][0].entry());
            assert!(matches!(
                answers[0][..],
                [Appended::New { .. }, Appended::New { .. }]
            ));
            assert!(matches!(answers[1][..], [Appended::Repeat { .. }]));
        }));
    }
    for task in tasks {
        task.await.unwrap();
    }
    let knows = world.store.vector_at(trip(1), 40).await.unwrap();
    assert_eq!(knows.0[&device(1)], 40);
    assert!(world.store.verify().await.unwrap().flaws.is_empty());
}

#[tokio::test]
async fn a_refused_form_writes_nothing_and_says_why() {
    let world = World::new().await;
    let store = &world.store;
    let refused = store
        .append_from_form(trip(1), device(1), id(1), |_| Err("the trip is closed"))
        .await;
    assert!(matches!(
        refused,
        Err(FormError::Refused("the trip is closed"))
    ));
    // Wrong number, wrong device, wrong id: a slip of the program, found before it is written.
    for (slip, index) in [
        (event(trip(1), device(1), 2, ""), 0),
        (event(trip(1), device(2), 1, ""), 0),
        (
            Event {
                id: id(5),
                ..event(trip(1), device(1), 1, "")
            },
            0,
        ),
    ] {
        let form = event(trip(1), device(1), 2, "").id;
        let done = store
            .append_from_form::<(), _>(trip(1), device(1), form, move |_| Ok(vec![slip]))
            .await;
        assert!(
            matches!(done, Err(FormError::Append(AppendError::Misnumbered { index: at })) if at == index)
        );
    }
    assert!(store.trips().await.unwrap().is_empty());
}

#[tokio::test]
async fn what_a_page_knew_ends_before_the_first_hole() {
    let world = World::new().await;
    let order = [(1, 1), (2, 2), (1, 2), (1, 4), (2, 1), (1, 3)];
    for (tablet, n) in order {
        let one = incoming([event(trip(1), device(tablet), n, "x")]);
        world.store.append(trip(1), one).await.unwrap();
    }
    // By hand, after each entry: the contiguous numbers of devices 1 and 2.
    let expected = [(0, 0), (1, 0), (1, 0), (2, 0), (2, 0), (2, 2), (4, 2)];
    for (entry, (one, two)) in (0..).zip(expected) {
        let knows = world.store.vector_at(trip(1), entry).await.unwrap();
        let of = |n| knows.0.get(&device(n)).copied().unwrap_or(0);
        assert_eq!((of(1), of(2)), (one, two), "at entry {entry}");
    }
}

#[tokio::test]
async fn trips_are_listed_the_latest_day_first_as_their_fold_notes_them() {
    let world = World::new().await;
    let store = &world.store;
    for n in 1..=2 {
        let events = incoming([opened(trip(n), device(1))]);
        store.append(trip(n), events).await.unwrap();
    }
    let note = TripNote {
        day: "2026-06-02".parse().unwrap(),
        harbour: "New Quay".to_owned(),
        boat: "Seelöwin".to_owned(),
        closed: true,
    };
    assert!(store.note_trip(trip(1), &note).await.unwrap());
    assert!(!store.note_trip(trip(9), &note).await.unwrap());
    let rows = store.trips().await.unwrap();
    let days: BTreeSet<_> = rows.iter().filter_map(|row| row.day).collect();
    assert_eq!(days.len(), 2);
    assert_eq!(rows[0].trip, trip(1));
    assert!(rows[0].closed && !rows[1].closed);
    assert_eq!(rows[0].harbour.as_deref(), Some("New Quay"));
    assert_eq!(rows[1].opened_at, Some(noon()));
    assert_eq!(store.trip(trip(2)).await.unwrap().unwrap(), rows[1]);
}

#[tokio::test]
async fn a_batch_as_it_is_read_from_a_device_goes_in() {
    let world = World::new().await;
    let one = event(trip(1), device(1), 1, "from afar");
    let text = format!("{{\"events\": [{}]}}", one.content().text);
    let read = read_batch(text.as_bytes()).unwrap();
    let sent = read.into_iter().map(Incoming::from).collect();
    let done = world.store.append(trip(1), sent).await.unwrap();
    assert_eq!(done, [Appended::New { entry: 1 }]);
    assert_eq!(
        *world.store.entries(trip(1), 0).await.unwrap()[0].event,
        one
    );
}
