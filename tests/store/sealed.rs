//! Contacts at rest: sealed, opened by the box's own key file alone, and nowhere in the file's
//! bytes, whatever lay there before.

use std::path::{Path, PathBuf};

use deckwatch::clock::Clock;
use deckwatch::store::copy::{put_key, restore};
use deckwatch::store::crew::{AuditAsked, AuditKind, Doer};
use deckwatch::store::register::{Contact, Item};
use deckwatch::store::{SealError, Store, StoreError};
use sqlx::Connection;

use crate::older::{older_program, raw};
use crate::register::{contact, person};
use crate::world::{World, device, event, incoming, noon, opened, trip};

/// Words of contacts that stand nowhere else.
const WORDS: [&str; 4] = ["Zuleika Thornquist", "godmother", "+00 900 7731", "Zuleika"];

fn secret() -> Contact {
    Contact {
        name: WORDS[0].to_owned(),
        relation: WORDS[1].to_owned(),
        telephone: WORDS[2].to_owned(),
    }
}

/// Files below a folder whose bytes hold any of these words.
fn holding(folder: &Path, words: &[&str]) -> Vec<(PathBuf, String)> {
    let mut found = Vec::new();
    for file in std::fs::read_dir(folder).unwrap() {
        let path = file.unwrap().path();
        if path.is_dir() {
            found.extend(holding(&path, words));
            continue;
        }
        let bytes = std::fs::read(&path).unwrap();
        for word in words {
            if bytes
                .windows(word.len())
                .any(|part| part == word.as_bytes())
            {
                found.push((path.clone(), (*word).to_owned()));
            }
        }
    }
    found
}

fn key_of(world: &World) -> PathBuf {
    world.store.path().with_extension("key")
}

#[tokio::test]
async fn what_lies_in_the_file_is_not_the_text() {
    let mut world = World::new().await;
    let one = person(1, "Bo Reed");
    world.store.save_person(&one).await.unwrap();
    assert!(!key_of(&world).exists(), "made when it is first needed");
    world.store.save_contact(one.id, &secret()).await.unwrap();
    assert!(
        !holding(world.folder.path(), &["Bo Reed"]).is_empty(),
        "the search finds what is there"
    );
    assert_eq!(holding(world.folder.path(), &WORDS), []);
    world.reopen().await;
    assert_eq!(holding(world.folder.path(), &WORDS), []);
    assert_eq!(world.store.contact(one.id).await.unwrap(), Some(secret()));
    assert!(world.store.has_contact(one.id).await.unwrap());
    assert!(
        world
            .store
            .contacts_given()
            .await
            .unwrap()
            .contains(&one.id)
    );
}

/// A file as the program before left it: contacts in the clear, one of them deleted and one
/// overwritten, so that they lie in free space too.
async fn plain_file() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let mut raw = raw(folder.path()).await;
    older_program(&mut raw, 14).await.unwrap();
    sqlx::query("PRAGMA journal_mode = WAL")
        .execute(&mut raw)
        .await
        .unwrap();
    for n in 1..=40_u128 {
        sqlx::query(
            "INSERT INTO person (id, name, folded, level, fitness) VALUES ($1, 'x', 'x', '', 'cleared')",
        )
        .bind(person(n, "x").id.to_string())
        .execute(&mut raw)
        .await
        .unwrap();
        sqlx::query("INSERT INTO contact VALUES ($1, $2, $3, $4)")
            .bind(person(n, "x").id.to_string())
            .bind(format!("{} {}", WORDS[0], "y".repeat(300)))
            .bind(WORDS[1])
            .bind(WORDS[2])
            .execute(&mut raw)
            .await
            .unwrap();
    }
    for statement in [
        "DELETE FROM contact WHERE rowid > 20",
        "UPDATE contact SET name = 'Ada Moor', relation = 'sister' WHERE rowid > 10",
    ] {
        sqlx::query(statement).execute(&mut raw).await.unwrap();
    }
    raw.close().await.unwrap();
    folder
}

