//! One row of the watch list for each group: how it stands and why it stands where it does.

use std::collections::BTreeSet;

use jiff::{SignedDuration, Timestamp};
use serde::Serialize;

use super::{deadlines, minutes_between};
use crate::trip::dives::{ComingUp, coming_up};
use crate::trip::event::{BuoyColour, GroupId, PersonId, StopPlan};
use crate::trip::state::{
    Deadlines, Drop, Group, PARTNER_CLOCK, Person, Place, Seen, Sighting, State, Word, plus,
};

/// How a group stands, worst first: the order of the watch list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// Somebody signals for help.
    Distress,
    /// Somebody is missing.
    Missing,
    /// A diver lost contact with the rest.
    LostContact,
    /// Past gas endurance.
    OutOfGas,
    /// Past the overdue time.
    Overdue,
    /// A partner's five minutes ran out.
    PartnerOverdue,
    /// The statements about somebody differ.
    Unresolved,
    /// Past the latest time.
    Late,
    /// Part of a pair is up, the clock runs.
    PartnerClock,
    /// Some or all are at the surface, to be fetched.
    AtSurface,
    /// A buoy is up, nobody seen.
    BuoyUp,
    /// Past the expected time.
    Due,
    /// Past the earliest time.
    InWindow,
    /// In the water.
    InWater,
    /// Checked, about to drop.
    Ready,
    /// Formed.
    Planned,
    /// Everybody is accounted for.
    Back,
}

/// Why a row stands where it does; worded by the page.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "why", rename_all = "kebab-case")]
pub enum Why {
    /// These people signal for help.
    Distress {
        /// Names.
        names: Vec<String>,
    },
    /// These people are declared missing.
    Missing {
        /// Names.
        names: Vec<String>,
    },
    /// Contact lost.
    LostContact {
        /// Who says so.
        said_by: String,
        /// With whom.
        with: Vec<String>,
    },
    /// Nobody can have gas left.
    OutOfGas {
        /// Minutes since.
        minutes: i64,
    },
    /// Overdue.
    Overdue {
        /// Minutes since.
        minutes: i64,
    },
    /// Late.
    Late {
        /// Minutes since.
        minutes: i64,
        /// Minutes until overdue.
        overdue_in: i64,
    },
    /// Part of a pair or three is up.
    PartnerUp {
        /// Who is up.
        up: Vec<String>,
        /// Who is not.
        down: Vec<String>,
        /// Minutes left on the clock; negative when it ran out.
        left: i64,
    },
    /// A named diver said that the rest is well.
    OthersWell {
        /// Who.
        said_by: String,
    },
    /// Statements differ.
    Unresolved {
        /// About whom.
        name: String,
        /// What each says: place, by whom, minutes ago.
        said: Vec<(Place, String, i64)>,
    },
    /// At the surface, to be fetched.
    AtSurface {
        /// How many.
        at_surface: usize,
        /// Of how many of the group.
        of: usize,
        /// Waiting for so many minutes.
        minutes: i64,
    },
    /// A buoy: hold off, nobody is counted by it.
    BuoyOnly {
        /// Minutes ago.
        minutes: i64,
    },
    /// A yellow buoy: treat as trouble.
    YellowBuoy,
    /// Due since.
    Due {
        /// Minutes since expected.
        minutes: i64,
    },
    /// Expected in.
    Expected {
        /// Minutes until.
        minutes: i64,
    },
    /// Could be up.
    InWindow {
        /// Minutes until expected.
        minutes: i64,
    },
    /// The deadline came forward, since the current carries a head out of sight sooner.
    CurrentShortens {
        /// By so many minutes.
        minutes: i64,
    },
    /// More time was given that does not count.
    ExtensionIgnored,
    /// Formed differently by two crew.
    FormedApart,
    /// More time was given.
    GivenMoreTime {
        /// Minutes.
        minutes: i64,
    },
}

impl Why {
    /// Whether whoever knows the group's deadlines and the time can say it alone.
    #[must_use]
    pub fn follows_from_deadlines(&self) -> bool {
        match self {
            Self::OutOfGas { .. }
            | Self::Overdue { .. }
            | Self::Late { .. }
            | Self::Due { .. }
            | Self::Expected { .. }
            | Self::InWindow { .. } => true,
            Self::Distress { .. }
            | Self::Missing { .. }
            | Self::LostContact { .. }
            | Self::PartnerUp { .. }
            | Self::OthersWell { .. }
            | Self::Unresolved { .. }
            | Self::AtSurface { .. }
            | Self::BuoyOnly { .. }
            | Self::YellowBuoy
            | Self::CurrentShortens { .. }
            | Self::ExtensionIgnored
            | Self::FormedApart
            | Self::GivenMoreTime { .. } => false,
        }
    }
}

