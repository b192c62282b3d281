//! Alerts: one for one situation, rising in priority; only a fact in the log resolves one.
//!
//! Priorities and states after IMO resolution MSC.302(87), bridge alert management: emergency
//! alarm, alarm, warning, caution; active, silenced (30 s), acknowledged, rectified
//! unacknowledged.

use std::collections::BTreeSet;

use jiff::{SignedDuration, Timestamp};
use serde::Serialize;

use super::row::{
    PartnerClock, concerned, down_ids, name, partner_clocks, past_partner_clocks, surfaced_at,
};
use super::{deadlines, group_key};
use crate::trip::event::{BeaconSort, BuoyColour, GroupId, Mark, PersonId, Point, Signal};
use crate::trip::roll::Outcome;
use crate::trip::state::{
    Beacon, CURRENT_COUNTS, Group, Heard, Offer, Person, Phase, Place, Seen, Sighting, State,
    Statement, Trouble, plus,
};

/// How long a silenced alert stays quiet (MSC.302(87), 7.3: 30 s).
pub const QUIET: SignedDuration = SignedDuration::from_secs(30);
/// A lookout is relieved after an hour (Queensland regulator's guidance on lookouts).
const WATCH_LENGTH: SignedDuration = SignedDuration::from_mins(60);
/// Unacknowledged alarms reach the deck phones after 30 s and the desk after 120 s (the
/// pattern of MSC.128(75), 4.1: own place first, then backup, then others).
const DECK_AFTER: SignedDuration = SignedDuration::from_secs(30);
const DESK_AFTER: SignedDuration = SignedDuration::from_secs(120);

/// How much an alert matters, most first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Priority {
    /// Immediate danger to life, declared by a person.
    Emergency,
    /// Needs attention and action at once.
    Alarm,
    /// Not yet dangerous.
    Warning,
    /// Awareness: a doubt about link, clock or plan; silent.
    Caution,
}

/// Where an alert is in its life.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum AlertState {
    /// Nobody has acknowledged it.
    Active,
    /// Quiet for 30 s.
    Silenced,
    /// Seen by a named person, still true.
    Acknowledged,
    /// No longer true, but nobody acknowledged it.
    ResolvedUnacknowledged,
}

/// What an alert is about; worded by the page.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "cause", rename_all = "kebab-case")]
pub enum Cause {
    /// Past the latest time.
    Late,
    /// Past the overdue time.
    Overdue,
    /// The partner's five minutes ran out.
    PartnerOverdue {
        /// Who is still down.
        down: Vec<String>,
    },
    /// A diver lost contact.
    LostContact {
        /// With whom.
        with: Vec<String>,
    },
    /// A yellow buoy: treat as trouble.
    YellowBuoy,
    /// Past gas endurance: the tool proposes to declare the emergency.
    OutOfGas,
    /// A locator beacon is heard.
    Beacon {
        /// Its identity.
        identity: String,
        /// What it is.
        sort: BeaconSort,
        /// It says that it is being tested.
        test: bool,
    },
    /// A signal for help.
    Distress {
        /// Whose.
        names: Vec<String>,
    },
    /// Declared missing.
    Missing {
        /// Who.
        names: Vec<String>,
    },
    /// Statements differ.
    Unresolved {
        /// About whom.
        name: String,
    },
    /// An emergency was declared.
    Emergency {
        /// Why.
        reason: String,
    },
    /// Counts differ; recount.
    CountDiffers,
    /// Counts differ a second time.
    CountFailed {
        /// At a site the emergency plan opens; at the quay the departure stays closed.
        at_site: bool,
    },
    /// A closed trip has somebody out.
    Reopened,
    /// Nobody keeps the lookout while people are in the water.
    NoLookout,
    /// The lookout has been on watch for an hour.
    LookoutRelief {
        /// Who.
        name: String,
    },
    /// The current was last looked at more than an hour ago.
    CurrentOld,
    /// An event of a newer program stands here unread.
    Unread,
    /// Entries of a device are missing here.
    Gap,
}