#[tokio::test]
async fn the_first_start_after_the_upgrade_leaves_nothing_in_the_clear() {
    let folder = plain_file().await;
    assert!(
        !holding(folder.path(), &WORDS).is_empty(),
        "there was something to find"
    );
    let store = Store::open(folder.path(), Clock::fixed(noon()))
        .await
        .unwrap();
    let words = [&WORDS[..], &["Ada Moor", "sister"]].concat();
    // While it is open, so in the write-ahead log neither.
    assert_eq!(holding(folder.path(), &words), []);
    assert_eq!(store.contacts_given().await.unwrap().len(), 20);
    let kept = store.contact(person(1, "x").id).await.unwrap().unwrap();
    assert!(kept.name.starts_with(WORDS[0]));
    assert_eq!(
        (kept.relation.as_str(), kept.telephone.as_str()),
        (WORDS[1], WORDS[2])
    );
    let changed = store.contact(person(15, "x").id).await.unwrap().unwrap();
    assert_eq!(changed.relation, "sister");
    store.close().await.unwrap();
    assert_eq!(holding(folder.path(), &words), []);

    // An older program that has the file again writes in the clear; the next start mends that.
    let mut file = raw(folder.path()).await;
    sqlx::query("INSERT INTO contact VALUES ($1, $2, 'aunt', '1')")
        .bind(person(1, "x").id.to_string())
        .bind("Ottoline Farr")
        .execute(&mut file)
        .await
        .unwrap();
    file.close().await.unwrap();
    assert!(!holding(folder.path(), &["Ottoline"]).is_empty());
    let store = Store::open(folder.path(), Clock::fixed(noon()))
        .await
        .unwrap();
    assert_eq!(holding(folder.path(), &["Ottoline"]), []);
    let kept = store.contact(person(1, "x").id).await.unwrap().unwrap();
    assert_eq!(kept.name, "Ottoline Farr", "the later word counts");
}

#[tokio::test]
async fn a_contact_forgotten_replaced_or_erased_is_out_of_the_file() {
    let world = World::new().await;
    let store = &world.store;
    let mut blobs = Vec::new();
    for n in 1..=3 {
        let one = person(n, "x");
        store.save_person(&one).await.unwrap();
        store.save_contact(one.id, &secret()).await.unwrap();
        let mut file = world.raw().await;
        let key: Vec<u8> = sqlx::query_scalar("SELECT key FROM sealed_contact WHERE person = $1")
            .bind(one.id.to_string())
            .fetch_one(&mut file)
            .await
            .unwrap();
        file.close().await.unwrap();
        blobs.push(key);
    }
    store.remove_contact(person(1, "x").id).await.unwrap();
    store
        .save_contact(person(2, "x").id, &contact())
        .await
        .unwrap();
    let entries = store.all_entries().await.unwrap();
    let by = Doer::default();
    let erased = store
        .erase(person(3, "x").id, by, "asked", entries)
        .await
        .unwrap();
    assert!(erased.unwrap().contact);
    store.close().await.unwrap();
    let bytes = std::fs::read(store.path()).unwrap();
    for key in blobs {
        assert!(
            !bytes.windows(key.len()).any(|part| part == key),
            "the key is gone"
        );
    }
}

#[tokio::test]
async fn a_changed_byte_and_somebody_elses_blob_do_not_open() {
    let mut world = World::new().await;
    for n in 1..=2 {
        let one = person(n, "x");
        world.store.save_person(&one).await.unwrap();
        world.store.save_contact(one.id, &contact()).await.unwrap();
    }
    let (one, other) = (person(1, "x").id, person(2, "x").id);
    for (statement, still) in [
        (
            "UPDATE sealed_contact SET sealed = was.sealed FROM was \
             WHERE was.person <> sealed_contact.person",
            false,
        ),
        (
            "UPDATE sealed_contact SET key = was.key, sealed = was.sealed FROM was \
             WHERE was.person <> sealed_contact.person",
            false,
        ),
        (
            "UPDATE sealed_contact SET sealed = \
             CAST(substr(sealed, 1, length(sealed) - 1) || x'00' AS BLOB)",
            false,
        ),
        (
            "UPDATE sealed_contact SET key = CAST(x'02' || substr(key, 2) AS BLOB)",
            false,
        ),
        ("UPDATE sealed_contact SET given_at = 5", true),
    ] {
        world.store.close().await.unwrap();
        let before = std::fs::read(world.store.path()).unwrap();
        let mut file = world.raw().await;
        // As it was, so that each row gets what the other had.
        sqlx::query("CREATE TEMP TABLE was AS SELECT * FROM sealed_contact")
            .execute(&mut file)
            .await
            .unwrap();
        let done = sqlx::query(statement).execute(&mut file).await.unwrap();
        assert_eq!(done.rows_affected(), 2, "{statement}");
        file.close().await.unwrap();
        world.reopen_quietly().await;
        for id in [one, other] {
            let read = world.store.contact(id).await;
            if still {
                assert_eq!(read.unwrap(), Some(contact()));
            } else {
                assert!(
                    matches!(read, Err(StoreError::Sealed(SealError::Damaged { .. }))),
                    "{statement}: {read:?}"
                );
                assert!(
                    world.store.has_contact(id).await.unwrap(),
                    "it is still told as given"
                );
            }
        }
        world.store.close().await.unwrap();
        std::fs::write(world.store.path(), before).unwrap();
        world.reopen_quietly().await;
    }
}

