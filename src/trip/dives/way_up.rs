//! The way up of a group in the water: what it owes and when it is up, whenever it leaves the
//! bottom.

use jiff::{SignedDuration, Timestamp};

use super::day::{breather, dives_before};
use super::{Entry, dive_plan, minutes_from, model, required};
use crate::dive::ascent::{self, Breather};
use crate::dive::plan::{PlannedStop, Rates, Stop};
use crate::trip::event::{LevelPlan, PlanSheet};
use crate::trip::state::{Group, State, plus};
use crate::units::{Minutes, bounds};

/// The way up of a group that leaves the bottom at some time.
#[derive(Debug, Clone, PartialEq)]
pub struct ComingUp {
    /// Stops to be held, deepest first, the safety stop among them.
    pub stops: Vec<PlannedStop>,
    /// Reaches the surface.
    pub up_at: Timestamp,
}

impl ComingUp {
    /// When it is up, to the whole minute that has then begun: never earlier than reckoned.
    #[must_use]
    pub fn up_by_minute(&self) -> Timestamp {
        let seconds = self.up_at.as_second();
        let is_whole = seconds % 60 == 0 && self.up_at.subsec_nanosecond() == 0;
        let minute = seconds.div_euclid(60) + i64::from(!is_whole);
        Timestamp::from_second(minute * 60).unwrap_or(self.up_at)
    }

    /// Stops that are owed.
    #[must_use]
    pub fn owed(&self) -> Vec<Stop> {
        required(&self.stops)
    }
}

/// When a group in the water is up, and what it owes, if it leaves the bottom at `leaving`:
/// the plan cut at that time, or its last level stretched to it.
///
/// `None` for a group that is not in the water or whose plan is not known.
#[must_use]
pub fn coming_up(state: &State, group: &Group, leaving: Timestamp) -> Option<ComingUp> {
    let drop = group.drop.as_ref()?;
    let formed = &group.formed;
    let bottom_min = minutes_from(drop.at, leaving).max(0.0);
    let levels = cut_at(&formed.plan.levels, bottom_min)?;
    let plan = dive_plan(&PlanSheet {
        levels,
        ..formed.plan.clone()
    })
    .ok()?;
    let model = model(state, group.dive);
    let legs = plan.bottom_legs();
    let mut leaving_divers: Vec<Breather> = Vec::new();
    for id in &drop.members {
        let earlier = dives_before(state, *id, group.dive, Entry::At(drop.at));
        let diver = breather(formed.kit.get(id), &earlier, &model).after_all(&legs, model.column);
        // Most groups are alike; one reckoning does for all who carry the same.
        if !leaving_divers.contains(&diver) {
            leaving_divers.push(diver);
        }
    }
    let from_m = plan.levels().last().map_or(0.0, |level| level.depth.m());
    let required = ascent::required_stops(&leaving_divers, from_m, plan.rates(), &model).ok()?;
    let profile = plan.profile(&required).ok()?;
    let way_up_min = profile.run_time_min() - profile.bottom_time_min();
    let way_up = SignedDuration::try_from_secs_f64(way_up_min * 60.0).ok()?;
    Some(ComingUp {
        stops: profile.stops().to_vec(),
        up_at: plus(leaving, way_up),
    })
}

/// Levels of a plan that is left after `bottom_min` minutes.
fn cut_at(levels: &[LevelPlan], bottom_min: f64) -> Option<Vec<LevelPlan>> {
    let mut cut: Vec<LevelPlan> = Vec::new();
    let mut left_min = bottom_min;
    let mut at_m = 0.0;
    for (nth, level) in levels.iter().enumerate() {
        let is_last = nth + 1 == levels.len();
        let way_min = Rates::USUAL.travel_min(at_m, level.depth_m.m());
        let planned_min = level.minutes.min();
        let minutes = if is_last {
            left_min
        } else {
            left_min.min(planned_min)
        };
        // Who has only just started for a level is taken to have reached it.
        let least_min = way_min.max(bounds::LEVEL_MIN.min);
        let minutes = minutes.max(least_min).min(bounds::LEVEL_MIN.max);
        cut.push(LevelPlan {
            depth_m: level.depth_m,
            minutes: Minutes::from_min(minutes).ok()?,
        });
        left_min -= planned_min;
        at_m = level.depth_m.m();
        if left_min <= 0.0 {
            break;
        }
    }
    (!cut.is_empty()).then_some(cut)
}
