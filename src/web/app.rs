//! What every handler shares: the store, the live trips, the clock, and how this box is reached.

use std::sync::{Arc, OnceLock};

use axum::extract::FromRef;
use jiff::tz::TimeZone;
use tokio_util::sync::CancellationToken;

use super::authority::Authority;
use super::extract::Crew;
use super::live::Live;
use super::notices::Notices;
use super::presence::Presence;
use super::serving::Peers;
use super::transport::Transport;
use crate::clock::Clock;
use crate::instruments::Instruments;
use crate::store::register::key;
use crate::store::{Store, StoreError};
use crate::trip::decide::Voiding;
use crate::trip::event::Role;

/// How this box is reached and what it is for.
#[derive(Debug, Clone, PartialEq)]
pub struct Reached {
    /// Origins pages are reached by, exactly as browsers write them: `http://127.0.0.1:8080`.
    pub origins: Vec<String>,
    /// Everything here is a drill; its clock runs this many times as fast as life.
    pub drill_speed: Option<f64>,
    /// Any device is let in without a code: for a drill on this very machine, and nothing else.
    pub lets_devices_in: bool,
}

impl Reached {
    /// The first https origin: where basic mode sends people to.
    #[must_use]
    pub fn https(&self) -> Option<&str> {
        let mut origins = self.origins.iter().map(String::as_str);
        origins.find(|origin| origin.starts_with("https://"))
    }

    /// Whether this is one of the hosts of the listener that took the request, as the Host header
    /// writes it.
    #[must_use]
    pub fn is_our_host(&self, transport: Transport, host: &str) -> bool {
        self.origins
            .iter()
            .filter(|origin| transport.serves(origin))
            .filter_map(|origin| origin.split_once("://"))
            .any(|(_, ours)| ours.eq_ignore_ascii_case(host))
    }
}

/// Shared by all handlers; cheap to clone.
#[derive(Clone)]
pub struct App(Arc<Inner>);

struct Inner {
    store: Store,
    live: Live,
    reached: Reached,
    presence: Presence,
    instruments: Instruments,
    notices: Notices,
    peers: Peers,
    authority: OnceLock<Authority>,
    closing: CancellationToken,
}

impl App {
    /// An application on this store.
    #[must_use]
    pub fn new(store: Store, reached: Reached, closing: CancellationToken) -> Self {
        let live = Live::new(store.clone(), closing.clone());
        let instruments = Instruments::new(store.clock().clone());
        Self(Arc::new(Inner {
            store,
            live,
            reached,
            presence: Presence::default(),
            instruments,
            notices: Notices::default(),
            peers: Peers::default(),
            authority: OnceLock::new(),
            closing,
        }))
    }

    /// The store.
    #[must_use]
    pub fn store(&self) -> &Store {
        &self.0.store
    }

    /// The live trips.
    #[must_use]
    pub fn live(&self) -> &Live {
        &self.0.live
    }

    /// The instruments of the boat.
    #[must_use]
    pub fn instruments(&self) -> &Instruments {
        &self.0.instruments
    }

    /// What is wrong with the box itself.
    #[must_use]
    pub fn notices(&self) -> &Notices {
        &self.0.notices
    }

    /// The addresses connections come from.
    #[must_use]
    pub fn peers(&self) -> &Peers {
        &self.0.peers
    }

    /// The authority that devices can take in here, if there is one.
    #[must_use]
    pub fn authority(&self) -> Option<&Authority> {
        self.0.authority.get()
    }

    /// Offers an authority to devices; the first that is offered stays.
    pub fn offer(&self, authority: Authority) {
        self.0.authority.get_or_init(|| authority);
    }

    /// The clock.
    #[must_use]
    pub fn clock(&self) -> &Clock {
        self.0.store.clock()
    }

    /// How this box is reached.
    #[must_use]
    pub fn reached(&self) -> &Reached {
        &self.0.reached
    }

    /// A device with this crew member was heard of. Only those on board second one another.
    pub fn hear(&self, crew: &Crew) {
        if crew.is(Role::Skipper) || crew.is(Role::Divemaster) {
            let now = self.clock().now();
            self.0.presence.hear(crew.0.device, crew.0.crew, now);
        }
    }

    /// Who takes an entry back, and whether anybody else is in touch who could second it.
    #[must_use]
    pub fn voiding(&self, crew: &Crew) -> Voiding {
        let (device, who) = (crew.0.device, crew.0.crew);
        let (now, speed) = (
            self.clock().now(),
            self.reached().drill_speed.unwrap_or(1.0),
        );
        Voiding {
            role: crew.by().role,
            crew: who,
            device,
            alone: !self.0.presence.has_another(device, who, now, speed),
        }
    }

    /// The centre's time zone, for times outside any trip.
    ///
    /// # Errors
    /// If the store fails.
    pub async fn centre_zone(&self) -> Result<TimeZone, StoreError> {
        let name: Option<String> = self.0.store.setting(key::TIME_ZONE).await?;
        Ok(name
            .and_then(|name| TimeZone::get(&name).ok())
            .unwrap_or(TimeZone::UTC))
    }

    /// Ends when the server stops: open streams end with it.
    #[must_use]
    pub fn closing(&self) -> &CancellationToken {
        &self.0.closing
    }
}

impl FromRef<App> for Store {
    fn from_ref(app: &App) -> Self {
        app.store().clone()
    }
}
