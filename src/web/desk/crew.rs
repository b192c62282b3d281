//! Crew accounts and the devices of the crew. Everybody who plans sees them; the skipper and owners
//! change them, and only an owner changes an owner.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use crate::store::crew::{Allowed, CrewError};
use crate::trip::event::{CrewId, DeviceId, Role};
use crate::web::accounts::{self, ROLES};
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{Asked, html, refused};
use crate::web::parts::{Choice, FieldFault};
use crate::web::view;

use super::csv::LONGEST_NAME;
use super::form::Shown;

const OWNER: &str = "owner";
const DISPLAY: &str = "display";

#[derive(Template)]
#[template(path = "desk/crew.html")]
struct CrewPage {
    frame: Frame,
    f: Shown,
    accounts: Vec<Account>,
    devices: Vec<Device>,
    roles: Vec<Choice>,
    may_change: bool,
    owns: bool,
    code: Option<(String, String)>,
}

struct Account {
    id: String,
    name: String,
    roles: Vec<Choice>,
    words: String,
    own: bool,
    /// Whether who looks may change it.
    open: bool,
    has_passphrase: bool,
    faults: Vec<FieldFault>,
}

impl Account {
    fn passphrase_state(&self) -> &'static str {
        if self.has_passphrase {
            "crew-passphrase-set"
        } else {
            "crew-passphrase-none"
        }
    }
}

struct Device {
    id: String,
    name: String,
    kind: String,
    enrolled: String,
    revoked: Option<String>,
    own: bool,
}

/// `chosen`: whether a word is ticked. `owns`: whether who looks may make owners.
fn choices(frame: &Frame, owns: bool, chosen: impl Fn(&str) -> bool) -> Vec<Choice> {
    let more = [(OWNER, "role-owner"), (DISPLAY, "role-display")];
    ROLES
        .iter()
        .map(|(word, _, key)| (*word, *key))
        .chain(more)
        .filter(|(word, _)| owns || *word != OWNER)
        .map(|(word, key)| Choice {
            value: word.to_owned(),
            label: frame.t.say(key),
            note: String::new(),
            chosen: chosen(word),
        })
        .collect()
}

fn has(allowed: &Allowed, word: &str) -> bool {
    match word {
        OWNER => allowed.owner,
        DISPLAY => allowed.is_display(),
        word => ROLES
            .iter()
            .any(|(name, role, _)| *name == word && allowed.roles.contains(role)),
    }
}

/// The words of what an account may do.
fn said(frame: &Frame, allowed: &Allowed) -> String {
    let words = choices(frame, true, |word| has(allowed, word)).into_iter();
    let words: Vec<String> = words.filter(|c| c.chosen).map(|c| c.label).collect();
    words.join(", ")
}

async fn draw(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    f: Shown,
    of: Option<CrewId>,
    code: Option<(String, String)>,
) -> Result<CrewPage, Error> {
    let mut frame = super::frame(app, asked, crew);
    f.mark(&mut frame);
    let may_change = crew.owns() || crew.is(Role::Skipper);
    let zone = app.centre_zone().await?;
    let day = |at: jiff::Timestamp| view::day(at.to_zoned_datetime(zone.clone()).date());
    let accounts = app
        .store()
        .list_crew()
        .await?
        .into_iter()
        .filter(|account| account.active)
        .map(|account| {
            let roles = choices(&frame, crew.owns(), |word| has(&account.allowed, word));
            Account {
                id: account.id.to_string(),
                words: said(&frame, &account.allowed),
                open: may_change && (crew.owns() || !account.allowed.owner),
                has_passphrase: account.has_passphrase,
                name: account.name,
                roles,
                own: account.id == crew.0.crew,
                faults: if of == Some(account.id) {
                    f.faults.clone()
                } else {
                    Vec::new()
                },
            }
        })
        .collect();
    let devices = app
        .store()
        .devices()
        .await?
        .into_iter()
        .map(|device| Device {
            id: device.id.to_string(),
            name: device.name,
            kind: frame.t.say(match device.kind {
                crate::store::crew::DeviceKind::Helm => "place-of-work-helm",
                crate::store::crew::DeviceKind::Deck => "place-of-work-deck",
                crate::store::crew::DeviceKind::Desk => "place-of-work-desk",
            }),
            enrolled: day(device.enrolled_at),
            revoked: device.revoked_at.map(day),
            own: device.id == crew.0.device,
        })
        .collect();
    Ok(CrewPage {
        roles: choices(&frame, crew.owns(), |word| f.is("roles", word)),
        may_change,
        owns: crew.owns(),
        accounts,
        devices,
        code,
        frame,
        f,
    })
}

