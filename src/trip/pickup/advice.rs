//! What stands beside each pickup: what the hull will do there, why it comes now, what to
//! beware of. Facts for the skipper, never a heading to steer.

use std::fmt;

use crate::sea::chart::{HullDrift, KNOT_M_S, Start, hull_drift, stand_off_min};
use crate::sea::position::Metres;
use crate::sea::zones::least_stand_off_min;

use super::Row;
use super::instant;
use super::model::{Approach, Instance, Model, Pickup, Plan, Rank, SWIM_M_S, Urgency};

/// Groups below nearer to the run than this are warned of, metres (common practice, no source).
const NEAR_RUN_M: f64 = 100.0;
/// A hull slower than this hardly moves, m/s.
const STILL_M_S: f64 = 0.03;
/// A run shorter than this has no course, metres.
const NO_RUN_M: f64 = 1.0;

/// How the hull moves where it lies without engine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hull {
    /// Where to, degrees true; `None` where it hardly moves.
    pub towards_deg: Option<f64>,
    /// How fast, knots.
    pub speed_kn: f64,
}

/// The note on coming in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Advice {
    /// What wind and current do to the hull.
    pub hull: Hull,
    /// The boat's own setting.
    pub approach: Approach,
    /// Where the wind comes from, degrees true, where it is known and blows.
    pub wind_from_deg: Option<f64>,
}

impl fmt::Display for Advice {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.hull.towards_deg {
            Some(towards) => write!(
                f,
                "Out of gear the hull goes towards {towards:03.0}° at {:.1} kn.",
                self.hull.speed_kn
            )?,
            None => write!(f, "Out of gear the hull hardly moves.")?,
        }
        match self.approach {
            Approach::NotSet => write!(f, " Side to come from: not set for this boat.")?,
            Approach::FromUpWind => write!(f, " This boat comes in from up-wind.")?,
            Approach::FromDownWind => write!(f, " This boat comes in from down-wind.")?,
            Approach::InTheLee => write!(f, " This boat takes people in its lee.")?,
        }
        match self.wind_from_deg {
            Some(from) => write!(f, " Wind from {from:03.0}°."),
            None => write!(f, " Wind not known or none."),
        }
    }
}

/// What speaks for a group ahead of the next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Because {
    /// It drifts into a keep-clear area in so many minutes from now; negative: it has.
    DriftsAshore {
        /// Minutes from now.
        minutes: f64,
    },
    /// It should be fetched promptly and the next need not.
    Prompt,
    /// It is up first.
    UpFirst,
    /// It has the shortest run.
    Nearest,
    /// The whole order then waits least.
    LeastWaiting,
}

/// Why a group stands where it does in the order.
#[derive(Debug, Clone, PartialEq)]
pub enum Why {
    /// Its pickup is under way.
    UnderWay,
    /// The skipper fixed its place.
    Fixed,
    /// It is in distress.
    Distress,
    /// All others come before it.
    Last,
    /// It was chosen ahead of the next one.
    Ahead {
        /// What speaks for it.
        because: Because,
        /// The next group.
        next: String,
        /// What taking the next one first would cost more, weighted person-minutes; `None`:
        /// one of them would then be out of reach.
        swap_costs: Option<f64>,
    },
}

impl fmt::Display for Why {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::UnderWay => write!(f, "The pickup is under way."),
            Self::Fixed => write!(f, "The skipper fixed it here."),
            Self::Distress => write!(f, "In distress: before all who are not."),
            Self::Last => write!(f, "The others come before it."),
            Self::Ahead {
                because,
                next,
                swap_costs,
            } => {
                match because {
                    Because::DriftsAshore { minutes } if *minutes > 0.0 => write!(
                        f,
                        "It drifts into a keep-clear area {minutes:.0} min from now."
                    )?,
                    Because::DriftsAshore { .. } => {
                        write!(f, "It has drifted into a keep-clear area.")?;
                    }
                    Because::Prompt => write!(f, "To be fetched promptly.")?,
                    Because::UpFirst => write!(f, "It is up before the others.")?,
                    Because::Nearest => write!(f, "The shortest run from there.")?,
                    Because::LeastWaiting => write!(f, "All together wait least this way.")?,
                }
                match swap_costs {
                    Some(more) => write!(
                        f,
                        " {next} before it would cost {more:.0} weighted person-minutes more."
                    ),
                    None => write!(f, " With {next} before it, one would be out of reach."),
                }
            }
        }
    }
}

