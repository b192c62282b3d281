//! Where a person is: what the undominated statements about the person agree on, or else
//! *unresolved*. Doubt never counts as safe.

use std::collections::BTreeMap;

use jiff::Timestamp;
use serde::Serialize;

use super::knowledge::{replaces, undominated};
use crate::sea::position::Position;
use crate::trip::event::{
    DeviceId, Entry, EventId, Fact, GroupId, Mark, PersonCard, PersonId, Point, Return, Signal,
    ToldDive, Vessel,
};

/// Where a person is; exactly one of these at any time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Place {
    /// Not aboard yet, or not coming.
    Ashore,
    /// On this boat or its tender.
    Aboard,
    /// Confirmed on another vessel by a named person.
    OtherVessel,
    /// Confirmed ashore by a named person.
    Landed,
    /// Under water.
    InWater,
    /// At the surface, not picked up.
    AtSurface,
    /// Declared missing.
    Missing,
    /// The statements differ, or somebody looked and did not see the person.
    Unresolved,
}

impl Place {
    /// Whether a site may be left with a person there.
    #[must_use]
    pub fn is_accounted(self) -> bool {
        matches!(
            self,
            Self::Ashore | Self::Aboard | Self::OtherVessel | Self::Landed
        )
    }

    /// Whether the person is out of the depths, though perhaps still to be fetched.
    #[must_use]
    pub fn is_up(self) -> bool {
        matches!(
            self,
            Self::Aboard | Self::OtherVessel | Self::Landed | Self::AtSurface
        )
    }
}

/// What one event says about where one person is.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Statement {
    /// The event.
    pub event: EventId,
    /// The device that made it.
    pub device: DeviceId,
    /// Its mark.
    #[serde(skip)]
    pub mark: Mark,
    /// Who said it.
    pub by: String,
    /// When.
    pub at: Timestamp,
    /// Where it puts the person.
    pub place: Place,
    /// Signal, if seen at the surface.
    pub signal: Option<Signal>,
    /// Position, if given.
    pub position: Option<Position>,
    /// Name of the other vessel or place ashore.
    pub whither: Option<String>,
    /// Of which dive.
    pub dive: Option<u32>,
    /// Of which group.
    pub group: Option<GroupId>,
    /// 'Not coming'.
    pub not_coming: bool,
}

/// A person's plight that raises an alert.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Trouble {
    /// Signalled for help.
    Distress,
    /// Was declared missing.
    Missing,
    /// The statements differed.
    Unresolved,
}

/// A plight that is over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Past {
    /// Which.
    pub trouble: Trouble,
    /// Since when it held.
    pub since: Timestamp,
    /// Until when.
    pub until: Timestamp,
    /// The events that said so.
    pub marks: Vec<Mark>,
}

/// A dive of a person as logged.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Logged {
    /// The group it was made in.
    pub group: Option<GroupId>,
    /// Left the surface.
    pub entered_at: Option<Timestamp>,
    /// First seen up, or stated.
    pub surfaced_at: Option<Timestamp>,
    /// Out of the water.
    pub aboard_at: Option<Timestamp>,
    /// Left in the cylinder, bar.
    pub bar: Option<f64>,
    /// Greatest depth, metres.
    pub greatest_depth_m: Option<f64>,
    /// The stop was done.
    pub stop_done: Option<bool>,
    /// Trouble noted.
    pub problem: Option<String>,
    /// Who saw the person out of the water.
    pub seen_by: Option<String>,
    /// Which vessel took the person, if not this one.
    pub whither: Option<String>,
    /// The latest statement 'aboard', for undoing it.
    pub aboard_event: Option<EventId>,
}

/// A person of the roster.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Person {
    /// Identity.
    pub id: PersonId,
    /// What is known of the person.
    pub card: PersonCard,
    /// Comes along.
    pub coming: bool,
    /// Where the person is.
    pub place: Place,
    /// Since when, by the latest standing statement.
    pub since: Timestamp,
    /// A standing signal for help.
    pub distress: bool,
    /// What stands, undominated; more than one place among them makes the person unresolved.
    pub statements: Vec<Statement>,
    /// The dive the standing statements are about.
    pub dive: Option<u32>,
    /// The group the standing statements are about.
    pub group: Option<GroupId>,
    /// Dives of the trip.
    pub dives: BTreeMap<u32, Logged>,
    /// Dives of the day before the trip, as told.
    #[serde(skip)]
    pub earlier: Vec<ToldDive>,
    /// Plights that are over, the last of each kind.
    #[serde(skip)]
    pub past: Vec<Past>,
}

