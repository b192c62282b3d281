//! A dive plan and the profile that follows from it: legs, run time, greatest depth.

use jiff::SignedDuration;

use super::length_of;
use crate::units::{Depth, Faults, Minutes, OutOfRange, bounds};

/// Most levels a plan may list: a written plan with more is a recording, not a plan.
pub const MOST_LEVELS: usize = 50;

/// Depth from which the last leg to the surface is slowed where no stop is held, metres.
/// Between 5 m and the surface the pressure changes most for its size (common practice, no
/// source for the figure).
const SLOW_FROM_M: f64 = 5.0;

/// Depths between which a required stop can take the place of the safety stop, metres.
const IN_PLACE_OF_SAFETY_M: (f64, f64) = (3.0, 6.0);

/// Slack for sums of travel times, minutes: well below a hundredth of a second.
const SLACK_MIN: f64 = 1e-6;

/// A level of a plan: so long at this depth, the way to it included.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Level {
    /// Depth of the level.
    pub depth: Depth,
    /// Minutes at it, with the descent or the change of depth that leads to it.
    pub minutes: Minutes,
}

/// A pause on the way up; zero minutes mean that none is held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stop {
    depth_m: f64,
    minutes: f64,
}

impl Stop {
    /// Three minutes at 5 m (common practice, no source).
    pub const USUAL: Self = Self {
        depth_m: 5.0,
        minutes: 3.0,
    };

    /// A stop of `minutes` at `depth_m` metres.
    ///
    /// # Errors
    /// [`OutOfRange`] if either is not a finite number in its range.
    pub fn new(depth_m: f64, minutes: f64) -> Result<Self, OutOfRange> {
        for (value, bounds) in [(depth_m, bounds::STOP_DEPTH_M), (minutes, bounds::STOP_MIN)] {
            if !bounds.holds(value) {
                return Err(OutOfRange { value, bounds });
            }
        }
        Ok(Self { depth_m, minutes })
    }

    /// A stop that was reckoned and not typed: it may be longer than one that anybody plans.
    pub(super) fn owed(depth_m: f64, minutes: f64) -> Self {
        Self { depth_m, minutes }
    }

    /// Depth in metres.
    #[must_use]
    pub fn depth_m(self) -> f64 {
        self.depth_m
    }

    /// Length in minutes.
    #[must_use]
    pub fn minutes(self) -> f64 {
        self.minutes
    }
}

/// Speeds of going down and up, metres a minute.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rates {
    descent: f64,
    ascent: f64,
    last_ascent: f64,
}

impl Rates {
    /// Descent 18, ascent 9, the last leg to the surface 5 m/min (common practice, no source).
    pub const USUAL: Self = Self {
        descent: 18.0,
        ascent: 9.0,
        last_ascent: 5.0,
    };

    /// Rates in metres a minute: descent, ascent, and the last leg to the surface.
    ///
    /// # Errors
    /// A fault for each that is not a finite number in the range of
    /// [`bounds::VERTICAL_M_MIN`].
    pub fn new(descent: f64, ascent: f64, last_ascent: f64) -> Result<Self, Faults> {
        let mut faults = Faults::new();
        for (path, value) in [
            ("descent_m_min", descent),
            ("ascent_m_min", ascent),
            ("last_ascent_m_min", last_ascent),
        ] {
            if !bounds::VERTICAL_M_MIN.holds(value) {
                faults.add(
                    path,
                    format!("is {value}"),
                    format!("a number {}", bounds::VERTICAL_M_MIN.in_words()),
                );
            }
        }
        faults.or(Self {
            descent,
            ascent,
            last_ascent,
        })
    }

    /// Metres a minute on the way down.
    #[must_use]
    pub fn descent(self) -> f64 {
        self.descent
    }

    /// Metres a minute between levels and stops on the way up.
    #[must_use]
    pub fn ascent(self) -> f64 {
        self.ascent
    }

