//! Doubles that somebody merged: one entry remains, whatever asks for the other gets that one, and
//! no log is touched.

use deckwatch::store::crew::{AuditAsked, AuditKind, Doer, Pin};
use deckwatch::store::register::{Contact, Merge, Person};
use deckwatch::trip::event::{Fitness, Role};
use deckwatch::units::LitresPerMinute;
use sqlx::Connection;

use crate::crew::roles;
use crate::rates::rate;
use crate::register::{contact, person};
use crate::world::{World, device, incoming, opened, trip};

/// The pair of these tests: 1 remains, 2 goes.
async fn two(world: &World) -> (Person, Person) {
    let (mut stays, mut gone) = (person(1, "Noor Adan"), person(2, "Noro Adan"));
    stays.fitness = Fitness::Cleared;
    gone.born = Some("2011-04-02".parse().unwrap());
    gone.breathing = Some(LitresPerMinute::from_l_min(14.0).unwrap());
    for one in [&stays, &gone] {
        world.store.save_person(one).await.unwrap();
    }
    (stays, gone)
}

async fn merge(world: &World, stays: &Person, gone: &Person, contact_of: Option<&Person>) -> bool {
    let merge = Merge {
        stays: stays.clone(),
        gone: gone.id,
        contact_of: contact_of.map(|one| one.id),
        entries: world.store.all_entries().await.unwrap(),
    };
    world.store.merge(&merge, Doer::default()).await.unwrap()
}

#[tokio::test]
async fn an_identity_that_was_given_up_is_the_one_that_remained_for_everything() {
    let mut world = World::new().await;
    let (stays, gone) = two(&world).await;
    let pin = Pin::new("835192").unwrap();
    let who = world
        .store
        .add_crew("Berit Holm", &roles(&[Role::Desk]), &pin)
        .await
        .unwrap();
    let log = incoming([opened(trip(1), device(1))]);
    world.store.append(trip(1), log).await.unwrap();
    // Both were told to have breathed on dive 1: the faster rate asks for more gas.
    let rates = [
        rate(1, 1, 1, 15.0),
        rate(2, 1, 1, 19.0),
        rate(2, 2, 2, 16.0),
    ];
    world.store.learn_rates(trip(1), &rates).await.unwrap();
    world
        .store
        .save_contact(stays.id, &contact())
        .await
        .unwrap();
    let other = Contact {
        name: "Lale Adan".to_owned(),
        ..contact()
    };
    world.store.save_contact(gone.id, &other).await.unwrap();
    let before = world.store.log(trip(1), 0).await.unwrap();

    let chosen = Person {
        born: gone.born,
        fitness: Fitness::Restricted,
        ..stays.clone()
    };
    let command = Merge {
        stays: chosen.clone(),
        gone: gone.id,
        contact_of: Some(gone.id),
        entries: world.store.all_entries().await.unwrap(),
    };
    let by = Doer {
        who: Some(who),
        device: None,
    };
    assert!(world.store.merge(&command, by).await.unwrap());
    world.reopen().await;
    let store = &world.store;
    assert_eq!(
        store.log(trip(1), 0).await.unwrap(),
        before,
        "no log is touched"
    );
    assert_eq!(store.people().await.unwrap(), std::slice::from_ref(&chosen));
    for id in [stays.id, gone.id] {
        assert_eq!(store.person(id).await.unwrap().as_ref(), Some(&chosen));
        assert_eq!(store.contact(id).await.unwrap().as_ref(), Some(&other));
        assert!(store.has_contact(id).await.unwrap());
        assert!(
            store.contacts_given().await.unwrap().contains(&id),
            "logs name either"
        );
        let rates = store.last_rates(&[id], 5).await.unwrap();
        let rates: Vec<f64> = rates[&id].iter().map(|rate| rate.l_min()).collect();
        assert_eq!(rates, [16.0, 19.0]);
        let stated = store.stated_rates(&[id]).await.unwrap();
        assert!((stated[&id].l_min() - 17.5).abs() < 1e-9);
        assert_eq!(store.remaining(id).await.unwrap(), stays.id);
    }
    // What the log says again is held against what was moved.
    assert!(!store.learn_rates(trip(1), &rates).await.unwrap());
    let told = store.merged_into(stays.id).await.unwrap();
    assert_eq!(told.len(), 1);
    assert_eq!(
        (told[0].gone, told[0].name.as_str()),
        (gone.id, "Noro Adan")
    );
    assert_eq!(told[0].who_name.as_deref(), Some("Berit Holm"));
    assert_eq!(told[0].at, world.clock.now());

    // Written under the old identity it is the one entry that changes.
    let renamed = Person {
        id: gone.id,
        name: "Noor Adan Lund".to_owned(),
        ..chosen.clone()
    };
    store.save_person(&renamed).await.unwrap();
    assert_eq!(store.people().await.unwrap().len(), 1);
    assert_eq!(
        store.person(stays.id).await.unwrap().unwrap().name,
        "Noor Adan Lund"
    );
    store.save_contact(gone.id, &contact()).await.unwrap();
    assert_eq!(store.contact(stays.id).await.unwrap(), Some(contact()));
}

