//! What every page of the helm starts from: the trip as it stands, who asks and when; and the
//! page of one form, which most actions need no more than.

use std::collections::BTreeMap;
use std::sync::Arc;

use askama::Template;
use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::sea::position::Position;
use crate::trip::TripId;
use crate::trip::decide::Decided;
use crate::trip::event::{Activity, Bearing, Entry, Point, Role};
use crate::trip::state::{Person, Phase, State};
use crate::units::system::Measure;
use crate::units::{Distance, SetTowards, bounds};
use crate::web::act::{self, Acted};
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::{Frame, Place};
use crate::web::live::Snapshot;
use crate::web::page::{self, Asked};
use crate::web::parts::{Action, Choice, FieldFault, Weight};
use crate::web::view;
use crate::words::{Arg, Language, Words};

/// What a page of the helm starts from.
#[derive(Clone)]
pub(super) struct Helm {
    pub(super) app: App,
    pub(super) asked: Asked,
    pub(super) crew: Crew,
    pub(super) trip: Arc<Snapshot>,
    pub(super) now: Timestamp,
    pub(super) t: &'static Words,
    /// The helm; or the deck, for the pages that both have.
    place: Place,
    parts: BTreeMap<String, String>,
}

impl Helm {
    /// The same, with the words that are said on the radio.
    pub(super) fn on_the_radio(&self) -> Self {
        Self {
            // It stands on the same screen: in the same units, each with its sign.
            t: Words::with(Language::English, self.t.system()),
            ..self.clone()
        }
    }
}

impl FromRequestParts<App> for Helm {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Error> {
        let Path(named) = Path::<BTreeMap<String, String>>::from_request_parts(parts, app).await?;
        let crew = <Crew as FromRequestParts<App>>::from_request_parts(parts, app).await?;
        let Ok(asked) = Asked::from_request_parts(parts, app).await;
        let id: TripId = part(&named, "trip")?;
        let trip = app.live().snapshot(id).await?.ok_or(Error::NoSuchTrip)?;
        Ok(Self {
            app: app.clone(),
            asked,
            crew,
            trip,
            now: app.clock().now(),
            t: crate::web::language::words(),
            place: if parts.uri.path().starts_with("/deck/") {
                Place::Deck
            } else {
                Place::Helm
            },
            parts: named,
        })
    }
}

fn part<T: std::str::FromStr>(named: &BTreeMap<String, String>, name: &str) -> Result<T, Error> {
    named
        .get(name)
        .and_then(|text| text.parse().ok())
        .ok_or(Error::NotFound)
}

impl Helm {
    /// A part of the path.
    pub(super) fn part<T: std::str::FromStr>(&self, name: &str) -> Result<T, Error> {
        part(&self.parts, name)
    }

    pub(super) fn state(&self) -> &State {
        &self.trip.state
    }

    /// The address of a page of this trip here; empty: the watch list, or the deck's groups.
    pub(super) fn url(&self, page: &str) -> String {
        let trip = self.trip.trip;
        let place = page::place_path(self.place);
        if page.is_empty() {
            format!("/{place}/{trip}")
        } else {
            format!("/{place}/{trip}/{page}")
        }
    }

    pub(super) fn zone(&self) -> TimeZone {
        view::zone(self.state())
    }

    /// `14:05`.
    pub(super) fn time(&self, at: Timestamp) -> String {
        view::clock_time(at, &self.zone())
    }

    /// `14:05, 12 min ago`.
    pub(super) fn aged(&self, at: Timestamp) -> String {
        let minutes = view::watch_minutes(at, self.now);
        let args = [("time", self.time(at).into()), ("minutes", minutes.into())];
        self.t.say_with("helm-at-ago", &args)
    }

    pub(super) fn say(&self, key: &str, args: &[(&str, Arg)]) -> String {
        self.t.say_with(key, args)
    }

    pub(super) fn is_skipper(&self) -> bool {
        self.crew.is(Role::Skipper)
    }

    /// The frame of a page that renews itself.
    pub(super) fn frame(&self) -> Frame {
        page::trip_frame(
            &self.app,
            &self.asked,
            self.place,
            &self.crew,
            &self.trip,
            self.now,
        )
    }

    /// The frame of a page somebody fills in: it does not load itself anew without scripts.
    pub(super) fn still_frame(&self, faults: &[FieldFault]) -> Frame {
        let mut frame = self.frame();
        if let Some(live) = &mut frame.live {
            live.refresh_s = None;
        }
        if !faults.is_empty() {
            frame.title_prefix = frame.t.say("error-prefix");
        }
        frame
    }

    /// A button that acts, with fresh tokens of its own.
    pub(super) fn tap(&self, label: &str, page: &str, weight: Weight) -> Tap {
        let mut action = Action::new(self.t.say(label), self.url(page), weight);
        action.fields = page::tokens(&self.app, &self.trip);
        Tap {
            action,
            leads: false,
        }
    }

