//! Extractors that answer with a [`super::error::Error`] where axum's own would answer in
//! plain text; the `.clippy.toml` of the project refuses those elsewhere.
#![expect(
    clippy::disallowed_types,
    reason = "this is the one place that wraps axum's own"
)]

use axum::body::Bytes;
use axum::extract::{FromRequest, FromRequestParts, OptionalFromRequestParts, Request};
use axum::http::StatusCode;
use axum::http::request::Parts;
use serde::de::DeserializeOwned;

use super::error::Error;
use crate::store::crew::Signed;
use crate::trip::event::{By, Role};
use crate::units::Faults;

/// Parts of the path.
#[derive(Debug)]
pub struct Path<T>(pub T);

impl<T, S> FromRequestParts<S> for Path<T>
where
    T: DeserializeOwned + Send,
    S: Send + Sync,
{
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Error> {
        // An identity that cannot be read names nothing that is here.
        <axum::extract::Path<T> as FromRequestParts<S>>::from_request_parts(parts, state)
            .await
            .map(|axum::extract::Path(inner)| Self(inner))
            .map_err(|_| Error::NotFound)
    }
}

/// The query of the address.
#[derive(Debug)]
pub struct Query<T>(pub T);

impl<T, S> FromRequestParts<S> for Query<T>
where
    T: DeserializeOwned + Send,
    S: Send + Sync,
{
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Error> {
        axum::extract::Query::<T>::from_request_parts(parts, state)
            .await
            .map(|axum::extract::Query(inner)| Self(inner))
            .map_err(|fault| {
                Faults::one("query", fault.to_string(), "the fields of this address").into()
            })
    }
}

/// A document as it was sent; a room of its own reads it and names every fault.
#[derive(Debug)]
pub struct Document(pub Bytes);

impl<S: Send + Sync> FromRequest<S> for Document {
    type Rejection = Error;

    async fn from_request(request: Request, state: &S) -> Result<Self, Error> {
        match Bytes::from_request(request, state).await {
            Ok(bytes) => Ok(Self(bytes)),
            Err(cause) if cause.status() == StatusCode::PAYLOAD_TOO_LARGE => Err(Error::TooLarge),
            Err(cause) => {
                Err(Faults::one("", cause.body_text(), "a whole document, sent to its end").into())
            }
        }
    }
}

/// Who is signed in; put there by the guard of the route.
#[derive(Debug, Clone)]
pub struct Crew(pub Signed);

impl Crew {
    /// The signature under an event: the role is the highest the account has.
    #[must_use]
    pub fn by(&self) -> By {
        let role = self
            .0
            .allowed
            .roles
            .iter()
            .max()
            .copied()
            .unwrap_or(Role::Desk);
        By {
            crew: self.0.crew,
            name: self.0.name.clone(),
            role,
        }
    }

    /// Whether the account does anything but show.
    #[must_use]
    pub fn works(&self) -> bool {
        !self.0.allowed.is_display()
    }

    /// Whether the account answers for the whole box.
    #[must_use]
    pub fn owns(&self) -> bool {
        self.0.allowed.owner
    }

    /// Whether the account has this role.
    #[must_use]
    pub fn is(&self, role: Role) -> bool {
        self.0.allowed.roles.contains(&role)
    }
}

impl<S: Send + Sync> FromRequestParts<S> for Crew {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Error> {
        parts
            .extensions
            .get::<Crew>()
            .cloned()
            .ok_or(Error::NotSignedIn)
    }
}

impl<S: Send + Sync> OptionalFromRequestParts<S> for Crew {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Option<Self>, Error> {
        Ok(parts.extensions.get::<Crew>().cloned())
    }
}
