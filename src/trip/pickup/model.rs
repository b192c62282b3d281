//! The pickup model: what a run, a wait and a pickup take, and what an order costs.
//!
//! Times are seconds after `now`, places metres in the plane round the boat.

use jiff::Timestamp;

use crate::sea::chart::{Adrift, Area, KNOT_M_S, Piece, Ways, track};

pub(super) use crate::sea::chart::Start;
use crate::sea::position::{LocalPlane, Metres, Position};

/// Speed at which divers swim out of a buffer, m/s (common practice, no source: a relaxed
/// surface swim with gear).
pub const SWIM_M_S: f64 = 0.3;
/// What cannot be reached within this is told as unreachable, seconds.
pub const HORIZON_S: f64 = 86_400.0;
/// How much more a minute counts after a group has drifted into a keep-clear area.
const ASHORE: f64 = 4.0;
/// A run is covered when this much of it is left, metres.
const COVERED_M: f64 = 1e-6;
/// In the comparison of orders a group left behind weighs more than any wait there can be.
const LEFT_BEHIND_MIN: f64 = 1e7;

/// How soon a group should be fetched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Urgency {
    /// As planned.
    Routine,
    /// Cold, tired, trainees, low gas, overdue.
    Prompt,
    /// In distress: before all who are not.
    Distress,
}

impl Urgency {
    /// Weight of a minute of waiting.
    #[must_use]
    pub fn weight(self) -> f64 {
        match self {
            Self::Routine => 1.0,
            Self::Prompt => 3.0,
            Self::Distress => 1_000.0,
        }
    }
}

/// From which side the boat comes in, a setting of the boat, as sources disagree.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Approach {
    /// The boat has not chosen.
    #[default]
    NotSet,
    /// From up-wind of the people.
    FromUpWind,
    /// From down-wind of the people.
    FromDownWind,
    /// Lying so that the people are in its lee.
    InTheLee,
}

/// The boat that fetches.
#[derive(Debug, Clone, PartialEq)]
pub struct Boat {
    /// Where it lies.
    pub position: Position,
    /// Speed between groups, knots; above 0.
    pub speed_kn: f64,
    /// Seconds to board one person.
    pub boarding_s_per_person: f64,
    /// Seconds to set up at a group.
    pub approach_s: f64,
    /// The side it comes from.
    pub approach: Approach,
}

/// How the water moves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Water {
    /// Where it goes, degrees true.
    pub set_deg: f64,
    /// How fast, knots.
    pub drift_kn: f64,
}

/// The wind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wind {
    /// Where it comes from, degrees true.
    pub from_deg: f64,
    /// How fast, knots.
    pub speed_kn: f64,
}

/// A group to be fetched.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// What it is called; unique.
    pub id: String,
    /// How many; at least one.
    pub people: u32,
    /// Where it lies until `position_at`.
    pub position: Position,
    /// When it begins to drift.
    pub position_at: Timestamp,
    /// When it should come up.
    pub expected_at: Timestamp,
    /// When it was seen at the surface.
    pub surfaced_at: Option<Timestamp>,
    /// Whether it moves with the water.
    pub drifts: bool,
    /// How soon it should be fetched.
    pub urgency: Urgency,
}

/// Who is to be fetched, by whom, and where one must not go.
#[derive(Debug, Clone, PartialEq)]
pub struct Instance {
    /// When the boat sets out.
    pub now: Timestamp,
    /// The boat.
    pub boat: Boat,
    /// The water that carries drifting groups (leeway added or not, as the caller likes).
    pub water: Water,
    /// The wind, for the advice.
    pub wind: Option<Wind>,
    /// Areas to keep clear of.
    pub keep_clear: Vec<Area>,
    /// Distance kept from them, metres.
    pub stand_off_m: f64,
    /// The groups.
    pub groups: Vec<Group>,
    /// The pickup under way: first, whatever else.
    pub under_way: Option<String>,
    /// What the skipper fixed: next, in this order.
    pub fixed: Vec<String>,
}

