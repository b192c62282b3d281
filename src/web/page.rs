//! What pages have in common: the frame with its alerts and ways, cookies, the way a form's
//! token is made, and the page that tells a problem.

use askama::Template;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use axum_extra::extract::CookieJar;
use axum_extra::extract::cookie::{Cookie, SameSite};
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};

use super::app::App;
use super::error::{Error, Problem};
use super::extract::Crew;
use super::frame::{Author, Cover, Frame, LiveInfo, Palette, Place, Way, Who};
use super::live::Snapshot;
use super::parts::{Action, Weight};
use super::transport::Transport;
use super::view;
use crate::trip::event::Role;
use crate::trip::watch::{AlertState, Priority, Watch};
use crate::words::Words;

/// How often a page without scripts loads itself again, seconds.
const REFRESH_S: u32 = 15;

/// Name of the session's cookie; the prefix makes browsers insist on https and this host.
#[must_use]
pub fn session_cookie(transport: Transport) -> &'static str {
    if transport.is_secure() {
        "__Host-deckwatch-session"
    } else {
        "deckwatch-session"
    }
}

/// Name of the device's cookie.
#[must_use]
pub fn device_cookie(transport: Transport) -> &'static str {
    if transport.is_secure() {
        "__Host-deckwatch-device"
    } else {
        "deckwatch-device"
    }
}

/// A cookie that scripts cannot read and other sites cannot send.
#[must_use]
pub fn cookie(
    transport: Transport,
    name: &'static str,
    value: String,
    days: i64,
) -> Cookie<'static> {
    Cookie::build((name, value))
        .path("/")
        .http_only(true)
        .same_site(SameSite::Strict)
        .secure(transport.is_secure())
        .max_age(time::Duration::days(days))
        .build()
}

const PALETTE: &str = "deckwatch-palette";

/// The palette a request asks for by its cookie.
#[must_use]
pub fn palette_of(headers: &HeaderMap) -> Palette {
    CookieJar::from_headers(headers)
        .get(PALETTE)
        .and_then(|cookie| Palette::by_name(cookie.value()))
        .unwrap_or_default()
}

/// The cookie that keeps a palette.
#[must_use]
pub fn palette_cookie(transport: Transport, palette: Palette) -> Cookie<'static> {
    let mut kept = cookie(transport, PALETTE, palette.name().to_owned(), 365);
    // The switch without reload reads and writes it.
    kept.set_http_only(false);
    kept
}

/// A local path to come back to; anything else leads to the start.
#[must_use]
pub fn local_path(path: &str) -> &str {
    let local = path.starts_with('/') && !path.starts_with("//") && !path.contains('\\');
    if local && !path.chars().any(char::is_control) {
        path
    } else {
        "/"
    }
}

/// What a page is drawn for.
#[derive(Debug, Clone)]
pub struct Asked {
    /// The palette.
    pub palette: Palette,
    /// Path and query.
    pub path: String,
    /// How the request came.
    pub transport: Transport,
    /// Whether the page answers a form: asked for again at its address it would be another.
    pub is_answer: bool,
}

impl<S: Send + Sync> axum::extract::FromRequestParts<S> for Asked {
    type Rejection = std::convert::Infallible;

    async fn from_request_parts(
        parts: &mut axum::http::request::Parts,
        _: &S,
    ) -> Result<Self, Self::Rejection> {
        let path = parts
            .uri
            .path_and_query()
            .map_or("/", |p| p.as_str())
            .to_owned();
        Ok(Self {
            palette: palette_of(&parts.headers),
            path,
            transport: parts.extensions.get().copied().unwrap_or_default(),
            is_answer: parts.method == axum::http::Method::POST,
        })
    }
}

/// The frame of a page outside any trip.
#[must_use]
pub fn frame(app: &App, asked: &Asked, place: Place, crew: Option<&Crew>) -> Frame {
    let mut frame = Frame::new(place, asked.path.clone());
    frame.is_answer = asked.is_answer;
    frame.palette = asked.palette;
    frame.drill = app.reached().drill_speed.is_some();
    frame.basic = asked.transport.is_basic();
    if let Some(crew) = crew {
        // Outside a trip there is no boat's time: times of day are UTC and say so.
        frame.notices = app.notices().rows("/", &TimeZone::UTC, frame.t);
        let key = match crew.0.allowed.roles.iter().max() {
            Some(Role::Desk) => "role-desk",
            Some(Role::Divemaster) => "role-divemaster",
            Some(Role::Skipper) => "role-skipper",
            None if crew.owns() => "role-owner",
            None => "role-display",
        };
        frame.who = Some(Who {
            name: crew.0.name.clone(),
            role: frame.t.say(key),
        });
    }
    frame
}

