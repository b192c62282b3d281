//! A group of a dive: who is in it, when it went in, by when it must be up, what was seen.

use std::collections::{BTreeMap, BTreeSet};

use jiff::{SignedDuration, Timestamp};
use serde::Serialize;

use super::knowledge::undominated;
use super::trip_facts::CURRENT_COUNTS;
use crate::sea::position::Position;
use crate::trip::event::{
    Bearing, BuoyColour, Entry, Event, EventId, Fact, GroupFormed, GroupId, Mark, Mode, Offsets,
    PersonId, PlanSheet, Signal, StopPlan,
};
use crate::units::{Depth, Minutes};

/// Five minutes from the first of a pair or three being up (common practice: signal for help
/// within five minutes; no code fixes it).
pub const PARTNER_CLOCK: SignedDuration = SignedDuration::from_mins(5);

/// A group as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// Identity.
    pub id: GroupId,
    /// The dive, from 1.
    pub dive: u32,
    /// How it is formed.
    pub formed: GroupFormed,
    /// Two crew formed it differently without knowing of each other.
    pub formed_apart: bool,
    /// The members formed, before anyone went in.
    pub planned: BTreeSet<PersonId>,
    /// Why it does not dive, if it does not.
    pub stood_down: Option<String>,
    /// The checks before the drop: who, when, and whether lights are recorded.
    pub checked: Option<Checked>,
    /// The drop, once it left the surface.
    pub drop: Option<Drop>,
    /// What was seen of it.
    pub sightings: Vec<Sighting>,
    /// Who said that the rest is well.
    pub others_well: Vec<Word>,
    /// Who lost contact.
    pub lost_contact: Vec<Word>,
}

/// A named diver's word about the rest of the group.
#[derive(Debug, Clone, PartialEq)]
pub struct Word {
    /// Whose.
    pub said_by: PersonId,
    /// About whom; everybody else of the group, if empty.
    pub about: BTreeSet<PersonId>,
    /// When.
    pub at: Timestamp,
    /// The event.
    pub event: EventId,
    /// Its mark.
    pub mark: Mark,
}

/// The checks before a drop.
#[derive(Debug, Clone, PartialEq)]
pub struct Checked {
    /// Who checked.
    pub by: String,
    /// When.
    pub at: Timestamp,
    /// Lights are recorded.
    pub lights: Option<bool>,
}

/// A group in the water.
#[derive(Debug, Clone, PartialEq)]
pub struct Drop {
    /// When it left the surface, the earliest stated.
    pub at: Timestamp,
    /// Where.
    pub place: Option<Position>,
    /// Deadlines as offsets from `at`, as frozen: the earliest of all stated.
    pub window: Offsets,
    /// Stops that the plan owed at the drop, deepest first: the longest list stated.
    pub owes: Vec<StopPlan>,
    /// More time granted, minutes.
    pub granted_min: f64,
    /// Extensions that do not count, as their author did not know of a recall or of another.
    pub ignored_extensions: u32,
    /// Who went in.
    pub members: BTreeSet<PersonId>,
    /// The strongest drift observed that bears on this drop, knots: what was seen in the hour
    /// before it and since. A slower current seen later moves no deadline back.
    pub strongest_drift_kn: Option<f64>,
}

impl Drop {
    /// Deadlines as instants, with the time granted; never past gas endurance.
    #[must_use]
    pub fn deadlines(&self) -> Deadlines {
        let after = |s: u32| plus(self.at, SignedDuration::from_secs(i64::from(s)));
        let granted = minutes(self.granted_min);
        let endurance = after(self.window.endurance_s);
        let later = |s: u32| {
            plus(after(s), granted)
                .min(endurance)
                .max(after(s).min(endurance))
        };
        Deadlines {
            earliest: after(self.window.earliest_s),
            expected: later(self.window.expected_s),
            latest: later(self.window.latest_s),
            overdue: later(self.window.overdue_s),
            endurance,
        }
    }
}

/// By when a group must be up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Deadlines {
    /// Earliest surfacing.
    pub earliest: Timestamp,
    /// Expected: due from here.
    pub expected: Timestamp,
    /// Latest: late from here.
    pub latest: Timestamp,
    /// Overdue from here.
    pub overdue: Timestamp,
    /// Out of gas from here, whoever breathes slowest.
    pub endurance: Timestamp,
}

