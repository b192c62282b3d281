//! A plan reckoned for a whole group: each diver's no-stop limit and load, the stops the group
//! owes by its strictest member, and the profile that follows.

use super::ascent::{self, Breather, Model};
use super::mix::Mix;
use super::plan::{DivePlan, Profile, Stop};
use super::tissue::Tissues;
use crate::units::Faults;

/// A plan as a group would dive it.
#[derive(Debug, Clone, PartialEq)]
pub struct Reckoning {
    /// From leaving the surface to reaching it, with the stops the group owes.
    pub profile: Profile,
    /// What the plan is to each diver, in the order they were given.
    pub each: Vec<Reckoned>,
}

/// What a plan is to one diver.
#[derive(Debug, Clone, PartialEq)]
pub struct Reckoned {
    /// Longest bottom time without stops, minutes; `None` where ten hours need none.
    pub no_stop_limit_min: Option<f64>,
    /// Whether the plan needs no stops.
    pub within_no_stop: bool,
    /// The first level, counted from 0, that lies above the ceiling when it is reached.
    pub level_above_ceiling: Option<usize>,
    /// Stops that this diver would owe alone, deepest first.
    pub owed: Vec<Stop>,
    /// Load on reaching the surface.
    pub after: Tissues,
}

/// Reckons a plan for divers with these loads before it.
///
/// # Errors
/// A fault for a plan that cannot be brought to the surface within days.
pub fn reckon(plan: &DivePlan, divers: &[Breather], model: &Model) -> Result<Reckoning, Faults> {
    let bottom = plan.bottom_legs();
    let leaving_m = bottom.last().map_or(0.0, |leg| leg.to_m);
    let leaving: Vec<Breather> = divers
        .iter()
        .map(|diver| diver.after_all(&bottom, model.column))
        .collect();
    let stops_of = |who: &[Breather]| ascent::required_stops(who, leaving_m, plan.rates(), model);
    let owed = leaving
        .iter()
        .map(|diver| stops_of(std::slice::from_ref(diver)))
        .collect::<Result<Vec<_>, _>>()?;
    let together = match owed.as_slice() {
        [] => Vec::new(),
        [alone] => alone.clone(),
        several if several.iter().all(Vec::is_empty) => Vec::new(),
        _ => stops_of(&leaving)?,
    };
    let profile = plan.profile(&together)?;
    let each = divers
        .iter()
        .zip(owed)
        .map(|(diver, owed)| Reckoned {
            no_stop_limit_min: ascent::no_stop_limit_min(plan, diver, model),
            within_no_stop: ascent::is_within_no_stop(plan, diver, model),
            level_above_ceiling: ascent::level_above_ceiling(plan, diver, model),
            owed,
            after: diver.after_all(profile.legs(), model.column).tissues,
        })
        .collect();
    Ok(Reckoning { profile, each })
}

/// A dive before, and the time at the surface after it.
#[derive(Debug, Clone, PartialEq)]
pub struct EarlierDive {
    /// As it was dived.
    pub profile: Profile,
    /// The gas.
    pub mix: Mix,
    /// Minutes at the surface on air from reaching it to the next dive.
    pub interval_min: f64,
}

/// The profile of an earlier dive of which only the plan is known: with the stops that a rested
/// diver owes on it.
///
/// Longer ones may have been owed and held, but a stop that nobody logged must not make the next
/// dive look safer than it would without the dive before.
///
/// # Errors
/// A fault for a plan that cannot be brought to the surface within days.
pub fn as_planned(plan: &DivePlan, mix: Mix, model: &Model) -> Result<Profile, Faults> {
    let rested = Breather {
        tissues: Tissues::at_rest(model.column),
        mix,
    };
    let bottom = rested.after_all(&plan.bottom_legs(), model.column);
    let leaving_m = plan.levels().last().map_or(0.0, |l| l.depth.m());
    plan.profile(&ascent::required_stops(
        &[bottom],
        leaving_m,
        plan.rates(),
        model,
    )?)
}

/// Load that earlier dives leave, in order of time.
#[must_use]
pub fn load_after(rested: Tissues, dives: &[EarlierDive], model: &Model) -> Tissues {
    dives.iter().fold(rested, |tissues, dive| {
        tissues
            .after_all(dive.profile.legs(), dive.mix, model.column)
            .rested(dive.interval_min, model.column)
    })
}

/// A moment of a dive for a picture of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// Minutes from leaving the surface.
    pub minute: f64,
    /// Depth, metres.
    pub depth_m: f64,
    /// Least depth that the model allows at this moment by the high gradient factor, metres;
    /// zero where the surface is open.
    pub ceiling_m: f64,
}

/// The profile with its ceiling, sampled at most `step_min` apart and at every bend.
#[must_use]
pub fn moments(profile: &Profile, diver: &Breather, model: &Model, step_min: f64) -> Vec<Moment> {
    let high = model.gradient_factors.high();
    let mut now = *diver;
    let mut minute = 0.0;
    let mut moments = vec![Moment {
        minute,
        depth_m: 0.0,
        ceiling_m: 0.0,
    }];
    for leg in profile.legs() {
        for part in leg.cut(step_min) {
            now = now.after(&part, model.column);
            minute += part.minutes;
            let ceiling = model.column.depth_m(now.tissues.tolerated_bar(high));
            moments.push(Moment {
                minute,
                depth_m: part.to_m,
                ceiling_m: ceiling.max(0.0),
            });
        }
    }
    moments
}
