//! What stands against a plan, and what would mend it, in words.

use super::gas::{GasPlan, Supply};
use super::mix::{LEAST_PPO2_BAR, LIMIT_PPO2_BAR, Mix, WORKING_PPO2_BAR};
use super::plan::{DivePlan, Stop};
use super::pressure::Column;
use super::reckon::Reckoned;
use crate::units::system::Measure;
use crate::units::{CylinderBar, Depth, rounding};
use crate::words::{Arg, Words};

/// Surface pressure below which a place lies high, bar: some 300 m up (common practice, no
/// source).
const HIGH_PLACE_BAR: f64 = 0.98;

/// Share of the oxygen exposure from which it is worth a word, percent (common practice, no
/// source).
const MUCH_EXPOSURE_PCT: f64 = 80.0;

/// Largest cylinder that is proposed, litres; twin sets are no matter of a word.
const LARGEST_PROPOSED_L: f64 = 20.0;

/// Common sizes of a cylinder, litres.
const SIZES_L: [f64; 6] = [10.0, 12.0, 13.5, 15.0, 18.0, LARGEST_PROPOSED_L];

/// How grave a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Worth a thought; the plan stands.
    Caution,
    /// A limit is broken: only a named override lets such a plan into the water.
    Limit,
}

impl Severity {
    /// The word on the wire.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Caution => "caution",
            Self::Limit => "limit",
        }
    }
}

/// What limits a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Limiting {
    /// The gas.
    Gas,
    /// The time without stops.
    NoStop,
    /// The depth limit of a certification.
    Certification,
    /// The depth at which the oxygen becomes too much, or too little at the surface.
    Oxygen,
    /// The oxygen exposure of the day.
    Exposure,
    /// The height of the place.
    Height,
}

/// One thing that stands against a plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Finding {
    /// Too little oxygen to breathe at the surface.
    Hypoxic {
        /// Its pressure there, bar.
        ppo2_bar: f64,
    },
    /// More oxygen than is breathed at all.
    PastOxygenLimit {
        /// Its pressure at the greatest depth, bar.
        ppo2_bar: f64,
        /// Depth of the working limit, metres.
        mod_m: f64,
    },
    /// More oxygen than is breathed while working.
    PastWorkingOxygen {
        /// Its pressure at the greatest depth, bar.
        ppo2_bar: f64,
        /// Depth of the working limit, metres.
        mod_m: f64,
    },
    /// A single exposure of the day is used up.
    ExposureSpent {
        /// How far, percent.
        pct: f64,
    },
    /// Much of a single exposure is used.
    ExposureHigh {
        /// How far, percent.
        pct: f64,
    },
    /// Longer than the time without stops.
    BeyondNoStop {
        /// The limit, minutes.
        limit_min: f64,
        /// Minutes too long at the last level.
        less_min: f64,
        /// Depth of the last level, metres.
        depth_m: f64,
    },
    /// Owes stops though its time is within the limit: who comes loaded has to let gas out first.
    OwesStops,
    /// Dives were made before it that cannot be reckoned.
    EarlierUnknown {
        /// How many.
        dives: usize,
    },
    /// A level lies above the ceiling when it is reached.
    AboveCeiling {
        /// The level, counted from 0.
        level: usize,
        /// Its depth, metres.
        depth_m: f64,
    },
    /// Not back on the boat with the reserve.
    BelowReserve {
        /// Pressure back on the boat, bar.
        end_bar: f64,
        /// The reserve, bar.
        reserve_bar: f64,
        /// What would mend it.
        remedy: Remedy,
    },
    /// The bottom is left with less than two need on one cylinder.
    BelowMinimumGas {
        /// Pressure when the greatest depth is left, bar.
        leaving_bar: f64,
        /// Minimum gas, bar.
        minimum_bar: f64,
        /// What would mend it.
        remedy: Remedy,
    },
    /// The place lies high.
    HighPlace {
        /// Pressure at its surface, bar.
        surface_bar: f64,
    },
    /// The depth limit of a certification is not known.
    NoCertifiedDepth,
    /// Deeper than a certification allows.
    DeeperThanCertified {
        /// The certification's limit, metres.
        limit_m: f64,
    },
}