/// Why an order starts as it does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Rank {
    UnderWay,
    Fixed(usize),
    Distress,
    Open,
}

/// A group as the model sees it.
#[derive(Debug)]
pub(super) struct Task {
    pub(super) thing: Adrift,
    pub(super) track: Vec<Piece>,
    /// At the surface from here on.
    pub(super) up_s: f64,
    /// From start to end of the pickup.
    pub(super) service_s: f64,
    /// People times weight.
    pub(super) weight: f64,
    /// First instant in a keep-clear area.
    pub(super) ashore_s: Option<f64>,
    pub(super) rank: Rank,
}

impl Task {
    fn piece(&self, time_s: f64) -> Option<&Piece> {
        let after = self.track.partition_point(|piece| piece.from_s <= time_s);
        self.track.get(after.saturating_sub(1))
    }

    /// The meeting point at an instant.
    pub(super) fn meet(&self, time_s: f64) -> Metres {
        self.piece(time_s)
            .map_or_else(|| self.thing.place(time_s), |piece| piece.meet(time_s))
    }

    /// Metres from its place to the edge of the buffer, 0 outside.
    pub(super) fn swim_m(&self, ways: &Ways, time_s: f64) -> f64 {
        match self.piece(time_s) {
            Some(piece) if piece.is_inside => {
                let meet = piece.meet(time_s);
                // The meeting point stands a few centimetres further out than it must, where the
                // buffer's corner is drawn about its arc: nobody swims those.
                let spare_m = ways
                    .areas()
                    .distance_m(meet)
                    .map_or(0.0, |off_m| off_m - ways.stand_off_m());
                (meet.distance(self.thing.place(time_s)) - spare_m.max(0.0)).max(0.0)
            }
            _ => 0.0,
        }
    }

    /// When the pickup starts if the boat is there from `arrive_s`.
    pub(super) fn begin(&self, ways: &Ways, arrive_s: f64) -> f64 {
        let swim_s = self.swim_m(ways, arrive_s.max(self.up_s)) / SWIM_M_S;
        arrive_s.max(self.up_s + swim_s)
    }

    /// What a pickup that starts at `begin_s` costs.
    pub(super) fn cost(&self, begin_s: f64) -> f64 {
        let ashore_s = self
            .ashore_s
            .map_or(0.0, |since| (begin_s - since).max(0.0));
        self.weight * (begin_s - self.up_s + ASHORE * ashore_s) / 60.0
    }

    /// The part of the cost that grows with every minute from `up` on.
    pub(super) fn wait_cost(&self, begin_s: f64) -> f64 {
        self.weight * (begin_s - self.up_s) / 60.0
    }

    /// No swim out of a buffer is longer, metres: on a straight piece the swim is longest at an end.
    pub(super) fn longest_swim_m(&self) -> f64 {
        self.track
            .iter()
            .filter(|piece| piece.is_inside)
            .flat_map(|piece| {
                // A piece without end lies still.
                let to_s = if piece.to_s.is_finite() {
                    piece.to_s
                } else {
                    piece.from_s
                };
                [piece.from_s, to_s]
                    .map(|time_s| piece.meet(time_s).distance(self.thing.place(time_s)))
            })
            .fold(0.0, f64::max)
    }

    /// From when on the group is settled: its meeting point does not jump, its swim does not
    /// change, and a boat of this speed can keep up with it. Infinite: never.
    pub(super) fn settled_s(&self, speed: f64) -> f64 {
        if self.thing.velocity.length() > speed {
            return f64::INFINITY;
        }
        self.track
            .iter()
            .filter(|piece| piece.is_inside && piece.to_s.is_finite())
            .map(|piece| piece.to_s)
            .fold(f64::NEG_INFINITY, f64::max)
    }

    /// What leaving the group behind counts in the comparison of orders.
    pub(super) fn left_behind(&self) -> f64 {
        self.weight * LEFT_BEHIND_MIN
    }
}

