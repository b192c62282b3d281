//! What the instruments say goes into the logs that it concerns, in the name of the box itself:
//! a device of its own, which numbers as every device does.

use std::time::Duration;

use jiff::{SignedDuration, Timestamp};

use super::app::App;
use super::error::Error;
use crate::instruments::{FRESH, Fix, Received};
use crate::store::register::key;
use crate::store::{FormError, Store, StoreError};
use crate::trip::TripId;
use crate::trip::decide::{self, Decided, Refused, Signing};
use crate::trip::event::{BeaconHeard, By, CrewId, DeviceId, EventId, Role};
use crate::trip::state::State;
use crate::words::Words;

/// Fixes come up to twenty times a second; the log wants one in fifteen seconds at most.
const FIX_EVERY: SignedDuration = SignedDuration::from_secs(1);
/// A beacon is noted as long as this after it was heard, should the first try fail.
const STILL_HEARD: SignedDuration = SignedDuration::from_secs(60);
/// Pause after a failure.
const PAUSE: Duration = Duration::from_secs(1);
/// How often something is decided anew when others append at the same moment.
const MOST_TRIES: u32 = 8;

/// Writes down what the instruments say until the server stops.
pub async fn keep(app: App) {
    let mut told = app.instruments().told();
    told.mark_changed();
    let mut last: Option<(Timestamp, u64)> = None;
    loop {
        tokio::select! {
            () = app.closing().cancelled() => return,
            changed = told.changed() => if changed.is_err() { return },
        }
        let (bursts, now) = (app.instruments().bursts(), app.clock().now());
        // A beacon is written at once, however short ago anything was.
        let is_due = last
            .is_none_or(|(at, known)| known != bursts || now.duration_since(at).abs() >= FIX_EVERY);
        if !is_due {
            continue;
        }
        let received = app.instruments().look();
        match note(&app, &received, now).await {
            Ok(Noted::Looked) => last = Some((now, bursts)),
            Ok(Noted::Nothing) => {}
            Err(cause) => {
                tracing::error!(%cause, "what the instruments say could not be written");
                tokio::time::sleep(PAUSE).await;
                told.mark_changed();
            }
        }
    }
}

/// The device in whose name the box writes; made when it is first needed.
async fn own_device(store: &Store) -> Result<DeviceId, StoreError> {
    if let Some(own) = store.setting(key::BOX).await? {
        return Ok(own);
    }
    let own = DeviceId::new(store.clock().new_uuid());
    store.set_setting(key::BOX, &own).await?;
    Ok(own)
}

/// Whether there was anything that could be due.
enum Noted {
    Nothing,
    Looked,
}

/// Writes what is due into the log of every trip that it concerns.
async fn note(app: &App, received: &Received, now: Timestamp) -> Result<Noted, Error> {
    let is_recent = |at: Timestamp, time| now.duration_since(at) <= time;
    let fix = received.fix().filter(|fix| is_recent(fix.at, FRESH));
    let beacons: Vec<_> = received
        .beacons()
        .filter(|beacon| is_recent(beacon.heard_at, STILL_HEARD))
        .map(|beacon| (beacon.says(), beacon.heard_at))
        .collect();
    if fix.is_none() && beacons.is_empty() {
        return Ok(Noted::Nothing);
    }
    // A trip whose log cannot be written keeps no other from hearing of a beacon.
    let mut failed = None;
    for row in app.store().trips().await? {
        if row.closed {
            continue;
        }
        if let Err(cause) = note_in(app, row.trip, &beacons, fix).await {
            failed = Some(cause);
        }
    }
    match failed {
        Some(cause) => Err(cause),
        None => Ok(Noted::Looked),
    }
}

/// Writes what is due into the log of one trip: beacons first.
async fn note_in(
    app: &App,
    trip: TripId,
    beacons: &[(BeaconHeard, Timestamp)],
    fix: Option<&Fix>,
) -> Result<(), Error> {
    for (heard, at) in beacons {
        let (heard, at) = (heard.clone(), *at);
        write(app, trip, move |state| {
            decide::beacon_heard(state, heard.clone(), at)
        })
        .await?;
    }
    if let Some((position, at)) = fix.map(|fix| (fix.position, fix.at)) {
        write(app, trip, move |state| {
            decide::boat_fix(state, position, at)
        })
        .await?;
    }
    Ok(())
}

enum Why {
    /// Nothing is due, or the trip is closed.
    Nothing,
    MovedOn,
}

impl From<Refused> for Why {
    fn from(_: Refused) -> Self {
        Self::Nothing
    }
}

/// Decides on the state as it stands and appends, or finds that there is nothing to say.
async fn write<D>(app: &App, trip: TripId, decide: D) -> Result<(), Error>
where
    D: Fn(&State) -> Decided + Clone + Send + 'static,
{
    for _ in 0..MOST_TRIES {
        let Some(snapshot) = app.live().snapshot(trip).await? else {
            return Ok(());
        };
        if decide(&snapshot.state).is_ok_and(|drafts| drafts.is_empty()) {
            return Ok(());
        }
        let own = own_device(app.store()).await?;
        let signing = Signing {
            id: EventId::new(app.clock().new_uuid()),
            trip,
            device: own,
            knows: snapshot.state.head.clone(),
            by: By {
                crew: CrewId::new(own.uuid()),
                name: Words::english().say("own-instruments"),
                // The box has no say: the least of the roles.
                role: Role::Desk,
            },
            now: snapshot.at,
        };
        let decide = decide.clone();
        let appended = app
            .store()
            .append_from_form(trip, own, signing.id, move |place| {
                if place.head.entry != snapshot.head.entry {
                    return Err(Why::MovedOn);
                }
                let drafts = decide(&snapshot.state)?;
                if drafts.is_empty() {
                    return Err(Why::Nothing);
                }
                let now = place.now;
                Ok(Signing { now, ..signing }.sign(place.next_seq, drafts))
            })
            .await;
        match appended {
            Ok(_) | Err(FormError::Refused(Why::Nothing)) => return Ok(()),
            Err(FormError::Refused(Why::MovedOn)) => {}
            Err(FormError::Append(error)) => return Err(error.into()),
        }
    }
    Err(Error::Internal(
        "the log moved on faster than the instruments could be written down",
    ))
}
