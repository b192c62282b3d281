//! Handing a log over: what this device holds goes out as a file or as codes, and what another
//! held comes in. With scripts the device keeps it and hands it to the box when there is one;
//! without, a file or pasted lines go straight to this box.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use serde_json::Value;

use super::app::App;
use super::error::Error;
use super::extract::{Crew, Path};
use super::frame::{Frame, Place};
use super::guard::{ON_BOARD, SKIPPER};
use super::page::{self, Asked, answered};
use super::parts::{Action, FieldFault, Weight};
use super::router::{Route, act, read};
use super::second_copy::{CLASH, TakenIn, take_in};
use super::upload::{Sent, Upload};
use super::view;
use crate::trip::TripId;
use crate::trip::event::{self, Role};
use crate::units::Faults;
use crate::words::Words;

/// Largest file: a trip of some thousand entries.
const LARGEST: usize = 8 * 1024 * 1024;
/// Most faults shown at once.
const MOST_FAULTS: usize = 20;

/// Its routes: of a trip, and of whatever trip a file is of, also one that this box lost.
pub(super) fn routes() -> Vec<Route> {
    vec![
        read("/logs", ON_BOARD, any_page),
        act("/logs", ON_BOARD, any_taken),
        read("/helm/{trip}/logs", ON_BOARD, helm_page),
        act("/helm/{trip}/logs", ON_BOARD, helm_taken),
        act("/helm/{trip}/logs/settled", SKIPPER, settled),
        read("/deck/{trip}/logs", ON_BOARD, deck_page),
        act("/deck/{trip}/logs", ON_BOARD, deck_taken),
    ]
}

#[derive(Template)]
#[template(path = "logs.html")]
struct LogsPage {
    frame: Frame,
    url: String,
    /// The trip, if it is a page of one.
    trip: String,
    /// What this box holds of it.
    holds: String,
    /// What came of what was sent.
    said: Vec<String>,
    /// Who brought what, the latest first.
    brought: Vec<String>,
    /// What was kept aside and counts nowhere.
    aside: Vec<String>,
    /// The skipper's word that it is settled, while a notice says that it is not.
    settle: Option<Action>,
    back: String,
    faults: Vec<FieldFault>,
}

/// Of which trip, at which place, and for whom.
struct Of {
    app: App,
    asked: Asked,
    crew: Crew,
    place: Place,
    trip: Option<TripId>,
}

/// The page of no trip in particular.
async fn any_page(State(app): State<App>, asked: Asked, crew: Crew) -> Result<Response, Error> {
    let of = Of::new(app, asked, crew, Place::None, None);
    of.draw(Vec::new(), Vec::new()).await
}

/// Takes in the log of whatever trip was sent.
async fn any_taken(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    sent: Sent,
) -> Result<Response, Error> {
    Of::new(app, asked, crew, Place::None, None)
        .take(sent)
        .await
}

/// The helm's page.
async fn helm_page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
) -> Result<Response, Error> {
    let of = Of::new(app, asked, crew, Place::Helm, Some(trip));
    of.draw(Vec::new(), Vec::new()).await
}

/// Takes in what was sent at the helm.
async fn helm_taken(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
    sent: Sent,
) -> Result<Response, Error> {
    let of = Of::new(app, asked, crew, Place::Helm, Some(trip));
    of.take(sent).await
}

/// The deck's page.
async fn deck_page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
) -> Result<Response, Error> {
    let of = Of::new(app, asked, crew, Place::Deck, Some(trip));
    of.draw(Vec::new(), Vec::new()).await
}

/// Takes in what was sent on deck.
async fn deck_taken(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
    sent: Sent,
) -> Result<Response, Error> {
    let of = Of::new(app, asked, crew, Place::Deck, Some(trip));
    of.take(sent).await
}

/// What was kept aside is settled: the notice ends. What was kept stays where it is.
async fn settled(
    State(app): State<App>,
    crew: Crew,
    Path(trip): Path<TripId>,
) -> Result<Response, Error> {
    let what = format!("settled what was kept aside of trip {trip}");
    let (who, device) = (Some(crew.0.crew), Some(crew.0.device));
    app.store().audit(who, device, &what).await?;
    app.notices().clear(CLASH);
    Ok(Redirect::to(&format!("/helm/{trip}/logs")).into_response())
}

impl Of {
    fn new(app: App, asked: Asked, crew: Crew, place: Place, trip: Option<TripId>) -> Self {
        Self {
            app,
            asked,
            crew,
            place,
            trip,
        }
    }

    async fn take(self, sent: Sent) -> Result<Response, Error> {
        // A form without a file is answered by the page, like one with an empty file.
        let upload = match sent {
            Ok(form) => Upload::read(Ok(form), LARGEST).await?,
            Err(_) => Upload::default(),
        };
        let text = upload.file_or("file", "text");
        match self.taken(text).await {
            Ok(taken) => {
                let said = said(&taken, crate::web::language::words());
                self.draw(said, Vec::new()).await
            }
            Err(Error::Faulty(faults)) => self.draw(Vec::new(), on_the_page(&faults)).await,
            Err(error) => Err(error),
        }
    }