/// The instance laid into the plane.
#[derive(Debug)]
pub(super) struct Model<'w> {
    pub(super) plane: LocalPlane,
    pub(super) ways: &'w Ways,
    pub(super) speed: f64,
    pub(super) water: Metres,
    pub(super) wind: Metres,
    pub(super) start: Start,
    pub(super) tasks: Vec<Task>,
}

/// One pickup of an order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Pickup {
    pub(super) task: usize,
    pub(super) depart_s: f64,
    pub(super) arrive_s: f64,
    pub(super) begin_s: f64,
    pub(super) end_s: f64,
}

/// An order carried out.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Plan {
    pub(super) pickups: Vec<Pickup>,
    /// Groups that could not be reached when their turn came.
    pub(super) left: Vec<usize>,
    /// Cost of the pickups.
    pub(super) cost: f64,
    /// The same with what was left behind.
    pub(super) compared: f64,
    pub(super) finish_s: f64,
}

impl Plan {
    /// Cheaper, or as cheap and finished earlier.
    pub(super) fn is_better(&self, other: &Self) -> bool {
        let tie = 1e-9 * other.compared.abs().max(1.0);
        self.compared < other.compared - tie
            || (self.compared <= other.compared + tie && self.finish_s < other.finish_s - 1e-6)
    }
}

impl<'w> Model<'w> {
    pub(super) fn new(instance: &Instance, plane: LocalPlane, ways: &'w Ways) -> Self {
        let water = Metres::towards(instance.water.set_deg, instance.water.drift_kn * KNOT_M_S);
        let wind = instance.wind.map_or_else(Metres::default, |wind| {
            Metres::towards(wind.from_deg + 180.0, wind.speed_kn * KNOT_M_S)
        });
        let tasks = instance
            .groups
            .iter()
            .map(|group| task(instance, group, &plane, ways, water))
            .collect();
        Self {
            start: ways.start(plane.metres(instance.boat.position)),
            speed: instance.boat.speed_kn * KNOT_M_S,
            plane,
            ways,
            water,
            wind,
            tasks,
        }
    }

    /// The first instant at which the run from `start`, left at `depart_s`, to the meeting point
    /// of that instant is covered. `None`: not within the horizon.
    pub(super) fn arrival(&self, start: &Start, depart_s: f64, task: &Task) -> Option<f64> {
        let first = task.track.partition_point(|piece| piece.to_s <= depart_s);
        task.track
            .iter()
            .skip(first)
            .take_while(|piece| piece.from_s <= HORIZON_S)
            .find_map(|piece| {
                let chase = Chase {
                    model: self,
                    start,
                    piece,
                    depart_s,
                    from_s: piece.from_s.max(depart_s),
                    to_s: piece.to_s.min(HORIZON_S),
                };
                chase.covered()
            })
    }

    /// The earliest end of each pickup: the boat goes straight for it and nobody has to swim.
    pub(super) fn earliest_ends_s(&self) -> Vec<f64> {
        self.tasks
            .iter()
            .map(|task| {
                let arrive_s = self.arrival(&self.start, 0.0, task).unwrap_or(0.0);
                arrive_s.max(task.up_s) + task.service_s
            })
            .collect()
    }

    /// The boat where it lies at the end of a pickup.
    pub(super) fn after(&self, task: &Task, end_s: f64) -> Start {
        self.ways.start(task.meet(end_s))
    }

    /// Carries out an order; gives up where it cannot get better than `limit`.
    pub(super) fn carry_out(&self, order: &[usize], limit: f64) -> Option<Plan> {
        self.carry_on(&Stage::default(), order, limit)
    }

