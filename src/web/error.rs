//! Errors of the web, each with a status of its own: one problem, told as a problem document
//! (RFC 9457) to programs and as a page to people.

use std::sync::Arc;

use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::Serialize;

use crate::store::{AppendError, StoreError};
use crate::trip::decide::Refused;
use crate::units::{Fault, Faults};

/// What can go wrong with a request.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// Nothing is there.
    #[error("nothing is there")]
    NotFound,
    /// There is no such trip.
    #[error("no such trip")]
    NoSuchTrip,
    /// Nobody is signed in.
    #[error("nobody is signed in")]
    NotSignedIn,
    /// The role does not allow it.
    #[error("the role does not allow it")]
    Forbidden,
    /// Events that the signed-in crew member did not make on this device.
    #[error("not made here by who is signed in: {0}")]
    NotYours(Faults),
    /// The request came from a page of another origin.
    #[error("the request came from a page of another origin")]
    ForeignOrigin,
    /// The request was meant for another host.
    #[error("the request was meant for another host")]
    ForeignHost,
    /// Basic mode, over plain HTTP, does not do this.
    #[error("basic mode does not do this; https does")]
    BasicMode {
        /// The address that does.
        https: String,
    },
    /// The input does not hold.
    #[error("the input does not hold: {0}")]
    Faulty(Faults),
    /// The rules of the trip refuse it.
    #[error("{0}")]
    Refused(Refused),
    /// The same identity stands in the log with other content.
    #[error("the same identity stands in the log with other content")]
    Clash(Faults),
    /// The page was made from a log that this box no longer has.
    #[error("the page is too old")]
    StalePage,
    /// The trip is closed, and what comes later is the skipper's to take in.
    #[error("the trip is closed")]
    ClosedTrip,
    /// Too much at once.
    #[error("too much at once")]
    TooLarge,
    /// The store failed.
    #[error("the store failed")]
    Store(#[from] StoreError),
    /// A page could not be drawn.
    #[error("a page could not be drawn")]
    Page(#[from] askama::Error),
    /// Something that cannot happen did.
    #[error("{0}")]
    Internal(&'static str),
}

impl From<Faults> for Error {
    fn from(faults: Faults) -> Self {
        Self::Faulty(faults)
    }
}

impl From<Refused> for Error {
    fn from(refused: Refused) -> Self {
        Self::Refused(refused)
    }
}

impl From<AppendError> for Error {
    fn from(error: AppendError) -> Self {
        match error {
            AppendError::Clash(clashes) => {
                let mut faults = Faults::new();
                for clash in clashes {
                    faults.add(
                        format!("events[{}]", clash.index),
                        "stands in the log with other content",
                        "a new identity and number for a new event",
                    );
                }
                Self::Clash(faults)
            }
            AppendError::OtherTrip { index } => Self::Faulty(Faults::one(
                format!("events[{index}].trip"),
                "is another trip",
                "the trip of the address",
            )),
            AppendError::Misnumbered { .. } => Self::Internal("a form's events were misnumbered"),
            AppendError::Store(error) => Self::Store(error),
        }
    }
}

/// One problem, ready to be told.
#[derive(Debug, Clone, Serialize)]
pub struct Problem {
    /// Kind, as a relative reference (RFC 9457, 3.1.1).
    #[serde(rename = "type")]
    pub kind: String,
    /// Short and the same for every problem of the kind.
    pub title: String,
    /// HTTP status.
    pub status: u16,
    /// What to do about this one.
    pub detail: String,
    /// Every fault of the input.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub faults: Vec<Fault>,
}

/// The cause of a failure of ours, for the one place that logs it.
#[derive(Debug, Clone)]
pub struct CauseOf(pub Arc<Error>);

impl Error {
    fn status(&self) -> StatusCode {
        match self {
            Self::NotFound | Self::NoSuchTrip => StatusCode::NOT_FOUND,
            Self::NotSignedIn => StatusCode::UNAUTHORIZED,
            Self::Forbidden
            | Self::NotYours(_)
            | Self::ForeignOrigin
            | Self::BasicMode { .. }
            | Self::ClosedTrip => StatusCode::FORBIDDEN,
            Self::ForeignHost => StatusCode::MISDIRECTED_REQUEST,
            Self::Faulty(_) | Self::Refused(_) => StatusCode::UNPROCESSABLE_ENTITY,
            Self::Clash(_) | Self::StalePage => StatusCode::CONFLICT,
            Self::TooLarge => StatusCode::PAYLOAD_TOO_LARGE,
            Self::Store(StoreError::Full) => StatusCode::INSUFFICIENT_STORAGE,
            Self::Store(_) => StatusCode::SERVICE_UNAVAILABLE,
            Self::Page(_) | Self::Internal(_) => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }

    fn kind(&self) -> &'static str {
        match self {
            Self::NotFound => "not-found",
            Self::NoSuchTrip => "no-such-trip",
            Self::NotSignedIn => "not-signed-in",
            Self::Forbidden => "forbidden",
            Self::NotYours(_) => "not-yours",
            Self::ForeignOrigin => "foreign-origin",
            Self::ForeignHost => "foreign-host",
            Self::BasicMode { .. } => "basic-mode",
            Self::Faulty(_) => "faulty",
            Self::Refused(_) => "refused",
            Self::Clash(_) => "clash",
            Self::StalePage => "stale-page",
            Self::ClosedTrip => "closed-trip",
            Self::TooLarge => "too-large",
            Self::Store(StoreError::Full) => "storage-full",
            Self::Store(StoreError::Sealed(_)) => "sealed",
            Self::Store(_) => "not-saving",
            Self::Page(_) | Self::Internal(_) => "internal",
        }
    }

    /// The problem in words.
    #[must_use]
    pub fn problem(&self) -> Problem {
        let words = crate::web::language::words();
        let kind = self.kind();
        let faults = match self {
            Self::Faulty(faults) | Self::Clash(faults) | Self::NotYours(faults) => {
                faults.iter().cloned().collect()
            }
            Self::Refused(refused) => super::form::sentences(refused, words)
                .into_iter()
                .map(|fault| Fault {
                    path: fault.field,
                    what: fault.text,
                    allowed: String::new(),
                })
                .collect(),
            Self::NotFound
            | Self::NoSuchTrip
            | Self::NotSignedIn
            | Self::Forbidden
            | Self::ForeignOrigin
            | Self::ForeignHost
            | Self::BasicMode { .. }
            | Self::StalePage
            | Self::ClosedTrip
            | Self::TooLarge
            | Self::Store(_)
            | Self::Page(_)
            | Self::Internal(_) => Vec::new(),
        };
        let detail = format!("problem-{kind}-do");
        let detail = if let Self::BasicMode { https } = self {
            words.say_with(&detail, &[("address", https.as_str().into())])
        } else {
            words.say(&detail)
        };
        Problem {
            kind: format!("/problems/{kind}"),
            title: words.say(&format!("problem-{kind}")),
            status: self.status().as_u16(),
            detail,
            faults,
        }
    }
}

impl IntoResponse for Error {
    fn into_response(self) -> Response {
        let problem = self.problem();
        let status = self.status();
        let body = serde_json::to_vec(&problem).unwrap_or_default();
        let json = HeaderValue::from_static("application/problem+json");
        let mut response = (status, [(header::CONTENT_TYPE, json)], body).into_response();
        response.extensions_mut().insert(problem);
        response.extensions_mut().insert(CauseOf(Arc::new(self)));
        response
    }
}