    /// Metres a minute from the last stop, else from 5 m, to the surface.
    #[must_use]
    pub fn last_ascent(self) -> f64 {
        self.last_ascent
    }

    /// Depth from which the last leg is slowed where no stop is held, metres.
    #[must_use]
    pub fn slow_from_m(self) -> f64 {
        SLOW_FROM_M
    }

    /// Minutes from one depth to another, both in metres, neither of them the surface.
    #[must_use]
    pub fn travel_min(self, from_m: f64, to_m: f64) -> f64 {
        let rate = if to_m > from_m {
            self.descent
        } else {
            self.ascent
        };
        (to_m - from_m).abs() / rate
    }
}

/// A plan whose levels can be reached in the minutes they are given.
#[derive(Debug, Clone, PartialEq)]
pub struct DivePlan {
    levels: Vec<Level>,
    safety_stop: Stop,
    rates: Rates,
}

impl DivePlan {
    /// A plan of `levels` in order of time, the first one's minutes with the descent in them.
    ///
    /// # Errors
    /// A fault for a plan without levels, with too many of them, and for each level whose
    /// minutes do not suffice for the way to it.
    pub fn new(levels: Vec<Level>, safety_stop: Stop, rates: Rates) -> Result<Self, Faults> {
        let mut faults = Faults::new();
        if levels.is_empty() || levels.len() > MOST_LEVELS {
            faults.add(
                "levels",
                format!("has {} elements", levels.len()),
                format!("a list of 1 to {MOST_LEVELS} levels"),
            );
        }
        let mut from_m = 0.0;
        for (nth, level) in levels.iter().enumerate() {
            let way_min = rates.travel_min(from_m, level.depth.m());
            if way_min > level.minutes.min() + SLACK_MIN {
                faults.add(
                    format!("levels[{nth}].minutes"),
                    format!(
                        "is {}, but the way to the level takes {way_min:.1} min",
                        level.minutes.min()
                    ),
                    "at least the minutes of the way to the level",
                );
            }
            from_m = level.depth.m();
        }
        faults.or(Self {
            levels,
            safety_stop,
            rates,
        })
    }

    /// The levels in order of time; at least one.
    #[must_use]
    pub fn levels(&self) -> &[Level] {
        &self.levels
    }

    /// The safety stop as planned.
    #[must_use]
    pub fn safety_stop(&self) -> Stop {
        self.safety_stop
    }

    /// The speeds.
    #[must_use]
    pub fn rates(&self) -> Rates {
        self.rates
    }

    /// Greatest planned depth, metres.
    #[must_use]
    pub fn greatest_depth_m(&self) -> f64 {
        self.levels
            .iter()
            .map(|level| level.depth.m())
            .fold(0.0, f64::max)
    }

    /// Minutes from leaving the surface to leaving the last level.
    #[must_use]
    pub fn bottom_time_min(&self) -> f64 {
        self.levels.iter().map(|level| level.minutes.min()).sum()
    }

    /// The way down, along the levels, up and through the stops to the surface.
    ///
    /// `required`: stops that the dive needs beyond the safety stop, in any order; empty for a
    /// dive within its no-stop limit. One at 3 to 6 m that is at least as long as the safety
    /// stop takes its place.
    ///
    /// # Errors
    /// A fault for each required stop deeper than the level the ascent starts from.
    pub fn profile(&self, required: &[Stop]) -> Result<Profile, Faults> {
        let leaving_m = self.levels.last().map_or(0.0, |level| level.depth.m());
        let mut faults = Faults::new();
        for (nth, stop) in required.iter().enumerate() {
            if stop.depth_m > leaving_m {
                faults.add(
                    format!("stops[{nth}].depth_m"),
                    format!("is {}, below the last level at {leaving_m} m", stop.depth_m),
                    "a stop on the way up",
                );
            }
        }
        let stops = self.stops(required);
        let mut legs = self.bottom_legs();
        legs.extend(self.ascent(leaving_m, &stops));
        faults.or(Profile {
            legs,
            stops,
            greatest_depth_m: self.greatest_depth_m(),
            bottom_time_min: self.bottom_time_min(),
        })
    }

