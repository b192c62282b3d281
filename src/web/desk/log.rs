//! The log as people read it: every entry with who, when, where it came from and what; what does
//! not count any more is struck and stays readable.

use std::collections::{BTreeMap, BTreeSet};

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use crate::trip::decide;
use crate::trip::event::{DeviceId, Entry, EventId, Fact, PositionSource};
use crate::trip::{PersonId, TripId};
use crate::web::act::{Acted, act};
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::{Fields, LONGEST_REASON};
use crate::web::frame::Frame;
use crate::web::page::{Asked, html, refused};
use crate::web::view;

use super::form::{Shown, lead};
use super::{Here, tell};

/// An entry in words.
pub(super) struct Told {
    /// The event.
    pub id: String,
    /// Its number in this box's log.
    pub entry: u64,
    /// When it happened, as stated.
    pub at: String,
    /// When it was received, if that differs by a minute or more.
    pub received: Option<String>,
    /// Who says so.
    pub by: String,
    /// On which device.
    pub device: String,
    /// What happened.
    pub title: String,
    /// To whom.
    pub about: String,
    /// The rest.
    pub detail: String,
    /// Why it does not count any more.
    pub struck: Option<String>,
    /// Who takes it back with which reason, if that waits for a second.
    pub waits: Option<String>,
    /// Whether it could be voided.
    pub may_void: bool,
}

/// Somebody about whom the log says different things.
struct Clash {
    name: String,
    said: Vec<String>,
}

#[derive(Template)]
#[template(path = "desk/log.html")]
struct LogPage {
    frame: Frame,
    title: String,
    url: String,
    told: Vec<Told>,
    clashes: Vec<Clash>,
    gaps: Vec<String>,
    /// How many notes of where the boat was are left out; empty: none.
    track: String,
}

async fn devices(app: &App) -> Result<BTreeMap<DeviceId, String>, Error> {
    let devices = app.store().devices().await?;
    Ok(devices.into_iter().map(|d| (d.id, d.name)).collect())
}

/// Whether an entry is the box's own note of where the boat was: there are hundreds an hour, and
/// people read the log for what people did.
fn is_track(entry: &Entry) -> bool {
    matches!(&entry.event.fact, Fact::BoatPositioned(boat) if boat.source == PositionSource::Instruments)
}

/// The last `most` entries, the latest first; of the boat's track none.
pub(super) async fn told_entries(app: &App, here: &Here, most: usize) -> Result<Vec<Told>, Error> {
    let devices = devices(app).await?;
    let struck = struck(here);
    let relayed = app.store().relayed(here.snap.trip).await?;
    Ok(here
        .snap
        .entries
        .iter()
        .rev()
        .filter(|entry| !is_track(entry))
        .take(most)
        .map(|entry| told(here, entry, &devices, &relayed, &struck))
        .collect())
}

/// Entries that do not count any more, with who took them back and why.
pub(super) fn struck(here: &Here) -> BTreeMap<EventId, String> {
    let entries = &here.snap.entries;
    let events = entries.iter().map(|entry| &*entry.event);
    let by_id: BTreeMap<EventId, &Entry> = entries.iter().map(|e| (e.event.id, e)).collect();
    entries
        .iter()
        .filter_map(|entry| {
            let of = crate::trip::state::mends(&entry.event)?;
            let mended = by_id.get(&of)?;
            if !crate::trip::state::may_mend(&entry.event, &mended.event, events.clone()) {
                return None;
            }
            let reason = if let Fact::Voided(voided) = &entry.event.fact {
                voided.reason.clone()
            } else {
                tell::title(here, &entry.event.fact)
            };
            let args = [
                ("by", (&entry.event.by.name).into()),
                ("at", here.time(entry.event.at).into()),
                ("reason", reason.into()),
            ];
            Some((of, here.t.say_with("log-struck", &args)))
        })
        .collect()
}

fn told(
    here: &Here,
    entry: &Entry,
    devices: &BTreeMap<DeviceId, String>,
    relayed: &BTreeMap<u64, String>,
    struck: &BTreeMap<EventId, String>,
) -> Told {
    let event = &entry.event;
    let late_s = entry.receipt.recorded_at.duration_since(event.at).as_secs();
    let full = |at: jiff::Timestamp| {
        at.to_zoned_datetime(here.zone.clone())
            .strftime("%H:%M:%S")
            .to_string()
    };
    let struck = struck.get(&event.id).cloned();
    let mut device = devices
        .get(&event.device)
        .cloned()
        .unwrap_or_else(|| here.t.say("log-device-unknown"));
    if let Some(name) = relayed.get(&entry.receipt.entry) {
        device.push_str(" · ");
        device.push_str(&here.t.say_with("log-brought", &[("name", name.into())]));
    }
    Told {
        id: event.id.to_string(),
        entry: entry.receipt.entry,
        at: full(event.at),
        received: (late_s.abs() >= 60).then(|| full(entry.receipt.recorded_at)),
        by: event.by.name.clone(),
        device,
        title: if tell::is_known(&event.fact) {
            tell::title(here, &event.fact)
        } else {
            here.t.say("log-unread")
        },
        about: tell::about(here, event),
        detail: tell::detail(here, event),
        waits: view::waits_for_second(&here.snap.entries, event.id, here.t),
        may_void: struck.is_none() && !matches!(event.fact, Fact::Voided(_)),
        struck,
    }
}