/// What to beware of at a pickup.
#[derive(Debug, Clone, PartialEq)]
pub enum Warning {
    /// A hull without engine would touch a keep-clear area too soon.
    StandOffBelowMinimum {
        /// The worst on the pickup's way, minutes.
        minutes: f64,
        /// What it should be, minutes.
        minimum: f64,
    },
    /// Groups that may still be below lie near the run.
    GroupsNearRun {
        /// Which.
        ids: Vec<String>,
    },
    /// The group is set towards the reef faster than it can swim away.
    CannotSwimClear {
        /// How fast, m/s.
        set_m_s: f64,
    },
    /// Nobody has seen the group at the surface.
    NotSeen,
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::StandOffBelowMinimum { minutes, minimum } => write!(
                f,
                "stand-off below minimum: {minutes:.1} min, {minimum:.1} wanted"
            ),
            Self::GroupsNearRun { ids } => write!(
                f,
                "groups still down within {NEAR_RUN_M:.0} m of the run ({}): slow, lookout",
                ids.join(", ")
            ),
            Self::CannotSwimClear { set_m_s } => write!(
                f,
                "cannot swim clear: set towards the reef at {set_m_s:.1} m/s"
            ),
            Self::NotSeen => write!(f, "not seen, stand off"),
        }
    }
}

/// Why a group cannot be reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unreachable {
    /// The boat lies in a buffer and no straight line out is clear of the areas.
    BoatHemmedIn,
    /// Keep-clear areas with their stand-off close the meeting point in.
    ClosedIn,
    /// The drift takes it away faster than the boat runs.
    OutrunByDrift,
    /// It could be reached alone, but not with the others before it.
    LeftBehind,
}

impl fmt::Display for Unreachable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::BoatHemmedIn => "the boat cannot get clear of the keep-clear areas round it",
            Self::ClosedIn => "keep-clear areas with their stand-off close it in",
            Self::OutrunByDrift => "it drifts away faster than the boat runs; not within 24 h",
            Self::LeftBehind => "it drifts out of reach while the others are fetched",
        })
    }
}

/// Why no run reaches a group.
pub(super) fn unreachable(model: &Model<'_>, nth: usize) -> Unreachable {
    if model.start.out().is_none() {
        return Unreachable::BoatHemmedIn;
    }
    let open = model.tasks.get(nth).is_some_and(|task| {
        let mut pieces = task.track.iter();
        pieces.any(|piece| model.ways.run(&model.start, piece.at).length_m.is_finite())
    });
    if open {
        Unreachable::OutrunByDrift
    } else {
        Unreachable::ClosedIn
    }
}

/// The rows of a plan.
pub(super) fn rows(instance: &Instance, model: &Model<'_>, plan: &Plan) -> Vec<Row> {
    let drift = hull_drift(model.water, model.wind);
    let mut rows = Vec::with_capacity(plan.pickups.len());
    let mut moved: Option<Start> = None;
    for (nth, pickup) in plan.pickups.iter().enumerate() {
        let start = moved.as_ref().unwrap_or(&model.start);
        rows.extend(row(instance, model, plan, nth, start, &drift));
        moved = model
            .tasks
            .get(pickup.task)
            .map(|task| model.after(task, pickup.end_s));
    }
    rows
}