    /// A button that leads to a page.
    pub(super) fn go(&self, label: &str, page: &str, weight: Weight) -> Tap {
        Tap {
            action: Action::new(self.t.say(label), self.url(page), weight),
            leads: true,
        }
    }

    /// Acts on the trip. Faults of no field lead to the page as a whole.
    pub(super) async fn act<D>(&self, fields: &Fields, decide: D) -> Result<Acted, Error>
    where
        D: Fn(&State, &[Entry], Timestamp) -> Decided + Clone + Send + Sync + 'static,
    {
        let acted = act::act(&self.app, &self.crew, self.trip.trip, fields, decide).await?;
        Ok(match acted {
            Acted::Done(event) => Acted::Done(event),
            Acted::Refused(mut faults) => {
                for fault in &mut faults {
                    if fault.field.is_empty() {
                        "main".clone_into(&mut fault.field);
                    }
                }
                Acted::Refused(faults)
            }
        })
    }

    /// The same trip as it stands after a refusal: others may have written meanwhile.
    pub(super) async fn again(mut self) -> Result<Self, Error> {
        let id = self.trip.trip;
        self.trip = self
            .app
            .live()
            .snapshot(id)
            .await?
            .ok_or(Error::NoSuchTrip)?;
        self.now = self.app.clock().now();
        Ok(self)
    }

    pub(super) fn to(&self, page: &str) -> Response {
        Redirect::to(&self.url(page)).into_response()
    }

    /// A bearing and range as typed, with the place they give from where the boat is. The outer
    /// `None` is a fault.
    pub(super) fn bearing(&self, fields: &Fields) -> Option<(Option<Bearing>, Option<Position>)> {
        let (bearing, range) = ("bearing", "range");
        if fields.typed(bearing).is_empty() && fields.typed(range).is_empty() {
            return Some((None, None));
        }
        let deg = fields.quantity(bearing, &bounds::DIRECTION_DEG, SetTowards::from_deg);
        let metres = fields.quantity(range, &bounds::DISTANCE_M, Distance::from_m);
        let (bearing_deg, range_m) = (deg?, metres?);
        let place = self
            .state()
            .boat
            .as_ref()
            // From where the boat was a while ago, the place would be wrong and look right.
            .filter(|boat| !boat.is_old(self.now))
            .and_then(|boat| boat.position.along(bearing_deg.deg(), range_m.m()).ok());
        let seen = Bearing {
            bearing_deg,
            range_m,
        };
        Some((Some(seen), place))
    }

    pub(super) fn bearing_pieces(&self, fields: &Fields) -> Vec<Piece> {
        let boat = self.state().boat.as_ref();
        let hint = if boat.is_some_and(|boat| !boat.is_old(self.now)) {
            String::new()
        } else {
            self.t.say("helm-bearing-without-place")
        };
        vec![
            Piece::number(
                "bearing",
                self.t.say("helm-bearing"),
                &self.t.say("degrees-unit"),
                fields,
            )
            .hinted(hint),
            Piece::number(
                "range",
                self.t.say("helm-range"),
                &self.t.sign(Measure::Length),
                fields,
            ),
        ]
    }

    /// One page with one form.
    pub(super) fn form(
        &self,
        title: String,
        page: &str,
        send: &str,
        faults: Vec<FieldFault>,
    ) -> FormPage {
        FormPage {
            frame: self.still_frame(&faults),
            title,
            said: Vec::new(),
            caution: String::new(),
            pieces: Vec::new(),
            send: self.tap(send, page, Weight::Primary).action,
            check: String::new(),
            brings: (String::new(), Vec::new()),
            brings_note: String::new(),
            other: None,
            back: self.url(""),
            faults,
        }
    }

    pub(super) fn people_choices<'a>(
        &self,
        people: impl IntoIterator<Item = &'a Person>,
        field: &str,
        fields: &Fields,
    ) -> Vec<Choice> {
        people
            .into_iter()
            .map(|person| {
                let value = person.id.to_string();
                Choice {
                    chosen: fields.all(field).any(|typed| typed == value),
                    label: person.name().to_owned(),
                    note: self.t.say(view::place_key(person.place)),
                    value,
                }
            })
            .collect()
    }

    /// The line under the strip; of a closed trip, that it is closed. While a blind count is open it shows no figure of people.
    pub(super) fn mast(&self) -> Vec<(String, String)> {
        let state = self.state();
        let watch = self.trip.watch(self.now);
        if state.phase == Phase::Closed {
            return vec![(String::new(), self.t.say("helm-closed"))];
        }
        if state.is_counting() {
            return vec![(String::new(), self.t.say("helm-count-is-open"))];
        }
        let figure = |n: usize, key: &str| (n.to_string(), self.t.say(key));
        vec![
            figure(watch.out, "helm-out"),
            figure(watch.under, "helm-under"),
            figure(watch.aboard, "helm-aboard"),
        ]
    }
}

/// Key of the word for a point.
pub(super) fn point_key(point: Point) -> &'static str {
    match point {
        Point::Departure => "helm-point-departure",
        Point::Leaving => "helm-point-leaving",
        Point::Return => "helm-point-return",
    }
}

