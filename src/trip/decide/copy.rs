//! A trip opened after the pattern of another: what was planned, never what happened.

use super::roster::{FormGroup, OpenTrip, form_group, join_all, open_trip, plan_dive};
use super::{Decided, Draft, Refused};
use crate::trip::PersonId;
use crate::trip::event::{DivePlanned, PersonCard, TripOpened};
use crate::trip::state::{Group, Person, State};

/// A trip with all that is planned for it.
#[derive(Debug, Clone, PartialEq)]
pub struct CopyTrip {
    /// How it is opened.
    pub opened: TripOpened,
    /// Who comes along.
    pub people: Vec<(PersonId, PersonCard)>,
    /// The dives, from 1, without a gap.
    pub dives: Vec<DivePlanned>,
    /// Groups of these dives.
    pub groups: Vec<FormGroup>,
}

/// Opens a trip and plans it in one act: all of it, or nothing.
///
/// # Errors
/// Every reason why not: as opening, joining, planning and forming refuse.
pub fn copy_trip(state: &State, command: CopyTrip) -> Decided {
    let CopyTrip {
        opened,
        people,
        dives,
        groups,
    } = command;
    let mut drafts = open_trip(
        state,
        OpenTrip {
            opened: opened.clone(),
        },
    )?;
    let mut refused = Refused::default();
    let mut trial = state.clone();
    trial.opened = Some(opened);
    // The roster it comes from had those names already: whoever shares one is meant.
    let joining: Vec<_> = people
        .into_iter()
        .map(|(id, card)| (id, card, true))
        .collect();
    take(&mut drafts, &mut refused, join_all(&trial, &joining));
    for (id, card, _) in joining {
        trial.people.insert(id, Person::coming(id, card));
    }
    for (planned, number) in dives.into_iter().zip(1..) {
        let drafted = plan_dive(&trial, number, planned.clone());
        take(&mut drafts, &mut refused, drafted);
        trial.dives.insert(number, planned);
    }
    for command in groups {
        let letter = command.formed.letter.clone();
        let planned = command.formed.units.iter().flatten().copied().collect();
        let (id, dive, formed) = (command.id, command.dive, command.formed.clone());
        let drafted = form_group(&trial, command);
        let drafted = drafted.map_err(|why| {
            let of_group = why.0.into_iter().map(|one| one.in_group(&letter));
            Refused(of_group.collect())
        });
        take(&mut drafts, &mut refused, drafted);
        trial
            .groups
            .insert(id, Group::planned(id, dive, formed, planned));
    }
    refused.or(drafts)
}

fn take(drafts: &mut Vec<Draft>, refused: &mut Refused, decided: Decided) {
    match decided {
        Ok(more) => drafts.extend(more),
        Err(why) => refused.0.extend(why.0),
    }
}
