//! The state of a trip: a fold over its log, the same for every order in which the events
//! arrived. Where statements differ that did not know of each other, it keeps them all.
#![expect(
    clippy::wildcard_enum_match_arm,
    reason = "each part of the fold reads the kinds that concern it; where a person is, in \
              `person::place_said`, names every kind, so that a new one forces a decision"
)]

mod group;
mod knowledge;
mod person;
mod trip_facts;

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;

use super::event::{
    Activity, CrewId, DeviceId, DivePlanned, Entry, EventId, Fact, GroupId, Knows, PersonId, Point,
    TripId, TripOpened,
};
use super::roll::{self, Call, Outcome, Roll};

pub(crate) use group::plus;
pub use group::{Checked, Deadlines, Drop, Group, PARTNER_CLOCK, Seen, Sighting, Word};
pub(crate) use knowledge::{may_mend, mends, says_danger};
pub use person::{Logged, Person, Place, Statement};
pub use trip_facts::{
    Arranged, BoatPlace, Command, Conditions, Emergency, Known, Lookout, Offer, Phase, StepTaken,
};

/// Everything a trip's log says.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    /// The trip.
    pub trip: TripId,
    /// How it was opened.
    pub opened: Option<TripOpened>,
    /// Where the trip stands.
    pub phase: Phase,
    /// A fact that came later than the closing shows somebody not accounted for.
    pub reopened: bool,
    /// The dive the boat is on, or was on last; 0 before the first site.
    pub dive: u32,
    /// The roster.
    pub people: BTreeMap<PersonId, Person>,
    /// Dives by number.
    pub dives: BTreeMap<u32, DivePlanned>,
    /// Groups of all dives.
    pub groups: BTreeMap<GroupId, Group>,
    /// Counts.
    pub calls: Vec<Call>,
    /// Rolls.
    pub rolls: Vec<Roll>,
    /// Sea and weather as last seen.
    pub conditions: Conditions,
    /// Where the boat is.
    pub boat: Option<BoatPlace>,
    /// Who keeps the lookout.
    pub lookout: Option<Lookout>,
    /// Who has command.
    pub command: Command,
    /// Recalls sounded, with the dive.
    pub recalls: Vec<Known<u32>>,
    /// The emergency, if one was declared and is not over.
    pub emergency: Option<Emergency>,
    /// Acknowledgements: alert and cause.
    pub acknowledged: Vec<Known<(String, String)>>,
    /// Silences: alert and cause.
    pub silenced: Vec<Known<(String, String)>>,
    /// What the skipper fixed of the pickup order.
    pub arranged: Arranged,
    /// Notes for the record.
    pub incidents: Vec<Known<String>>,
    /// Gates overridden: what and why.
    pub overrides: Vec<Known<(&'static str, String)>>,
    /// Events this program cannot read: their kinds.
    pub unread: Vec<Known<String>>,
    /// Per device, the number up to which this log has everything.
    pub head: Knows,
    /// Per device, numbers that are missing below the highest.
    pub gaps: BTreeMap<DeviceId, Vec<u64>>,
    /// How many events the log has.
    pub events: usize,
    /// When the last event was received.
    pub last_recorded: Option<Timestamp>,
}