    /// The legs of the bottom time: the way to each level and the rest of its minutes there.
    #[must_use]
    pub fn bottom_legs(&self) -> Vec<Leg> {
        self.legs_of_levels().map(|(_, leg)| leg).collect()
    }

    /// The same with the level, counted from 0, that each belongs to.
    pub(super) fn legs_of_levels(&self) -> impl Iterator<Item = (usize, Leg)> {
        let depths = self.levels.iter().map(|level| level.depth.m());
        let from = std::iter::once(0.0).chain(depths);
        self.levels
            .iter()
            .zip(from)
            .enumerate()
            .flat_map(|(nth, (level, from_m))| {
                let depth_m = level.depth.m();
                let way_min = self.rates.travel_min(from_m, depth_m);
                let way = Leg {
                    part: Part::Way,
                    from_m,
                    to_m: depth_m,
                    minutes: way_min,
                };
                let stay = Leg {
                    part: Part::Level,
                    from_m: depth_m,
                    to_m: depth_m,
                    minutes: (level.minutes.min() - way_min).max(0.0),
                };
                [(nth, way), (nth, stay)]
            })
            .filter(|(_, leg)| leg.minutes > 0.0)
    }

    /// The legs until the last of the first `count` levels is reached, and its depth in metres.
    pub(super) fn way_to_level(&self, count: usize) -> (Vec<Leg>, f64) {
        let last = count.saturating_sub(1);
        let depth_m = self.levels.get(last).map_or(0.0, |level| level.depth.m());
        let legs = self
            .legs_of_levels()
            .filter(|(nth, leg)| *nth < last || (*nth == last && leg.part == Part::Way))
            .map(|(_, leg)| leg)
            .collect();
        (legs, depth_m)
    }

    /// Minutes from leaving the surface to leaving the last of the first `count` levels.
    pub(super) fn bottom_time_of(&self, count: usize) -> f64 {
        let levels = self.levels.iter().take(count);
        levels.map(|level| level.minutes.min()).sum()
    }

    /// Required stops and the safety stop as they are held, deepest first, zero ones left out.
    fn stops(&self, required: &[Stop]) -> Vec<PlannedStop> {
        let mut stops: Vec<PlannedStop> = required
            .iter()
            .map(|&stop| PlannedStop {
                stop,
                required: true,
            })
            .collect();
        let safety = self.safety_stop;
        let (shallowest, deepest) = IN_PLACE_OF_SAFETY_M;
        let replaced = required.iter().any(|stop| {
            (shallowest..=deepest).contains(&stop.depth_m) && stop.minutes >= safety.minutes
        });
        // Compared with a tolerance as both depths may come from different sums.
        let same_depth = |stop: Stop| (stop.depth_m - safety.depth_m).abs() < 0.01;
        if !replaced {
            match stops.iter_mut().find(|held| same_depth(held.stop)) {
                Some(held) => held.stop.minutes = held.stop.minutes.max(safety.minutes),
                None => stops.push(PlannedStop {
                    stop: safety,
                    required: false,
                }),
            }
        }
        stops.retain(|held| held.stop.minutes > 0.0);
        stops.sort_by(|a, b| b.stop.depth_m.total_cmp(&a.stop.depth_m));
        stops
    }

