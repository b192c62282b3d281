//! Gas: what each leg uses, what is left, what must be kept, and how long the best-supplied
//! member could last. Amounts are litre-bar.

use jiff::SignedDuration;

use super::cylinder;
use super::length_of;
use super::plan::{DivePlan, Part, Profile};
use super::pressure::Column;
use crate::units::{CylinderBar, CylinderLitres, LitresPerMinute};

/// Breathing rate of each of two divers under stress, litres a minute at the surface (common
/// practice, no source).
const STRESSED_L_MIN: f64 = 30.0;

/// Minutes the two need to sort it out at depth (common practice, no source).
const SORT_OUT_MIN: f64 = 1.0;

/// Calm breathing, litres a minute at the surface (common practice, no source).
const CALM_L_MIN: f64 = 12.0;

/// Depth at which the calm wait is reckoned, metres.
const CALM_DEPTH_M: f64 = 5.0;

/// Breathing rate of a diver of whom none is known, litres a minute at the surface (common
/// practice, no source).
pub const USUAL_L_MIN: f64 = 20.0;

/// Slack of a comparison of pressures, bar: rounding, far below what any gauge shows.
const SLACK_BAR: f64 = 1e-9;

/// What a member takes down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Supply {
    /// Water volume of the cylinder.
    pub cylinder: CylinderLitres,
    /// Gauge pressure at the start.
    pub start: CylinderBar,
    /// Breathing rate at the surface.
    pub breathing: LitresPerMinute,
}

impl Supply {
    /// Litre-bar in the cylinder at the start.
    #[must_use]
    pub fn litre_bar(&self) -> f64 {
        cylinder::content_litre_bar(self.cylinder, self.start.bar())
    }

    /// Gauge pressure after `used` litre-bar, bar; below zero it is what is lacking.
    #[must_use]
    pub fn bar_after(&self, used_litre_bar: f64) -> f64 {
        cylinder::gauge_bar(self.cylinder, self.litre_bar() - used_litre_bar)
    }

    /// Gauge pressure left after a profile, bar; below zero it is what is lacking.
    #[must_use]
    pub fn left_bar(&self, profile: &Profile, column: Column) -> f64 {
        self.bar_after(used_litre_bar(profile, column, self.breathing))
    }

    /// Gauge pressure at each moment of a profile, sampled at most `step_min` apart and at every
    /// bend; below zero it is what is lacking.
    #[must_use]
    pub fn along(&self, profile: &Profile, column: Column, step_min: f64) -> Vec<GasMoment> {
        let (mut minute, mut used) = (0.0, 0.0);
        let mut moments = vec![GasMoment {
            minute,
            bar: self.bar_after(used),
        }];
        for leg in profile.legs() {
            for part in leg.cut(step_min) {
                minute += part.minutes;
                used += column.used_litre_bar(&part, self.breathing.l_min());
                moments.push(GasMoment {
                    minute,
                    bar: self.bar_after(used),
                });
            }
        }
        moments
    }

    /// Minutes from entry after which nothing is left: the legs up to leaving the bottom at
    /// the member's own rate, then calm breathing at 5 m.
    fn lasts_min(&self, profile: &Profile, column: Column) -> f64 {
        let mut left = self.litre_bar();
        let mut gone_min = 0.0;
        for leg in profile.legs().iter().filter(|leg| leg.is_before_ascent()) {
            let used = column.used_litre_bar(leg, self.breathing.l_min());
            if used > left {
                // As if steady within the leg, which on the way down tells the end too early.
                return gone_min + leg.minutes * left / used;
            }
            left -= used;
            gone_min += leg.minutes;
        }
        gone_min + left / (CALM_L_MIN * column.ambient_bar(CALM_DEPTH_M))
    }
}

/// A moment of a member's gas.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GasMoment {
    /// Minutes from leaving the surface.
    pub minute: f64,
    /// Gauge pressure left, bar.
    pub bar: f64,
}

/// Litre-bar that a diver breathes on a whole profile.
#[must_use]
pub fn used_litre_bar(profile: &Profile, column: Column, breathing: LitresPerMinute) -> f64 {
    profile
        .legs()
        .iter()
        .map(|leg| column.used_litre_bar(leg, breathing.l_min()))
        .sum()
}

/// Gas that brings two divers on one cylinder from the greatest depth to the surface,
/// litre-bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MinimumGas {
    /// A minute at the greatest depth to sort it out.
    pub at_depth: f64,
    /// Ascent to the stops and between them, or to 5 m.
    pub ascent: f64,
    /// Stops.
    pub stops: f64,
    /// From the last stop, else from 5 m, to the surface.
    pub last_leg: f64,
}

