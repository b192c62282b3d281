//! What a boat has aboard for an emergency and when it was looked at, and whom to call and where to
//! go from her: written ashore, cautioned about before she leaves, printed with her sheet.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::ToSpan;
use uuid::Uuid;

use crate::store::register::{Boat, EmergencyCard, Equipment};
use crate::trip::BoatId;
use crate::web::app::App;
use crate::web::before_leaving::due_checks;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{Asked, answered, html, refused};
use crate::web::view;
use crate::words::Words;

use super::csv::LONGEST_NAME;
use super::form::Shown;

/// Most things on the list of one boat.
const MOST_THINGS: usize = 100;
/// Most of one thing.
const MOST_OF_ONE: u32 = 1_000;
/// How far ahead a check may be due, years.
const FARTHEST_YEARS: i64 = 20;
/// Longest text of one field of the card.
const LONGEST_TEXT: usize = 600;

/// What boats that carry divers have (common practice, no source; the local code's list comes
/// first): keys of the words under which it is put on a list.
const USUAL: [&str; 9] = [
    "usual-oxygen",
    "usual-first-aid",
    "usual-radio",
    "usual-flag",
    "usual-marker",
    "usual-throw-line",
    "usual-lights",
    "usual-spare-gas",
    "usual-boarding",
];

#[derive(Template)]
#[template(path = "desk/equipment.html")]
struct EquipmentPage {
    frame: Frame,
    f: Shown,
    id: String,
    /// This page. Within the table `id` is the table's.
    url: String,
    name: String,
    rows: Vec<Row>,
}

struct Row {
    id: String,
    name: String,
    count: u32,
    place: String,
    due: String,
    checked: String,
    overdue: bool,
    fault: String,
}

async fn boat_of(app: &App, id: BoatId) -> Result<Boat, Error> {
    app.store().boat(id).await?.ok_or(Error::NotFound)
}

async fn draw(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    boat: &Boat,
    f: Shown,
) -> Result<Response, Error> {
    let mut frame = super::frame(app, asked, crew);
    f.mark(&mut frame);
    let t = frame.t;
    let today = super::today(app).await?;
    let things = app.store().equipment(boat.sheet.id).await?;
    let rows = things.into_iter().map(|thing| Row {
        overdue: thing.is_overdue(today),
        fault: f.fault("due", &thing.id.to_string()),
        id: thing.id.to_string(),
        due: thing
            .due
            .map_or_else(|| t.say("helm-not-known"), |day| day.to_string()),
        checked: thing.checked.map_or_else(
            || t.say("equipment-never"),
            |(on, by)| format!("{on}, {by}"),
        ),
        name: thing.name,
        count: thing.count,
        place: thing.place,
    });
    let sound = f.faults.is_empty();
    let page = EquipmentPage {
        rows: rows.collect(),
        url: format!("/desk/boats/{}/equipment", boat.sheet.id),
        id: boat.sheet.id.to_string(),
        name: boat.sheet.name.clone(),
        frame,
        f,
    };
    answered(&page, sound)
}

/// The list.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<BoatId>,
) -> Result<Response, Error> {
    let boat = boat_of(&app, id).await?;
    let f = Shown::plain(&app).with("count", "1");
    draw(&app, &asked, &crew, &boat, f).await
}

/// Puts a thing on the list, or everything that is usual and not on it.
pub async fn add(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<BoatId>,
    fields: Fields,
) -> Result<Response, Error> {
    let boat = boat_of(&app, id).await?;
    let held = app.store().equipment(id).await?;
    let thing = |nth: usize, name: String, count: u32, place: String| -> Result<_, Error> {
        Ok(Equipment {
            id: super::numbered(&fields, nth)?,
            boat: id,
            name,
            count,
            place,
            due: None,
            checked: None,
        })
    };
    let things = if fields.ticked("usual") {
        let t = crate::web::language::words();
        let named = USUAL.iter().map(|key| t.say(key));
        let lacking = named.filter(|name| held.iter().all(|held| held.name != *name));
        let all = lacking.enumerate();
        Some(
            all.map(|(nth, name)| thing(nth, name, 1, String::new()))
                .collect::<Result<Vec<_>, Error>>()?,
        )
    } else {
        let name = fields.text("name", LONGEST_NAME);
        let place = fields.optional_text("place", LONGEST_NAME);
        let count = fields.whole("count", MOST_OF_ONE);
        if count == Some(0) {
            fields.fault("count", "fault-equipment-count", &[]);
        }
        match (name, count, place) {
            (Some(name), Some(count), Some(place)) if fields.is_sound() => {
                Some(vec![thing(0, name, count, place.unwrap_or_default())?])
            }
            _ => None,
        }
    };
    let things = things.filter(|things| {
        let fits = held.len() + things.len() <= MOST_THINGS;
        if !fits {
            let most = [("most", MOST_THINGS.into())];
            fields.fault("name", "fault-equipment-many", &most);
        }
        fits
    });
    if let Some(things) = things {
        if !app.store().add_equipment(id, &things).await? {
            return Err(Error::NotFound);
        }
        return Ok(Redirect::to(&format!("/desk/boats/{id}/equipment")).into_response());
    }
    let f = Shown::plain(&app).refused(&fields, fields.faults());
    draw(&app, &asked, &crew, &boat, f).await
}

