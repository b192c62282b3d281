//! Guardians' consent: written, read back, withdrawn, gone without, moved by a merge, gone with the
//! person; and every word of it in the audit.

use deckwatch::store::crew::{AuditAsked, AuditKind, Doer};
use deckwatch::store::register::{Consent, ConsentOverride, Merge, Reaches};
use deckwatch::trip::PersonId;
use jiff::civil::date;
use uuid::Uuid;

use crate::register::person;
use crate::world::{World, trip};

pub fn consent(n: u128, of: PersonId, reaches: Reaches) -> Consent {
    Consent {
        id: Uuid::from_u128((9 << 100) + n),
        person: of,
        guardian: "Ada Moor".to_owned(),
        given_on: date(2026, 5, 30),
        reaches,
        seen_by: "Berit Holm".to_owned(),
        seen_at: crate::world::noon(),
    }
}

pub fn decided(of: PersonId) -> ConsentOverride {
    ConsentOverride {
        person: of,
        trip: trip(1),
        why: "father is aboard".to_owned(),
        who: "Ilka Voss".to_owned(),
        at: crate::world::noon(),
    }
}

async fn audited(world: &World) -> Vec<String> {
    let asked = AuditAsked {
        kind: Some(AuditKind::Consent),
        ..AuditAsked::default()
    };
    let lines = world.store.find_audits(&asked, 20).await.unwrap();
    lines.into_iter().map(|line| line.what).collect()
}

#[tokio::test]
async fn a_consent_is_written_read_back_withdrawn_and_audited() {
    let mut world = World::new().await;
    let by = Doer::default();
    let minor = person(1, "Liv Aas");
    let one = consent(1, minor.id, Reaches::Until(date(2026, 8, 31)));
    assert!(
        !world.store.add_consent(&one, by).await.unwrap(),
        "for nobody"
    );
    world.store.save_person(&minor).await.unwrap();
    let other = consent(2, minor.id, Reaches::Trip(trip(1)));
    for _ in 0..2 {
        for consent in [&one, &other] {
            assert!(world.store.add_consent(consent, by).await.unwrap());
        }
    }
    world.reopen().await;
    let held = world.store.consents().await.unwrap();
    assert_eq!(held[&minor.id], [one.clone(), other.clone()]);
    assert_eq!(audited(&world).await.len(), 2, "the same again is one");
    let nobody = person(9, "Nobody");
    assert!(
        !world
            .store
            .withdraw_consent(nobody.id, one.id, by)
            .await
            .unwrap()
    );
    assert!(
        world
            .store
            .withdraw_consent(minor.id, one.id, by)
            .await
            .unwrap()
    );
    assert!(
        !world
            .store
            .withdraw_consent(minor.id, one.id, by)
            .await
            .unwrap()
    );
    assert_eq!(world.store.consents().await.unwrap()[&minor.id], [other]);
    assert_eq!(audited(&world).await[0], "withdrew a guardian's consent");
}

#[test]
fn a_consent_covers_its_trip_or_every_day_up_to_its_last() {
    let of = person(1, "Liv Aas").id;
    let until = consent(1, of, Reaches::Until(date(2026, 6, 2)));
    for (day, covers) in [(29, false), (30, true), (31, true)] {
        assert_eq!(until.covers(trip(1), date(2026, 5, day)), covers, "{day}");
    }
    assert!(until.covers(trip(2), date(2026, 6, 2)));
    assert!(!until.covers(trip(2), date(2026, 6, 3)));
    let one = consent(2, of, Reaches::Trip(trip(1)));
    assert!(one.covers(trip(1), date(2027, 6, 2)));
    assert!(!one.covers(trip(2), date(2026, 6, 2)));
    assert!(
        !one.covers(trip(1), date(2026, 5, 29)),
        "before it was given"
    );
}

#[tokio::test]
async fn a_decision_to_go_without_stands_as_first_said() {
    let world = World::new().await;
    let by = Doer::default();
    let minor = person(1, "Liv Aas");
    let first = decided(minor.id);
    assert!(
        !world.store.override_consent(&first, by).await.unwrap(),
        "for nobody"
    );
    world.store.save_person(&minor).await.unwrap();
    assert!(world.store.override_consent(&first, by).await.unwrap());
    let later = ConsentOverride {
        why: "another reason".to_owned(),
        ..first.clone()
    };
    assert!(world.store.override_consent(&later, by).await.unwrap());
    let held = world.store.consent_overrides(trip(1)).await.unwrap();
    assert_eq!(held.values().collect::<Vec<_>>(), [&first]);
    assert!(
        world
            .store
            .consent_overrides(trip(2))
            .await
            .unwrap()
            .is_empty()
    );
    let lines = audited(&world).await;
    assert_eq!(lines.len(), 1);
    assert!(lines[0].ends_with("father is aboard"), "{lines:?}");
}

#[tokio::test]
async fn a_merge_keeps_what_guardians_said_and_an_erasure_takes_it_along() {
    let world = World::new().await;
    let (by, store) = (Doer::default(), &world.store);
    let (stays, gone) = (person(1, "Liv Aas"), person(2, "Liv Ås"));
    for one in [&stays, &gone] {
        store.save_person(one).await.unwrap();
    }
    let one = consent(1, gone.id, Reaches::Trip(trip(1)));
    store.add_consent(&one, by).await.unwrap();
    store.override_consent(&decided(gone.id), by).await.unwrap();
    let merge = Merge {
        stays: stays.clone(),
        gone: gone.id,
        contact_of: None,
        entries: store.all_entries().await.unwrap(),
    };
    assert!(store.merge(&merge, by).await.unwrap());
    let held = store.consents().await.unwrap();
    assert_eq!(held.keys().collect::<Vec<_>>(), [&stays.id]);
    let overrides = store.consent_overrides(trip(1)).await.unwrap();
    assert_eq!(overrides.keys().collect::<Vec<_>>(), [&stays.id]);
    // Written for the old identity it is the person's.
    let other = consent(2, gone.id, Reaches::Until(date(2026, 8, 1)));
    assert!(store.add_consent(&other, by).await.unwrap());
    assert_eq!(store.consents().await.unwrap()[&stays.id].len(), 2);
    let entries = store.all_entries().await.unwrap();
    store
        .erase(gone.id, by, "asked", entries)
        .await
        .unwrap()
        .unwrap();
    assert!(store.consents().await.unwrap().is_empty());
    assert!(store.consent_overrides(trip(1)).await.unwrap().is_empty());
}
