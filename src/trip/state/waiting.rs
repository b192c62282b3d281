//! The waiting list of a trip that is full. Who waits is not on the roster: the events name the
//! person in their payload, not among the people they are about, so that nobody who waits is in any
//! place, count or gate, not even in a program that cannot read them.

use std::collections::BTreeMap;

use jiff::Timestamp;

use super::knowledge::undominated;
use super::person::Person;
use crate::trip::event::{Entry, Fact, Mark, PersonCard, PersonId};

/// Somebody who waits.
#[derive(Debug, Clone, PartialEq)]
pub struct Waiting {
    /// Who.
    pub id: PersonId,
    /// What is known of the person.
    pub card: PersonCard,
    /// A wish, in words.
    pub wish: Option<String>,
    /// Who put the person on the list.
    pub by: String,
    /// Since when.
    pub since: Timestamp,
}

/// Who waits, in order: who came first stands first.
pub(super) fn fold(entries: &[&Entry], roster: &BTreeMap<PersonId, Person>) -> Vec<Waiting> {
    let mut said: BTreeMap<PersonId, Vec<&Entry>> = BTreeMap::new();
    for entry in entries {
        match &entry.event.fact {
            Fact::WaitingJoined(joined) => said.entry(joined.person).or_default().push(entry),
            Fact::WaitingLeft(left) => said.entry(left.person).or_default().push(entry),
            // Who came on the roster has a place, whatever becomes of it.
            Fact::PersonJoined(_) => {
                for person in &entry.event.about.persons {
                    said.entry(*person).or_default().push(entry);
                }
            }
            _ => {}
        }
    }
    let mut waiting: Vec<(Mark, Waiting)> = said
        .iter()
        .filter(|(id, _)| !roster.get(id).is_some_and(|person| person.coming))
        .filter_map(|(id, said)| standing(*id, said))
        .collect();
    // Of the same instant, the one order of the fold: who was entered first on a device is first.
    waiting.sort_by_key(|(mark, one)| (one.since, *mark));
    waiting.into_iter().map(|(_, one)| one).collect()
}

/// Of words said apart, that the person waits counts: nobody is forgotten by a slip.
fn standing(id: PersonId, said: &[&Entry]) -> Option<(Mark, Waiting)> {
    let standing = undominated(said);
    if standing
        .iter()
        .any(|entry| matches!(entry.event.fact, Fact::PersonJoined(_)))
    {
        return None;
    }
    standing.iter().find_map(|entry| match &entry.event.fact {
        Fact::WaitingJoined(joined) => {
            let one = Waiting {
                id,
                card: joined.card.clone(),
                wish: joined.wish.clone(),
                by: entry.event.by.name.clone(),
                since: entry.time(),
            };
            Some((entry.event.mark(), one))
        }
        _ => None,
    })
}
