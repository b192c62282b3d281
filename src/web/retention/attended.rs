//! Who was on which trip, and whether that is over with nothing left open: what retention must
//! know of a log, kept in memory as long as the log stays the same.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex, PoisonError};

use jiff::Timestamp;
use jiff::civil::Date;

use crate::store::{Store, StoreError};
use crate::trip::TripId;
use crate::trip::event::{Entry, PersonId};
use crate::trip::same::Same;
use crate::trip::state::{Phase, State, fold};

/// What retention must know of one trip.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attended {
    /// The trip.
    pub trip: TripId,
    /// Its last entry.
    pub entry: u64,
    /// Its day, if it was opened.
    pub day: Option<Date>,
    /// Its boat.
    pub boat: String,
    /// Everybody its log ever had on the roster, or names.
    pub persons: BTreeSet<PersonId>,
    /// Who is along as long as it is not over: coming, or not accounted for.
    pub engaged: BTreeSet<PersonId>,
    /// When it was over: the last that was heard of it. None while it is not.
    pub ended: Option<Timestamp>,
    /// Whether something happened that may still be asked about: an incident, an emergency,
    /// something overridden, entries that are missing or cannot be read.
    pub asks: bool,
}

/// All trips of the box.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Attendance {
    /// Those that can be read, the latest first.
    pub trips: Vec<Arc<Attended>>,
    /// Those that cannot: nobody knows who was on them.
    pub unread: Vec<TripId>,
}

impl Attendance {
    /// The same with every person under who they are now as well: a trip that names an identity
    /// which was merged is a trip of the one that remained.
    #[must_use]
    pub fn told_as(mut self, same: &Same) -> Self {
        let now = |of: &BTreeSet<PersonId>| -> BTreeSet<PersonId> {
            let remaining = of.iter().map(|id| same.remaining(*id));
            remaining.chain(of.iter().copied()).collect()
        };
        for trip in &mut self.trips {
            let persons = now(&trip.persons);
            if persons != trip.persons {
                let engaged = now(&trip.engaged);
                *trip = Arc::new(Attended {
                    persons,
                    engaged,
                    ..Attended::clone(trip)
                });
            }
        }
        self
    }
}

impl Attended {
    /// What a log comes to.
    #[must_use]
    pub fn of(state: &State, log: &[Entry]) -> Self {
        let opened = state.opened.as_ref();
        let named = log.iter().flat_map(|entry| &entry.event.about.persons);
        // Who waited stands in the log by name too.
        let waited = log.iter().filter_map(|entry| entry.event.fact.waits());
        let is_over = state.phase == Phase::Closed
            && state.not_accounted().next().is_none()
            && state.emergency.is_none();
        let out = state.not_accounted().map(|person| person.id);
        let engaged = state.coming().map(|person| person.id).chain(out);
        let last = log
            .iter()
            .map(|entry| entry.event.at.max(entry.receipt.recorded_at))
            .max();
        Self {
            trip: state.trip,
            entry: log.iter().map(|e| e.receipt.entry).max().unwrap_or(0),
            day: opened.map(|opened| opened.day),
            boat: opened.map_or_else(String::new, |opened| opened.boat.name.clone()),
            persons: state
                .people
                .keys()
                .chain(named)
                .copied()
                .chain(waited)
                .collect(),
            engaged: engaged.filter(|_| !is_over).collect(),
            ended: last.filter(|_| is_over),
            asks: !state.incidents.is_empty()
                || state.emergency.is_some()
                || state.emergency_over.is_some()
                || !state.overrides.is_empty()
                || !state.unread.is_empty()
                || !state.gaps.is_empty(),
        }
    }
}

/// What was read of logs before; cheap to clone.
#[derive(Debug, Clone, Default)]
pub struct Kept(Arc<Mutex<BTreeMap<TripId, Arc<Attended>>>>);

impl Kept {
    /// All trips, of which only those are read whose logs have grown.
    ///
    /// # Errors
    /// If the list of trips cannot be read.
    pub async fn all(&self, store: &Store) -> Result<Attendance, StoreError> {
        let mut all = Attendance::default();
        for row in store.trips().await? {
            let held = self.held().get(&row.trip).cloned();
            let known = held.filter(|held| held.entry == row.head.entry);
            let read = match known {
                Some(known) => Some(known),
                None => read(store, row.trip).await.map(Arc::new),
            };
            match read {
                Some(read) => {
                    self.held().insert(row.trip, Arc::clone(&read));
                    all.trips.push(read);
                }
                None => all.unread.push(row.trip),
            }
        }
        all.trips.sort_by_key(|trip| Reverse((trip.day, trip.trip)));
        Ok(all)
    }

    /// A map is whole whoever panicked while holding it.
    fn held(&self) -> std::sync::MutexGuard<'_, BTreeMap<TripId, Arc<Attended>>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// None for a log that cannot be read.
async fn read(store: &Store, trip: TripId) -> Option<Attended> {
    let log = match store.entries(trip, 0).await {
        Ok(log) => log,
        Err(error) => {
            tracing::error!(trip.id = %trip, error = ?error, "a log cannot be read: retention holds everybody's");
            return None;
        }
    };
    let folded = tokio::task::spawn_blocking(move || Attended::of(&fold(trip, &log), &log));
    match folded.await {
        Ok(attended) => Some(attended),
        Err(cause) => {
            tracing::error!(trip.id = %trip, %cause, "a log was not folded: retention holds everybody's");
            None
        }
    }
}
