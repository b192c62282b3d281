//! One person of the roster: changed, left ashore, or coming after all.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use crate::store::register::Person as Registered;
use crate::trip::TripId;
use crate::trip::decide;
use crate::trip::event::{Activity, PersonCard, PersonId};
use crate::trip::state::{Phase, Place};
use crate::units::system::Measure;
use crate::web::act::{Acted, act};
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::{Fields, LONGEST_REASON};
use crate::web::frame::Frame;
use crate::web::page::{Asked, html, refused};
use crate::web::parts::{Choice, FieldFault};

use super::Here;
use super::csv::{ACTIVITIES, FITNESS, Typed};
use super::form::{Shown, lead};
use super::roster::{activities, as_registered, fitness};

#[derive(Template)]
#[template(path = "desk/roster-one.html")]
struct OnePage {
    frame: Frame,
    title: String,
    url: String,
    id: String,
    name: String,
    coming: bool,
    may_stay: bool,
    f: Shown,
    activities: Vec<Choice>,
    fitness: Vec<Choice>,
    in_register: bool,
    /// How a minor stands for whom somebody agreed or decided; empty for everybody else.
    minor: String,
    /// That nobody did; empty for everybody else.
    lacking: String,
    /// Dives told of before the trip, in words.
    earlier: Vec<String>,
}

async fn draw_one(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    here: &Here,
    id: PersonId,
    f: Shown,
) -> Result<OnePage, Error> {
    let state = &here.snap.state;
    let person = state.people.get(&id).ok_or(Error::NotFound)?;
    let found = crate::web::minors::on_trip(app, state).await?;
    let minor = found.minors.iter().find(|one| one.person == id);
    let (minor, lacking) = match minor.map(|one| crate::web::minors::words(one, here.t)) {
        Some((said, true)) => (String::new(), said),
        Some((said, false)) => (said, String::new()),
        None => Default::default(),
    };
    let mut frame = here.frame_to_fill(app, asked, crew);
    f.mark(&mut frame);
    Ok(OnePage {
        minor,
        lacking,
        title: here.title(),
        url: format!("/desk/{}/roster", here.trip),
        id: id.to_string(),
        name: person.card.name.clone(),
        coming: person.coming,
        may_stay: person.place == Place::Ashore || state.phase == Phase::AtQuay,
        activities: activities(&f, here.t),
        fitness: fitness(&f, here.t),
        in_register: app.store().person(id).await?.is_some(),
        earlier: person
            .earlier
            .iter()
            .map(|dive| super::tell::earlier_dive(here, dive))
            .collect(),
        frame,
        f,
    })
}

/// One person of the roster.
pub async fn one(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, id)): Path<(TripId, PersonId)>,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    let card = here
        .snap
        .state
        .people
        .get(&id)
        .map(|p| p.card.clone())
        .ok_or(Error::NotFound)?;
    let f = with_card(Shown::of_trip(&app, &here.snap), &card);
    html(&draw_one(&app, &asked, &crew, &here, id, f).await?)
}

fn with_card(f: Shown, card: &PersonCard) -> Shown {
    let t = crate::web::language::words();
    let word = |activity: Activity| {
        ACTIVITIES
            .iter()
            .find(|(_, a)| *a == activity)
            .map_or("", |(word, _)| *word)
    };
    let fit = FITNESS
        .iter()
        .find(|(_, fit)| *fit == card.fitness)
        .map_or("", |(word, _)| *word);
    f.with("name", card.name.as_str())
        .with("activity", word(card.activity))
        .with("level", card.level.as_str())
        .with(
            "limit",
            card.depth_limit_m
                .map_or_else(String::new, |d| t.field(Measure::Limit, d.m())),
        )
        .with("fitness", fit)
        .with(
            "last_dive",
            card.last_dive
                .map_or_else(String::new, |day| day.to_string()),
        )
}

