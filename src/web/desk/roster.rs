//! The roster: who comes along, added by typing or from the register, changed, or left ashore.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use serde::Deserialize;

use crate::store::register::{Contact, Person as Registered};
use crate::trip::TripId;
use crate::trip::decide;
use crate::trip::event::{Activity, Fitness, PersonCard, PersonId};
use crate::units::Depth;
use crate::units::system::Measure;
use crate::web::act::{Acted, act};
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path, Query};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::minors::{self, OnTrip};
use crate::web::page::{Asked, html, refused};
use crate::web::parts::{Choice, FieldFault};
use crate::web::view;

use super::Here;
use super::csv::{ACTIVITIES, LONGEST_NAME, Typed};
use super::form::{Shown, lead};

/// Longest wish of somebody who waits, characters.
const LONGEST_WISH: usize = 200;
/// Most people of the register shown for one search.
const MOST_FOUND: u32 = 30;

#[derive(Template)]
#[template(path = "desk/roster.html")]
struct RosterPage {
    frame: Frame,
    title: String,
    url: String,
    rows: Vec<Row>,
    staying: Vec<Row>,
    coming: Option<usize>,
    capacity: u32,
    waiting: Vec<super::waiting::Row>,
    /// Places left, where it may be said.
    left: Option<usize>,
    f: Shown,
    find: String,
    found: Option<Vec<Found>>,
    /// That of some it is not known whether they are of age; empty if it is.
    not_known: String,
    activities: Vec<Choice>,
}

struct Row {
    id: String,
    name: String,
    activity: String,
    level: String,
    limit: String,
    last_dive: String,
    restricted: bool,
    place: String,
    /// How a minor stands, in words; empty for everybody else.
    minor: String,
    lacking: bool,
}

struct Found {
    id: String,
    name: String,
    level: String,
    limit: String,
    on_roster: bool,
}

/// What is looked for in the register.
#[derive(Debug, Default, Deserialize)]
pub struct Find {
    #[serde(default)]
    find: String,
}

/// Key of the word for what a person does.
pub(super) fn activity_key(activity: Activity) -> &'static str {
    match activity {
        Activity::Diver => "activity-diver",
        Activity::Snorkeller => "activity-snorkeller",
        Activity::Passenger => "activity-passenger",
        Activity::Crew => "activity-crew",
    }
}

/// Choices of what a person does.
pub(super) fn activities(f: &Shown, here: &crate::words::Words) -> Vec<Choice> {
    let choices: Vec<(String, String)> = ACTIVITIES
        .iter()
        .map(|(word, activity)| ((*word).to_owned(), here.say(activity_key(*activity))))
        .collect();
    f.choose("activity", &choices)
}

/// Choices of fitness.
pub(super) fn fitness(f: &Shown, t: &crate::words::Words) -> Vec<Choice> {
    let choices = [
        ("cleared".to_owned(), t.say("fitness-cleared")),
        ("restricted".to_owned(), t.say("fitness-restricted")),
    ];
    f.choose("fitness", &choices)
}

pub(super) fn limit_words(limit: Option<Depth>) -> String {
    let t = crate::web::language::words();
    limit.map_or_else(String::new, |depth| t.told(Measure::Limit, depth.m()))
}