/// What would make the gas enough.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Remedy {
    /// Leave the bottom with this pressure, bar; none where the cylinder starts with no more.
    pub turn_bar: Option<f64>,
    /// Minutes less at the last level; none where no time there would do.
    pub less_min: Option<f64>,
    /// Depth of the last level, metres.
    pub depth_m: f64,
    /// A cylinder of this size, litres; none where no common one would do.
    pub cylinder_l: Option<f64>,
}

impl Finding {
    /// How grave it is.
    #[must_use]
    pub fn severity(&self) -> Severity {
        match self {
            Self::ExposureHigh { .. } | Self::HighPlace { .. } => Severity::Caution,
            Self::Hypoxic { .. }
            | Self::PastOxygenLimit { .. }
            | Self::PastWorkingOxygen { .. }
            | Self::ExposureSpent { .. }
            | Self::BeyondNoStop { .. }
            | Self::OwesStops
            | Self::EarlierUnknown { .. }
            | Self::AboveCeiling { .. }
            | Self::BelowReserve { .. }
            | Self::BelowMinimumGas { .. }
            | Self::NoCertifiedDepth
            | Self::DeeperThanCertified { .. } => Severity::Limit,
        }
    }

    /// What it is a matter of.
    #[must_use]
    pub fn limiting(&self) -> Limiting {
        match self {
            Self::Hypoxic { .. }
            | Self::PastOxygenLimit { .. }
            | Self::PastWorkingOxygen { .. } => Limiting::Oxygen,
            Self::ExposureSpent { .. } | Self::ExposureHigh { .. } => Limiting::Exposure,
            Self::BeyondNoStop { .. }
            | Self::OwesStops
            | Self::EarlierUnknown { .. }
            | Self::AboveCeiling { .. } => Limiting::NoStop,
            Self::BelowReserve { .. } | Self::BelowMinimumGas { .. } => Limiting::Gas,
            Self::HighPlace { .. } => Limiting::Height,
            Self::NoCertifiedDepth | Self::DeeperThanCertified { .. } => Limiting::Certification,
        }
    }

    /// The field of a plan that it is about; gas findings are about a diver's own fields.
    #[must_use]
    pub fn field(&self, plan: &DivePlan) -> String {
        let deepest = plan
            .levels()
            .iter()
            .position(|level| level.depth.m() >= plan.greatest_depth_m())
            .unwrap_or(0);
        match self {
            Self::Hypoxic { .. } => "gas.oxygen".to_owned(),
            Self::PastOxygenLimit { .. }
            | Self::PastWorkingOxygen { .. }
            | Self::NoCertifiedDepth
            | Self::DeeperThanCertified { .. } => format!("levels[{deepest}].depth_m"),
            Self::ExposureSpent { .. } | Self::ExposureHigh { .. } => "levels".to_owned(),
            Self::EarlierUnknown { .. } => "earlier_dives".to_owned(),
            Self::BeyondNoStop { .. } | Self::OwesStops => {
                format!("levels[{}].minutes", plan.levels().len().saturating_sub(1))
            }
            Self::AboveCeiling { level, .. } => format!("levels[{level}].depth_m"),
            Self::BelowReserve { .. } | Self::BelowMinimumGas { .. } => "start_bar".to_owned(),
            Self::HighPlace { .. } => "surface_bar".to_owned(),
        }
    }

