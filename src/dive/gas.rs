//! Gas: pressure at depth, what each leg uses, what is left, what must be kept, and how long
//! the best-supplied member could last. Amounts are litre-bar, cylinders are ideal.
//!
//! An ideal cylinder above some 200 bar holds a few percent less than reckoned here.

use jiff::SignedDuration;

use super::length_of;
use super::plan::{DivePlan, Leg, Part, Profile};
use crate::units::{AmbientBar, CylinderBar, CylinderLitres, LitresPerMinute};

/// Standard acceleration of free fall, m/s2 (ISO 80000-3).
const G_M_S2: f64 = 9.806_65;

/// Pressure at the surface at sea level, bar: the standard atmosphere (ISO 2533).
const SURFACE_BAR: f64 = 1.013_25;

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

/// The water of a site.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Water {
    /// Sea water, 1.025 kg/l.
    #[default]
    Salt,
    /// Fresh water, 1.000 kg/l.
    Fresh,
}

impl Water {
    /// Pressure that a metre of it adds, bar.
    #[must_use]
    pub fn bar_per_m(self) -> f64 {
        let kg_l = match self {
            Self::Salt => 1.025,
            Self::Fresh => 1.000,
        };
        // kg/l x 1000 l/m3 x m/s2 = Pa/m; 100,000 Pa = 1 bar.
        kg_l * G_M_S2 / 100.0
    }
}

/// The water above a diver, the air above that included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Column {
    surface_bar: f64,
    water: Water,
}

impl Default for Column {
    fn default() -> Self {
        Self {
            surface_bar: SURFACE_BAR,
            water: Water::Salt,
        }
    }
}

impl Column {
    /// Another surface pressure (a mountain lake) or water.
    #[must_use]
    pub fn new(surface: AmbientBar, water: Water) -> Self {
        Self {
            surface_bar: surface.bar(),
            water,
        }
    }

    /// Absolute pressure at a depth in metres, bar.
    #[must_use]
    pub fn ambient_bar(self, depth_m: f64) -> f64 {
        self.surface_bar + self.water.bar_per_m() * depth_m
    }

    /// Litre-bar breathed on a leg at `l_min` litres a minute at the surface.
    ///
    /// The pressure at the mean depth is exact, as a leg keeps its rate.
    #[must_use]
    pub fn used_litre_bar(self, leg: &Leg, l_min: f64) -> f64 {
        l_min * self.ambient_bar(leg.mean_depth_m()) * leg.minutes
    }
}

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
        self.cylinder.l() * self.start.bar()
    }

    /// Gauge pressure left after a profile, bar; below zero it is what is lacking.
    #[must_use]
    pub fn left_bar(&self, profile: &Profile, column: Column) -> f64 {
        let used = used_litre_bar(profile, column, self.breathing);
        (self.litre_bar() - used) / self.cylinder.l()
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
        self.litre_bar() / cylinder.l()
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
        let level = Level {
            depth: Depth::from_m(depth_m).unwrap(),
            minutes: Minutes::from_min(minutes).unwrap(),
        };
        DivePlan::new(vec![level], Stop::USUAL, Rates::USUAL)
            .unwrap()
            .profile(&[])
            .unwrap()
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

    #[test]
    fn nobody_with_a_stated_supply_means_not_known() {
        assert_eq!(
            gas_endurance(&profile(30.0, 20.0), Column::default(), &[]),
            None
        );
    }

    /// Densities of 1.025 and 1.000 kg/l: the pressure of the water alone is in their ratio.
    #[test]
    fn fresh_water_presses_less_than_the_sea() {
        let sea = Column::default().ambient_bar(20.0);
        let lake = Column::new(AmbientBar::from_bar(1.013_25).unwrap(), Water::Fresh);
        let ratio = (sea - 1.013_25) / (lake.ambient_bar(20.0) - 1.013_25);
        assert!((ratio - 1.025).abs() < 1e-12);
    }
}
