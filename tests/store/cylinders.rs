//! Cylinders, fills and signed analyses: written, read back, and which of them are past.

use deckwatch::store::Store;
use deckwatch::store::crew::Doer;
use deckwatch::store::register::{Analysis, Content, CylinderSaved};
use deckwatch::trip::PersonId;
use deckwatch::units::{CylinderBar, CylinderLitres, OxygenFraction};
use jiff::Timestamp;
use jiff::civil::date;
use uuid::Uuid;

use crate::register::person;
use crate::world::World;

fn number(n: u128) -> Uuid {
    Uuid::from_u128((12 << 100) + n)
}

fn litres(l: f64) -> CylinderLitres {
    CylinderLitres::from_l(l).unwrap()
}

fn at(minute: i64) -> Timestamp {
    Timestamp::from_second(1_780_300_800 + minute * 60).unwrap()
}

fn analysis(n: u128, person: PersonId, cylinder: Option<Uuid>, minute: i64) -> Analysis {
    Analysis {
        id: number(n),
        cylinder,
        marking: "7".to_owned(),
        litres: litres(12.0),
        person,
        signed_as: "Noor Adan".to_owned(),
        oxygen: OxygenFraction::from_fraction(0.316).unwrap(),
        bar: CylinderBar::from_bar(205.0).unwrap(),
        at: at(minute),
        is_past: false,
    }
}

fn content(oxygen: Option<f64>, minute: i64) -> Content {
    Content {
        fill: oxygen.map(|oxygen| {
            (
                OxygenFraction::from_fraction(oxygen).unwrap(),
                CylinderBar::from_bar(210.0).unwrap(),
            )
        }),
        at: at(minute),
        by: "Berit Holm".to_owned(),
    }
}

/// Everything that is done with cylinders, once.
pub async fn all(store: &Store, someone: PersonId) {
    let (seven, by) = (number(1), Doer::default());
    let saved = store
        .save_cylinder(seven, "7", litres(12.0), Some(date(2027, 1, 1)))
        .await;
    assert_eq!(saved.unwrap(), CylinderSaved::Saved);
    let other = store
        .save_cylinder(number(2), "7", litres(10.0), None)
        .await;
    assert_eq!(other.unwrap(), CylinderSaved::Marked);
    assert!(
        store
            .fill_cylinder(seven, &content(Some(0.32), 0))
            .await
            .unwrap()
    );
    assert!(
        !store
            .fill_cylinder(number(9), &content(None, 0))
            .await
            .unwrap()
    );
    let one = analysis(10, someone, Some(seven), 1);
    assert!(store.keep_analysis(&one, by).await.unwrap());
    assert!(
        store.keep_analysis(&one, by).await.unwrap(),
        "twice is once"
    );
    let unknown = analysis(11, someone, Some(number(9)), 1);
    assert!(!store.keep_analysis(&unknown, by).await.unwrap());
    assert_eq!(store.analyses_since(at(0)).await.unwrap(), [one]);
    let held = store.cylinder(seven).await.unwrap().unwrap();
    assert_eq!(held.content, Some(content(Some(0.32), 0)));
    assert!(!held.is_untested(date(2027, 1, 1)) && held.is_untested(date(2027, 1, 2)));
    assert_eq!(store.cylinders().await.unwrap(), [held]);
    assert!(store.remove_cylinder(seven, by).await.unwrap());
    assert!(!store.remove_cylinder(seven, by).await.unwrap());
}

#[tokio::test]
async fn an_analysis_is_past_once_its_cylinder_was_filled_or_analysed_anew() {
    let mut world = World::new().await;
    let (someone, by) = (person(7, "Noor Adan"), Doer::default());
    let noor = someone.id;
    let store = &world.store;
    let own = analysis(20, noor, None, 5);
    assert!(
        !store.keep_analysis(&own, by).await.unwrap(),
        "nobody of the register"
    );
    store.save_person(&someone).await.unwrap();
    let seven = number(1);
    let _ = store
        .save_cylinder(seven, "7", litres(12.0), None)
        .await
        .unwrap();
    assert!(
        store
            .cylinder(seven)
            .await
            .unwrap()
            .unwrap()
            .is_untested(date(2026, 6, 1))
    );
    let past = || async {
        let all = world.store.analyses_since(at(0)).await.unwrap();
        let told = all.iter().map(|one| (one.id.as_u128() & 0xff, one.is_past));
        told.collect::<Vec<_>>()
    };
    // A fill that nobody told of: the analysis stands until somebody says otherwise.
    store
        .keep_analysis(&analysis(10, noor, Some(seven), 1), by)
        .await
        .unwrap();
    assert_eq!(past().await, [(10, false)]);
    store
        .keep_analysis(&analysis(11, noor, Some(seven), 2), by)
        .await
        .unwrap();
    assert_eq!(past().await, [(11, false), (10, true)]);
    // At the same instant as a fill, it may have been before it.
    store
        .fill_cylinder(seven, &content(Some(0.36), 2))
        .await
        .unwrap();
    assert_eq!(past().await, [(11, true), (10, true)]);
    store
        .keep_analysis(&analysis(12, noor, Some(seven), 3), by)
        .await
        .unwrap();
    store
        .keep_analysis(&analysis(13, noor, Some(seven), 3), by)
        .await
        .unwrap();
    let doubt = [(12, true), (13, true), (11, true), (10, true)];
    assert_eq!(past().await, doubt, "which is the later is not known");
    store.fill_cylinder(seven, &content(None, 4)).await.unwrap();
    // One's own cylinder goes by marking and person.
    for (n, minute) in [(20, 5), (21, 6)] {
        store
            .keep_analysis(&analysis(n, noor, None, minute), by)
            .await
            .unwrap();
    }
    assert_eq!(past().await[..2], [(21, false), (20, true)]);
    // Gone with its cylinder's number, not itself; gone with its person.
    assert!(store.remove_cylinder(seven, by).await.unwrap());
    world.reopen().await;
    assert_eq!(world.store.analyses_since(at(0)).await.unwrap().len(), 6);
}
