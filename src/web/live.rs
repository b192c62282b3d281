//! Live trips: the state of each trip as of its last entry, and what changes of its picture, to
//! be pushed to every device that watches.

use std::collections::{BTreeSet, HashMap};
use std::sync::Arc;
use std::time::Duration;

use jiff::{SignedDuration, Timestamp};
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use tokio::sync::{Mutex, broadcast, watch};
use tokio::task::JoinError;
use tokio_util::sync::CancellationToken;

use super::record::Source;
use crate::store::{Head, Store, StoreError, TripNote};
use crate::trip::TripId;
use crate::trip::after::{Rate, surface_rates};
use crate::trip::event::Entry;
use crate::trip::forecast::{Order, pickup_order};
use crate::trip::ground::Grounds;
use crate::trip::likely::{Likely, likely};
use crate::trip::picture::{patch, picture};
use crate::trip::state::{Group, RestsOn, State, fold_on, fold_whole};
use crate::trip::watch::{Watch, watch as watch_of};

/// The pickup order is reckoned anew this often while people are out, as time alone moves it.
const RECKON_ANEW: SignedDuration = SignedDuration::from_secs(30);
/// Pause before the log is read again after that failed.
const TRY_AGAIN: Duration = Duration::from_secs(1);
/// Patches kept for devices that were away for a moment.
const KEPT_PATCHES: usize = 64;

/// A trip at one instant.
#[derive(Debug)]
pub struct Snapshot {
    /// The trip.
    pub trip: TripId,
    /// Its log.
    pub entries: Vec<Entry>,
    /// Where the log ends.
    pub head: Head,
    /// What it folds to.
    pub state: State,
    /// What of the log that rests on.
    rests_on: RestsOn,
    /// The ground of each dive.
    pub grounds: Grounds,
    /// The pickup order when it was last reckoned.
    pub order: Order,
    /// When this was made.
    pub at: Timestamp,
    /// The picture.
    pub picture: Value,
    /// Hash of the chart of the dive, under which it is served.
    pub chart: String,
    /// What its divers breathed, as far as it is logged.
    pub rates: Vec<Rate>,
    /// Number of this picture since the server started.
    pub revision: u64,
    /// When it is to be made anew though nothing is logged.
    pub renew_at: Timestamp,
    /// When its last entry was received; none before the first.
    pub received_at: Option<Timestamp>,
}

impl Snapshot {
    /// Where a group is thought to be at `now`, or will come up.
    #[must_use]
    pub fn likely(&self, group: &Group, now: Timestamp) -> Option<Likely> {
        let sea = self.grounds.sea(&self.state, group.dive)?;
        likely(&self.state, group, &sea, now)
    }

    /// The watch at `now`.
    #[must_use]
    pub fn watch(&self, now: Timestamp) -> Watch {
        watch_of(&self.state, now)
    }

    /// Its log, for its record.
    #[must_use]
    pub fn source(&self) -> Source<'_> {
        Source {
            trip: self.trip,
            entry: self.head.entry,
            state: &self.state,
            entries: &self.entries,
        }
    }

    /// The token a form carries: up to which entry its page knew the log, and the chain there.
    #[must_use]
    pub fn knows_token(&self) -> String {
        let [a, b, c, d, ..] = self.head.chain;
        format!("{}-{a:02x}{b:02x}{c:02x}{d:02x}", self.head.entry)
    }
}

/// A change of a picture.
#[derive(Debug, Clone)]
pub struct Change {
    /// Its number.
    pub revision: u64,
    /// The last entry in it.
    pub entry: u64,
    /// The merge patch (RFC 7396) as text.
    pub patch: Arc<str>,
}

/// A trip that is being watched.
struct Watched {
    current: watch::Sender<Arc<Snapshot>>,
    changes: broadcast::Sender<Change>,
    kept: std::sync::Mutex<Vec<Change>>,
    /// Held while news is read and what follows from it is kept: a medium may stall meanwhile.
    taking_in: Mutex<()>,
    /// Held while a snapshot is made and put in place, from memory alone.
    making: Mutex<()>,
}

