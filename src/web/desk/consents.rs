//! Guardians' consent for minors: written and withdrawn at the desk, gone without for one trip by a
//! stated reason, and the age at which it ends.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::ToSpan;
use jiff::civil::Date;
use uuid::Uuid;

use crate::store::crew::AuditKind;
use crate::store::register::{Consent, ConsentOverride, Person, Reaches, key};
use crate::trip::TripId;
use crate::trip::event::PersonId;
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::minors::{self, Minors, Standing};
use crate::web::page::{Asked, answered, refused};
use crate::web::parts::Choice;
use crate::web::reason::LONGEST;
use crate::web::view;
use crate::words::Words;

use super::Here;
use super::csv::LONGEST_NAME;
use super::form::Shown;
use super::people::{self, OLDEST, held};
use super::roster_one;

/// How long a consent until a day may reach, years.
const LONGEST_YEARS: i64 = 20;

/// A consent as a page tells it.
pub(super) struct Told {
    /// Its number.
    pub id: String,
    /// What it says.
    pub text: String,
}

/// What a person's page says of consent.
#[derive(Default)]
pub(super) struct OfPerson {
    /// The age, if a date of birth is known.
    pub age: String,
    /// Their consents.
    pub consents: Vec<Told>,
    /// Trips that are not over, which a consent can be for.
    pub trips: Vec<Choice>,
}

/// What a person's page says of consent.
pub(super) async fn of_person(
    app: &App,
    person: &Person,
    f: &Shown,
    t: &Words,
) -> Result<OfPerson, Error> {
    let store = app.store();
    let today = super::today(app).await?;
    let setting = minors::setting(app).await?;
    let rows = store.trips().await?;
    let titled = |id: TripId| {
        let row = rows.iter().find(|row| row.trip == id);
        let named = row.and_then(|row| Some((row.boat.as_deref()?, row.day?)));
        named.map_or_else(
            || id.to_string(),
            |(boat, day)| format!("{boat} · {}", view::day(day)),
        )
    };
    let age = person.born.map_or_else(String::new, |born| {
        let key = if setting.is_minor(born, today) {
            "consent-minor"
        } else {
            "consent-of-age"
        };
        t.say_with(key, &[("age", i64::from(Minors::age(born, today)).into())])
    });
    let mut consents = store.consents().await?;
    let consents = consents.remove(&person.id).unwrap_or_default();
    let consents = consents.into_iter().map(|one| Told {
        id: one.id.to_string(),
        text: match one.reaches {
            Reaches::Trip(trip) => said(&one, "consent-told-trip", titled(trip), t),
            Reaches::Until(day) => said(&one, "consent-told-until", view::day(day), t),
        },
    });
    let until = (String::new(), t.say("consent-until-day"));
    let open = rows.iter().filter(|row| !row.closed);
    let open = open.map(|row| (row.trip.to_string(), titled(row.trip)));
    let choices: Vec<(String, String)> = std::iter::once(until).chain(open).collect();
    Ok(OfPerson {
        age,
        consents: consents.collect(),
        trips: f.choose("trip", &choices),
    })
}

fn said(one: &Consent, key: &str, reaches: String, t: &Words) -> String {
    let args = [
        ("guardian", one.guardian.as_str().into()),
        ("on", view::day(one.given_on).into()),
        ("reaches", reaches.into()),
        ("seen", one.seen_by.as_str().into()),
    ];
    t.say_with(key, &args)
}

/// Reads a consent as typed; every fault stands beside its field.
fn typed(fields: &Fields, today: Date) -> Option<(String, Date, Reaches, String)> {
    let guardian = fields.text("guardian", LONGEST_NAME);
    let given = fields.optional_day("given_on", OLDEST..=today, "fault-consent-given");
    if given == Some(None) {
        fields.fault("given_on", "fault-consent-given", &[]);
    }
    let trip = if fields.typed("trip").is_empty() {
        Some(None)
    } else {
        fields.parsed::<TripId>("trip").map(Some)
    };
    let last = today.saturating_add(LONGEST_YEARS.years());
    let until = fields.optional_day("until", today..=last, "fault-consent-until");
    let reaches = match (trip, until) {
        (Some(Some(trip)), Some(None)) => Some(Reaches::Trip(trip)),
        (Some(None), Some(Some(day))) => Some(Reaches::Until(day)),
        (Some(_), Some(_)) => {
            fields.fault("until", "fault-consent-reach", &[]);
            None
        }
        _ => None,
    };
    let seen_by = fields.text("seen_by", LONGEST_NAME);
    fields
        .is_sound()
        .then_some((guardian?, given.flatten()?, reaches?, seen_by?))
}

