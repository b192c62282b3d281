//! The way up: how long a dive may last without stops, and which stops it owes after that.

use super::mix::Mix;
use super::plan::{DivePlan, Leg, Part, Rates, Stop};
use super::pressure::Column;
use super::tissue::{GradientFactors, Passage, Tissues};
use crate::units::Faults;

/// Longest bottom time that is looked at, minutes: beyond it a limit is none.
pub const LONGEST_MIN: f64 = 600.0;

/// Distance of stops, metres.
const GRID_M: f64 = 3.0;

/// Longest wait at one stop, minutes: a plan that owes more cannot be told to anybody.
const LONGEST_WAIT_MIN: f64 = 24.0 * 60.0;

/// Halvings of a bracket of ten hours: to a tenth of a millisecond.
const HALVINGS: u32 = 30;

/// Slack of depths on the grid, metres.
const SLACK_M: f64 = 1e-9;

/// How the minutes of a stop are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum StopLength {
    /// As the model gives them.
    #[default]
    Exact,
    /// Rounded up to whole minutes, as a group is told them.
    WholeMinutes,
}

/// What a dive is held against.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Model {
    /// Water and surface pressure.
    pub column: Column,
    /// Shares of the gradient.
    pub gradient_factors: GradientFactors,
    /// How stops are told.
    pub stop_length: StopLength,
}

impl Default for Model {
    fn default() -> Self {
        Self {
            column: Column::default(),
            gradient_factors: GradientFactors::USUAL,
            stop_length: StopLength::Exact,
        }
    }
}

/// Somebody's inert gas at some moment of a dive, and what they breathe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Breather {
    /// Inert gas in the tissues.
    pub tissues: Tissues,
    /// The gas.
    pub mix: Mix,
}

impl Breather {
    /// After a leg.
    #[must_use]
    pub fn after(&self, leg: &Leg, column: Column) -> Self {
        Self {
            tissues: self.tissues.after(leg, self.mix, column),
            ..*self
        }
    }

    /// After several legs.
    #[must_use]
    pub fn after_all<'a>(&self, legs: impl IntoIterator<Item = &'a Leg>, column: Column) -> Self {
        Self {
            tissues: self.tissues.after_all(legs, self.mix, column),
            ..*self
        }
    }
}

/// Longest bottom time of a plan whose last level is stretched or cut, after which the ascent
/// at the plan's rates straight to the surface, without any stop, holds the limit of the high
/// gradient factor at every depth on the way; minutes.
///
/// Where reaching the last level is already too much, an earlier one has to be left sooner, and
/// the time is that of leaving it: zero where not even the way down leaves such an ascent.
/// `None` where ten hours do.
#[must_use]
pub fn no_stop_limit_min(plan: &DivePlan, before: &Breather, model: &Model) -> Option<f64> {
    let levels = plan.levels().len();
    for count in (1..=levels).rev() {
        let (legs, leaving_m) = plan.way_to_level(count);
        match longest_stay(&legs, leaving_m, plan.rates(), before, model) {
            Longest::Unlimited if count == levels => return None,
            // A level that is to be left for another is not stretched.
            Longest::Unlimited => return Some(plan.bottom_time_of(count)),
            Longest::Minutes(min) if count == levels => return Some(min),
            Longest::Minutes(min) => return Some(min.min(plan.bottom_time_of(count))),
            Longest::Never => {}
        }
    }
    Some(0.0)
}

/// How long somebody may stay at a level.
enum Longest {
    /// Ten hours and more.
    Unlimited,
    /// Minutes from leaving the surface.
    Minutes(f64),
    /// Not at all: the way there is too much.
    Never,
}

fn longest_stay(
    way: &[Leg],
    depth_m: f64,
    rates: Rates,
    before: &Breather,
    model: &Model,
) -> Longest {
    let way_min: f64 = way.iter().map(|leg| leg.minutes).sum();
    let arrived = before.after_all(way, model.column);
    let climb = Climb::new(depth_m, rates, &arrived, model);
    let stay = Stay::new(depth_m, &arrived, model);
    let holds = |stay_min: f64| climb.holds(&stay.after(stay_min));
    let most_min = LONGEST_MIN - way_min;
    if most_min <= 0.0 || holds(most_min) {
        return Longest::Unlimited;
    }
    // Somebody who comes loaded to a shallow level loses gas there: the ascent may hold only
    // after a while, so that the way alone tells nothing.
    let Some(mut held_min) = first_held(&holds, most_min) else {
        return Longest::Never;
    };
    let mut broken_min = most_min;
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(held_min, broken_min);
        if holds(middle) {
            held_min = middle;
        } else {
            broken_min = middle;
        }
    }
    Longest::Minutes(way_min + held_min)
}

