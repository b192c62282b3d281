//! What changed since a sheet was printed: the entries that bear on it and that were not before
//! whoever printed it. Told by knowledge, not by numbers of entries, so that it is the same on every
//! box.

use std::collections::BTreeSet;

use jiff::Timestamp;

use super::event::{Author, Entry, Event, EventId, Fact, GroupId, PersonId, Sheet};
use super::state::effective;

/// A print, as somebody noted it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Print {
    /// What its page showed.
    pub author: Author,
    /// Who printed it.
    pub by: String,
    /// When.
    pub at: Timestamp,
}

/// The last print of a sheet, of this dive where the sheet is of one.
#[must_use]
pub fn last_print(log: &[Entry], sheet: Sheet, dive: Option<u32>) -> Option<Print> {
    let log: Vec<&Entry> = log.iter().collect();
    let is_of = |event: &Event| {
        matches!(&event.fact, Fact::SheetPrinted(printed) if printed.sheet == sheet)
            && event.about.dive == dive
    };
    let found = effective(&log).into_iter().rfind(|e| is_of(&e.event))?;
    Some(Print {
        author: found.event.author(),
        by: found.event.by.name.clone(),
        at: found.time(),
    })
}

/// Entries that bear on a sheet and came after the print, in the order of the log: those that
/// somebody took back too, as the paper may show what they said.
#[must_use]
pub fn changed_since<'a>(
    log: &'a [Entry],
    sheet: Sheet,
    dive: Option<u32>,
    print: &Print,
) -> Vec<&'a Entry> {
    let bears = |event: &Event| bears_on(event, sheet, dive);
    let by_id = |id: EventId| log.iter().find(|entry| entry.event.id == id);
    log.iter()
        .filter(|entry| !print.author.saw(entry.event.mark()))
        .filter(|entry| {
            if let Fact::Voided(voided) = &entry.event.fact {
                by_id(voided.of).is_some_and(|of| bears(&of.event))
            } else {
                bears(&entry.event)
            }
        })
        .collect()
}

/// The people and groups that these entries are about, for marks in the rows of a sheet.
#[must_use]
pub fn touched(entries: &[&Entry]) -> (BTreeSet<PersonId>, BTreeSet<GroupId>) {
    let about = || entries.iter().map(|entry| &entry.event.about);
    (
        about().flat_map(|about| about.persons.clone()).collect(),
        about().filter_map(|about| about.group).collect(),
    )
}

/// Whether what an event says stands on a sheet.
fn bears_on(event: &Event, sheet: Sheet, dive: Option<u32>) -> bool {
    let of_roster = matches!(
        event.fact,
        Fact::TripOpened(_)
            | Fact::PersonJoined(_)
            | Fact::PersonChanged(_)
            | Fact::PersonNotComing(_)
            | Fact::CommandAccepted(_)
    );
    let of_dive = matches!(
        event.fact,
        Fact::DivePlanned(_)
            | Fact::GroupFormed(_)
            | Fact::GroupStoodDown(_)
            | Fact::LeftSurface(_)
    );
    let of_list = matches!(
        event.fact,
        Fact::ConditionAnswered(_) | Fact::TripDecided(_)
    );
    match sheet {
        Sheet::PassengerList => of_roster,
        Sheet::BoatSheet => of_roster || of_dive || of_list,
        Sheet::Briefings => {
            (of_dive && event.about.dive == dive)
                || matches!(
                    event.fact,
                    Fact::PersonChanged(_) | Fact::ConditionsObserved(_) | Fact::TripOpened(_)
                )
        }
    }
}
