//! Daylight: sunrise, sunset and civil twilight of a place and day, and whether it is night.
//!
//! Reckoned for the sea's own horizon in still, standard air; refraction moves what is really
//! seen by a minute or more, and land to the west hides the sun earlier.

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::Offset;
use solar_positioning::time::JulianDate;
use solar_positioning::{Horizon, Location, SolarEvents, SolarPositions, delta_t};

use super::position::Position;
use crate::units::bounds;

pub mod wire;

/// Why the sun could not be reckoned.
#[derive(Debug, thiserror::Error)]
pub enum DaylightError {
    /// A day outside the years for which the rotation of the Earth is known or foreseen.
    #[error("the year {year} is not {}", bounds::YEAR.in_words().trim())]
    Year {
        /// The year asked for.
        year: i16,
    },
    /// The library that reckons the sun refused.
    #[error("the sun could not be reckoned")]
    Sun(#[from] solar_positioning::Error),
    /// An instant could not be told.
    #[error("the instant is out of range")]
    Instant(#[from] jiff::Error),
}

/// An instant at which the sun crosses a height, or why there is none that day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Crossing {
    /// It crosses at this instant.
    At(Timestamp),
    /// It stays above.
    AlwaysUp,
    /// It stays below.
    NeverUp,
}

/// The sun of one local solar day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Daylight {
    /// Upper limb on the horizon, rising.
    pub sunrise: Crossing,
    /// Upper limb on the horizon, setting.
    pub sunset: Crossing,
    /// Centre 6 degrees below the horizon, rising.
    pub civil_dawn: Crossing,
    /// Centre 6 degrees below the horizon, setting.
    pub civil_dusk: Crossing,
}

/// Sunrise, sunset and civil twilight of the local solar day `date`: the day whose noon is
/// nearest to 12:00 minus four minutes for each degree of longitude.
///
/// # Errors
/// [`DaylightError`] for a year out of range.
///
/// # Source
/// Positions after Reda and Andreas 2004 (NREL SPA); zenith 90 degrees 50 minutes and 96
/// degrees after Almanac for Computers 1990, U.S. Naval Observatory.
pub fn daylight(place: Position, date: Date) -> Result<Daylight, DaylightError> {
    let sun = Sun::of_year(date.year(), place)?;
    let midday = Offset::UTC.to_timestamp(date.at(12, 0, 0, 0))?;
    let mean_noon = julian_day(midday) - place.lon_deg() / 360.0;
    let noon = sun.noon_near(mean_noon)?;
    Ok(Daylight {
        sunrise: sun.rise(noon, Horizon::SunriseSunset)?,
        sunset: sun.set(noon, Horizon::SunriseSunset)?,
        civil_dawn: sun.rise(noon, Horizon::CivilTwilight)?,
        civil_dusk: sun.set(noon, Horizon::CivilTwilight)?,
    })
}

/// Whether the sun's upper limb is below the horizon.
///
/// Sunset is the border, not the end of twilight: a head on the water, a buoy without a light
/// and a hand signal are lost in dusk long before it is dark, and regulations ask for lights
/// from sunset (COLREG rule 20). So a window that ends after sunset counts as night.
///
/// # Errors
/// [`DaylightError`] for a year out of range.
pub fn is_night(place: Position, instant: Timestamp) -> Result<bool, DaylightError> {
    let year = Offset::UTC.to_datetime(instant).year();
    let sun = Sun::of_year(year, place)?;
    Ok(sun.height_deg(julian_day(instant))? < Horizon::SunriseSunset.elevation_angle())
}

/// The last sunset before `instant`, if the sun set that day or the day before.
///
/// # Errors
/// [`DaylightError`] for a year out of range.
pub fn last_sunset(
    place: Position,
    instant: Timestamp,
) -> Result<Option<Timestamp>, DaylightError> {
    let today = Offset::UTC.to_datetime(instant).date();
    let mut last = None;
    for date in [today.yesterday()?, today, today.tomorrow()?] {
        if let Crossing::At(sunset) = daylight(place, date)?.sunset
            && sunset <= instant
        {
            last = Some(sunset);
        }
    }
    Ok(last)
}

/// The sun over a place, with the Earth's rotation of a year.
struct Sun {
    place: Location,
    delta_t_s: f64,
    events: SolarEvents,
}

impl Sun {
    /// Slack around noon and midnight, days. The hour of the greatest height is not quite that
    /// of the meridian: at 85 degrees latitude up to three minutes off.
    const SLACK: f64 = 15.0 / 1440.0;

    fn of_year(year: i16, place: Position) -> Result<Self, DaylightError> {
        if !bounds::YEAR.holds(f64::from(year)) {
            return Err(DaylightError::Year { year });
        }
        // The middle of the year will do: delta T changes by under a second in it.
        let delta_t_s = delta_t::estimate(f64::from(year) + 0.5)?;
        Ok(Self {
            place: Location {
                latitude: place.lat_deg(),
                longitude: place.lon_deg(),
            },
            delta_t_s,
            events: SolarEvents::new(),
        })
    }

