//! An application to test: a store in a folder of its own, a clock that stands, an invented
//! centre with a boat and a site, and three people at work.

use std::collections::BTreeSet;

use axum::Router;
use deckwatch::clock::Clock;
use deckwatch::store::Store;
use deckwatch::store::crew::{Allowed, DeviceKind, Pin};
use deckwatch::store::register::{Boat, Site};
use deckwatch::trip::event::{ApproachSide, Boarding, BoatSheet, By, DeviceId, Role};
use deckwatch::trip::{BoatId, SiteId};
use deckwatch::units::Distance;
use deckwatch::web::app::{App as Web, Reached};
use deckwatch::web::router::router;
use jiff::{SignedDuration, Timestamp};
use serde_json::{Value, json};
use tempfile::TempDir;
use tokio_util::sync::CancellationToken;
use uuid::Uuid;

use crate::client::Client;

/// The address that the application is reached by.
pub const ORIGIN: &str = "http://deckwatch.test";
/// Its https address, where there is one beside.
pub const HTTPS: &str = "https://boat.deckwatch.test";
/// Its host.
pub const HOST: &str = "deckwatch.test";

/// Somebody at work: who, and on which device.
#[derive(Debug, Clone)]
pub struct Seat {
    pub by: By,
    pub device: DeviceId,
    pub pin: String,
    pub cookie: String,
}

/// A running application.
pub struct App {
    pub folder: TempDir,
    pub clock: Clock,
    pub store: Store,
    pub web: Web,
    pub router: Router,
    pub closing: CancellationToken,
    /// Ilka Voss, skipper, on the helm's tablet.
    pub helm: Seat,
    /// Jonne Aalto, divemaster, on the deck's phone.
    pub deck: Seat,
    /// Berit Holm, desk and owner, on a computer ashore.
    pub desk: Seat,
}

/// The instant at which every test begins: 1 June 2026, noon at the boat.
pub fn noon() -> Timestamp {
    "2026-06-01T10:00:00Z".parse().unwrap()
}

impl App {
    pub async fn new() -> Self {
        Self::at_start(noon()).await
    }

    /// The same, beginning at an instant.
    pub async fn at_start(begins: Timestamp) -> Self {
        Self::made(tempfile::tempdir().unwrap(), begins).await
    }

    /// An application whose store lies in this folder.
    pub async fn within(folder: TempDir) -> Self {
        Self::made(folder, noon()).await
    }

    async fn made(folder: TempDir, begins: Timestamp) -> Self {
        let clock = Clock::fixed(begins);
        let store = Store::open(folder.path(), clock.clone()).await.unwrap();
        store.save_boat(&boat()).await.unwrap();
        store.save_site(&site()).await.unwrap();
        let (helm, deck, desk) = tokio::join!(
            seat(
                &store,
                "Ilka Voss",
                Role::Skipper,
                DeviceKind::Helm,
                "274913"
            ),
            seat(
                &store,
                "Jonne Aalto",
                Role::Divemaster,
                DeviceKind::Deck,
                "508261"
            ),
            owner(&store, "Berit Holm", DeviceKind::Desk, "961402"),
        );
        let closing = CancellationToken::new();
        let reached = Reached {
            origins: vec![ORIGIN.to_owned()],
            drill_speed: None,
            lets_devices_in: false,
        };
        let web = Web::new(store.clone(), reached, closing.clone());
        Self {
            router: router(web.clone()),
            folder,
            clock,
            store,
            web,
            closing,
            helm,
            deck,
            desk,
        }
    }

    /// The box after its power failed and came back so much later: another process on the files
    /// as they lay on the disk at that moment, with nothing closed.
    pub async fn after_power_cut(&self, later: SignedDuration) -> Self {
        let folder = tempfile::tempdir().unwrap();
        for file in std::fs::read_dir(self.folder.path()).unwrap() {
            let file = file.unwrap();
            let name = file.file_name().into_string().unwrap();
            // The index of the write-ahead log lives in memory and is lost; the lock is released.
            if ["deckwatch.db", "deckwatch.db-wal"].contains(&name.as_str()) {
                std::fs::copy(file.path(), folder.path().join(name)).unwrap();
            }
        }
        let clock = Clock::fixed(self.clock.now() + later);
        let store = Store::open(folder.path(), clock.clone()).await.unwrap();
        let closing = CancellationToken::new();
        let web = Web::new(store.clone(), self.web.reached().clone(), closing.clone());
        web.take_units().await.unwrap();
        Self {
            router: router(web.clone()),
            folder,
            clock,
            store,
            web,
            closing,
            helm: self.helm.clone(),
            deck: self.deck.clone(),
            desk: self.desk.clone(),
        }
    }

    /// The same box with an https address beside its plain one.
    pub fn beside_https(self) -> Self {
        let mut reached = self.web.reached().clone();
        reached.origins.push(HTTPS.to_owned());
        let web = Web::new(self.store.clone(), reached, self.closing.clone());
        Self {
            router: router(web.clone()),
            web,
            ..self
        }
    }

    /// The skipper at the helm.
    pub fn skipper(&self) -> Client {
        self.at(&self.helm)
    }

    /// The divemaster on deck.
    pub fn divemaster(&self) -> Client {
        self.at(&self.deck)
    }

    /// The desk.
    pub fn desk(&self) -> Client {
        self.at(&self.desk)
    }