/// The frame of a page of a trip: alerts, the live stream, the ways between its pages.
#[must_use]
pub fn trip_frame(
    app: &App,
    asked: &Asked,
    place: Place,
    crew: &Crew,
    trip: &Snapshot,
    now: Timestamp,
) -> Frame {
    let mut frame = self::frame(app, asked, place, Some(crew));
    let zone = view::zone(&trip.state);
    let id = trip.trip;
    let watch = trip.watch(now);
    frame.drill |= trip.state.opened.as_ref().is_some_and(|o| o.drill);
    frame.alerts_url = format!("/{}/{id}/alerts", place_path(place));
    frame.alerts = Some(view::alert_rows(
        &trip.state,
        &watch,
        &frame.alerts_url,
        frame.t,
    ));
    frame.notices = app.notices().rows(&frame.alerts_url, &zone, frame.t);
    let on_board = crew.is(Role::Skipper) || crew.is(Role::Divemaster);
    if place == Place::Helm && on_board && app.on_duty() && !answers_alarms(&asked.path) {
        frame.cover = cover(app, trip, &watch, frame.t);
    }
    frame.live = Some(LiveInfo {
        trip_id: id.to_string(),
        entry: trip.head.entry,
        server_time_rfc3339: view::with_offset(now, &zone),
        server_time_words: frame.t.say_with(
            "time-local",
            &[("time", view::clock_time(now, &zone).into())],
        ),
        clock_speed: app.reached().drill_speed.unwrap_or(1.0),
        picture_url: format!("/api/trips/{id}/picture"),
        stream_url: format!("/api/trips/{id}/live"),
        refresh_s: (!asked.is_answer && !asked.path.contains("still")).then_some(REFRESH_S),
        certificate_ends: app
            .certificate_ends()
            .filter(|_| asked.transport.is_secure())
            .map(|ends| ends.to_string()),
        basic_url: app.reached().basic_url().map(ToOwned::to_owned),
        author: Author {
            device: crew.0.device.to_string(),
            crew: crew.0.crew.to_string(),
            name: crew.0.name.clone(),
            role: role_word(crew.by().role),
        },
    });
    frame.ways = ways(place, crew, &id.to_string(), &asked.path, frame.t);
    frame
}

/// A role as the log writes it.
fn role_word(role: Role) -> &'static str {
    match role {
        Role::Desk => "desk",
        Role::Divemaster => "divemaster",
        Role::Skipper => "skipper",
    }
}

/// How long an alarm may stand unanswered before it covers the helm.
///
/// # Source
/// The first step of IMO MSC.128(75), 4.1: fifteen seconds.
const COVERS_AFTER: SignedDuration = SignedDuration::from_secs(15);

/// Pages on which alarms are answered or acted upon already.
fn answers_alarms(path: &str) -> bool {
    let bare = path.split('?').next().unwrap_or(path);
    let page = bare.rsplit('/').next().unwrap_or(bare);
    ["alerts", "emergency", "handover", "recall", "arm", "clock"].contains(&page)
}

/// The worst alarm that nobody has answered.
fn cover(app: &App, trip: &Snapshot, watch: &Watch, t: &Words) -> Option<Cover> {
    let alert = watch.alerts.iter().find(|alert| {
        let unanswered = matches!(alert.state, AlertState::Active | AlertState::Silenced);
        unanswered && alert.priority <= Priority::Alarm
    })?;
    let url = format!("/helm/{}", trip.trip);
    let row = view::alert_row(&trip.state, alert, watch.at, &url, t);
    let act = |key: &str, page: &str, weight: Weight| {
        let mut action = Action::new(t.say(key), format!("{url}/{page}"), weight)
            .with("alert", alert.key.clone())
            .with("cause", alert.cause.word());
        action.fields.extend(tokens(app, trip));
        action
    };
    Some(Cover {
        is_due: alert.state == AlertState::Active
            && watch.at.duration_since(alert.since) >= COVERS_AFTER,
        title: row.title,
        detail: row.detail,
        sign: row.urgency.sign(),
        since_rfc3339: row.since_rfc3339,
        state: row.state,
        acknowledge: act("helm-acknowledge", "acknowledge", Weight::Primary),
        quiet: act("helm-quiet", "quiet", Weight::Plain),
    })
}

/// The first part of the paths of a place of work.
#[must_use]
pub fn place_path(place: Place) -> &'static str {
    match place {
        Place::Helm => "helm",
        Place::Deck => "deck",
        Place::Desk | Place::None => "desk",
    }
}

