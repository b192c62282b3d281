//! The best order, proven: all orders are built up group by group, and only those are left out
//! that cannot be better.
//!
//! Two reasons leave one out.
//!
//! *It costs too much*: what it cost so far and what `bound` says the rest costs at least is
//! more than an order already known.
//!
//! *Another is as good in everything*: it fetched the same groups and lies at the same group,
//! costs no more and is done no later. That alone proves nothing, for the boat that is done
//! earlier lies elsewhere, and the meeting point of a group inside a buffer may jump from one
//! side of a reef to the other, or its swim out become shorter for the later boat. It does
//! prove it once every group that matters is *settled*: outside the buffers for good or at rest.
//! Then the earlier boat can go along with the drifting meeting point at the speed of the
//! drift, which is below its own, and be where the later boat is at the later time: so it is at
//! the next group no later, the pickup there (no swim, or always the same) starts and ends
//! no later, and so on to the last group. As no cost falls with time, the order that is behind
//! never wins. Where a group is not yet settled, or the boat is slower than the drift, orders
//! are only left out if they end at the same instant.

use std::collections::HashMap;

use super::bound::{Job, MOST_EXACT, Runs, least_cost};
use super::model::{Model, Plan, Rank};

/// States kept of orders with equally many groups; beyond it the proof is given up.
const MOST_STATES: usize = 30_000;
/// Two ends closer than this are the same instant, seconds.
const SAME_S: f64 = 1e-6;

/// What the search found.
#[derive(Debug)]
pub(super) struct Found {
    pub(super) plan: Plan,
    /// No order costs less than this (compared cost).
    pub(super) least: f64,
}

/// A beginning of an order.
#[derive(Debug, Clone)]
struct State {
    fetched: u16,
    last: usize,
    /// Number in the layer before.
    parent: usize,
    end_s: f64,
    compared: f64,
    /// Arrival at each group from here.
    arrive_s: [f64; MOST_EXACT],
    least: f64,
}

/// The best order of at most [`MOST_EXACT`] groups, none of them out of reach of the start.
/// `known`: a good order.
pub(super) fn best_order(model: &Model<'_>, groups: &[usize], known: Plan) -> Found {
    Search::new(model, groups).run(known)
}

struct Search<'a> {
    model: &'a Model<'a>,
    groups: &'a [usize],
    runs: Runs,
    settled_s: Vec<f64>,
}

impl<'a> Search<'a> {
    fn new(model: &'a Model<'a>, groups: &'a [usize]) -> Self {
        Self {
            runs: Runs::new(model, &model.earliest_ends_s()),
            settled_s: model
                .tasks
                .iter()
                .map(|task| task.settled_s(model.speed))
                .collect(),
            model,
            groups,
        }
    }

    fn run(&self, known: Plan) -> Found {
        let mut best = known;
        let mut given_up = f64::INFINITY;
        let root = self.state(0, usize::MAX, usize::MAX, 0.0, 0.0);
        let whole = root.least;
        let mut layers = vec![vec![root]];
        for _ in self.groups {
            let Some(layer) = layers.last() else {
                break;
            };
            let mut next: Vec<State> = Vec::new();
            let mut alike: HashMap<(u16, usize), Vec<usize>> = HashMap::new();
            for (parent, state) in layer.iter().enumerate() {
                if state.least > best.compared {
                    continue;
                }
                for place in self.may_follow(state.fetched) {
                    let Some(child) = self.follow(state, parent, place, best.compared) else {
                        continue;
                    };
                    let known = alike.entry((child.fetched, child.last)).or_default();
                    let beaten = |nth: &usize| {
                        next.get(*nth)
                            .is_some_and(|other| self.covers(other, &child))
                    };
                    if known.iter().any(beaten) {
                        continue;
                    }
                    known.retain(|&nth| {
                        let covered = next
                            .get(nth)
                            .is_some_and(|other| self.covers(&child, other));
                        if covered && let Some(other) = next.get_mut(nth) {
                            other.least = f64::INFINITY;
                        }
                        !covered
                    });
                    known.push(next.len());
                    next.push(child);
                }
            }
            next.retain(|state| state.least <= best.compared);
            // The promising ones first, so that they cover others early.
            next.sort_by(|a, b| {
                (a.least, a.end_s)
                    .partial_cmp(&(b.least, b.end_s))
                    .unwrap_or(std::cmp::Ordering::Equal)
            });
            if next.len() > MOST_STATES {
                given_up = next
                    .get(MOST_STATES)
                    .map_or(given_up, |s| given_up.min(s.least));
                next.truncate(MOST_STATES);
            }
            if next.is_empty() {
                break;
            }
            layers.push(next);
            if let Some(plan) = self.complete(&layers)
                && plan.is_better(&best)
            {
                best = plan;
            }
        }
        let least = given_up.min(best.compared).max(whole.min(best.compared));
        Found { plan: best, least }
    }

