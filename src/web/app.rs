//! What every handler shares: the store, the live trips, the clock, and how this box is reached.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};

use axum::extract::FromRef;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use tokio::sync::watch;
use tokio_util::sync::CancellationToken;

use super::authority::Authority;
use super::duties::{Trial, Turn};
use super::extract::Crew;
use super::live::Live;
use super::notices::Notices;
use super::presence::Presence;
use super::retention::Kept;
use super::serving::Peers;
use super::transport::Transport;
use crate::clock::Clock;
use crate::instruments::Instruments;
use crate::sounder::Sounder;
use crate::store::register::key;
use crate::store::{Store, StoreError};
use crate::trip::decide::Voiding;
use crate::trip::event::Role;
use crate::units::system::System;

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

    /// The bare address that works without certificate and scripts: plain, and not this machine's
    /// name for itself.
    #[must_use]
    pub fn basic_url(&self) -> Option<&str> {
        let bare = |origin: &&String| {
            origin.starts_with("http://")
                && !origin.contains("//127.")
                && !origin.contains("//localhost")
        };
        self.origins.iter().find(bare).map(String::as_str)
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
    attendance: Kept,
    authority: OnceLock<Authority>,
    /// When the certificate of the https address ends.
    certificate_ends: Mutex<Option<Timestamp>>,
    closing: CancellationToken,
    started_ms: u64,
    on_duty: AtomicBool,
    keeps_awake: AtomicBool,
    sounder: OnceLock<Sounder>,
    watchdog: OnceLock<Watchdog>,
    trial: Mutex<Option<Trial>>,
    turns: watch::Sender<Turn>,
    /// The centre's units.
    units: Mutex<System>,
}

/// Told at every turn of the deadline loop, and by nothing else: a loop that hangs feeds nobody.
pub type Watchdog = Box<dyn Fn() + Send + Sync>;

impl App {
    /// An application on this store, on a runtime: its deadlines run from here on.
    #[must_use]
    pub fn new(store: Store, reached: Reached, closing: CancellationToken) -> Self {
        let live = Live::new(store.clone(), closing.clone());
        let instruments = Instruments::new(store.clock().clone());
        let started_ms = store.clock().uptime_ms();
        let app = Self(Arc::new(Inner {
            store,
            live,
            reached,
            presence: Presence::default(),
            instruments,
            notices: Notices::default(),
            peers: Peers::default(),
            attendance: Kept::default(),
            authority: OnceLock::new(),
            certificate_ends: Mutex::default(),
            closing,
            started_ms,
            on_duty: AtomicBool::new(false),
            keeps_awake: AtomicBool::new(false),
            sounder: OnceLock::new(),
            watchdog: OnceLock::new(),
            trial: Mutex::default(),
            turns: watch::channel(Turn::default()).0,
            units: Mutex::default(),
        }));
        tokio::spawn(super::duties::deadlines(app.clone()));
        app
    }

    /// From here on the box also watches over who watches, as on a boat.
    pub fn go_on_duty(&self) {
        if !self.0.on_duty.swap(true, Ordering::Relaxed) {
            tokio::spawn(super::duties::follow(self.clone()));
        }
    }

    /// Whether it does.
    #[must_use]
    pub fn on_duty(&self) -> bool {
        self.0.on_duty.load(Ordering::Relaxed)
    }

    /// The machine is to be kept awake while people are out.
    pub fn keep_awake(&self) {
        self.0.keeps_awake.store(true, Ordering::Relaxed);
    }

    /// Whether it is.
    #[must_use]
    pub fn keeps_awake(&self) -> bool {
        self.0.keeps_awake.load(Ordering::Relaxed)
    }

    /// Connects the sounder; the first that is connected stays.
    pub fn connect_sounder(&self, sounder: Sounder) {
        if self.0.sounder.set(sounder).is_err() {
            tracing::error!("there is a sounder already");
        }
    }

    /// The sounder of this box; one without outputs where none was connected.
    #[must_use]
    pub fn sounder(&self) -> &Sounder {
        self.0
            .sounder
            .get_or_init(|| Sounder::new(self.clock().clone(), Vec::new()))
    }

    /// Connects what the deadline loop feeds.
    pub fn connect_watchdog(&self, watchdog: Watchdog) {
        if self.0.watchdog.set(watchdog).is_err() {
            tracing::error!("there is a watchdog already");
        }
    }

    /// Each turn of the deadline loop: what a second process is to hold.
    #[must_use]
    pub fn turns(&self) -> watch::Receiver<Turn> {
        self.0.turns.subscribe()
    }

    pub(in crate::web) fn turned(&self, turn: Turn) {
        self.0.turns.send_replace(turn);
    }

    /// Feeds it.
    pub(in crate::web) fn feed_watchdog(&self) {
        if let Some(feed) = self.0.watchdog.get() {
            feed();
        }
    }

    /// The last trial of the sounder that somebody heard.
    #[must_use]
    pub fn trial(&self) -> Option<Trial> {
        let held = self.0.trial.lock();
        held.unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Takes note of a trial.
    pub fn set_trial(&self, trial: Option<Trial>) {
        let held = self.0.trial.lock();
        *held.unwrap_or_else(PoisonError::into_inner) = trial;
    }

    /// Who watches.
    #[must_use]
    pub fn presence(&self) -> &Presence {
        &self.0.presence
    }

    /// The box's uptime when this started, milliseconds.
    #[must_use]
    pub fn started_ms(&self) -> u64 {
        self.0.started_ms
    }

    /// How fast the box's clock runs: 1, or more in a drill.
    #[must_use]
    pub fn speed(&self) -> f64 {
        self.reached().drill_speed.unwrap_or(1.0)
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

    /// Who was on which trip, as far as retention read it.
    #[must_use]
    pub fn attendance(&self) -> &Kept {
        &self.0.attendance
    }

    /// When the certificate under way ends; none without one.
    #[must_use]
    pub fn certificate_ends(&self) -> Option<Timestamp> {
        *self.ends_held()
    }

    /// Another certificate is under way, or none.
    pub fn hold_certificate_end(&self, ends: Option<Timestamp>) {
        *self.ends_held() = ends;
    }

    /// An instant is whole, whoever panicked while holding it.
    fn ends_held(&self) -> MutexGuard<'_, Option<Timestamp>> {
        self.0
            .certificate_ends
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
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

    /// The units that pages tell and forms are typed in.
    #[must_use]
    pub fn units(&self) -> System {
        *self.units_held()
    }

    /// Takes the units that were set; before that, and where nobody chose, they are metric. To be
    /// called at the start: no page waits for the store to know its units.
    ///
    /// # Errors
    /// If the store fails.
    pub async fn take_units(&self) -> Result<(), StoreError> {
        let set: Option<System> = self.0.store.setting(key::UNITS).await?;
        *self.units_held() = set.unwrap_or_default();
        Ok(())
    }

    /// Sets the units of the centre.
    ///
    /// # Errors
    /// If the store fails; then they stay as they were.
    pub async fn set_units(&self, units: System) -> Result<(), StoreError> {
        self.0.store.set_setting(key::UNITS, &units).await?;
        *self.units_held() = units;
        Ok(())
    }

    /// A word is whole, whoever panicked while holding it.
    fn units_held(&self) -> MutexGuard<'_, System> {
        self.0.units.lock().unwrap_or_else(PoisonError::into_inner)
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
