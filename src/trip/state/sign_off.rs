//! Who signed the report of the trip, what seals the record, and what came after the seal.
//!
//! Both go by knowledge, as everything does: a signature covers what its author had before him,
//! in whatever order it arrived. Whether the log still is what was signed is proven where its
//! bytes lie, in `store`.

use std::collections::BTreeSet;

use jiff::Timestamp;

use super::knowledge::undominated;
use crate::trip::event::{
    Author, CrewId, Entry, Event, EventId, Fact, Knows, Mark, PositionSource, Role, SignedOver,
};

/// A signature under the report.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Signature {
    /// The event.
    pub event: EventId,
    /// Its mark.
    pub mark: Mark,
    /// The account.
    pub crew: CrewId,
    /// Name of who signed.
    pub by: String,
    /// As what.
    pub role: Role,
    /// When.
    pub at: Timestamp,
    /// Over what.
    pub over: SignedOver,
    /// What the author knew, which the digest is of.
    pub knows: Knows,
    /// Everything that needs a signature was before him: nothing came since.
    pub stands: bool,
}

/// What a seal lacks to be one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Lack {
    /// A divemaster's signature over all that it seals.
    Divemaster,
    /// A skipper's.
    Skipper,
    /// Two people: both signatures are of one account.
    TwoPeople,
    /// It was set by neither a divemaster nor a skipper.
    Author,
}

/// A seal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Seal {
    /// The event.
    pub event: EventId,
    /// Name of who set it.
    pub by: String,
    /// When.
    pub at: Timestamp,
    /// Over what.
    pub over: SignedOver,
    /// What its author knew, which the digest is of.
    pub knows: Knows,
    /// The signatures it rests on.
    pub signatures: Vec<EventId>,
    /// What it lacks; nothing: it is one.
    pub lacks: BTreeSet<Lack>,
}

/// The sign-off of a trip.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct SignOff {
    /// Every signature that nobody took back, in the order of the fold.
    pub signatures: Vec<Signature>,
    /// Every seal that nobody took back, in the order of the fold.
    pub seals: Vec<Seal>,
    /// What came after the last seal and needs a new sign-off.
    pub after: Vec<EventId>,
}

impl SignOff {
    /// The last seal that lacks nothing; what came after it stands in `after`.
    #[must_use]
    pub fn last_seal(&self) -> Option<&Seal> {
        self.seals.iter().rfind(|seal| seal.lacks.is_empty())
    }

    /// The seal of the record as it stands: nothing came after it.
    #[must_use]
    pub fn seal(&self) -> Option<&Seal> {
        self.last_seal().filter(|_| self.after.is_empty())
    }

    /// The last signature of this role that covers the record as it stands.
    #[must_use]
    pub fn signed(&self, role: Role) -> Option<&Signature> {
        self.signatures
            .iter()
            .rfind(|signature| signature.role == role && signature.stands)
    }
}

/// The roles whose signatures a seal needs, and what it lacks without.
const NEEDED: [(Role, Lack); 2] = [
    (Role::Divemaster, Lack::Divemaster),
    (Role::Skipper, Lack::Skipper),
];

/// Whether an event is part of the sign-off itself.
#[must_use]
pub fn signs(event: &Event) -> bool {
    matches!(event.fact, Fact::ReportSigned(_) | Fact::RecordSealed(_))
}

/// Whether an event says something of the day, so that it is to be signed. Signatures and seals do
/// not, nor what the box notes of itself while the boat lies in harbour, nor that a sheet was
/// printed, nor the closing of a trip on which nothing was overridden.
#[must_use]
pub fn needs_signing(event: &Event) -> bool {
    let is_track = matches!(&event.fact, Fact::BoatPositioned(boat) if boat.source == PositionSource::Instruments);
    let is_closing =
        matches!(&event.fact, Fact::TripClosed(closed) if closed.override_reason.is_none());
    let is_print = matches!(event.fact, Fact::SheetPrinted(_));
    !(signs(event) || is_track || is_closing || is_print)
}

