//! A store in a folder of its own, an invented trip, and its events.

use std::collections::BTreeMap;

use deckwatch::clock::Clock;
use deckwatch::dive::window::WindowSettings;
use deckwatch::store::{Incoming, Store};
use deckwatch::trip::event::{
    About, ApproachSide, Boarding, BoatSheet, By, Event, Fact, Knows, Role, TripOpened, Unread,
};
use deckwatch::trip::{BoatId, CrewId, DeviceId, EventId, TripId};
use jiff::Timestamp;
use serde_json::json;
use sqlx::{ConnectOptions, Connection, SqliteConnection};
use tempfile::TempDir;
use uuid::Uuid;

pub fn noon() -> Timestamp {
    "2026-06-01T12:00:00Z".parse().unwrap()
}

pub fn trip(n: u128) -> TripId {
    TripId::new(Uuid::from_u128((1 << 100) + n))
}

pub fn device(n: u128) -> DeviceId {
    DeviceId::new(Uuid::from_u128((2 << 100) + n))
}

pub fn id(n: u128) -> EventId {
    EventId::new(Uuid::from_u128((3 << 100) + n))
}

pub struct World {
    pub folder: TempDir,
    pub clock: Clock,
    pub store: Store,
}

impl World {
    pub async fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let clock = Clock::fixed(noon());
        let store = Store::open(folder.path(), clock.clone()).await.unwrap();
        Self {
            folder,
            clock,
            store,
        }
    }

    /// Closes the store and opens it again.
    pub async fn reopen(&mut self) {
        self.store.close().await.unwrap();
        self.store = Store::open(self.folder.path(), self.clock.clone())
            .await
            .unwrap();
    }

    /// Opens the store anew, which is closed already.
    pub async fn reopen_quietly(&mut self) {
        self.store = Store::open(self.folder.path(), self.clock.clone())
            .await
            .unwrap();
    }

    /// Closes the store, does `statements` to the file, which guards its log no more, and opens
    /// the store again.
    pub async fn tamper(&mut self, statements: &[&'static str]) {
        self.store.close().await.unwrap();
        let mut raw = self.raw().await;
        unguard(&mut raw).await;
        for statement in statements {
            let done = sqlx::query(*statement).execute(&mut raw).await.unwrap();
            assert!(done.rows_affected() >= 1, "{statement}");
        }
        raw.close().await.unwrap();
        self.store = Store::open(self.folder.path(), self.clock.clone())
            .await
            .unwrap();
    }

    /// The file itself, behind the store's back; only when that is closed.
    pub async fn raw(&self) -> SqliteConnection {
        sqlx::sqlite::SqliteConnectOptions::new()
            .filename(self.store.path())
            .connect()
            .await
            .unwrap()
    }
}

/// Takes away what keeps the log from being changed.
pub async fn unguard(raw: &mut SqliteConnection) {
    for guard in [
        "DROP TRIGGER entry_is_not_changed",
        "DROP TRIGGER entry_is_not_removed",
        "DROP TRIGGER number_is_not_changed",
        "DROP TRIGGER number_is_not_removed",
    ] {
        sqlx::query(guard).execute(&mut *raw).await.unwrap();
    }
}

/// An event of a kind that nothing here knows, with `text` in it.
pub fn event(trip: TripId, device: DeviceId, device_seq: u64, text: &str) -> Event {
    let unique = (trip.uuid().as_u128() & 0xffff) << 48
        | (device.uuid().as_u128() & 0xffff) << 32
        | u128::from(device_seq);
    Event {
        id: id(unique),
        trip,
        about: About::nobody(),
        device,
        device_seq,
        knows: Knows(BTreeMap::new()),
        by: By {
            crew: CrewId::new(Uuid::from_u128(4 << 100)),
            name: "Ilka Voss".to_owned(),
            role: Role::Skipper,
        },
        at: noon(),
        app: "0.1.0".to_owned(),
        corrects: None,
        fact: Fact::Unread(Unread {
            kind: "mark".to_owned(),
            version: 1,
            payload: json!({ "text": text }),
        }),
    }
}

pub fn opened(trip: TripId, device: DeviceId) -> Event {
    Event {
        fact: Fact::TripOpened(TripOpened {
            day: "2026-06-01".parse().unwrap(),
            harbour: "Old Quay".to_owned(),
            time_zone: "Etc/GMT-2".to_owned(),
            boat: sheet(),
            skipper: "Ilka Voss".to_owned(),
            skipper_account: CrewId::new(Uuid::from_u128(4 << 100)),
            windows: WindowSettings::default(),
            plans: deckwatch::dive::settings::PlanSettings::default(),
            drill: false,
        }),
        ..event(trip, device, 1, "")
    }
}

pub fn sheet() -> BoatSheet {
    BoatSheet {
        id: BoatId::new(Uuid::from_u128(5 << 100)),
        name: "Seelöwin".to_owned(),
        call_sign: "XX1234".to_owned(),
        capacity: 24,
        speed_kn: 6.0,
        boarding_s_per_person: 120,
        approach_s: 120,
        boarding: Boarding::Lift,
        approach_side: ApproachSide::DownWind,
        emergency_plan: vec!["Sound the recall".to_owned(), "Call on 16".to_owned()],
        recall_signal: Some("Three revs".to_owned()),
    }
}

pub fn incoming(events: impl IntoIterator<Item = Event>) -> Vec<Incoming> {
    events.into_iter().map(Incoming::from).collect()
}