#[tokio::test]
async fn a_chain_of_merges_leads_to_the_last_and_goes_with_the_person() {
    let world = World::new().await;
    let (stays, gone) = two(&world).await;
    let last = person(3, "Noor A.");
    world.store.save_person(&last).await.unwrap();
    let store = &world.store;
    store
        .audit_people(
            Doer::default(),
            AuditKind::ContactOpened,
            [gone.id],
            "opened",
        )
        .await
        .unwrap();
    assert!(merge(&world, &stays, &gone, None).await);
    assert!(merge(&world, &last, &stays, None).await);
    let same = store.same().await.unwrap();
    for id in [stays.id, gone.id, last.id] {
        assert_eq!(store.remaining(id).await.unwrap(), last.id);
        assert_eq!(same.remaining(id), last.id);
        assert_eq!(same.all_of(id).count(), 3);
    }
    // The audit of the person has the lines of before, under the name of now.
    let asked = AuditAsked {
        person: Some(last.id),
        ..AuditAsked::default()
    };
    let lines = store.find_audits(&asked, 10).await.unwrap();
    let kinds: Vec<AuditKind> = lines.iter().map(|line| line.kind).collect();
    assert_eq!(
        kinds,
        [
            AuditKind::Merged,
            AuditKind::Merged,
            AuditKind::ContactOpened
        ]
    );
    assert!(
        lines
            .iter()
            .all(|line| line.person_name.as_deref() == Some("Noor A."))
    );
    let merged = AuditAsked {
        kind: Some(AuditKind::Merged),
        ..AuditAsked::default()
    };
    assert_eq!(store.find_audits(&merged, 10).await.unwrap().len(), 2);

    // Merged under any identity, erased under any.
    let entries = store.all_entries().await.unwrap();
    let erased = store
        .erase(gone.id, Doer::default(), "asked", entries)
        .await
        .unwrap();
    assert!(erased.is_some());
    for id in [stays.id, gone.id, last.id] {
        assert_eq!(store.person(id).await.unwrap(), None);
    }
    assert_eq!(
        store.same().await.unwrap().all_of(gone.id).count(),
        1,
        "nothing points any more"
    );
}

#[tokio::test]
async fn a_merge_that_was_decided_on_other_facts_changes_nothing() {
    let world = World::new().await;
    let (stays, gone) = two(&world).await;
    let store = &world.store;
    let entries = store.all_entries().await.unwrap();
    let log = incoming([opened(trip(1), device(1))]);
    store.append(trip(1), log).await.unwrap();
    let late = Merge {
        stays: stays.clone(),
        gone: gone.id,
        contact_of: None,
        entries,
    };
    assert!(!store.merge(&late, Doer::default()).await.unwrap());
    let nobody = person(9, "Nobody");
    assert!(!merge(&world, &stays, &nobody, None).await);
    assert!(!merge(&world, &nobody, &stays, None).await);
    assert!(!merge(&world, &stays, &stays, None).await);
    assert_eq!(store.people().await.unwrap().len(), 2);
    assert!(store.audits(10).await.unwrap().is_empty());
    // A contact that cannot be opened is not lost by a merge.
    store.save_contact(gone.id, &contact()).await.unwrap();
    let key = store.path().with_extension("key");
    let kept = std::fs::read(&key).unwrap();
    std::fs::remove_file(&key).unwrap();
    let lacking = Merge {
        contact_of: Some(gone.id),
        entries: store.all_entries().await.unwrap(),
        ..late
    };
    assert!(store.merge(&lacking, Doer::default()).await.is_err());
    std::fs::write(&key, kept).unwrap();
    assert_eq!(store.people().await.unwrap().len(), 2);
    assert_eq!(store.contact(gone.id).await.unwrap(), Some(contact()));
}

#[tokio::test]
async fn two_people_who_look_alike_are_kept_apart_by_a_word() {
    let world = World::new().await;
    let (stays, gone) = two(&world).await;
    let store = &world.store;
    for _ in 0..2 {
        assert!(
            store
                .keep_apart(gone.id, stays.id, Doer::default())
                .await
                .unwrap()
        );
    }
    assert_eq!(store.kept_apart().await.unwrap(), [(stays.id, gone.id)]);
    assert!(
        !store
            .keep_apart(stays.id, stays.id, Doer::default())
            .await
            .unwrap()
    );
    let nobody = person(9, "Nobody");
    assert!(
        !store
            .keep_apart(stays.id, nobody.id, Doer::default())
            .await
            .unwrap()
    );
}

/// A program from before these kinds reads their lines as being about the box.
#[tokio::test]
async fn an_older_program_reads_the_audit() {
    let world = World::new().await;
    let (stays, gone) = two(&world).await;
    assert!(merge(&world, &stays, &gone, None).await);
    world.store.close().await.unwrap();
    let mut raw = world.raw().await;
    let kinds: Vec<String> = sqlx::query_scalar("SELECT kind FROM audit")
        .fetch_all(&mut raw)
        .await
        .unwrap();
    assert_eq!(kinds, ["box"]);
    raw.close().await.unwrap();
}