impl MinimumGas {
    /// For a plan with the stops that `profile` of it holds; two divers at 30 l/min each.
    #[must_use]
    pub fn of(plan: &DivePlan, profile: &Profile, column: Column) -> Self {
        let both_l_min = 2.0 * STRESSED_L_MIN;
        let deepest_m = plan.greatest_depth_m();
        let at_depth = both_l_min * column.ambient_bar(deepest_m) * SORT_OUT_MIN;
        let mut gas = Self {
            at_depth,
            ascent: 0.0,
            stops: 0.0,
            last_leg: 0.0,
        };
        for leg in plan.ascent(deepest_m, profile.stops()) {
            let used = column.used_litre_bar(&leg, both_l_min);
            match leg.part {
                Part::Stop => gas.stops += used,
                Part::LastAscent => gas.last_leg += used,
                Part::Way | Part::Level | Part::Ascent => gas.ascent += used,
            }
        }
        gas
    }

    /// All of it, litre-bar.
    #[must_use]
    pub fn litre_bar(&self) -> f64 {
        self.at_depth + self.ascent + self.stops + self.last_leg
    }

    /// As gauge pressure in a cylinder, bar.
    #[must_use]
    pub fn bar_in(&self, cylinder: CylinderLitres) -> f64 {
        cylinder::gauge_bar(cylinder, self.litre_bar())
    }
}

/// A member's gas on a dive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GasPlan {
    /// What is breathed from leaving the surface to reaching it, litre-bar.
    pub used_litre_bar: f64,
    /// Gauge pressure back on the boat, bar; below zero it is what is lacking.
    pub end_bar: f64,
    /// What brings two divers up from the greatest depth, bar in this member's cylinder.
    pub minimum_bar: f64,
    /// Gauge pressure with which the bottom is left at the latest, bar: the greater of the
    /// minimum gas and of what ascent, stops and the reserve take. Whoever starts the stop with
    /// the reserve has not kept it.
    pub turn_bar: f64,
    /// Gauge pressure when the bottom is left by the plan, bar.
    pub leaving_bar: f64,
    /// Gauge pressure when the greatest depth is left by the plan, bar.
    pub leaving_deepest_bar: f64,
}

impl GasPlan {
    /// Of a member on a profile of `plan`.
    #[must_use]
    pub fn of(
        supply: &Supply,
        plan: &DivePlan,
        profile: &Profile,
        column: Column,
        reserve: CylinderBar,
    ) -> Self {
        let minimum_bar = MinimumGas::of(plan, profile, column).bar_in(supply.cylinder);
        let (mut used, mut at_bottom, mut at_deepest) = (0.0, 0.0, 0.0);
        for leg in profile.legs() {
            used += column.used_litre_bar(leg, supply.breathing.l_min());
            if leg.is_before_ascent() {
                at_bottom = used;
                if leg.to_m >= profile.greatest_depth_m() {
                    at_deepest = used;
                }
            }
        }
        let kept = cylinder::content_litre_bar(supply.cylinder, reserve.bar());
        let ascent_bar = cylinder::gauge_bar(supply.cylinder, kept + used - at_bottom);
        Self {
            used_litre_bar: used,
            end_bar: supply.bar_after(used),
            minimum_bar,
            turn_bar: minimum_bar.max(ascent_bar),
            leaving_bar: supply.bar_after(at_bottom),
            leaving_deepest_bar: supply.bar_after(at_deepest),
        }
    }

    /// Pressure over what has to be left, bar, where it is least: when the bottom is left or
    /// the greatest depth. Below zero it is what is lacking.
    #[must_use]
    pub fn spare_bar(&self) -> f64 {
        (self.leaving_bar - self.turn_bar).min(self.leaving_deepest_bar - self.minimum_bar)
    }

    /// Minutes at the last level that it stands for; below zero the minutes too many.
    #[must_use]
    pub fn spare_min(&self, supply: &Supply, plan: &DivePlan, column: Column) -> f64 {
        let last_m = plan.levels().last().map_or(0.0, |level| level.depth.m());
        self.spare_bar() * supply.cylinder.l()
            / (supply.breathing.l_min() * column.ambient_bar(last_m))
    }

    /// Whether the plan brings this member back with the reserve, and leaves the greatest depth
    /// and the bottom with gas for two.
    #[must_use]
    pub fn is_enough(&self) -> bool {
        self.spare_bar() >= -SLACK_BAR
    }
}

