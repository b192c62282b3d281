//! Newtypes of the quantities that must not be mixed; each dies at the door if it is not a
//! finite number in its range.

use super::bounds::{self, Bounds};

/// A value outside its permitted range, or not a number.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("{value} is not {}", bounds.in_words())]
pub struct OutOfRange {
    /// What was given.
    pub value: f64,
    /// What is permitted.
    pub bounds: Bounds,
}

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $from:ident, $read:ident, $bounds:expr) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, serde::Serialize, serde::Deserialize)]
        #[serde(try_from = "f64", into = "f64")]
        pub struct $name(f64);

        impl $name {
            /// From a plain figure in the unit of the name.
            ///
            /// # Errors
            /// [`OutOfRange`] if it is not a finite number in the range of [`bounds`].
            pub fn $from(value: f64) -> Result<Self, OutOfRange> {
                let bounds = $bounds;
                if bounds.holds(value) { Ok(Self(value)) } else { Err(OutOfRange { value, bounds }) }
            }

            /// The plain figure in the unit of the name.
            #[must_use]
            pub const fn $read(self) -> f64 {
                self.0
            }
        }

        impl TryFrom<f64> for $name {
            type Error = OutOfRange;
            fn try_from(value: f64) -> Result<Self, OutOfRange> {
                Self::$from(value)
            }
        }

        impl From<$name> for f64 {
            fn from(value: $name) -> f64 {
                value.0
            }
        }
    };
}

quantity!(/// Depth below the surface, metres.
    Depth, from_m, m, bounds::DEPTH_M);
quantity!(/// Horizontal distance, metres.
    Distance, from_m, m, bounds::DISTANCE_M);
quantity!(/// A length of time in minutes, as spoken on deck.
    Minutes, from_min, min, bounds::LEVEL_MIN);
quantity!(/// Absolute pressure at the surface, bar.
    AmbientBar, from_bar, bar, bounds::SURFACE_BAR);
quantity!(/// Gauge pressure of a cylinder, bar.
    CylinderBar, from_bar, bar, bounds::CYLINDER_BAR);
quantity!(/// Water volume of a cylinder, litres.
    CylinderLitres, from_l, l, bounds::CYLINDER_L);
quantity!(/// Breathing rate at the surface, litres a minute.
    LitresPerMinute, from_l_min, l_min, bounds::BREATHING_L_MIN);
quantity!(/// Oxygen fraction of a breathing gas.
    OxygenFraction, from_fraction, fraction, bounds::OXYGEN);
quantity!(/// Speed of water or wind, knots.
    Knots, from_kn, kn, bounds::WIND_KN);
quantity!(/// Where a current goes, degrees true.
    SetTowards, from_deg, deg, bounds::DIRECTION_DEG);
quantity!(/// Where a wind comes from, degrees true.
    WindFrom, from_deg, deg, bounds::DIRECTION_DEG);

impl CylinderBar {
    /// What is commonly brought back on the boat, 50 bar (common practice, read in Wikipedia,
    /// Scuba gas management, and in magazine articles).
    pub const USUAL_RESERVE: Self = Self(50.0);
}

impl AmbientBar {
    /// The standard atmosphere at sea level (ISO 2533).
    pub const SEA_LEVEL: Self = Self(1.013_25);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_a_number_dies_at_the_door() {
        for value in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -1.0, 0.0, 500.0] {
            assert!(Depth::from_m(value).is_err(), "{value}");
        }
        assert!(Depth::from_m(18.0).is_ok());
    }
}