    /// Legs from `from_m` through `stops` (deepest first) to the surface.
    ///
    /// A stop deeper than the place it is reached from is held at that place: nobody goes down
    /// again for it.
    pub(super) fn ascent(&self, from_m: f64, stops: &[PlannedStop]) -> Vec<Leg> {
        let mut legs = Vec::new();
        let mut at_m = from_m;
        let climb_to = |at_m: &mut f64, to_m: f64, legs: &mut Vec<Leg>| {
            let to_m = to_m.min(*at_m);
            let minutes = (*at_m - to_m) / self.rates.ascent;
            legs.push(Leg {
                part: Part::Ascent,
                from_m: *at_m,
                to_m,
                minutes,
            });
            *at_m = to_m;
        };
        for held in stops {
            climb_to(&mut at_m, held.stop.depth_m, &mut legs);
            legs.push(Leg {
                part: Part::Stop,
                from_m: at_m,
                to_m: at_m,
                minutes: held.stop.minutes,
            });
        }
        if stops.is_empty() {
            climb_to(&mut at_m, SLOW_FROM_M, &mut legs);
        }
        legs.push(Leg {
            part: Part::LastAscent,
            from_m: at_m,
            to_m: 0.0,
            minutes: at_m / self.rates.last_ascent,
        });
        legs.retain(|leg| leg.minutes > 0.0);
        legs
    }
}

/// A stop of a profile, and whether the dive needs it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlannedStop {
    /// Depth and length.
    pub stop: Stop,
    /// Whether it is owed; the safety stop is not.
    pub required: bool,
}

/// What a leg of a profile is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// Down to the first level, or from one level to the next.
    Way,
    /// Staying at a level.
    Level,
    /// Up to a stop, or to 5 m where none is held.
    Ascent,
    /// Staying at a stop.
    Stop,
    /// From the last stop, else from 5 m, to the surface.
    LastAscent,
}

/// A stretch of a dive at one depth or at a steady rate between two.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leg {
    /// What it is.
    pub part: Part,
    /// Depth at its start, metres.
    pub from_m: f64,
    /// Depth at its end, metres.
    pub to_m: f64,
    /// Its length, minutes.
    pub minutes: f64,
}

impl Leg {
    /// Mean depth, metres; the rate is steady, so it is the middle.
    #[must_use]
    pub fn mean_depth_m(&self) -> f64 {
        f64::midpoint(self.from_m, self.to_m)
    }

    /// The leg in parts of equal length, none longer than `step_min` minutes.
    pub(super) fn cut(&self, step_min: f64) -> impl Iterator<Item = Self> + '_ {
        let count = (self.minutes / step_min).ceil().clamp(1.0, 1_000.0);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "between 1 and 1,000"
        )]
        let parts = count as u32;
        (0..parts).map(move |nth| {
            let depth_m = |share: f64| self.from_m + (self.to_m - self.from_m) * share;
            Self {
                from_m: depth_m(f64::from(nth) / count),
                to_m: depth_m(f64::from(nth + 1) / count),
                minutes: self.minutes / count,
                ..*self
            }
        })
    }

    /// Whether it lies within the bottom time.
    #[must_use]
    pub fn is_before_ascent(&self) -> bool {
        matches!(self.part, Part::Way | Part::Level)
    }
}

/// A dive from leaving the surface to reaching it again.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    legs: Vec<Leg>,
    stops: Vec<PlannedStop>,
    greatest_depth_m: f64,
    bottom_time_min: f64,
}

impl Profile {
    /// The legs in order of time, none of them empty.
    #[must_use]
    pub fn legs(&self) -> &[Leg] {
        &self.legs
    }

    /// The stops as they are held, deepest first.
    #[must_use]
    pub fn stops(&self) -> &[PlannedStop] {
        &self.stops
    }

    /// Greatest depth, metres.
    #[must_use]
    pub fn greatest_depth_m(&self) -> f64 {
        self.greatest_depth_m
    }

    /// Minutes from leaving the surface to leaving the bottom.
    #[must_use]
    pub fn bottom_time_min(&self) -> f64 {
        self.bottom_time_min
    }

    /// Minutes from leaving the surface to reaching it again.
    #[must_use]
    pub fn run_time_min(&self) -> f64 {
        self.legs.iter().map(|leg| leg.minutes).sum()
    }

    /// The run time as a length of time, to the millisecond.
    #[must_use]
    pub fn run_time(&self) -> SignedDuration {
        length_of(self.run_time_min())
    }
}

#[cfg(test)]
mod tests;
