//! Pickup order: whom to fetch next, where to meet them and how to come in.
//!
//! Proven best within the model for up to 12 groups; beyond that the best found, with its gap.
//! A planning aid: the skipper decides, and overrules with one tap.

mod advice;
mod bound;
mod exact;
mod large;
mod model;
pub mod wire;

#[cfg(test)]
mod tests;

use jiff::{SignedDuration, Timestamp};

use crate::sea::chart::{KeepClear, Ways};
use crate::sea::position::{LocalPlane, Position};

pub use advice::{Advice, Because, Hull, Unreachable, Warning, Why};
pub use model::{Approach, Boat, Group, Instance, SWIM_M_S, Urgency, Water, Wind};
pub use wire::{MOST_GROUPS, answer, read};

use bound::{Job, MOST_EXACT, Runs, least_cost};
use model::{Model, Plan};

/// A cost within this part of the bound is proven best.
const PROVEN: f64 = 1e-9;

/// The order and what there is to know about it.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// The pickups, first to last.
    pub order: Vec<Row>,
    /// Groups that no run reaches within 24 hours.
    pub unreachable: Vec<(String, Unreachable)>,
    /// Weighted person-minutes of waiting.
    pub cost: f64,
    /// Whether no other order costs less.
    pub proven: bool,
    /// The part of the cost by which another order might at most be cheaper.
    pub gap: f64,
}

/// One pickup.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// The group.
    pub id: String,
    /// When the boat sets out for it.
    pub depart_at: Timestamp,
    /// When the boat is at the meeting point.
    pub arrive_at: Timestamp,
    /// When the pickup starts.
    pub start_at: Timestamp,
    /// When everyone of the group is aboard.
    pub end_at: Timestamp,
    /// The meeting point at the arrival.
    pub meet: Position,
    /// The way there, first and last place included.
    pub way: Vec<Position>,
    /// Its length, metres.
    pub run_m: f64,
    /// First course of it, degrees true; `None` where the boat is there already.
    pub course_deg: Option<f64>,
    /// Seconds between arrival and start.
    pub wait_s: f64,
    /// From the meeting point to the nearest keep-clear area, metres; `None` without any.
    pub stand_off_m: Option<f64>,
    /// Minutes until a hull without engine would touch one from the meeting point; `None`: not
    /// within six hours.
    pub stand_off_min: Option<f64>,
    /// What wind and current do to the hull there, and the side to come from.
    pub advice: Advice,
    /// Why it stands here.
    pub why: Why,
    /// What to beware of.
    pub warnings: Vec<Warning>,
}

/// The best order for `instance`.
#[must_use]
pub fn solve(instance: &Instance) -> Answer {
    let plane = LocalPlane::round(instance.boat.position);
    let areas = KeepClear::new(&plane, &instance.keep_clear);
    solve_on(instance, plane, &Ways::new(areas, instance.stand_off_m))
}

/// The same where the waters are laid already: `ways` are those of the instance's areas and
/// stand-off in `plane`.
#[must_use]
pub fn solve_on(instance: &Instance, plane: LocalPlane, ways: &Ways) -> Answer {
    let model = Model::new(instance, plane, ways);
    let (within, beyond): (Vec<usize>, Vec<usize>) = (0..model.tasks.len()).partition(|&nth| {
        let task = model.tasks.get(nth);
        task.is_some_and(|task| model.arrival(&model.start, 0.0, task).is_some())
    });
    let known = large::good_order(&model, &within);
    let (plan, least) = if within.is_empty() {
        (Plan::default(), 0.0)
    } else if within.len() <= MOST_EXACT {
        let found = exact::best_order(&model, &within, known);
        (found.plan, found.least)
    } else {
        let least = least_of_all(&model, &within);
        (known, least)
    };
    let open = (plan.compared - least).max(0.0);
    let gap = if plan.compared > 0.0 {
        open / plan.compared
    } else {
        0.0
    };
    let unreachable = beyond
        .iter()
        .map(|&nth| (nth, advice::unreachable(&model, nth)))
        .chain(plan.left.iter().map(|&nth| (nth, Unreachable::LeftBehind)))
        .filter_map(|(nth, why)| Some((instance.groups.get(nth)?.id.clone(), why)))
        .collect();
    Answer {
        order: advice::rows(instance, &model, &plan),
        unreachable,
        cost: plan.cost,
        proven: gap <= PROVEN,
        gap: if gap <= PROVEN { 0.0 } else { gap },
    }
}

/// What any order of `groups` costs at least.
fn least_of_all(model: &Model<'_>, groups: &[usize]) -> f64 {
    let ends_s = model.earliest_ends_s();
    let runs = Runs::new(model, &ends_s);
    let mut jobs: Vec<Job> = groups
        .iter()
        .filter_map(|&nth| {
            let (task, until_s) = (model.tasks.get(nth)?, ends_s.get(nth)?);
            Some(Job {
                task: nth,
                release_s: until_s - task.service_s,
                taken_s: task.service_s + runs.least_s(nth, groups.iter().copied()),
            })
        })
        .collect();
    least_cost(model, &mut jobs)
}

/// The instant so many seconds after `now`, to the millisecond.
fn instant(now: Timestamp, seconds: f64) -> Timestamp {
    let after = SignedDuration::try_from_secs_f64((seconds * 1e3).round() / 1e3);
    after
        .ok()
        .and_then(|after| now.checked_add(after).ok())
        // Only for what lies beyond the calendar, which no sound input reaches.
        .unwrap_or(now)
}
