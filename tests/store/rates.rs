//! Surface rates: written anew with each change of a trip's log, gone with the person.

use deckwatch::store::Store;
use deckwatch::trip::after::{LAST_DIVES, Rate, learned};
use deckwatch::trip::{PersonId, TripId};
use deckwatch::units::LitresPerMinute;
use uuid::Uuid;

use crate::register::person;
use crate::world::{World, device, incoming, opened, trip};

pub fn rate(n: u128, dive: u32, day: i64, l_min: f64) -> Rate {
    Rate {
        person: PersonId::new(Uuid::from_u128(n)),
        dive,
        at: jiff::Timestamp::from_second(1_780_000_000 + day * 86_400).unwrap(),
        l_min: LitresPerMinute::from_l_min(l_min).unwrap(),
    }
}

async fn figures(store: &Store, n: u128) -> Vec<f64> {
    let one = PersonId::new(Uuid::from_u128(n));
    let rates = store.last_rates(&[one], LAST_DIVES).await.unwrap();
    let of = rates.get(&one);
    of.map_or_else(Vec::new, |rates| rates.iter().map(|r| r.l_min()).collect())
}

async fn with_trip(store: &Store, trip: TripId) {
    let events = incoming([opened(trip, device(1))]);
    store.append(trip, events).await.unwrap();
}

#[tokio::test]
async fn the_last_five_of_each_person_are_told_and_a_trip_says_them_anew() {
    let mut world = World::new().await;
    for n in [1, 2] {
        let someone = person(n, "Bo Reed");
        world.store.save_person(&someone).await.unwrap();
    }
    for nth in 1..=3 {
        with_trip(&world.store, trip(nth)).await;
    }
    let store = &world.store;
    let first: Vec<Rate> = (1..=4)
        .map(|n| rate(1, n, 1, 20.0 + f64::from(n)))
        .collect();
    assert!(store.learn_rates(trip(1), &first).await.unwrap());
    assert!(
        !store.learn_rates(trip(1), &first).await.unwrap(),
        "the same again"
    );
    let second = [
        rate(1, 1, 2, 15.0),
        rate(1, 2, 2, 14.0),
        rate(2, 1, 2, 18.0),
    ];
    assert!(store.learn_rates(trip(2), &second).await.unwrap());
    assert_eq!(figures(store, 1).await, [14.0, 15.0, 24.0, 23.0, 22.0]);
    assert_eq!(figures(store, 2).await, [18.0]);

    // A return that is taken back takes its rate along; another that is corrected replaces it.
    let anew = [rate(1, 1, 2, 16.0)];
    assert!(store.learn_rates(trip(2), &anew).await.unwrap());
    assert_eq!(figures(store, 1).await, [16.0, 24.0, 23.0, 22.0, 21.0]);
    assert_eq!(figures(store, 2).await, [0.0; 0]);
    let one = PersonId::new(Uuid::from_u128(1));
    let rates = store.last_rates(&[one], LAST_DIVES).await.unwrap();
    let median = learned(&rates[&one]).unwrap();
    assert_eq!((median.l_min.l_min(), median.dives), (22.0, 5));

    // Nobody who is not in the register is written down, and a person's rates go with them.
    store
        .learn_rates(trip(3), &[rate(9, 1, 3, 17.0)])
        .await
        .unwrap();
    assert_eq!(figures(store, 9).await, [0.0; 0]);
    let stated = store.stated_rates(&[one]).await.unwrap();
    assert!((stated[&one].l_min() - 17.5).abs() < 1e-9);
    let entries = store.all_entries().await.unwrap();
    let by = deckwatch::store::crew::Doer::default();
    let erased = store.erase(one, by, "asked", entries).await.unwrap();
    assert!(erased.is_some());
    assert_eq!(figures(store, 1).await, [0.0; 0]);
    world.reopen().await;
    assert_eq!(figures(&world.store, 1).await, [0.0; 0]);
}