impl Cause {
    /// A word for the cause: an acknowledgement silences only the cause it saw.
    #[must_use]
    pub fn word(&self) -> String {
        let people = |names: &[String]| names.join("+");
        match self {
            Self::Late => "late".into(),
            Self::Overdue => "overdue".into(),
            Self::PartnerOverdue { down } => format!("partner-overdue {}", people(down)),
            Self::LostContact { with } => format!("lost-contact {}", people(with)),
            Self::YellowBuoy => "yellow-buoy".into(),
            Self::OutOfGas => "out-of-gas".into(),
            Self::Beacon { test: false, .. } => "beacon".into(),
            Self::Beacon { test: true, .. } => "beacon-test".into(),
            Self::Distress { .. } => "distress".into(),
            Self::Missing { .. } => "missing".into(),
            Self::Unresolved { .. } => "unresolved".into(),
            Self::Emergency { .. } => "emergency".into(),
            Self::CountDiffers => "count-differs".into(),
            Self::CountFailed { .. } => "count-failed".into(),
            Self::Reopened => "reopened".into(),
            Self::NoLookout => "no-lookout".into(),
            Self::LookoutRelief { .. } => "lookout-relief".into(),
            Self::CurrentOld => "current-old".into(),
            Self::Unread => "unread".into(),
            Self::Gap => "gap".into(),
        }
    }

    /// How much it matters.
    #[must_use]
    pub fn priority(&self) -> Priority {
        match self {
            Self::Distress { .. } | Self::Missing { .. } | Self::Emergency { .. } => {
                Priority::Emergency
            }
            Self::Overdue
            | Self::PartnerOverdue { .. }
            | Self::LostContact { .. }
            | Self::YellowBuoy
            | Self::OutOfGas
            | Self::Beacon { test: false, .. }
            | Self::CountDiffers
            | Self::CountFailed { .. }
            | Self::Reopened => Priority::Alarm,
            Self::Late | Self::Unresolved { .. } => Priority::Warning,
            Self::NoLookout
            | Self::Beacon { test: true, .. }
            | Self::LookoutRelief { .. }
            | Self::CurrentOld
            | Self::Unread
            | Self::Gap => Priority::Caution,
        }
    }

    /// Whether the tool proposes to declare an emergency.
    #[must_use]
    pub fn proposes_emergency(&self) -> bool {
        matches!(
            self,
            Self::OutOfGas
                | Self::CountFailed { at_site: true }
                | Self::Overdue
                | Self::Beacon { test: false, .. }
        )
    }
}

/// Who acknowledged.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Acknowledged {
    /// The name.
    pub by: String,
    /// When.
    pub at: Timestamp,
}

/// An alert.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Alert {
    /// The situation.
    pub key: String,
    /// What is wrong.
    pub cause: Cause,
    /// How much it matters.
    pub priority: Priority,
    /// Where it is in its life.
    pub state: AlertState,
    /// Since when it holds.
    pub since: Timestamp,
    /// Until when it held, if it no longer does.
    pub until: Option<Timestamp>,
    /// Who acknowledged.
    pub acknowledged: Option<Acknowledged>,
    /// Until when it is quiet.
    pub quiet_until: Option<Timestamp>,
    /// The group it is about.
    pub group: Option<GroupId>,
    /// The person it is about.
    pub person: Option<PersonId>,
}

impl Alert {
    /// Whether it makes a sound at all.
    #[must_use]
    pub fn is_audible(&self) -> bool {
        self.state == AlertState::Active && self.priority < Priority::Caution
    }

    /// From when it sounds on deck phones; the helm sounds from the start.
    #[must_use]
    pub fn deck_from(&self) -> Timestamp {
        plus(self.since, DECK_AFTER)
    }

    /// From when it sounds at the desk.
    #[must_use]
    pub fn desk_from(&self) -> Timestamp {
        plus(self.since, DESK_AFTER)
    }

    pub(super) fn instants(&self) -> Vec<Timestamp> {
        let mut instants = vec![self.deck_from(), self.desk_from()];
        instants.extend(self.quiet_until);
        instants
    }
}