/// The whole log, the latest first.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    let told = told_entries(&app, &here, usize::MAX).await?;
    let devices = devices(&app).await?;
    let gaps = here
        .snap
        .state
        .gaps
        .iter()
        .map(|(device, missing)| {
            let name = devices
                .get(device)
                .cloned()
                .unwrap_or_else(|| here.t.say("log-device-unknown"));
            let args = [("device", name.into()), ("n", missing.len().into())];
            here.t.say_with("log-gap", &args)
        })
        .collect();
    html(&LogPage {
        frame: here.frame(&app, &asked, &crew),
        title: here.title(),
        url: format!("/desk/{trip}"),
        track: track(&here),
        told,
        clashes: clashes(&here, &devices),
        gaps,
    })
}

fn track(here: &Here) -> String {
    match here.snap.entries.iter().filter(|e| is_track(e)).count() {
        0 => String::new(),
        n => here.t.say_with("log-track", &[("n", n.into())]),
    }
}

/// Whoever is unresolved, with every statement that stands.
fn clashes(here: &Here, devices: &BTreeMap<DeviceId, String>) -> Vec<Clash> {
    let unresolved: BTreeSet<PersonId> = here
        .snap
        .state
        .people
        .values()
        .filter(|p| p.place == crate::trip::state::Place::Unresolved)
        .map(|p| p.id)
        .collect();
    unresolved
        .iter()
        .filter_map(|id| here.snap.state.people.get(id))
        .map(|person| Clash {
            name: person.name().to_owned(),
            said: person
                .statements
                .iter()
                .map(|said| {
                    let device = devices.get(&said.device).cloned().unwrap_or_default();
                    let place = here.t.say(crate::web::view::place_key(said.place));
                    let args = [
                        ("place", place.into()),
                        ("by", (&said.by).into()),
                        ("device", device.into()),
                        ("at", here.time(said.at).into()),
                    ];
                    here.t.say_with("log-said", &args)
                })
                .collect(),
        })
        .collect()
}

#[derive(Template)]
#[template(path = "desk/log-one.html")]
struct OnePage {
    frame: Frame,
    title: String,
    url: String,
    one: Told,
    f: Shown,
}

async fn draw(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    here: &Here,
    event: EventId,
    f: Shown,
) -> Result<OnePage, Error> {
    let entry = here
        .snap
        .entries
        .iter()
        .find(|entry| entry.event.id == event)
        .ok_or(Error::NotFound)?;
    let one = told(
        here,
        entry,
        &devices(app).await?,
        &app.store().relayed(here.snap.trip).await?,
        &struck(here),
    );
    let mut frame = here.frame_to_fill(app, asked, crew);
    f.mark(&mut frame);
    Ok(OnePage {
        frame,
        title: here.title(),
        url: format!("/desk/{}/log", here.trip),
        one,
        f,
    })
}

/// One entry, with the form that voids it.
pub async fn one(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, event)): Path<(TripId, EventId)>,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    let f = Shown::of_trip(&app, &here.snap);
    html(&draw(&app, &asked, &crew, &here, event, f).await?)
}

/// Voids an entry, with a reason; it stays in the log.
pub async fn void(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, event)): Path<(TripId, EventId)>,
    fields: Fields,
) -> Result<Response, Error> {
    let by = app.voiding(&crew);
    let acted = match fields.or_empty("reason", LONGEST_REASON) {
        Some(reason) => {
            let decided = move |_: &_, log: &[Entry], _| decide::void(log, event, &reason, by);
            act(&app, &crew, trip, &fields, decided).await?
        }
        None => Acted::Refused(fields.faults()),
    };
    match acted {
        Acted::Done(_) => Ok(Redirect::to(&format!("/desk/{trip}/log")).into_response()),
        Acted::Refused(why) => {
            let here = Here::load(&app, trip).await?;
            let faults = lead(why, &[("", "reason")]);
            let f = Shown::of_trip(&app, &here.snap).refused(&fields, faults);
            refused(&draw(&app, &asked, &crew, &here, event, f).await?)
        }
    }
}