    async fn taken(&self, text: &[u8]) -> Result<TakenIn, Error> {
        if text.trim_ascii().is_empty() {
            let (what, allowed) = ("is empty", "a file, or the lines of one");
            return Err(Faults::one("", what, allowed).into());
        }
        let trip = match self.trip {
            Some(trip) => trip,
            None => trip_of(text)?,
        };
        take_in(&self.app, &self.crew, trip, text).await
    }

    async fn frame(&self) -> Result<Frame, Error> {
        let Some(trip) = self.trip else {
            return Ok(page::frame(
                &self.app,
                &self.asked,
                self.place,
                Some(&self.crew),
            ));
        };
        let held = self.app.live().snapshot(trip).await?;
        let held = held.ok_or(Error::NoSuchTrip)?;
        let now = self.app.clock().now();
        let mut frame =
            page::trip_frame(&self.app, &self.asked, self.place, &self.crew, &held, now);
        if let Some(live) = &mut frame.live {
            live.refresh_s = None;
        }
        Ok(frame)
    }

    async fn draw(&self, said: Vec<String>, faults: Vec<FieldFault>) -> Result<Response, Error> {
        let mut frame = self.frame().await?;
        let t = frame.t;
        if !faults.is_empty() {
            frame.title_prefix = t.say("error-prefix");
        }
        let place = page::place_path(self.place);
        let (mut holds, mut brought, mut aside) = (String::new(), Vec::new(), Vec::new());
        let (mut url, mut back) = ("/logs".to_owned(), "/".to_owned());
        if let Some(trip) = self.trip {
            url = format!("/{place}/{trip}/logs");
            back = if self.place == Place::Helm {
                format!("/{place}/{trip}/trip")
            } else {
                format!("/{place}/{trip}")
            };
            let entries = self.app.store().holds(trip).await?.entries;
            holds = t.say_with("logs-box-holds", &[("n", entries.into())]);
            brought = self.brought(trip, t).await?;
            aside = self.aside(trip, t).await?;
        }
        let waits = self.place == Place::Helm
            && self.crew.is(Role::Skipper)
            && !aside.is_empty()
            && self.app.notices().all().contains_key(CLASH);
        let settle = waits.then(|| {
            let label = t.say("logs-settled");
            Action::new(label, format!("{url}/settled"), Weight::Plain)
        });
        let page = LogsPage {
            frame,
            url,
            trip: self.trip.map_or_else(String::new, |trip| trip.to_string()),
            holds,
            said,
            brought,
            aside,
            settle,
            back,
            faults,
        };
        answered(&page, page.faults.is_empty())
    }

    async fn brought(&self, trip: TripId, t: &Words) -> Result<Vec<String>, Error> {
        let zone = match self.app.live().snapshot(trip).await? {
            Some(held) => view::zone(&held.state),
            None => self.app.centre_zone().await?,
        };
        let rows = self.app.store().refills(trip).await?;
        let told = rows.into_iter().rev().map(|row| {
            let args = [
                ("at", view::clock_time(row.at, &zone).into()),
                ("name", row.by.name.into()),
                ("new", row.taken.into()),
                ("aside", row.clashes.into()),
            ];
            t.say_with("logs-brought", &args)
        });
        Ok(told.collect())
    }

    async fn aside(&self, trip: TripId, t: &Words) -> Result<Vec<String>, Error> {
        let kept = self.app.store().clashes(trip).await?;
        // What can be kept aside was read before; one that cannot be any more is still counted.
        let told = kept.iter().map(|text| match event::read(text.as_bytes()) {
            Ok((event, _)) => {
                let args = [
                    ("name", event.by.name.into()),
                    ("at", event.at.to_string().into()),
                    ("kind", event.fact.kind().to_owned().into()),
                ];
                t.say_with("logs-aside", &args)
            }
            Err(_) => t.say("logs-aside-unread"),
        });
        Ok(told.collect())
    }
}

/// The trip that a text is of: that of its first line.
fn trip_of(text: &[u8]) -> Result<TripId, Error> {
    let first = text
        .split(|byte| *byte == b'\n')
        .find(|line| !line.trim_ascii().is_empty())
        .unwrap_or_default();
    let read: Option<Value> = serde_json::from_slice(first).ok();
    let trip = read
        .as_ref()
        .and_then(|line| line.pointer("/event/trip")?.as_str());
    trip.and_then(|trip| trip.parse().ok()).ok_or_else(|| {
        let (what, allowed) = (
            "names no trip",
            "the lines of a log, as they were handed over",
        );
        Faults::one("line 1", what, allowed).into()
    })
}

fn said(taken: &TakenIn, t: &Words) -> Vec<String> {
    let (new, repeats, clashes) = taken.refilled.counts();
    let args = [("new", new.into()), ("there", repeats.into())];
    let mut said = vec![t.say_with("logs-taken", &args)];
    if clashes > 0 {
        said.push(t.say_with("logs-clashed", &[("n", clashes.into())]));
    }
    said
}

fn on_the_page(faults: &Faults) -> Vec<FieldFault> {
    let shown = faults.iter().take(MOST_FAULTS).map(|fault| FieldFault {
        field: "text".to_owned(),
        text: fault.to_string(),
    });
    shown.collect()
}
