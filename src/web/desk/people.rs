//! People of the register, and whom to call for them, which is kept apart from every log.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use serde::Deserialize;

use crate::store::register::{Contact, Person};
use crate::trip::event::{Fitness, PersonId};
use crate::units::{LitresPerMinute, bounds};
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path, Query};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{Asked, html, refused};
use crate::web::parts::Choice;

use super::csv::{FITNESS, Typed};
use super::form::Shown;
use super::{figure, roster};

/// Most people shown at once.
const MOST_FOUND: u32 = 200;

#[derive(Template)]
#[template(path = "desk/people.html")]
struct PeoplePage {
    frame: Frame,
    f: Shown,
    find: String,
    rows: Vec<Row>,
    fitness: Vec<Choice>,
}

struct Row {
    id: String,
    name: String,
    level: String,
    limit: String,
    last_dive: String,
    restricted: bool,
}

/// What is looked for.
#[derive(Debug, Default, Deserialize)]
pub struct Find {
    #[serde(default)]
    find: String,
}

async fn draw(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    find: &str,
    f: Shown,
) -> Result<PeoplePage, Error> {
    let rows = app.store().find_people(find, MOST_FOUND).await?;
    let mut frame = super::frame(app, asked, crew);
    f.mark(&mut frame);
    Ok(PeoplePage {
        find: find.to_owned(),
        rows: rows
            .into_iter()
            .map(|person| Row {
                id: person.id.to_string(),
                limit: person
                    .depth_limit
                    .map_or_else(String::new, |d| format!("{}\u{a0}m", figure(d.m()))),
                last_dive: person
                    .last_dive
                    .map_or_else(String::new, |day| day.to_string()),
                restricted: person.fitness == Fitness::Restricted,
                name: person.name,
                level: person.level,
            })
            .collect(),
        fitness: roster::fitness(&f, frame.t),
        frame,
        f,
    })
}

/// The people there are, or those who are looked for.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Query(find): Query<Find>,
) -> Result<Response, Error> {
    let f = Shown::plain(&app).with("fitness", "cleared");
    html(&draw(&app, &asked, &crew, find.find.trim(), f).await?)
}

/// A person as typed; a limit may be left open here, as not everybody dives.
fn typed(fields: &Fields, id: PersonId) -> Option<Person> {
    let card = Typed {
        name: fields.typed("name"),
        level: fields.typed("level"),
        limit: fields.typed("limit"),
        activity: "passenger",
        last_dive: fields.typed("last_dive"),
        fitness: fields.typed("fitness"),
    }
    .card(crate::words::Words::english());
    let breathing = fields.optional_quantity(
        "breathing",
        &bounds::BREATHING_L_MIN,
        LitresPerMinute::from_l_min,
    );
    match card {
        Ok(card) => Some(Person {
            breathing: breathing?,
            archived: fields.ticked("archived"),
            ..roster::as_registered(id, &card)
        }),
        Err(bad) => {
            for (field, why) in bad {
                fields.fault(field, "fault-said", &[("why", why.into())]);
            }
            None
        }
    }
}

/// A new person.
pub async fn add(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    fields: Fields,
) -> Result<Response, Error> {
    let id = PersonId::new(super::numbered(&fields, 0)?);
    let person = typed(&fields, id);
    if let Some(person) = person.filter(|_| fields.is_sound()) {
        app.store().save_person(&person).await?;
        return Ok(Redirect::to(&format!("/desk/people/{id}")).into_response());
    }
    let f = Shown::plain(&app).refused(&fields, fields.faults());
    refused(&draw(&app, &asked, &crew, "", f).await?)
}

#[derive(Template)]
#[template(path = "desk/person.html")]
struct PersonPage {
    frame: Frame,
    id: String,
    name: String,
    f: Shown,
    fitness: Vec<Choice>,
    has_contact: bool,
    contact: Option<Contact>,
}

async fn draw_one(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    person: &Person,
    f: Shown,
    contact: Option<Contact>,
) -> Result<PersonPage, Error> {
    let held = app.store().contact(person.id).await?;
    let mut frame = super::frame(app, asked, crew);
    f.mark(&mut frame);
    Ok(PersonPage {
        id: person.id.to_string(),
        name: person.name.clone(),
        fitness: roster::fitness(&f, frame.t),
        has_contact: held.is_some(),
        contact,
        frame,
        f,
    })
}

fn shown(app: &App, person: &Person) -> Shown {
    let fit = FITNESS
        .iter()
        .find(|(_, fit)| *fit == person.fitness)
        .map_or("", |(word, _)| *word);
    let f = Shown::plain(app)
        .with("name", person.name.as_str())
        .with("level", person.level.as_str())
        .with("fitness", fit)
        .with(
            "limit",
            person
                .depth_limit
                .map_or_else(String::new, |d| figure(d.m())),
        )
        .with(
            "last_dive",
            person
                .last_dive
                .map_or_else(String::new, |day| day.to_string()),
        )
        .with(
            "breathing",
            person
                .breathing
                .map_or_else(String::new, |b| figure(b.l_min())),
        );
    if person.archived {
        f.with("archived", "yes")
    } else {
        f
    }
}

async fn held(app: &App, id: PersonId) -> Result<Person, Error> {
    app.store().person(id).await?.ok_or(Error::NotFound)
}

/// One person; the contact stays sealed.
pub async fn one(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<PersonId>,
) -> Result<Response, Error> {
    let person = held(&app, id).await?;
    let f = shown(&app, &person);
    html(&draw_one(&app, &asked, &crew, &person, f, None).await?)
}

/// The contact opened: who opened it stands in the audit first.
pub async fn open_contact(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<PersonId>,
) -> Result<Response, Error> {
    let person = held(&app, id).await?;
    let what = format!("opened the contact of {id}");
    app.store()
        .audit(Some(crew.0.crew), Some(crew.0.device), &what)
        .await?;
    let contact = app.store().contact(id).await?;
    let f = shown(&app, &person);
    html(&draw_one(&app, &asked, &crew, &person, f, contact).await?)
}

/// Changes a person.
pub async fn save(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<PersonId>,
    fields: Fields,
) -> Result<Response, Error> {
    let before = held(&app, id).await?;
    let person = typed(&fields, id);
    if let Some(person) = person.filter(|_| fields.is_sound()) {
        app.store().save_person(&person).await?;
        return Ok(Redirect::to("/desk/people").into_response());
    }
    let f = Shown::plain(&app).refused(&fields, fields.faults());
    refused(&draw_one(&app, &asked, &crew, &before, f, None).await?)
}

/// Writes whom to call, or forgets it where all is left empty.
pub async fn save_contact(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<PersonId>,
    fields: Fields,
) -> Result<Response, Error> {
    let person = held(&app, id).await?;
    let contact = roster::contact(&fields, "contact-");
    if !fields.is_sound() {
        let mut f = shown(&app, &person);
        for (name, value) in fields.pairs() {
            f = f.with(name, value.as_str());
        }
        f.faults = fields.faults();
        return refused(&draw_one(&app, &asked, &crew, &person, f, None).await?);
    }
    match contact {
        Some(contact) => app.store().save_contact(id, &contact).await?,
        None => {
            app.store().remove_contact(id).await?;
        }
    }
    Ok(Redirect::to(&format!("/desk/people/{id}")).into_response())
}