    /// Carries out the rest of an order.
    pub(super) fn carry_on(&self, from: &Stage, order: &[usize], limit: f64) -> Option<Plan> {
        let mut plan = from.plan.clone();
        let mut moved: Option<Start> = None;
        for &nth in order {
            let start = moved.as_ref().or(from.boat.as_ref());
            let start = start.unwrap_or(&self.start);
            let task = self.tasks.get(nth)?;
            if let Some(boat) = self.fetch(&mut plan, start, (nth, task)) {
                moved = Some(boat);
            }
            if plan.compared > limit {
                return None;
            }
        }
        Some(plan)
    }

    /// How an order stands before each of its pickups.
    pub(super) fn stages(&self, order: &[usize]) -> Option<Vec<Stage>> {
        let mut stages = vec![Stage::default()];
        let mut plan = Plan::default();
        for (&nth, done) in order.iter().zip(1..) {
            // The boat lies where the last pickup that it could make has left it.
            let start = stages.iter().rev().find_map(|stage| stage.boat.as_ref());
            let task = self.tasks.get(nth)?;
            let from = start.unwrap_or(&self.start);
            let boat = match self.fetch(&mut plan, from, (nth, task)) {
                Some(boat) => Some(boat),
                None => start.map(|start| self.ways.start(start.at())),
            };
            if done < order.len() {
                let plan = plan.clone();
                stages.push(Stage { plan, boat });
            }
        }
        Some(stages)
    }

    /// Adds a pickup to a plan; answers where the boat then lies, or nothing where it stays as
    /// the group is out of reach.
    fn fetch(&self, plan: &mut Plan, start: &Start, of: (usize, &Task)) -> Option<Start> {
        let (nth, task) = of;
        let Some(arrive_s) = self.arrival(start, plan.finish_s, task) else {
            plan.left.push(nth);
            plan.compared += task.left_behind();
            return None;
        };
        let begin_s = task.begin(self.ways, arrive_s);
        let end_s = begin_s + task.service_s;
        plan.pickups.push(Pickup {
            task: nth,
            depart_s: plan.finish_s,
            arrive_s,
            begin_s,
            end_s,
        });
        plan.cost += task.cost(begin_s);
        plan.compared += task.cost(begin_s);
        plan.finish_s = end_s;
        Some(self.after(task, end_s))
    }
}

/// An order carried out in part.
#[derive(Debug, Default)]
pub(super) struct Stage {
    plan: Plan,
    /// Where the boat lies; where it set out, if none.
    boat: Option<Start>,
}

fn task(
    instance: &Instance,
    group: &Group,
    plane: &LocalPlane,
    ways: &Ways,
    water: Metres,
) -> Task {
    let seconds = |at: Timestamp| at.duration_since(instance.now).as_secs_f64();
    let thing = Adrift {
        at: plane.metres(group.position),
        from_s: seconds(group.position_at),
        velocity: if group.drifts {
            water
        } else {
            Metres::default()
        },
    };
    let up_s = seconds(group.surfaced_at.unwrap_or(group.expected_at));
    let ashore_s = if group.drifts {
        let since = up_s.max(thing.from_s);
        ways.areas()
            .touched_after_s(thing.place(since), water)
            .map(|after| since + after)
    } else {
        None
    };
    let rank = if instance.under_way.as_ref() == Some(&group.id) {
        Rank::UnderWay
    } else if let Some(nth) = instance.fixed.iter().position(|id| *id == group.id) {
        Rank::Fixed(nth)
    } else if group.urgency == Urgency::Distress {
        Rank::Distress
    } else {
        Rank::Open
    };
    let people = f64::from(group.people);
    Task {
        track: track(ways, thing, 0.0),
        thing,
        up_s,
        service_s: instance.boat.approach_s + instance.boat.boarding_s_per_person * people,
        weight: people * group.urgency.weight(),
        ashore_s,
        rank,
    }
}

/// A run towards a meeting point that moves straight and evenly.
struct Chase<'a> {
    model: &'a Model<'a>,
    start: &'a Start,
    piece: &'a Piece,
    depart_s: f64,
    from_s: f64,
    to_s: f64,
}

