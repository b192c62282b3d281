//! Letting a device in and signing in on it: name and PIN, on an enrolled device only.

use askama::Template;
use axum::extract::State;
use axum::http::{HeaderMap, header};
use axum::response::{AppendHeaders, IntoResponse, Redirect, Response};
use axum_extra::extract::CookieJar;
use axum_extra::extract::cookie::Cookie;
use serde::Deserialize;

use super::app::App;
use super::error::Error;
use super::extract::{Crew, Query};
use super::form::Fields;
use super::frame::{Frame, Palette, Place};
use super::page::{
    Asked, cookie, device_cookie, frame, html, local_path, palette_cookie, refused, session_cookie,
};
use super::parts::{Choice, FieldFault};
use super::transport::Transport;
use super::view;
use crate::store::crew::{Device, DeviceKind, EnrolRefused, Secret, SignInRefused};
use crate::words::{Arg, Words};

/// How long a device stays let in, days; it is revoked by the skipper, not by time.
pub(super) const DEVICE_DAYS: i64 = 400;
/// A session's cookie outlives the longest session; the store ends it.
pub(super) const SESSION_DAYS: i64 = 2;

#[derive(Template)]
#[template(path = "enrol.html")]
struct EnrolPage {
    frame: Frame,
    code: String,
    name: String,
    kinds: Vec<Choice>,
    faults: Vec<FieldFault>,
}

#[derive(Template)]
#[template(path = "sign-in.html")]
struct SignInPage {
    frame: Frame,
    device: String,
    /// At a desk a passphrase may be wanted.
    at_desk: bool,
    crew: Vec<Choice>,
    to: String,
    faults: Vec<FieldFault>,
}

/// Where to go after signing in.
#[derive(Debug, Deserialize)]
pub struct To {
    to: Option<String>,
    code: Option<String>,
}

async fn device(app: &App, transport: Transport, jar: &CookieJar) -> Result<Option<Device>, Error> {
    let Some(held) = jar.get(device_cookie(transport)) else {
        return Ok(None);
    };
    // Text that is no secret is nobody's.
    let Ok(secret) = held.value().parse::<Secret>() else {
        return Ok(None);
    };
    let secret = secret.over(transport.carried());
    Ok(app.store().device_by_secret(&secret).await?)
}

pub(super) fn kinds(frame: &Frame, chosen: &str) -> Vec<Choice> {
    ["helm", "deck", "desk"]
        .into_iter()
        .map(|kind| Choice {
            value: kind.to_owned(),
            label: frame.t.say(&format!("place-of-work-{kind}")),
            note: frame.t.say(&format!("place-of-work-{kind}-note")),
            chosen: kind == chosen,
        })
        .collect()
}

/// The page on which a code lets a device in.
pub async fn enrol_page(
    State(app): State<App>,
    asked: Asked,
    Query(to): Query<To>,
) -> Result<Response, Error> {
    if super::set_up::is_due(&app).await? {
        return Ok(Redirect::to("/set-up").into_response());
    }
    let frame = frame(&app, &asked, Place::None, None);
    let kinds = kinds(&frame, "helm");
    let code = to.code.unwrap_or_default();
    html(&EnrolPage {
        frame,
        code,
        name: String::new(),
        kinds,
        faults: Vec::new(),
    })
}

/// Where a device is used.
pub(super) fn typed_kind(fields: &Fields) -> Option<DeviceKind> {
    fields.word(
        "kind",
        &[
            ("helm", DeviceKind::Helm),
            ("deck", DeviceKind::Deck),
            ("desk", DeviceKind::Desk),
        ],
    )
}

/// Lets a device in.
pub async fn enrol(
    State(app): State<App>,
    asked: Asked,
    fields: Fields,
) -> Result<Response, Error> {
    let code = fields.typed("code").replace([' ', '-'], "");
    let name = fields.text("name", 60);
    let kind = typed_kind(&fields);
    if let (Some(name), Some(kind)) = (name, kind) {
        let transport = asked.transport;
        let let_in = app
            .store()
            .enrol_device_over(transport.carried(), &code, &name, kind);
        match let_in.await {
            Ok(device) => {
                let held = device.secret.text();
                let kept = cookie(transport, device_cookie(transport), held, DEVICE_DAYS);
                return Ok(with_cookies([kept], Redirect::to("/sign-in")));
            }
            Err(EnrolRefused::NoSuchCode) => fields.fault("code", "fault-code", &[]),
            Err(EnrolRefused::NoName) => fields.fault("name", "fault-empty", &[]),
            Err(EnrolRefused::Store(error)) => return Err(error.into()),
        }
    }
    let mut frame = frame(&app, &asked, Place::None, None);
    frame.title_prefix = frame.t.say("error-prefix");
    let kinds = kinds(&frame, fields.typed("kind"));
    let name = fields.typed("name").to_owned();
    refused(&EnrolPage {
        frame,
        code,
        name,
        kinds,
        faults: fields.faults(),
    })
}

