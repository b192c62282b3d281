//! The append door: devices deliver what they saw. It refuses what is malformed or not
//! authenticated; it keeps every well-formed fact, also one that makes no sense any more.

use std::collections::BTreeMap;

use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use serde_json::{Value, json};

use crate::store::{Appended, Incoming};
use crate::trip::TripId;
use crate::trip::event::{Entry, Event, EventId, Fact, read_delivery};
use crate::units::Faults;
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Document, Path};

/// Appends a batch: all of it or nothing, answered when it is on the medium. A repeat is
/// answered as the first time.
pub(super) async fn append(
    State(app): State<App>,
    crew: Crew,
    Path(trip): Path<TripId>,
    Document(document): Document,
) -> Result<Response, Error> {
    let delivered: Vec<Incoming> = read_delivery(&document)?
        .into_iter()
        .map(|sent| Incoming {
            event: sent.event,
            content: sent.content,
            wall_age_ms: sent.ages.wall_ms,
            mono_age_ms: sent.ages.mono_ms,
        })
        .collect();
    of_this_trip(trip, &delivered)?;
    let opens = delivered
        .iter()
        .any(|sent| matches!(sent.event.fact, Fact::TripOpened(_)));
    let held = app.live().snapshot(trip).await?;
    if held.is_none() && !opens {
        return Err(Error::NoSuchTrip);
    }
    let held = held.as_ref().map_or(&[][..], |snapshot| &snapshot.entries);
    made_here(&crew, &delivered, held)?;
    let ids: Vec<EventId> = delivered.iter().map(|sent| sent.event.id).collect();
    let (by_form, delivered): (Vec<_>, Vec<_>) = delivered
        .into_iter()
        .map(|sent| (done_by_form(&crew, &sent.event, held), sent))
        .partition(|(done, _)| done.is_some());
    let mut entries: BTreeMap<EventId, u64> = by_form
        .into_iter()
        .filter_map(|(done, sent)| Some((sent.event.id, done?)))
        .collect();
    let delivered: Vec<Incoming> = delivered.into_iter().map(|(_, sent)| sent).collect();
    let of: Vec<EventId> = delivered.iter().map(|sent| sent.event.id).collect();
    let appended = app.store().append(trip, delivered).await?;
    entries.extend(
        of.into_iter()
            .zip(appended.into_iter().map(Appended::entry)),
    );
    let events: Vec<Value> = ids
        .into_iter()
        .map(|id| json!({"id": id, "entry": entries.get(&id)}))
        .collect();
    let body = json!({ "events": events }).to_string();
    Ok(([(header::CONTENT_TYPE, "application/json")], body).into_response())
}

/// The entry of what a page's own form has done already: a device that did not hear the answer to a
/// form sends the same act as an event, under the identity that the form's number and what was typed
/// give it (`web/act`). The form's words stand; the act is in the log once.
fn done_by_form(crew: &Crew, event: &Event, held: &[Entry]) -> Option<u64> {
    if event.id.uuid().get_version() != Some(uuid::Version::Custom) {
        return None;
    }
    let same = held.iter().find(|entry| entry.event.id == event.id)?;
    let own = same.event.device == crew.0.device && same.event.by.crew == event.by.crew;
    own.then_some(same.receipt.entry)
}

fn of_this_trip(trip: TripId, delivered: &[Incoming]) -> Result<(), Faults> {
    let mut faults = Faults::new();
    for (nth, sent) in delivered.iter().enumerate() {
        if sent.event.trip != trip {
            let path = format!("events[{nth}].trip");
            faults.add(path, "is another trip", "the trip of the address");
        }
    }
    faults.or(())
}

/// An event is taken from the device and the crew member that made it. What stands in the log
/// already is answered to whoever relays it: nothing is written by that.
fn made_here(crew: &Crew, delivered: &[Incoming], held: &[Entry]) -> Result<(), Error> {
    let mut faults = Faults::new();
    for (nth, sent) in delivered.iter().enumerate() {
        let found = foreign(crew, nth, &sent.event);
        if !found.is_empty() && !stands(sent, held) {
            faults.extend(found);
        }
    }
    faults.or(()).map_err(Error::NotYours)
}

fn stands(sent: &Incoming, held: &[Entry]) -> bool {
    held.iter()
        .find(|entry| entry.event.id == sent.event.id)
        .is_some_and(|entry| entry.event.content().hash == sent.content.hash)
}

fn foreign(crew: &Crew, nth: usize, event: &Event) -> Faults {
    let signed = &crew.0;
    let mut faults = Faults::new();
    let mut fault = |field: &str, what: &str, allowed: &str| {
        faults.add(format!("events[{nth}].{field}"), what, allowed);
    };
    if event.device != signed.device {
        fault(
            "device",
            "is another device",
            "the device that is signed in",
        );
    }
    if event.by.crew != signed.crew {
        fault("by.crew", "is another crew member", "who is signed in");
    } else if event.by.name != signed.name {
        fault(
            "by.name",
            "is not the account's name",
            "the name of who is signed in",
        );
    }
    if !crew.is(event.by.role) {
        fault(
            "by.role",
            "is not the account's",
            "a role of who is signed in",
        );
    }
    faults
}
