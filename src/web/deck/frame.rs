//! What every page of the deck stands on: the trip as it is, who asks, and the bar that says
//! what was just logged.

use std::collections::BTreeMap;
use std::sync::Arc;

use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};
use serde::Deserialize;

use super::history;
use crate::sea::position::Position;
use crate::trip::TripId;
use crate::trip::decide::{self, Decided};
use crate::trip::event::{Bearing, Entry, EventId, Fact, GroupId, PersonId};
use crate::trip::state::{Group, Person, State};
use crate::units::{Distance, SetTowards, bounds};
use crate::web::act::{self, Acted};
use crate::web::app::App;
use crate::web::carried::carried;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::{Frame, Place};
use crate::web::live::Snapshot;
use crate::web::page::{self, Asked};
use crate::web::parts::{Action, FieldFault, Weight};
use crate::web::view;
use crate::words::Words;

/// How long one's own last tap can be taken back.
const UNDO: SignedDuration = SignedDuration::from_secs(60);

/// What was just done, as the address of a page carries it.
#[derive(Debug, Default, Deserialize)]
pub(super) struct Did {
    /// The event.
    pub did: Option<String>,
}

/// The deck of one trip.
pub(super) struct Deck {
    pub app: App,
    pub crew: Crew,
    pub asked: Asked,
    pub trip: Arc<Snapshot>,
    pub now: Timestamp,
    pub zone: TimeZone,
    pub t: &'static Words,
}

/// What was just logged, with its undoing while that is possible.
pub(super) struct Logged {
    pub text: String,
    pub undo: Option<Action>,
    pub until: String,
}

impl FromRequestParts<App> for Deck {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Error> {
        let Path(named) = Path::<BTreeMap<String, String>>::from_request_parts(parts, app).await?;
        let crew = <Crew as FromRequestParts<App>>::from_request_parts(parts, app).await?;
        let Ok(asked) = Asked::from_request_parts(parts, app).await;
        let trip = named
            .get("trip")
            .and_then(|id| id.parse().ok())
            .ok_or(Error::NotFound)?;
        Self::open(app.clone(), crew, asked, trip).await
    }
}

impl Deck {
    /// The trip as of its last entry.
    pub(super) async fn open(
        app: App,
        crew: Crew,
        asked: Asked,
        trip: TripId,
    ) -> Result<Self, Error> {
        let trip = app.live().snapshot(trip).await?.ok_or(Error::NoSuchTrip)?;
        let now = app.clock().now();
        let zone = view::zone(&trip.state);
        Ok(Self {
            app,
            crew,
            asked,
            trip,
            now,
            zone,
            t: crate::web::language::words(),
        })
    }

    /// The state.
    pub(super) fn state(&self) -> &State {
        &self.trip.state
    }

    /// A group of the trip.
    pub(super) fn group(&self, id: GroupId) -> Result<&Group, Error> {
        self.state().groups.get(&id).ok_or(Error::NotFound)
    }

    /// A person of the roster.
    pub(super) fn person(&self, id: PersonId) -> Result<&Person, Error> {
        self.state().people.get(&id).ok_or(Error::NotFound)
    }

    /// An address below the deck of this trip.
    pub(super) fn path(&self, rest: &str) -> String {
        format!("/deck/{}{rest}", self.trip.trip)
    }

    /// The address of a group.
    pub(super) fn group_path(&self, group: GroupId) -> String {
        self.path(&format!("/group/{group}"))
    }

    /// The frame of a page that renews itself.
    pub(super) fn frame(&self) -> Frame {
        page::trip_frame(
            &self.app,
            &self.asked,
            Place::Deck,
            &self.crew,
            &self.trip,
            self.now,
        )
    }

    /// The frame of a page with something to type: without scripts it would lose that when it
    /// loads itself again.
    pub(super) fn still_frame(&self) -> Frame {
        let mut frame = self.frame();
        if let Some(live) = &mut frame.live {
            live.refresh_s = None;
        }
        frame
    }

    /// The frame of a form that was refused.
    pub(super) fn frame_of(&self, faults: &[FieldFault]) -> Frame {
        let mut frame = self.still_frame();
        if !faults.is_empty() {
            frame.title_prefix = self.t.say("error-prefix");
        }
        frame
    }

    /// Hidden fields of a form.
    pub(super) fn tokens(&self) -> Vec<(String, String)> {
        page::tokens(&self.app, &self.trip)
    }