#[tokio::test]
async fn without_the_key_file_or_with_another_nothing_opens_and_all_else_goes_on() {
    let mut world = World::new().await;
    let one = person(1, "Bo Reed");
    world.store.save_person(&one).await.unwrap();
    world.store.save_contact(one.id, &contact()).await.unwrap();
    let key = key_of(&world);
    let kept = std::fs::read(&key).unwrap();
    std::fs::remove_file(&key).unwrap();
    world.reopen().await;
    let store = &world.store;
    let missing = store.contact(one.id).await.unwrap_err();
    assert!(
        matches!(missing, StoreError::Sealed(SealError::NoKey { .. })),
        "{missing}"
    );
    assert!(missing.is_permanent());
    let refused = store.save_contact(one.id, &secret()).await.unwrap_err();
    assert!(
        matches!(refused, StoreError::Sealed(SealError::NoKey { .. })),
        "{refused}"
    );
    assert!(
        !key.exists(),
        "no new key hides that the old one is missing"
    );
    assert!(store.can_open_contacts().await.is_err());
    assert!(store.has_contact(one.id).await.unwrap());
    store.check().expect("the store goes on");
    store.save_person(&one).await.unwrap();

    let other = World::new().await;
    other.store.save_person(&one).await.unwrap();
    other.store.save_contact(one.id, &secret()).await.unwrap();
    std::fs::copy(key_of(&other), &key).unwrap();
    let wrong = store.contact(one.id).await.unwrap_err();
    assert!(
        matches!(wrong, StoreError::Sealed(SealError::OtherKey { .. })),
        "{wrong}"
    );
    assert!(store.can_open_contacts().await.is_err());

    std::fs::write(&key, kept).unwrap();
    assert_eq!(
        store.contact(one.id).await.unwrap(),
        Some(contact()),
        "without a restart"
    );
    store.can_open_contacts().await.unwrap();
}

#[tokio::test]
async fn a_file_whose_key_is_lost_keeps_what_an_older_program_wrote_readable() {
    let mut world = World::new().await;
    for n in 1..=2 {
        world.store.save_person(&person(n, "x")).await.unwrap();
    }
    world
        .store
        .save_contact(person(1, "x").id, &contact())
        .await
        .unwrap();
    std::fs::remove_file(key_of(&world)).unwrap();
    world.store.close().await.unwrap();
    let mut file = world.raw().await;
    sqlx::query("INSERT INTO contact VALUES ($1, 'Ottoline Farr', 'aunt', '1')")
        .bind(person(2, "x").id.to_string())
        .execute(&mut file)
        .await
        .unwrap();
    file.close().await.unwrap();
    world.reopen_quietly().await;
    let read = world.store.contact(person(2, "x").id).await.unwrap();
    assert_eq!(read.unwrap().name, "Ottoline Farr");
    let events = incoming([
        opened(trip(1), device(1)),
        event(trip(1), device(1), 2, "a"),
    ]);
    world.store.append(trip(1), events).await.unwrap();
}