/// Accounts and devices.
pub async fn page(State(app): State<App>, asked: Asked, crew: Crew) -> Result<Response, Error> {
    let f = Shown::plain(&app);
    html(&draw(&app, &asked, &crew, f, None, None).await?)
}

fn typed_roles(fields: &Fields, crew: &Crew) -> Option<Allowed> {
    let ticked = |word: &str| fields.all("roles").any(|typed| typed == word);
    let roles = ROLES.iter().filter(|(word, _, _)| ticked(word));
    let allowed = Allowed {
        roles: roles.map(|(_, role, _)| *role).collect(),
        owner: crew.owns() && ticked(OWNER),
    };
    let key = match (allowed.is_display(), ticked(DISPLAY)) {
        (true, false) => "fault-no-role",
        (false, true) => "fault-display-alone",
        (true, true) | (false, false) => return Some(allowed),
    };
    fields.fault("roles", key, &[]);
    None
}

/// An owner's account is changed by owners alone: a new PIN would open it to whoever gave it.
async fn may_change(app: &App, crew: &Crew, id: CrewId) -> Result<(), Error> {
    let accounts = app.store().list_crew().await?;
    let owner = accounts.iter().any(|one| one.id == id && one.allowed.owner);
    if owner && !crew.owns() {
        return Err(Error::Forbidden);
    }
    Ok(())
}

/// What is kept of a refused form: never the PIN.
fn without_pin(fields: &Fields) -> Fields {
    let kept = fields
        .pairs()
        .iter()
        .filter(|(name, _)| !name.starts_with("pin") && !name.starts_with("passphrase"))
        .cloned()
        .collect();
    Fields::of(kept)
}

fn told(fields: &Fields, field: &str, error: CrewError) -> Result<(), Error> {
    let key = match error {
        CrewError::NoName => "fault-empty",
        CrewError::NameTaken => "fault-name-taken",
        CrewError::NoSuchCrew => "fault-no-account",
        CrewError::Store(error) => return Err(error.into()),
    };
    fields.fault(field, key, &[]);
    Ok(())
}

async fn refuse(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    fields: &Fields,
    of: Option<CrewId>,
) -> Result<Response, Error> {
    let mut faults = fields.faults();
    if let Some(id) = of {
        // The fields of an account carry its identity, as the page has one form for each.
        for fault in &mut faults {
            fault.field = format!("{}-{id}", fault.field);
        }
    }
    let f = Shown::plain(app).refused(&without_pin(fields), faults);
    refused(&draw(app, asked, crew, f, of, None).await?)
}

/// A new account.
pub async fn add(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    fields: Fields,
) -> Result<Response, Error> {
    let name = fields.text("name", LONGEST_NAME);
    let roles = typed_roles(&fields, &crew);
    let pin = accounts::pin(&fields, "pin");
    if let (Some(name), Some(roles), Some(pin)) = (name, roles, pin) {
        match app.store().add_crew(&name, roles, &pin).await {
            Ok(id) => {
                let what = format!("made the account {id}");
                app.store()
                    .audit(Some(crew.0.crew), Some(crew.0.device), &what)
                    .await?;
                return Ok(Redirect::to("/desk/crew").into_response());
            }
            Err(error) => told(&fields, "name", error)?,
        }
    }
    refuse(&app, &asked, &crew, &fields, None).await
}