/// A member in a row.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Member {
    /// Who.
    pub id: PersonId,
    /// Name.
    pub name: String,
    /// Where.
    pub place: Place,
    /// Signals for help.
    pub distress: bool,
    /// Since when.
    pub since: Timestamp,
    /// On which other vessel or place ashore.
    pub whither: Option<String>,
}

/// A row of the watch list.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Which group.
    pub group: GroupId,
    /// Its letter.
    pub letter: String,
    /// Of which dive.
    pub dive: u32,
    /// How it stands.
    pub standing: Standing,
    /// When it left the surface.
    pub entered_at: Option<Timestamp>,
    /// By when it must be up.
    pub deadlines: Option<Deadlines>,
    /// The next deadline, if any lies ahead.
    pub next: Option<Timestamp>,
    /// Minutes of its plan.
    pub run_time_min: f64,
    /// Its people.
    pub members: Vec<Member>,
    /// How many of them are up: at the surface or accounted for.
    pub up: usize,
    /// How many of them are at the surface.
    pub at_surface: usize,
    /// How many of them are aboard or confirmed elsewhere.
    pub accounted: usize,
    /// Minutes granted so far.
    pub granted_min: f64,
    /// Partner clocks that run or ran out, until when.
    pub partner_until: Option<Timestamp>,
    /// Why it stands here, the weightiest first.
    pub why: Vec<Why>,
    /// Stops that the plan owed at the drop, while members are down.
    pub owes: Vec<StopPlan>,
    /// What it would owe if it left the bottom only now; past its expected time.
    pub longer: Option<ComingUp>,
    /// When it can be up since the recall, the stops held; while members are down.
    pub recalled: Option<Recalled>,
}

/// What a recall brings of a group that was down.
#[derive(Debug, Clone, PartialEq)]
pub struct Recalled {
    /// When it was sounded. Whether anybody heard it is not known.
    pub at: Timestamp,
    /// The earliest that the group can be up, with its stops held.
    pub coming: ComingUp,
}

pub(super) fn rows(state: &State, now: Timestamp) -> Vec<Row> {
    let mut rows: Vec<Row> = state
        .groups
        .values()
        .filter(|g| g.stood_down.is_none())
        .filter(|g| {
            g.dive == state.dive.max(1) || (g.drop.is_some() && !state.out_of(g).is_empty())
        })
        .map(|g| row(state, g, now))
        .collect();
    rows.sort_by(|a, b| {
        let key = |r: &Row| {
            (
                r.standing,
                r.next.or(r.entered_at),
                r.letter.clone(),
                r.group,
            )
        };
        key(a).cmp(&key(b))
    });
    rows
}

fn row(state: &State, group: &Group, now: Timestamp) -> Row {
    let members: Vec<&Person> = state.members(group).collect();
    let deadlines = deadlines(state, group);
    let clocks = partner_clocks(state, group);
    let out = state.out_of(group);
    let why = whys(state, group, &out, &clocks, deadlines, now);
    let went = group.drop.is_some();
    let is_down = !state.down_of(group).is_empty();
    let next = deadlines.filter(|_| is_down).and_then(|d| {
        let ahead = [d.expected, d.latest, d.overdue, d.endurance];
        ahead
            .into_iter()
            .chain(clocks.iter().map(|c| c.until))
            .filter(|at| *at > now)
            .min()
    });
    let counted = |is: fn(Place) -> bool| {
        if went {
            members.iter().filter(|p| is(p.place)).count()
        } else {
            0
        }
    };
    Row {
        group: group.id,
        letter: group.formed.letter.clone(),
        dive: group.dive,
        standing: standing(group, &out, &why, deadlines, now),
        entered_at: group.drop.as_ref().map(|d| d.at),
        deadlines,
        next,
        run_time_min: group.formed.plan.run_time_min,
        up: if went {
            members.iter().filter(|p| p.is_up()).count()
        } else {
            0
        },
        at_surface: counted(|p| p == Place::AtSurface),
        accounted: counted(Place::is_accounted),
        granted_min: group.drop.as_ref().map_or(0.0, |d| d.granted_min),
        partner_until: clocks.iter().map(|c| c.until).min(),
        members: members.into_iter().map(member).collect(),
        why,
        owes: group
            .drop
            .as_ref()
            .filter(|_| is_down)
            .map_or_else(Vec::new, |drop| drop.owes.clone()),
        // It may have left the bottom as planned; nobody can see that it has.
        longer: deadlines
            .filter(|d| is_down && now > d.expected)
            .and_then(|_| coming_up(state, group, now)),
        recalled: recalled(state, group),
    }
}

