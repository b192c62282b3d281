//! The state of a trip: a fold over its log, the same for every order in which the events
//! arrived. Where statements differ that did not know of each other, it keeps them all.
#![expect(
    clippy::wildcard_enum_match_arm,
    reason = "each part of the fold reads the kinds that concern it; where a person is, in \
              `person::place_said`, names every kind, so that a new one forces a decision"
)]

mod beacon;
mod go_list;
mod group;
mod knowledge;
mod onward;
mod person;
mod sign_off;
mod trip_facts;
mod waiting;

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;

use super::event::{
    Activity, Author, CrewId, DeviceId, DivePlanned, Entry, EventId, Fact, ForecastNoted, GroupId,
    Knows, PersonId, Point, TripId, TripOpened,
};
use super::roll::{self, Call, Outcome, Roll};

pub use beacon::{Beacon, BeaconPlace};
pub use go_list::{Answered, Decision, GoList, Verdict};
pub(crate) use group::plus;
pub use group::{Checked, Deadlines, Drop, Group, PARTNER_CLOCK, Seen, Sighting, Word};
pub(crate) use knowledge::{effective, is_own_slip, may_mend, mends, says_danger, waiting};
pub use onward::{RestsOn, fold_on, fold_whole};
pub use person::{Logged, Past, Person, Place, Statement, Trouble};
pub use sign_off::{Lack, Seal, SignOff, Signature, needs_signing, signs};
pub use trip_facts::{
    Arranged, BoatPlace, CURRENT_COUNTS, Command, Conditions, Emergency, Heard, Incident, Known,
    Lookout, Offer, Over, Phase, StepTaken,
};
pub use waiting::Waiting;

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
    /// The last emergency that is over.
    pub emergency_over: Option<Over>,
    /// Acknowledgements.
    pub acknowledged: Vec<Heard>,
    /// Silences.
    pub silenced: Vec<Heard>,
    /// Locator beacons heard, by identity.
    pub beacons: BTreeMap<String, Beacon>,
    /// What the skipper fixed of the pickup order.
    pub arranged: Arranged,
    /// Notes for the record.
    pub incidents: Vec<Known<Incident>>,
    /// Gates overridden: what and why.
    pub overrides: Vec<Known<(&'static str, String)>>,
    /// Events this program cannot read: their kinds.
    pub unread: Vec<Known<String>>,
    /// Forecasts of weather and tide, as they were read, in the order of the fold.
    pub forecasts: Vec<Known<ForecastNoted>>,
    /// Who waits for a place, in order; nobody of them is on the roster.
    pub waiting: Vec<Waiting>,
    /// The go/no-go list of before departure.
    pub go_list: GoList,
    /// Who signed the report, and what seals the record.
    pub sign_off: SignOff,
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
    let people = people(&entries, &effective);
    let groups = groups(&effective);
    let facts = trip_facts::fold(&effective);
    let reopened = facts.phase == Phase::Closed && !accounted(&people, &facts.closed_over);
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
        forecasts: facts.forecasts,
        waiting: waiting::fold(&effective, &people),
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
        emergency_over: facts.emergency_over,
        acknowledged: facts.acknowledged,
        silenced: facts.silenced,
        beacons: beacon::fold(&effective),
        arranged: facts.arranged,
        incidents: facts.incidents,
        overrides: facts.overrides,
        unread: facts.unread,
        go_list: go_list::fold(&effective),
        sign_off: sign_off::fold(&entries, &effective),
        head,
        gaps,
        events: entries.len(),
        last_recorded: entries.iter().map(|e| e.receipt.recorded_at).max(),
    }
}