fn ways(place: Place, crew: &Crew, trip: &str, path: &str, t: &Words) -> Vec<Way> {
    let on_board = crew.is(Role::Skipper) || crew.is(Role::Divemaster);
    let pages: &[(&str, &str)] = match place {
        Place::Helm => &[
            ("way-watch", ""),
            ("way-pickup", "/pickup"),
            ("way-chart", "/chart"),
            ("way-count", "/count"),
            ("way-conditions", "/conditions"),
            ("way-emergency", "/emergency"),
            ("way-trip", "/trip"),
        ],
        Place::Deck => &[
            ("way-groups", ""),
            ("way-returns", "/returns"),
            ("way-lookout", "/lookout"),
            ("way-count", "/count"),
            ("way-roll", "/roll"),
            ("way-emergency", "/emergency"),
            ("way-arm", "/arm"),
        ],
        Place::Desk | Place::None => &[
            ("way-trip", ""),
            ("way-roster", "/roster"),
            ("way-groups", "/groups"),
            ("way-passenger-list", "/passenger-list"),
            ("way-boat-sheet", "/boat-sheet"),
            ("way-log", "/log"),
            ("way-report", "/report"),
        ],
    };
    let bare = path.split('?').next().unwrap_or(path);
    let mut ways: Vec<Way> = pages
        .iter()
        .map(|(key, page)| {
            let href = format!("/{}/{trip}{page}", place_path(place));
            Way {
                label: t.say(key),
                here: bare == href,
                href,
            }
        })
        .collect();
    let others: &[(&str, &str, bool)] = &[
        // The helm's spine is full at the height of a tablet: its Trip page leads elsewhere.
        ("way-helm", "helm", on_board && place != Place::Helm),
        (
            "way-deck",
            "deck",
            on_board && !matches!(place, Place::Deck | Place::Helm),
        ),
        (
            "way-desk",
            "desk",
            !matches!(place, Place::Desk | Place::Helm),
        ),
    ];
    if place == Place::Desk {
        ways.push(Way {
            label: t.say("way-day"),
            href: "/desk".to_owned(),
            here: false,
        });
    }
    for (key, other, _) in others.iter().filter(|(_, _, shown)| *shown) {
        ways.push(Way {
            label: t.say(key),
            href: format!("/{other}/{trip}"),
            here: false,
        });
    }
    ways
}

/// The hidden fields of a form of a trip: what its page knew, a number used once, and the units
/// that are typed.
#[must_use]
pub fn tokens(app: &App, trip: &Snapshot) -> Vec<(String, String)> {
    let form = app.clock().new_uuid().to_string();
    let mut tokens = vec![
        ("knows".to_owned(), trip.knows_token()),
        ("form".to_owned(), form),
    ];
    tokens.extend(super::form::typed_in());
    tokens
}

/// A page drawn.
///
/// # Errors
/// If the template fails.
pub fn html(page: &impl Template) -> Result<Response, Error> {
    Ok(Html(page.render()?).into_response())
}

/// A form drawn again with what is wrong: status 422.
///
/// # Errors
/// If the template fails.
pub fn refused(page: &impl Template) -> Result<Response, Error> {
    Ok((StatusCode::UNPROCESSABLE_ENTITY, Html(page.render()?)).into_response())
}

/// A page drawn: as asked for, or as a refusal.
///
/// # Errors
/// If the template fails.
pub fn answered(page: &impl Template, sound: bool) -> Result<Response, Error> {
    if sound { html(page) } else { refused(page) }
}

#[derive(Template)]
#[template(path = "problem.html")]
struct ProblemPage {
    frame: Frame,
    title: String,
    detail: String,
    faults: Vec<String>,
}

/// The page that tells a problem.
#[must_use]
pub fn problem(
    app: &App,
    problem: &Problem,
    transport: Transport,
    palette: Palette,
    path: &str,
) -> Response {
    let asked = Asked {
        palette,
        path: path.to_owned(),
        transport,
        is_answer: false,
    };
    let page = ProblemPage {
        frame: frame(app, &asked, Place::None, None),
        title: problem.title.clone(),
        detail: problem.detail.clone(),
        faults: problem.faults.iter().map(ToString::to_string).collect(),
    };
    let status = StatusCode::from_u16(problem.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
    match page.render() {
        Ok(text) => (status, Html(text)).into_response(),
        // The words themselves, if not even this page can be drawn.
        Err(_) => (status, [(header::CONTENT_TYPE, "text/plain")], page.detail).into_response(),
    }
}