/// The earliest that a group can be up since the first recall of its dive after its drop.
/// `None` if nobody of it is down, or no recall was sounded.
#[must_use]
pub fn recalled(state: &State, group: &Group) -> Option<Recalled> {
    let drop = group.drop.as_ref()?;
    if state.down_of(group).is_empty() {
        return None;
    }
    let of_dive = state.recalls.iter().filter(|r| r.what == group.dive);
    let at = of_dive.map(|r| r.at).filter(|at| *at >= drop.at).min()?;
    Some(Recalled {
        at,
        coming: up_if_recalled(state, group, at)?,
    })
}

/// The earliest that a group is up if a recall is sounded at `at`, its stops held.
///
/// By its plan it may be on its way up when the recall comes: then it is up when it was
/// expected. Past the expected time nobody can know, and it counts as still at the bottom.
/// `None` for a group that is not in the water, or whose plan is not known.
#[must_use]
pub fn up_if_recalled(state: &State, group: &Group, at: Timestamp) -> Option<ComingUp> {
    let drop = group.drop.as_ref()?;
    let leaving = if at < deadlines(state, group)?.expected {
        at.min(leaves_bottom(group, drop))
    } else {
        at
    };
    coming_up(state, group, leaving)
}

/// When a group leaves the bottom by its plan, with the time granted.
fn leaves_bottom(group: &Group, drop: &Drop) -> Timestamp {
    let levels = group.formed.plan.levels.iter();
    let bottom_min: f64 = levels.map(|level| level.minutes.min()).sum();
    // Both are bounded by the doors; a span that cannot be is no reason to come up sooner.
    let bottom = SignedDuration::try_from_secs_f64((bottom_min + drop.granted_min) * 60.0);
    plus(drop.at, bottom.unwrap_or(SignedDuration::MAX))
}

fn member(person: &Person) -> Member {
    Member {
        id: person.id,
        name: person.card.name.clone(),
        place: person.place,
        distress: person.distress,
        since: person.since,
        whither: person
            .statements
            .iter()
            .rev()
            .find_map(|s| s.whither.clone()),
    }
}

fn standing(
    group: &Group,
    out: &[&Person],
    why: &[Why],
    deadlines: Option<Deadlines>,
    now: Timestamp,
) -> Standing {
    let Some(deadlines) = deadlines else {
        return if group.checked.is_some() {
            Standing::Ready
        } else {
            Standing::Planned
        };
    };
    if out.is_empty() {
        return Standing::Back;
    }
    let worst = why.iter().filter_map(|why| match why {
        Why::Distress { .. } => Some(Standing::Distress),
        Why::Missing { .. } => Some(Standing::Missing),
        Why::LostContact { .. } | Why::YellowBuoy => Some(Standing::LostContact),
        Why::OutOfGas { .. } => Some(Standing::OutOfGas),
        Why::Overdue { .. } => Some(Standing::Overdue),
        Why::PartnerUp { left, .. } if *left < 0 => Some(Standing::PartnerOverdue),
        Why::PartnerUp { .. } => Some(Standing::PartnerClock),
        Why::Unresolved { .. } => Some(Standing::Unresolved),
        Why::Late { .. } => Some(Standing::Late),
        Why::AtSurface { .. } => Some(Standing::AtSurface),
        Why::BuoyOnly { .. } => Some(Standing::BuoyUp),
        Why::Due { .. } => Some(Standing::Due),
        Why::InWindow { .. } => Some(Standing::InWindow),
        Why::OthersWell { .. }
        | Why::Expected { .. }
        | Why::CurrentShortens { .. }
        | Why::ExtensionIgnored
        | Why::FormedApart
        | Why::GivenMoreTime { .. } => None,
    });
    worst.min().unwrap_or(if now >= deadlines.earliest {
        Standing::InWindow
    } else {
        Standing::InWater
    })
}