fn row(
    instance: &Instance,
    model: &Model<'_>,
    plan: &Plan,
    nth: usize,
    start: &Start,
    drift: &HullDrift,
) -> Option<Row> {
    let pickup = plan.pickups.get(nth)?;
    let task = model.tasks.get(pickup.task)?;
    let group = instance.groups.get(pickup.task)?;
    let meet = task.meet(pickup.arrive_s);
    let way = model
        .ways
        .way(start, meet)
        .unwrap_or_else(|| vec![start.at(), meet]);
    let run_m = model.ways.run(start, meet).length_m;
    let course_deg = way
        .iter()
        .map(|&at| at - start.at())
        .find(|leg| leg.length() >= NO_RUN_M)
        .map(Metres::direction_deg);
    let at = |seconds| instant(instance.now, seconds);
    let areas = model.ways.areas();
    Some(Row {
        id: group.id.clone(),
        depart_at: at(pickup.depart_s),
        arrive_at: at(pickup.arrive_s),
        start_at: at(pickup.begin_s),
        end_at: at(pickup.end_s),
        meet: model.plane.position(meet),
        way: way.iter().map(|&at| model.plane.position(at)).collect(),
        run_m,
        course_deg,
        wait_s: pickup.begin_s - pickup.arrive_s,
        stand_off_m: areas.distance_m(meet),
        stand_off_min: stand_off_min(areas, meet, drift),
        advice: note(instance, drift),
        why: why(instance, model, plan, nth)?,
        warnings: warnings(instance, model, plan, nth, &way, drift),
    })
}

fn note(instance: &Instance, drift: &HullDrift) -> Advice {
    let speed = drift.mean.length();
    Advice {
        hull: Hull {
            towards_deg: (speed >= STILL_M_S).then(|| drift.mean.direction_deg()),
            speed_kn: speed / KNOT_M_S,
        },
        approach: instance.boat.approach,
        wind_from_deg: instance
            .wind
            .filter(|wind| wind.speed_kn > 0.0)
            .map(|wind| wind.from_deg.rem_euclid(360.0)),
    }
}

fn why(instance: &Instance, model: &Model<'_>, plan: &Plan, nth: usize) -> Option<Why> {
    let pickup = plan.pickups.get(nth)?;
    let task = model.tasks.get(pickup.task)?;
    match task.rank {
        Rank::UnderWay => return Some(Why::UnderWay),
        Rank::Fixed(_) => return Some(Why::Fixed),
        Rank::Distress => return Some(Why::Distress),
        Rank::Open => {}
    }
    let Some(next) = plan.pickups.get(nth + 1) else {
        return Some(Why::Last);
    };
    let (group, after) = (
        instance.groups.get(pickup.task)?,
        instance.groups.get(next.task)?,
    );
    let mut order: Vec<usize> = plan.pickups.iter().map(|pickup| pickup.task).collect();
    order.swap(nth, nth + 1);
    let swapped = model.carry_out(&order, f64::INFINITY)?;
    Some(Why::Ahead {
        because: because(model, plan, nth, group.urgency, after.urgency)?,
        next: after.id.clone(),
        swap_costs: swapped.left.is_empty().then_some(swapped.cost - plan.cost),
    })
}

fn because(
    model: &Model<'_>,
    plan: &Plan,
    nth: usize,
    urgency: Urgency,
    next: Urgency,
) -> Option<Because> {
    let pickup = plan.pickups.get(nth)?;
    let task = model.tasks.get(pickup.task)?;
    if let Some(ashore_s) = task.ashore_s.filter(|&ashore_s| ashore_s < plan.finish_s) {
        return Some(Because::DriftsAshore {
            minutes: ashore_s / 60.0,
        });
    }
    if urgency == Urgency::Prompt && next == Urgency::Routine {
        return Some(Because::Prompt);
    }
    let before = nth
        .checked_sub(1)
        .and_then(|before| plan.pickups.get(before));
    let moved = before.and_then(|p| Some(model.after(model.tasks.get(p.task)?, p.end_s)));
    let start = moved.as_ref().unwrap_or(&model.start);
    let later = || {
        plan.pickups
            .iter()
            .skip(nth + 1)
            .filter_map(|p| model.tasks.get(p.task))
    };
    let run = |arrive_s: f64| arrive_s - pickup.depart_s;
    if later().all(|other| {
        model
            .arrival(start, pickup.depart_s, other)
            .is_none_or(|arrive_s| run(arrive_s) >= run(pickup.arrive_s))
    }) {
        return Some(Because::Nearest);
    }
    if later().all(|other| other.up_s >= task.up_s) {
        return Some(Because::UpFirst);
    }
    Some(Because::LeastWaiting)
}

