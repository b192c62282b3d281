//! Every statement in the store's sources is executed on a real file: a slip in SQL is found
//! by no compiler.

use std::collections::BTreeSet;
use std::path::Path;
use std::sync::{Mutex, OnceLock};

use deckwatch::sea::backdrop::{Pixel, Tie};
use deckwatch::sea::position::Position;
use deckwatch::store::clock::{ClockEvent, ClockNote, ClockSource};
use deckwatch::store::copy::restore;
use deckwatch::store::crew::{DeviceKind, Doer, Pin};
use deckwatch::store::register::{Item, Merge, Picture, PictureKind, Reaches};
use deckwatch::store::{Store, TripNote};
use deckwatch::trip::event::{Event, Role};
use deckwatch::trip::{CrewId, PersonId};
use syn::visit::Visit;
use tracing::field::{Field, Visit as Fields};
use tracing_subscriber::layer::{Context, Layer, SubscriberExt};

use crate::consents::{consent, decided};
use crate::crew::roles;
use crate::equipment::{card, thing};
use crate::register::{boat, contact, person, site};
use crate::world::{World, device, event, id, incoming, opened, trip};

/// Statements as the database driver reports them.
fn seen() -> &'static Mutex<BTreeSet<String>> {
    static SEEN: OnceLock<Mutex<BTreeSet<String>>> = OnceLock::new();
    SEEN.get_or_init(Mutex::default)
}

struct Listener;

impl<S: tracing::Subscriber> Layer<S> for Listener {
    fn on_event(&self, event: &tracing::Event<'_>, _: Context<'_, S>) {
        if event.metadata().target() == "sqlx::query" {
            event.record(&mut Statement);
        }
    }
}

struct Statement;

impl Fields for Statement {
    fn record_debug(&mut self, _: &Field, _: &dyn std::fmt::Debug) {}
    fn record_str(&mut self, field: &Field, value: &str) {
        if matches!(field.name(), "summary" | "db.statement") {
            seen().lock().unwrap().insert(squeezed(value));
        }
    }
}

fn squeezed(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The statements written in the sources under a folder.
struct Written(BTreeSet<String>);

impl Visit<'_> for Written {
    fn visit_lit_str(&mut self, literal: &syn::LitStr) {
        let text = literal.value();
        let first = text.split_whitespace().next().unwrap_or("");
        let verbs = ["SELECT", "INSERT", "UPDATE", "DELETE", "PRAGMA", "WITH"];
        if verbs.contains(&first) {
            self.0.insert(squeezed(&text));
        }
    }
}

fn read(folder: &Path, written: &mut Written) {
    for found in std::fs::read_dir(folder).unwrap() {
        let path = found.unwrap().path();
        if path.is_dir() {
            read(&path, written);
        } else {
            let text = std::fs::read_to_string(&path).unwrap();
            written.visit_file(&syn::parse_file(&text).unwrap());
        }
    }
}

#[tokio::test]
async fn every_statement_is_executed() {
    let listening = tracing_subscriber::registry().with(Listener);
    tracing::subscriber::set_global_default(listening).unwrap();
    walk().await;
    let mut written = Written(BTreeSet::new());
    read(Path::new("src/store"), &mut written);
    assert!(written.0.len() > 50, "{}", written.0.len());
    let seen = seen().lock().unwrap();
    let missed: Vec<_> = written
        .0
        .iter()
        .filter(|sql| !seen.contains(*sql))
        .collect();
    assert!(missed.is_empty(), "never executed: {missed:#?}");
}

