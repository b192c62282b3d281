//! The register: what is written is read back, and what makes no sense is named.

use deckwatch::dive::window::{WindowFigures, WindowSettings};
use deckwatch::sea::position::Position;
use deckwatch::store::StoreError;
use deckwatch::store::crew::Doer;
use deckwatch::store::register::{Boat, Contact, Person, Site, key};
use deckwatch::trip::event::Fitness;
use deckwatch::trip::{PersonId, SiteId};
use deckwatch::units::{Depth, Distance, LitresPerMinute};
use sqlx::Connection;
use uuid::Uuid;

use crate::world::{World, sheet};

pub fn person(n: u128, name: &str) -> Person {
    Person {
        id: PersonId::new(Uuid::from_u128(n)),
        name: name.to_owned(),
        level: "Autonomous diver".to_owned(),
        depth_limit: Some(Depth::from_m(20.0).unwrap()),
        last_dive: Some("2026-05-30".parse().unwrap()),
        fitness: Fitness::Restricted,
        breathing: Some(LitresPerMinute::from_l_min(17.5).unwrap()),
        born: None,
        archived: false,
    }
}

pub fn contact() -> Contact {
    Contact {
        name: "Ada Moor".to_owned(),
        relation: "sister".to_owned(),
        telephone: "+00 1234".to_owned(),
    }
}

pub fn boat() -> Boat {
    Boat {
        sheet: sheet(),
        mmsi: Some("200000001".to_owned()),
        radio: None,
    }
}

pub fn site() -> Site {
    Site {
        id: SiteId::new(Uuid::from_u128(8)),
        name: "The Needle".to_owned(),
        position: Position::from_degrees(-150.25, -17.5).unwrap(),
        chart: r#"{"type":"FeatureCollection","features":[]}"#.to_owned(),
        stand_off: Distance::from_m(50.0).unwrap(),
        time_zone: "Pacific/Tahiti".to_owned(),
        notes: "Mind the set over the ridge.".to_owned(),
        water: deckwatch::dive::pressure::Column::default(),
        tides: Some(
            r#"{"table": [{"hour": 0, "set_deg": 40, "spring_kn": 1.5, "neap_kn": 0.5}],
                "high_water": [{"at": "2026-06-01T12:00:00Z", "range_m": 1.0}],
                "spring_range_m": 2.0, "neap_range_m": 0.5}"#
                .parse()
                .unwrap(),
        ),
    }
}

#[tokio::test]
async fn a_person_is_written_changed_found_and_erased() {
    let mut world = World::new().await;
    let mut jose = person(1, "José García");
    world.store.save_person(&jose).await.unwrap();
    world.reopen().await;
    let store = &world.store;
    assert_eq!(store.person(jose.id).await.unwrap(), Some(jose.clone()));

    jose.name = "José García Moor".to_owned();
    jose.depth_limit = None;
    jose.last_dive = None;
    jose.breathing = None;
    jose.fitness = Fitness::Cleared;
    store.save_person(&jose).await.unwrap();
    assert_eq!(store.person(jose.id).await.unwrap(), Some(jose.clone()));

    store.save_contact(jose.id, &contact()).await.unwrap();
    assert_eq!(store.contact(jose.id).await.unwrap(), Some(contact()));
    let entries = store.all_entries().await.unwrap();
    let by = Doer::default();
    let erased = store.erase(jose.id, by, "asked", entries).await.unwrap();
    assert!(erased.unwrap().contact);
    let again = store.erase(jose.id, by, "asked", entries).await.unwrap();
    assert_eq!(again, None);
    assert_eq!(store.person(jose.id).await.unwrap(), None);
    assert_eq!(
        store.contact(jose.id).await.unwrap(),
        None,
        "goes with the person"
    );
    assert!(
        store.save_contact(jose.id, &contact()).await.is_err(),
        "nobody to call for nobody"
    );
}