    /// The sun's passage through the meridian nearest to mean noon: at most 17 minutes off.
    fn noon_near(&self, mean_noon: f64) -> Result<f64, DaylightError> {
        let hour = 1.0 / 24.0;
        let found = self.events.next_transit_from_julian(
            mean_noon - hour,
            mean_noon + hour,
            self.place.longitude,
            self.delta_t_s,
        )?;
        Ok(found.unwrap_or(mean_noon))
    }

    fn rise(&self, noon: f64, horizon: Horizon) -> Result<Crossing, DaylightError> {
        let (from, to) = (noon - 0.5 - Self::SLACK, noon + Self::SLACK);
        let found =
            self.events
                .next_rise_from_julian(from, to, self.place, self.delta_t_s, horizon)?;
        self.crossing(found, noon, horizon)
    }

    fn set(&self, noon: f64, horizon: Horizon) -> Result<Crossing, DaylightError> {
        let (from, to) = (noon - Self::SLACK, noon + 0.5 + Self::SLACK);
        let found =
            self.events
                .next_set_from_julian(from, to, self.place, self.delta_t_s, horizon)?;
        self.crossing(found, noon, horizon)
    }

    fn crossing(
        &self,
        found: Option<f64>,
        noon: f64,
        horizon: Horizon,
    ) -> Result<Crossing, DaylightError> {
        Ok(match found {
            Some(day) => Crossing::At(instant(day)?),
            None if self.height_deg(noon)? > horizon.elevation_angle() => Crossing::AlwaysUp,
            None => Crossing::NeverUp,
        })
    }

    /// Height of the sun's centre, without refraction, degrees.
    fn height_deg(&self, day: f64) -> Result<f64, DaylightError> {
        let time = JulianDate::new(day, self.delta_t_s)?;
        let sun = SolarPositions::new().at_from_julian(time, self.place, 0.0, None)?;
        Ok(sun.elevation_angle())
    }
}

/// Julian day of the Unix epoch, 1970-01-01T00:00Z.
const EPOCH_DAY: f64 = 2_440_587.5;
const DAY_MS: f64 = 86_400_000.0;

fn julian_day(instant: Timestamp) -> f64 {
    instant.as_millisecond() as f64 / DAY_MS + EPOCH_DAY
}

/// To the nearest second; a Julian day in 64 bits is good to some 40 microseconds.
fn instant(julian_day: f64) -> Result<Timestamp, DaylightError> {
    let seconds = ((julian_day - EPOCH_DAY) * DAY_MS / 1000.0).round();
    #[expect(
        clippy::cast_possible_truncation,
        reason = "the years are bounded, so the seconds are far below 2^53"
    )]
    let seconds = seconds as i64;
    Ok(Timestamp::from_second(seconds)?)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn place(lon_deg: f64, lat_deg: f64) -> Position {
        Position::from_degrees(lon_deg, lat_deg).unwrap()
    }

    fn at(crossing: Crossing) -> Timestamp {
        match crossing {
            Crossing::At(instant) => instant,
            Crossing::AlwaysUp | Crossing::NeverUp => panic!("{crossing:?}"),
        }
    }

    #[test]
    fn what_is_no_place_or_year_is_refused() {
        assert!(Position::from_degrees(f64::NAN, 0.0).is_err());
        assert!(Position::from_degrees(181.0, 0.0).is_err());
        let far = jiff::civil::date(3000, 1, 1);
        assert!(matches!(
            daylight(place(0.0, 0.0), far),
            Err(DaylightError::Year { year: 3000 })
        ));
        assert!(is_night(place(0.0, 0.0), "1800-01-01T00:00:00Z".parse().unwrap()).is_err());
    }

    /// At 80 degrees north the sun is up all of June, down all of December, twilight included.
    #[test]
    fn a_polar_summer_has_no_night_and_its_winter_no_day() {
        let june = daylight(place(15.0, 80.0), jiff::civil::date(2026, 6, 21)).unwrap();
        assert_eq!(june.sunset, Crossing::AlwaysUp);
        assert_eq!(june.civil_dawn, Crossing::AlwaysUp);
        let december = daylight(place(15.0, 80.0), jiff::civil::date(2026, 12, 21)).unwrap();
        assert_eq!(december.sunrise, Crossing::NeverUp);
        assert_eq!(december.civil_dusk, Crossing::NeverUp);
    }

    proptest! {
        /// Dawn, sunrise, sunset, dusk follow each other, and night lies outside the two in
        /// the middle.
        #[test]
        fn night_lies_outside_sunrise_and_sunset(
            lat in -60.0..60.0_f64, lon in -180.0..180.0_f64, day in 0..365_i32,
        ) {
            let date = jiff::civil::date(2026, 1, 1).checked_add(jiff::Span::new().days(day))
                .unwrap();
            let here = place(lon, lat);
            let sun = daylight(here, date).unwrap();
            let (dawn, rise) = (at(sun.civil_dawn), at(sun.sunrise));
            let (set, dusk) = (at(sun.sunset), at(sun.civil_dusk));
            prop_assert!(dawn < rise && rise < set && set < dusk);
            let ten = jiff::SignedDuration::from_secs(10);
            prop_assert!(is_night(here, rise - ten).unwrap());
            prop_assert!(!is_night(here, rise + ten).unwrap());
            prop_assert!(!is_night(here, set - ten).unwrap());
            prop_assert!(is_night(here, set + ten).unwrap());
        }
    }
}
