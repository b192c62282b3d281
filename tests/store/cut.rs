//! A log whose last entries are cut off: noticed when the store is opened, kept on record, and
//! made good by whoever still has them.

use deckwatch::store::{AppendError, Appended};
use deckwatch::trip::event::Event;
use sqlx::Connection;

use crate::world::{World, device, event, id, incoming, trip};

/// Entries 1 to 6 of one trip, the odd ones of device 1, the even ones of device 2; a second
/// trip beside it.
async fn two_devices() -> World {
    let world = World::new().await;
    for n in 1..=3 {
        for tablet in 1..=2 {
            let one = incoming([event(trip(1), device(tablet), n, "x")]);
            world.store.append(trip(1), one).await.unwrap();
        }
    }
    let other = incoming([event(trip(2), device(1), 1, "x")]);
    world.store.append(trip(2), other).await.unwrap();
    assert!(world.store.lost().await.unwrap().is_empty());
    world
}

async fn lost(world: &World) -> Vec<i64> {
    let lost = world.store.lost().await.unwrap();
    assert!(lost.iter().all(|gone| gone.trip == trip(1).to_string()));
    lost.into_iter().map(|gone| gone.entry).collect()
}

#[tokio::test]
async fn the_cut_off_end_of_a_log_is_noticed_at_opening_and_the_log_goes_on_after_it() {
    let mut world = two_devices().await;
    let before = world.store.head(trip(1)).await.unwrap().unwrap();
    let cut = "DELETE FROM entry WHERE trip = 1 AND entry >= 5";
    world.tamper(&[cut]).await;
    for _ in 0..2 {
        assert_eq!(lost(&world).await, [5, 6]);
        let flaws = world.store.verify().await.unwrap().flaws;
        assert_eq!(
            flaws.iter().map(|flaw| flaw.entry).collect::<Vec<_>>(),
            [5, 6]
        );
        assert!(flaws[0].what.contains("number 3 of device"), "{flaws:?}");
        // The end is where it was, so that nothing takes the place of what is gone.
        assert_eq!(world.store.head(trip(1)).await.unwrap(), Some(before));
        assert_eq!(world.store.trips().await.unwrap().len(), 2);
        world.reopen().await;
    }

    let back = incoming([event(trip(1), device(1), 3, "x")]);
    let done = world.store.append(trip(1), back.clone()).await.unwrap();
    assert_eq!(done, [Appended::New { entry: 7 }]);
    let again = world.store.append(trip(1), back).await.unwrap();
    assert_eq!(again, [Appended::Repeat { entry: 7 }]);
    let log = world.store.log(trip(1), 4).await.unwrap();
    assert_eq!(log.len(), 1);
    assert_eq!(log[0].chain, before.then(&log[0].hash).chain);
    // The hole is told for good.
    world.reopen().await;
    assert_eq!(lost(&world).await, [5, 6]);
    assert!(!world.store.verify().await.unwrap().flaws.is_empty());
}

#[tokio::test]
async fn the_cut_off_end_of_one_device_is_noticed() {
    let mut world = two_devices().await;
    world
        .tamper(&["DELETE FROM entry WHERE trip = 1 AND entry IN (3, 5)"])
        .await;
    assert_eq!(lost(&world).await, [3, 5]);
    let told: Vec<_> = world.store.verify().await.unwrap().flaws;
    assert!(told.iter().any(|flaw| flaw.entry == 3), "{told:?}");
    assert!(told.iter().any(|flaw| flaw.entry == 5), "{told:?}");
}

#[tokio::test]
async fn a_whole_log_cut_off_is_noticed() {
    let mut world = two_devices().await;
    let before = world.store.head(trip(1)).await.unwrap();
    world.tamper(&["DELETE FROM entry WHERE trip = 1"]).await;
    assert_eq!(lost(&world).await, [1, 2, 3, 4, 5, 6]);
    assert_eq!(world.store.head(trip(1)).await.unwrap(), before);
    assert_eq!(world.store.verify().await.unwrap().flaws.len(), 6);
    // All that a tablet has comes back.
    let all = incoming((1..=3).map(|n| event(trip(1), device(1), n, "x")));
    let done = world.store.append(trip(1), all).await.unwrap();
    let entries: Vec<_> = done.iter().map(|one| one.entry()).collect();
    assert_eq!(entries, [7, 8, 9]);
}

