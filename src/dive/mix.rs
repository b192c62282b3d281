//! A breathing gas: its parts, the pressure of its oxygen, the depth it may be taken to.

use super::pressure::Column;
use crate::units::{Faults, OxygenFraction, bounds};

/// Greatest pressure of oxygen while working, bar (NOAA, no-decompression tables for nitrox
/// dives, page text, in ata; bar is the stricter reading).
pub const WORKING_PPO2_BAR: f64 = 1.4;

/// Greatest pressure of oxygen at all, bar (last row of the NOAA exposure table, in ata).
pub const LIMIT_PPO2_BAR: f64 = 1.6;

/// Least pressure of oxygen to start breathing a gas at the surface, bar (common practice, no
/// source).
pub const LEAST_PPO2_BAR: f64 = 0.18;

/// Nitrogen fraction of air, as the equivalent air depth is defined with (U.S. Navy Diving
/// Manual, chapter on nitrox).
pub const AIR_NITROGEN: f64 = 0.79;

/// Slack for fractions that are typed to a few digits.
const SLACK: f64 = 1e-9;

/// A breathing gas: oxygen, helium, the rest nitrogen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mix {
    oxygen: f64,
    helium: f64,
}

impl Mix {
    /// Air: 21 % oxygen, 79 % nitrogen.
    pub const AIR: Self = Self {
        oxygen: 1.0 - AIR_NITROGEN,
        helium: 0.0,
    };

    /// Nitrogen and this oxygen.
    #[must_use]
    pub fn nitrox(oxygen: OxygenFraction) -> Self {
        Self {
            oxygen: oxygen.fraction(),
            helium: 0.0,
        }
    }

    /// A mix with helium.
    ///
    /// # Errors
    /// A fault at `helium` if it is out of range or both add to more than one.
    pub fn new(oxygen: OxygenFraction, helium: f64) -> Result<Self, Faults> {
        let fault = |what: String, allowed: String| Err(Faults::one("helium", what, allowed));
        if !bounds::HELIUM.holds(helium) {
            let allowed = format!("a number {}", bounds::HELIUM.in_words());
            return fault(format!("is {helium}"), allowed);
        }
        let oxygen = oxygen.fraction();
        if oxygen + helium > 1.0 + SLACK {
            let what = format!("is {helium}, which with {oxygen} oxygen makes more than one");
            return fault(what, format!("at most {:.3}", 1.0 - oxygen));
        }
        Ok(Self { oxygen, helium })
    }

    /// Oxygen fraction.
    #[must_use]
    pub fn oxygen(self) -> f64 {
        self.oxygen
    }

    /// Helium fraction.
    #[must_use]
    pub fn helium(self) -> f64 {
        self.helium
    }

    /// Nitrogen fraction, other traces of air included.
    #[must_use]
    pub fn nitrogen(self) -> f64 {
        (1.0 - self.oxygen - self.helium).max(0.0)
    }

    /// Pressure of the oxygen at a depth in metres, bar.
    #[must_use]
    pub fn ppo2_bar(self, depth_m: f64, column: Column) -> f64 {
        self.oxygen * column.ambient_bar(depth_m)
    }

    /// Greatest depth at which the pressure of the oxygen stays within `ppo2_bar`, metres; zero
    /// or less where it is passed at the surface.
    #[must_use]
    pub fn operating_depth_m(self, ppo2_bar: f64, column: Column) -> f64 {
        column.depth_m(ppo2_bar / self.oxygen)
    }

    /// Depth at which air would load as much inert gas as this gas does at `depth_m`, metres;
    /// helium counts as nitrogen. Below zero for less than air at the surface.
    #[must_use]
    pub fn equivalent_air_depth_m(self, depth_m: f64, column: Column) -> f64 {
        column.depth_m(column.ambient_bar(depth_m) * (1.0 - self.oxygen) / AIR_NITROGEN)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gases_that_add_to_more_than_one_are_refused() {
        let oxygen = OxygenFraction::from_fraction(0.5).unwrap();
        assert!(Mix::new(oxygen, 0.5).is_ok());
        for helium in [0.51, -0.1, f64::NAN, 2.0] {
            let faults = Mix::new(oxygen, helium).unwrap_err();
            assert_eq!(faults.iter().next().unwrap().path, "helium", "{helium}");
        }
    }

    #[test]
    fn the_parts_make_one() {
        let mix = Mix::new(OxygenFraction::from_fraction(0.21).unwrap(), 0.35).unwrap();
        assert!((mix.oxygen() + mix.helium() + mix.nitrogen() - 1.0).abs() < 1e-12);
        assert!((Mix::AIR.nitrogen() - 0.79).abs() < 1e-12);
    }
}
