//! What a device needs to go on alone: the shell it shows when the box does not answer, the service
//! worker that keeps it, the manifest that makes it installable. No trip and no name stands in them.

use std::collections::BTreeMap;

use askama::Template;
use axum::extract::Request;
use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use serde_json::json;

use super::assets;
use super::error::Error;
use super::extract::Crew;
use super::frame::{Frame, Place};
use super::marker::{LETTERS, Mark};
use super::page::{Asked, frame, html};
use crate::web::app::App;

/// Sent by a script that posts a form: it wants to be told where to go rather than be led there.
const FORM: HeaderName = HeaderName::from_static("deckwatch-form");
const LOCATION: HeaderName = HeaderName::from_static("deckwatch-location");

/// Prefixes of the sentences that a device may have to say alone.
const PREFIXES: [&str; 9] = [
    "alone-",
    "alert-",
    "phase-",
    "place-",
    "priority-",
    "helm-recall-",
    "helm-reason-",
    "measure-",
    "names-and",
];

#[derive(Template)]
#[template(path = "alone.html")]
struct AlonePage {
    frame: Frame,
    words: String,
    marks: String,
}

/// The shell: an empty page with every word and mark that scripts may have to set.
pub(super) async fn page(
    axum::extract::State(app): axum::extract::State<App>,
    asked: Asked,
    _crew: Option<Crew>,
) -> Result<Response, Error> {
    let frame = frame(&app, &asked, Place::None, None);
    let words: BTreeMap<String, String> = frame.t.patterns(&PREFIXES);
    let marks: BTreeMap<String, String> = LETTERS
        .iter()
        .filter_map(|letter| Some((letter.to_string(), Mark::by_letter(*letter)?.svg())))
        .collect();
    html(&AlonePage {
        frame,
        words: json!(words).to_string(),
        marks: json!(marks).to_string(),
    })
}

/// The service worker. It is asked for again at every visit, so that a new program is noticed.
pub(super) async fn worker() -> Result<Response, Error> {
    let script = assets::worker().map_err(Error::Internal)?;
    let kind = [(header::CONTENT_TYPE, "text/javascript; charset=utf-8")];
    Ok((kind, script).into_response())
}

/// The manifest (W3C Web Application Manifest).
pub(super) async fn manifest() -> Response {
    let t = crate::web::language::words();
    let icon = assets::asset("icon.svg");
    let manifest = json!({
        "id": "/", "name": "Deckwatch", "short_name": "Deckwatch",
        "description": t.say("alone-manifest"),
        "start_url": "/", "scope": "/", "display": "standalone",
        "background_color": "#FAF6EC", "theme_color": "#FAF6EC",
        "icons": [{"src": icon, "sizes": "any", "type": "image/svg+xml", "purpose": "any"}],
    });
    let kind = [(header::CONTENT_TYPE, "application/manifest+json")];
    (kind, manifest.to_string()).into_response()
}

/// A script that posts a form is told where the answer is; a browser would follow by itself and
/// hide from the script whether the form was taken.
pub(super) async fn answer_script(request: Request, next: Next) -> Response {
    let by_script = request.headers().contains_key(&FORM);
    let mut response = next.run(request).await;
    if by_script && response.status() == StatusCode::SEE_OTHER {
        let to: Option<HeaderValue> = response.headers_mut().remove(header::LOCATION);
        if let Some(to) = to {
            response.headers_mut().insert(LOCATION, to);
            *response.status_mut() = StatusCode::NO_CONTENT;
        }
    }
    response
}
