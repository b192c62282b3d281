//! The first start: one page makes the centre, its first boat and its owner, behind the code that
//! the box printed. There is no account before it, and no such page after it.

use std::collections::BTreeSet;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse as _, Redirect, Response};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::accounts::{self, ROLES};
use super::act;
use super::app::App;
use super::desk::units;
use super::error::Error;
use super::extract::Query;
use super::form::Fields;
use super::frame::{Frame, Place};
use super::page::{Asked, cookie, device_cookie, frame, html, refused, session_cookie};
use super::parts::{Choice, FieldFault};
use super::retention::Rule;
use super::sign_in::{DEVICE_DAYS, SESSION_DAYS, kinds, typed_kind, with_cookies};
use crate::store::crew::{Allowed, DeviceKind, EnrolRefused, Passphrase, Pin, SignInRefused};
use crate::store::register::{Boat, MOST_CARRIED, key};
use crate::trip::BoatId;
use crate::trip::event::Role;
use crate::units::system::System;

#[derive(Template)]
#[template(path = "set-up.html")]
struct SetUpPage {
    frame: Frame,
    typed: Typed,
    zones: Vec<Choice>,
    units: Vec<Choice>,
    roles: Vec<Choice>,
    kinds: Vec<Choice>,
    faults: Vec<FieldFault>,
}

/// What stands in the fields: never a PIN or a passphrase.
struct Typed(Vec<(String, String)>);

impl Typed {
    fn v(&self, name: &str) -> &str {
        let found = self.0.iter().find(|(field, _)| field == name);
        found.map_or("", |(_, value)| value)
    }
}

/// The code may stand in the address, as it is printed.
#[derive(Debug, Deserialize)]
pub struct Asking {
    code: Option<String>,
}

/// Whether this box has no account yet.
///
/// # Errors
/// If the store fails.
pub async fn is_due(app: &App) -> Result<bool, Error> {
    let accounts = app.store().list_crew().await?;
    Ok(accounts.iter().all(|account| !account.active))
}

/// The page.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    Query(asking): Query<Asking>,
) -> Result<Response, Error> {
    if !is_due(&app).await? {
        return Err(Error::NotFound);
    }
    let form = app.clock().new_uuid().to_string();
    let typed = [
        ("form", form.as_str()),
        ("code", asking.code.as_deref().unwrap_or_default()),
        ("time_zone", "UTC"),
        ("units", System::Metric.word()),
        ("device", "Desk"),
        ("kind", "desk"),
        ("roles", "desk"),
    ];
    let typed = typed.map(|(name, value)| (name.to_owned(), value.to_owned()));
    html(&draw(&app, &asked, typed.to_vec(), Vec::new()))
}

fn draw(
    app: &App,
    asked: &Asked,
    typed: Vec<(String, String)>,
    faults: Vec<FieldFault>,
) -> SetUpPage {
    let mut frame = frame(app, asked, Place::None, None);
    if !faults.is_empty() {
        frame.title_prefix = frame.t.say("error-prefix");
    }
    let is = |name: &str, value: &str| typed.iter().any(|(n, v)| n == name && v == value);
    let zones = jiff::tz::db()
        .available()
        .map(|name| Choice {
            value: name.to_string(),
            label: name.to_string().replace('_', " "),
            note: String::new(),
            chosen: is("time_zone", &name.to_string()),
        })
        .collect();
    let units = typed.iter().find(|(name, _)| name == "units");
    let units = units::choices(units.map_or("", |(_, word)| word), frame.t);
    let roles = ROLES.map(|(word, _, key)| Choice {
        value: word.to_owned(),
        label: frame.t.say(key),
        note: String::new(),
        chosen: is("roles", word),
    });
    let kind = typed.iter().find(|(name, _)| name == "kind");
    let kinds = kinds(&frame, kind.map_or("desk", |(_, kind)| kind));
    SetUpPage {
        frame,
        zones,
        units,
        roles: roles.to_vec(),
        kinds,
        typed: Typed(typed),
        faults,
    }
}

/// What the first page makes.
struct SetUp {
    centre: String,
    place: String,
    time_zone: String,
    units: System,
    rule: Rule,
    boat: Boat,
    owner: String,
    allowed: Allowed,
    pin: Pin,
    passphrase: Option<Passphrase>,
    device: String,
    kind: DeviceKind,
}

