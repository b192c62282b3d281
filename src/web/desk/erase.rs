//! One person's data, on request: everything the box keeps as one document, and erasing it. What
//! must stay is told before.

use askama::Template;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;
use serde_json::{Value, json};

use crate::store::crew::{AuditAsked, AuditKind};
use crate::store::register::{Person, Reaches};
use crate::store::{LogEntry, SealError, StoreError};
use crate::trip::event::PersonId;
use crate::trip::same::Same;
use crate::web::accounts;
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{Asked, answered};
use crate::web::reason::LONGEST;
use crate::web::retention::{Attended, Outlook, outlook};
use crate::web::view;

use super::form::Shown;
use super::people;
use super::retention::{held_words, titled};

#[derive(Template)]
#[template(path = "desk/data.html")]
struct DataPage {
    frame: Frame,
    f: Shown,
    id: String,
    name: String,
    goes: Vec<String>,
    /// Trips whose logs keep the name, and until when they must.
    stays: Vec<(String, String)>,
    /// Why nothing can be erased now; empty if it can.
    held: String,
}

/// The trips whose logs name a person, the latest first.
fn trips_of(found: &Outlook, person: PersonId) -> impl Iterator<Item = &Attended> {
    let trips = found.attendance.trips.iter().map(AsRef::as_ref);
    trips.filter(move |trip| trip.persons.contains(&person))
}

async fn draw(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    person: &Person,
    found: &Outlook,
    f: Shown,
) -> Result<Response, Error> {
    let mut frame = super::frame(app, asked, crew);
    f.mark(&mut frame);
    let t = frame.t;
    let given = app.store().has_contact(person.id).await?;
    let years = jiff::Span::new().years(i64::from(found.rule.records_years));
    let stays = trips_of(found, person.id).map(|trip| {
        let until = trip.day.and_then(|day| day.checked_add(years).ok());
        let until = until.map_or_else(|| t.say("helm-not-known"), view::day);
        let until = t.say_with("data-stays-until", &[("day", until.into())]);
        (titled(found, trip.trip), until)
    });
    let sound = f.faults.is_empty();
    let page = DataPage {
        id: person.id.to_string(),
        name: person.name.clone(),
        goes: [
            "data-goes-entry",
            "data-goes-rates",
            "data-goes-consent",
            "data-goes-gas",
        ]
        .into_iter()
        .chain(given.then_some("data-goes-contact"))
        .map(|key| t.say(key))
        .collect(),
        stays: stays.collect(),
        held: held(found, person.id).unwrap_or_default(),
        frame,
        f,
    };
    answered(&page, sound)
}

/// Why somebody cannot be erased now.
fn held(found: &Outlook, person: PersonId) -> Option<String> {
    let one = found.ahead.iter().find(|one| one.person == person)?;
    let held = one.held?;
    Some(held_words(found, held, crate::web::language::words()))
}

/// The page.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<PersonId>,
) -> Result<Response, Error> {
    let person = people::held(&app, id).await?;
    let found = outlook(&app).await?;
    draw(&app, &asked, &crew, &person, &found, Shown::plain(&app)).await
}

/// Who asked, and how it was made sure that it is them.
fn asked_by(fields: &Fields, field: &str) -> Option<String> {
    let text = fields.text(field, LONGEST)?;
    Some(text.split_whitespace().collect::<Vec<_>>().join(" "))
}

/// Everything that the box keeps of a person, as one document. It opens the contact, and the audit
/// says so first.
pub async fn export(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<PersonId>,
    fields: Fields,
) -> Result<Response, Error> {
    let person = people::held(&app, id).await?;
    let found = outlook(&app).await?;
    let why = asked_by(&fields, "export-reason");
    let proven = fields.is_sound() && accounts::prove(&app, &crew, &fields, "export-pin").await?;
    let Some(why) = why.filter(|_| proven) else {
        let f = Shown::plain(&app).refused(&fields, fields.faults());
        let f = f.instead("export-pin", "");
        return draw(&app, &asked, &crew, &person, &found, f).await;
    };
    let what = format!("took out all data, with the contact: {why}");
    app.store()
        .audit_people(super::doer(&crew), AuditKind::Exported, [person.id], &what)
        .await?;
    let document = document(&app, &person, &found).await?;
    let body = serde_json::to_string_pretty(&document)
        .map_err(|_| Error::Internal("the document was not written"))?;
    let name = format!("attachment; filename=\"person-{}.json\"", person.id);
    Ok((
        [
            (header::CONTENT_TYPE, "application/json".to_owned()),
            (header::CONTENT_DISPOSITION, name),
        ],
        body,
    )
        .into_response())
}