impl Person {
    /// Whether anybody's standing word is that the person is missing, though others differ.
    #[must_use]
    pub fn said_missing(&self) -> bool {
        self.statements.iter().any(|s| s.place == Place::Missing)
    }

    /// The last position of the person at the surface, with its time.
    #[must_use]
    pub fn surface_position(&self) -> Option<(Position, Timestamp)> {
        self.statements
            .iter()
            .rev()
            .find_map(|s| s.position.map(|p| (p, s.at)))
    }

    /// Whether every standing word puts the person out of the depths: words that differ only in
    /// whether somebody is at the surface or aboard leave nobody under water.
    #[must_use]
    pub fn is_up(&self) -> bool {
        match self.place {
            Place::Unresolved => {
                !self.statements.is_empty() && self.statements.iter().all(|s| s.place.is_up())
            }
            place => place.is_up(),
        }
    }

    /// Somebody who has just been put on the roster: ashore, and nothing said yet.
    pub(crate) fn coming(id: PersonId, card: PersonCard) -> Self {
        Self {
            id,
            card,
            coming: true,
            place: Place::Ashore,
            since: Timestamp::UNIX_EPOCH,
            distress: false,
            statements: Vec::new(),
            dive: None,
            group: None,
            dives: BTreeMap::new(),
            earlier: Vec::new(),
            past: Vec::new(),
        }
    }

    /// The name to be spoken.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.card.name
    }
}

/// What the log says about one person.
#[derive(Default)]
pub(super) struct AboutOne<'a> {
    /// Entries that count, in the one order.
    pub counts: Vec<&'a Entry>,
    /// Entries that were voided or corrected.
    pub taken_back: Vec<&'a Entry>,
}

/// Folds what is said about one person.
pub(super) fn fold(id: PersonId, said: &AboutOne<'_>) -> Person {
    let placing = placing(id, &said.counts);
    let mut statements = standing(&placing);
    let distress = statements.iter().any(|s| s.signal == Some(Signal::Help));
    let (place, coming) = if said.counts.is_empty() {
        // Whoever was put on the roster and taken off again stays readable, and ashore.
        (Place::Ashore, false)
    } else {
        resolve(&statements, distress)
    };
    // The order of statements is the one order of the entries they came from.
    statements.sort_by_key(|s| (s.at, s.device, s.event));
    let latest = statements.last();
    let mut person = Person {
        id,
        card: card(id, said),
        coming,
        place,
        since: latest.map_or(Timestamp::UNIX_EPOCH, |s| s.at),
        distress,
        dive: statements.iter().filter_map(|s| s.dive).max(),
        group: statements.iter().rev().find_map(|s| s.group),
        statements,
        dives: dives(&said.counts),
        earlier: dived_earlier(&said.counts),
        past: Vec::new(),
    };
    person.past = past(&person, &placing, &self::placing(id, &said.taken_back));
    person
}

fn resolve(statements: &[Statement], distress: bool) -> (Place, bool) {
    let coming = !statements.iter().all(|s| s.not_coming);
    if distress {
        return (Place::AtSurface, true);
    }
    let mut places: Vec<Place> = statements.iter().map(|s| s.place).collect();
    places.sort_unstable();
    places.dedup();
    match places.as_slice() {
        [one] => (*one, coming),
        _ => (Place::Unresolved, true),
    }
}

type Placing<'a> = (&'a Entry, Statement);

fn placing<'a>(id: PersonId, said: &[&'a Entry]) -> Vec<Placing<'a>> {
    said.iter()
        .filter_map(|entry| Some((*entry, statement(id, entry)?)))
        .collect()
}