#[tokio::test]
async fn a_backup_has_no_key_unless_asked_and_a_restore_says_what_it_needs() {
    let world = World::new().await;
    let one = person(1, "Bo Reed");
    world.store.save_person(&one).await.unwrap();
    world.store.save_contact(one.id, &secret()).await.unwrap();
    let to = tempfile::tempdir().unwrap();
    let made = world.store.back_up(to.path(), 1).await.unwrap();
    assert_eq!(holding(to.path(), &WORDS), []);
    let names = || {
        let mut names: Vec<String> = std::fs::read_dir(to.path())
            .unwrap()
            .map(|found| found.unwrap().path())
            .filter(|path| path.extension().is_some_and(|end| end == "key"))
            .map(|path| path.display().to_string())
            .collect();
        names.sort();
        names
    };
    assert_eq!(names(), Vec::<String>::new());

    let place = tempfile::tempdir().unwrap();
    let restored = restore(&made.path, place.path(), false, &world.clock)
        .await
        .unwrap();
    assert!(!restored.path.with_extension("key").exists());
    let store = Store::open(place.path(), world.clock.clone())
        .await
        .unwrap();
    let missing = store.contact(one.id).await;
    assert!(
        matches!(missing, Err(StoreError::Sealed(SealError::NoKey { .. }))),
        "{missing:?}"
    );

    let key = world.store.put_key_beside(&made.path).await.unwrap();
    assert_eq!(names().len(), 1);
    let busy = put_key(&key, place.path(), &world.clock).await;
    assert!(matches!(busy, Err(StoreError::InUse { .. })), "{busy:?}");
    store.close().await.unwrap();
    assert_eq!(
        put_key(&key, place.path(), &world.clock).await.unwrap(),
        None
    );
    let store = Store::open(place.path(), world.clock.clone())
        .await
        .unwrap();
    assert_eq!(store.contact(one.id).await.unwrap(), Some(secret()));

    // The key of a backup goes with it.
    world.clock.advance(jiff::SignedDuration::from_mins(1));
    world.store.back_up(to.path(), 1).await.unwrap();
    assert_eq!(names(), Vec::<String>::new());
}

/// Proving a copy of an older file seals nothing: the key would lie beside the copy, and be gone.
#[tokio::test]
async fn an_older_backup_is_sealed_where_it_is_restored_to() {
    let folder = plain_file().await;
    let to = tempfile::tempdir().unwrap();
    let store = Store::open(folder.path(), Clock::fixed(noon()))
        .await
        .unwrap();
    let made = store.back_up(to.path(), 1).await.unwrap();
    store.close().await.unwrap();
    // As an older program would have made it: the contact in the clear.
    let mut file = sqlx::SqliteConnection::connect(&format!("sqlite:{}", made.path.display()))
        .await
        .unwrap();
    for statement in [
        "DELETE FROM sealed_contact",
        "DELETE FROM setting WHERE key = 'contacts-sealed'",
        "INSERT INTO contact SELECT id, 'Zuleika Thornquist', 'godmother', '1' FROM person LIMIT 3",
    ] {
        sqlx::query(statement).execute(&mut file).await.unwrap();
    }
    file.close().await.unwrap();
    let place = tempfile::tempdir().unwrap();
    restore(&made.path, place.path(), false, &Clock::fixed(noon()))
        .await
        .unwrap();
    let store = Store::open(place.path(), Clock::fixed(noon()))
        .await
        .unwrap();
    assert_eq!(holding(place.path(), &WORDS), []);
    let given = store.contacts_given().await.unwrap();
    assert_eq!(given.len(), 3);
    for id in given {
        assert_eq!(store.contact(id).await.unwrap().unwrap().name, WORDS[0]);
    }
}

#[tokio::test]
async fn lines_of_the_audit_are_found_by_kind_person_and_time() {
    let world = World::new().await;
    let store = &world.store;
    let (one, other) = (person(1, "Bo Reed"), person(2, "Ada Moor"));
    store.save_person(&one).await.unwrap();
    let by = Doer {
        who: None,
        device: Some(device(1)),
    };
    let kind = AuditKind::ContactOpened;
    store
        .audit_people(by, kind, [one.id, other.id], "why\n' OR 1=1 --")
        .await
        .unwrap();
    store.audit(None, None, "signed in").await.unwrap();
    world.clock.advance(jiff::SignedDuration::from_hours(1));
    store
        .audit_of(by, AuditKind::Retention, "rule")
        .await
        .unwrap();
    let find = async |asked: AuditAsked| store.find_audits(&asked, 9).await.unwrap();
    let all = find(AuditAsked::default()).await;
    assert_eq!(all.len(), 4);
    assert_eq!(all[0].kind, AuditKind::Retention);
    assert_eq!(all[1].kind, AuditKind::SignIn);
    let opened = find(AuditAsked {
        kind: Some(kind),
        ..AuditAsked::default()
    })
    .await;
    assert_eq!(opened.len(), 2);
    assert_eq!(opened[0].what, "why\n' OR 1=1 --", "kept as it was said");
    let about = find(AuditAsked {
        person: Some(one.id),
        ..AuditAsked::default()
    })
    .await;
    assert_eq!(about.len(), 1);
    assert_eq!(about[0].person_name.as_deref(), Some("Bo Reed"));
    assert_eq!(
        opened
            .iter()
            .find(|l| l.person == Some(other.id))
            .unwrap()
            .person_name,
        None
    );
    let late = find(AuditAsked {
        from: Some(world.clock.now()),
        ..AuditAsked::default()
    })
    .await;
    assert_eq!(late.len(), 1);
    let early = find(AuditAsked {
        until: Some(world.clock.now()),
        ..AuditAsked::default()
    })
    .await;
    assert_eq!(early.len(), 3);
    let older = find(AuditAsked {
        before: Some(all[1].id),
        ..AuditAsked::default()
    })
    .await;
    assert_eq!(older, all[2..]);
}