impl Deadlines {
    /// The same, brought forward where `other` is earlier. Nothing moves back here.
    #[must_use]
    pub fn brought_forward(self, other: Self) -> Self {
        Self {
            earliest: self.earliest.min(other.earliest),
            expected: self.expected.min(other.expected),
            latest: self.latest.min(other.latest),
            overdue: self.overdue.min(other.overdue),
            endurance: self.endurance.min(other.endurance),
        }
    }
}

/// Something seen of a group at the surface.
#[derive(Debug, Clone, PartialEq)]
pub struct Sighting {
    /// The event.
    pub event: EventId,
    /// Its mark.
    pub mark: Mark,
    /// When.
    pub at: Timestamp,
    /// Who saw it.
    pub by: String,
    /// Where, if known.
    pub place: Option<Position>,
    /// As taken from the boat.
    pub from_boat: Option<Bearing>,
    /// What.
    pub what: Seen,
}

/// What was seen.
#[derive(Debug, Clone, PartialEq)]
pub enum Seen {
    /// A buoy: nobody is counted by it.
    Buoy(BuoyColour),
    /// These people, with a signal.
    Heads(BTreeSet<PersonId>, Signal),
}

impl Group {
    /// A group that was just formed: nothing checked, nobody in.
    pub(crate) fn planned(
        id: GroupId,
        dive: u32,
        formed: GroupFormed,
        planned: BTreeSet<PersonId>,
    ) -> Self {
        Self {
            id,
            dive,
            formed,
            formed_apart: false,
            planned,
            stood_down: None,
            checked: None,
            drop: None,
            sightings: Vec::new(),
            others_well: Vec::new(),
            lost_contact: Vec::new(),
        }
    }

    /// Who is or was in the water with it; before the drop, who is meant to go.
    #[must_use]
    pub fn members(&self) -> &BTreeSet<PersonId> {
        self.drop
            .as_ref()
            .map_or(&self.planned, |drop| &drop.members)
    }

    /// Pairs and threes of those who went in; who is in none makes a unit alone.
    #[must_use]
    pub fn units(&self) -> Vec<BTreeSet<PersonId>> {
        let members = self.members();
        let mut units: Vec<BTreeSet<PersonId>> = self
            .formed
            .units
            .iter()
            .map(|unit| {
                unit.iter()
                    .filter(|p| members.contains(p))
                    .copied()
                    .collect()
            })
            .filter(|unit: &BTreeSet<PersonId>| !unit.is_empty())
            .collect();
        let paired: BTreeSet<PersonId> = units.iter().flatten().copied().collect();
        units.extend(members.difference(&paired).map(|p| BTreeSet::from([*p])));
        units
    }
}

/// What is said of the trip as a whole and bears on every group.
pub(super) struct Around<'a> {
    recalls: Vec<&'a Entry>,
    /// Drifts observed, in knots, in order of time.
    drifts: Vec<(Timestamp, f64)>,
}

