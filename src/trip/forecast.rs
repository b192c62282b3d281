//! What the trip expects: the window of a group about to drop, and the pickup order.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;

use super::dives;
use super::event::{
    ApproachSide, BoatSheet, Fitness, GroupFormed, LevelPlan, Mode, Offsets, PersonId, PlanSheet,
    StopPlan,
};
use super::ground::{Grounds, Sea};
use super::likely::{Basis, Likely, expected_at, likely_at};
use super::pickup::{self, Answer, Approach, Boat, Instance, Urgency, Water};
use super::state::{Group, Person, Place, State};
use super::watch::{self, Row, Standing};
use super::waters::Waters;
use crate::dive::gas::{self, Supply};
use crate::dive::plan::Stop;
use crate::dive::window::{Light, window};
use crate::sea::daylight::{is_night, last_sunset};
use crate::sea::drift::Adrift;
use crate::sea::position::Position;
use crate::units::{Depth, Faults, Knots, Minutes, OutOfRange, bounds};

/// A plan with the run time that it has for somebody rested; the group's own is reckoned when
/// it is formed.
///
/// # Errors
/// Levels out of order, or too short for the way to them.
pub fn plan_sheet(levels: Vec<LevelPlan>, safety_stop: StopPlan) -> Result<PlanSheet, Faults> {
    let mut sheet = PlanSheet {
        levels,
        safety_stop,
        run_time_min: 0.0,
    };
    sheet.run_time_min = dives::dive_plan(&sheet)?.profile(&[])?.run_time_min();
    Ok(sheet)
}

/// Whether a window that ends at `until` counts as night at the site of this dive.
#[must_use]
pub fn ends_at_night(state: &State, dive: u32, until: Timestamp) -> bool {
    let Some(planned) = state.dives.get(&dive) else {
        return false;
    };
    // A date beyond the almanac is treated as night: the stricter rule.
    is_night(planned.site.position, until).unwrap_or(true)
}

/// What is frozen at a drop.
#[derive(Debug, Clone, PartialEq)]
pub struct AtDrop {
    /// Deadlines as offsets from it.
    pub window: Offsets,
    /// Stops that are owed, deepest first.
    pub owes: Vec<StopPlan>,
}

/// The deadlines to freeze when these members leave the surface at `at`, and the stops they owe
/// with what they carry from the day's earlier dives.
///
/// # Errors
/// If the plan does not hold.
pub fn window_at_drop(
    state: &State,
    group: &Group,
    members: &BTreeSet<PersonId>,
    at: Timestamp,
) -> Result<AtDrop, Faults> {
    let formed = &group.formed;
    let going: Vec<PersonId> = members.iter().copied().collect();
    let answer = dives::answer_for(state, group.dive, formed, &going, dives::Entry::At(at))?;
    let profile = &answer.profile;
    let supplies = supplies(formed, members);
    let endurance = gas::gas_endurance(profile, answer.model.column, &supplies);
    let ends = super::state::plus(at, profile.run_time());
    let light = if ends_at_night(state, group.dive, ends) {
        Light::Night
    } else {
        Light::Day
    };
    let settings = state.opened.as_ref().map(|o| o.windows).unwrap_or_default();
    let site = state.dives.get(&group.dive).map(|dive| &dive.site);
    let drift = site
        .and_then(|site| Waters::of(site, &state.conditions).strongest_kn(at, ends))
        .and_then(|kn| Knots::from_kn(kn.min(bounds::DRIFT_KN.max)).ok());
    let window = window(profile.run_time(), settings, light, drift, endurance);
    let seconds = |d: jiff::SignedDuration| u32::try_from(d.as_secs()).unwrap_or(0);
    let window = Offsets {
        earliest_s: seconds(window.earliest),
        expected_s: seconds(window.expected),
        latest_s: seconds(window.latest),
        overdue_s: seconds(window.overdue),
        // Without a cylinder on record nobody can say; then overdue is all that is known.
        endurance_s: window
            .gas_endurance
            .map_or(seconds(window.overdue), seconds),
    };
    Ok(AtDrop {
        window,
        owes: stop_plans(&answer.owed())?,
    })
}

/// Owed stops as they are written down.
fn stop_plans(stops: &[Stop]) -> Result<Vec<StopPlan>, Faults> {
    let fault = |out: OutOfRange| {
        Faults::one(
            "levels",
            format!("owes a stop that is {out}"),
            "a shorter plan",
        )
    };
    stops
        .iter()
        .map(|stop| {
            Ok(StopPlan {
                depth_m: Depth::from_m(stop.depth_m()).map_err(fault)?,
                minutes: Minutes::from_min(stop.minutes()).map_err(fault)?,
            })
        })
        .collect()
}