/// Folds a log. Events of other trips and repeated events are passed over.
#[must_use]
pub fn fold(trip: TripId, log: &[Entry]) -> State {
    let entries = distinct(trip, log);
    let effective = knowledge::effective(&entries);
    let (head, gaps) = vector(&entries);
    let recalls: Vec<&Entry> = effective
        .iter()
        .filter(|e| matches!(e.event.fact, Fact::RecallSounded(_)))
        .copied()
        .collect();
    let people = people(&effective);
    let groups = groups(&effective, &recalls);
    let facts = trip_facts::fold(&effective);
    let reopened = facts.phase == Phase::Closed && !accounted(&people, facts.closed_over);
    let phase = if reopened {
        facts.phase_before_closing
    } else {
        facts.phase
    };
    State {
        trip,
        opened: facts.opened,
        phase,
        reopened,
        dive: facts.dive,
        people,
        dives: facts.dives,
        groups,
        calls: roll::calls(&effective),
        rolls: roll::rolls(&effective),
        conditions: facts.conditions,
        boat: facts.boat,
        lookout: facts.lookout,
        command: facts.command,
        recalls: facts.recalls,
        emergency: facts.emergency,
        acknowledged: facts.acknowledged,
        silenced: facts.silenced,
        arranged: facts.arranged,
        incidents: facts.incidents,
        overrides: facts.overrides,
        unread: facts.unread,
        head,
        gaps,
        events: entries.len(),
        last_recorded: entries.iter().map(|e| e.receipt.recorded_at).max(),
    }
}

/// One entry for each event; of several receipts, the one with the earliest reckoned time.
fn distinct(trip: TripId, log: &[Entry]) -> Vec<Entry> {
    let mut by_id: BTreeMap<EventId, &Entry> = BTreeMap::new();
    for entry in log.iter().filter(|entry| entry.event.trip == trip) {
        let kept = by_id.entry(entry.event.id).or_insert(entry);
        if entry.time() < kept.time() {
            *kept = entry;
        }
    }
    by_id.into_values().cloned().collect()
}

fn accounted(people: &BTreeMap<PersonId, Person>, overridden: bool) -> bool {
    overridden || people.values().all(|person| person.place.is_accounted())
}

fn people(effective: &[&Entry]) -> BTreeMap<PersonId, Person> {
    let mut said: BTreeMap<PersonId, person::AboutOne<'_>> = BTreeMap::new();
    for entry in effective {
        // A note or an emergency names people without putting them on the roster.
        if matches!(
            entry.event.fact,
            Fact::IncidentNoted(_) | Fact::EmergencyDeclared(_)
        ) {
            continue;
        }
        let not_seen = match &entry.event.fact {
            Fact::RollCalled(roll) => roll.not_seen.as_slice(),
            _ => &[],
        };
        for person in entry.event.about.persons.iter().chain(not_seen) {
            said.entry(*person).or_default().push(entry);
        }
    }
    said.into_iter()
        .map(|(id, said)| (id, person::fold(id, &said)))
        .collect()
}

fn groups(effective: &[&Entry], recalls: &[&Entry]) -> BTreeMap<GroupId, Group> {
    let mut said: BTreeMap<GroupId, Vec<&Entry>> = BTreeMap::new();
    for entry in effective {
        if let Some(group) = entry.event.about.group {
            said.entry(group).or_default().push(entry);
        }
    }
    said.into_iter()
        .filter_map(|(id, said)| group::fold(id, &said, recalls).map(|group| (id, group)))
        .collect()
}

/// What the log holds of each device: up to where all, and what is missing above.
fn vector(entries: &[Entry]) -> (Knows, BTreeMap<DeviceId, Vec<u64>>) {
    /// Most missing numbers named for one device.
    const MOST_NAMED: u64 = 100;
    let mut numbers: BTreeMap<DeviceId, BTreeSet<u64>> = BTreeMap::new();
    for entry in entries {
        numbers
            .entry(entry.event.device)
            .or_default()
            .insert(entry.event.device_seq);
    }
    let mut head = BTreeMap::new();
    let mut gaps = BTreeMap::new();
    for (device, held) in numbers {
        let mut contiguous = 0;
        while held.contains(&(contiguous + 1)) {
            contiguous += 1;
        }
        let highest = held.last().copied().unwrap_or(0);
        let missing: Vec<u64> = (contiguous + 1..=highest.min(contiguous + MOST_NAMED))
            .filter(|seq| !held.contains(seq))
            .collect();
        head.insert(device, contiguous);
        if !missing.is_empty() {
            gaps.insert(device, missing);
        }
    }
    (Knows(head), gaps)
}