async fn document(app: &App, person: &Person, found: &Outlook) -> Result<Value, Error> {
    let store = app.store();
    let id = person.id;
    let contact = match store.contact(id).await {
        Ok(Some(contact)) => json!({
            "name": contact.name, "relation": contact.relation, "telephone": contact.telephone,
        }),
        Ok(None) => Value::Null,
        Err(StoreError::Sealed(error)) => {
            tracing::error!(error = ?error, "an export lacks the contact");
            json!({ "cannot_be_opened": SealError::word(&error) })
        }
        Err(error) => return Err(error.into()),
    };
    let rates = store.last_rates(&[id], u32::MAX).await?;
    let rates = rates.get(&id).map_or(&[] as &[_], Vec::as_slice);
    let same = store.same().await?;
    let mut trips = Vec::new();
    for trip in trips_of(found, id) {
        let log = store.log(trip.trip, 0).await?;
        let entries: Vec<Value> = log
            .iter()
            .filter_map(|kept| told(kept, id, &same))
            .collect();
        trips.push(json!({
            "trip": trip.trip, "day": trip.day, "boat": trip.boat, "entries": entries,
        }));
    }
    let consents = store.consents().await?;
    let consents = consents.get(&id).map_or(&[] as &[_], Vec::as_slice);
    let consents: Vec<Value> = consents
        .iter()
        .map(|one| {
            let (trip, until) = match one.reaches {
                Reaches::Trip(trip) => (Some(trip), None),
                Reaches::Until(day) => (None, Some(day)),
            };
            json!({
                "guardian": one.guardian, "given_on": one.given_on, "trip": trip, "until": until,
                "seen_by": one.seen_by, "seen_at": one.seen_at,
            })
        })
        .collect();
    let analyses = store.analyses_since(Timestamp::MIN).await?;
    let analyses: Vec<Value> = analyses
        .iter()
        .filter(|one| one.person == id)
        .map(|one| {
            json!({
                "at": one.at, "signed_as": one.signed_as, "cylinder": one.marking,
                "cylinder_l": one.litres.l(), "oxygen": one.oxygen.fraction(), "bar": one.bar.bar(),
            })
        })
        .collect();
    let merged = store.merged_into(id).await?;
    let merged: Vec<Value> = merged
        .iter()
        .map(|one| json!({ "id": one.gone, "name": one.name, "at": one.at, "who": one.who_name }))
        .collect();
    let lines = AuditAsked {
        person: Some(id),
        ..AuditAsked::default()
    };
    let lines = store.find_audits(&lines, u32::MAX).await?;
    let lines: Vec<Value> = lines
        .iter()
        .map(|line| json!({ "at": line.at, "kind": line.kind, "who": line.who_name, "what": line.what }))
        .collect();
    Ok(json!({
        "made_at": app.clock().now(),
        "person": {
            "id": id,
            "name": person.name,
            "level": person.level,
            "depth_limit_m": person.depth_limit.map(crate::units::Depth::m),
            "last_dive": person.last_dive,
            "fitness": person.fitness,
            "breathing_l_min": person.breathing.map(crate::units::LitresPerMinute::l_min),
            "born": person.born,
            "archived": person.archived,
        },
        "merged": merged,
        "consents": consents,
        "gas_analyses": analyses,
        "contact": contact,
        "surface_rates_l_min": rates.iter().map(|rate| rate.l_min()).collect::<Vec<_>>(),
        "trips": trips,
        "audit": lines,
    }))
}

/// An entry that names a person: whole if it names nobody else, else only that there is one, as
/// what it says belongs to the others too.
fn told(kept: &LogEntry, id: PersonId, same: &Same) -> Option<Value> {
    let content: Value = serde_json::from_str(&kept.content).ok()?;
    let own: Vec<String> = same.all_of(id).map(|one| one.to_string()).collect();
    if !own.iter().any(|one| names(&content, one)) {
        return None;
    }
    let about = content.pointer("/about/persons").and_then(Value::as_array);
    // Who waits stands in the payload: such an entry is about nobody else.
    let waits = content.pointer("/payload/person").and_then(Value::as_str);
    let is_own = |one: &str| own.iter().any(|own| own == one);
    let alone = about.map_or(waits.is_some_and(is_own), |about| {
        about.iter().all(|one| one.as_str().is_some_and(is_own))
    });
    Some(json!({
        "entry": kept.receipt.entry,
        "recorded_at": kept.receipt.recorded_at,
        "kind": content.get("kind"),
        "content": alone.then_some(&content),
        "also_about_others": !alone,
    }))
}

/// Whether a text stands anywhere in a document, as a value or a name.
fn names(content: &Value, own: &str) -> bool {
    match content {
        Value::String(text) => text == own,
        Value::Array(all) => all.iter().any(|one| names(one, own)),
        Value::Object(all) => all.iter().any(|(key, one)| key == own || names(one, own)),
        Value::Null | Value::Bool(_) | Value::Number(_) => false,
    }
}

/// Erases a person from the register, unless a trip holds them.
pub async fn erase(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<PersonId>,
    fields: Fields,
) -> Result<Response, Error> {
    let person = people::held(&app, id).await?;
    let found = outlook(&app).await?;
    let why = asked_by(&fields, "erase-reason");
    if !fields.ticked("sure") {
        fields.fault("sure", "fault-erase-sure", &[]);
    }
    if let Some(held) = held(&found, person.id) {
        fields.fault("erase-reason", "fault-said", &[("why", held.into())]);
    }
    let proven = fields.is_sound() && accounts::prove(&app, &crew, &fields, "erase-pin").await?;
    if let (Some(why), true) = (why, proven) {
        let by = super::doer(&crew);
        if app
            .store()
            .erase(person.id, by, &why, found.entries)
            .await?
            .is_some()
        {
            return Ok(Redirect::to("/desk/people").into_response());
        }
        fields.fault("erase-reason", "fault-logged-meanwhile", &[]);
    }
    let f = Shown::plain(&app).refused(&fields, fields.faults());
    let f = f.instead("erase-pin", "");
    draw(&app, &asked, &crew, &person, &found, f).await
}