fn warnings(
    instance: &Instance,
    model: &Model<'_>,
    plan: &Plan,
    nth: usize,
    way: &[Metres],
    drift: &HullDrift,
) -> Vec<Warning> {
    let mut warnings = Vec::new();
    let found = plan.pickups.get(nth).and_then(|pickup| {
        let (task, group) = (
            model.tasks.get(pickup.task)?,
            instance.groups.get(pickup.task)?,
        );
        Some((pickup, task, group))
    });
    let Some((pickup, task, group)) = found else {
        return warnings;
    };
    let areas = model.ways.areas();
    let minimum = least_stand_off_min(task.service_s / 60.0);
    let worst = [pickup.arrive_s, pickup.begin_s, pickup.end_s]
        .iter()
        .filter_map(|&at| stand_off_min(areas, task.meet(at), drift))
        .min_by(f64::total_cmp);
    if let Some(minutes) = worst.filter(|&minutes| minutes < minimum) {
        warnings.push(Warning::StandOffBelowMinimum { minutes, minimum });
    }
    let ids = near_run(instance, model, plan, nth, way);
    if !ids.is_empty() {
        warnings.push(Warning::GroupsNearRun { ids });
    }
    let seen_s = pickup.arrive_s.max(task.up_s);
    if task.swim_m(model.ways, seen_s) > 0.0 {
        let place = task.thing.place(seen_s);
        let set = areas.nearest(place).map_or(0.0, |reef| {
            let towards = reef - place;
            if towards.length() > 0.0 {
                task.thing.velocity.dot(towards) / towards.length()
            } else {
                // Over the reef itself every way out leads off it: the whole drift is against it.
                task.thing.velocity.length()
            }
        });
        if set > SWIM_M_S {
            warnings.push(Warning::CannotSwimClear { set_m_s: set });
        }
    }
    if group.surfaced_at.is_none() {
        warnings.push(Warning::NotSeen);
    }
    warnings
}

/// Groups nobody has seen up, not yet fetched, that come near the run while it is made.
fn near_run(
    instance: &Instance,
    model: &Model<'_>,
    plan: &Plan,
    nth: usize,
    way: &[Metres],
) -> Vec<String> {
    let Some(pickup) = plan.pickups.get(nth) else {
        return Vec::new();
    };
    let fetched = |task: usize| {
        let mut done = plan.pickups.iter().take(nth + 1);
        done.any(|pickup: &Pickup| pickup.task == task)
    };
    instance
        .groups
        .iter()
        .zip(&model.tasks)
        .enumerate()
        .filter(|(number, (group, task))| {
            let drifted = (
                task.thing.place(pickup.depart_s),
                task.thing.place(pickup.arrive_s),
            );
            group.surfaced_at.is_none()
                && !fetched(*number)
                && way.windows(2).any(|leg| match leg {
                    &[a, b] => apart(a, b, drifted.0, drifted.1) < NEAR_RUN_M,
                    _ => false,
                })
        })
        .map(|(_, (group, _))| group.id.clone())
        .collect()
}

/// Least distance between the lines from `a` to `b` and from `c` to `d`; too small rather than
/// too large where they cross, which is all a warning needs.
fn apart(a: Metres, b: Metres, c: Metres, d: Metres) -> f64 {
    let off = |p: Metres, from: Metres, to: Metres| {
        let way = to - from;
        let square = way.dot(way);
        let along = if square > 0.0 {
            ((p - from).dot(way) / square).clamp(0.0, 1.0)
        } else {
            0.0
        };
        p.distance(from + way * along)
    };
    let sides = |p: Metres, q: Metres, r: Metres, s: Metres| {
        let way = q - p;
        way.cross(r - p) * way.cross(s - p) < 0.0
    };
    if sides(a, b, c, d) && sides(c, d, a, b) {
        return 0.0;
    }
    [off(a, c, d), off(b, c, d), off(c, a, b), off(d, a, b)]
        .into_iter()
        .fold(f64::INFINITY, f64::min)
}