/// Somebody looked at a thing today, and it holds until a day.
pub async fn checked(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((id, thing)): Path<(BoatId, Uuid)>,
    fields: Fields,
) -> Result<Response, Error> {
    let boat = boat_of(&app, id).await?;
    let today = super::today(&app).await?;
    let last = today.saturating_add(FARTHEST_YEARS.years());
    let field = format!("due-{thing}");
    let due = fields.optional_day(&field, today..=last, "fault-equipment-due");
    if due == Some(None) {
        fields.fault(&field, "fault-equipment-due", &[]);
    }
    if let Some(Some(due)) = due {
        let looked = (today, crew.0.name.as_str());
        let by = super::doer(&crew);
        if !app
            .store()
            .check_equipment(id, thing, looked, due, by)
            .await?
        {
            return Err(Error::NotFound);
        }
        return Ok(Redirect::to(&format!("/desk/boats/{id}/equipment")).into_response());
    }
    let f = Shown::plain(&app).refused(&fields, fields.faults());
    draw(&app, &asked, &crew, &boat, f.with("count", "1")).await
}

/// Takes a thing off the list.
pub async fn remove(
    State(app): State<App>,
    crew: Crew,
    Path((id, thing)): Path<(BoatId, Uuid)>,
) -> Result<Response, Error> {
    let boat = boat_of(&app, id).await?;
    // Twice taken off is off.
    let by = super::doer(&crew);
    app.store()
        .remove_equipment(boat.sheet.id, thing, by)
        .await?;
    Ok(Redirect::to(&format!("/desk/boats/{id}/equipment")).into_response())
}

/// The checks that are due today on all boats: where each is written, and what it is of.
pub(super) async fn of_all(app: &App, boats: &[Boat]) -> Result<Vec<(String, String)>, Error> {
    let today = super::today(app).await?;
    let mut all = Vec::new();
    for boat in boats {
        let (id, name) = (boat.sheet.id, &boat.sheet.name);
        for due in due_checks(app, id, today, crate::web::language::words()).await? {
            let href = format!("/desk/boats/{id}/equipment");
            all.push((href, format!("{name} · {due}")));
        }
    }
    Ok(all)
}

#[derive(Template)]
#[template(path = "desk/emergency-card.html")]
struct CardPage {
    frame: Frame,
    f: Shown,
    id: String,
    name: String,
    told: String,
    plan: Vec<String>,
}

fn draw_card(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    boat: &Boat,
    held: Option<&EmergencyCard>,
    f: Shown,
) -> CardPage {
    let mut frame = super::frame(app, asked, crew);
    f.mark(&mut frame);
    CardPage {
        id: boat.sheet.id.to_string(),
        name: boat.sheet.name.clone(),
        told: held.map_or_else(String::new, |card| told(card, frame.t)),
        plan: boat.sheet.emergency_plan.clone(),
        frame,
        f,
    }
}

/// When a card was last gone through, and by whom.
fn told(card: &EmergencyCard, t: &Words) -> String {
    let args = [
        ("on", view::day(card.told_on).into()),
        ("by", card.told_by.as_str().into()),
    ];
    t.say_with("help-told", &args)
}

/// Whom to call and where to go from a boat.
pub async fn card(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<BoatId>,
) -> Result<Response, Error> {
    let boat = boat_of(&app, id).await?;
    let held = app.store().emergency_card(id).await?;
    let mut f = Shown::plain(&app);
    if let Some(card) = &held {
        f = f
            .with("channel", card.channel.as_str())
            .with("numbers", card.numbers.as_str())
            .with("chamber", card.chamber.as_str())
            .with("evacuation", card.evacuation.as_str());
    }
    html(&draw_card(&app, &asked, &crew, &boat, held.as_ref(), f))
}

/// Writes it, as gone through today by who sends it.
pub async fn save_card(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<BoatId>,
    fields: Fields,
) -> Result<Response, Error> {
    let boat = boat_of(&app, id).await?;
    let channel = fields.text("channel", LONGEST_NAME);
    let numbers = fields.text("numbers", LONGEST_TEXT);
    let chamber = fields.text("chamber", LONGEST_TEXT);
    let evacuation = fields.text("evacuation", LONGEST_TEXT);
    if let (Some(channel), Some(numbers), Some(chamber), Some(evacuation)) =
        (channel, numbers, chamber, evacuation)
    {
        let card = EmergencyCard {
            channel,
            numbers,
            chamber,
            evacuation,
            told_on: super::today(&app).await?,
            told_by: crew.0.name.clone(),
        };
        if !app.store().save_emergency_card(id, &card).await? {
            return Err(Error::NotFound);
        }
        return Ok(Redirect::to(&format!("/desk/boats/{id}")).into_response());
    }
    let held = app.store().emergency_card(id).await?;
    let f = Shown::plain(&app).refused(&fields, fields.faults());
    refused(&draw_card(&app, &asked, &crew, &boat, held.as_ref(), f))
}

/// The card of a boat as a sheet prints it: what is called what, and each line of it.
pub(super) async fn printed(
    app: &App,
    id: BoatId,
    t: &Words,
) -> Result<Vec<(String, Vec<String>)>, Error> {
    let boat = app.store().boat(id).await?;
    let mut rows: Vec<(&str, String)> = Vec::new();
    if let Some(boat) = &boat {
        rows.push(("boat-call-sign", boat.sheet.call_sign.clone()));
        rows.push(("boat-mmsi", boat.mmsi.clone().unwrap_or_default()));
        rows.push(("boat-radio", boat.radio.clone().unwrap_or_default()));
    }
    match app.store().emergency_card(id).await? {
        Some(card) => {
            let said = told(&card, t);
            rows.push(("help-channel", card.channel));
            rows.push(("help-numbers", card.numbers));
            rows.push(("help-chamber", card.chamber));
            rows.push(("help-evacuation", card.evacuation));
            rows.push(("help-told-title", said));
        }
        None => rows.push(("help-numbers", t.say("help-none"))),
    }
    let told = rows.into_iter().filter(|(_, text)| !text.is_empty());
    let told = told.map(|(key, text)| (t.say(key), text.lines().map(str::to_owned).collect()));
    Ok(told.collect())
}