impl State {
    /// How many people are aboard by the log.
    #[must_use]
    pub fn aboard(&self) -> usize {
        self.people
            .values()
            .filter(|p| p.place == Place::Aboard)
            .count()
    }

    /// People who come along.
    pub fn coming(&self) -> impl Iterator<Item = &Person> {
        self.people.values().filter(|p| p.coming)
    }

    /// People for whom a site may not be left.
    pub fn not_accounted(&self) -> impl Iterator<Item = &Person> {
        self.people.values().filter(|p| !p.place.is_accounted())
    }

    /// How many people are in each place; the counts sum to the roster.
    #[must_use]
    pub fn counts(&self) -> BTreeMap<Place, usize> {
        let mut counts = BTreeMap::new();
        for person in self.people.values() {
            *counts.entry(person.place).or_default() += 1;
        }
        counts
    }

    /// Groups of one dive that dive, by letter.
    #[must_use]
    pub fn groups_of(&self, dive: u32) -> Vec<&Group> {
        let mut groups: Vec<&Group> = self
            .groups
            .values()
            .filter(|g| g.dive == dive && g.stood_down.is_none())
            .collect();
        groups.sort_by(|a, b| (&a.formed.letter, a.id).cmp(&(&b.formed.letter, b.id)));
        groups
    }

    /// Groups with anybody of theirs not accounted for who went in with them.
    pub fn groups_out(&self) -> impl Iterator<Item = &Group> {
        self.groups
            .values()
            .filter(|g| g.drop.is_some() && !self.out_of(g).is_empty())
    }

    /// Members of a group who are not accounted for and whose standing dive is the group's.
    #[must_use]
    pub fn out_of<'a>(&'a self, group: &'a Group) -> Vec<&'a Person> {
        if group.drop.is_none() {
            return Vec::new();
        }
        self.members(group)
            .filter(|p| !p.place.is_accounted() && p.dive.is_none_or(|d| d <= group.dive))
            .collect()
    }

    /// Members of a group who are not up: under water, missing or unresolved.
    #[must_use]
    pub fn down_of<'a>(&'a self, group: &'a Group) -> Vec<&'a Person> {
        self.out_of(group)
            .into_iter()
            .filter(|p| !p.place.is_up())
            .collect()
    }

    /// Members of a group as people of the roster.
    pub fn members<'a>(&'a self, group: &'a Group) -> impl Iterator<Item = &'a Person> {
        group.members().iter().filter_map(|id| self.people.get(id))
    }

    /// The count that a gate at this point asks for: the open one, or the number of the next.
    #[must_use]
    pub fn current_call(&self, point: Point) -> (u32, Option<&Call>) {
        let dive = self.dive_of(point);
        let last = self
            .calls
            .iter()
            .rfind(|c| c.point == point && c.dive == dive);
        match last {
            Some(call) if matches!(call.outcome(), Outcome::Open { .. }) => {
                (call.number, Some(call))
            }
            Some(call) => (call.number + 1, None),
            None => (1, None),
        }
    }

    /// The dive a count at this point belongs to.
    #[must_use]
    pub fn dive_of(&self, point: Point) -> u32 {
        if point == Point::Leaving {
            self.dive
        } else {
            0
        }
    }

    /// The last finished count at this point.
    #[must_use]
    pub fn last_call(&self, point: Point) -> Option<&Call> {
        let dive = self.dive_of(point);
        self.calls
            .iter()
            .filter(|c| c.point == point && c.dive == dive)
            .rfind(|c| !matches!(c.outcome(), Outcome::Open { .. }))
    }

    /// Snorkellers who are in the water or at the surface.
    pub fn swimmers(&self) -> impl Iterator<Item = &Person> {
        self.people
            .values()
            .filter(|p| p.card.activity == Activity::Snorkeller && !p.place.is_accounted())
    }

    /// Whether this account has command.
    #[must_use]
    pub fn commands(&self, crew: CrewId) -> bool {
        self.command.holder == Some(crew)
    }
}