/// All live trips; cheap to clone.
#[derive(Clone)]
pub struct Live(Arc<Inner>);

struct Inner {
    store: Store,
    closing: CancellationToken,
    trips: Mutex<HashMap<TripId, Arc<Watched>>>,
}

/// What a device gets when it starts to listen.
pub struct Listening {
    /// Changes it missed, if they are still kept; else it takes the whole picture.
    pub missed: Option<Vec<Change>>,
    /// The picture now.
    pub now: Arc<Snapshot>,
    /// Changes to come.
    pub changes: broadcast::Receiver<Change>,
}

impl Live {
    /// Live trips on this store.
    #[must_use]
    pub fn new(store: Store, closing: CancellationToken) -> Self {
        Self(Arc::new(Inner {
            store,
            closing,
            trips: Mutex::default(),
        }))
    }

    /// The trip as of its last entry; none if there is no such trip.
    ///
    /// # Errors
    /// If the store fails.
    pub async fn snapshot(&self, trip: TripId) -> Result<Option<Arc<Snapshot>>, StoreError> {
        let Some(watched) = self.watched(trip).await? else {
            return Ok(None);
        };
        let Some(head) = self.0.store.head(trip).await? else {
            return Ok(None);
        };
        let current = watched.current.borrow().clone();
        if current.head.entry >= head.entry {
            return Ok(Some(current));
        }
        self.renew(trip, &watched, Since::Last(head.entry))
            .await
            .map(Some)
    }

    /// Waits until what the trip's log says of its divers' breathing is kept: that follows a
    /// moment after the picture, which waits for no medium.
    ///
    /// # Errors
    /// If the store fails.
    pub async fn rates_kept(&self, trip: TripId) -> Result<(), StoreError> {
        if let Some(watched) = self.watched(trip).await? {
            drop(watched.taking_in.lock().await);
        }
        Ok(())
    }

    /// Folds the whole log of a trip anew: entries that were there count from another time.
    ///
    /// # Errors
    /// If the store fails.
    pub async fn anew(&self, trip: TripId) -> Result<(), StoreError> {
        if let Some(watched) = self.watched(trip).await? {
            self.renew(trip, &watched, Since::Start).await?;
        }
        Ok(())
    }

    /// Starts to listen. `last`: the number of the last change that was heard.
    ///
    /// # Errors
    /// If the store fails.
    pub async fn listen(
        &self,
        trip: TripId,
        last: Option<u64>,
    ) -> Result<Option<Listening>, StoreError> {
        if self.snapshot(trip).await?.is_none() {
            return Ok(None);
        }
        let Some(watched) = self.watched(trip).await? else {
            return Ok(None);
        };
        // Listen first, then look: what comes in between is heard twice rather than never.
        let changes = watched.changes.subscribe();
        let now = watched.current.borrow().clone();
        let kept = watched
            .kept
            .lock()
            .map(|kept| kept.clone())
            .unwrap_or_default();
        let missed = last.and_then(|last| missed_since(&kept, last, now.revision));
        Ok(Some(Listening {
            missed,
            now,
            changes,
        }))
    }

    async fn watched(&self, trip: TripId) -> Result<Option<Arc<Watched>>, StoreError> {
        if let Some(watched) = self.0.trips.lock().await.get(&trip) {
            return Ok(Some(watched.clone()));
        }
        // Not under the lock: a store that stalls must not hold up the watch over other trips.
        let Some(news) = read(&self.0.store, trip, 0).await? else {
            return Ok(None);
        };
        let seen = self.seen();
        let made = tokio::task::spawn_blocking(move || make(trip, None, Some(news), seen)).await;
        let Ok(first) = made.inspect_err(|cause| could_not_fold(trip, cause)) else {
            return Ok(None);
        };
        self.learn(&first).await;
        let mut trips = self.0.trips.lock().await;
        if let Some(watched) = trips.get(&trip) {
            // Somebody else was quicker.
            return Ok(Some(watched.clone()));
        }
        let (current, _) = watch::channel(Arc::new(first));
        let (changes, _) = broadcast::channel(256);
        let watched = Arc::new(Watched {
            current,
            changes,
            kept: std::sync::Mutex::default(),
            taking_in: Mutex::default(),
            making: Mutex::default(),
        });
        trips.insert(trip, watched.clone());
        tokio::spawn(drive(self.clone(), trip, watched.clone()));
        Ok(Some(watched))
    }