/// The statements about where the person is that stand.
fn standing(placing: &[Placing<'_>]) -> Vec<Statement> {
    let mut standing: Vec<Statement> = placing
        .iter()
        .filter(|earlier| !placing.iter().any(|later| supersedes(later, earlier)))
        .map(|(_, statement)| statement.clone())
        .collect();
    if standing.is_empty() {
        // Claims of knowledge that run in a ring are false somewhere: then all of it stands.
        standing = placing.iter().map(|(_, s)| s.clone()).collect();
    }
    // A late word about an earlier dive may worsen, never improve.
    let latest_dive = standing.iter().filter_map(|s| s.dive).max();
    if standing.len() > 1 {
        standing.retain(|s| s.dive.is_none() || s.dive == latest_dive || !s.place.is_accounted());
    }
    standing
}

/// Whether `later` takes the place of `earlier`: its author knew it, and it is a word that can.
fn supersedes(later: &Placing<'_>, earlier: &Placing<'_>) -> bool {
    replaces(&later.0.event, &earlier.0.event) && may_replace(later, &earlier.1)
}

/// What may replace what. Knowing of a danger is not seeing it over: a list of names, a roll on
/// which somebody was not seen, an event that cannot be read and a word about an earlier dive
/// stand beside what they knew, and the person is unresolved.
fn may_replace((entry, later): &Placing<'_>, earlier: &Statement) -> bool {
    if let (Some(later), Some(earlier)) = (later.dive, earlier.dive)
        && later < earlier
    {
        return false;
    }
    let helped = earlier.signal == Some(Signal::Help);
    match &entry.event.fact {
        Fact::Unread(_) => false,
        Fact::PersonJoined(_) | Fact::PersonNotComing(_) => earlier.place.is_accounted(),
        Fact::RollCalled(_) => match later.place {
            Place::Aboard => true,
            Place::Ashore => earlier.place.is_accounted(),
            _ => false,
        },
        Fact::LeftSurface(_) => earlier.place != Place::Missing && !helped,
        // Somebody who signalled for help and now gives no sign is no better off.
        Fact::AtSurface(seen) => !helped || seen.signal != Signal::NoSignal,
        Fact::PersonFound(found) => !helped || found.vessel.is_some(),
        _ => true,
    }
}

/// Plights that are over, whether a later word ended them or they were taken back: somebody
/// heard the alert and should learn what it was.
fn past(person: &Person, counts: &[Placing<'_>], taken_back: &[Placing<'_>]) -> Vec<Past> {
    let holds = |trouble| match trouble {
        Trouble::Distress => person.distress,
        Trouble::Missing => person.said_missing(),
        Trouble::Unresolved => person.place == Place::Unresolved,
    };
    let ended = |of: &[&Placing<'_>]| {
        let since = of.iter().map(|(_, s)| s.at).max()?;
        let until = counts
            .iter()
            .filter(|(e, _)| of.iter().all(|(o, _)| e.event.knew(&o.event)))
            .map(|(_, s)| s.at.max(since))
            .min();
        Some((
            since,
            until.unwrap_or(since),
            of.iter().map(|(_, s)| s.mark).collect(),
        ))
    };
    let all: Vec<&Placing<'_>> = counts.iter().chain(taken_back).collect();
    let mut past: BTreeMap<Trouble, Past> = BTreeMap::new();
    let mut add = |trouble, of: &[&Placing<'_>]| {
        if holds(trouble) {
            return;
        }
        if let Some((since, until, marks)) = ended(of)
            && past.get(&trouble).is_none_or(|known| known.since < since)
        {
            let over = Past {
                trouble,
                since,
                until,
                marks,
            };
            past.insert(trouble, over);
        }
    };
    for one in &all {
        match one.1.place {
            Place::Missing => add(Trouble::Missing, &[one]),
            Place::Unresolved => add(Trouble::Unresolved, &[one]),
            _ if one.1.signal == Some(Signal::Help) => add(Trouble::Distress, &[one]),
            _ => {}
        }
    }
    for (nth, one) in all.iter().enumerate() {
        for other in all.iter().skip(nth + 1) {
            if one.1.place != other.1.place && stood_together(one, other, &all) {
                add(Trouble::Unresolved, &[one, other]);
            }
        }
    }
    past.into_values().collect()
}

/// Whether two statements were ever both the last word: neither knew the other, and neither
/// author knew a word that had replaced the other's.
fn stood_together(a: &Placing<'_>, b: &Placing<'_>, all: &[&Placing<'_>]) -> bool {
    let knew = |x: &Placing<'_>, y: &Placing<'_>| {
        x.0.event.knew(&y.0.event)
            || all
                .iter()
                .any(|z| replaces(&z.0.event, &y.0.event) && x.0.event.knew(&z.0.event))
    };
    !knew(a, b) && !knew(b, a)
}

struct Said {
    place: Place,
    signal: Option<Signal>,
    position: Option<Position>,
    whither: Option<String>,
    not_coming: bool,
}

impl Said {
    fn at(place: Place) -> Self {
        Self {
            place,
            signal: None,
            position: None,
            whither: None,
            not_coming: false,
        }
    }
}

fn on_vessel(vessel: &Vessel) -> Said {
    match vessel {
        Vessel::Own | Vessel::Tender => Said::at(Place::Aboard),
        Vessel::Other { name } => Said {
            whither: Some(name.clone()),
            ..Said::at(Place::OtherVessel)
        },
        Vessel::Shore { place } => Said {
            whither: Some(place.clone()),
            ..Said::at(Place::Landed)
        },
    }
}

fn place_said(id: PersonId, entry: &Entry) -> Option<Said> {
    let event = &entry.event;
    let named = event.about.persons.contains(&id);
    match &event.fact {
        Fact::RollCalled(roll) if roll.not_seen.contains(&id) => {
            // At the quay nobody has to be there yet; afterwards, not seen is a doubt.
            let place = if roll.point == Point::Departure {
                Place::Ashore
            } else {
                Place::Unresolved
            };
            Some(Said::at(place))
        }
        // Of a group, without a name: all of it is in doubt.
        Fact::Unread(_) if event.about.persons.is_empty() => Some(Said::at(Place::Unresolved)),
        _ if !named => None,
        Fact::PersonJoined(_) => Some(Said::at(Place::Ashore)),
        Fact::PersonNotComing(_) => Some(Said {
            not_coming: true,
            ..Said::at(Place::Ashore)
        }),
        Fact::RollCalled(_) => Some(Said::at(Place::Aboard)),
        Fact::LeftSurface(left) => Some(Said {
            position: left.place,
            ..Said::at(Place::InWater)
        }),
        Fact::AtSurface(seen) => Some(Said {
            signal: Some(seen.signal),
            position: seen.place,
            ..Said::at(Place::AtSurface)
        }),
        Fact::Aboard(aboard) => Some(on_vessel(&aboard.vessel)),
        Fact::PersonMissing(_) => Some(Said::at(Place::Missing)),
        Fact::PersonFound(found) => Some(match &found.vessel {
            Some(vessel) => on_vessel(vessel),
            None => Said {
                position: found.place,
                ..Said::at(Place::AtSurface)
            },
        }),
        Fact::Unread(_) => Some(Said::at(Place::Unresolved)),
        Fact::TripOpened(_)
        | Fact::PersonChanged(_)
        | Fact::DivedEarlier(_)
        | Fact::DivePlanned(_)
        | Fact::GroupFormed(_)
        | Fact::GroupStoodDown(_)
        | Fact::HeadCounted(_)
        | Fact::Departed(_)
        | Fact::OnSite(_)
        | Fact::ConditionsObserved(_)
        | Fact::BoatPositioned(_)
        | Fact::DropChecked(_)
        | Fact::BuoySeen(_)
        | Fact::OthersWell(_)
        | Fact::LostContact(_)
        | Fact::ReturnNoted(_)
        | Fact::MoreTime(_)
        | Fact::RecallSounded(_)
        | Fact::EmergencyDeclared(_)
        | Fact::EmergencyStep(_)
        | Fact::EmergencyEnded(_)
        | Fact::AlertAcknowledged(_)
        | Fact::AlertSilenced(_)
        | Fact::LookoutPosted(_)
        | Fact::LookoutRelieved(_)
        | Fact::CommandHandedOver(_)
        | Fact::CommandAccepted(_)
        | Fact::PickupArranged(_)
        | Fact::IncidentNoted(_)
        | Fact::LeftSite(_)
        | Fact::BackInHarbour(_)
        | Fact::TripClosed(_)
        | Fact::Voided(_)
        | Fact::BeaconHeard(_)
        | Fact::BeaconDismissed(_)
        | Fact::ReportSigned(_)
        | Fact::RecordSealed(_)
        | Fact::ConditionAnswered(_)
        | Fact::TripDecided(_)
        | Fact::WaitingJoined(_)
        | Fact::WaitingLeft(_)
        | Fact::SheetPrinted(_)
        | Fact::ForecastNoted(_) => None,
    }
}

fn statement(id: PersonId, entry: &Entry) -> Option<Statement> {
    let said = place_said(id, entry)?;
    let event = &entry.event;
    Some(Statement {
        event: event.id,
        device: event.device,
        mark: event.mark(),
        by: event.by.name.clone(),
        at: entry.time(),
        place: said.place,
        signal: said.signal,
        position: said.position,
        whither: said.whither,
        dive: event.about.dive,
        group: event.about.group,
        not_coming: said.not_coming,
    })
}

fn card(id: PersonId, said: &AboutOne<'_>) -> PersonCard {
    let of = |said: &[&'_ Entry]| -> Vec<PersonCard> {
        let cards: Vec<&Entry> = said
            .iter()
            .filter(|e| card_of(e).is_some())
            .copied()
            .collect();
        undominated(&cards)
            .into_iter()
            .filter_map(|e| card_of(e).cloned())
            .collect()
    };
    let mut standing = of(&said.counts);
    if standing.is_empty() {
        // A name that was taken back is better than none.
        standing = of(&said.taken_back);
    }
    let mut standing = standing.into_iter();
    let Some(first) = standing.next() else {
        // Somebody is spoken of who never joined: keep the person, by what we have.
        return PersonCard {
            name: format!(
                "Unknown {}",
                id.to_string().chars().take(8).collect::<String>()
            ),
            activity: crate::trip::event::Activity::Diver,
            level: String::new(),
            depth_limit_m: None,
            fitness: crate::trip::event::Fitness::Restricted,
            last_dive: None,
        };
    };
    // Two desks changed the card apart: the stricter word of each stands.
    standing.fold(first, |mut card, other| {
        card.fitness = card.fitness.max(other.fitness);
        card.depth_limit_m = match (card.depth_limit_m, other.depth_limit_m) {
            (Some(a), Some(b)) => Some(if a < b { a } else { b }),
            // Without a limit nobody goes down.
            (_, None) | (None, _) => None,
        };
        card.name.clone_from(&other.name);
        card
    })
}

fn card_of(entry: &Entry) -> Option<&PersonCard> {
    match &entry.event.fact {
        Fact::PersonJoined(joined) => Some(&joined.card),
        Fact::PersonChanged(changed) => Some(&changed.card),
        _ => None,
    }
}

/// Dives before the trip. Where two tell different ones, all of them count.
fn dived_earlier(said: &[&Entry]) -> Vec<ToldDive> {
    let told: Vec<&Entry> = said
        .iter()
        .copied()
        .filter(|entry| matches!(entry.event.fact, Fact::DivedEarlier(_)))
        .collect();
    let mut dives: Vec<ToldDive> = Vec::new();
    for entry in undominated(&told) {
        if let Fact::DivedEarlier(earlier) = &entry.event.fact {
            for dive in &earlier.dives {
                if !dives.contains(dive) {
                    dives.push(dive.clone());
                }
            }
        }
    }
    dives
}

fn dives(said: &[&Entry]) -> BTreeMap<u32, Logged> {
    let mut dives: BTreeMap<u32, Logged> = BTreeMap::new();
    for entry in said {
        let event = &entry.event;
        let Some(dive) = event.about.dive else {
            continue;
        };
        let at = entry.time();
        match &event.fact {
            Fact::LeftSurface(_) => {
                let logged = dives.entry(dive).or_default();
                logged.entered_at = earlier(logged.entered_at, Some(at));
                logged.group = event.about.group.or(logged.group);
            }
            Fact::AtSurface(_) => {
                let logged = dives.entry(dive).or_default();
                logged.surfaced_at = earlier(logged.surfaced_at, Some(at));
            }
            Fact::Aboard(aboard) => {
                let logged = dives.entry(dive).or_default();
                logged.aboard_at = earlier(logged.aboard_at, Some(at));
                logged.seen_by = Some(aboard.seen_by.clone());
                logged.whither = on_vessel(&aboard.vessel).whither;
                logged.aboard_event = Some(event.id);
                note(logged, &aboard.detail);
            }
            Fact::ReturnNoted(noted) => note(dives.entry(dive).or_default(), &noted.detail),
            _ => {}
        }
    }
    for logged in dives.values_mut() {
        // Whoever was seen aboard was up by then, whatever was seen after it; before going in
        // nobody came up.
        let aboard = logged
            .aboard_at
            .filter(|at| logged.entered_at.is_none_or(|entered| *at >= entered));
        logged.surfaced_at = earlier(logged.surfaced_at, aboard).or(logged.aboard_at);
    }
    dives
}

fn note(logged: &mut Logged, detail: &Return) {
    if let Some(at) = detail.surfaced_at {
        logged.surfaced_at = earlier(logged.surfaced_at, Some(at));
    }
    if let Some(bar) = detail.bar {
        logged.bar = Some(bar.bar());
    }
    if let Some(depth) = detail.greatest_depth_m {
        logged.greatest_depth_m = Some(depth.m());
    }
    logged.stop_done = detail.stop_done.or(logged.stop_done);
    if detail.problem.is_some() {
        logged.problem.clone_from(&detail.problem);
    }
}

fn earlier(a: Option<Timestamp>, b: Option<Timestamp>) -> Option<Timestamp> {
    match (a, b) {
        (Some(a), Some(b)) => Some(a.min(b)),
        (at, None) | (None, at) => at,
    }
}