/// A situation at one cause, before its life is looked up in the log.
pub(super) struct Raised {
    pub(super) key: String,
    pub(super) cause: Cause,
    pub(super) since: Timestamp,
    pub(super) until: Option<Timestamp>,
    /// The events that raise it, where a word and not the time does.
    marks: Vec<Mark>,
    pub(super) group: Option<GroupId>,
    person: Option<PersonId>,
}

impl Raised {
    fn new(key: impl Into<String>, cause: Cause, since: Timestamp) -> Self {
        Self {
            key: key.into(),
            cause,
            since,
            until: None,
            marks: Vec::new(),
            group: None,
            person: None,
        }
    }

    /// Takes another person's plight into the same situation.
    fn join(&mut self, other: Self) {
        match (&mut self.cause, other.cause) {
            (Cause::Distress { names }, Cause::Distress { names: more })
            | (Cause::Missing { names }, Cause::Missing { names: more }) => names.extend(more),
            _ => {}
        }
        self.since = self.since.min(other.since);
        self.until = self.until.max(other.until);
        self.marks.extend(other.marks);
        self.person = self.person.filter(|person| Some(*person) == other.person);
    }

    /// Whether who acknowledged or silenced had this very situation before him. A word is
    /// known or not, whatever the clocks say; an instant was reached or not.
    pub(super) fn was_heard(&self, heard: &Heard) -> bool {
        let word = self.cause.word();
        let kind = |word: &str| word.split(' ').next().map(ToOwned::to_owned);
        // Names fall away from a cause as people come up; that is no new cause.
        let loosely = self.until.is_some() || !self.marks.is_empty();
        let same = heard.cause == word || (loosely && kind(&heard.cause) == kind(&word));
        heard.alert == self.key
            && same
            && if self.marks.is_empty() {
                heard.at >= self.since
            } else {
                self.marks.iter().all(|mark| heard.author.saw(*mark))
            }
    }
}

/// The alerts of a trip at `now`, worst first, one for each situation.
#[must_use]
pub fn alerts(state: &State, now: Timestamp) -> Vec<Alert> {
    let mut raised = Vec::new();
    of_people(state, &mut raised);
    of_counts(state, &mut raised);
    of_watch(state, now, &mut raised);
    of_beacons(state, now, &mut raised);
    let mut alerts: Vec<Alert> = raised
        .into_iter()
        .filter_map(|raised| alive(state, raised, now))
        .collect();
    alerts.extend(
        state
            .groups
            .values()
            .filter_map(|g| of_group(state, g, now)),
    );
    alerts.sort_by(|a, b| {
        (
            a.state == AlertState::ResolvedUnacknowledged,
            a.priority,
            a.state == AlertState::Acknowledged,
            a.since,
            &a.key,
        )
            .cmp(&(
                b.state == AlertState::ResolvedUnacknowledged,
                b.priority,
                b.state == AlertState::Acknowledged,
                b.since,
                &b.key,
            ))
    });
    // One of a group is out of a plight that another is still in: the situation holds.
    let mut told = BTreeSet::new();
    alerts.retain(|alert| told.insert(alert.key.clone()));
    alerts
}

/// Everything that is or was the matter up to `now`, whoever heard of it.
pub(super) fn raised(state: &State, now: Timestamp) -> Vec<Raised> {
    let mut raised = Vec::new();
    of_people(state, &mut raised);
    of_counts(state, &mut raised);
    of_watch(state, now, &mut raised);
    of_beacons(state, now, &mut raised);
    let groups = state.groups.values();
    raised.extend(groups.flat_map(|group| causes_of_group(state, group, now)));
    raised
}