    /// Every trip that is being watched, as it was last made.
    pub async fn watched_now(&self) -> Vec<Arc<Snapshot>> {
        let trips = self.0.trips.lock().await;
        trips
            .values()
            .map(|watched| watched.current.borrow().clone())
            .collect()
    }

    /// Makes the picture of a trip anew at the present instant, from memory alone: a store that
    /// stalls keeps no deadline from being told. Does nothing, and returns false, while somebody
    /// else makes it.
    pub async fn reckon(&self, trip: TripId) -> bool {
        let watched = self.0.trips.lock().await.get(&trip).cloned();
        let Some(watched) = watched else {
            return true;
        };
        let Ok(turn) = watched.making.try_lock() else {
            return false;
        };
        self.put(trip, &watched, None).await;
        drop(turn);
        true
    }

    /// Makes a snapshot at the present instant and puts it in place: the one before and the one
    /// after; none if the fold failed. Needs the lock of making.
    async fn put(
        &self,
        trip: TripId,
        watched: &Watched,
        news: Option<News>,
    ) -> Option<(Arc<Snapshot>, Arc<Snapshot>)> {
        let old = watched.current.borrow().clone();
        let (before, seen) = (old.clone(), self.seen());
        let made = tokio::task::spawn_blocking(move || make(trip, Some(&before), news, seen)).await;
        match made {
            Ok(new) => {
                let new = publish(watched, &old, new);
                Some((old, new))
            }
            Err(cause) => {
                could_not_fold(trip, &cause);
                None
            }
        }
    }

    /// The present instant, and whether a person has confirmed the clock.
    fn seen(&self) -> (Timestamp, bool) {
        let clock = self.0.store.clock();
        (clock.now(), clock.is_confirmed())
    }

    /// Watches every trip that is not closed, so that alarms come with nobody looking.
    ///
    /// # Errors
    /// If the store fails.
    pub async fn watch_open(&self) -> Result<(), StoreError> {
        for row in self.0.store.trips().await? {
            if !row.closed {
                self.watched(row.trip).await?;
            }
        }
        Ok(())
    }

    /// Makes the snapshot anew from what was appended and tells what changed.
    async fn renew(
        &self,
        trip: TripId,
        watched: &Watched,
        since: Since,
    ) -> Result<Arc<Snapshot>, StoreError> {
        let turn = watched.taking_in.lock().await;
        let held = watched.current.borrow().clone();
        let from = match since {
            // Whoever had the turn before took it in, with all that waited: on a busy day as many
            // would make the same again as there are who ask.
            Since::Last(entry) if held.head.entry >= entry => return Ok(held),
            Since::Last(_) => held.head.entry,
            Since::Start => 0,
        };
        let Some(news) = read(&self.0.store, trip, from).await? else {
            return Ok(held);
        };
        let making = watched.making.lock().await;
        let put = self.put(trip, watched, Some(news)).await;
        drop(making);
        let Some((old, new)) = put else {
            return Ok(held);
        };
        if old.rates != new.rates {
            self.learn(&new).await;
        }
        drop(turn);
        self.note(trip, &old, &new).await?;
        Ok(new)
    }

    /// Keeps what a trip's divers breathed for their next plans. It follows from the log, so that
    /// what fails here is made good with the next return or the next start.
    async fn learn(&self, snapshot: &Snapshot) {
        let (trip, rates) = (snapshot.trip, &snapshot.rates);
        if let Err(cause) = self.0.store.learn_rates(trip, rates).await {
            tracing::error!(trip.id = %trip, %cause, "surface rates could not be kept");
        }
    }