    /// What is wrong and what to do, in a sentence or two.
    #[must_use]
    pub fn say(&self, t: &Words) -> String {
        match self {
            Self::Hypoxic { ppo2_bar } => {
                t.say_with("finding-hypoxic", &[("ppo2", hundredths(*ppo2_bar))])
            }
            Self::PastOxygenLimit { ppo2_bar, mod_m } => t.say_with(
                "finding-past-oxygen-limit",
                &[
                    ("ppo2", hundredths(*ppo2_bar)),
                    ("mod", rounding::down(*mod_m).into()),
                ],
            ),
            Self::PastWorkingOxygen { ppo2_bar, mod_m } => t.say_with(
                "finding-past-working-oxygen",
                &[
                    ("ppo2", hundredths(*ppo2_bar)),
                    ("mod", rounding::down(*mod_m).into()),
                ],
            ),
            Self::ExposureSpent { pct } => t.say_with(
                "finding-exposure-spent",
                &[("pct", rounding::up(*pct).into())],
            ),
            Self::ExposureHigh { pct } => t.say_with(
                "finding-exposure-high",
                &[("pct", rounding::up(*pct).into())],
            ),
            Self::BeyondNoStop {
                limit_min,
                less_min,
                depth_m,
            } => t.say_with(
                "finding-beyond-no-stop",
                &[
                    ("limit", rounding::down(*limit_min).into()),
                    ("less", rounding::up(*less_min).into()),
                    ("depth", depth_m.into()),
                ],
            ),
            Self::OwesStops => t.say("finding-owes-stops"),
            Self::EarlierUnknown { dives } => {
                t.say_with("finding-earlier-unknown", &[("n", (*dives).into())])
            }
            Self::AboveCeiling { level, depth_m } => t.say_with(
                "finding-above-ceiling",
                &[("level", (level + 1).into()), ("depth", depth_m.into())],
            ),
            Self::BelowReserve {
                end_bar,
                reserve_bar,
                remedy,
            } => {
                let args = [
                    ("end", rounding::down(*end_bar).into()),
                    ("reserve", rounding::up(*reserve_bar).into()),
                ];
                let what = if *end_bar < 0.0 {
                    t.say_with(
                        "finding-gas-runs-out",
                        &[("lacking", rounding::up(-end_bar).into())],
                    )
                } else {
                    t.say_with("finding-below-reserve", &args)
                };
                format!("{what} {}", remedy.say(t))
            }
            Self::BelowMinimumGas {
                leaving_bar,
                minimum_bar,
                remedy,
            } => {
                let args = [
                    ("leaving", rounding::down(*leaving_bar).into()),
                    ("minimum", rounding::up(*minimum_bar).into()),
                ];
                let what = t.say_with("finding-below-minimum-gas", &args);
                format!("{what} {}", remedy.say(t))
            }
            Self::HighPlace { surface_bar } => {
                t.say_with("finding-high-place", &[("bar", hundredths(*surface_bar))])
            }
            Self::NoCertifiedDepth => t.say("finding-no-certified-depth"),
            Self::DeeperThanCertified { limit_m } => t.say_with(
                "finding-deeper-than-certified",
                &[("limit", limit_m.into())],
            ),
        }
    }
}

impl Remedy {
    /// What would make this member's gas enough.
    fn of(supply: &Supply, gas: &GasPlan, plan: &DivePlan, column: Column, reserve: f64) -> Self {
        let (depth_m, level_min) = plan
            .levels()
            .last()
            .map_or((0.0, 0.0), |level| (level.depth.m(), level.minutes.min()));
        let less_min = -gas.spare_min(supply, plan, column);
        // Half a level's time is left, or it is another dive and not a shorter one.
        let is_cut = less_min < level_min / 2.0;
        let kept = |l: f64| {
            let kept_bar = reserve.max(gas.minimum_bar * supply.cylinder.l() / l);
            l * (supply.start.bar() - kept_bar)
        };
        let cylinder_l = SIZES_L
            .into_iter()
            .find(|l| *l > supply.cylinder.l() && kept(*l) >= gas.used_litre_bar);
        Self {
            turn_bar: (gas.turn_bar < supply.start.bar()).then_some(gas.turn_bar),
            less_min: is_cut.then_some(less_min),
            depth_m,
            cylinder_l,
        }
    }

    fn say(&self, t: &Words) -> String {
        let mut ways = Vec::new();
        if let Some(turn_bar) = self.turn_bar {
            ways.push(t.say_with(
                "remedy-turn",
                &[("bar", Measure::Needed.gauge(turn_bar, t.system()).into())],
            ));
        }
        if let Some(less_min) = self.less_min {
            let args = [
                ("less", rounding::up(less_min).into()),
                ("depth", self.depth_m.into()),
            ];
            ways.push(t.say_with("remedy-less", &args));
        }
        if let Some(l) = self.cylinder_l {
            ways.push(t.say_with("remedy-cylinder", &[("l", l.into())]));
        }
        if ways.is_empty() {
            return t.say("remedy-none");
        }
        let args = [("ways", Arg::from(ways.join(", ")))];
        t.say_with("remedy", &args)
    }
}