fn alive(state: &State, raised: Raised, now: Timestamp) -> Option<Alert> {
    let acknowledged = state
        .acknowledged
        .iter()
        .find(|ack| raised.was_heard(ack))
        .map(|ack| Acknowledged {
            by: ack.by.clone(),
            at: ack.at,
        });
    let quiet_until = state
        .silenced
        .iter()
        .filter(|quiet| raised.was_heard(quiet))
        .map(|quiet| plus(quiet.at, QUIET))
        .max()
        .filter(|until| *until > now);
    let life = match (raised.until, &acknowledged, quiet_until) {
        (Some(_), Some(_), _) => return None,
        (Some(_), None, _) => AlertState::ResolvedUnacknowledged,
        (None, Some(_), _) => AlertState::Acknowledged,
        (None, None, Some(_)) => AlertState::Silenced,
        (None, None, None) => AlertState::Active,
    };
    // A caution that is no longer true is gone: it asked for nothing but awareness.
    if life == AlertState::ResolvedUnacknowledged && raised.cause.priority() == Priority::Caution {
        return None;
    }
    Some(Alert {
        priority: raised.cause.priority(),
        key: raised.key,
        cause: raised.cause,
        state: life,
        since: raised.since,
        until: raised.until,
        acknowledged,
        quiet_until,
        group: raised.group,
        person: raised.person,
    })
}

/// The one alert of a group: what holds before what held, the gravest first, and of equals
/// what nobody has acknowledged, then the newest. So acknowledging one cause never hides
/// another that nobody has heard.
fn of_group(state: &State, group: &Group, now: Timestamp) -> Option<Alert> {
    causes(state, group, now).into_iter().min_by_key(|alert| {
        (
            alert.until.is_some(),
            alert.priority,
            alert.acknowledged.is_some(),
            std::cmp::Reverse(alert.since),
        )
    })
}

/// Every cause of a group's one alert that is not gone, each with its own life.
pub(crate) fn causes(state: &State, group: &Group, now: Timestamp) -> Vec<Alert> {
    causes_of_group(state, group, now)
        .into_iter()
        .map(|mut raised| {
            raised.group = Some(group.id);
            raised
        })
        .filter_map(|raised| alive(state, raised, now))
        .collect()
}

fn causes_of_group(state: &State, group: &Group, now: Timestamp) -> Vec<Raised> {
    let Some(deadlines) = deadlines(state, group) else {
        return Vec::new();
    };
    let key = group_key(group.id);
    let up_at = last_up(state, group);
    let still_down = down_ids(state, group);
    let mut causes = Vec::new();
    let mut add = |cause, since, until, marks| {
        let mut raised = Raised::new(key.clone(), cause, since);
        raised.until = until;
        raised.marks = marks;
        causes.push(raised);
    };
    let reached = [
        (Cause::OutOfGas, deadlines.endurance),
        (Cause::Overdue, deadlines.overdue),
        (Cause::Late, deadlines.latest),
    ]
    .into_iter()
    .find(|(_, at)| up_at.map_or(*at <= now, |up| *at < up && *at <= now));
    if let Some((cause, at)) = reached {
        add(cause, at, up_at, Vec::new());
    }
    let names = |ids: &BTreeSet<PersonId>| ids.iter().map(|p| name(state, *p)).collect();
    for PartnerClock { down, until, .. } in partner_clocks(state, group) {
        if until <= now {
            let down = names(&down);
            add(Cause::PartnerOverdue { down }, until, None, Vec::new());
        }
    }
    for (PartnerClock { down, until, .. }, ended) in past_partner_clocks(state, group) {
        let down = names(&down);
        add(
            Cause::PartnerOverdue { down },
            until,
            Some(ended),
            Vec::new(),
        );
    }
    for word in &group.lost_contact {
        let with = concerned(group, word);
        let (down, up): (Vec<&Person>, Vec<&Person>) = with
            .iter()
            .filter_map(|id| state.people.get(id))
            .partition(|p| still_down.contains(&p.id));
        let spoken = |people: &[&Person]| people.iter().map(|p| p.card.name.clone()).collect();
        let marks = vec![word.mark];
        if down.is_empty() {
            let until = up.iter().map(|p| surfaced_at(p, group)).max();
            let with = spoken(&up);
            // Contact lost and found again before it was said: still nobody has heard of it.
            let until = until.map(|at| at.max(word.at));
            add(
                Cause::LostContact { with },
                word.at,
                until.or(Some(word.at)),
                marks,
            );
        } else {
            let with = spoken(&down);
            add(Cause::LostContact { with }, word.at, None, marks);
        }
    }
    let yellow: Vec<&Sighting> = group
        .sightings
        .iter()
        .filter(|s| matches!(s.what, Seen::Buoy(BuoyColour::Yellow)))
        .collect();
    if let Some(since) = yellow.iter().map(|s| s.at).max() {
        let marks = yellow.iter().map(|s| s.mark).collect();
        let until = up_at.map(|at| at.max(since));
        add(Cause::YellowBuoy, since, until, marks);
    }
    causes
}