async fn draw(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    here: &Here,
    find: &str,
    f: Shown,
) -> Result<RosterPage, Error> {
    let state = &here.snap.state;
    let counting = here.is_counting();
    let ages = minors::on_trip(app, state).await?;
    let stands = |id: PersonId| {
        let minor = ages.minors.iter().find(|one| one.person == id);
        minor.map_or_else(Default::default, |one| minors::words(one, here.t))
    };
    let row = |person: &crate::trip::state::Person| Row {
        minor: stands(person.id).0,
        lacking: stands(person.id).1,
        id: person.id.to_string(),
        name: person.card.name.clone(),
        activity: here.t.say(activity_key(person.card.activity)),
        level: person.card.level.clone(),
        limit: limit_words(person.card.depth_limit_m),
        last_dive: person
            .card
            .last_dive
            .map_or_else(String::new, |day| day.to_string()),
        restricted: person.card.fitness == Fitness::Restricted,
        // Who counts must not read it off the roster.
        place: if counting {
            String::new()
        } else {
            here.t.say(view::place_key(person.place))
        },
    };
    let mut coming: Vec<_> = state.coming().collect();
    coming.sort_by_key(|p| crate::store::register::fold_name(p.name()));
    let found = if find.is_empty() {
        None
    } else {
        let found = app.store().find_people(find, MOST_FOUND).await?;
        let same = app.store().same().await?;
        let found = found.into_iter().map(|person| Found {
            on_roster: state.coming().any(|p| same.is_one(p.id, person.id)),
            id: person.id.to_string(),
            limit: limit_words(person.depth_limit),
            name: person.name,
            level: person.level,
        });
        Some(found.collect())
    };
    let mut frame = here.frame_to_fill(app, asked, crew);
    f.mark(&mut frame);
    Ok(RosterPage {
        title: here.title(),
        url: format!("/desk/{}", here.trip),
        rows: coming.iter().map(|p| row(p)).collect(),
        staying: state
            .people
            .values()
            .filter(|p| !p.coming)
            .map(row)
            .collect(),
        coming: (!counting).then_some(coming.len()),
        capacity: state.opened.as_ref().map_or(0, |o| o.boat.capacity),
        waiting: super::waiting::rows(here),
        left: (!counting).then(|| decide::places_left(state)),
        activities: activities(&f, here.t),
        find: find.to_owned(),
        found,
        not_known: not_known(&ages, counting, here.t),
        frame,
        f,
    })
}

/// That of some it is not known whether they are of age; how many is hidden while somebody counts.
pub(super) fn not_known(ages: &OnTrip, counting: bool, t: &crate::words::Words) -> String {
    if ages.not_known == 0 || counting {
        return String::new();
    }
    t.say_with("minors-trip-not-known", &[("n", ages.not_known.into())])
}

/// The roster.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
    Query(find): Query<Find>,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    let f = Shown::of_trip(&app, &here.snap).with("activity", "diver");
    html(&draw(&app, &asked, &crew, &here, find.find.trim(), f).await?)
}

/// Adds a person: typed on one line, or chosen from the register.
pub async fn add(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
    fields: Fields,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    let joining = if fields.typed("person").is_empty() {
        typed_line(&fields, &here)?
    } else {
        registered(&app, &here, &fields).await?
    };
    let contact = contact(&fields, "contact-");
    if contact.is_some() {
        super::people::can_seal(&app, &fields, "contact-name").await?;
    }
    let mut faults = fields.faults();
    if let Some(joining) = joining.filter(|_| faults.is_empty()) {
        let namesake = fields.ticked("both");
        let (id, card) = (joining.id, joining.card.clone());
        let waits = fields.typed("do") == "wait";
        let wish = joining.wish.clone();
        let decided = move |state: &_, _: &[_], _| {
            if waits {
                decide::wait(state, id, card.clone(), wish.as_deref(), namesake)
            } else {
                decide::join(state, id, card.clone(), namesake)
            }
        };
        match act(&app, &crew, trip, &fields, decided).await? {
            Acted::Done(_) => {
                if joining.is_new {
                    app.store()
                        .save_person(&as_registered(id, &joining.card))
                        .await?;
                    if let Some(contact) = contact {
                        app.store().save_contact(id, &contact).await?;
                    }
                }
                return Ok(Redirect::to(&format!("/desk/{trip}/roster")).into_response());
            }
            Acted::Refused(why) => {
                let field = if joining.is_new { "line" } else { "find" };
                faults = lead(why, &[("name", field), ("person", field)]);
            }
        }
    }
    refuse(&app, &asked, &crew, trip, &fields, faults).await
}

/// The page with what was wrong.
pub(super) async fn refuse(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    trip: TripId,
    fields: &Fields,
    faults: Vec<FieldFault>,
) -> Result<Response, Error> {
    let here = Here::load(app, trip).await?;
    let mut f = Shown::of_trip(app, &here.snap).refused(fields, faults);
    if f.v("activity").is_empty() {
        f = f.with("activity", "diver");
    }
    refused(&draw(app, asked, crew, &here, fields.typed("find"), f).await?)
}

