//! Positions on WGS 84.

use serde::{Deserialize, Serialize};

use crate::units::OutOfRange;
use crate::units::bounds::{LATITUDE_DEG, LONGITUDE_DEG};

/// A position, WGS 84; written `[lon, lat]` (RFC 7946).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "[f64; 2]", into = "[f64; 2]")]
pub struct Position {
    lon_deg: f64,
    lat_deg: f64,
}

impl Position {
    /// From longitude and latitude in degrees, east and north positive.
    ///
    /// # Errors
    /// [`OutOfRange`] if either is no number in range.
    pub fn from_lon_lat(lon_deg: f64, lat_deg: f64) -> Result<Self, OutOfRange> {
        for (value, bounds) in [(lon_deg, LONGITUDE_DEG), (lat_deg, LATITUDE_DEG)] {
            if !bounds.holds(value) {
                return Err(OutOfRange { value, bounds });
            }
        }
        Ok(Self { lon_deg, lat_deg })
    }

    /// Longitude in degrees, east positive.
    #[must_use]
    pub fn lon_deg(self) -> f64 {
        self.lon_deg
    }

    /// Latitude in degrees, north positive.
    #[must_use]
    pub fn lat_deg(self) -> f64 {
        self.lat_deg
    }
}

impl TryFrom<[f64; 2]> for Position {
    type Error = OutOfRange;
    fn try_from([lon, lat]: [f64; 2]) -> Result<Self, OutOfRange> {
        Self::from_lon_lat(lon, lat)
    }
}

impl From<Position> for [f64; 2] {
    fn from(position: Position) -> [f64; 2] {
        [position.lon_deg, position.lat_deg]
    }
}
