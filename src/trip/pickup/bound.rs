//! What the pickups still to come cost at least.
//!
//! Two bounds that hold whatever the order. A group's pickup starts no earlier than the boat
//! could be there if it went straight for it, and not before the group is up. And the boat does
//! one thing at a time: a pickup with the least run to a next group occupies it, so the starts
//! are those of jobs on one machine with release times. For these the preemptive schedule
//! by weight per time gives mean busy times whose weighted sum no order undercuts
//! (Goemans, Improved approximation algorithms for scheduling with release dates, 1997).

use super::model::{Model, Rank, Task};

/// The most groups that are solved exactly.
pub(super) const MOST_EXACT: usize = 12;

/// A group still to be fetched, as a job.
#[derive(Debug, Clone, Copy)]
pub(super) struct Job {
    /// Number of the group.
    pub(super) task: usize,
    /// No earlier start.
    pub(super) release_s: f64,
    /// The boat is taken for at least this long.
    pub(super) taken_s: f64,
}

/// Least runs between the meeting points of two groups, seconds.
#[derive(Debug)]
pub(super) struct Runs {
    least_s: Vec<Vec<f64>>,
}

impl Runs {
    /// `ends_s`: the earliest end of each group's pickup.
    pub(super) fn new(model: &Model<'_>, ends_s: &[f64]) -> Self {
        let least_s = model
            .tasks
            .iter()
            .zip(ends_s)
            .map(|(from, &end_s)| {
                model
                    .tasks
                    .iter()
                    .map(|to| least_run_s(model, from, to, end_s))
                    .collect()
            })
            .collect();
        Self { least_s }
    }

    /// From group `from` to the nearest of `others`; 0 if there is none.
    pub(super) fn least_s(&self, from: usize, others: impl Iterator<Item = usize>) -> f64 {
        let Some(row) = self.least_s.get(from) else {
            return 0.0;
        };
        others
            .filter(|&other| other != from)
            .filter_map(|other| row.get(other).copied())
            .min_by(f64::total_cmp)
            .unwrap_or(0.0)
    }
}

/// The least time from a meeting point of `from`, not before `end_s`, to one of `to`.
fn least_run_s(model: &Model<'_>, from: &Task, to: &Task, end_s: f64) -> f64 {
    let drift = to.thing.velocity.length();
    // Meeting points lie at most a swim from the places.
    let swims = from.longest_swim_m() + to.longest_swim_m();
    let apart = to.thing.place(end_s) - from.thing.place(end_s);
    let moving = end_s >= from.thing.from_s && end_s >= to.thing.from_s;
    if moving && from.thing.velocity == to.thing.velocity && swims <= 0.0 {
        // They keep their distance: |apart + u s| = v s, which has one root above 0 for v > u.
        let (v, u) = (model.speed, to.thing.velocity);
        let a = v * v - u.dot(u);
        if a > 1e-9 {
            let b = apart.dot(u);
            return (b + (b * b + a * apart.dot(apart)).sqrt()) / a;
        }
    }
    // Their distance changes evenly between the instants at which one begins to drift.
    let mut instants = [
        end_s,
        from.thing.from_s.max(end_s),
        to.thing.from_s.max(end_s),
    ];
    instants.sort_by(f64::total_cmp);
    let between = |time_s: f64| to.thing.place(time_s) - from.thing.place(time_s);
    let mut least = f64::INFINITY;
    for pair in instants.windows(2) {
        if let &[low, high] = pair {
            least = least.min(least_on_way(between(low), between(high)));
        }
    }
    let settled_s = instants.iter().copied().fold(end_s, f64::max);
    let velocity = to.thing.velocity - from.thing.velocity;
    // Beyond the horizon nothing is fetched.
    least = least.min(least_on_way(
        between(settled_s),
        between(settled_s) + velocity * super::model::HORIZON_S,
    ));
    // The group comes to meet the boat at most at its drift.
    ((least - swims) / (model.speed + drift)).max(0.0)
}

/// Least distance from the origin on the way from `a` to `b`.
fn least_on_way(a: crate::sea::position::Metres, b: crate::sea::position::Metres) -> f64 {
    let way = b - a;
    let square = way.dot(way);
    let along = if square > 0.0 {
        (-a.dot(way) / square).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (a + way * along).length()
}

/// What the groups behind `jobs` cost at least.
pub(super) fn least_cost(model: &Model<'_>, jobs: &mut [Job]) -> f64 {
    let rank = |job: &Job| model.tasks.get(job.task).map(|task| task.rank);
    // Distress comes first: the others start when all of it is done at the earliest.
    let mut distress_s = 0.0;
    let mut first_s = f64::INFINITY;
    let mut others = false;
    for job in jobs.iter() {
        if rank(job) == Some(Rank::Distress) {
            distress_s += job.taken_s;
            first_s = first_s.min(job.release_s);
        } else {
            others = true;
        }
    }
    if others && first_s.is_finite() {
        for job in jobs.iter_mut() {
            if rank(job) == Some(Rank::Open) {
                job.release_s = job.release_s.max(first_s + distress_s);
            }
        }
    }
    let tasks = || {
        jobs.iter()
            .filter_map(|job| model.tasks.get(job.task).map(|task| (job, task)))
    };
    let apart: f64 = tasks().map(|(job, task)| task.cost(job.release_s)).sum();
    let waits: f64 = tasks()
        .map(|(job, task)| task.cost(job.release_s) - task.wait_cost(job.release_s))
        .sum();
    apart.max(waits + one_at_a_time(model, jobs))
}

/// Σ w (M - p/2 - up) over the preemptive schedule by weight per time; M: mean busy time.
fn one_at_a_time(model: &Model<'_>, jobs: &[Job]) -> f64 {
    struct Left {
        weight: f64,
        release_s: f64,
        taken_s: f64,
        open_s: f64,
    }
    let mut total = 0.0;
    let mut open: Vec<Left> = Vec::with_capacity(jobs.len());
    for job in jobs {
        if let Some(task) = model.tasks.get(job.task) {
            let weight = task.weight / 60.0;
            total -= weight * task.up_s;
            if job.taken_s > 0.0 {
                total -= weight * job.taken_s / 2.0;
                open.push(Left {
                    weight,
                    release_s: job.release_s,
                    taken_s: job.taken_s,
                    open_s: job.taken_s,
                });
            } else {
                total += weight * job.release_s;
            }
        }
    }
    let mut now_s = f64::NEG_INFINITY;
    while !open.is_empty() {
        let next = open
            .iter()
            .map(|job| job.release_s)
            .fold(f64::INFINITY, f64::min);
        now_s = now_s.max(next);
        let coming = open
            .iter()
            .map(|job| job.release_s)
            .filter(|&release_s| release_s > now_s)
            .fold(f64::INFINITY, f64::min);
        let worth = |job: &Left| job.weight / job.taken_s;
        let Some((place, job)) = open
            .iter_mut()
            .enumerate()
            .filter(|(_, job)| job.release_s <= now_s)
            .max_by(|(_, a), (_, b)| worth(a).total_cmp(&worth(b)))
        else {
            break;
        };
        let spell_s = job.open_s.min(coming - now_s);
        total += job.weight * (now_s + spell_s / 2.0) * spell_s / job.taken_s;
        now_s += spell_s;
        job.open_s -= spell_s;
        if job.open_s <= 1e-9 {
            open.swap_remove(place);
        }
    }
    total
}