/// The picture under a site, which goes with it.
async fn pictures(store: &Store) {
    let picture = Picture {
        kind: PictureKind::Png,
        width_px: 640,
        height_px: 480,
        bytes: vec![1, 2, 3],
    };
    store.save_backdrop(site().id, &picture).await.unwrap();
    let held = store.backdrop(site().id).await.unwrap().unwrap();
    assert_eq!((held.width_px, held.height_px), (640, 480));
    let bytes = store.backdrop_bytes(site().id, held.hash).await.unwrap();
    assert_eq!(bytes, Some((PictureKind::Png, vec![1, 2, 3])));
    let ties = [(0.0, 0.0), (100.0, 0.001)].map(|(px, off)| Tie {
        pixel: Pixel { x: px, y: px },
        position: Position::from_degrees(off, off).unwrap(),
    });
    assert!(store.place_backdrop(site().id, ties).await.unwrap());
    let placed = store.backdrop(site().id).await.unwrap().unwrap();
    assert_eq!(placed.ties, Some(ties));
    assert!(store.remove_backdrop(site().id).await.unwrap());
    store.save_backdrop(site().id, &picture).await.unwrap();
}

async fn reading(store: &Store) {
    store.entries(trip(1), 0).await.unwrap();
    store.vector_at(trip(1), 2).await.unwrap();
    store.chain_at(trip(1), 2).await.unwrap();
    store.clashes(trip(1)).await.unwrap();
    crate::refill::every_way(store).await;
}

/// Notes of the clock, read back as they were written.
async fn clock_notes(store: &Store) {
    let clock = store.clock();
    let started = ClockNote {
        event: ClockEvent::Start,
        at: clock.now(),
        wall: clock.wall(),
        boot: clock.boot_id(),
        uptime_ms: clock.uptime_ms(),
        source: ClockSource::LastEntry,
        uncertainty_ms: None,
        confirmed: false,
        who: None,
        device: None,
    };
    let tied = ClockNote {
        event: ClockEvent::Tie,
        source: ClockSource::Watch,
        uncertainty_ms: Some(2_000),
        confirmed: true,
        who: Some((
            CrewId::new(uuid::Uuid::from_u128(7)),
            "Ilka Voss".to_owned(),
        )),
        device: Some(device(1)),
        ..started.clone()
    };
    for note in [&started, &tied] {
        store.note_clock(note).await.unwrap();
    }
    let last = store.clock_note_of(clock.boot_id()).await.unwrap();
    assert_eq!(last.as_ref(), Some(&tied));
    assert_eq!(store.clock_notes(5).await.unwrap(), [tied, started]);
    let other = uuid::Uuid::from_u128(99);
    assert_eq!(store.clock_note_of(other).await.unwrap(), None);
}

/// The settings read back, a backup, and its way back into an empty folder and over what is
/// there.
async fn copies(world: &World) {
    world.store.durability().await.unwrap();
    let to = tempfile::tempdir().unwrap();
    let made = world.store.back_up(to.path(), 1).await.unwrap();
    let back = tempfile::tempdir().unwrap();
    for replace in [false, true] {
        let restored = restore(&made.path, back.path(), replace, &world.clock);
        restored.await.unwrap();
    }
}

/// What is listed and deleted by a rule, and a trip about which nothing is open.
async fn retention(store: &Store, someone: PersonId) {
    store.registered_since().await.unwrap();
    let due = Item::ALL.map(|item| (someone, item, store.clock().now()));
    store.list(&due).await.unwrap();
    assert_eq!(store.listed().await.unwrap().len(), 3);
    let entries = store.all_entries().await.unwrap();
    for item in [Item::Contact, Item::Fitness] {
        store
            .delete_listed(item, &[someone], "rule", entries)
            .await
            .unwrap();
    }
    let by = Doer::default();
    store
        .settle_incident(trip(1), 2, by, "closed")
        .await
        .unwrap();
    assert_eq!(store.settled_incidents().await.unwrap()[&trip(1)], 2);
}