/// Writes a consent.
pub async fn add(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<PersonId>,
    fields: Fields,
) -> Result<Response, Error> {
    let person = held(&app, id).await?;
    let today = super::today(&app).await?;
    let number = super::numbered(&fields, 0)?;
    let read = typed(&fields, today);
    if let Some((_, _, Reaches::Trip(trip), _)) = &read
        && app.store().trip(*trip).await?.is_none()
    {
        fields.fault("trip", "fault-choose", &[]);
    }
    if let (Some((guardian, given_on, reaches, seen_by)), true) = (read, fields.is_sound()) {
        let consent = Consent {
            id: number,
            person: person.id,
            guardian,
            given_on,
            reaches,
            seen_by,
            seen_at: app.clock().now(),
        };
        if app
            .store()
            .add_consent(&consent, super::doer(&crew))
            .await?
        {
            let way = format!("/desk/people/{}#consent", person.id);
            return Ok(Redirect::to(&way).into_response());
        }
        return Err(Error::NotFound);
    }
    let mut f = people::shown(&app, &person);
    for (name, value) in fields.pairs() {
        f = f.with(name, value.as_str());
    }
    f.faults = fields.faults();
    refused(&people::draw_one(&app, &asked, &crew, &person, f, None).await?)
}

/// Withdraws a consent.
pub async fn withdraw(
    State(app): State<App>,
    crew: Crew,
    Path((id, consent)): Path<(PersonId, Uuid)>,
) -> Result<Response, Error> {
    let person = held(&app, id).await?;
    let by = super::doer(&crew);
    // Twice withdrawn is withdrawn.
    app.store().withdraw_consent(person.id, consent, by).await?;
    Ok(Redirect::to(&format!("/desk/people/{}#consent", person.id)).into_response())
}

/// Takes a minor along without consent, for a stated reason.
pub async fn go_without(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, id)): Path<(TripId, PersonId)>,
    fields: Fields,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    let found = minors::on_trip(&app, &here.snap.state).await?;
    let mut lacking = found.minors.iter();
    let is_lacking = lacking.any(|one| one.person == id && one.standing == Standing::Lacking);
    if !is_lacking {
        // Consented, decided or of age meanwhile: the page says which.
        return Ok(Redirect::to(&format!("/desk/{trip}/roster/{id}")).into_response());
    }
    if let Some(why) = fields.text("without", LONGEST) {
        let decided = ConsentOverride {
            person: id,
            trip,
            why: why.split_whitespace().collect::<Vec<_>>().join(" "),
            who: crew.0.name.clone(),
            at: app.clock().now(),
        };
        if app
            .store()
            .override_consent(&decided, super::doer(&crew))
            .await?
        {
            return Ok(Redirect::to(&format!("/desk/{trip}/roster")).into_response());
        }
        return Err(Error::NotFound);
    }
    roster_one::refuse_one(&app, &asked, &crew, (trip, id), &fields, Vec::new()).await
}

#[derive(Template)]
#[template(path = "desk/minors.html")]
struct MinorsPage {
    frame: Frame,
    f: Shown,
    office: bool,
    rows: Vec<(String, String, i64, usize)>,
    not_known: usize,
}

async fn draw(app: &App, asked: &Asked, crew: &Crew, f: Shown) -> Result<Response, Error> {
    let mut frame = super::frame(app, asked, crew);
    f.mark(&mut frame);
    let today = super::today(app).await?;
    let setting = minors::setting(app).await?;
    let consents = app.store().consents().await?;
    let people = app.store().people().await?;
    let here = || people.iter().filter(|person| !person.archived);
    let rows = here().filter_map(|person| {
        let born = person.born.filter(|born| setting.is_minor(*born, today))?;
        let all = consents.get(&person.id).map_or(&[] as &[_], Vec::as_slice);
        let holding = all.iter().filter(|one| match one.reaches {
            Reaches::Until(day) => today <= day,
            Reaches::Trip(_) => true,
        });
        Some((
            person.id.to_string(),
            person.name.clone(),
            i64::from(Minors::age(born, today)),
            holding.count(),
        ))
    });
    let sound = f.faults.is_empty();
    let page = MinorsPage {
        rows: rows.collect(),
        not_known: here().filter(|person| person.born.is_none()).count(),
        office: crew.is(crate::trip::event::Role::Desk),
        frame,
        f,
    };
    answered(&page, sound)
}

/// The minors of the register, and the age.
pub async fn page(State(app): State<App>, asked: Asked, crew: Crew) -> Result<Response, Error> {
    let setting = minors::setting(&app).await?;
    let f = Shown::plain(&app).with("under", setting.under_years.to_string());
    draw(&app, &asked, &crew, f).await
}

/// Sets the age.
pub async fn save(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    fields: Fields,
) -> Result<Response, Error> {
    let under = fields.whole("under", Minors::MOST_YEARS);
    if under == Some(0) {
        fields.fault("under", "fault-minors-none", &[]);
    }
    let (Some(under_years), true) = (under, fields.is_sound()) else {
        let f = Shown::plain(&app).refused(&fields, fields.faults());
        return draw(&app, &asked, &crew, f).await;
    };
    let what = format!("set the age under which a guardian must agree to {under_years} years");
    let store = app.store();
    store
        .audit_of(super::doer(&crew), AuditKind::Consent, &what)
        .await?;
    store
        .set_setting(key::MINORS, &Minors { under_years })
        .await?;
    Ok(Redirect::to("/desk/people/minors").into_response())
}