    /// Somebody who is not signed in, on a device that was never let in.
    pub fn stranger(&self) -> Client {
        Client::new(self.router.clone(), self.web.clone(), String::new())
    }

    /// A device that was let in, with nobody signed in.
    pub async fn enrolled(&self) -> Client {
        let code = self.store.enrolment_code(None).await.unwrap();
        let device = self
            .store
            .enrol_device(&code.digits, "Spare phone", DeviceKind::Deck)
            .await
            .unwrap();
        let cookie = format!("deckwatch-device={}", device.secret.text());
        Client::new(self.router.clone(), self.web.clone(), cookie)
    }

    /// The client of a seat.
    pub fn at(&self, seat: &Seat) -> Client {
        Client::new(self.router.clone(), self.web.clone(), seat.cookie.clone())
    }

    /// Another crew member on a device of its own.
    pub async fn another(&self, name: &str, role: Role, kind: DeviceKind, pin: &str) -> Seat {
        seat(&self.store, name, role, kind, pin).await
    }

    /// The same at the desk, who answers for the whole box, too.
    pub async fn another_owner(&self, name: &str, kind: DeviceKind, pin: &str) -> Seat {
        owner(&self.store, name, kind, pin).await
    }

    /// A screen on the wall that only shows.
    pub async fn display(&self) -> Client {
        let (name, kind) = ("Wall in the shop", DeviceKind::Desk);
        let allowed = Allowed::display();
        let seat = seat_of(&self.store, name, Role::Desk, &allowed, kind, "519374").await;
        self.at(&seat)
    }

    /// Lets time pass.
    pub fn wait(&self, time: SignedDuration) {
        self.clock.advance(time);
    }
}

async fn seat(store: &Store, name: &str, role: Role, kind: DeviceKind, pin: &str) -> Seat {
    let roles = BTreeSet::from([role]);
    seat_of(store, name, role, &Allowed::from(&roles), kind, pin).await
}

/// Somebody at the desk who answers for the whole box, too.
async fn owner(store: &Store, name: &str, kind: DeviceKind, pin: &str) -> Seat {
    let allowed = Allowed {
        roles: BTreeSet::from([Role::Desk]),
        owner: true,
    };
    seat_of(store, name, Role::Desk, &allowed, kind, pin).await
}

/// `role`: the one events are said in.
async fn seat_of(
    store: &Store,
    name: &str,
    role: Role,
    allowed: &Allowed,
    kind: DeviceKind,
    pin: &str,
) -> Seat {
    let crew = store
        .add_crew(name, allowed.clone(), &Pin::new(pin).unwrap())
        .await
        .unwrap();
    let code = store.enrolment_code(None).await.unwrap();
    let device_name = format!("{kind:?} of {name}");
    let device = store
        .enrol_device(&code.digits, &device_name, kind)
        .await
        .unwrap();
    let session = store.sign_in(device.device, name, pin).await.unwrap();
    Seat {
        by: By {
            crew,
            name: name.to_owned(),
            role,
        },
        device: device.device,
        pin: pin.to_owned(),
        cookie: format!(
            "deckwatch-device={}; deckwatch-session={}",
            device.secret.text(),
            session.text()
        ),
    }
}

/// The centre's boat, invented.
pub fn boat() -> Boat {
    Boat {
        sheet: BoatSheet {
            id: BoatId::new(Uuid::from_u128(0xB0A7)),
            name: "Marrow Tern".to_owned(),
            call_sign: "XX1234".to_owned(),
            capacity: 24,
            speed_kn: 6.0,
            boarding_s_per_person: 120,
            approach_s: 120,
            boarding: Boarding::Ladder,
            approach_side: ApproachSide::DownWind,
            emergency_plan: vec![
                "Sound the recall".to_owned(),
                "Mark the datum".to_owned(),
                "Call on channel 16".to_owned(),
            ],
            recall_signal: None,
        },
        mmsi: None,
        radio: Some("VHF, channel 16".to_owned()),
    }
}

/// The centre's site, in an invented place: a reef to the north, a zone and a mooring south.
pub fn site() -> Site {
    Site {
        id: SiteId::new(Uuid::from_u128(0x517E)),
        name: "Anvil Rock".to_owned(),
        position: serde_json::from_value(json!([-30.0, 45.0])).unwrap(),
        chart: chart().to_string(),
        stand_off: Distance::from_m(50.0).unwrap(),
        time_zone: "Etc/GMT-2".to_owned(),
        notes: "Mooring buoy is orange".to_owned(),
        water: deckwatch::dive::pressure::Column::default(),
        tides: None,
    }
}

/// Its chart.
pub fn chart() -> Value {
    let area = |kind: &str, name: &str, ring: Value| {
        json!({"type": "Feature", "properties": {"kind": kind, "name": name},
               "geometry": {"type": "Polygon", "coordinates": [ring]}})
    };
    json!({"type": "FeatureCollection", "features": [
        area("keep-clear", "Anvil reef", json!([
            [-30.002, 45.003], [-29.998, 45.003], [-29.998, 45.005], [-30.002, 45.005],
            [-30.002, 45.003]])),
        area("pickup-zone", "South sand", json!([
            [-30.002, 44.997], [-29.998, 44.997], [-29.998, 44.999], [-30.002, 44.999],
            [-30.002, 44.997]])),
        {"type": "Feature", "properties": {"kind": "mooring", "name": "Anvil mooring"},
         "geometry": {"type": "Point", "coordinates": [-30.0, 45.0]}},
    ]})
}