struct Joining {
    id: PersonId,
    card: PersonCard,
    wish: Option<String>,
    is_new: bool,
}

/// `name; level; limit`.
fn typed_line(fields: &Fields, here: &Here) -> Result<Option<Joining>, Error> {
    let Some(line) = fields.text("line", 3 * LONGEST_NAME) else {
        return Ok(None);
    };
    let parts: Vec<&str> = line.split([';', '\t']).map(str::trim).collect();
    if parts.len() > 3 {
        fields.fault("line", "fault-line", &[]);
        return Ok(None);
    }
    let part = |nth: usize| parts.get(nth).copied().unwrap_or_default();
    let typed = Typed {
        name: part(0),
        level: part(1),
        limit: part(2),
        limit_in: fields.units(),
        activity: fields.typed("activity"),
        ..Typed::default()
    };
    let wish = fields.optional_text("wish", LONGEST_WISH);
    match typed.card(here.t) {
        Ok(card) => Ok(Some(Joining {
            id: PersonId::new(super::numbered(fields, 0)?),
            card,
            wish: wish.flatten(),
            is_new: true,
        })),
        Err(bad) => {
            for (field, why) in bad {
                let field = if field == "activity" { field } else { "line" };
                fields.fault(field, "fault-said", &[("why", why.into())]);
            }
            Ok(None)
        }
    }
}

async fn registered(app: &App, here: &Here, fields: &Fields) -> Result<Option<Joining>, Error> {
    let Some(id) = fields.parsed::<PersonId>("person") else {
        return Ok(None);
    };
    let Some(person) = app.store().person(id).await? else {
        fields.fault("find", "fault-choose", &[]);
        return Ok(None);
    };
    let same = app.store().same().await?;
    let mut coming = here.snap.state.coming();
    if coming.any(|on| on.id != person.id && same.is_one(on.id, person.id)) {
        // Two heads on one roster are one too many to wait for.
        let name = [("name", person.name.as_str().into())];
        fields.fault("find", "refused-on-roster", &name);
        return Ok(None);
    }
    let id = person.id;
    let activity = fields.word("activity", &ACTIVITIES);
    Ok(activity.map(|activity| Joining {
        id,
        card: card_of(&person, activity),
        wish: None,
        is_new: false,
    }))
}

/// The card of a person of the register.
pub(super) fn card_of(person: &Registered, activity: Activity) -> PersonCard {
    PersonCard {
        name: person.name.clone(),
        activity,
        level: person.level.clone(),
        depth_limit_m: person.depth_limit,
        fitness: person.fitness,
        last_dive: person.last_dive,
    }
}

/// A new person of the register.
pub(super) fn as_registered(id: PersonId, card: &PersonCard) -> Registered {
    Registered {
        id,
        name: card.name.clone(),
        level: card.level.clone(),
        depth_limit: card.depth_limit_m,
        last_dive: card.last_dive,
        fitness: card.fitness,
        breathing: None,
        born: None,
        archived: false,
    }
}

/// Whom to call, if anything is typed; goes to the register only.
pub(super) fn contact(fields: &Fields, prefix: &str) -> Option<Contact> {
    let field = |part: &str| format!("{prefix}{part}");
    let name = fields.optional_text(&field("name"), LONGEST_NAME);
    let relation = fields.optional_text(&field("relation"), LONGEST_NAME);
    let telephone = fields.optional_text(&field("telephone"), 40);
    let (name, relation, telephone) = (name?, relation?, telephone?);
    if name.is_none() && relation.is_none() && telephone.is_none() {
        return None;
    }
    for (part, text) in [("name", &name), ("telephone", &telephone)] {
        if text.is_none() {
            fields.fault(&field(part), "fault-contact", &[]);
        }
    }
    Some(Contact {
        name: name?,
        relation: relation.unwrap_or_default(),
        telephone: telephone?,
    })
}