    /// Which groups the rules let come next, by their place in `groups`.
    fn may_follow(&self, fetched: u16) -> Vec<usize> {
        let open = || (0..self.groups.len()).filter(|place| fetched & (1 << place) == 0);
        let first = open().map(|place| self.rank(place)).min();
        open()
            .filter(|&place| Some(self.rank(place)) == first)
            .collect()
    }

    fn rank(&self, place: usize) -> Rank {
        self.groups
            .get(place)
            .and_then(|&nth| self.model.tasks.get(nth))
            .map_or(Rank::Open, |task| task.rank)
    }

    fn follow(&self, state: &State, parent: usize, place: usize, limit: f64) -> Option<State> {
        let task = self.model.tasks.get(*self.groups.get(place)?)?;
        let fetched = state.fetched | (1 << place);
        let arrive_s = *state.arrive_s.get(place)?;
        if arrive_s.is_infinite() {
            // Out of reach now, and later too: whoever gets there later could have gone at once.
            return None;
        }
        let begin_s = task.begin(self.model.ways, arrive_s);
        let compared = state.compared + task.cost(begin_s);
        let end_s = begin_s + task.service_s;
        // What was out of reach before stays so; the rest is reached no earlier than from before.
        let mut jobs = self.jobs(fetched, |other| {
            let known = state.arrive_s.get(other).copied().unwrap_or(f64::INFINITY);
            known.max(end_s)
        });
        if compared + least_cost(self.model, &mut jobs) > limit {
            return None;
        }
        let child = self.state(fetched, place, parent, end_s, compared);
        (child.least <= limit).then_some(child)
    }

    fn state(
        &self,
        fetched: u16,
        at: usize,
        parent: usize,
        end_s: f64,
        mut compared: f64,
    ) -> State {
        let moved = self
            .groups
            .get(at)
            .and_then(|&nth| self.model.tasks.get(nth))
            .map(|task| self.model.after(task, end_s));
        let start = moved.as_ref().unwrap_or(&self.model.start);
        let mut arrive_s = [f64::INFINITY; MOST_EXACT];
        let mut taken = fetched;
        for ((place, slot), &nth) in arrive_s.iter_mut().enumerate().zip(self.groups) {
            if fetched & (1 << place) != 0 {
                continue;
            }
            let Some(task) = self.model.tasks.get(nth) else {
                continue;
            };
            if let Some(arrive) = self.model.arrival(start, end_s, task) {
                *slot = arrive;
            } else {
                taken |= 1 << place;
                compared += task.left_behind();
            }
        }
        let mut jobs = self.jobs(taken, |other| {
            arrive_s.get(other).copied().unwrap_or(f64::INFINITY)
        });
        let least = compared + least_cost(self.model, &mut jobs);
        State {
            fetched: taken,
            last: at,
            parent,
            end_s,
            compared,
            arrive_s,
            least,
        }
    }

    fn jobs(&self, fetched: u16, arrive_s: impl Fn(usize) -> f64) -> Vec<Job> {
        let open = || {
            self.groups
                .iter()
                .enumerate()
                .filter(|(place, _)| fetched & (1 << place) == 0)
        };
        open()
            .filter_map(|(place, &nth)| {
                let task = self.model.tasks.get(nth)?;
                Some(Job {
                    task: nth,
                    release_s: arrive_s(place).max(task.up_s),
                    taken_s: task.service_s + self.runs.least_s(nth, open().map(|(_, &n)| n)),
                })
            })
            .filter(|job| job.release_s.is_finite())
            .collect()
    }

    /// Whether no order that goes on from `other` is better than the same from `one`.
    fn covers(&self, one: &State, other: &State) -> bool {
        if one.compared > other.compared || one.end_s > other.end_s + SAME_S {
            return false;
        }
        if (one.end_s - other.end_s).abs() <= SAME_S {
            return true;
        }
        self.groups.iter().enumerate().all(|(place, &nth)| {
            let matters = place == one.last || one.fetched & (1 << place) == 0;
            !matters
                || self
                    .settled_s
                    .get(nth)
                    .is_some_and(|&since| one.end_s >= since)
        })
    }

    /// The best finished order of the last layer, if it has any.
    fn complete(&self, layers: &[Vec<State>]) -> Option<Plan> {
        let all = (1_u32 << self.groups.len()) - 1;
        let layer = layers.last()?;
        let best = layer
            .iter()
            .filter(|state| u32::from(state.fetched) == all)
            .min_by(|a, b| {
                (a.compared, a.end_s)
                    .partial_cmp(&(b.compared, b.end_s))
                    .unwrap_or(std::cmp::Ordering::Equal)
            })?;
        let mut order = Vec::new();
        let mut state = best;
        for before in layers.iter().rev().skip(1) {
            order.extend(self.groups.get(state.last));
            let Some(parent) = before.get(state.parent) else {
                break;
            };
            state = parent;
        }
        order.reverse();
        let left: Vec<usize> = self
            .groups
            .iter()
            .copied()
            .filter(|n| !order.contains(n))
            .collect();
        order.extend(left);
        self.model.carry_out(&order, f64::INFINITY)
    }
}