fn read(fields: &Fields) -> Result<Option<SetUp>, Error> {
    let centre = fields.text("centre", 80);
    let place = fields.text("place", 80);
    let time_zone = fields.text("time_zone", 60).filter(|name| {
        let known = TimeZone::get(name).is_ok();
        if !known {
            fields.fault("time_zone", "fault-zone", &[]);
        }
        known
    });
    let units = units::typed(fields);
    let named = fields.text("jurisdiction", 80);
    let boat = boat(fields)?;
    let owner = fields.text("owner", 60);
    let ticked = |word: &str| fields.all("roles").any(|typed| typed == word);
    let roles: BTreeSet<Role> = ROLES
        .iter()
        .filter(|(word, _, _)| ticked(word))
        .map(|(_, role, _)| *role)
        .collect();
    let pin = accounts::pin(fields, "pin");
    let passphrase = accounts::passphrase(fields, "passphrase");
    let device = fields.text("device", 60);
    let kind = typed_kind(fields);
    let whole = (centre, place, time_zone, named, boat, owner);
    let (Some(centre), Some(place), Some(time_zone), Some(named), Some(boat), Some(owner)) = whole
    else {
        return Ok(None);
    };
    let (Some(units), Some(pin), Ok(passphrase), Some(device), Some(kind)) =
        (units, pin, passphrase, device, kind)
    else {
        return Ok(None);
    };
    Ok(Some(SetUp {
        centre,
        place,
        time_zone,
        units,
        // The days stay the default until somebody confirms them against the local code.
        rule: Rule {
            named,
            ..Rule::default()
        },
        boat,
        owner,
        allowed: Allowed { roles, owner: true },
        pin,
        passphrase,
        device,
        kind,
    }))
}

/// The first boat, with the figures that its own page starts from, and the first step of its
/// emergency plan.
fn boat(fields: &Fields) -> Result<Option<Boat>, Error> {
    let name = fields.text("boat", 60);
    let call_sign = fields.optional_text("call_sign", 20);
    let capacity = fields.whole("capacity", MOST_CARRIED).filter(|n| {
        if *n == 0 {
            fields.fault("capacity", "fault-capacity", &[]);
        }
        *n > 0
    });
    let step = fields.text("plan", 500);
    // The same form sent twice is the same boat.
    let id = BoatId::new(act::identity(fields)?.uuid());
    let (Some(name), Some(call_sign), Some(capacity), Some(step)) =
        (name, call_sign, capacity, step)
    else {
        return Ok(None);
    };
    let mut boat = Boat::usual(id);
    boat.sheet.name = name;
    boat.sheet.call_sign = call_sign.unwrap_or_default();
    boat.sheet.capacity = capacity;
    boat.sheet.emergency_plan = vec![step];
    Ok(Some(boat))
}

/// Makes everything. The code is used up first, the account comes last: a start that fails in
/// between leaves a box that can be set up again.
pub async fn make(State(app): State<App>, asked: Asked, fields: Fields) -> Result<Response, Error> {
    if !is_due(&app).await? {
        return Err(Error::NotFound);
    }
    let transport = asked.transport;
    if let Some(made) = read(&fields)?.filter(|_| fields.is_sound()) {
        let code = fields.typed("code").replace([' ', '-'], "");
        let store = app.store();
        let let_in = store
            .enrol_device_over(transport.carried(), &code, &made.device, made.kind)
            .await;
        match let_in {
            Ok(device) => {
                let session = keep(&app, transport, device.device, &made).await?;
                let held = device.secret.text();
                let cookies = [
                    cookie(transport, device_cookie(transport), held, DEVICE_DAYS),
                    cookie(transport, session_cookie(transport), session, SESSION_DAYS),
                ];
                return Ok(with_cookies(cookies, Redirect::to("/")).into_response());
            }
            Err(EnrolRefused::NoSuchCode) => fields.fault("code", "fault-set-up-code", &[]),
            Err(EnrolRefused::NoName) => fields.fault("device", "fault-empty", &[]),
            Err(EnrolRefused::Store(error)) => return Err(error.into()),
        }
    }
    let secret = |name: &str| name == "pin" || name == "passphrase";
    let typed = fields.pairs().iter().filter(|(name, _)| !secret(name));
    refused(&draw(
        &app,
        &asked,
        typed.cloned().collect(),
        fields.faults(),
    ))
}

/// Writes what was given and signs the owner in; gives the session's secret.
async fn keep(
    app: &App,
    transport: super::transport::Transport,
    device: crate::trip::event::DeviceId,
    made: &SetUp,
) -> Result<String, Error> {
    let store = app.store();
    store.set_setting(key::CENTRE, &made.centre).await?;
    store.set_setting(key::PLACE, &made.place).await?;
    store.set_setting(key::TIME_ZONE, &made.time_zone).await?;
    app.set_units(made.units).await?;
    store.set_setting(key::RETENTION, &made.rule).await?;
    store.save_boat(&made.boat).await?;
    let owner = store
        .add_crew(&made.owner, made.allowed.clone(), &made.pin)
        .await
        .map_err(|_| Error::Internal("the first account could not be made"))?;
    if let Some(passphrase) = &made.passphrase {
        store
            .set_passphrase(owner, Some(passphrase))
            .await
            .map_err(|_| Error::Internal("the passphrase could not be kept"))?;
    }
    store
        .audit(Some(owner), Some(device), "set the box up")
        .await?;
    let typed = match (made.kind, &made.passphrase) {
        (DeviceKind::Desk, Some(passphrase)) => passphrase.text(),
        _ => made.pin.digits(),
    };
    let signed = store
        .sign_in_over(transport.carried(), device, &made.owner, typed)
        .await;
    match signed {
        Ok(secret) => Ok(secret.text()),
        Err(SignInRefused::Store(error)) => Err(error.into()),
        Err(_) => Err(Error::Internal("the owner could not be signed in")),
    }
}