/// One entry for each event; of several receipts, the one with the earliest reckoned time.
/// An identity that stands here with two contents is two events: which is true is in doubt.
fn distinct(trip: TripId, log: &[Entry]) -> Vec<&Entry> {
    let mut by_id: BTreeMap<EventId, Vec<&Entry>> = BTreeMap::new();
    for entry in log.iter().filter(|entry| entry.event.trip == trip) {
        let held = by_id.entry(entry.event.id).or_default();
        match held.iter_mut().find(|kept| kept.event == entry.event) {
            Some(kept) => {
                if receipt_order(entry) < receipt_order(kept) {
                    *kept = entry;
                }
            }
            None => held.push(entry),
        }
    }
    let mut distinct = Vec::with_capacity(by_id.len());
    for (_, mut held) in by_id {
        if held.len() > 1 {
            held.sort_by_cached_key(|entry| entry.event.content().hash);
        }
        distinct.append(&mut held);
    }
    distinct
}

/// A total order of receipts, so that which is kept does not hang on which came first.
fn receipt_order(entry: &Entry) -> impl Ord + use<> {
    let receipt = &entry.receipt;
    (
        entry.time(),
        receipt.made_at(),
        receipt.recorded_at,
        receipt.entry,
        receipt.wall_age_ms,
        receipt.mono_age_ms,
    )
}

/// Whether everybody is accounted for, or was known not to be by a skipper who closed the trip
/// over it with a stated reason: a fact he did not know of opens it again.
fn accounted(people: &BTreeMap<PersonId, Person>, closed_over: &[Author]) -> bool {
    people.values().all(|person| {
        person.place.is_accounted() || closed_over.iter().any(|closing| knew_all(closing, person))
    })
}

fn knew_all(closing: &Author, person: &Person) -> bool {
    !person.statements.is_empty() && person.statements.iter().all(|s| closing.saw(s.mark))
}

/// `entries`: all, to know whom the log names at all. `effective`: those that count.
fn people(entries: &[&Entry], effective: &[&Entry]) -> BTreeMap<PersonId, Person> {
    let mut said: BTreeMap<PersonId, person::AboutOne<'_>> = BTreeMap::new();
    let members = unread_members(effective);
    for entry in effective {
        for person in concerned(entry, &members) {
            said.entry(person).or_default().counts.push(entry);
        }
    }
    let counted: BTreeSet<EventId> = effective.iter().map(|e| e.event.id).collect();
    for entry in entries.iter().filter(|e| !counted.contains(&e.event.id)) {
        for person in concerned(entry, &members) {
            said.entry(person).or_default().taken_back.push(entry);
        }
    }
    said.into_iter()
        .map(|(id, said)| (id, person::fold(id, &said)))
        .collect()
}

/// Whom an entry says something about.
fn concerned(entry: &Entry, members: &BTreeMap<GroupId, BTreeSet<PersonId>>) -> BTreeSet<PersonId> {
    let about = &entry.event.about;
    match &entry.event.fact {
        // A note or an emergency names people without putting them on the roster, and a void
        // names them only since the event it takes back did.
        Fact::IncidentNoted(_)
        | Fact::EmergencyDeclared(_)
        | Fact::Voided(_)
        | Fact::ReportSigned(_)
        | Fact::RecordSealed(_)
        | Fact::ConditionAnswered(_)
        | Fact::TripDecided(_)
        // Whatever they say they are about: who waits is on no roster.
        | Fact::WaitingJoined(_)
        | Fact::WaitingLeft(_)
        | Fact::SheetPrinted(_)
        | Fact::ForecastNoted(_) => BTreeSet::new(),
        Fact::RollCalled(roll) => about
            .persons
            .iter()
            .chain(&roll.not_seen)
            .copied()
            .collect(),
        Fact::Unread(_) if about.persons.is_empty() => about
            .group
            .and_then(|group| members.get(&group))
            .cloned()
            .unwrap_or_default(),
        _ => about.persons.clone(),
    }
}