/// The page to sign in on.
pub async fn sign_in_page(
    State(app): State<App>,
    asked: Asked,
    jar: CookieJar,
    Query(to): Query<To>,
) -> Result<Response, Error> {
    let Some(device) = device(&app, asked.transport, &jar).await? else {
        return if app.reached().lets_devices_in {
            let_in(&app, asked.transport).await
        } else {
            Ok(Redirect::to("/enrol").into_response())
        };
    };
    let frame = frame(&app, &asked, Place::None, None);
    let crew = names(&app, "").await?;
    let to = local_path(to.to.as_deref().unwrap_or("/")).to_owned();
    html(&SignInPage {
        frame,
        at_desk: device.kind == DeviceKind::Desk,
        device: device.name,
        crew,
        to,
        faults: Vec::new(),
    })
}

/// Lets a device in at a drill, by a code made on the spot: the same door as everywhere.
async fn let_in(app: &App, transport: Transport) -> Result<Response, Error> {
    let code = app.store().enrolment_code(None).await?;
    let name = Words::english().say("drill-device");
    match app
        .store()
        .enrol_device_over(transport.carried(), &code.digits, &name, DeviceKind::Helm)
        .await
    {
        Ok(device) => {
            let held = device.secret.text();
            let kept = cookie(transport, device_cookie(transport), held, DEVICE_DAYS);
            Ok(with_cookies([kept], Redirect::to("/sign-in")))
        }
        Err(EnrolRefused::Store(error)) => Err(error.into()),
        Err(EnrolRefused::NoSuchCode | EnrolRefused::NoName) => {
            Err(Error::Internal("a code made on the spot was refused"))
        }
    }
}

async fn names(app: &App, chosen: &str) -> Result<Vec<Choice>, Error> {
    let crew = app.store().list_crew().await?;
    Ok(crew
        .into_iter()
        .filter(|account| account.active)
        .map(|account| Choice {
            chosen: account.name == chosen,
            value: account.name.clone(),
            label: account.name,
            note: String::new(),
        })
        .collect())
}

/// Signs in.
pub async fn sign_in(
    State(app): State<App>,
    asked: Asked,
    jar: CookieJar,
    fields: Fields,
) -> Result<Response, Error> {
    let transport = asked.transport;
    let Some(device) = device(&app, transport, &jar).await? else {
        return Ok(Redirect::to("/enrol").into_response());
    };
    let to = local_path(fields.typed("to")).to_owned();
    let zone = app.centre_zone().await?;
    let (name, pin) = (fields.typed("name"), fields.typed("pin"));
    let signed = app
        .store()
        .sign_in_over(transport.carried(), device.id, name, pin);
    match signed.await {
        Ok(secret) => {
            let kept = cookie(
                transport,
                session_cookie(transport),
                secret.text(),
                SESSION_DAYS,
            );
            return Ok(with_cookies([kept], Redirect::to(&to)));
        }
        Err(SignInRefused::Wrong { wait_until: None }) => {
            let key = match device.kind {
                DeviceKind::Desk => "fault-passphrase",
                DeviceKind::Helm | DeviceKind::Deck => "fault-pin",
            };
            fields.fault("pin", key, &[]);
        }
        Err(
            SignInRefused::Wrong {
                wait_until: Some(until),
            }
            | SignInRefused::Wait { until },
        ) => {
            let until = view::clock_time(until, &zone);
            fields.fault("pin", "fault-pin-wait", &[("until", Arg::from(until))]);
        }
        Err(SignInRefused::NoSuchDevice) => return Ok(Redirect::to("/enrol").into_response()),
        Err(SignInRefused::Store(error)) => return Err(error.into()),
    }
    let mut frame = frame(&app, &asked, Place::None, None);
    frame.title_prefix = frame.t.say("error-prefix");
    let crew = names(&app, fields.typed("name")).await?;
    refused(&SignInPage {
        frame,
        at_desk: device.kind == DeviceKind::Desk,
        device: device.name,
        crew,
        to,
        faults: fields.faults(),
    })
}

/// Signs out.
pub async fn sign_out(
    State(app): State<App>,
    transport: Transport,
    _: Crew,
    jar: CookieJar,
) -> Result<Response, Error> {
    let name = session_cookie(transport);
    // A cookie that is no secret of ours names no session to end.
    if let Some(Ok(secret)) = jar.get(name).map(|held| held.value().parse::<Secret>()) {
        app.store()
            .sign_out(&secret.over(transport.carried()))
            .await?;
    }
    let gone = cookie(transport, name, String::new(), 0);
    Ok(with_cookies([gone], Redirect::to("/sign-in")))
}

/// Keeps a palette.
pub async fn palette(transport: Transport, fields: Fields) -> Response {
    let palette = Palette::by_name(fields.typed("palette")).unwrap_or_default();
    let back = local_path(fields.typed("back")).to_owned();
    with_cookies([palette_cookie(transport, palette)], Redirect::to(&back))
}

pub(super) fn with_cookies<const N: usize>(
    cookies: [Cookie<'static>; N],
    to: Redirect,
) -> Response {
    let headers = cookies.map(|cookie| (header::SET_COOKIE, cookie.to_string()));
    (AppendHeaders(headers), to).into_response()
}

/// Which static file is asked for.
pub async fn static_file(
    super::extract::Path((hash, path)): super::extract::Path<(String, String)>,
    headers: HeaderMap,
) -> Response {
    super::assets::serve(&hash, &path, &headers)
}
