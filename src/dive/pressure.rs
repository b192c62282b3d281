//! Pressure at depth: the water of a site and the air above it.

use super::plan::Leg;
use crate::units::AmbientBar;

/// Standard acceleration of free fall, m/s2 (ISO 80000-3).
const G_M_S2: f64 = 9.806_65;

/// Pressure at the surface at sea level, bar: the standard atmosphere (ISO 2533).
pub const SEA_LEVEL_BAR: f64 = AmbientBar::SEA_LEVEL.bar();

/// The water of a site.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
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
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Column {
    #[serde(rename = "surface_bar")]
    surface: AmbientBar,
    water: Water,
}

impl Default for Column {
    fn default() -> Self {
        Self {
            surface: AmbientBar::SEA_LEVEL,
            water: Water::Salt,
        }
    }
}

impl Column {
    /// Another surface pressure (a mountain lake) or water.
    #[must_use]
    pub fn new(surface: AmbientBar, water: Water) -> Self {
        Self { surface, water }
    }

    /// Absolute pressure at the surface, bar.
    #[must_use]
    pub fn surface_bar(self) -> f64 {
        self.surface.bar()
    }

    /// The water.
    #[must_use]
    pub fn water(self) -> Water {
        self.water
    }

    /// Whether this is the sea at its usual pressure.
    #[must_use]
    pub fn is_sea(&self) -> bool {
        *self == Self::default()
    }

    /// Absolute pressure at a depth in metres, bar.
    #[must_use]
    pub fn ambient_bar(self, depth_m: f64) -> f64 {
        self.surface.bar() + self.water.bar_per_m() * depth_m
    }

    /// Depth in metres at which the absolute pressure is `ambient_bar`; below zero for less
    /// than at the surface.
    #[must_use]
    pub fn depth_m(self, ambient_bar: f64) -> f64 {
        (ambient_bar - self.surface.bar()) / self.water.bar_per_m()
    }

    /// Litre-bar breathed on a leg at `l_min` litres a minute at the surface.
    ///
    /// The pressure at the mean depth is exact, as a leg keeps its rate.
    #[must_use]
    pub fn used_litre_bar(self, leg: &Leg, l_min: f64) -> f64 {
        l_min * self.ambient_bar(leg.mean_depth_m()) * leg.minutes
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Densities of 1.025 and 1.000 kg/l: the pressure of the water alone is in their ratio.
    #[test]
    fn fresh_water_presses_less_than_the_sea() {
        let sea = Column::default().ambient_bar(20.0);
        let lake = Column::new(AmbientBar::from_bar(1.013_25).unwrap(), Water::Fresh);
        let ratio = (sea - 1.013_25) / (lake.ambient_bar(20.0) - 1.013_25);
        assert!((ratio - 1.025).abs() < 1e-12);
    }

    #[test]
    fn depth_and_pressure_lead_back_to_each_other() {
        let lake = Column::new(AmbientBar::from_bar(0.8).unwrap(), Water::Fresh);
        for depth_m in [0.0, 3.0, 40.0] {
            assert!((lake.depth_m(lake.ambient_bar(depth_m)) - depth_m).abs() < 1e-9);
        }
        assert!(lake.depth_m(0.5) < 0.0);
    }
}
