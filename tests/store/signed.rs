//! Signatures and seals on a real file: every one is proven against the log, and one changed byte
//! names those that do not hold.

use std::collections::BTreeMap;

use deckwatch::clock::Clock;
use deckwatch::store::{Bringer, Reckoned, Store};
use deckwatch::trip::CrewId;
use deckwatch::trip::event::{
    Event, Fact, Knows, RecordSealed, ReportSigned, SignedOver, read_lines,
};
use deckwatch::web::export::log_lines;
use uuid::Uuid;

use crate::world::{World, device, event, incoming, noon, trip};

/// What somebody signs who has the whole log of the first trip before him.
async fn over(store: &Store) -> (SignedOver, Knows) {
    let head = store.head(trip(1)).await.unwrap().unwrap();
    let knows = store.vector_at(trip(1), head.entry).await.unwrap();
    let mut reckoned = Reckoned::start(trip(1));
    for entry in store.entries(trip(1), 0).await.unwrap() {
        let event = entry.event;
        reckoned.add(event.content().hash, Some((event.device, event.device_seq)));
    }
    let over = reckoned.over(head.entry, &knows).unwrap();
    // What is reckoned from the contents is what the store wrote beside them.
    assert_eq!(over.chain, deckwatch::web::export::hex(&head.chain));
    (over, knows)
}

async fn says(store: &Store, of: u128, seq: u64, knows: Knows, fact: Fact) -> Event {
    let said = Event {
        knows,
        fact,
        ..event(trip(1), device(of), seq, "")
    };
    let taken = store
        .append(trip(1), incoming([said.clone()]))
        .await
        .unwrap();
    assert_eq!(taken.len(), 1);
    said
}

/// Five entries, a signature on the sixth, another with the seal on the seventh and eighth, and a
/// late note.
async fn sealed() -> World {
    let world = World::new().await;
    let store = &world.store;
    let events = incoming((1..=5).map(|n| event(trip(1), device(1), n, "as it was")));
    store.append(trip(1), events).await.unwrap();
    let (page, knew) = over(store).await;
    let fact = Fact::ReportSigned(ReportSigned { over: page });
    let first = says(store, 2, 1, knew, fact).await;
    let (page, knew) = over(store).await;
    let fact = Fact::ReportSigned(ReportSigned { over: page.clone() });
    let second = says(store, 3, 1, knew.clone(), fact).await;
    let fact = Fact::RecordSealed(RecordSealed {
        over: page,
        signatures: vec![first.id, second.id],
    });
    says(store, 3, 2, knew, fact).await;
    let late = incoming([event(trip(1), device(1), 6, "late note")]);
    store.append(trip(1), late).await.unwrap();
    world
}

/// Entries whose signature or seal does not hold.
async fn broken(store: &Store) -> Vec<i64> {
    let flaws = store.verify().await.unwrap().flaws;
    flaws
        .into_iter()
        .filter(|flaw| flaw.what.contains("does not hold"))
        .map(|flaw| flaw.entry)
        .collect()
}

#[tokio::test]
async fn a_sealed_log_is_proven_with_what_came_after() {
    let world = sealed().await;
    let verdict = world.store.verify().await.unwrap();
    assert!(verdict.flaws.is_empty(), "{:?}", verdict.flaws);
    assert_eq!((verdict.entries, verdict.signed), (9, 3));
}

