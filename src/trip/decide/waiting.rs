//! The waiting list: who wants to come on a trip that is full, and who moves up.

use super::roster::{folded, join};
use super::{Decided, Draft, Refusal, Refused, open, said};
use crate::trip::event::{About, Fact, PersonCard, PersonId, WaitingJoined, WaitingLeft};
use crate::trip::state::{Phase, State, Waiting};

/// Most people on one waiting list.
const MOST_WAITING: usize = 100;

/// Places left: what the boat may carry, crew included, less everybody who comes along.
#[must_use]
pub fn places_left(state: &State) -> usize {
    let capacity = state.opened.as_ref().map_or(0, |o| o.boat.capacity) as usize;
    capacity
        .min(super::MOST_PEOPLE)
        .saturating_sub(state.coming().count())
}

fn waits(state: &State, id: PersonId) -> Result<&Waiting, Refused> {
    let found = state.waiting.iter().find(|one| one.id == id);
    found.ok_or_else(|| Refusal::new("person", "refused-not-waiting").into())
}

/// Puts a person at the end of the waiting list. `namesake`: another person of this name is meant.
///
/// # Errors
/// After departure, while there is a place and nobody waits for it, and if the person or the name is
/// on the roster or the list already.
pub fn wait(
    state: &State,
    id: PersonId,
    card: PersonCard,
    wish: Option<&str>,
    namesake: bool,
) -> Decided {
    open(state)?;
    let mut refused = Refused::default();
    if state.phase != Phase::AtQuay {
        refused.add(Refusal::new("person", "refused-departed"));
    }
    if let Err(empty) = said("name", &card.name) {
        refused.0.extend(empty.0);
    }
    let wish = match wish.map(str::trim) {
        None | Some("") => None,
        Some(wish) => Some(said("wish", wish)?),
    };
    if state.people.get(&id).is_some_and(|p| p.coming) {
        refused.add(Refusal::new("person", "refused-on-roster").with("name", &card.name));
    }
    let name = folded(&card.name);
    let waiting = &state.waiting;
    let is_waiting = waiting.iter().any(|one| one.id == id);
    let same = |other: &str| !namesake && folded(other) == name;
    if is_waiting || waiting.iter().any(|one| same(&one.card.name)) {
        refused.add(Refusal::new("name", "refused-waiting").with("name", &card.name));
    }
    if state.coming().any(|p| p.id != id && same(&p.card.name)) {
        refused.add(Refusal::new("name", "refused-same-name").with("name", &card.name));
    }
    if waiting.len() >= MOST_WAITING {
        refused.add(Refusal::new("person", "refused-waiting-full").with("most", MOST_WAITING));
    }
    let left = places_left(state);
    if left > 0 && waiting.is_empty() {
        refused.add(Refusal::new("person", "refused-place-free").with("n", left));
    }
    let joined = WaitingJoined {
        person: id,
        card,
        wish,
    };
    refused.or(vec![Draft::now(
        About::nobody(),
        Fact::WaitingJoined(joined),
    )])
}

/// Takes a person off the waiting list.
///
/// # Errors
/// If the person does not wait, or no reason is given.
pub fn leave_waiting(state: &State, id: PersonId, reason: &str) -> Decided {
    open(state)?;
    waits(state, id)?;
    let left = WaitingLeft {
        person: id,
        reason: said("reason", reason)?,
    };
    Ok(vec![Draft::now(About::nobody(), Fact::WaitingLeft(left))])
}

/// Moves a person up to the roster, by the rules of the roster.
///
/// # Errors
/// If the person does not wait, or as joining refuses: above all while the boat is full.
pub fn move_up(state: &State, id: PersonId, namesake: bool) -> Decided {
    open(state)?;
    let card = waits(state, id)?.card.clone();
    join(state, id, card, namesake)
}
