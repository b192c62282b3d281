//! A place in degrees, as documents write it.

use geo::{Destination as _, Geodesic, Point};
use serde_json::Value;

use super::drift::Shift;
use super::position::Position;
use crate::units::document::Reader;
use crate::units::{OutOfRange, bounds};

/// A place on the sea, degrees of WGS 84, each within its range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    lon_deg: f64,
    lat_deg: f64,
}

impl Place {
    /// From longitude and latitude in degrees, east and north positive.
    ///
    /// # Errors
    /// [`OutOfRange`] if either is not a finite number in its range.
    pub fn from_degrees(lon_deg: f64, lat_deg: f64) -> Result<Self, OutOfRange> {
        for (value, bounds) in [
            (lon_deg, bounds::LONGITUDE_DEG),
            (lat_deg, bounds::LATITUDE_DEG),
        ] {
            if !bounds.holds(value) {
                return Err(OutOfRange { value, bounds });
            }
        }
        Ok(Self { lon_deg, lat_deg })
    }

    /// Reads `[lon, lat]`.
    pub fn read(reader: &Reader, path: &str, value: &Value) -> Option<Self> {
        const ALLOWED: &str = "a position [longitude, latitude] in degrees";
        let list = reader.list(path, value, 2)?;
        let [lon, lat] = list else {
            reader.fault(path, format!("has {} elements", list.len()), ALLOWED);
            return None;
        };
        let lon_deg = reader.number(&format!("{path}[0]"), lon, &bounds::LONGITUDE_DEG);
        let lat_deg = reader.number(&format!("{path}[1]"), lat, &bounds::LATITUDE_DEG);
        match Self::from_degrees(lon_deg?, lat_deg?) {
            Ok(place) => Some(place),
            Err(cause) => {
                reader.fault(path, cause.to_string(), ALLOWED);
                None
            }
        }
    }

    /// As documents write it: `[lon, lat]`.
    #[must_use]
    pub fn lon_lat(self) -> [f64; 2] {
        [self.lon_deg, self.lat_deg]
    }

    /// Longitude, degrees, east positive.
    #[must_use]
    pub fn lon_deg(self) -> f64 {
        self.lon_deg
    }

    /// Latitude, degrees, north positive.
    #[must_use]
    pub fn lat_deg(self) -> f64 {
        self.lat_deg
    }

    /// Where a way leads, along the geodesic of its first course.
    #[must_use]
    pub fn after(self, way: Shift) -> [f64; 2] {
        let start = Point::new(self.lon_deg, self.lat_deg);
        let end = Geodesic.destination(start, way.course_deg(), way.distance_m());
        [end.x(), end.y()]
    }
}

impl From<Position> for Place {
    fn from(position: Position) -> Self {
        // Both types hold the same ranges.
        Self {
            lon_deg: position.lon_deg(),
            lat_deg: position.lat_deg(),
        }
    }
}
