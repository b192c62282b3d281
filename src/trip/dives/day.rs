//! The dives of a person's day in order of time: as they were logged or told, or as planned where
//! they have not been made; and the load they leave.

use jiff::Timestamp;

use super::{Entry, dive_plan, minutes_from, model};
use crate::dive::ascent::{self, Breather, Model};
use crate::dive::mix::Mix;
use crate::dive::plan::{DivePlan, Level, Profile, Rates, Stop};
use crate::dive::reckon::{self, EarlierDive};
use crate::dive::tissue::Tissues;
use crate::trip::event::{Kit, PersonId, ToldDive};
use crate::trip::state::{Group, Logged, Person, State, plus};
use crate::units::{Depth, Faults, Minutes, bounds};

/// Surface interval that is reckoned with while nobody knows it, minutes (common practice, no
/// source).
pub const USUAL_INTERVAL_MIN: f64 = 60.0;

/// A dive of the day.
pub(in crate::trip) struct DayDive {
    /// What it amounts to as it was made, or its plan.
    pub plan: DivePlan,
    /// From leaving the surface to reaching it.
    pub profile: Profile,
    /// The gas.
    pub mix: Mix,
    /// Left the surface and reached it; not known of one that has not been made.
    pub times: Option<(Timestamp, Timestamp)>,
}

/// What somebody dived before a dive of the trip.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Before {
    /// The dives that can be reckoned, in order of time, with the intervals after each.
    pub dives: Vec<EarlierDive>,
    /// Dives that were made and of which too little is known to reckon them.
    pub unknown: usize,
}

/// The dives that a person makes before a dive of the trip. What was logged or told replaces what
/// was planned.
#[must_use]
pub fn dives_before(state: &State, id: PersonId, dive: u32, entry: Entry) -> Before {
    let Some(person) = state.people.get(&id) else {
        return Before::default();
    };
    let mut unknown = 0;
    let mut day = made(state, person, dive, &mut unknown);
    // Planned ones come last.
    day.extend((1..dive).filter_map(|nth| planned(state, person, nth)));
    let next: Vec<Option<Timestamp>> = day
        .iter()
        .skip(1)
        .map(|one| one.times.map(|(entered, _)| entered))
        .chain(std::iter::once(match entry {
            Entry::Planned => None,
            Entry::At(at) => Some(at),
        }))
        .collect();
    let dives = day
        .into_iter()
        .zip(next)
        .map(|(one, next)| EarlierDive {
            interval_min: interval_min(one.times, next),
            profile: one.profile,
            mix: one.mix,
        })
        .collect();
    Before { dives, unknown }
}

fn interval_min(times: Option<(Timestamp, Timestamp)>, next: Option<Timestamp>) -> f64 {
    match (times, next) {
        // Statements that contradict each other leave no time at the surface.
        (Some((_, up)), Some(next)) => minutes_from(up, next).max(0.0),
        _ => USUAL_INTERVAL_MIN,
    }
}

/// Somebody before a dive. Where no kit is known the gas is air, which loads more than any
/// nitrox.
pub(super) fn breather(kit: Option<&Kit>, before: &Before, model: &Model) -> Breather {
    Breather {
        tissues: reckon::load_after(Tissues::at_rest(model.column), &before.dives, model),
        mix: kit.map_or(Mix::AIR, |kit| Mix::nitrox(kit.oxygen)),
    }
}

/// Whether one of the dives that a person has made that day owed stops, each with the load of
/// those before it. One that cannot be reckoned did.
#[must_use]
pub fn has_owed_stops(state: &State, person: &Person) -> bool {
    let mut unknown = 0;
    let model = model(state, state.dive);
    let mut tissues = Tissues::at_rest(model.column);
    let mut up_at: Option<Timestamp> = None;
    for one in made(state, person, u32::MAX, &mut unknown) {
        let interval = up_at
            .zip(one.times)
            .map(|(up, (entered, _))| minutes_from(up, entered));
        let diver = Breather {
            tissues: tissues.rested(interval.unwrap_or(0.0).max(0.0), model.column),
            mix: one.mix,
        };
        if !ascent::is_within_no_stop(&one.plan, &diver, &model) {
            return true;
        }
        tissues = diver.after_all(one.profile.legs(), model.column).tissues;
        up_at = one.times.map(|(_, up)| up);
    }
    unknown > 0
}

/// Dives that were told or made before a dive of the trip, by the time they began; `unknown`
/// counts those of which too little is known.
fn made(state: &State, person: &Person, before: u32, unknown: &mut usize) -> Vec<DayDive> {
    let told = person.earlier.iter().map(of_told);
    let logged = person
        .dives
        .range(..before)
        .filter(|(_, logged)| logged.entered_at.is_some())
        .map(|(dive, logged)| of_log(state, person.id, *dive, logged));
    let mut day = Vec::new();
    for one in told.chain(logged) {
        match one {
            Some(one) => day.push(one),
            None => *unknown += 1,
        }
    }
    day.sort_by_key(|one| one.times);
    day
}

fn of_told(told: &ToldDive) -> Option<DayDive> {
    let plan = told_plan(told.depth_m, told.minutes).ok()?;
    let profile = plan.profile(&[]).ok()?;
    let entered = plus(told.surfaced_at, -profile.run_time());
    Some(DayDive {
        plan,
        profile,
        mix: Mix::nitrox(told.oxygen),
        times: Some((entered, told.surfaced_at)),
    })
}

