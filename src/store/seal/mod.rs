//! Sealed: what lies in the database so that only the key file of this box opens it. Each person
//! has a key of their own; deleting that key deletes what is under it.

mod aead;
mod key;
mod start;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::clock::Clock;
use crate::trip::PersonId;

pub(super) use key::path_of;
pub(super) use start::{Found, seal_all};

use aead::{Bits, open, seal};
use key::BoxKey;

/// Something sealed cannot be opened, or nothing can be sealed.
#[derive(Debug, Clone, thiserror::Error)]
pub enum SealError {
    /// Something was sealed by a key file that is not there.
    #[error("the key file {path} is missing: put it back from where it is kept")]
    NoKey {
        /// Where it belongs.
        path: PathBuf,
    },
    /// The key file cannot be read or written.
    #[error("the key file {path} cannot be used")]
    File {
        /// The file.
        path: PathBuf,
        /// Why not.
        #[source]
        cause: Arc<std::io::Error>,
    },
    /// What lies there is no key file.
    #[error("{path} is no key file of this program: put the right one back")]
    NotAKey {
        /// The file.
        path: PathBuf,
    },
    /// Sealed by the key file of another box, or by an earlier one of this.
    #[error("the key file {path} is not the one this was sealed by: put that one back")]
    OtherKey {
        /// The file that is there.
        path: PathBuf,
    },
    /// It was changed since it was sealed, or belongs to somebody else.
    #[error("what was sealed for {person} is damaged")]
    Damaged {
        /// For whom.
        person: String,
    },
}

impl SealError {
    /// A word for it, as message files name it.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self {
            Self::NoKey { .. } => "missing",
            Self::File { .. } => "unreadable",
            Self::NotAKey { .. } => "no-key",
            Self::OtherKey { .. } => "other",
            Self::Damaged { .. } => "damaged",
        }
    }
}

/// A text under a key of its own, and that key under the box's.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Sealed {
    /// Which key file wraps the key.
    pub(super) box_key: [u8; 8],
    /// The person's key, wrapped.
    pub(super) key: Vec<u8>,
    /// The text.
    pub(super) text: Vec<u8>,
}

/// What a sealed thing is for: it opens as nothing else, and for nobody else.
fn bound(what: &str, person: PersonId) -> Vec<u8> {
    let mut bound = what.as_bytes().to_vec();
    bound.push(0);
    bound.extend_from_slice(person.uuid().as_bytes());
    bound
}

const PERSONS_KEY: &str = "deckwatch person key";
const CONTACT: &str = "deckwatch contact";

/// Seals a text for one person by the key file beside the database. `may_make`: nothing is sealed
/// yet, so a missing key file may be made.
pub(super) fn seal_for(
    database: &Path,
    clock: &Clock,
    person: PersonId,
    text: &[u8],
    may_make: bool,
) -> Result<Sealed, SealError> {
    let box_key = BoxKey::read_or_make(database, clock, may_make)?;
    let own = Bits::new(clock.secret());
    let failed = || SealError::Damaged {
        person: person.to_string(),
    };
    Ok(Sealed {
        box_key: box_key.id(),
        key: seal(
            box_key.bits(),
            clock,
            &bound(PERSONS_KEY, person),
            own.bytes(),
        )
        .ok_or_else(failed)?,
        text: seal(&own, clock, &bound(CONTACT, person), text).ok_or_else(failed)?,
    })
}

/// Opens what was sealed for a person.
pub(super) fn open_for(
    database: &Path,
    person: PersonId,
    held: &Sealed,
) -> Result<zeroize::Zeroizing<Vec<u8>>, SealError> {
    let box_key = BoxKey::read(database)?;
    if box_key.id() != held.box_key {
        return Err(SealError::OtherKey {
            path: path_of(database),
        });
    }
    let damaged = || SealError::Damaged {
        person: person.to_string(),
    };
    let own = open(box_key.bits(), &bound(PERSONS_KEY, person), &held.key).ok_or_else(damaged)?;
    let own = Bits::of(&own).ok_or_else(damaged)?;
    open(&own, &bound(CONTACT, person), &held.text).ok_or_else(damaged)
}

/// Whether the key file is there and is that of this id.
pub(super) fn fits(database: &Path, box_key: Option<[u8; 8]>) -> Result<(), SealError> {
    match (BoxKey::read(database), box_key) {
        (Ok(_) | Err(SealError::NoKey { .. }), None) => Ok(()),
        (Ok(held), Some(id)) if held.id() == id => Ok(()),
        (Ok(_), Some(_)) => Err(SealError::OtherKey {
            path: path_of(database),
        }),
        (Err(error), _) => Err(error),
    }
}

/// Copies the key file of a database to `to`, which must not be there, for its owner alone.
pub(super) fn copy_key(database: &Path, to: &Path) -> Result<(), SealError> {
    BoxKey::read(database)?.write_new(to)
}

/// Makes the key in the file `from` the key file of a database. What was there is set aside under
/// the name that is returned; none if nothing was, or the same key.
pub(super) fn put_key(
    from: &Path,
    database: &Path,
    aside: &Path,
) -> Result<Option<PathBuf>, SealError> {
    let brought = BoxKey::read_file(from)?;
    let path = path_of(database);
    let is_there = match BoxKey::read_file(&path) {
        Ok(held) if held.id() == brought.id() => return Ok(None),
        Err(SealError::NoKey { .. }) => false,
        Ok(_) | Err(_) => true,
    };
    if !is_there {
        brought.write_new(&path)?;
        return Ok(None);
    }
    // Written whole before the one that is there is touched.
    let staged = path.with_extension("key-brought");
    brought.write_new(&staged)?;
    std::fs::rename(&path, aside)
        .and_then(|()| std::fs::rename(&staged, &path))
        .map_err(|cause| key::failed(&path, cause))?;
    Ok(Some(aside.to_owned()))
}

#[cfg(test)]
mod tests;