/// A stay after which the ascent holds: none at all, or one of a few lengths.
fn first_held(holds: &impl Fn(f64) -> bool, most_min: f64) -> Option<f64> {
    let mut stay_min = 0.0;
    while stay_min < most_min {
        if holds(stay_min) {
            return Some(stay_min);
        }
        stay_min += if stay_min < 60.0 { 5.0 } else { 30.0 };
    }
    None
}

/// Whether a plan as it stands needs no stop: no change of level breaks the limit of the high
/// gradient factor, nor does the ascent straight to the surface.
#[must_use]
pub fn is_within_no_stop(plan: &DivePlan, before: &Breather, model: &Model) -> bool {
    let legs = plan.bottom_legs();
    if level_above_ceiling(plan, before, model).is_some() {
        return false;
    }
    let leaving = before.after_all(&legs, model.column);
    let leaving_m = legs.last().map_or(0.0, |leg| leg.to_m);
    Climb::new(leaving_m, plan.rates(), &leaving, model).holds(&leaving.tissues)
}

/// The first level, counted from 0, that lies above the limit of the high gradient factor when
/// it is reached.
#[must_use]
pub fn level_above_ceiling(plan: &DivePlan, before: &Breather, model: &Model) -> Option<usize> {
    let high = model.gradient_factors.high();
    let mut now = *before;
    for (level, leg) in plan.legs_of_levels() {
        now = now.after(&leg, model.column);
        let ambient = model.column.ambient_bar(leg.to_m);
        if leg.to_m < leg.from_m && !now.tissues.holds(ambient, high) {
            return Some(level);
        }
    }
    None
}

/// The stops that a group owes which leaves `from_m` with these loads, deepest first: on the
/// 3 m grid, each as long as the strictest needs before the next may be gone to; empty where
/// each may go straight up.
///
/// At the first stop of each diver the low gradient factor holds, the high one at the surface,
/// between them the line. A level above the ceiling is held until the ceiling lets go.
///
/// # Errors
/// A fault if a stop would take more than a day.
pub fn required_stops(
    leaving: &[Breather],
    from_m: f64,
    rates: Rates,
    model: &Model,
) -> Result<Vec<Stop>, Faults> {
    let mut group: Vec<(Breather, f64)> = leaving
        .iter()
        .map(|diver| (*diver, first_stop_m(diver, from_m, rates, model)))
        .collect();
    let mut stops = Vec::new();
    // Who may go straight up slows down from 5 m; step by step the way to 3 m is quicker.
    if group.iter().all(|(_, first_m)| *first_m <= 0.0) {
        return Ok(stops);
    }
    let mut at_m = from_m;
    while at_m > 0.0 {
        let way = way_up(at_m, grid_above(at_m), rates);
        let mut wait_min = 0.0_f64;
        for (diver, first_m) in &group {
            wait_min = wait_min.max(wait(diver, &way, *first_m, model)?);
        }
        if wait_min > 0.0 {
            if model.stop_length == StopLength::WholeMinutes {
                wait_min = wait_min.ceil();
            }
            stops.push(Stop::owed(at_m, wait_min));
        }
        let stay = stay_at(at_m, wait_min);
        for (diver, _) in &mut group {
            *diver = diver.after_all([&stay, &way], model.column);
        }
        at_m = way.to_m;
    }
    Ok(stops)
}

/// Depth of a diver's first stop, metres: the first on the way up from which the next step
/// would break the limit of the low gradient factor. Zero for who may go straight up by the
/// high one. There the low factor holds, even where the line to the surface then asks for no
/// wait.
#[must_use]
pub fn first_stop_m(leaving: &Breather, from_m: f64, rates: Rates, model: &Model) -> f64 {
    if Climb::new(from_m, rates, leaving, model).holds(&leaving.tissues) {
        return 0.0;
    }
    let mut now = *leaving;
    let mut at_m = from_m;
    while at_m > 0.0 {
        let way = way_up(at_m, grid_above(at_m), rates);
        let above = now.after(&way, model.column);
        let ambient = model.column.ambient_bar(way.to_m);
        if !above.tissues.holds(ambient, model.gradient_factors.low()) {
            return at_m;
        }
        now = above;
        at_m = way.to_m;
    }
    0.0
}