/// What an account may do. Nobody takes the skipper's role or the ownership from themself, so that
/// one is left.
pub async fn roles(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<CrewId>,
    fields: Fields,
) -> Result<Response, Error> {
    may_change(&app, &crew, id).await?;
    if let Some(allowed) = typed_roles(&fields, &crew) {
        let own = id == crew.0.crew;
        let gives_up = (crew.is(Role::Skipper) && !allowed.roles.contains(&Role::Skipper))
            || (crew.owns() && !allowed.owner);
        if own && gives_up {
            fields.fault("roles", "fault-own-role", &[]);
        } else {
            match app.store().set_allowed(id, allowed).await {
                Ok(()) => return done(&app, &crew, &format!("changed the roles of {id}")).await,
                Err(error) => told(&fields, "roles", error)?,
            }
        }
    }
    refuse(&app, &asked, &crew, &fields, Some(id)).await
}

/// A passphrase for the desk, one's own or given by an owner; left empty it is taken away.
pub async fn passphrase(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<CrewId>,
    fields: Fields,
) -> Result<Response, Error> {
    if id != crew.0.crew && !crew.owns() {
        return Err(Error::Forbidden);
    }
    if let Ok(chosen) = accounts::passphrase(&fields, "passphrase") {
        match app.store().set_passphrase(id, chosen.as_ref()).await {
            Ok(()) => {
                let what = if chosen.is_some() {
                    format!("gave {id} a passphrase")
                } else {
                    format!("took the passphrase of {id} away")
                };
                return done(&app, &crew, &what).await;
            }
            Err(error) => told(&fields, "passphrase", error)?,
        }
    }
    refuse(&app, &asked, &crew, &fields, Some(id)).await
}

/// A new PIN: whoever uses the account signs in again.
pub async fn pin(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<CrewId>,
    fields: Fields,
) -> Result<Response, Error> {
    may_change(&app, &crew, id).await?;
    if let Some(pin) = accounts::pin(&fields, "pin") {
        match app.store().set_pin(id, &pin).await {
            Ok(()) => return done(&app, &crew, &format!("gave {id} a new PIN")).await,
            Err(error) => told(&fields, "pin", error)?,
        }
    }
    refuse(&app, &asked, &crew, &fields, Some(id)).await
}

/// Takes an account out of use; what it wrote stays.
pub async fn remove(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<CrewId>,
    fields: Fields,
) -> Result<Response, Error> {
    may_change(&app, &crew, id).await?;
    if id == crew.0.crew {
        fields.fault("remove", "fault-own-account", &[]);
    } else if fields.ticked("sure") {
        match app.store().remove_crew(id).await {
            Ok(()) => return done(&app, &crew, &format!("removed the account {id}")).await,
            Err(error) => told(&fields, "remove", error)?,
        }
    } else {
        fields.fault("remove", "fault-not-sure", &[]);
    }
    refuse(&app, &asked, &crew, &fields, Some(id)).await
}

async fn done(app: &App, crew: &Crew, what: &str) -> Result<Response, Error> {
    app.store()
        .audit(Some(crew.0.crew), Some(crew.0.device), what)
        .await?;
    Ok(Redirect::to("/desk/crew").into_response())
}

/// A code that lets one device in; shown once.
pub async fn code(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    _: Fields,
) -> Result<Response, Error> {
    let code = app.store().enrolment_code(Some(crew.0.crew)).await?;
    let zone = app.centre_zone().await?;
    let (first, last) = code.digits.split_at(code.digits.len() / 2);
    let shown = (
        format!("{first} {last}"),
        view::clock_time(code.expires, &zone),
    );
    let f = Shown::plain(&app);
    html(&draw(&app, &asked, &crew, f, None, Some(shown)).await?)
}

/// Shuts a device out: whoever is signed in on it is signed out at once.
pub async fn revoke(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<DeviceId>,
    fields: Fields,
) -> Result<Response, Error> {
    if id == crew.0.device {
        fields.fault("devices", "fault-own-device", &[]);
        return refuse(&app, &asked, &crew, &fields, None).await;
    }
    app.store().revoke_device(id, Some(crew.0.crew)).await?;
    Ok(Redirect::to("/desk/crew").into_response())
}