/// When the last member of a group came up, once all are up.
fn last_up(state: &State, group: &Group) -> Option<Timestamp> {
    group.drop.as_ref()?;
    if !state.down_of(group).is_empty() {
        return None;
    }
    state.members(group).map(|p| surfaced_at(p, group)).max()
}

fn of_people(state: &State, raised: &mut Vec<Raised>) {
    let mut of_persons = Vec::new();
    for person in state.people.values() {
        of_person(person, &mut of_persons);
    }
    for alert in of_persons {
        match raised
            .iter_mut()
            .find(|r| r.key == alert.key && r.until.is_some() == alert.until.is_some())
        {
            Some(same) => same.join(alert),
            None => raised.push(alert),
        }
    }
    let emergency = match (&state.emergency, &state.emergency_over) {
        (Some(stands), _) => Some((&stands.declared, None, stands.marks.clone())),
        (None, Some(over)) => Some((&over.declared, Some(over.until), vec![over.mark])),
        (None, None) => None,
    };
    if let Some((declared, until, marks)) = emergency {
        let reason = declared.what.clone();
        let mut alert = Raised::new("emergency", Cause::Emergency { reason }, declared.at);
        alert.until = until;
        alert.marks = marks;
        raised.push(alert);
    }
    if state.reopened {
        let since = state
            .not_accounted()
            .map(|p| p.since)
            .max()
            .unwrap_or(Timestamp::UNIX_EPOCH);
        raised.push(Raised::new("reopened", Cause::Reopened, since));
    }
}

/// What holds of a person, each plight on its own: that another word differs ends no distress
/// and finds nobody.
fn of_person(person: &Person, raised: &mut Vec<Raised>) {
    let mut add = |trouble, since, until, marks| {
        let name = person.card.name.clone();
        let (word, cause) = match trouble {
            Trouble::Distress => ("distress", Cause::Distress { names: vec![name] }),
            Trouble::Missing => ("missing", Cause::Missing { names: vec![name] }),
            Trouble::Unresolved => ("unresolved", Cause::Unresolved { name }),
        };
        // A group in distress is one situation, whoever of it signals; a doubt is about one person.
        let group = person.dives.values().rev().find_map(|dive| dive.group);
        let key = match (trouble, group) {
            (Trouble::Distress | Trouble::Missing, Some(group)) => format!("{word}:{group}"),
            _ => format!("{word}:{}", person.id),
        };
        let mut alert = Raised::new(key, cause, since);
        alert.until = until;
        alert.marks = marks;
        alert.person = Some(person.id);
        alert.group = group;
        raised.push(alert);
    };
    let mut stands = |trouble, is: &dyn Fn(&Statement) -> bool| {
        let of: Vec<&Statement> = person.statements.iter().filter(|s| is(s)).collect();
        let since = of.iter().map(|s| s.at).max().unwrap_or(person.since);
        add(trouble, since, None, of.iter().map(|s| s.mark).collect());
    };
    if person.distress {
        stands(Trouble::Distress, &|s| s.signal == Some(Signal::Help));
    }
    if person.said_missing() {
        stands(Trouble::Missing, &|s| s.place == Place::Missing);
    } else if person.place == Place::Unresolved {
        stands(Trouble::Unresolved, &|_| true);
    }
    for past in &person.past {
        add(
            past.trouble,
            past.since,
            Some(past.until),
            past.marks.clone(),
        );
    }
}