fn supplies(formed: &GroupFormed, members: &BTreeSet<PersonId>) -> Vec<Supply> {
    formed
        .kit
        .iter()
        .filter(|(id, _)| members.contains(id))
        .map(|(_, kit)| dives::supply(kit))
        .collect()
}

/// An entry of the pickup order: part of a group in one place.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Name in the order: the group's letter, with a number where it is split.
    pub id: String,
    /// The group; none for snorkellers.
    pub group: Option<super::GroupId>,
    /// Who.
    pub persons: BTreeSet<PersonId>,
    /// Somebody was seen at the surface there; else stand off.
    pub seen: bool,
}

/// The pickup order with what its entries are.
#[derive(Debug, Clone, PartialEq)]
pub struct Order {
    /// Entries by name.
    pub entries: BTreeMap<String, Entry>,
    /// The solver's answer.
    pub answer: Answer,
    /// The chart could not be read, so that no keep-clear area was reckoned with.
    pub chart_unread: bool,
    /// The boat's own place is not known: the site's reference position stands in.
    pub boat_assumed: bool,
    /// Sunset, where a pickup of the order ends after it.
    pub sunset: Option<Timestamp>,
}

/// Nobody is to be fetched.
impl Default for Order {
    fn default() -> Self {
        Self {
            entries: BTreeMap::new(),
            answer: Answer {
                order: vec![],
                unreachable: vec![],
                cost: 0.0,
                proven: true,
                gap: 0.0,
            },
            chart_unread: false,
            boat_assumed: true,
            sunset: None,
        }
    }
}

/// The pickup order of everybody who is out, at `now`.
#[must_use]
pub fn pickup_order(state: &State, grounds: &Grounds, now: Timestamp) -> Order {
    let sea = grounds.sea(state, state.dive);
    let (Some(sea), Some(opened)) = (sea, state.opened.as_ref()) else {
        return Order::default();
    };
    let (instance, entries) = instance(state, grounds, &sea, &opened.boat, now);
    let ground = sea.ground;
    let answer = pickup::solve_on(&instance, ground.plane, &ground.ways);
    Order {
        entries,
        chart_unread: ground.chart.is_err(),
        boat_assumed: state.boat.is_none(),
        sunset: sunset_within(instance.boat.position, &answer),
        answer,
    }
}

/// Sunset, where the last pickup ends after it. A date beyond the almanac has none to tell.
fn sunset_within(place: Position, answer: &Answer) -> Option<Timestamp> {
    let ends = answer.order.iter().map(|row| row.end_at).max()?;
    match (is_night(place, ends), last_sunset(place, ends)) {
        (Ok(true), Ok(sunset)) => sunset,
        _ => None,
    }
}

fn instance(
    state: &State,
    grounds: &Grounds,
    sea: &Sea<'_>,
    sheet: &BoatSheet,
    now: Timestamp,
) -> (Instance, BTreeMap<String, Entry>) {
    let site = &sea.ground.site;
    let rows = watch::watch(state, now).rows;
    let seas = grounds.seas(state);
    let mut entries = BTreeMap::new();
    let mut groups = Vec::new();
    for group in state.groups_out() {
        let row = rows.iter().find(|row| row.group == group.id);
        let sea = seas.get(&group.dive).unwrap_or(sea);
        for (entry, pickup) in parts(state, group, row, sea, now) {
            entries.insert(entry.id.clone(), entry);
            groups.push(pickup);
        }
    }
    for (entry, pickup) in swimmers(state, site.position, now) {
        entries.insert(entry.id.clone(), entry);
        groups.push(pickup);
    }
    let known = |id: &String| entries.contains_key(id);
    // At the surface the wind takes hold of people as well.
    let water = sea.waters.adrift(Adrift::Person, now);
    let instance = Instance {
        now,
        boat: Boat {
            position: state.boat.as_ref().map_or(site.position, |b| b.position),
            speed_kn: sheet.speed_kn,
            boarding_s_per_person: f64::from(sheet.boarding_s_per_person),
            approach_s: f64::from(sheet.approach_s),
            approach: match sheet.approach_side {
                ApproachSide::NotSet => Approach::NotSet,
                ApproachSide::UpWind => Approach::FromUpWind,
                ApproachSide::DownWind => Approach::FromDownWind,
                ApproachSide::Lee => Approach::InTheLee,
            },
        },
        water: Water {
            set_deg: water.course_deg(),
            drift_kn: water.speed_kn(),
        },
        wind: state.conditions.wind.as_ref().map(|w| pickup::Wind {
            from_deg: w.what.0,
            speed_kn: w.what.1,
        }),
        keep_clear: sea
            .ground
            .chart
            .iter()
            .flat_map(|chart| chart.keep_clear_areas().cloned())
            .collect(),
        stand_off_m: site.stand_off_m.m(),
        under_way: state.arranged.under_way.clone().filter(known),
        fixed: state
            .arranged
            .fixed
            .iter()
            .filter(|id| known(id))
            .cloned()
            .collect(),
        groups,
    };
    (instance, entries)
}