/// Minutes that a diver waits at the lower end of `way` before going it.
fn wait(diver: &Breather, way: &Leg, first_stop_m: f64, model: &Model) -> Result<f64, Faults> {
    let (column, tissues) = (model.column, diver.tissues);
    let going = Passage::of(way, diver.mix, column, tissues.has_helium());
    let ambient = column.ambient_bar(way.to_m);
    let gradient_factor = model.gradient_factors.at(way.to_m, first_stop_m);
    let stay = Stay::new(way.from_m, diver, model);
    let may_go = |min: f64| {
        stay.after(min)
            .passed(&going)
            .holds(ambient, gradient_factor)
    };
    if may_go(0.0) {
        return Ok(0.0);
    }
    let (mut too_short, mut enough) = (0.0, 1.0);
    while !may_go(enough) {
        (too_short, enough) = (enough, 2.0 * enough);
        if enough > LONGEST_WAIT_MIN {
            return Err(Faults::one(
                "levels",
                "owes more than a day on the way up",
                "a plan that leads back to the surface",
            ));
        }
    }
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(too_short, enough);
        if may_go(middle) {
            enough = middle;
        } else {
            too_short = middle;
        }
    }
    Ok(enough)
}

/// Stays of different lengths at one depth.
struct Stay<'a> {
    from: &'a Breather,
    depth_m: f64,
    model: &'a Model,
}

impl<'a> Stay<'a> {
    fn new(depth_m: f64, from: &'a Breather, model: &'a Model) -> Self {
        Self {
            from,
            depth_m,
            model,
        }
    }

    fn after(&self, minutes: f64) -> Tissues {
        let stay = stay_at(self.depth_m, minutes);
        self.from
            .tissues
            .after(&stay, self.from.mix, self.model.column)
    }
}

/// The ascent straight to the surface, held against the limit at every grid depth on the way.
struct Climb {
    /// Ambient pressure and what the way to there does, the surface first: there the limit is
    /// nearly always met first.
    depths: Vec<(f64, Passage)>,
    gradient_factor: f64,
}

impl Climb {
    fn new(from_m: f64, rates: Rates, diver: &Breather, model: &Model) -> Self {
        let helium = diver.tissues.has_helium();
        let mut whole: Option<Passage> = None;
        let mut depths = Vec::new();
        for leg in straight_up(from_m, rates) {
            let part = Passage::of(&leg, diver.mix, model.column, helium);
            let so_far = whole.map_or(part, |before| before.then(&part));
            depths.push((model.column.ambient_bar(leg.to_m), so_far));
            whole = Some(so_far);
        }
        depths.reverse();
        Self {
            depths,
            gradient_factor: model.gradient_factors.high(),
        }
    }

    fn holds(&self, leaving: &Tissues) -> bool {
        self.depths
            .iter()
            .all(|(ambient, way)| leaving.passed(way).holds(*ambient, self.gradient_factor))
    }
}

/// Legs of the ascent without stops, cut at every grid depth and where it slows down.
fn straight_up(from_m: f64, rates: Rates) -> Vec<Leg> {
    let mut legs = Vec::new();
    let mut at_m = from_m;
    while at_m > 0.0 {
        let mut to_m = grid_above(at_m);
        let slow = rates.slow_from_m();
        if at_m > slow && to_m < slow {
            to_m = slow;
        }
        let rate = if at_m > slow {
            rates.ascent()
        } else {
            rates.last_ascent()
        };
        legs.push(Leg {
            part: Part::Ascent,
            from_m: at_m,
            to_m,
            minutes: (at_m - to_m) / rate,
        });
        at_m = to_m;
    }
    legs
}

/// The next grid depth above a depth, metres.
fn grid_above(depth_m: f64) -> f64 {
    ((depth_m - SLACK_M) / GRID_M).floor().max(0.0) * GRID_M
}

fn way_up(from_m: f64, to_m: f64, rates: Rates) -> Leg {
    let (part, rate) = if to_m > 0.0 {
        (Part::Ascent, rates.ascent())
    } else {
        (Part::LastAscent, rates.last_ascent())
    };
    Leg {
        part,
        from_m,
        to_m,
        minutes: (from_m - to_m) / rate,
    }
}

fn stay_at(depth_m: f64, minutes: f64) -> Leg {
    Leg {
        part: Part::Stop,
        from_m: depth_m,
        to_m: depth_m,
        minutes,
    }
}