fn whys(
    state: &State,
    group: &Group,
    out: &[&Person],
    clocks: &[PartnerClock],
    deadlines: Option<Deadlines>,
    now: Timestamp,
) -> Vec<Why> {
    let (Some(drop), Some(deadlines)) = (&group.drop, deadlines) else {
        return if group.formed_apart {
            vec![Why::FormedApart]
        } else {
            Vec::new()
        };
    };
    let mut why = Vec::new();
    if !out.is_empty() {
        of_people(state, group, out, now, &mut why);
        of_clocks(state, clocks, now, &mut why);
        let down = out.iter().any(|p| !p.is_up());
        if down {
            of_time(deadlines, now, &mut why);
        }
        of_surface(group, out, now, &mut why);
        let shortened = minutes_between(deadlines.overdue, drop.deadlines().overdue);
        if down && shortened > 0 {
            why.push(Why::CurrentShortens { minutes: shortened });
        }
        if let Some(well) = group.others_well.last() {
            why.push(Why::OthersWell {
                said_by: name(state, well.said_by),
            });
        }
        if drop.ignored_extensions > 0 {
            why.push(Why::ExtensionIgnored);
        }
        if drop.granted_min > 0.0 {
            #[expect(
                clippy::cast_possible_truncation,
                reason = "minutes bounded by the door"
            )]
            why.push(Why::GivenMoreTime {
                minutes: drop.granted_min.round() as i64,
            });
        }
    }
    if group.formed_apart {
        why.push(Why::FormedApart);
    }
    why
}

fn of_people(state: &State, group: &Group, out: &[&Person], now: Timestamp, why: &mut Vec<Why>) {
    let names = |is: &dyn Fn(&Person) -> bool| -> Vec<String> {
        out.iter()
            .filter(|p| is(p))
            .map(|p| p.card.name.clone())
            .collect()
    };
    let distress = names(&|p| p.distress);
    if !distress.is_empty() {
        why.push(Why::Distress { names: distress });
    }
    let missing = names(&Person::said_missing);
    if !missing.is_empty() {
        why.push(Why::Missing { names: missing });
    }
    let still_down = down_ids(state, group);
    for word in &group.lost_contact {
        let with: Vec<&Person> = concerned(group, word)
            .into_iter()
            .filter_map(|p| state.people.get(&p))
            .collect();
        let down: Vec<String> = with
            .iter()
            .filter(|p| still_down.contains(&p.id))
            .map(|p| p.card.name.clone())
            .collect();
        if !down.is_empty() {
            why.push(Why::LostContact {
                said_by: name(state, word.said_by),
                with: down,
            });
        }
    }
    for person in out.iter().filter(|p| p.place == Place::Unresolved) {
        let said = person
            .statements
            .iter()
            .map(|s| (s.place, s.by.clone(), minutes_between(s.at, now)))
            .collect();
        why.push(Why::Unresolved {
            name: person.card.name.clone(),
            said,
        });
    }
}

fn of_clocks(state: &State, clocks: &[PartnerClock], now: Timestamp, why: &mut Vec<Why>) {
    for clock in clocks {
        let names = |ids: &BTreeSet<PersonId>| ids.iter().map(|id| name(state, *id)).collect();
        let left = if now >= clock.until {
            -1
        } else {
            minutes_between(now, clock.until)
        };
        why.push(Why::PartnerUp {
            up: names(&clock.up),
            down: names(&clock.down),
            left,
        });
    }
}

fn of_time(d: Deadlines, now: Timestamp, why: &mut Vec<Why>) {
    if now >= d.endurance {
        why.push(Why::OutOfGas {
            minutes: minutes_between(d.endurance, now),
        });
    }
    if now >= d.overdue {
        why.push(Why::Overdue {
            minutes: minutes_between(d.overdue, now),
        });
    } else if now >= d.latest {
        let overdue_in = minutes_between(now, d.overdue);
        why.push(Why::Late {
            minutes: minutes_between(d.latest, now),
            overdue_in,
        });
    } else if now >= d.expected {
        why.push(Why::Due {
            minutes: minutes_between(d.expected, now),
        });
    } else if now >= d.earliest {
        why.push(Why::InWindow {
            minutes: minutes_between(now, d.expected),
        });
    } else {
        why.push(Why::Expected {
            minutes: minutes_between(now, d.expected),
        });
    }
}

fn of_surface(group: &Group, out: &[&Person], now: Timestamp, why: &mut Vec<Why>) {
    let at_surface: Vec<_> = out.iter().filter(|p| p.place == Place::AtSurface).collect();
    if let Some(first) = at_surface.iter().map(|p| p.since).min() {
        why.push(Why::AtSurface {
            at_surface: at_surface.len(),
            of: group.members().len(),
            minutes: minutes_between(first, now),
        });
    }
    // A buoy says that somebody is below; it counts nobody, and once heads are seen it is
    // theirs.
    let yellow = |s: &Sighting| matches!(s.what, Seen::Buoy(BuoyColour::Yellow));
    if group.sightings.iter().any(yellow) && out.iter().any(|p| !p.is_up()) {
        why.push(Why::YellowBuoy);
    }
    let last = group.sightings.iter().max_by_key(|s| s.at);
    if let Some(Seen::Buoy(_)) = last.map(|s| &s.what) {
        let at = last.map_or(now, |s| s.at);
        if at_surface.is_empty() {
            why.push(Why::BuoyOnly {
                minutes: minutes_between(at, now),
            });
        }
    }
}