    /// Lists show day, harbour, boat and whether a trip is closed, as its fold has it.
    async fn note(&self, trip: TripId, old: &Snapshot, new: &Snapshot) -> Result<(), StoreError> {
        let Some(opened) = &new.state.opened else {
            return Ok(());
        };
        // What still has somebody out is to be watched after the next start, too.
        let closed = new.state.is_over();
        if closed == old.state.is_over() && old.state.opened.as_ref() == Some(opened) {
            return Ok(());
        }
        let note = TripNote {
            day: opened.day,
            harbour: opened.harbour.clone(),
            boat: opened.boat.name.clone(),
            closed,
        };
        self.0.store.note_trip(trip, &note).await.map(drop)
    }
}

/// Puts a new snapshot in place of the old and tells what changed.
fn publish(watched: &Watched, old: &Snapshot, mut new: Snapshot) -> Arc<Snapshot> {
    let change = patch(&old.picture, &new.picture);
    new.revision = old.revision + u64::from(change.is_some());
    let new = Arc::new(new);
    watched.current.send_replace(new.clone());
    if let Some(patch) = change {
        let (revision, entry) = (new.revision, new.head.entry);
        let change = Change {
            revision,
            entry,
            patch: patch.to_string().into(),
        };
        if let Ok(mut kept) = watched.kept.lock() {
            let surplus = (kept.len() + 1).saturating_sub(KEPT_PATCHES);
            kept.drain(..surplus);
            kept.push(change.clone());
        }
        // Nobody listening is no failure: the next who comes takes the whole picture.
        drop(watched.changes.send(change));
    }
    new
}

fn missed_since(kept: &[Change], last: u64, now: u64) -> Option<Vec<Change>> {
    if last == now {
        return Some(Vec::new());
    }
    let missed: Vec<Change> = kept.iter().filter(|c| c.revision > last).cloned().collect();
    let whole = missed
        .first()
        .is_some_and(|first| first.revision == last + 1);
    whole.then_some(missed)
}

/// Takes in what is appended. When a deadline passes, the loop of the duties makes it anew.
async fn drive(live: Live, trip: TripId, watched: Arc<Watched>) {
    let mut news = live.0.store.news();
    loop {
        let entry = tokio::select! {
            () = live.0.closing.cancelled() => return,
            told = news.recv() => match told {
                Ok(told) if told.trip != trip => continue,
                Ok(told) => told.entry,
                // Whatever there is.
                Err(broadcast::error::RecvError::Lagged(_)) => u64::MAX,
                Err(broadcast::error::RecvError::Closed) => return,
            },
        };
        while let Err(cause) = live.renew(trip, &watched, Since::Last(entry)).await {
            // The snapshot stays as it was: alarms go on from memory.
            tracing::error!(trip.id = %trip, %cause, "the live trip could not be refreshed");
            tokio::select! {
                () = live.0.closing.cancelled() => return,
                () = tokio::time::sleep(TRY_AGAIN) => {}
            }
        }
    }
}

/// Counted from when the snapshot was made: what fell due since then has not been told yet.
fn renew_at(watch: &Watch) -> Timestamp {
    let anew = if watch.out > 0 {
        RECKON_ANEW
    } else {
        SignedDuration::from_hours(1)
    };
    let anew = plus(watch.at, anew);
    watch.next_change.map_or(anew, |next| next.min(anew))
}

fn plus(at: Timestamp, by: SignedDuration) -> Timestamp {
    at.saturating_add(by).unwrap_or(Timestamp::MAX)
}

/// From where the log is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Since {
    /// What came after the last snapshot, if that does not reach to this entry.
    Last(u64),
    /// All of it.
    Start,
}

/// What was read from a log.
struct News {
    /// The entry before the first of these: 0 if they are the whole log.
    from: u64,
    entries: Vec<Entry>,
    head: Head,
    /// Numbers of entries that others brought.
    relayed: BTreeSet<u64>,
}

