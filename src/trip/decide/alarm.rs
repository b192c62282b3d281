//! Alarm forms: acknowledge, quiet, missing, found, the emergency and its plan, command,
//! notes. Any crew member may declare.

use std::collections::BTreeSet;

use jiff::Timestamp;

use super::{Decided, Draft, Refusal, Refused, happened, open, person, said};
use crate::sea::position::Position;
use crate::trip::event::{
    About, AlertAcknowledged, AlertSilenced, CommandAccepted, CommandHandedOver, CrewId,
    EmergencyDeclared, EmergencyEnded, EmergencyStep, Fact, IncidentNoted, IncidentRecord,
    PersonFound, PersonId, PersonMissing, Role, Vessel,
};
use crate::trip::state::State;
use crate::trip::watch::alerts;

/// Somebody has seen an alert.
///
/// # Errors
/// If no such alert stands with this cause.
pub fn acknowledge(state: &State, alert: &str, cause: &str, now: Timestamp) -> Decided {
    standing(state, alert, cause, now)?;
    let (alert, cause) = (alert.to_owned(), cause.to_owned());
    let fact = Fact::AlertAcknowledged(AlertAcknowledged { alert, cause });
    Ok(vec![Draft::now(About::nobody(), fact)])
}

/// Thirty seconds of quiet.
///
/// # Errors
/// If no such alert stands with this cause.
pub fn quiet(state: &State, alert: &str, cause: &str, now: Timestamp) -> Decided {
    standing(state, alert, cause, now)?;
    let (alert, cause) = (alert.to_owned(), cause.to_owned());
    let fact = Fact::AlertSilenced(AlertSilenced { alert, cause });
    Ok(vec![Draft::now(About::nobody(), fact)])
}

fn standing(state: &State, alert: &str, cause: &str, now: Timestamp) -> Result<(), Refused> {
    let stands = alerts(state, now)
        .iter()
        .any(|a| a.key == alert && a.cause.word() == cause);
    if stands {
        Ok(())
    } else {
        Err(Refusal::new("", "refused-no-alert").into())
    }
}

/// People are missing. Any crew member may say so, of anybody on the roster, also when the
/// trip was closed: that opens it again.
///
/// # Errors
/// If nobody is named, or somebody who is not on the roster.
pub fn missing(state: &State, persons: &BTreeSet<PersonId>, note: &str) -> Decided {
    exists(state)?;
    if persons.is_empty() {
        return Err(Refusal::new("persons", "refused-nobody").into());
    }
    for id in persons {
        person(state, "persons", *id)?;
    }
    let note = note.trim().to_owned();
    let about = with_group(state, persons);
    Ok(vec![Draft::now(
        about,
        Fact::PersonMissing(PersonMissing { note }),
    )])
}

/// There is a trip, open or closed.
fn exists(state: &State) -> Result<(), Refused> {
    if state.opened.is_none() {
        return Err(Refusal::new("", "refused-no-trip").into());
    }
    Ok(())
}

fn with_group(state: &State, persons: &BTreeSet<PersonId>) -> About {
    let groups: BTreeSet<_> = persons
        .iter()
        .filter_map(|id| state.people.get(id))
        .filter_map(|p| Some((p.group?, p.dive?)))
        .collect();
    let about = About::people(persons.iter().copied());
    match groups.iter().next() {
        Some((group, dive)) if groups.len() == 1 => about.in_group(*group, *dive),
        _ => about.on_dive(state.dive.max(1)),
    }
}

/// A missing or unresolved person is found, seen by a named person.
///
/// # Errors
/// If the person is accounted for, or nobody is named who saw the person.
pub fn found(
    state: &State,
    id: PersonId,
    vessel: Option<Vessel>,
    seen_by: &str,
    place: Option<Position>,
) -> Decided {
    exists(state)?;
    let who = person(state, "person", id)?;
    if who.place.is_accounted() {
        return Err(Refusal::new("person", "refused-not-out")
            .with("name", who.name())
            .into());
    }
    let seen_by = said("seen_by", seen_by)?;
    if let Some(Vessel::Other { name } | Vessel::Shore { place: name }) = &vessel {
        said("vessel", name)?;
    }
    let about = with_group(state, &BTreeSet::from([id]));
    let fact = Fact::PersonFound(PersonFound {
        vessel,
        seen_by,
        place,
    });
    Ok(vec![Draft::now(about, fact)])
}

