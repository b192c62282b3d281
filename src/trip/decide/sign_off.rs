//! Signing the report and sealing the record: by the divemaster and the skipper, each as what they
//! are, once everybody is back and counted.

use super::{Decided, Draft, Refusal, Refused, names};
use crate::trip::event::{
    About, By, Entry, EventId, Fact, Point, RecordSealed, ReportSigned, Role, SignedOver,
};
use crate::trip::gate::{Block, gate};
use crate::trip::state::{Phase, Place, State, needs_signing, signs};

/// Who signs or seals, and what the page showed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sign {
    /// The log as the page showed it.
    pub over: SignedOver,
    /// Who.
    pub by: By,
    /// The identity that the first event of this form will have.
    pub id: EventId,
}

/// The author signs the report in his own role. With the other role's signature standing, the
/// record is sealed in the same write.
///
/// # Errors
/// Every reason why the report cannot be signed now: see [`cannot_sign`]; besides, that the author
/// is neither divemaster nor skipper, signed already, or signed in the other role.
pub fn sign(state: &State, log: &[Entry], sign: &Sign) -> Decided {
    let mut refused = Refused::default();
    let other = match sign.by.role {
        Role::Divemaster => Role::Skipper,
        Role::Skipper => Role::Divemaster,
        Role::Desk => return Err(Refusal::new("", "refused-sign-role").into()),
    };
    if let Some(signed) = state.sign_off.signed(sign.by.role) {
        refused.add(Refusal::new("", "refused-signed").with("name", &signed.by));
    }
    let others = state.sign_off.signed(other);
    if others.is_some_and(|signed| signed.crew == sign.by.crew) {
        refused.add(Refusal::new("", "refused-sign-twice"));
    }
    refused.0.extend(cannot_sign(state));
    refused.0.extend(moved_on(log, &sign.over));
    let over = sign.over.clone();
    let signed = Fact::ReportSigned(ReportSigned { over: over.clone() });
    let mut drafts = vec![Draft::now(About::nobody(), signed)];
    if let Some(others) = others {
        let signatures = vec![others.event, sign.id];
        let sealed = Fact::RecordSealed(RecordSealed { over, signatures });
        drafts.push(Draft::now(About::nobody(), sealed));
    }
    refused.or(drafts)
}

/// Seals a record that both have signed: where the two signed apart, no signature did.
///
/// # Errors
/// Every reason why not: as for signing, and which signature is missing.
pub fn seal(state: &State, log: &[Entry], sign: &Sign) -> Decided {
    let mut refused = Refused::default();
    if sign.by.role == Role::Desk {
        return Err(Refusal::new("", "refused-sign-role").into());
    }
    if let Some(seal) = state.sign_off.seal() {
        refused.add(Refusal::new("", "refused-sealed").with("name", &seal.by));
    }
    let signed = |role| state.sign_off.signed(role);
    let (divemaster, skipper) = (signed(Role::Divemaster), signed(Role::Skipper));
    if divemaster.is_none() {
        refused.add(Refusal::new("", "refused-seal-divemaster"));
    }
    if skipper.is_none() {
        refused.add(Refusal::new("", "refused-seal-skipper"));
    }
    refused.0.extend(cannot_sign(state));
    refused.0.extend(moved_on(log, &sign.over));
    let signatures: Vec<EventId> = divemaster
        .into_iter()
        .chain(skipper)
        .map(|s| s.event)
        .collect();
    let over = sign.over.clone();
    let sealed = Fact::RecordSealed(RecordSealed { over, signatures });
    refused.or(vec![Draft::now(About::nobody(), sealed)])
}

/// Every reason in the record itself why nobody can sign it yet; none: it is ready.
#[must_use]
pub fn cannot_sign(state: &State) -> Vec<Refusal> {
    let mut why = Vec::new();
    let mut add = |refusal| why.push(refusal);
    if state.opened.is_none() {
        return vec![Refusal::new("", "refused-no-trip")];
    }
    if !matches!(state.phase, Phase::Back | Phase::Closed) {
        add(Refusal::new("", "refused-sign-under-way"));
    }
    let (unresolved, out): (Vec<_>, Vec<_>) = state
        .not_accounted()
        .partition(|person| person.place == Place::Unresolved);
    if !out.is_empty() {
        add(Refusal::new("", "refused-sign-out").with("names", names(out)));
    }
    if !unresolved.is_empty() {
        add(Refusal::new("", "refused-sign-unresolved").with("names", names(unresolved)));
    }
    let blocks = gate(state, Point::Return);
    let is = |of: fn(&Block) -> bool| blocks.iter().any(of);
    if is(|block| {
        matches!(
            block,
            Block::NotCounted
                | Block::CountOpen { .. }
                | Block::CountFailed
                | Block::CountOld { .. }
        )
    }) {
        add(Refusal::new("", "refused-sign-count"));
    }
    if is(|block| matches!(block, Block::NoRoll | Block::RollOld(_))) {
        add(Refusal::new("", "refused-sign-roll"));
    }
    if state.emergency.is_some() {
        add(Refusal::new("", "refused-sign-emergency"));
    }
    let missing: usize = state.gaps.values().map(Vec::len).sum();
    if missing > 0 {
        add(Refusal::new("", "refused-sign-gap").with("n", missing));
    }
    if !state.unread.is_empty() {
        add(Refusal::new("", "refused-sign-unread").with("n", state.unread.len()));
    }
    why
}

/// Nobody signs what his page did not show.
fn moved_on(log: &[Entry], over: &SignedOver) -> Option<Refusal> {
    log.iter()
        .filter(|entry| entry.receipt.entry > over.entry)
        .any(|entry| needs_signing(&entry.event) || signs(&entry.event))
        .then(|| Refusal::new("", "refused-sign-moved-on"))
}