impl<'a> Around<'a> {
    pub(super) fn of(effective: &[&'a Entry]) -> Self {
        let drift = |e: &Entry| match &e.event.fact {
            Fact::ConditionsObserved(seen) => {
                Some((e.time(), seen.set_deg.and(seen.drift_kn)?.kn()))
            }
            _ => None,
        };
        Self {
            recalls: of(effective, |f| matches!(f, Fact::RecallSounded(_))),
            drifts: effective.iter().filter_map(|e| drift(e)).collect(),
        }
    }

    /// What else is observed, or heard of late, can only make this stronger.
    fn strongest_drift(&self, entered: Timestamp) -> Option<f64> {
        let from = plus(entered, -CURRENT_COUNTS);
        self.drifts
            .iter()
            .filter(|(at, _)| *at >= from)
            .map(|(_, kn)| *kn)
            .reduce(f64::max)
    }
}

/// Folds what is said about one group.
pub(super) fn fold(id: GroupId, said: &[&Entry], around: &Around<'_>) -> Option<Group> {
    let forming = of(said, |f| {
        matches!(f, Fact::GroupFormed(_) | Fact::GroupStoodDown(_))
    });
    let standing = undominated(&forming);
    let heads: Vec<(&Entry, &GroupFormed)> = standing
        .iter()
        .filter_map(|e| match &e.event.fact {
            Fact::GroupFormed(formed) => Some((*e, formed)),
            _ => None,
        })
        .collect();
    let stood_down = standing.iter().find_map(|e| match &e.event.fact {
        Fact::GroupStoodDown(down) => Some(down.reason.clone()),
        _ => None,
    });
    let last_formed = forming.iter().rev().find_map(|e| match &e.event.fact {
        Fact::GroupFormed(formed) => Some((*e, formed)),
        _ => None,
    });
    let drop = drop_of(said, around);
    // Two crew formed the group apart: its members are all that either named.
    let planned = heads
        .iter()
        .flat_map(|(_, f)| f.units.iter().flatten().copied())
        .collect();
    let (dive, mut formed) = match (heads.first().copied().or(last_formed), &drop) {
        (Some((entry, formed)), _) => (entry.event.about.dive, formed.clone()),
        // Somebody saw it going in; how it is formed is not known here (yet, or any more).
        (None, Some(drop)) => (
            said.iter().filter_map(|e| e.event.about.dive).max(),
            not_known(drop)?,
        ),
        (None, None) => return None,
    };
    for (_, other) in heads.iter().skip(1) {
        for (person, kit) in &other.kit {
            formed.kit.entry(*person).or_insert_with(|| kit.clone());
        }
    }
    Some(Group {
        id,
        dive: dive.unwrap_or(1),
        formed_apart: heads.len() > 1,
        formed,
        planned,
        // A group that somebody saw going in does dive, whatever was planned.
        stood_down: if heads.is_empty() && drop.is_none() {
            stood_down
        } else {
            None
        },
        checked: checked(said),
        drop,
        sightings: sightings(said),
        others_well: words(said, |f| match f {
            Fact::OthersWell(well) => Some(well.said_by),
            _ => None,
        }),
        lost_contact: words(said, |f| match f {
            Fact::LostContact(lost) => Some(lost.said_by),
            _ => None,
        }),
    })
}

/// A group of which nothing is known but that it went in: all of it counts as one unit, so that
/// the partner's clock runs as soon as one of it is up.
fn not_known(drop: &Drop) -> Option<GroupFormed> {
    let stop = StopPlan {
        depth_m: Depth::from_m(5.0).ok()?,
        minutes: Minutes::from_min(3.0).ok()?,
    };
    Some(GroupFormed {
        letter: "?".into(),
        leader: None,
        units: vec![drop.members.iter().copied().collect()],
        plan: PlanSheet {
            levels: Vec::new(),
            safety_stop: stop,
            run_time_min: f64::from(drop.window.expected_s) / 60.0,
        },
        mode: Mode::Drift,
        exit_zone: None,
        entry_place: drop.place,
        kit: BTreeMap::new(),
        limit_override: None,
        enters_at: None,
    })
}

fn of<'a>(said: &[&'a Entry], is: impl Fn(&Fact) -> bool) -> Vec<&'a Entry> {
    said.iter().filter(|e| is(&e.event.fact)).copied().collect()
}

/// The last checks, if they passed: the engine in neutral and the flag shown.
fn checked(said: &[&Entry]) -> Option<Checked> {
    let (entry, check) = said.iter().rev().find_map(|e| match &e.event.fact {
        Fact::DropChecked(check) => Some((e, check)),
        _ => None,
    })?;
    (check.engine_neutral && check.flag_shown).then(|| Checked {
        by: entry.event.by.name.clone(),
        at: entry.time(),
        lights: check.lights,
    })
}

fn words(said: &[&Entry], by: impl Fn(&Fact) -> Option<PersonId>) -> Vec<Word> {
    said.iter()
        .filter_map(|e| {
            let said_by = by(&e.event.fact)?;
            let about = e.event.about.persons.clone();
            Some(Word {
                said_by,
                about,
                at: e.time(),
                event: e.event.id,
                mark: e.event.mark(),
            })
        })
        .collect()
}

fn sightings(said: &[&Entry]) -> Vec<Sighting> {
    said.iter()
        .filter_map(|e| {
            let (place, from_boat, what) = match &e.event.fact {
                Fact::BuoySeen(buoy) => {
                    (buoy.place, buoy.from_boat.clone(), Seen::Buoy(buoy.colour))
                }
                Fact::AtSurface(seen) => {
                    let heads = Seen::Heads(e.event.about.persons.clone(), seen.signal);
                    (seen.place, seen.from_boat.clone(), heads)
                }
                _ => return None,
            };
            let by = e.event.by.name.clone();
            Some(Sighting {
                event: e.event.id,
                mark: e.event.mark(),
                at: e.time(),
                by,
                place,
                from_boat,
                what,
            })
        })
        .collect()
}

