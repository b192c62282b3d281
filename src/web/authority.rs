//! The authority's certificate and how a tablet takes it in: the way from the plain twin to
//! https.

use askama::Template;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};

use super::app::App;
use super::error::Error;
use super::frame::{Frame, Place};
use super::guard::Needs;
use super::page::{Asked, frame, html};
use super::router::{Route, read};

/// A certificate for other devices to trust.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Authority {
    /// The certificate, DER.
    pub der: Vec<u8>,
    /// Its SHA-256, as phones show it.
    pub fingerprint: String,
}

#[derive(Template)]
#[template(path = "authority.html")]
struct AuthorityPage {
    frame: Frame,
    fingerprint: String,
    https: Option<String>,
}

pub(super) fn routes() -> Vec<Route> {
    vec![
        read("/authority", Needs::Nobody, page),
        read("/authority.crt", Needs::Nobody, certificate),
    ]
}

/// How to take it in.
async fn page(State(app): State<App>, asked: Asked) -> Result<Response, Error> {
    let authority = app.authority().ok_or(Error::NotFound)?;
    html(&AuthorityPage {
        frame: frame(&app, &asked, Place::None, None),
        fingerprint: authority.fingerprint.clone(),
        https: app.reached().https().map(ToOwned::to_owned),
    })
}

/// The certificate itself.
async fn certificate(State(app): State<App>) -> Result<Response, Error> {
    let authority = app.authority().ok_or(Error::NotFound)?;
    // Registered for certificates to be installed; what phones open by themselves.
    let kind = [(header::CONTENT_TYPE, "application/x-x509-ca-cert")];
    Ok((kind, authority.der.clone()).into_response())
}