#[tokio::test]
async fn people_are_found_by_a_part_of_their_name_in_any_script() {
    let world = World::new().await;
    let store = &world.store;
    for (n, name) in [
        (1, "José García"),
        (2, "ÅSA Öström"),
        (3, "Юлия Ёлкина"),
        (4, "田中 太郎"),
        (5, "100% _ Wild'"),
    ] {
        store.save_person(&person(n, name)).await.unwrap();
    }
    let mut gone = person(6, "Josephine Old");
    gone.archived = true;
    store.save_person(&gone).await.unwrap();
    for (part, found) in [
        ("jose", vec!["José García"]),
        ("GARCÍA", vec!["José García"]),
        ("ostr", vec!["ÅSA Öström"]),
        ("елк", vec!["Юлия Ёлкина"]),
        ("太", vec!["田中 太郎"]),
        ("%", vec!["100% _ Wild'"]),
        ("_", vec!["100% _ Wild'"]),
        ("d'", vec!["100% _ Wild'"]),
        ("nobody", vec![]),
    ] {
        let people = store.find_people(part, 50).await.unwrap();
        let names: Vec<_> = people.iter().map(|one| one.name.as_str()).collect();
        assert_eq!(names, found, "{part}");
    }
    assert_eq!(store.find_people("", 50).await.unwrap().len(), 5);
    assert_eq!(store.find_people("", 2).await.unwrap().len(), 2);
    assert_eq!(store.people().await.unwrap().len(), 6);
}

#[tokio::test]
async fn boats_and_sites_are_written_changed_and_taken_out() {
    let world = World::new().await;
    let store = &world.store;
    let mut boat = boat();
    store.save_boat(&boat).await.unwrap();
    assert_eq!(store.boat(boat.sheet.id).await.unwrap(), Some(boat.clone()));
    boat.mmsi = None;
    boat.radio = Some("VHF, watch on 16".to_owned());
    boat.sheet.emergency_plan.clear();
    store.save_boat(&boat).await.unwrap();
    assert_eq!(store.boats().await.unwrap(), [boat.clone()]);
    assert!(store.remove_boat(boat.sheet.id).await.unwrap());
    assert_eq!(store.boat(boat.sheet.id).await.unwrap(), None);

    let mut site = site();
    store.save_site(&site).await.unwrap();
    site.notes.clear();
    store.save_site(&site).await.unwrap();
    assert_eq!(store.site(site.id).await.unwrap(), Some(site.clone()));
    assert_eq!(store.sites().await.unwrap(), [site.clone()]);
    assert!(store.remove_site(site.id).await.unwrap());
    assert!(store.sites().await.unwrap().is_empty());
}

#[tokio::test]
async fn settings_keep_their_kind() {
    let world = World::new().await;
    let store = &world.store;
    let none: Option<WindowSettings> = store.setting(key::WINDOWS).await.unwrap();
    assert_eq!(none, None);
    let rules = WindowSettings::try_from(WindowFigures {
        grace_min: 4.0,
        ..WindowFigures::default()
    })
    .unwrap();
    store.set_setting(key::WINDOWS, &rules).await.unwrap();
    assert_eq!(store.setting(key::WINDOWS).await.unwrap(), Some(rules));
    store.set_setting(key::WINDOWS, &"soon").await.unwrap();
    let wrong = store.setting::<WindowSettings>(key::WINDOWS).await;
    assert!(matches!(wrong, Err(StoreError::Setting { key, .. }) if key == "windows"));
}

#[tokio::test]
async fn a_row_that_makes_no_sense_is_named_by_table_column_and_row() {
    let mut world = World::new().await;
    let one = person(1, "José García");
    world.store.save_person(&one).await.unwrap();
    world.store.close().await.unwrap();
    let mut raw = world.raw().await;
    sqlx::query("UPDATE person SET depth_limit_m = 4000")
        .execute(&mut raw)
        .await
        .unwrap();
    raw.close().await.unwrap();
    world.reopen().await;
    let error = world.store.person(one.id).await.unwrap_err().to_string();
    for part in ["person", "depth_limit_m", &one.id.to_string(), "4000"] {
        assert!(error.contains(part), "{error}");
    }
}