/// The plan of a dive of which a depth and a bottom time are told: all of it at that depth.
///
/// # Errors
/// If the minutes do not suffice for the way down.
pub fn told_plan(depth: Depth, minutes: Minutes) -> Result<DivePlan, Faults> {
    DivePlan::new(vec![Level { depth, minutes }], Stop::USUAL, Rates::USUAL)
}

/// A dive that has not been made, by the plan of its group. A plan that does not hold is refused
/// where it is written and does not get into the water.
fn planned(state: &State, person: &Person, dive: u32) -> Option<DayDive> {
    let is_made = |logged: &Logged| logged.entered_at.is_some();
    if person.dives.get(&dive).is_some_and(is_made) {
        return None;
    }
    let mut groups = state.groups_of(dive).into_iter();
    let group = groups.find(|group| group.members().contains(&person.id))?;
    let plan = dive_plan(&group.formed.plan).ok()?;
    let mix = mix_of(group, person.id);
    Some(DayDive {
        profile: reckon::as_planned(&plan, mix, &model(state, dive)).ok()?,
        plan,
        mix,
        times: None,
    })
}

fn mix_of(group: &Group, id: PersonId) -> Mix {
    let kit = group.formed.kit.get(&id);
    kit.map_or(Mix::AIR, |kit| Mix::nitrox(kit.oxygen))
}

/// A dive as it was logged: the group's plan with the times and the depth that were stated, or
/// a dive to the stated depth all along where no plan is known.
pub(in crate::trip) fn of_log(
    state: &State,
    id: PersonId,
    dive: u32,
    logged: &Logged,
) -> Option<DayDive> {
    let entered = logged.entered_at?;
    let group = logged.group.and_then(|group| state.groups.get(&group));
    let mix = group.map_or(Mix::AIR, |group| mix_of(group, id));
    let plan = group.and_then(|group| dive_plan(&group.formed.plan).ok());
    // Not seen coming up means that the time aboard counts: a longer dive and less rest.
    let Some(up) = logged.surfaced_at.or(logged.aboard_at) else {
        let plan = plan?;
        let profile = reckon::as_planned(&plan, mix, &model(state, dive)).ok()?;
        let up = plus(entered, profile.run_time());
        return Some(DayDive {
            plan,
            profile,
            mix,
            times: Some((entered, up)),
        });
    };
    let run_min = minutes_from(entered, up);
    let plan = match plan {
        Some(plan) => as_dived(&plan, run_min, logged.greatest_depth_m)?,
        None => square(logged.greatest_depth_m?, run_min, Stop::USUAL, Rates::USUAL)?,
    };
    Some(DayDive {
        profile: plan.profile(&[]).ok()?,
        plan,
        mix,
        times: Some((entered, up)),
    })
}

/// The plan that a dive amounts to of which the run time and perhaps the greatest depth are
/// known: the levels planned, the deepest as deep as stated, longer there or shorter at the end
/// by what the run time differs. More than was planned is taken to have been spent at the
/// deepest.
fn as_dived(plan: &DivePlan, run_min: f64, greatest_m: Option<f64>) -> Option<DivePlan> {
    let planned_m = plan.greatest_depth_m();
    let greatest_m = greatest_m.unwrap_or(planned_m);
    let mut levels: Vec<(f64, f64)> = plan
        .levels()
        .iter()
        .map(|level| {
            let m = level.depth.m();
            let m = if m >= planned_m {
                greatest_m
            } else {
                m.min(greatest_m)
            };
            (m.max(bounds::DEPTH_M.min), level.minutes.min())
        })
        .collect();
    let of_levels = |levels: &[(f64, f64)]| of_levels(levels, plan.safety_stop(), plan.rates());
    let square = || square(greatest_m, run_min, plan.safety_stop(), plan.rates());
    let Some(planned_min) = of_levels(&levels).as_ref().and_then(run_time_min) else {
        return square();
    };
    let mut more_min = run_min - planned_min;
    if more_min >= 0.0 {
        let deepest = levels.iter_mut().find(|(m, _)| *m >= greatest_m);
        if let Some((_, minutes)) = deepest {
            *minutes += more_min;
        }
        return of_levels(&levels).or_else(square);
    }
    while more_min < 0.0
        && let Some((m, minutes)) = levels.pop()
    {
        if minutes + more_min > 1.0 {
            levels.push((m, minutes + more_min));
            break;
        }
        more_min += minutes;
    }
    of_levels(&levels).or_else(square)
}

/// A dive of this run time to one depth; as short as the way there and back allows, at least.
fn square(depth_m: f64, run_min: f64, stop: Stop, rates: Rates) -> Option<DivePlan> {
    let depth_m = depth_m.max(bounds::DEPTH_M.min);
    let shortest = (depth_m / rates.descent()).max(bounds::LEVEL_MIN.min);
    // The way up of a square dive does not hang on its bottom time.
    let up_min = run_time_min(&of_levels(&[(depth_m, shortest)], stop, rates)?)? - shortest;
    of_levels(&[(depth_m, (run_min - up_min).max(shortest))], stop, rates)
}

fn run_time_min(plan: &DivePlan) -> Option<f64> {
    plan.profile(&[]).ok().map(|made| made.run_time_min())
}

fn of_levels(levels: &[(f64, f64)], stop: Stop, rates: Rates) -> Option<DivePlan> {
    let levels = levels
        .iter()
        .map(|(m, min)| {
            Some(Level {
                depth: Depth::from_m(*m).ok()?,
                minutes: Minutes::from_min(min.min(bounds::LEVEL_MIN.max)).ok()?,
            })
        })
        .collect::<Option<Vec<_>>>()?;
    DivePlan::new(levels, stop, rates).ok()
}
