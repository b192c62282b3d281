//! The guard: what every request passes before a handler sees it. Our host, our origin, a known
//! session with the right role; and what every answer carries.

use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, Uri, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use axum_extra::extract::CookieJar;

use super::app::App;
use super::error::{CauseOf, Error, Problem};
use super::extract::Crew;
use super::page;
use super::transport::{Transport, Via, host_of};
use crate::store::crew::Secret;
use crate::trip::event::Role;

/// Who may use a route.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Needs {
    /// Anyone: signing in, static files, pure computations.
    Nobody,
    /// Anybody who is signed in, a display too: nothing is told here that a display must not show.
    Looker,
    /// Any crew member who is signed in; no display.
    Crew,
    /// Crew with one of these roles.
    Roles(&'static [Role]),
    /// Whoever answers for the whole box.
    Owner,
    /// The skipper, or whoever answers for the whole box.
    Trusted,
}

/// The roles that work on board.
pub const ON_BOARD: Needs = Needs::Roles(&[Role::Skipper, Role::Divemaster]);
/// The roles that plan.
pub const PLANNERS: Needs = Needs::Roles(&[Role::Desk, Role::Skipper, Role::Divemaster]);
/// The desk alone: the register of people.
pub const OFFICE: Needs = Needs::Roles(&[Role::Desk]);
/// The skipper alone.
pub const SKIPPER: Needs = Needs::Roles(&[Role::Skipper]);

impl Needs {
    fn allows(self, crew: Option<&Crew>) -> Result<(), Error> {
        let Some(crew) = crew else {
            let open = self == Self::Nobody;
            return open.then_some(()).ok_or(Error::NotSignedIn);
        };
        let may = match self {
            Self::Nobody | Self::Looker => true,
            Self::Crew => crew.works(),
            Self::Roles(roles) => roles.iter().any(|role| crew.is(*role)),
            Self::Owner => crew.owns(),
            Self::Trusted => crew.owns() || crew.is(Role::Skipper),
        };
        may.then_some(()).ok_or(Error::Forbidden)
    }
}

/// Lets a request of the right people through to one route. `basic`: whether basic mode has it.
pub async fn admit(
    State((app, needs, basic)): State<(App, Needs, bool)>,
    transport: Transport,
    jar: CookieJar,
    mut request: Request,
    next: Next,
) -> Response {
    let crew = match signed(&app, transport, &jar).await {
        Ok(crew) => crew,
        Err(error) => return error.into_response(),
    };
    if let Err(error) = needs.allows(crew.as_ref()) {
        let asks_for_page = request.method() == Method::GET && !is_api(request.uri());
        if asks_for_page && matches!(error, Error::NotSignedIn) {
            return to_sign_in(request.uri()).into_response();
        }
        return error.into_response();
    }
    if transport.is_limited() && !basic {
        let https = app.reached().https().unwrap_or_default().to_owned();
        return Error::BasicMode { https }.into_response();
    }
    if let Some(crew) = crew {
        app.hear(&crew);
        if let Some(via) = request.extensions().get::<Via>() {
            app.peers().know(via.peer);
        }
        request.extensions_mut().insert(crew);
    }
    next.run(request).await
}

async fn signed(app: &App, transport: Transport, jar: &CookieJar) -> Result<Option<Crew>, Error> {
    let Some(cookie) = jar.get(page::session_cookie(transport)) else {
        return Ok(None);
    };
    // Text that is no secret is nobody's.
    let Ok(secret) = cookie.value().parse::<Secret>() else {
        return Ok(None);
    };
    let secret = secret.over(transport.carried());
    Ok(app.store().session(&secret).await?.map(Crew))
}

fn to_sign_in(uri: &Uri) -> Redirect {
    let path = uri.path_and_query().map_or("/", |p| p.as_str());
    let to: String = form_urlencoded::Serializer::new(String::new())
        .append_pair("to", path)
        .finish();
    Redirect::to(&format!("/sign-in?{to}"))
}

fn is_api(uri: &Uri) -> bool {
    uri.path().starts_with("/api/")
}