/// Declares an emergency. Calling early is right: nothing here asks to wait.
///
/// # Errors
/// If no reason is given.
pub fn declare_emergency(
    state: &State,
    persons: BTreeSet<PersonId>,
    reason: &str,
    datum: Option<Position>,
) -> Decided {
    if state.opened.is_none() {
        return Err(Refusal::new("", "refused-no-trip").into());
    }
    let reason = said("reason", reason)?;
    let fact = Fact::EmergencyDeclared(EmergencyDeclared { reason, datum });
    Ok(vec![Draft::now(About::people(persons), fact)])
}

/// A step of the emergency plan is taken.
///
/// # Errors
/// If there is no such step.
pub fn take_step(state: &State, step: u32, note: Option<&str>) -> Decided {
    let plan = state
        .opened
        .as_ref()
        .map(|o| o.boat.emergency_plan.as_slice())
        .unwrap_or_default();
    let Some(text) = plan.get(step as usize) else {
        return Err(Refusal::new("step", "refused-no-step").into());
    };
    let note = note
        .map(str::trim)
        .filter(|n| !n.is_empty())
        .map(ToOwned::to_owned);
    let fact = Fact::EmergencyStep(EmergencyStep {
        step,
        text: text.clone(),
        note,
    });
    Ok(vec![Draft::now(About::nobody(), fact)])
}

/// The emergency is over: any crew member declares one, the skipper ends it.
///
/// # Errors
/// If the author is not a skipper, none is declared, or no word is given on how it ended.
pub fn end_emergency(state: &State, reason: &str, role: Role) -> Decided {
    if role != Role::Skipper {
        return Err(Refusal::new("", "refused-end-emergency").into());
    }
    if state.emergency.is_none() {
        return Err(Refusal::new("", "refused-no-emergency").into());
    }
    let reason = said("reason", reason)?;
    Ok(vec![Draft::now(
        About::nobody(),
        Fact::EmergencyEnded(EmergencyEnded { reason }),
    )])
}

/// Offers command to another skipper.
///
/// # Errors
/// If the author does not have command, or offers it to himself.
pub fn hand_over(state: &State, from: CrewId, to: CrewId, name: &str) -> Decided {
    open(state)?;
    if !state.commands(from) {
        return Err(Refusal::new("to", "refused-not-in-command").into());
    }
    if from == to {
        return Err(Refusal::new("to", "refused-to-self").into());
    }
    let name = name.to_owned();
    let fact = Fact::CommandHandedOver(CommandHandedOver { to, name });
    Ok(vec![Draft::now(About::nobody(), fact)])
}

/// Takes command that was offered a moment ago.
///
/// # Errors
/// If none is offered to the author, or the offer lapsed.
pub fn accept_command(state: &State, crew: CrewId, now: Timestamp) -> Decided {
    open(state)?;
    let offered = state.command.offered.as_ref().filter(|o| o.to == crew);
    if offered.is_none_or(|offer| !offer.stands(now)) {
        return Err(Refusal::new("", "refused-no-offer").into());
    }
    Ok(vec![Draft::now(
        About::nobody(),
        Fact::CommandAccepted(CommandAccepted {}),
    )])
}

/// A note for the record; nothing medical belongs here.
///
/// # Errors
/// If it is empty.
pub fn incident(state: &State, persons: BTreeSet<PersonId>, text: &str) -> Decided {
    exists(state)?;
    let text = said("text", text)?;
    let note = IncidentNoted { text, record: None };
    let about = About::people(persons);
    Ok(vec![Draft::now(about, Fact::IncidentNoted(note))])
}

/// An incident with the fields of its record. It may be noted long after the trip was closed.
///
/// # Errors
/// If nothing is said of what happened, a text is too long, somebody named is not on the roster, or
/// a time lies ahead.
pub fn incident_record(
    state: &State,
    persons: BTreeSet<PersonId>,
    text: &str,
    record: IncidentRecord,
    (at, now): (Option<Timestamp>, Timestamp),
) -> Decided {
    exists(state)?;
    let mut refused = Refused::default();
    for id in &persons {
        if let Err(why) = person(state, "persons", *id) {
            refused.0.extend(why.0);
        }
    }
    for when in [happened(at, now, None), oxygen(record.oxygen_from, now)] {
        if let Err(why) = when {
            refused.0.extend(why.0);
        }
    }
    let text = match said("text", text) {
        Ok(text) => text,
        Err(why) => {
            refused.0.extend(why.0);
            String::new()
        }
    };
    let note = IncidentNoted {
        text,
        record: Some(record),
    };
    let draft = Draft::now(About::people(persons), Fact::IncidentNoted(note)).at(at);
    refused.or(vec![draft])
}

fn oxygen(from: Option<Timestamp>, now: Timestamp) -> Result<(), Refused> {
    happened(from, now, None).map_err(|mut why| {
        for refusal in &mut why.0 {
            refusal.field = "oxygen_from";
        }
        why
    })
}