#[tokio::test]
async fn one_changed_byte_breaks_every_seal_over_it_and_no_other() {
    for (change, expected) in [
        // Before all of them; the first signature; after them all.
        (
            "UPDATE entry SET content = replace(content, 'as it was', 'as it wat') WHERE trip = 1 AND entry = 3",
            vec![6, 7, 8],
        ),
        (
            "UPDATE entry SET content = replace(content, 'Ilka Voss', 'Ilka Vosz') WHERE trip = 1 AND entry = 6",
            vec![7, 8],
        ),
        (
            "UPDATE entry SET content = replace(content, 'late note', 'late nota') WHERE trip = 1 AND entry = 9",
            vec![],
        ),
        // The hash made to fit what was changed: the chain of the seal is of what was there.
        (
            "DELETE FROM entry WHERE trip = 1 AND entry = 2",
            vec![6, 7, 8],
        ),
    ] {
        let mut world = sealed().await;
        world.tamper(&[change]).await;
        assert_eq!(broken(&world.store).await, expected, "{change}");
        let flaws = world.store.verify().await.unwrap().flaws;
        assert!(!flaws.is_empty(), "{change}");
        if !expected.is_empty() {
            let told = flaws
                .iter()
                .find(|flaw| flaw.entry == 8 && flaw.what.contains("seal"));
            let told = &told.unwrap().what;
            assert!(
                told.contains("the seal of Ilka Voss over entries 1 to 6"),
                "{told}"
            );
        }
    }
}

/// Somebody who rewrites the log with all its hashes and chains still cannot make the old seal fit.
#[tokio::test]
async fn a_log_written_anew_with_sound_hashes_does_not_fit_an_old_seal() {
    let world = sealed().await;
    let events: Vec<Event> = world
        .store
        .entries(trip(1), 0)
        .await
        .unwrap()
        .into_iter()
        .map(|entry| std::sync::Arc::unwrap_or_clone(entry.event))
        .collect();
    let other = World::new().await;
    let rewritten = events.into_iter().map(|mut one| {
        if one.device == device(1) && one.device_seq == 2 {
            one.fact = event(trip(1), device(1), 2, "as it never was").fact;
        }
        one
    });
    other
        .store
        .append(trip(1), incoming(rewritten))
        .await
        .unwrap();
    assert_eq!(broken(&other.store).await, [6, 7, 8]);
    let verdict = other.store.verify().await.unwrap();
    assert_eq!(verdict.flaws.len(), 3, "{:?}", verdict.flaws);
}

/// On another box the entries have other numbers: there the contents prove the seal.
#[tokio::test]
async fn a_seal_holds_on_a_box_that_was_filled_again_and_breaks_there_too() {
    let world = sealed().await;
    let log = log_lines(&world.store.log(trip(1), 0).await.unwrap());
    let mut lines: Vec<&str> = log.lines().collect();
    lines.reverse();
    let filled = |lines: Vec<String>| async move {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open(folder.path(), Clock::fixed(noon()))
            .await
            .unwrap();
        // One line at a time, so that they are numbered as they come.
        for line in &lines {
            let read = read_lines(trip(1), line.as_bytes()).unwrap();
            let bringer = Bringer {
                crew: CrewId::new(Uuid::from_u128(7 << 100)),
                name: "Timo Rast".to_owned(),
                device: device(9),
            };
            store.refill(trip(1), read, bringer).await.unwrap();
        }
        (folder, store)
    };
    let whole: Vec<String> = lines.iter().map(|line| (*line).to_owned()).collect();
    let (_folder, store) = filled(whole.clone()).await;
    let verdict = store.verify().await.unwrap();
    assert!(verdict.flaws.is_empty(), "{:?}", verdict.flaws);
    assert_eq!(verdict.signed, 3);
    // Without one of the lines that were signed, none of the three holds.
    let lacking: Vec<String> = whole
        .into_iter()
        .filter(|line| !line.contains("\"device_seq\":4,"))
        .collect();
    assert_eq!(lacking.len(), 8);
    let (_folder, store) = filled(lacking).await;
    assert_eq!(broken(&store).await.len(), 3);
    let told: BTreeMap<i64, String> = store
        .verify()
        .await
        .unwrap()
        .flaws
        .into_iter()
        .map(|flaw| (flaw.entry, flaw.what))
        .collect();
    assert!(
        told.values().all(|what| what.contains("other contents")),
        "{told:?}"
    );
}
