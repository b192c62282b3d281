//! How long a hull without engine stays clear of the keep-clear areas.

use crate::sea::position::Metres;

use super::areas::KeepClear;

/// Metres a second of one knot: 1852 m an hour, exact.
pub const KNOT_M_S: f64 = 1_852.0 / 3_600.0;
/// Beyond this the conditions are others; no touch is told.
pub const HORIZON_MIN: f64 = 360.0;
/// Leeway of the hull downwind and across, parts of the wind speed: class SPORT-FISHER (centre
/// console, open cockpit), the published class nearest to an open dive boat; a boat with a
/// cabin or awning drifts faster. Source: Allen and Plourde 1999, CG-D-08-99, as listed in the
/// leeway object table of the SAROPS taxonomy (5.55 % and 2.27 %, no offset).
const DOWNWIND: f64 = 0.0555;
const CROSSWIND: f64 = 0.0227;

/// How a hull without engine moves over the ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HullDrift {
    /// With the water and straight down the wind, m/s.
    pub mean: Metres,
    /// The same, falling off to the right and to the left of the wind.
    pub branches: [Metres; 2],
}

/// Drift of the hull in water that moves with `water` (m/s) and a wind that blows
/// *towards* `wind` (m/s at 10 m).
#[must_use]
pub fn hull_drift(water: Metres, wind: Metres) -> HullDrift {
    let right = Metres::new(wind.north, -wind.east) * CROSSWIND;
    let mean = water + wind * DOWNWIND;
    HullDrift {
        mean,
        branches: [mean + right, mean - right],
    }
}

/// Minutes until a hull without engine at `at` would touch an area itself, by the worst of
/// its drifts. `None`: not within [`HORIZON_MIN`].
#[must_use]
pub fn stand_off_min(areas: &KeepClear, at: Metres, drift: &HullDrift) -> Option<f64> {
    let [right, left] = drift.branches;
    [drift.mean, right, left]
        .iter()
        .filter_map(|&velocity| areas.touched_after_s(at, velocity))
        .map(|seconds| seconds / 60.0)
        .min_by(f64::total_cmp)
        .filter(|&minutes| minutes <= HORIZON_MIN)
}
