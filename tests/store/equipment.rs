//! What a boat has aboard and whom to call from her: written, looked at, read back, gone with her.

use deckwatch::store::crew::Doer;
use deckwatch::store::register::{EmergencyCard, Equipment};
use deckwatch::trip::BoatId;
use jiff::civil::{Date, date};
use sqlx::Connection;
use uuid::Uuid;

use crate::register::boat;
use crate::world::World;

pub fn thing(n: u128, name: &str) -> Equipment {
    Equipment {
        id: Uuid::from_u128((11 << 100) + n),
        boat: boat().sheet.id,
        name: name.to_owned(),
        count: 2,
        place: "under the helm".to_owned(),
        due: None,
        checked: None,
    }
}

pub fn card() -> EmergencyCard {
    EmergencyCard {
        channel: "16".to_owned(),
        numbers: "Coastguard +00 555 0100\nHarbour +00 555 0101".to_owned(),
        chamber: "Island hospital, +00 555 0102, day and night".to_owned(),
        evacuation: "Old Quay, north steps".to_owned(),
        told_on: date(2026, 6, 1),
        told_by: "Berit Holm".to_owned(),
    }
}

#[test]
fn doubt_about_a_check_is_never_safe() {
    let due = |due: Option<Date>, checked: bool| Equipment {
        due,
        checked: checked.then(|| (date(2026, 5, 1), "Berit Holm".to_owned())),
        ..thing(1, "Oxygen kit")
    };
    let on = date(2026, 6, 1);
    for (thing, overdue) in [
        (due(Some(date(2026, 6, 1)), true), false),
        (due(Some(date(2026, 5, 31)), true), true),
        (due(Some(date(2030, 1, 1)), false), true),
        (due(None, true), true),
        (due(None, false), true),
    ] {
        assert_eq!(thing.is_overdue(on), overdue, "{thing:?}");
    }
}

#[tokio::test]
async fn equipment_is_listed_looked_at_and_taken_off_with_a_line_each() {
    let mut world = World::new().await;
    let (id, by) = (boat().sheet.id, Doer::default());
    let things = [thing(1, "Oxygen kit"), thing(2, "Flag A")];
    assert!(
        !world.store.add_equipment(id, &things).await.unwrap(),
        "no such boat"
    );
    world.store.save_boat(&boat()).await.unwrap();
    for _ in 0..2 {
        assert!(world.store.add_equipment(id, &things).await.unwrap());
    }
    world.reopen().await;
    let store = &world.store;
    let held = store.equipment(id).await.unwrap();
    assert_eq!(
        held,
        [things[1].clone(), things[0].clone()],
        "by name, once"
    );
    let looked = (date(2026, 6, 1), "Berit Holm");
    let next = date(2026, 12, 1);
    let (oxygen, strange) = (things[0].id, thing(9, "x").id);
    let other = BoatId::new(Uuid::from_u128(77));
    assert!(
        store
            .check_equipment(id, oxygen, looked, next, by)
            .await
            .unwrap()
    );
    assert!(
        !store
            .check_equipment(other, oxygen, looked, next, by)
            .await
            .unwrap()
    );
    assert!(
        !store
            .check_equipment(id, strange, looked, next, by)
            .await
            .unwrap()
    );
    let held = store.equipment(id).await.unwrap();
    assert_eq!(held[1].due, Some(next));
    assert_eq!(held[1].checked, Some((looked.0, looked.1.to_owned())));
    assert!(!store.remove_equipment(other, oxygen, by).await.unwrap());
    assert!(store.remove_equipment(id, oxygen, by).await.unwrap());
    assert!(!store.remove_equipment(id, oxygen, by).await.unwrap());
    assert_eq!(store.equipment(id).await.unwrap().len(), 1);
    let lines = store.audits(9).await.unwrap();
    let said: Vec<&str> = lines.iter().map(|line| line.what.as_str()).collect();
    assert_eq!(said.len(), 2, "{said:?}");
    assert!(said[0].starts_with("took 'Oxygen kit' off"));
    assert!(said[1].starts_with("looked at 'Oxygen kit'") && said[1].ends_with("2026-12-01"));
}

#[tokio::test]
async fn whom_to_call_is_written_anew_and_goes_with_the_boat() {
    let mut world = World::new().await;
    let id = boat().sheet.id;
    assert!(!world.store.save_emergency_card(id, &card()).await.unwrap());
    world.store.save_boat(&boat()).await.unwrap();
    assert_eq!(world.store.emergency_card(id).await.unwrap(), None);
    let changed = EmergencyCard {
        channel: "72".to_owned(),
        ..card()
    };
    for one in [card(), changed] {
        assert!(world.store.save_emergency_card(id, &one).await.unwrap());
        world.reopen().await;
        assert_eq!(world.store.emergency_card(id).await.unwrap(), Some(one));
    }
    // Saving the boat itself leaves both alone; removing her takes both along.
    world
        .store
        .add_equipment(id, &[thing(1, "Radio")])
        .await
        .unwrap();
    world.store.save_boat(&boat()).await.unwrap();
    assert_eq!(world.store.equipment(id).await.unwrap().len(), 1);
    world.store.remove_boat(id).await.unwrap();
    assert!(world.store.equipment(id).await.unwrap().is_empty());
    assert_eq!(world.store.emergency_card(id).await.unwrap(), None);
}

#[tokio::test]
async fn a_row_that_makes_no_sense_is_named() {
    let mut world = World::new().await;
    world.store.save_boat(&boat()).await.unwrap();
    let id = boat().sheet.id;
    world
        .store
        .add_equipment(id, &[thing(1, "Radio")])
        .await
        .unwrap();
    world.store.close().await.unwrap();
    let mut raw = world.raw().await;
    sqlx::query("UPDATE boat_equipment SET due = 'soon'")
        .execute(&mut raw)
        .await
        .unwrap();
    raw.close().await.unwrap();
    world.reopen_quietly().await;
    let error = world.store.equipment(id).await.unwrap_err().to_string();
    assert!(
        error.contains("boat_equipment") && error.contains("due"),
        "{error}"
    );
}