impl Chase<'_> {
    /// The first instant of the piece at which the run is covered.
    fn covered(&self) -> Option<f64> {
        let out = self.start.out()?;
        // No run is shorter than the straight one, so nothing is missed before this.
        let straight_s = self.caught((out, self.start.lead_m()), self.from_s)?;
        let (mut ahead, mut last) = self.ahead(straight_s);
        if ahead <= COVERED_M {
            return Some(straight_s);
        }
        if ahead.is_infinite() {
            // Open water is one piece with itself: closed in now, closed in all along.
            return None;
        }
        if self.piece.velocity.length() >= self.model.speed {
            return self.crept_up(out, straight_s, ahead);
        }
        // The boat is faster, so what is ahead shrinks all the time: there is one instant.
        let (mut low, mut high) = (straight_s, None);
        for _ in 0..100 {
            let aim = self.caught(last, low).unwrap_or(self.to_s);
            let aim = match high {
                Some(high) if aim <= low || aim >= high => f64::midpoint(low, high),
                _ => aim,
            };
            (ahead, last) = self.ahead(aim);
            if ahead.abs() <= COVERED_M {
                return Some(aim);
            }
            if ahead <= 0.0 {
                high = Some(aim);
            } else if aim >= self.to_s {
                return None;
            } else {
                low = aim;
            }
            if high.is_some_and(|high| high - low < 1e-9 * high.abs().max(1.0)) {
                break;
            }
        }
        high
    }

    /// For a boat that is not faster: what is ahead shrinks at most at the sum of both speeds.
    fn crept_up(&self, out: Metres, from_s: f64, ahead: f64) -> Option<f64> {
        let closing = self.model.speed + self.piece.velocity.length();
        let (mut at, mut ahead) = (from_s, ahead);
        for _ in 0..20_000 {
            if ahead <= COVERED_M {
                return Some(at);
            }
            at += (ahead / closing).max(1e-6);
            // Where even the straight run does not catch it any more, no run does.
            at = self.caught((out, self.start.lead_m()), at)?;
            if at > self.to_s {
                return None;
            }
            (ahead, _) = self.ahead(at);
        }
        None
    }

    /// Metres of the run to the meeting point of an instant that are not yet covered.
    fn ahead(&self, time_s: f64) -> (f64, (Metres, f64)) {
        let run = self.model.ways.run(self.start, self.piece.meet(time_s));
        let covered = self.model.speed * (time_s - self.depart_s);
        (run.length_m - covered, run.last)
    }

    /// The first instant, not before `from_s`, at which a boat that goes straight from `bend`, to
    /// which it ran `lead_m`, has the meeting point. With D(t) its way from the bend:
    /// |D + u t| = v t - lead.
    fn caught(&self, (bend, lead_m): (Metres, f64), from_s: f64) -> Option<f64> {
        let (v, u) = (self.model.speed, self.piece.velocity);
        let way = self.piece.meet(from_s) - bend;
        let in_hand = v * (from_s - self.depart_s) - lead_m;
        if way.length() <= in_hand + COVERED_M {
            return Some(from_s);
        }
        // With s seconds after from_s: (u² - v²) s² + 2 (way·u - in_hand v) s + way² - in_hand² = 0.
        let a = u.dot(u) - v * v;
        let b = way.dot(u) - in_hand * v;
        let c = way.dot(way) - in_hand * in_hand;
        let root = (b * b - a * c).max(0.0).sqrt();
        let candidates = if a.abs() < 1e-12 {
            [-c / (2.0 * b), f64::NAN]
        } else {
            // Written so that neither root suffers from cancelling.
            let q = if b >= 0.0 { -b - root } else { -b + root };
            [q / a, c / q]
        };
        let real = b * b - a * c >= 0.0;
        candidates
            .into_iter()
            .filter(|&s| real && s >= 0.0 && in_hand + v * s >= -COVERED_M)
            .min_by(f64::total_cmp)
            .map(|s| from_s + s)
            .filter(|&time_s| time_s <= self.to_s)
    }
}