/// `entries`: all, since what was taken back was said too. `effective`: those that count.
pub(super) fn fold(entries: &[&Entry], effective: &[&Entry]) -> SignOff {
    if !effective.iter().any(|entry| signs(&entry.event)) {
        return SignOff::default();
    }
    let said: Vec<&Event> = entries
        .iter()
        .map(|entry| &*entry.event)
        .filter(|event| needs_signing(event))
        .collect();
    let signatures: Vec<Signature> = effective
        .iter()
        .filter_map(|entry| signature(entry, &said))
        .collect();
    let seals: Vec<(&Entry, Seal)> = effective
        .iter()
        .filter_map(|entry| Some((*entry, seal(entry, &signatures, &said)?)))
        .collect();
    // Of seals said apart, what any of them did not know came after it.
    let sound: Vec<&Entry> = seals
        .iter()
        .filter(|(_, seal)| seal.lacks.is_empty())
        .map(|(entry, _)| *entry)
        .collect();
    let standing: Vec<Author> = undominated(&sound)
        .iter()
        .map(|entry| entry.event.author())
        .collect();
    let after = said
        .iter()
        .filter(|event| standing.iter().any(|seal| !seal.saw(event.mark())))
        .map(|event| event.id)
        .collect();
    SignOff {
        signatures,
        seals: seals.into_iter().map(|(_, seal)| seal).collect(),
        after,
    }
}

fn signature(entry: &Entry, said: &[&Event]) -> Option<Signature> {
    let event = &entry.event;
    let Fact::ReportSigned(signed) = &event.fact else {
        return None;
    };
    let author = event.author();
    Some(Signature {
        event: event.id,
        mark: event.mark(),
        crew: event.by.crew,
        by: event.by.name.clone(),
        role: event.by.role,
        at: entry.time(),
        over: signed.over.clone(),
        knows: event.knows.clone(),
        stands: said.iter().all(|one| author.saw(one.mark())),
    })
}

/// A seal rests on those of its signatures that its author knew, and whose authors knew all that it
/// seals.
fn seal(entry: &Entry, signatures: &[Signature], said: &[&Event]) -> Option<Seal> {
    let event = &entry.event;
    let Fact::RecordSealed(sealed) = &event.fact else {
        return None;
    };
    let author = event.author();
    let covered: Vec<Mark> = said
        .iter()
        .map(|one| one.mark())
        .filter(|mark| author.saw(*mark))
        .collect();
    let rests_on: Vec<&Signature> = signatures
        .iter()
        .filter(|signature| {
            let signing = Author {
                mark: signature.mark,
                knows: signature.knows.clone(),
            };
            sealed.signatures.contains(&signature.event)
                && author.saw(signature.mark)
                && covered.iter().all(|mark| signing.saw(*mark))
        })
        .collect();
    let mut lacks: BTreeSet<Lack> = NEEDED
        .into_iter()
        .filter(|(role, _)| !rests_on.iter().any(|signature| signature.role == *role))
        .map(|(_, lack)| lack)
        .collect();
    let of = |role| {
        rests_on
            .iter()
            .filter(move |signature| signature.role == role)
            .map(|signature| signature.crew)
    };
    let are_two = of(Role::Divemaster).any(|one| of(Role::Skipper).any(|other| one != other));
    if lacks.is_empty() && !are_two {
        lacks.insert(Lack::TwoPeople);
    }
    if !NEEDED.iter().any(|(role, _)| *role == event.by.role) {
        lacks.insert(Lack::Author);
    }
    Some(Seal {
        event: event.id,
        by: event.by.name.clone(),
        at: entry.time(),
        over: sealed.over.clone(),
        knows: event.knows.clone(),
        signatures: sealed.signatures.clone(),
        lacks,
    })
}