/// What stood in the audit before it had kinds gets them from its words.
#[tokio::test]
async fn an_older_audit_is_sorted_by_its_words() {
    let folder = tempfile::tempdir().unwrap();
    let mut file = raw(folder.path()).await;
    older_program(&mut file, 14).await.unwrap();
    let id = person(1, "x").id;
    let opened = format!("opened the contact of {id}");
    let lines = [
        (opened.as_str(), AuditKind::ContactOpened),
        (
            "emergency contacts opened: trip 1, persons 2, reason: x",
            AuditKind::ContactOpened,
        ),
        ("refused to sign in \"x\"", AuditKind::Refused),
        ("signed out", AuditKind::SignIn),
        ("refused an enrolment code", AuditKind::Refused),
        ("made an enrolment code", AuditKind::Device),
        ("revoked", AuditKind::Device),
        ("gave 1 a new PIN", AuditKind::Account),
        ("something else", AuditKind::Box),
    ];
    for (what, _) in lines {
        sqlx::query("INSERT INTO audit (at, what) VALUES (1, $1)")
            .bind(what)
            .execute(&mut file)
            .await
            .unwrap();
    }
    file.close().await.unwrap();
    let store = Store::open(folder.path(), Clock::fixed(noon()))
        .await
        .unwrap();
    let mut read = store.audits(20).await.unwrap();
    read.reverse();
    let kinds: Vec<_> = read
        .iter()
        .map(|line| (line.what.as_str(), line.kind))
        .collect();
    assert_eq!(kinds, lines);
    assert_eq!(read[0].person, Some(id));
}

#[tokio::test]
async fn a_list_keeps_since_when_it_tells_and_tells_anew_what_ends_earlier() {
    let world = World::new().await;
    let store = &world.store;
    let one = person(1, "x");
    store.save_person(&one).await.unwrap();
    let day = jiff::SignedDuration::from_hours(24);
    let due = |days: i32| vec![(one.id, Item::Contact, noon() + day * days)];
    store.list(&due(5)).await.unwrap();
    world.clock.advance(day);
    store.list(&due(5)).await.unwrap();
    store.list(&due(6)).await.unwrap();
    let held = store.listed().await.unwrap();
    assert_eq!(
        (held[0].listed_at, held[0].due_at),
        (noon(), noon() + day * 6)
    );
    store.list(&due(2)).await.unwrap();
    assert_eq!(store.listed().await.unwrap()[0].listed_at, noon() + day);
    store.list(&[]).await.unwrap();
    assert!(store.listed().await.unwrap().is_empty());
}

#[tokio::test]
async fn nothing_is_deleted_on_the_word_of_logs_that_have_grown_since() {
    let world = World::new().await;
    let store = &world.store;
    let one = person(1, "x");
    store.save_person(&one).await.unwrap();
    store.save_contact(one.id, &contact()).await.unwrap();
    let entries = store.all_entries().await.unwrap();
    store
        .append(trip(1), incoming([opened(trip(1), device(1))]))
        .await
        .unwrap();
    let of = [one.id];
    let stale = store
        .delete_listed(Item::Contact, &of, "rule", entries)
        .await
        .unwrap();
    assert_eq!(stale, None);
    assert_eq!(
        store
            .erase(one.id, Doer::default(), "asked", entries)
            .await
            .unwrap(),
        None
    );
    assert!(store.has_contact(one.id).await.unwrap());
    let entries = store.all_entries().await.unwrap();
    let done = store
        .delete_listed(Item::Contact, &of, "rule", entries)
        .await
        .unwrap();
    assert_eq!(done, Some(1));
    assert!(!store.has_contact(one.id).await.unwrap());
    let line = &store.audits(1).await.unwrap()[0];
    assert_eq!(line.kind, AuditKind::Retention);
    assert!(
        line.what.contains("contact of 1 people: rule"),
        "{}",
        line.what
    );
    assert!(!line.what.contains(&one.id.to_string()) && line.person.is_none());
}