/// Members of groups that an unreadable event names without naming people: all of them are in
/// doubt.
fn unread_members(effective: &[&Entry]) -> BTreeMap<GroupId, BTreeSet<PersonId>> {
    let mut members: BTreeMap<GroupId, BTreeSet<PersonId>> = effective
        .iter()
        .filter(|e| matches!(e.event.fact, Fact::Unread(_)) && e.event.about.persons.is_empty())
        .filter_map(|e| Some((e.event.about.group?, BTreeSet::new())))
        .collect();
    if members.is_empty() {
        return members;
    }
    for entry in effective {
        let event = &entry.event;
        let Some(known) = event.about.group.and_then(|group| members.get_mut(&group)) else {
            continue;
        };
        match &event.fact {
            Fact::GroupFormed(formed) => known.extend(formed.units.iter().flatten()),
            Fact::LeftSurface(_) => known.extend(&event.about.persons),
            _ => {}
        }
    }
    members
}

fn groups(effective: &[&Entry]) -> BTreeMap<GroupId, Group> {
    let mut said: BTreeMap<GroupId, Vec<&Entry>> = BTreeMap::new();
    for entry in effective {
        if let Some(group) = entry.event.about.group {
            said.entry(group).or_default().push(entry);
        }
    }
    let trip = group::Around::of(effective);
    said.into_iter()
        .filter_map(|(id, said)| group::fold(id, &said, &trip).map(|group| (id, group)))
        .collect()
}

/// What the log holds of each device: up to where all, and what is missing above.
fn vector(entries: &[&Entry]) -> (Knows, BTreeMap<DeviceId, Vec<u64>>) {
    /// Most missing numbers named for one device.
    const MOST_NAMED: u64 = 100;
    let mut numbers: BTreeMap<DeviceId, BTreeSet<u64>> = BTreeMap::new();
    for entry in entries {
        numbers
            .entry(entry.event.device)
            .or_default()
            .insert(entry.event.device_seq);
    }
    // What an author of another device knew exists, whether it came here or not.
    let mut known: BTreeMap<DeviceId, u64> = BTreeMap::new();
    for entry in entries {
        for (device, seq) in &entry.event.knows.0 {
            let most = known.entry(*device).or_default();
            *most = seq.max(most).to_owned();
        }
    }
    for device in known.keys() {
        numbers.entry(*device).or_default();
    }
    let mut head = BTreeMap::new();
    let mut gaps = BTreeMap::new();
    for (device, held) in numbers {
        let mut contiguous = 0;
        while held.contains(&(contiguous + 1)) {
            contiguous += 1;
        }
        let highest = held.last().copied().unwrap_or(0);
        let highest = highest.max(known.get(&device).copied().unwrap_or(0));
        let missing: Vec<u64> = (contiguous + 1..=highest.min(contiguous + MOST_NAMED))
            .filter(|seq| !held.contains(seq))
            .collect();
        if contiguous > 0 {
            head.insert(device, contiguous);
        }
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

    /// Whether anybody is out for whom a site may not be left.
    #[must_use]
    pub fn anybody_out(&self) -> bool {
        self.not_accounted().next().is_some()
    }

    /// Whether nobody need watch it any more: it is closed and nobody is out.
    #[must_use]
    pub fn is_over(&self) -> bool {
        self.phase == Phase::Closed && !self.anybody_out()
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
            .filter(|p| !p.is_up())
            .collect()
    }

    /// The name of a person, `?` for who is on no roster.
    #[must_use]
    pub fn name_of(&self, id: PersonId) -> &str {
        self.people.get(&id).map_or("?", |who| who.name())
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

    /// The point at which people are counted now; under way it is the return.
    #[must_use]
    pub fn counts_at(&self) -> Option<Point> {
        match self.phase {
            Phase::AtQuay => Some(Point::Departure),
            Phase::OnSite => Some(Point::Leaving),
            Phase::UnderWay | Phase::Back => Some(Point::Return),
            Phase::Closed => None,
        }
    }

    /// Whether a blind count is open: meanwhile no page shows how many there are.
    #[must_use]
    pub fn is_counting(&self) -> bool {
        self.counts_at()
            .is_some_and(|point| self.current_call(point).1.is_some())
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