    /// Something to do with one tap.
    pub(super) fn action(&self, label: String, url: String, weight: Weight) -> Action {
        let mut action = Action::new(label, url, weight);
        action.fields = self.tokens();
        action
    }

    /// Decides and appends.
    pub(super) async fn act<D>(&self, fields: &Fields, decide: D) -> Result<Acted, Error>
    where
        D: Fn(&State, &[Entry], Timestamp) -> Decided + Clone + Send + Sync + 'static,
    {
        act::act(&self.app, &self.crew, self.trip.trip, fields, decide).await
    }

    /// Decides about a group's plan with what its members dived on other trips, and appends that
    /// too where this trip's log does not tell it.
    pub(super) async fn act_on_plan<D>(
        &self,
        fields: &Fields,
        group: GroupId,
        decide: D,
    ) -> Result<Acted, Error>
    where
        D: Fn(&State, Timestamp) -> Decided + Clone + Send + Sync + 'static,
    {
        let carried = carried(&self.app, &self.trip, self.now).await?;
        let carried = carried.of(self.group(group)?.members());
        self.act(fields, move |state, _, now| {
            decide::carrying(state, &carried, |state| decide(state, now))
        })
        .await
    }

    /// `14:05`.
    pub(super) fn clock(&self, at: Timestamp) -> String {
        view::clock_time(at, &self.zone)
    }

    /// What the address says was just done, if it was done here and within the last minute.
    pub(super) fn logged(&self, did: &Did) -> Option<Logged> {
        let id: EventId = did.did.as_deref()?.parse().ok()?;
        let entry = self.trip.entries.iter().find(|e| e.event.id == id)?;
        let made = entry.event.at.max(entry.receipt.made_at());
        let until = made.saturating_add(UNDO).ok()?;
        let own = entry.event.device == self.crew.0.device;
        let mended = history::mended(&self.trip.entries, id).is_some();
        if !own || mended || until <= self.now {
            return None;
        }
        let undo = (!matches!(entry.event.fact, Fact::Voided(_))).then(|| {
            let label = self.t.say("undo");
            self.action(label, self.path("/undo"), Weight::Plain)
                .with("event", id.to_string())
        });
        Some(Logged {
            text: history::words(entry, &self.trip, self.t),
            undo,
            until: view::with_offset(until, &self.zone),
        })
    }
}

/// Back to a page that says what was done.
pub(super) fn done(path: &str, event: EventId) -> Response {
    Redirect::to(&format!("{path}?did={event}")).into_response()
}

/// Faults whose field is not on the page lead to the page itself.
pub(super) fn anchored(faults: Vec<FieldFault>, on_page: &[&str]) -> Vec<FieldFault> {
    let mut faults = faults;
    for fault in &mut faults {
        if !on_page.contains(&fault.field.as_str()) {
            "main".clone_into(&mut fault.field);
        }
    }
    faults
}

/// Where something was seen: typed as a position, or taken from the boat.
#[derive(Debug, Clone)]
pub(super) struct Spot {
    typed: Option<Position>,
    pub from_boat: Option<Bearing>,
}

impl Spot {
    /// Reads `lat`, `lon`, `bearing` and `range`; none of them need be there.
    pub(super) fn read(fields: &Fields) -> Option<Self> {
        let typed = fields.position("lat", "lon");
        let bearing =
            fields.optional_quantity("bearing", &bounds::DIRECTION_DEG, SetTowards::from_deg);
        let range = fields.optional_quantity("range", &bounds::DISTANCE_M, Distance::from_m);
        let (typed, bearing, range) = (typed?, bearing?, range?);
        let from_boat = match (bearing, range) {
            (Some(bearing_deg), Some(range_m)) => Some(Bearing {
                bearing_deg,
                range_m,
            }),
            (None, None) => None,
            (Some(_), None) => {
                fields.fault("range", "fault-empty", &[]);
                return None;
            }
            (None, Some(_)) => {
                fields.fault("bearing", "fault-empty", &[]);
                return None;
            }
        };
        Some(Self { typed, from_boat })
    }

    /// The position: as typed, or laid off from where the boat is known to be. Without a
    /// known place of the boat the bearing stands alone; no place is invented for it.
    pub(super) fn place(&self, state: &State) -> Option<Position> {
        self.typed.or_else(|| {
            let taken = self.from_boat.as_ref()?;
            let boat = state.boat.as_ref()?.position;
            boat.along(taken.bearing_deg.deg(), taken.range_m.m()).ok()
        })
    }
}