/// Two entries told apart, then one of them merged into somebody.
async fn merged(store: &Store, someone: PersonId) {
    let by = Doer::default();
    let double = person(2, "Bo Reed");
    store.save_person(&double).await.unwrap();
    assert!(store.keep_apart(someone, double.id, by).await.unwrap());
    assert_eq!(store.kept_apart().await.unwrap().len(), 1);
    let merge = Merge {
        stays: person(1, "Bo Reed"),
        gone: double.id,
        contact_of: Some(double.id),
        entries: store.all_entries().await.unwrap(),
    };
    assert!(store.merge(&merge, by).await.unwrap());
    assert_eq!(store.merged_into(someone).await.unwrap().len(), 1);
    assert_eq!(store.remaining(double.id).await.unwrap(), someone);
    store.same().await.unwrap();
}

/// What a guardian said, withdrawn, and gone without.
async fn consents(store: &Store, someone: PersonId) {
    let by = Doer::default();
    let one = consent(1, someone, Reaches::Trip(trip(1)));
    assert!(store.add_consent(&one, by).await.unwrap());
    assert_eq!(store.consents().await.unwrap().len(), 1);
    assert!(store.withdraw_consent(someone, one.id, by).await.unwrap());
    assert!(store.override_consent(&decided(someone), by).await.unwrap());
    assert_eq!(store.consent_overrides(trip(1)).await.unwrap().len(), 1);
}

/// What the boat has aboard, and whom to call from her.
async fn aboard(store: &Store) {
    let (id, by) = (boat().sheet.id, Doer::default());
    let kit = thing(1, "Oxygen kit");
    let looked = ("2026-06-01".parse().unwrap(), "Berit Holm");
    let next = "2026-12-01".parse().unwrap();
    assert!(
        store
            .add_equipment(id, std::slice::from_ref(&kit))
            .await
            .unwrap()
    );
    let checked = store.check_equipment(id, kit.id, looked, next, by).await;
    assert!(checked.unwrap());
    assert_eq!(store.equipment(id).await.unwrap().len(), 1);
    assert!(store.remove_equipment(id, kit.id, by).await.unwrap());
    assert!(store.save_emergency_card(id, &card()).await.unwrap());
    assert!(store.emergency_card(id).await.unwrap().is_some());
}

async fn people(store: &Store) {
    let someone = person(1, "Bo Reed");
    store.save_person(&someone).await.unwrap();
    store.person(someone.id).await.unwrap();
    store.people().await.unwrap();
    store.find_people("bo", 5).await.unwrap();
    store.save_contact(someone.id, &contact()).await.unwrap();
    store.contact(someone.id).await.unwrap();
    store.has_contact(someone.id).await.unwrap();
    store.contacts_given().await.unwrap();
    store.contacts_since().await.unwrap();
    store.can_open_contacts().await.unwrap();
    store.remove_contact(someone.id).await.unwrap();
    assert_eq!(store.contact(someone.id).await.unwrap(), None);
    retention(store, someone.id).await;
    let rates = [crate::rates::rate(1, 1, 1, 18.0)];
    store.learn_rates(trip(1), &rates).await.unwrap();
    store.last_rates(&[someone.id], 5).await.unwrap();
    store.stated_rates(&[someone.id]).await.unwrap();
    merged(store, someone.id).await;
    consents(store, someone.id).await;
    crate::cylinders::all(store, someone.id).await;
    let entries = store.all_entries().await.unwrap();
    let by = Doer::default();
    let erased = store.erase(someone.id, by, "asked", entries).await.unwrap();
    assert_eq!(erased.unwrap().rates, 1);
}