/// What stands against a plan on this gas, whoever breathes it.
#[must_use]
pub fn of_gas(plan: &DivePlan, mix: Mix, exposure_pct: f64, column: Column) -> Vec<Finding> {
    let mut found = Vec::new();
    let at_surface = mix.ppo2_bar(0.0, column);
    if at_surface < LEAST_PPO2_BAR {
        found.push(Finding::Hypoxic {
            ppo2_bar: at_surface,
        });
    }
    let ppo2_bar = mix.ppo2_bar(plan.greatest_depth_m(), column);
    let mod_m = mix.operating_depth_m(WORKING_PPO2_BAR, column);
    if ppo2_bar > LIMIT_PPO2_BAR {
        found.push(Finding::PastOxygenLimit { ppo2_bar, mod_m });
    } else if ppo2_bar > WORKING_PPO2_BAR {
        found.push(Finding::PastWorkingOxygen { ppo2_bar, mod_m });
    }
    if exposure_pct > 100.0 {
        found.push(Finding::ExposureSpent { pct: exposure_pct });
    } else if exposure_pct > MUCH_EXPOSURE_PCT {
        found.push(Finding::ExposureHigh { pct: exposure_pct });
    }
    if column.surface_bar() < HIGH_PLACE_BAR {
        found.push(Finding::HighPlace {
            surface_bar: column.surface_bar(),
        });
    }
    found
}

/// What the inert gas of a diver stands against.
#[must_use]
pub fn of_load(plan: &DivePlan, reckoned: &Reckoned) -> Vec<Finding> {
    let mut found = Vec::new();
    if let Some(level) = reckoned.level_above_ceiling {
        let depth_m = plan.levels().get(level).map_or(0.0, |l| l.depth.m());
        found.push(Finding::AboveCeiling { level, depth_m });
    }
    if !reckoned.within_no_stop {
        let too_long = reckoned
            .no_stop_limit_min
            .map(|limit_min| (limit_min, plan.bottom_time_min() - limit_min))
            .filter(|(_, less_min)| *less_min > 0.0);
        if let Some((limit_min, less_min)) = too_long {
            found.push(Finding::BeyondNoStop {
                limit_min,
                less_min,
                depth_m: plan.levels().last().map_or(0.0, |l| l.depth.m()),
            });
        } else if reckoned.level_above_ceiling.is_none() {
            found.push(Finding::OwesStops);
        }
    }
    found
}

/// What stands against a diver of whose earlier dives some cannot be reckoned.
#[must_use]
pub fn of_earlier(unknown: usize) -> Option<Finding> {
    (unknown > 0).then_some(Finding::EarlierUnknown { dives: unknown })
}

/// What stands against a member's cylinder.
#[must_use]
pub fn of_supply(
    supply: &Supply,
    gas: &GasPlan,
    plan: &DivePlan,
    column: Column,
    reserve: CylinderBar,
) -> Option<Finding> {
    if gas.is_enough() {
        return None;
    }
    let remedy = Remedy::of(supply, gas, plan, column, reserve.bar());
    if gas.end_bar < reserve.bar() {
        return Some(Finding::BelowReserve {
            end_bar: gas.end_bar,
            reserve_bar: reserve.bar(),
            remedy,
        });
    }
    Some(Finding::BelowMinimumGas {
        leaving_bar: gas.leaving_deepest_bar,
        minimum_bar: gas.minimum_bar,
        remedy,
    })
}

/// What stands against a plan that goes deeper than a certification allows, or of which nobody
/// knows whether it does.
#[must_use]
pub fn of_certification(plan: &DivePlan, limit: Option<Depth>) -> Option<Finding> {
    let Some(limit) = limit else {
        return Some(Finding::NoCertifiedDepth);
    };
    let limit_m = limit.m();
    (plan.greatest_depth_m() > limit_m).then_some(Finding::DeeperThanCertified { limit_m })
}

/// Stops in words: `4 min at 6 m, then 3 min at 3 m`, each rounded up to the whole minute.
#[must_use]
pub fn say_stops(stops: &[Stop], t: &Words) -> String {
    say_each_stop(stops.iter().map(|stop| (stop.depth_m(), stop.minutes())), t)
}

/// The same of stops as pairs of depth in metres and minutes.
#[must_use]
pub fn say_each_stop(stops: impl IntoIterator<Item = (f64, f64)>, t: &Words) -> String {
    let each: Vec<String> = stops
        .into_iter()
        .map(|(depth_m, minutes)| {
            let args = [
                ("min", rounding::up(minutes).into()),
                ("depth", depth_m.into()),
            ];
            t.say_with("stop-in-words", &args)
        })
        .collect();
    each.join(&t.say("stop-then"))
}

fn hundredths(value: f64) -> Arg {
    ((value * 100.0).round() / 100.0).into()
}