/// Whether somebody of the roster works the boat or guides.
pub(super) fn is_crew(person: &Person) -> bool {
    person.card.activity == Activity::Crew
}

/// A button: it acts, or leads to a page.
#[derive(Debug, Clone)]
pub(super) struct Tap {
    pub(super) action: Action,
    pub(super) leads: bool,
}

impl Tap {
    pub(super) fn with(mut self, name: &str, value: impl Into<String>) -> Self {
        self.action = self.action.with(name, value);
        self
    }

    pub(super) fn noted(mut self, note: impl Into<String>) -> Self {
        self.action.note = note.into();
        self
    }
}

/// A field of a form.
#[derive(Debug, Clone)]
pub(super) struct Piece {
    kind: Kind,
    id: String,
    label: String,
    hint: String,
    value: String,
    unit: String,
    choices: Vec<Choice>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Text,
    Secret,
    Lines,
    Number,
    Tiles,
    Checks,
}

impl Piece {
    fn of(kind: Kind, id: &str, label: String, value: &str) -> Self {
        Self {
            kind,
            id: id.to_owned(),
            label,
            hint: String::new(),
            value: value.to_owned(),
            unit: String::new(),
            choices: Vec::new(),
        }
    }

    pub(super) fn text(id: &str, label: String, fields: &Fields) -> Self {
        Self::of(Kind::Text, id, label, fields.typed(id))
    }

    pub(super) fn secret(id: &str, label: String) -> Self {
        Self::of(Kind::Secret, id, label, "")
    }

    pub(super) fn lines(id: &str, label: String, fields: &Fields) -> Self {
        Self::of(Kind::Lines, id, label, fields.typed(id))
    }

    pub(super) fn number(id: &str, label: String, unit: &str, fields: &Fields) -> Self {
        Self {
            unit: unit.to_owned(),
            ..Self::of(Kind::Number, id, label, fields.typed(id))
        }
    }

    pub(super) fn tiles(id: &str, label: String, choices: Vec<Choice>) -> Self {
        Self {
            choices,
            ..Self::of(Kind::Tiles, id, label, "")
        }
    }

    pub(super) fn checks(id: &str, label: String, choices: Vec<Choice>) -> Self {
        Self {
            choices,
            ..Self::of(Kind::Checks, id, label, "")
        }
    }

    pub(super) fn hinted(mut self, hint: String) -> Self {
        self.hint = hint;
        self
    }

    /// Starts with this value, if nothing is typed.
    pub(super) fn or(mut self, value: &str) -> Self {
        if self.value.is_empty() {
            value.clone_into(&mut self.value);
        }
        self
    }

    fn list(&self) -> &[Choice] {
        &self.choices
    }

    fn is(&self, kind: &str) -> bool {
        let own = match self.kind {
            Kind::Text => "text",
            Kind::Secret => "secret",
            Kind::Lines => "lines",
            Kind::Number => "number",
            Kind::Tiles => "tiles",
            Kind::Checks => "checks",
        };
        own == kind
    }
}

/// Choices by the keys of their words; what was typed, or else `first`, is chosen.
pub(super) fn choices(
    t: &Words,
    fields: &Fields,
    field: &str,
    first: &str,
    list: &[(&str, &str)],
) -> Vec<Choice> {
    let typed = fields.typed(field);
    let chosen = if typed.is_empty() { first } else { typed };
    list.iter()
        .map(|(value, key)| Choice {
            value: (*value).to_owned(),
            label: t.say(key),
            note: String::new(),
            chosen: *value == chosen,
        })
        .collect()
}

/// A page with one form.
#[derive(Template)]
#[template(path = "helm/form.html")]
pub(super) struct FormPage {
    pub(super) frame: Frame,
    pub(super) title: String,
    pub(super) said: Vec<String>,
    pub(super) caution: String,
    pub(super) pieces: Vec<Piece>,
    pub(super) send: Action,
    /// A button that says what sending would bring; none, if empty.
    pub(super) check: String,
    /// What the act would bring, below it: heading, and lines of term and value.
    pub(super) brings: (String, Vec<(String, String)>),
    /// What is to be known about that.
    pub(super) brings_note: String,
    /// Another thing to do instead.
    pub(super) other: Option<Tap>,
    pub(super) back: String,
    pub(super) faults: Vec<FieldFault>,
}

impl FormPage {
    /// Drawn: with faults it is a refusal.
    pub(super) fn draw(mut self) -> Result<Response, Error> {
        let ids: Vec<&str> = self.pieces.iter().map(|piece| piece.id.as_str()).collect();
        lead_to(&mut self.faults, &ids);
        page::answered(&self, self.faults.is_empty())
    }
}

/// A fault of a field that is not on the page leads to the page as a whole.
pub(super) fn lead_to(faults: &mut [FieldFault], ids: &[&str]) {
    for fault in faults {
        if !ids.contains(&fault.field.as_str()) {
            "main".clone_into(&mut fault.field);
        }
    }
}