/// Every statement that the group left the surface counts together: the earliest time, the
/// earliest of each deadline, the union of the members.
fn drop_of(said: &[&Entry], around: &Around<'_>) -> Option<Drop> {
    let drops = of(said, |f| matches!(f, Fact::LeftSurface(_)));
    let at = drops.iter().map(|e| e.time()).min()?;
    let mut place = None;
    let mut deadlines: Option<[Timestamp; 5]> = None;
    let mut members = BTreeSet::new();
    let mut owes: Vec<StopPlan> = Vec::new();
    let sum_min = |stops: &[StopPlan]| -> f64 { stops.iter().map(|s| s.minutes.min()).sum() };
    for entry in &drops {
        let Fact::LeftSurface(left) = &entry.event.fact else {
            continue;
        };
        if sum_min(&left.owes) > sum_min(&owes) {
            owes.clone_from(&left.owes);
        }
        members.extend(entry.event.about.persons.iter().copied());
        place = place.or(left.place);
        let w = &left.window;
        let stated = [
            w.earliest_s,
            w.expected_s,
            w.latest_s,
            w.overdue_s,
            w.endurance_s,
        ]
        .map(|s| plus(entry.time(), SignedDuration::from_secs(i64::from(s))));
        deadlines = Some(deadlines.map_or(stated, |known| earliest_of(known, stated)));
    }
    let [earliest_s, expected_s, latest_s, overdue_s, endurance_s] =
        deadlines?.map(|d| u32::try_from(d.duration_since(at).as_secs()).unwrap_or(0));
    let window = Offsets {
        earliest_s,
        expected_s,
        latest_s,
        overdue_s,
        endurance_s,
    };
    let overdue = plus(at, SignedDuration::from_secs(i64::from(window.overdue_s)));
    let (granted_min, ignored_extensions) = granted(said, &around.recalls, overdue);
    Some(Drop {
        at,
        place,
        window,
        owes,
        granted_min,
        ignored_extensions,
        members,
        strongest_drift_kn: around.strongest_drift(at),
    })
}

fn earliest_of(a: [Timestamp; 5], b: [Timestamp; 5]) -> [Timestamp; 5] {
    let [a0, a1, a2, a3, a4] = a;
    let [b0, b1, b2, b3, b4] = b;
    [a0.min(b0), a1.min(b1), a2.min(b2), a3.min(b3), a4.min(b4)]
}

/// Minutes granted. An extension counts if its author saw what was granted before it and no
/// recall was sounded apart from it; of several made apart, the shortest. One that was made
/// before the group was overdue but came after is too late: the alarm stands until somebody who
/// sees it repeats the extension.
fn granted(said: &[&Entry], recalls: &[&Entry], overdue: Timestamp) -> (f64, u32) {
    let mut by_seen: BTreeMap<u64, Vec<(&Entry, f64)>> = BTreeMap::new();
    let mut all = 0_u32;
    for entry in said {
        let Fact::MoreTime(more) = &entry.event.fact else {
            continue;
        };
        all += 1;
        if recalls
            .iter()
            .any(|recall| apart(&entry.event, &recall.event))
        {
            continue;
        }
        by_seen
            .entry(tenths(more.granted_before_min))
            .or_default()
            .push((entry, more.minutes.min()));
    }
    let mut total = 0.0;
    let mut counted = 0;
    while let Some(offered) = by_seen.remove(&tenths(total)) {
        let overdue = plus(overdue, minutes(total));
        let in_time = |entry: &Entry| {
            entry.receipt.recorded_at < overdue || entry.receipt.made_at() >= overdue
        };
        let shortest = offered
            .into_iter()
            .filter(|(entry, _)| in_time(entry))
            .map(|(_, minutes)| minutes)
            .reduce(f64::min);
        let Some(shortest) = shortest else { break };
        total += shortest;
        counted += 1;
    }
    (total, all - counted)
}

fn minutes(minutes: f64) -> SignedDuration {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "minutes are bounded by the door"
    )]
    SignedDuration::from_secs((minutes * 60.0).round() as i64)
}

/// Neither author knew of the other's act; claims to have known each other both count for
/// nothing.
fn apart(a: &Event, b: &Event) -> bool {
    a.knew(b) == b.knew(a)
}

/// Granted minutes as a key: tenths, so that sums compare.
fn tenths(minutes: f64) -> u64 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "0 to 1000 by the door"
    )]
    let tenths = (minutes * 10.0).round() as u64;
    tenths
}

/// `at` moved by `by`, held at the end of time rather than failing.
pub(crate) fn plus(at: Timestamp, by: SignedDuration) -> Timestamp {
    at.checked_add(by).unwrap_or(if by.is_negative() {
        Timestamp::MIN
    } else {
        Timestamp::MAX
    })
}