/// A group that came up in two places makes two entries; who is still down makes one more.
fn parts(
    state: &State,
    group: &Group,
    row: Option<&Row>,
    sea: &Sea<'_>,
    now: Timestamp,
) -> Vec<(Entry, pickup::Group)> {
    let out = state.out_of(group);
    let mut places: BTreeMap<String, Vec<&Person>> = BTreeMap::new();
    for person in &out {
        let key = match (person.place, person.surface_position()) {
            (Place::AtSurface, Some((position, _))) => format!("a{position}"),
            (Place::AtSurface, None) => "b".to_owned(),
            _ => "c".to_owned(),
        };
        places.entry(key).or_default().push(person);
    }
    let split = places.len() > 1;
    let expected = expected_at(state, group, now);
    let Some(likely) = likely_at(group, sea, expected) else {
        return Vec::new();
    };
    let letter = &group.formed.letter;
    places
        .into_values()
        .zip(1_u32..)
        .map(|(people, nth)| {
            let id = if split {
                format!("{letter}{nth}")
            } else {
                letter.clone()
            };
            let seen = people.iter().all(|p| p.place == Place::AtSurface);
            let entry = Entry {
                id: id.clone(),
                group: Some(group.id),
                persons: people.iter().map(|p| p.id).collect(),
                seen,
            };
            (entry, part(group, row, &people, id, seen, likely, expected))
        })
        .collect()
}

/// Snorkellers stay where they are until they are recalled or one of them signals for help.
fn swimmers(state: &State, site: Position, now: Timestamp) -> Vec<(Entry, pickup::Group)> {
    let recalled = state.recalls.iter().any(|recall| recall.what == state.dive);
    state
        .swimmers()
        .filter(|p| recalled || p.distress)
        .zip(1_u32..)
        .map(|(person, nth)| {
            let id = format!("S{nth}");
            let (position, position_at) = person.surface_position().unwrap_or((site, now));
            let pickup = pickup::Group {
                id: id.clone(),
                people: 1,
                position,
                position_at,
                expected_at: now,
                surfaced_at: Some(person.since),
                drifts: true,
                urgency: if person.distress {
                    Urgency::Distress
                } else {
                    Urgency::Prompt
                },
            };
            let persons = BTreeSet::from([person.id]);
            (
                Entry {
                    id,
                    group: None,
                    persons,
                    seen: true,
                },
                pickup,
            )
        })
        .collect()
}

fn part(
    group: &Group,
    row: Option<&Row>,
    people: &[&Person],
    id: String,
    seen: bool,
    likely: Likely,
    expected_at: Timestamp,
) -> pickup::Group {
    let (position, position_at) = people
        .iter()
        .filter(|_| seen)
        .filter_map(|p| p.surface_position())
        .max_by_key(|(_, at)| *at)
        .unwrap_or((likely.position, likely.at));
    let surfaced = people.iter().map(|p| p.since).min();
    let distress = people.iter().any(|p| p.distress);
    let drop_line = matches!(group.formed.mode, Mode::Return) && likely.basis == Basis::Reckoned;
    pickup::Group {
        id,
        people: u32::try_from(people.len()).unwrap_or(u32::MAX),
        position,
        position_at,
        expected_at,
        surfaced_at: if seen || distress { surfaced } else { None },
        // At the surface everything drifts; a group that returns holds on to its line below.
        drifts: seen || !drop_line,
        urgency: urgency(row, people, distress),
    }
}

/// Prompt: tired, cold, overdue, alone or restricted people wait less well (order of
/// precedence: common practice, no source).
fn urgency(row: Option<&Row>, people: &[&Person], distress: bool) -> Urgency {
    let grave = row.is_some_and(|row| {
        matches!(
            row.standing,
            Standing::Overdue
                | Standing::OutOfGas
                | Standing::PartnerOverdue
                | Standing::LostContact
                | Standing::Missing
                | Standing::Unresolved
        )
    });
    let restricted = people.iter().any(|p| p.card.fitness == Fitness::Restricted);
    if distress {
        Urgency::Distress
    } else if grave || restricted || people.len() == 1 {
        Urgency::Prompt
    } else {
        Urgency::Routine
    }
}
