//! People of the register, and whom to call for them, which is kept apart from every log.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::civil::Date;
use serde::Deserialize;

use crate::store::crew::AuditKind;
use crate::store::register::{Contact, Person};
use crate::store::{SealError, StoreError};
use crate::trip::event::{Fitness, PersonId, Role};
use crate::units::system::Measure;
use crate::units::{LitresPerMinute, bounds};
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path, Query};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{Asked, html, refused};
use crate::web::parts::Choice;
use crate::web::reason;

use super::consents::OfPerson;
use super::csv::{FITNESS, Typed};
use super::form::Shown;
use super::roster;

/// Most people shown at once.
const MOST_FOUND: u32 = 200;
/// The earliest day of birth that is no slip.
pub(super) const OLDEST: Date = Date::constant(1900, 1, 1);

#[derive(Template)]
#[template(path = "desk/people.html")]
struct PeoplePage {
    frame: Frame,
    f: Shown,
    find: String,
    rows: Vec<Row>,
    fitness: Vec<Choice>,
    office: bool,
}

struct Row {
    id: String,
    name: String,
    contact: bool,
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
    let given = app.store().contacts_given().await?;
    let mut frame = super::frame(app, asked, crew);
    f.mark(&mut frame);
    Ok(PeoplePage {
        find: find.to_owned(),
        rows: rows
            .into_iter()
            .map(|person| Row {
                contact: given.contains(&person.id),
                id: person.id.to_string(),
                limit: person
                    .depth_limit
                    .map_or_else(String::new, |d| frame.t.told(Measure::Limit, d.m())),
                last_dive: person
                    .last_dive
                    .map_or_else(String::new, |day| day.to_string()),
                restricted: person.fitness == Fitness::Restricted,
                name: person.name,
                level: person.level,
            })
            .collect(),
        fitness: roster::fitness(&f, frame.t),
        office: crew.is(Role::Desk),
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
fn typed(fields: &Fields, id: PersonId, today: Date) -> Option<Person> {
    let card = Typed {
        name: fields.typed("name"),
        level: fields.typed("level"),
        limit: fields.typed("limit"),
        limit_in: fields.units(),
        activity: "passenger",
        last_dive: fields.typed("last_dive"),
        fitness: fields.typed("fitness"),
    }
    .card(crate::web::language::words());
    let breathing = fields.optional_quantity(
        "breathing",
        &bounds::BREATHING_L_MIN,
        LitresPerMinute::from_l_min,
    );
    let born = fields.optional_day("born", OLDEST..=today, "fault-born");
    match card {
        Ok(card) => Some(Person {
            breathing: breathing?,
            born: born?,
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
    let person = typed(&fields, id, super::today(&app).await?);
    if let Some(person) = person.filter(|_| fields.is_sound()) {
        app.store().save_person(&person).await?;
        return Ok(Redirect::to(&format!("/desk/people/{id}")).into_response());
    }
    let f = Shown::plain(&app).refused(&fields, fields.faults());
    refused(&draw(&app, &asked, &crew, "", f).await?)
}

#[derive(Template)]
#[template(path = "desk/person.html")]
pub(super) struct PersonPage {
    frame: Frame,
    id: String,
    name: String,
    f: Shown,
    fitness: Vec<Choice>,
    has_contact: bool,
    contact: Option<Contact>,
    /// Why a contact cannot be opened, and what to do; empty if it can.
    key: String,
    reasons: Vec<Choice>,
    office: bool,
    merged: Vec<String>,
    consent: OfPerson,
}

pub(super) async fn draw_one(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    person: &Person,
    f: Shown,
    contact: Option<Contact>,
) -> Result<PersonPage, Error> {
    let store = app.store();
    let mut frame = super::frame(app, asked, crew);
    f.mark(&mut frame);
    let typed = Fields::of(vec![(
        reason::CHOSEN.to_owned(),
        f.v(reason::CHOSEN).to_owned(),
    )]);
    Ok(PersonPage {
        id: person.id.to_string(),
        name: person.name.clone(),
        fitness: roster::fitness(&f, frame.t),
        has_contact: store.has_contact(person.id).await?,
        contact,
        key: cannot_open(app).await?,
        reasons: reason::choices(&typed, frame.t),
        office: crew.is(Role::Desk),
        merged: super::doubles::told(app, person, frame.t).await?,
        consent: super::consents::of_person(app, person, &f, frame.t).await?,
        frame,
        f,
    })
}

/// What to do about a key file that opens nothing; empty if it does.
pub(super) async fn cannot_open(app: &App) -> Result<String, Error> {
    match app.store().can_open_contacts().await {
        Ok(()) => Ok(String::new()),
        Err(StoreError::Sealed(error)) => Ok(told(&error)),
        Err(error) => Err(error.into()),
    }
}

fn told(error: &SealError) -> String {
    tracing::error!(error = ?error, "contacts cannot be opened");
    let args = [("state", error.word().into())];
    crate::web::language::words().say_with("contact-cannot-open", &args)
}

/// Refuses a contact that could not be sealed, before anything is written.
pub(super) async fn can_seal(app: &App, fields: &Fields, field: &str) -> Result<(), Error> {
    let why = cannot_open(app).await?;
    if !why.is_empty() {
        fields.fault(field, "fault-said", &[("why", why.into())]);
    }
    Ok(())
}

pub(super) fn shown(app: &App, person: &Person) -> Shown {
    let fit = FITNESS
        .iter()
        .find(|(_, fit)| *fit == person.fitness)
        .map_or("", |(word, _)| *word);
    let t = crate::web::language::words();
    let f = Shown::plain(app)
        .with("name", person.name.as_str())
        .with("level", person.level.as_str())
        .with("fitness", fit)
        .with(
            "limit",
            person
                .depth_limit
                .map_or_else(String::new, |d| t.field(Measure::Limit, d.m())),
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
                .map_or_else(String::new, |b| t.field(Measure::Rate, b.l_min())),
        )
        .with(
            "born",
            person.born.map_or_else(String::new, |day| day.to_string()),
        );
    if person.archived {
        f.with("archived", "yes")
    } else {
        f
    }
}

/// A person of the register.
pub(super) async fn held(app: &App, id: PersonId) -> Result<Person, Error> {
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
    if person.id != id {
        // A number that was merged leads to the entry that remained.
        return Ok(Redirect::to(&format!("/desk/people/{}", person.id)).into_response());
    }
    let f = shown(&app, &person).with("seen_by", crew.0.name.as_str());
    html(&draw_one(&app, &asked, &crew, &person, f, None).await?)
}

/// The contact opened: who opened it, whose and why stands in the audit first.
pub async fn open_contact(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<PersonId>,
    fields: Fields,
) -> Result<Response, Error> {
    let person = held(&app, id).await?;
    let mut f = shown(&app, &person);
    let Some(why) = reason::read(&fields, crate::web::language::words()) else {
        for name in [reason::CHOSEN, reason::TYPED] {
            f = f.with(name, fields.typed(name));
        }
        f.faults = fields.faults();
        return refused(&draw_one(&app, &asked, &crew, &person, f, None).await?);
    };
    let by = super::doer(&crew);
    let what = format!("opened the contact at the desk: {why}");
    app.store()
        .audit_people(by, AuditKind::ContactOpened, [person.id], &what)
        .await?;
    match app.store().contact(id).await {
        Ok(contact) => html(&draw_one(&app, &asked, &crew, &person, f, contact).await?),
        Err(StoreError::Sealed(error)) => {
            // Damaged is this one alone; whatever else it is, the page says it by itself.
            if matches!(error, SealError::Damaged { .. }) {
                fields.fault("contact", "fault-said", &[("why", told(&error).into())]);
                f.faults = fields.faults();
            }
            html(&draw_one(&app, &asked, &crew, &person, f, None).await?)
        }
        Err(error) => Err(error.into()),
    }
}

/// The way back from a contact: a browser that loads that address anew opens nothing.
pub async fn closed_contact(Path(id): Path<PersonId>) -> Redirect {
    Redirect::to(&format!("/desk/people/{id}"))
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
    let person = typed(&fields, id, super::today(&app).await?);
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
    if contact.is_some() {
        can_seal(&app, &fields, "contact-name").await?;
    }
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