/// The card typed into a form of several fields.
pub(super) fn typed_card(fields: &Fields) -> Option<PersonCard> {
    let typed = Typed {
        name: fields.typed("name"),
        level: fields.typed("level"),
        limit: fields.typed("limit"),
        limit_in: fields.units(),
        activity: fields.typed("activity"),
        last_dive: fields.typed("last_dive"),
        fitness: fields.typed("fitness"),
    };
    match typed.card(crate::web::language::words()) {
        Ok(card) => Some(card),
        Err(bad) => {
            for (field, why) in bad {
                fields.fault(field, "fault-said", &[("why", why.into())]);
            }
            None
        }
    }
}

/// Changes what is known of a person, on the roster and in the register.
pub async fn change(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, id)): Path<(TripId, PersonId)>,
    fields: Fields,
) -> Result<Response, Error> {
    let mut faults = Vec::new();
    if let Some(card) = typed_card(&fields) {
        let said = card.clone();
        let decided = move |state: &_, _: &[_], _| decide::change_person(state, id, said.clone());
        match act(&app, &crew, trip, &fields, decided).await? {
            Acted::Done(_) => {
                if let Some(known) = app.store().person(id).await? {
                    let changed = Registered {
                        breathing: known.breathing,
                        born: known.born,
                        archived: known.archived,
                        ..as_registered(id, &card)
                    };
                    app.store().save_person(&changed).await?;
                }
                return Ok(Redirect::to(&format!("/desk/{trip}/roster")).into_response());
            }
            Acted::Refused(why) => faults = why,
        }
    }
    refuse_one(&app, &asked, &crew, (trip, id), &fields, faults).await
}

pub(super) async fn refuse_one(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    (trip, id): (TripId, PersonId),
    fields: &Fields,
    faults: Vec<FieldFault>,
) -> Result<Response, Error> {
    let here = Here::load(app, trip).await?;
    let mut all = fields.faults();
    all.extend(lead(faults, &[("person", "main")]));
    let mut f = Shown::of_trip(app, &here.snap).refused(fields, all);
    if fields.typed("name").is_empty()
        && fields.typed("activity").is_empty()
        && let Some(person) = here.snap.state.people.get(&id)
    {
        // The other form of the page was sent: this one shows what is known.
        f = with_card(f, &person.card);
    }
    refused(&draw_one(app, asked, crew, &here, id, f).await?)
}

/// A person stays ashore.
pub async fn not_coming(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, id)): Path<(TripId, PersonId)>,
    fields: Fields,
) -> Result<Response, Error> {
    let acted = match fields.or_empty("reason", LONGEST_REASON) {
        Some(reason) => {
            let decided = move |state: &_, _: &[_], _| decide::not_coming(state, id, &reason);
            act(&app, &crew, trip, &fields, decided).await?
        }
        None => Acted::Refused(fields.faults()),
    };
    match acted {
        Acted::Done(_) => Ok(Redirect::to(&format!("/desk/{trip}/roster")).into_response()),
        Acted::Refused(why) => {
            let faults = lead(why, &[("person", "reason")]);
            refuse_one(&app, &asked, &crew, (trip, id), &fields, faults).await
        }
    }
}

/// A person who was to stay ashore comes after all.
pub async fn coming(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, id)): Path<(TripId, PersonId)>,
    fields: Fields,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    let card = here
        .snap
        .state
        .people
        .get(&id)
        .map(|p| p.card.clone())
        .ok_or(Error::NotFound)?;
    let both = fields.ticked("both");
    let decided = move |state: &_, _: &[_], _| decide::join(state, id, card.clone(), both);
    match act(&app, &crew, trip, &fields, decided).await? {
        Acted::Done(_) => Ok(Redirect::to(&format!("/desk/{trip}/roster")).into_response()),
        Acted::Refused(why) => refuse_one(&app, &asked, &crew, (trip, id), &fields, why).await,
    }
}