async fn walk() {
    let mut world = World::new().await;
    let store = &world.store;
    clock_notes(store).await;

    let events = incoming([
        opened(trip(1), device(1)),
        event(trip(1), device(1), 2, "x"),
    ]);
    store.append(trip(1), events.clone()).await.unwrap();
    store.append(trip(1), events).await.unwrap();
    let clash = incoming([Event {
        id: id(1),
        ..event(trip(1), device(1), 2, "y")
    }]);
    assert!(store.append(trip(1), clash).await.is_err());
    store
        .append_from_form::<(), _>(trip(1), device(2), id(2), |place| {
            Ok(vec![Event {
                id: id(2),
                ..event(trip(1), device(2), place.next_seq, "form")
            }])
        })
        .await
        .unwrap();
    copies(&world).await;
    // More than the write-ahead log may grow to.
    for n in 1..=3 {
        let large = event(trip(2), device(1), n, &"x".repeat(1 << 20));
        store.append(trip(2), incoming([large])).await.unwrap();
    }
    reading(store).await;
    let row = store.trip(trip(1)).await.unwrap().unwrap();
    let note = TripNote {
        day: row.day.unwrap(),
        harbour: "Old Quay".to_owned(),
        boat: "Seelöwin".to_owned(),
        closed: true,
    };
    store.note_trip(trip(1), &note).await.unwrap();
    store.trips().await.unwrap();
    store.verify().await.unwrap();

    people(store).await;
    store.save_boat(&boat()).await.unwrap();
    store.boat(boat().sheet.id).await.unwrap();
    store.boats().await.unwrap();
    aboard(store).await;
    store.remove_boat(boat().sheet.id).await.unwrap();
    store.save_site(&site()).await.unwrap();
    store.site(site().id).await.unwrap();
    store.sites().await.unwrap();
    pictures(store).await;
    store.remove_site(site().id).await.unwrap();
    assert!(store.backdrop(site().id).await.unwrap().is_none());
    store.set_setting("centre", &"North Pier").await.unwrap();
    store.setting::<String>("centre").await.unwrap();

    let pin = Pin::new("835192").unwrap();
    let skipper = roles(&[Role::Skipper]);
    let crew = store.add_crew("Ilka Voss", &skipper, &pin).await.unwrap();
    let code = store.enrolment_code(Some(crew)).await.unwrap();
    assert!(
        store
            .enrol_device("no", "A", DeviceKind::Helm)
            .await
            .is_err()
    );
    let given = store
        .enrol_device(&code.digits, "A", DeviceKind::Helm)
        .await;
    let given = given.unwrap();
    store.device_by_secret(&given.secret).await.unwrap();
    store.devices().await.unwrap();
    let secret = store.sign_in(given.device, "Ilka Voss", "835192").await;
    let secret = secret.unwrap();
    world.clock.advance(jiff::SignedDuration::from_mins(2));
    store.session(&secret).await.unwrap();
    store.sign_out(&secret).await.unwrap();
    store.forgive("Ilka Voss", crew).await.unwrap();
    let proven = store.prove_again(given.device, crew, "835192").await;
    proven.unwrap();
    store.audits(10).await.unwrap();
    store.revoke_device(given.device, None).await.unwrap();
    store.set_allowed(crew, &skipper).await.unwrap();
    store.set_pin(crew, &pin).await.unwrap();
    store.set_passphrase(crew, None).await.unwrap();
    store.list_crew().await.unwrap();
    store.remove_crew(crew).await.unwrap();
    world
        .tamper(&["DELETE FROM entry WHERE trip = 2 AND entry = 3"])
        .await;
    assert_eq!(world.store.lost().await.unwrap().len(), 1);
    from_before().await;
}

/// People and contacts that a program before this one left.
async fn from_before() {
    let mut world = World::new().await;
    world
        .store
        .save_person(&person(1, "Bo Reed"))
        .await
        .unwrap();
    world.store.close().await.unwrap();
    let mut raw = world.raw().await;
    for statement in [
        "DELETE FROM registered",
        "INSERT INTO contact SELECT id, 'a', 'b', 'c' FROM person",
    ] {
        sqlx::query(statement).execute(&mut raw).await.unwrap();
    }
    sqlx::Connection::close(raw).await.unwrap();
    world.reopen_quietly().await;
    let since = world.store.registered_since().await.unwrap();
    assert_eq!(since.len(), 1);
    assert_eq!(world.store.contacts_given().await.unwrap().len(), 1);
}
