//! The form door: one action of a page becomes events of the log, signed and numbered, or comes
//! back with every reason why not.

use jiff::Timestamp;
use sha2::{Digest, Sha256};
use uuid::Uuid;

use super::app::App;
use super::error::Error;
use super::extract::Crew;
use super::form::{Fields, sentences};
use super::parts::FieldFault;
use crate::store::FormError;
use crate::trip::TripId;
use crate::trip::decide::{Decided, Refused, Signing};
use crate::trip::event::{Entry, EventId, Knows};
use crate::trip::state::{State, fold};

/// How often an action is decided anew when others append at the same moment.
const MOST_TRIES: u32 = 8;

/// What became of an action.
#[derive(Debug)]
pub enum Acted {
    /// It is in the log, durably; the first event's identity.
    Done(EventId),
    /// It was refused; the log is as it was.
    Refused(Vec<FieldFault>),
}

/// Opens a trip: the first event of a log that does not exist yet.
///
/// # Errors
/// As [`act`].
pub async fn open<D>(
    app: &App,
    crew: &Crew,
    trip: TripId,
    fields: &Fields,
    decide: D,
) -> Result<Acted, Error>
where
    D: FnOnce(&State, Timestamp) -> Decided + Send + 'static,
{
    let id = identity(fields)?;
    let signing = Signing {
        id,
        trip,
        device: crew.0.device,
        knows: Knows::default(),
        by: crew.by(),
        now: app.clock().now(),
    };
    let appended = app
        .store()
        .append_from_form(trip, crew.0.device, id, move |place| {
            let drafts = decide(&fold(trip, &[]), place.now)?;
            Ok::<_, Refused>(
                Signing {
                    now: place.now,
                    ..signing
                }
                .sign(place.next_seq, drafts),
            )
        })
        .await;
    match appended {
        Ok(_) => Ok(Acted::Done(id)),
        Err(FormError::Refused(refused)) => Ok(Acted::Refused(sentences(
            &refused,
            crate::web::language::words(),
        ))),
        Err(FormError::Append(error)) => Err(error.into()),
    }
}

enum Why {
    Refused(Refused),
    MovedOn,
}

/// Decides an action on the state as it stands and appends its events.
///
/// `fields` carry `knows` (what the page knew) and `form` (a number used once). The event's
/// identity follows from both the number and what was typed: the same form sent twice counts
/// once, the same form sent with other content is decided as another.
///
/// # Errors
/// If the page is too old, there is no such trip, or the store fails.
pub async fn act<D>(
    app: &App,
    crew: &Crew,
    trip: TripId,
    fields: &Fields,
    decide: D,
) -> Result<Acted, Error>
where
    D: Fn(&State, &[Entry], Timestamp) -> Decided + Clone + Send + Sync + 'static,
{
    let knows = known(app, trip, fields.typed("knows")).await?;
    let id = identity(fields)?;
    for _ in 0..MOST_TRIES {
        let snapshot = app.live().snapshot(trip).await?.ok_or(Error::NoSuchTrip)?;
        let signing = Signing {
            id,
            trip,
            device: crew.0.device,
            knows: knows.clone(),
            by: crew.by(),
            now: snapshot.at,
        };
        let decide = decide.clone();
        let appended = app
            .store()
            .append_from_form(trip, crew.0.device, id, move |place| {
                // Decided on the very state it is appended to, or not at all.
                if place.head.entry != snapshot.head.entry {
                    return Err(Why::MovedOn);
                }
                let drafts =
                    decide(&snapshot.state, &snapshot.entries, place.now).map_err(Why::Refused)?;
                Ok(Signing {
                    now: place.now,
                    ..signing
                }
                .sign(place.next_seq, drafts))
            })
            .await;
        match appended {
            Ok(_) => {
                // The next page shows what was done.
                app.live().snapshot(trip).await?;
                return Ok(Acted::Done(id));
            }
            Err(FormError::Refused(Why::MovedOn)) => {}
            Err(FormError::Refused(Why::Refused(refused))) => {
                return Ok(Acted::Refused(sentences(
                    &refused,
                    crate::web::language::words(),
                )));
            }
            Err(FormError::Append(error)) => return Err(error.into()),
        }
    }
    Err(Error::Internal(
        "the log moved on faster than a form could be decided",
    ))
}

/// What the page knew: `entry-chain`, checked against the log, so that a page of a log that is
/// no longer here is refused rather than taken for a newer one.
async fn known(app: &App, trip: TripId, token: &str) -> Result<Knows, Error> {
    let (entry, chain) = token.split_once('-').ok_or(Error::StalePage)?;
    let entry: u64 = entry.parse().map_err(|_| Error::StalePage)?;
    let held = app
        .store()
        .chain_at(trip, entry)
        .await?
        .ok_or(Error::StalePage)?;
    let [a, b, c, d, ..] = held;
    if format!("{a:02x}{b:02x}{c:02x}{d:02x}") != chain {
        return Err(Error::StalePage);
    }
    Ok(app.store().vector_at(trip, entry).await?)
}

/// A custom identity (RFC 9562, version 8) out of the form's number and what was typed.
///
/// # Errors
/// If the form carries no number.
pub fn identity(fields: &Fields) -> Result<EventId, Error> {
    let form: Uuid = fields.typed("form").parse().map_err(|_| Error::StalePage)?;
    let mut digest = Sha256::new();
    digest.update(form.as_bytes());
    for (name, value) in fields.pairs() {
        for part in [name, value] {
            digest.update((part.len() as u64).to_be_bytes());
            digest.update(part.as_bytes());
        }
    }
    let digest: [u8; 32] = digest.finalize().into();
    let mut bytes = [0_u8; 16];
    bytes.copy_from_slice(digest.split_at(16).0);
    // The last byte counts the events that one form makes.
    bytes[15] = 0;
    Ok(EventId::new(
        uuid::Builder::from_custom_bytes(bytes).into_uuid(),
    ))
}
