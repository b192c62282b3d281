//! Dives of the day before a trip, told at the desk: one line a dive, read with every fault
//! beside its field.

use askama::Template;
use axum::extract::State as Shared;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::{SignedDuration, Timestamp};

use crate::trip::TripId;
use crate::trip::decide::{self, MOST_EARLIER};
use crate::trip::event::{PersonId, ToldDive};
use crate::trip::state::Person;
use crate::units::system::Measure;
use crate::units::{Depth, Minutes, OxygenFraction, bounds};
use crate::web::act::{Acted, act};
use crate::web::app::App;
use crate::web::carried::day_begins;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{Asked, html, refused};

use super::form::Shown;
use super::{Here, figure};

/// Empty lines that are offered beside the dives told already.
const EMPTY_LINES: usize = 2;

/// A clock that is a little ahead says no dive that lies ahead.
const AHEAD: SignedDuration = SignedDuration::from_secs(60);

#[derive(Template)]
#[template(path = "desk/earlier.html")]
struct EarlierPage {
    frame: Frame,
    title: String,
    url: String,
    name: String,
    f: Shown,
    lines: Vec<Line>,
}

/// A dive as it is typed.
struct Line {
    nth: String,
    number: usize,
    source: String,
}

/// What a told dive looks like in its line.
fn typed_of(here: &Here, dive: &ToldDive) -> [(&'static str, String); 4] {
    let up = dive.surfaced_at.to_zoned_datetime(here.zone.clone());
    [
        ("depth", here.t.field(Measure::Depth, dive.depth_m.m())),
        ("minutes", figure(dive.minutes.min())),
        ("oxygen", figure(dive.oxygen.fraction() * 100.0)),
        ("up", up.strftime("%Y-%m-%d %H:%M").to_string()),
    ]
}

fn lines(told: &[ToldDive], f: &Shown) -> Vec<Line> {
    let typed = (0..MOST_EARLIER).rev().find(|nth| {
        !f.v(&format!("depth-{nth}")).is_empty() || !f.v(&format!("up-{nth}")).is_empty()
    });
    let shown = told.len().max(typed.map_or(0, |nth| nth + 1)) + EMPTY_LINES;
    (0..shown.min(MOST_EARLIER.max(told.len())))
        .map(|nth| Line {
            nth: nth.to_string(),
            number: nth + 1,
            source: told
                .get(nth)
                .map_or_else(String::new, |dive| dive.source.clone()),
        })
        .collect()
}

fn person(here: &Here, id: PersonId) -> Result<&Person, Error> {
    here.state().people.get(&id).ok_or(Error::NotFound)
}

fn draw(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    here: &Here,
    person: &Person,
    f: Shown,
) -> EarlierPage {
    let mut frame = here.frame_to_fill(app, asked, crew);
    f.mark(&mut frame);
    EarlierPage {
        title: here.title(),
        url: format!("/desk/{}/roster/{}", here.trip, person.id),
        name: person.name().to_owned(),
        lines: lines(&person.earlier, &f),
        frame,
        f,
    }
}

/// What is told of a person, each dive a line; what is carried over from other trips stands
/// there too, and is told with the rest once it is saved.
pub async fn page(
    Shared(app): Shared<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, id)): Path<(TripId, PersonId)>,
) -> Result<Response, Error> {
    let here = Here::to_plan(&app, trip).await?;
    let person = person(&here, id)?;
    let mut f = Shown::of_trip(&app, &here.snap);
    for (nth, dive) in person.earlier.iter().enumerate() {
        for (name, value) in typed_of(&here, dive) {
            f = f.with(&format!("{name}-{nth}"), value);
        }
    }
    html(&draw(&app, &asked, &crew, &here, person, f))
}

/// Tells the dives as typed; a line that is emptied is told no more.
pub async fn save(
    Shared(app): Shared<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, id)): Path<(TripId, PersonId)>,
    fields: Fields,
) -> Result<Response, Error> {
    let here = Here::to_plan(&app, trip).await?;
    let person = person(&here, id)?;
    let dives = read(&here, &fields, &person.earlier, &crew.0.name);
    let mut faults = fields.faults();
    if faults.is_empty() {
        let begins = day_begins(here.state(), &here.zone, here.now);
        let decided = move |state: &_, _: &[_], now| {
            decide::tell_earlier(state, id, dives.clone(), begins, now)
        };
        match act(&app, &crew, trip, &fields, decided).await? {
            Acted::Done(_) => {
                let there = format!("/desk/{trip}/roster/{id}");
                return Ok(Redirect::to(&there).into_response());
            }
            Acted::Refused(why) => faults = why,
        }
    }
    let f = Shown::of_trip(&app, &here.snap).refused(&fields, faults);
    refused(&draw(&app, &asked, &crew, &here, person, f))
}

/// The dives that are typed, each with the line it stands in.
fn read(here: &Here, fields: &Fields, told: &[ToldDive], teller: &str) -> Vec<(usize, ToldDive)> {
    let mut dives = Vec::new();
    for nth in 0..MOST_EARLIER.max(told.len()) {
        let named = |name: &str| format!("{name}-{nth}");
        let is_empty = ["depth", "minutes", "up"]
            .iter()
            .all(|name| fields.typed(&named(name)).is_empty());
        if is_empty {
            continue;
        }
        // Untouched, a dive stays as exact as it was told.
        let untouched = told.get(nth).filter(|dive| {
            typed_of(here, dive)
                .iter()
                .all(|(name, value)| fields.typed(&named(name)) == value)
        });
        let dive = untouched
            .cloned()
            .or_else(|| one(here, fields, named, teller));
        dives.extend(dive.map(|dive| (nth, dive)));
    }
    dives
}

fn one(
    here: &Here,
    fields: &Fields,
    named: impl Fn(&str) -> String,
    teller: &str,
) -> Option<ToldDive> {
    let depth = fields.quantity(&named("depth"), &bounds::DEPTH_M, Depth::from_m);
    let minutes = fields.quantity(&named("minutes"), &bounds::LEVEL_MIN, Minutes::from_min);
    let oxygen = fields.quantity(&named("oxygen"), &bounds::OXYGEN_PCT, |pct| {
        OxygenFraction::from_fraction(pct / 100.0)
    });
    let up = fields.happened_at(&named("up"), &here.zone, here.now);
    if up == Some(None) {
        fields.fault(&named("up"), "fault-empty", &[]);
    }
    Some(ToldDive {
        depth_m: depth?,
        minutes: minutes?,
        oxygen: oxygen?,
        surfaced_at: last_such(here, fields.typed(&named("up")), up??),
        source: teller.to_owned(),
    })
}

/// A time of day without a date is the last such time, and none that lies ahead.
fn last_such(here: &Here, typed: &str, at: Timestamp) -> Timestamp {
    let lies_ahead = at.duration_since(here.now) > AHEAD;
    if !lies_ahead || typed.contains('-') {
        return at;
    }
    let before = at
        .to_zoned_datetime(here.zone.clone())
        .yesterday()
        .map(|zoned| zoned.timestamp());
    before.unwrap_or(at)
}