/// Time from entry after which even the best-supplied member has nothing left, breathing calmly
/// (12 l/min) at 5 m after the planned bottom time. From then on treat all as out of gas.
///
/// `None` where nobody's supply is stated: the time is then not known, which is not the same
/// as long.
#[must_use]
pub fn gas_endurance(
    profile: &Profile,
    column: Column,
    supplies: &[Supply],
) -> Option<SignedDuration> {
    supplies
        .iter()
        .map(|supply| supply.lasts_min(profile, column))
        .reduce(f64::max)
        .map(length_of)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dive::plan::{Level, Rates, Stop};
    use crate::units::{Depth, Minutes};

    fn supply(cylinder_l: f64, start_bar: f64, l_min: f64) -> Supply {
        Supply {
            cylinder: CylinderLitres::from_l(cylinder_l).unwrap(),
            start: CylinderBar::from_bar(start_bar).unwrap(),
            breathing: LitresPerMinute::from_l_min(l_min).unwrap(),
        }
    }

    fn profile(depth_m: f64, minutes: f64) -> Profile {
        plan(depth_m, minutes).profile(&[]).unwrap()
    }

    fn plan(depth_m: f64, minutes: f64) -> DivePlan {
        let level = Level {
            depth: Depth::from_m(depth_m).unwrap(),
            minutes: Minutes::from_min(minutes).unwrap(),
        };
        DivePlan::new(vec![level], Stop::USUAL, Rates::USUAL).unwrap()
    }

    /// By hand: 12 l at 200 bar; to 10 m and there for 30 min at 20 l/min, of which 10/18 min
    /// go down; the rest at 12 l/min under the pressure of 5 m.
    #[test]
    fn gas_endurance_starts_from_what_the_bottom_time_leaves() {
        let (at_5, at_10) = (1.013_25 + 0.502_590_812_5, 1.013_25 + 1.005_181_625);
        let down = 10.0 / 18.0;
        let left = 2400.0 - 20.0 * (down * at_5 + (30.0 - down) * at_10);
        let expected_min = 30.0 + left / (12.0 * at_5);
        let lasts = gas_endurance(
            &profile(10.0, 30.0),
            Column::default(),
            &[supply(12.0, 200.0, 20.0), supply(10.0, 150.0, 20.0)],
        );
        let minutes = lasts.unwrap().as_secs_f64() / 60.0;
        assert!(
            (minutes - expected_min).abs() < 1e-3,
            "{minutes} against {expected_min}"
        );
    }

    #[test]
    fn a_supply_too_small_for_the_bottom_time_ends_within_it() {
        let supplies = [supply(10.0, 100.0, 20.0)];
        let lasts = gas_endurance(&profile(30.0, 40.0), Column::default(), &supplies).unwrap();
        assert!(lasts < SignedDuration::from_mins(40) && lasts > SignedDuration::from_mins(10));
        let empty = [supply(10.0, 0.0, 20.0)];
        let lasts = gas_endurance(&profile(30.0, 40.0), Column::default(), &empty);
        assert_eq!(lasts, Some(SignedDuration::ZERO));
    }

    /// The picture of the gas ends where the plan says that the cylinder ends, passes the
    /// pressure with which the bottom is left, and never rises.
    #[test]
    fn the_gas_along_a_profile_is_the_plans_gas() {
        let (plan, profile) = (plan(18.0, 25.0), profile(18.0, 25.0));
        let supply = supply(12.0, 200.0, 20.0);
        let reserve = CylinderBar::from_bar(50.0).unwrap();
        let column = Column::default();
        let gas = GasPlan::of(&supply, &plan, &profile, column, reserve);
        let along = supply.along(&profile, column, 0.5);
        assert!((along[0].bar - 200.0).abs() < 1e-6, "{:?}", along[0]);
        let last = along.last().unwrap();
        assert!((last.bar - gas.end_bar).abs() < 1e-6, "{last:?}");
        assert!((last.minute - profile.run_time_min()).abs() < 1e-9);
        let leaving = along.iter().find(|m| (m.minute - 25.0).abs() < 1e-9);
        assert!((leaving.unwrap().bar - gas.leaving_bar).abs() < 1e-6);
        assert!(along.windows(2).all(|two| two[1].bar <= two[0].bar));
    }

    /// The commonest slip of planning: 50 bar when the stop begins are not 50 bar on the boat.
    #[test]
    fn to_start_the_stop_with_the_reserve_is_not_enough() {
        let (plan, profile) = (plan(18.0, 25.0), profile(18.0, 25.0));
        let reserve = CylinderBar::from_bar(50.0).unwrap();
        let gas_of = |start_bar| {
            let supply = supply(12.0, start_bar, 20.0);
            GasPlan::of(&supply, &plan, &profile, Column::default(), reserve)
        };
        let on_the_boat = gas_of(200.0).end_bar;
        let just = gas_of(200.0 - on_the_boat + 50.0);
        assert!((just.end_bar - 50.0).abs() < 1e-9 && just.is_enough());
        assert!(
            (just.leaving_bar - just.turn_bar).abs() < 1e-9,
            "by the ascent"
        );
        // 60 l/min for two ask for more than one calm diver's way up, but not than that and the
        // reserve together: 706 litre-bar are 58.8 bar in 12 l.
        assert!((just.minimum_bar - 58.84).abs() < 0.01);
        let stop_used_bar = 20.0 * Column::default().ambient_bar(5.0) * 3.0 / 12.0;
        let with_reserve_at_the_stop = gas_of(200.0 - on_the_boat + 50.0 - stop_used_bar);
        assert!(!with_reserve_at_the_stop.is_enough());
    }

    #[test]
    fn nobody_with_a_stated_supply_means_not_known() {
        assert_eq!(
            gas_endurance(&profile(30.0, 20.0), Column::default(), &[]),
            None
        );
    }
}
