//! A good order for any number of groups: built by the least cost for the time it takes, then
//! mended by moving and swapping until nothing gets better. Without luck: the same input gives
//! the same order.

use super::model::{Model, Plan, Rank, Start};

/// Orders tried at most.
const MOST_TRIALS: usize = 6_000;
/// Runs reckoned at most while mending, each weighed by the corners of the chart. Counted, not
/// timed, so that the same input gives the same order on every machine.
const MOST_WORK: usize = 600_000;
/// Corners that take as long as the rest of a run.
const CORNERS_A_RUN: usize = 50;

fn most_trials(model: &Model<'_>, groups: usize) -> usize {
    let a_trial = groups * (1 + model.ways.corners() / CORNERS_A_RUN);
    (MOST_WORK / a_trial.max(1)).min(MOST_TRIALS)
}

/// Groups that the rules put one after the other; within a block the order is open.
pub(super) fn blocks(model: &Model<'_>, groups: &[usize]) -> Vec<Vec<usize>> {
    let rank = |nth: &usize| model.tasks.get(*nth).map_or(Rank::Open, |task| task.rank);
    let mut sorted = groups.to_vec();
    sorted.sort_by_key(rank);
    sorted
        .chunk_by(|a, b| rank(a) == rank(b))
        .map(<[usize]>::to_vec)
        .collect()
}

/// The best order found.
pub(super) fn good_order(model: &Model<'_>, groups: &[usize]) -> Plan {
    let blocks = blocks(model, groups);
    let mut best = Plan {
        compared: f64::INFINITY,
        finish_s: f64::INFINITY,
        ..Plan::default()
    };
    let mut order = Vec::new();
    let most = most_trials(model, groups.len());
    // Building an order weighs every group at every step: half as many trials as groups.
    let builds = if most < groups.len() { 1 } else { 3 };
    for eagerness in [1.0, 0.4, 0.0].into_iter().take(builds) {
        let trial = built(model, &blocks, eagerness);
        if let Some(plan) = model.carry_out(&trial, f64::INFINITY)
            && plan.is_better(&best)
        {
            best = plan;
            order = trial;
        }
    }
    let mut left = most;
    while let Some(plan) = mended(model, &blocks, &mut order, &best, &mut left) {
        best = plan;
    }
    best
}

/// Always the next group that promises most: weight for time spent, `eagerness` says how much
/// the weight counts.
fn built(model: &Model<'_>, blocks: &[Vec<usize>], eagerness: f64) -> Vec<usize> {
    let mut order = Vec::new();
    let mut now_s = 0.0;
    let mut moved: Option<Start> = None;
    for block in blocks {
        let mut open = block.clone();
        while !open.is_empty() {
            let start = moved.as_ref().unwrap_or(&model.start);
            let mut best: Option<(f64, usize, f64)> = None;
            for (place, &nth) in open.iter().enumerate() {
                let end_s = model.tasks.get(nth).and_then(|task| {
                    let arrive_s = model.arrival(start, now_s, task)?;
                    Some((task, task.begin(model.ways, arrive_s) + task.service_s))
                });
                let (merit, end_s) = end_s.map_or((f64::NEG_INFINITY, now_s), |(task, end_s)| {
                    (
                        eagerness * task.weight.ln() - (end_s - now_s).max(1.0).ln(),
                        end_s,
                    )
                });
                if best.is_none_or(|(known, _, _)| merit > known) {
                    best = Some((merit, place, end_s));
                }
            }
            let Some((merit, place, end_s)) = best else {
                break;
            };
            let nth = open.swap_remove(place);
            order.push(nth);
            if merit.is_finite() {
                moved = model.tasks.get(nth).map(|task| model.after(task, end_s));
                now_s = end_s;
            }
        }
    }
    order
}

/// Moves one group, or swaps two, within their block; the first change that is better stays.
fn mended(
    model: &Model<'_>,
    blocks: &[Vec<usize>],
    order: &mut Vec<usize>,
    best: &Plan,
    left: &mut usize,
) -> Option<Plan> {
    // What comes before a change is carried out once for all of them.
    let stages = model.stages(order)?;
    let mut first = 0;
    for block in blocks {
        let end = first + block.len();
        for from in first..end {
            for to in first..end {
                for swap in [false, true] {
                    if from == to || (swap && from > to) || *left == 0 {
                        continue;
                    }
                    *left -= 1;
                    let mut trial = order.clone();
                    if swap {
                        trial.swap(from, to);
                    } else {
                        let nth = trial.remove(from);
                        trial.insert(to, nth);
                    }
                    let same = from.min(to);
                    let rest = trial.get(same..).unwrap_or_default();
                    let plan = stages
                        .get(same)
                        .and_then(|stage| model.carry_on(stage, rest, best.compared));
                    if let Some(plan) = plan
                        && plan.is_better(best)
                    {
                        *order = trial;
                        return Some(plan);
                    }
                }
            }
        }
        first = end;
    }
    None
}