/// Refuses what was meant for another host (DNS rebinding) or comes from another origin
/// (cross-site request forgery). A computation changes nothing, so it needs no origin.
pub async fn ours(
    State(app): State<App>,
    transport: Transport,
    request: Request,
    next: Next,
) -> Response {
    let host = host_of(request.headers(), request.uri());
    if !host.is_some_and(|host| app.reached().is_our_host(transport, host)) {
        return Error::ForeignHost.into_response();
    }
    let safe = matches!(
        *request.method(),
        Method::GET | Method::HEAD | Method::OPTIONS
    );
    let computes = request.uri().path().starts_with("/api/compute/");
    if !safe && !is_our_origin(&app, transport, request.headers(), computes) {
        return Error::ForeignOrigin.into_response();
    }
    next.run(request).await
}

fn is_our_origin(app: &App, transport: Transport, headers: &HeaderMap, may_lack: bool) -> bool {
    match headers.get(header::ORIGIN) {
        None => may_lack,
        Some(origin) => app
            .reached()
            .origins
            .iter()
            .any(|ours| transport.serves(ours) && ours.as_bytes() == origin.as_bytes()),
    }
}

/// Tells failures of ours to the log once, and problems to people as a page. It is the first to
/// see a request, and tells all others how it came.
pub async fn tell(State(app): State<App>, mut request: Request, next: Next) -> Response {
    let via = request.extensions().get::<Via>();
    let host = host_of(request.headers(), request.uri());
    let transport = Transport::of(app.reached(), via, host);
    request.extensions_mut().insert(transport);
    let path = request.uri().path().to_owned();
    let wants_page = !is_api(request.uri());
    let palette = page::palette_of(request.headers());
    let mut response = next.run(request).await;
    if let Some(CauseOf(cause)) = response.extensions().get::<CauseOf>()
        && response.status().is_server_error()
    {
        let chain = chain(cause.as_ref());
        tracing::error!(http.path = %path, http.status = response.status().as_u16(), cause = %chain, "request failed");
    }
    if wants_page && let Some(problem) = response.extensions_mut().remove::<Problem>() {
        response = page::problem(&app, &problem, transport, palette, &path);
    }
    secure(response.headers_mut(), &path);
    // The box's time on every answer, so that a device can tell how far its own clock is off.
    let now = app.clock().for_comparing().to_string();
    if let Ok(now) = HeaderValue::from_str(&now) {
        response.headers_mut().insert(NOW, now);
    }
    response
}

/// Carries the box's time when it answered, RFC 3339.
pub const NOW: HeaderName = HeaderName::from_static("deckwatch-now");

fn chain(error: &dyn std::error::Error) -> String {
    let mut text = error.to_string();
    let mut source = error.source();
    while let Some(cause) = source {
        text.push_str(": ");
        text.push_str(&cause.to_string());
        source = cause.source();
    }
    // What a request carried must not start a line of its own in the log.
    text.escape_debug().to_string()
}

const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; \
     connect-src 'self'; worker-src 'self'; manifest-src 'self'; form-action 'self'; \
     frame-ancestors 'none'; base-uri 'none'; object-src 'none'";

/// Headers of every answer. No HSTS: on a boat an expired certificate must stay passable.
fn secure(headers: &mut HeaderMap, path: &str) {
    let fixed = [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "same-origin"),
        (
            HeaderName::from_static("cross-origin-opener-policy"),
            "same-origin",
        ),
        (
            HeaderName::from_static("cross-origin-resource-policy"),
            "same-origin",
        ),
        (
            HeaderName::from_static("permissions-policy"),
            "geolocation=(self), camera=(self)",
        ),
    ];
    for (name, value) in fixed {
        headers.insert(name, HeaderValue::from_static(value));
    }
    // Under the hash of its content an answer never changes.
    let kept = headers
        .get(header::CACHE_CONTROL)
        .is_some_and(|told| told.as_bytes().ends_with(b"immutable"));
    if !path.starts_with("/static/") && !kept {
        headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    }
}
