//! What is due when, and what holds it: a pure function of the rule, the register and the trips.

use std::collections::BTreeMap;

use jiff::{SignedDuration, Timestamp};

use super::attended::{Attendance, Attended};
use super::rule::Rule;
use crate::store::register::Item;
use crate::trip::TripId;
use crate::trip::event::PersonId;

/// A person of the register, as far as it matters here.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Known {
    /// Who.
    pub person: PersonId,
    /// Name.
    pub name: String,
    /// When the entry was last written.
    pub since: Timestamp,
    /// When the contact was given, if one is known.
    pub contact: Option<Timestamp>,
    /// Whether the register says that the person is cleared to dive.
    pub cleared: bool,
}

/// Something that is kept of a person, and until when.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ahead {
    /// Whose.
    pub person: PersonId,
    /// Name.
    pub name: String,
    /// What.
    pub item: Item,
    /// From when on its time is over.
    pub due_at: Timestamp,
    /// What keeps it all the same.
    pub held: Option<Held>,
}

/// Why something is kept though its time may be over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Held {
    /// On a trip that is under way, to come, or not over.
    NotOver(TripId),
    /// On a trip about which something is open.
    Asks(TripId),
    /// A log cannot be read: nobody knows who was on that trip.
    Unread(TripId),
}

/// Whether something is open about a trip: what happened after the desk settled it counts anew.
#[must_use]
pub fn is_open(trip: &Attended, settled: &BTreeMap<TripId, u64>) -> bool {
    trip.asks
        && settled
            .get(&trip.trip)
            .is_none_or(|upto| *upto < trip.entry)
}

/// Everything that is kept, what goes first before the rest.
#[must_use]
pub fn ahead(
    rule: &Rule,
    people: &[Known],
    attendance: &Attendance,
    settled: &BTreeMap<TripId, u64>,
) -> Vec<Ahead> {
    let mut held: BTreeMap<PersonId, Held> = BTreeMap::new();
    let mut last: BTreeMap<PersonId, Timestamp> = BTreeMap::new();
    for trip in &attendance.trips {
        for person in &trip.persons {
            match trip.ended {
                None => {
                    held.insert(*person, Held::NotOver(trip.trip));
                }
                Some(ended) => {
                    let last = last.entry(*person).or_insert(ended);
                    *last = ended.max(*last);
                }
            }
            if is_open(trip, settled) {
                held.entry(*person).or_insert(Held::Asks(trip.trip));
            }
        }
    }
    let unread = attendance.unread.first().map(|trip| Held::Unread(*trip));
    let mut all = Vec::new();
    for known in people {
        for item in Item::ALL {
            let from = match item {
                Item::Contact => known.contact,
                Item::Fitness => known.cleared.then_some(known.since),
                Item::Entry => Some(known.since),
            };
            let Some(from) = from else {
                continue;
            };
            let from = last.get(&known.person).map_or(from, |last| from.max(*last));
            let kept = SignedDuration::from_hours(24 * i64::from(rule.days(item)));
            all.push(Ahead {
                person: known.person,
                name: known.name.clone(),
                item,
                // Beyond the calendar's end it is never over.
                due_at: from.saturating_add(kept).unwrap_or(Timestamp::MAX),
                held: held.get(&known.person).copied().or(unread),
            });
        }
    }
    all.sort_by(|a, b| (a.due_at, &a.name, a.item).cmp(&(b.due_at, &b.name, b.item)));
    all
}
