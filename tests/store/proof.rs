//! Proving the log: whatever is changed behind the store's back is found.

use crate::world::{World, device, event, incoming, trip};

async fn five_entries() -> World {
    let world = World::new().await;
    let events = incoming((1..=5).map(|n| event(trip(1), device(1), n, "as it was")));
    world.store.append(trip(1), events).await.unwrap();
    let other = incoming([event(trip(2), device(1), 1, "untouched")]);
    world.store.append(trip(2), other).await.unwrap();
    world
}

#[tokio::test]
async fn a_sound_log_is_proven() {
    let world = five_entries().await;
    let verdict = world.store.verify().await.unwrap();
    assert_eq!((verdict.trips, verdict.entries), (2, 6));
    assert!(verdict.flaws.is_empty(), "{:?}", verdict.flaws);
}

#[tokio::test]
async fn any_change_to_the_log_is_found_where_it_is() {
    for (change, at) in [
        // One letter, one byte of a digest, a name, a number, an order, a hole, an end.
        (
            "UPDATE entry SET content = replace(content, 'as it was', 'as it wat') WHERE trip = 1 AND entry = 3",
            3,
        ),
        (
            "UPDATE entry SET hash = CAST(x'ff' || substr(hash, 2) AS BLOB) WHERE trip = 1 AND entry = 3",
            3,
        ),
        (
            "UPDATE entry SET chain = CAST(substr(chain, 1, 31) || x'00' AS BLOB) WHERE trip = 1 AND entry = 3",
            3,
        ),
        (
            "UPDATE entry SET device_seq = 99 WHERE trip = 1 AND entry = 3",
            3,
        ),
        (
            "UPDATE entry SET device = replace(device, '0001', '0002') WHERE trip = 1 AND entry = 3",
            3,
        ),
        (
            "UPDATE entry SET event = replace(event, '3', '4') WHERE trip = 1 AND entry = 3",
            3,
        ),
        ("DELETE FROM entry WHERE trip = 1 AND entry = 3", 4),
        ("DELETE FROM entry WHERE trip = 1 AND entry = 3", 3),
        ("DELETE FROM entry WHERE trip = 1 AND entry = 5", 5),
        ("DELETE FROM entry WHERE trip = 1", 1),
        ("DELETE FROM number WHERE trip = 1 AND entry = 5", 5),
        (
            "UPDATE number SET chain = CAST(substr(chain, 1, 31) || x'00' AS BLOB) WHERE trip = 1 AND entry = 5",
            5,
        ),
        (
            "UPDATE number SET entry = 4 WHERE trip = 1 AND entry = 5",
            5,
        ),
        (
            "UPDATE entry SET line = line + 1000 WHERE trip = 1 AND entry = 5",
            1005,
        ),
    ] {
        let mut world = five_entries().await;
        world.tamper(&[change]).await;
        let flaws = world.store.verify().await.unwrap().flaws;
        assert!(!flaws.is_empty(), "not found: {change}");
        assert!(
            flaws.iter().any(|flaw| flaw.entry == at),
            "{change}: {flaws:?}"
        );
        assert!(
            flaws.iter().all(|flaw| flaw.trip == trip(1).to_string()),
            "{change}: {flaws:?}"
        );
    }
}

#[tokio::test]
async fn a_trip_whose_entries_and_numbers_are_both_gone_is_found() {
    let mut world = five_entries().await;
    world
        .tamper(&[
            "DELETE FROM entry WHERE trip = 1",
            "DELETE FROM number WHERE trip = 1",
        ])
        .await;
    let flaws = world.store.verify().await.unwrap().flaws;
    assert_eq!(flaws.len(), 1, "{flaws:?}");
    assert_eq!(flaws[0].trip, trip(1).to_string());
    assert!(flaws[0].what.contains("has no entries"), "{flaws:?}");
}
