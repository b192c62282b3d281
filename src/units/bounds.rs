//! One table of permitted ranges: every door refuses what lies outside.
//!
//! The figures are plausibility limits of this tool, not limits of safe practice
//! (common practice, no source): they catch a slipped digit, not a bold plan.

use super::system::Measure;

/// A closed range of a quantity, with the unit it is told in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Smallest permitted value.
    pub min: f64,
    /// Largest permitted value.
    pub max: f64,
    /// Unit as written in sentences.
    pub unit: &'static str,
    /// What is measured, where people read and type it in units of their own.
    pub measure: Option<Measure>,
}

impl Bounds {
    const fn new(min: f64, max: f64, unit: &'static str) -> Self {
        Self {
            min,
            max,
            unit,
            measure: None,
        }
    }

    const fn of(mut self, measure: Measure) -> Self {
        self.measure = Some(measure);
        self
    }

    /// Whether `value` is a number inside the range; not-a-number and infinities are not.
    #[must_use]
    pub fn holds(&self, value: f64) -> bool {
        value.is_finite() && value >= self.min && value <= self.max
    }

    /// The range in words: `from 1 to 100 m`.
    #[must_use]
    pub fn in_words(&self) -> String {
        format!("from {} to {} {}", self.min, self.max, self.unit)
            .trim_end()
            .to_owned()
    }
}

/// Depth of a dive or of a level.
pub const DEPTH_M: Bounds = Bounds::new(1.0, 120.0, "m").of(Measure::Depth);
/// The greatest depth that somebody may dive to: the same range, told and read as a limit.
pub const DEPTH_LIMIT_M: Bounds = DEPTH_M.of(Measure::Limit);
/// Depth at which a stop is held.
pub const STOP_DEPTH_M: Bounds = Bounds::new(1.0, 60.0, "m").of(Measure::Stop);
/// Length of a level of a dive.
pub const LEVEL_MIN: Bounds = Bounds::new(0.5, 300.0, "min");
/// Length of a stop.
pub const STOP_MIN: Bounds = Bounds::new(0.0, 60.0, "min");
/// Length of a safety stop: every dive carries one.
pub const SAFETY_STOP_MIN: Bounds = Bounds::new(0.5, 60.0, "min");
/// Speed of descent and ascent.
pub const VERTICAL_M_MIN: Bounds = Bounds::new(1.0, 40.0, "m/min");
/// Water volume of a cylinder, twin sets included.
pub const CYLINDER_L: Bounds = Bounds::new(1.0, 40.0, "l").of(Measure::Size);
/// Gauge pressure of a cylinder.
pub const CYLINDER_BAR: Bounds = Bounds::new(0.0, 350.0, "bar").of(Measure::Pressure);
/// Pressure that a centre wants back on the boat.
pub const RESERVE_BAR: Bounds = Bounds::new(20.0, 150.0, "bar").of(Measure::Needed);
/// Breathing rate at the surface.
pub const BREATHING_L_MIN: Bounds = Bounds::new(5.0, 100.0, "l/min").of(Measure::Rate);
/// Absolute pressure at the surface: a mountain lake at 5,000 m to the highest weather.
pub const SURFACE_BAR: Bounds = Bounds::new(0.5, 1.1, "bar").of(Measure::Ambient);
/// Oxygen fraction of a breathing gas.
pub const OXYGEN: Bounds = Bounds::new(0.16, 1.0, "");
/// Helium fraction of a breathing gas.
pub const HELIUM: Bounds = Bounds::new(0.0, 0.8, "");
/// Gradient factor. Below a tenth the model asks for stops that nobody could hold.
pub const GRADIENT_FACTOR: Bounds = Bounds::new(0.1, 1.0, "");
/// Time at the surface after a dive.
pub const INTERVAL_MIN: Bounds = Bounds::new(0.0, 2_880.0, "min");
/// The same as it is typed and marked on a cylinder.
pub const OXYGEN_PCT: Bounds = Bounds::new(16.0, 100.0, "%");
/// Speed of a boat under way.
pub const BOAT_KN: Bounds = Bounds::new(0.1, 60.0, "kn");
/// Drift of the water.
pub const DRIFT_KN: Bounds = Bounds::new(0.0, 15.0, "kn");
/// Speed of the wind.
pub const WIND_KN: Bounds = Bounds::new(0.0, 120.0, "kn");
/// A direction in degrees true; 360 is read as 0.
pub const DIRECTION_DEG: Bounds = Bounds::new(0.0, 360.0, "degrees");
/// Longitude.
pub const LONGITUDE_DEG: Bounds = Bounds::new(-180.0, 180.0, "degrees");
/// Latitude; the poles are out of reach of a local plane.
pub const LATITUDE_DEG: Bounds = Bounds::new(-85.0, 85.0, "degrees");
/// How far a device's own position may be off, as it says itself.
pub const ACCURACY_M: Bounds = Bounds::new(0.0, 100_000_000.0, "m");
/// The most of it that is of use: beyond, another place of the same site is meant (common
/// practice, no source).
pub const USEFUL_ACCURACY_M: f64 = 200.0;
/// Horizontal distance within a site.
pub const DISTANCE_M: Bounds = Bounds::new(0.0, 20_000.0, "m").of(Measure::Length);
/// Distance kept from a keep-clear area.
pub const STAND_OFF_M: Bounds = Bounds::new(0.0, 2_000.0, "m").of(Measure::Length);
/// Seconds to set up an approach or board one person.
pub const HANDLING_S: Bounds = Bounds::new(0.0, 3_600.0, "s");
/// Minutes of a setting or an extension.
pub const GRACE_MIN: Bounds = Bounds::new(0.0, 240.0, "min");
/// People in a group or on a boat.
pub const PEOPLE: Bounds = Bounds::new(1.0, 500.0, "people");
/// Horizontal visibility under water.
pub const VISIBILITY_M: Bounds = Bounds::new(0.0, 80.0, "m").of(Measure::Length);
/// Temperature of the water.
pub const WATER_C: Bounds = Bounds::new(-3.0, 40.0, "°C");
/// Earliest surfacing as a share of the planned run time.
pub const EARLIEST_SHARE: Bounds = Bounds::new(0.1, 1.0, "of the run time");
/// Minutes from the expected to the latest surfacing, and from there to overdue. No published
/// code fixes them; the upper end keeps the overdue alarm from being put off out of reach.
pub const WINDOW_MIN: Bounds = Bounds::new(0.0, 10.0, "min");
/// Distance at which a head at the surface is lost to sight.
pub const SIGHT_NM: Bounds = Bounds::new(0.05, 1.0, "nautical miles");
/// Years for which the sun is reckoned: within reach of measured and foreseen Earth rotation.
pub const YEAR: Bounds = Bounds::new(1972.0, 2100.0, "");
/// Range of a tide; the greatest on Earth are near 16 m.
pub const TIDE_RANGE_M: Bounds = Bounds::new(0.0, 20.0, "m");
/// Hour of a stream table, about high water.
pub const TIDE_HOUR: Bounds = Bounds::new(-6.0, 6.0, "h");
/// Pixels from the edge of a picture.
pub const PIXEL: Bounds = Bounds::new(0.0, 12_000.0, "pixels");