#[tokio::test]
async fn a_number_that_is_lost_is_not_given_to_a_form() {
    let mut world = two_devices().await;
    world
        .tamper(&["DELETE FROM entry WHERE trip = 1 AND entry = 6"])
        .await;
    let form = |place: deckwatch::store::Place| {
        assert_eq!((place.head.entry, place.next_seq), (6, 4));
        Ok::<_, ()>(vec![Event {
            id: id(9),
            ..event(trip(1), device(2), place.next_seq, "form")
        }])
    };
    let done = world
        .store
        .append_from_form(trip(1), device(2), id(9), form)
        .await;
    assert_eq!(done.unwrap(), [Appended::New { entry: 7 }]);
    // What was lost still finds its number free.
    let back = incoming([event(trip(1), device(2), 3, "x")]);
    let done = world.store.append(trip(1), back).await.unwrap();
    assert_eq!(done, [Appended::New { entry: 8 }]);
}

#[tokio::test]
async fn what_is_cut_off_under_an_open_store_is_told_by_the_proof() {
    let world = two_devices().await;
    let mut raw = world.raw().await;
    crate::world::unguard(&mut raw).await;
    sqlx::query("DELETE FROM entry WHERE trip = 1 AND entry = 6")
        .execute(&mut raw)
        .await
        .unwrap();
    raw.close().await.unwrap();
    let flaws = world.store.verify().await.unwrap().flaws;
    assert_eq!(flaws.len(), 1, "{flaws:?}");
    assert_eq!(flaws[0].entry, 6);
}

const INSERT: &str = "INSERT INTO entry (line, event, device, device_seq, content, hash, chain, \
    recorded_at, boot, uptime_ms) SELECT (1 << 32) + $1, $2, device, $3, content, hash, chain, \
    recorded_at, boot, uptime_ms FROM entry WHERE trip = 1 AND entry = 1";

#[tokio::test]
async fn the_database_itself_keeps_lines_ids_and_numbers_unique() {
    let world = two_devices().await;
    let first = event(trip(1), device(1), 1, "x").id.to_string();
    world.store.close().await.unwrap();
    let mut raw = world.raw().await;
    for (entry, event, seq, why) in [
        (1, "other", 9, "entry.line"),
        (7, first.as_str(), 9, "entry.event"),
        (7, "other", 3, "number.device_seq"),
    ] {
        let refused = sqlx::query(INSERT)
            .bind(entry)
            .bind(event)
            .bind(seq)
            .execute(&mut raw)
            .await
            .unwrap_err();
        let told = refused.to_string();
        assert!(told.contains("UNIQUE") && told.contains(why), "{told}");
    }
    // A trip that is in no list has no entries.
    let homeless = INSERT.replace("(1 << 32)", "(9 << 32)");
    let refused = sqlx::query(sqlx::AssertSqlSafe(homeless))
        .bind(1)
        .bind("other")
        .bind(9)
        .execute(&mut raw)
        .await
        .unwrap_err();
    assert!(refused.to_string().contains("FOREIGN KEY"), "{refused}");
    let sound = sqlx::query(INSERT).bind(7).bind("other").bind(4);
    assert_eq!(sound.execute(&mut raw).await.unwrap().rows_affected(), 1);
}

#[tokio::test]
async fn the_database_itself_takes_no_change_to_what_stands() {
    let world = two_devices().await;
    let other = incoming([Event {
        id: id(1),
        ..event(trip(1), device(1), 1, "another")
    }]);
    let clash = world.store.append(trip(1), other).await;
    assert!(matches!(clash, Err(AppendError::Clash(_))));
    world.store.close().await.unwrap();
    let mut raw = world.raw().await;
    for change in [
        "UPDATE entry SET content = 'x'",
        "DELETE FROM entry",
        "UPDATE number SET entry = 9",
        "DELETE FROM number",
        "UPDATE clash SET content = 'x'",
        "DELETE FROM clash",
    ] {
        let refused = sqlx::query(change).execute(&mut raw).await.unwrap_err();
        let told = refused.to_string();
        assert!(
            told.contains("only added to") || told.contains("stays"),
            "{change}: {told}"
        );
    }
}