/// Whom a word of a group is about: those it names, else everybody but the speaker.
pub(crate) fn concerned(group: &Group, word: &Word) -> BTreeSet<PersonId> {
    if word.about.is_empty() || word.about == BTreeSet::from([word.said_by]) {
        group
            .members()
            .iter()
            .filter(|p| **p != word.said_by)
            .copied()
            .collect()
    } else {
        word.about
            .iter()
            .filter(|p| **p != word.said_by)
            .copied()
            .collect()
    }
}

/// The five-minute clock of a pair or three of which part is up.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct PartnerClock {
    pub up: BTreeSet<PersonId>,
    pub down: BTreeSet<PersonId>,
    pub from: Timestamp,
    pub until: Timestamp,
}

/// Clocks that run or ran out. 'Others well', said by a named diver, stops the clock for those
/// it speaks of.
pub(super) fn partner_clocks(state: &State, group: &Group) -> Vec<PartnerClock> {
    if group.drop.is_none() {
        return Vec::new();
    }
    let person = |id: &PersonId| state.people.get(id);
    let still_down = down_ids(state, group);
    group
        .units()
        .into_iter()
        .filter_map(|unit| {
            let is_up = |id: &&PersonId| !still_down.contains(id);
            let up: BTreeSet<PersonId> = unit.iter().filter(is_up).copied().collect();
            let surfaced = |id: &PersonId| Some(surfaced_at(person(id)?, group));
            let from = up.iter().filter_map(surfaced).min()?;
            let well = well_since(group, from);
            let down: BTreeSet<PersonId> = unit
                .difference(&up)
                .filter(|id| !well.contains(id))
                .copied()
                .collect();
            if down.is_empty() {
                return None;
            }
            Some(PartnerClock {
                up,
                down,
                from,
                until: plus(from, PARTNER_CLOCK),
            })
        })
        .collect()
}

/// Who of a group is not up from its dive. Somebody who is down again on a later dive is up
/// from this one.
pub(super) fn down_ids(state: &State, group: &Group) -> BTreeSet<PersonId> {
    state.down_of(group).iter().map(|p| p.id).collect()
}

/// Of whom it was said that they are well, from an instant on: a word spoken before the first
/// of a pair came up says nothing of the one who then did not.
fn well_since(group: &Group, from: Timestamp) -> BTreeSet<PersonId> {
    group
        .others_well
        .iter()
        .filter(|word| word.at >= from)
        .flat_map(|word| concerned(group, word))
        .collect()
}

/// When somebody who is up came up from the dive of a group.
pub(crate) fn surfaced_at(person: &Person, group: &Group) -> Timestamp {
    let logged = person.dives.get(&group.dive).and_then(|d| d.surfaced_at);
    logged.unwrap_or(person.since)
}

/// Clocks that ran out before the partner came up, of pairs and threes of which all are up by
/// now.
pub(super) fn past_partner_clocks(state: &State, group: &Group) -> Vec<(PartnerClock, Timestamp)> {
    if group.drop.is_none() {
        return Vec::new();
    }
    let still_down = down_ids(state, group);
    let past = |unit: BTreeSet<PersonId>| {
        let came_up: Option<Vec<(PersonId, Timestamp)>> = unit
            .iter()
            .map(|id| {
                let person = state.people.get(id)?;
                if still_down.contains(id) {
                    return None;
                }
                Some((*id, surfaced_at(person, group)))
            })
            .collect();
        let came_up = came_up?;
        let from = came_up.iter().map(|(_, at)| *at).min()?;
        let ended = came_up.iter().map(|(_, at)| *at).max()?;
        let until = plus(from, PARTNER_CLOCK);
        let well = well_since(group, from);
        let (down, up): (BTreeSet<_>, BTreeSet<_>) = unit.iter().partition(|id| {
            !well.contains(id) && came_up.iter().any(|(of, at)| of == *id && *at > until)
        });
        let clock = PartnerClock {
            up,
            down,
            from,
            until,
        };
        (!clock.down.is_empty()).then_some((clock, ended))
    };
    group.units().into_iter().filter_map(past).collect()
}

pub(super) fn name(state: &State, id: PersonId) -> String {
    state
        .people
        .get(&id)
        .map_or_else(|| id.to_string(), |p| p.card.name.clone())
}