/// Reads what came after an entry; none if there is no such trip.
async fn read(store: &Store, trip: TripId, from: u64) -> Result<Option<News>, StoreError> {
    let Some(head) = store.head(trip).await? else {
        return Ok(None);
    };
    let entries = store.entries(trip, from).await?;
    let relayed = store.relayed(trip).await?.into_keys().collect();
    Ok(Some(News {
        from,
        entries,
        head,
        relayed,
    }))
}

fn could_not_fold(trip: TripId, cause: &JoinError) {
    tracing::error!(trip.id = %trip, %cause, "folding a trip failed");
}

/// Takes in news, if there is any, and reckons everything anew: for a thread that may be kept busy.
fn make(
    trip: TripId,
    old: Option<&Snapshot>,
    news: Option<News>,
    (now, confirmed): (Timestamp, bool),
) -> Snapshot {
    // Entries from the start are another log than the one that was held.
    let held = old.filter(|_| news.as_ref().is_none_or(|news| news.from > 0));
    let unchanged = news.as_ref().is_none_or(|news| news.entries.is_empty());
    let rates = old.filter(|_| unchanged).map(|old| old.rates.clone());
    let before = held.map_or(&[][..], |held| &held.entries);
    let new = news.as_ref().map_or(&[][..], |news| &news.entries);
    // In one piece of the right size: a whole log is copied with each entry.
    let entries = [before, new].concat();
    let (state, rests_on) = match (old, held) {
        (Some(old), _) if unchanged => (old.state.clone(), old.rests_on.clone()),
        (_, Some(held)) => fold_on((&held.state, &held.rests_on), &entries, before.len()),
        (_, None) => fold_whole(trip, &entries),
    };
    let mut head = old.map_or_else(|| Head::start(trip), |old| old.head);
    let mut received_at = held.and_then(|held| held.received_at);
    if let Some(news) = news {
        head = news.head;
        // What others brought tells nothing of this box's own time: their clocks wrote it.
        let own = news.entries.iter().map(|one| &one.receipt);
        let own = own.filter(|receipt| !news.relayed.contains(&receipt.entry));
        received_at = received_at.max(own.map(|receipt| receipt.recorded_at).max());
    }
    // The head may have been read before the newest entries.
    let entry = entries.last().map_or(head.entry, |last| last.receipt.entry);
    let head = if entry == head.entry {
        head
    } else {
        chain_on(head, &entries)
    };
    let rates = rates.unwrap_or_else(|| surface_rates(&state));
    let watch = watch_of(&state, now);
    let grounds = Grounds::of(&state, old.map(|old| &old.grounds));
    let order = pickup_order(&state, &grounds, now);
    let chart = chart_hash(&state);
    let mut picture = picture(&state, &watch, &order, &grounds, head.entry, &chart);
    if let Value::Object(members) = &mut picture {
        // A device alone must know whether the instants rest on a clock that may be relied on.
        members.insert("clock".to_owned(), json!({ "confirmed": confirmed }));
    }
    let revision = old.map_or(0, |old| old.revision);
    Snapshot {
        trip,
        entries,
        head,
        state,
        rests_on,
        grounds,
        order,
        at: now,
        picture,
        chart,
        rates,
        revision,
        renew_at: renew_at(&watch),
        received_at,
    }
}

/// Goes on from a head to the newest entry: the chain follows from the contents alone.
fn chain_on(head: Head, entries: &[Entry]) -> Head {
    let new = entries.partition_point(|entry| entry.receipt.entry <= head.entry);
    let new = entries.get(new..).unwrap_or_default();
    new.iter()
        .fold(head, |head, entry| head.then(&entry.event.content().hash))
}

fn chart_hash(state: &State) -> String {
    let planned = state.dives.get(&state.dive.max(1));
    planned.map_or_else(|| hash_of(""), |dive| hash_of(&dive.site.chart.to_string()))
}

/// The hash under which a chart, as text, is served: sixteen hexadecimal digits.
#[must_use]
pub fn hash_of(chart: &str) -> String {
    let [a, b, c, d, e, f, g, h, ..] = <[u8; 32]>::from(Sha256::digest(chart.as_bytes()));
    format!("{:016x}", u64::from_be_bytes([a, b, c, d, e, f, g, h]))
}