fn of_counts(state: &State, raised: &mut Vec<Raised>) {
    for point in [Point::Departure, Point::Leaving, Point::Return] {
        let dive = state.dive_of(point);
        let last = state
            .calls
            .iter()
            .rfind(|c| c.point == point && c.dive == dive);
        let Some(call) = last else { continue };
        let passed = match point {
            Point::Departure => state.phase != Phase::AtQuay,
            Point::Leaving => state.phase != Phase::OnSite,
            Point::Return => state.phase == Phase::Closed,
        };
        let Some(cause) = cause_of_call(call.outcome(), point) else {
            continue;
        };
        let Some(since) = call.last_at().filter(|_| !passed) else {
            continue;
        };
        raised.push(Raised::new(call.alert_key(), cause, since));
    }
}

/// What is the matter with a count, if anything is.
pub(super) fn cause_of_call(outcome: Outcome, point: Point) -> Option<Cause> {
    match outcome {
        Outcome::Failed => Some(Cause::CountFailed {
            at_site: point == Point::Leaving,
        }),
        Outcome::Open { round: 2 } => Some(Cause::CountDiffers),
        Outcome::Open { .. } | Outcome::Agreed { .. } => None,
    }
}

/// Since when anybody has been in the water without a break, roughly: the earliest entry of
/// those still out.
fn out_since(state: &State) -> Option<Timestamp> {
    state
        .groups_out()
        .filter_map(|g| g.drop.as_ref().map(|d| d.at))
        .chain(state.swimmers().map(|p| p.since))
        .min()
}

fn of_watch(state: &State, now: Timestamp, raised: &mut Vec<Raised>) {
    if let Some(since) = out_since(state) {
        match &state.lookout {
            None => raised.push(Raised::new("lookout", Cause::NoLookout, since)),
            Some(lookout) if plus(lookout.since, WATCH_LENGTH) <= now => {
                let cause = Cause::LookoutRelief {
                    name: lookout.name.clone(),
                };
                raised.push(Raised::new(
                    "lookout",
                    cause,
                    plus(lookout.since, WATCH_LENGTH),
                ));
            }
            Some(_) => {}
        }
        if let Some(current) = state.conditions.current()
            && plus(current.at, CURRENT_COUNTS) <= now
        {
            raised.push(Raised::new(
                "current",
                Cause::CurrentOld,
                plus(current.at, CURRENT_COUNTS),
            ));
        }
    }
    if let Some(unread) = state.unread.first() {
        raised.push(Raised::new("unread", Cause::Unread, unread.at));
    }
    if !state.gaps.is_empty() {
        let since = state.last_recorded.unwrap_or(now);
        raised.push(Raised::new("gap", Cause::Gap, since));
    }
}

/// Who a beacon belongs to is not known: each that calls for help is a situation of its own, until
/// the skipper says that it is nobody's here. A test fades by itself.
fn of_beacons(state: &State, now: Timestamp, raised: &mut Vec<Raised>) {
    for (identity, beacon) in &state.beacons {
        let test = !beacon.is_active;
        if beacon.dismissed.is_some() || (test && beacon.test_fades_at() <= now) {
            continue;
        }
        let (identity, sort) = (identity.clone(), beacon.sort);
        let key = beacon_key(&identity);
        let cause = Cause::Beacon {
            identity,
            sort,
            test,
        };
        let mut alert = Raised::new(key, cause, beacon.since);
        alert.marks = vec![beacon.mark];
        raised.push(alert);
    }
}

/// The alert key of a beacon.
pub(super) fn beacon_key(identity: &str) -> String {
    format!("beacon:{identity}")
}

/// Instants at which a condition that is not a deadline changes.
pub(super) fn standing_instants(state: &State) -> Vec<Timestamp> {
    let mut instants = Vec::new();
    instants.extend(state.lookout.as_ref().map(|l| plus(l.since, WATCH_LENGTH)));
    instants.extend(
        state
            .conditions
            .current()
            .map(|c| plus(c.at, CURRENT_COUNTS)),
    );
    instants.extend(state.command.offered.as_ref().map(Offer::until));
    let tests = state.beacons.values().filter(|beacon| !beacon.is_active);
    instants.extend(tests.map(Beacon::test_fades_at));
    instants
}
