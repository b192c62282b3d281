//! Where something is: a position on WGS 84, and the flat plane round a site in which the
//! rest of the sea room reckons.

use std::f64::consts::TAU;
use std::fmt;

use geo::{Bearing as _, Destination as _, Distance as _, Geodesic, Point};

use crate::units::OutOfRange;
use crate::units::bounds;

/// Semi-major axis of WGS 84, metres. Source: NIMA TR8350.2, table 3.1.
const A: f64 = 6_378_137.0;
/// Flattening of WGS 84. Source: NIMA TR8350.2, table 3.1.
const F: f64 = 1.0 / 298.257_223_563;
/// First eccentricity squared, from the flattening.
const E2: f64 = F * (2.0 - F);

/// A position on the sea surface, WGS 84. On the wire: `[lon, lat]` in degrees.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
#[serde(try_from = "[f64; 2]", into = "[f64; 2]")]
pub struct Position {
    lon_deg: f64,
    lat_deg: f64,
}

impl Position {
    /// From longitude and latitude in degrees, east and north positive.
    ///
    /// # Errors
    /// [`OutOfRange`] if either is not a finite number within its bounds.
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

    /// Length of the geodesic to `other`, metres.
    ///
    /// # Source
    /// Karney, Algorithms for geodesics, J. Geodesy 87 (2013), through the geo library.
    #[must_use]
    pub fn distance_m(self, other: Self) -> f64 {
        Geodesic.distance(self.point(), other.point())
    }

    /// First course of the geodesic to `other`, degrees true from 0 to below 360.
    #[must_use]
    pub fn bearing_deg(self, other: Self) -> f64 {
        Geodesic
            .bearing(self.point(), other.point())
            .rem_euclid(360.0)
    }

    /// Where a geodesic of this first course and length leads, `[lon, lat]` in degrees.
    #[must_use]
    pub fn led(self, course_deg: f64, length_m: f64) -> [f64; 2] {
        let end = Geodesic.destination(self.point(), course_deg, length_m);
        [end.x(), end.y()]
    }

    /// The same as a position.
    ///
    /// # Errors
    /// [`OutOfRange`] where the way leads beyond the latitudes this tool works in.
    pub fn along(self, course_deg: f64, length_m: f64) -> Result<Self, OutOfRange> {
        self.led(course_deg, length_m).try_into()
    }

    fn point(self) -> Point<f64> {
        Point::new(self.lon_deg, self.lat_deg)
    }

    /// Earth-centred, earth-fixed coordinates, metres.
    fn earth_centred(self) -> [f64; 3] {
        let (sin_lat, cos_lat) = self.lat_deg.to_radians().sin_cos();
        let (sin_lon, cos_lon) = self.lon_deg.to_radians().sin_cos();
        // N = a / sqrt(1 - e2 sin2(lat)), the radius of curvature in the prime vertical.
        let n = A / (1.0 - E2 * sin_lat * sin_lat).sqrt();
        [
            n * cos_lat * cos_lon,
            n * cos_lat * sin_lon,
            n * (1.0 - E2) * sin_lat,
        ]
    }
}

impl TryFrom<[f64; 2]> for Position {
    type Error = OutOfRange;
    fn try_from([lon_deg, lat_deg]: [f64; 2]) -> Result<Self, OutOfRange> {
        Self::from_degrees(lon_deg, lat_deg)
    }
}

impl From<Position> for [f64; 2] {
    fn from(position: Position) -> Self {
        [position.lon_deg, position.lat_deg]
    }
}

/// Degrees and decimal minutes, as positions are spoken on the radio: `12° 34.567' N, 056° 07.890' E`.
impl fmt::Display for Position {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (lat, lat_min) = degrees_and_minutes(self.lat_deg);
        let (lon, lon_min) = degrees_and_minutes(self.lon_deg);
        let north_south = if self.lat_deg < 0.0 { 'S' } else { 'N' };
        let east_west = if self.lon_deg < 0.0 { 'W' } else { 'E' };
        write!(
            f,
            "{lat:02}° {lat_min:06.3}' {north_south}, {lon:03}° {lon_min:06.3}' {east_west}"
        )
    }
}

/// Whole degrees and minutes rounded to a thousandth, carried so that 60.000' never shows.
fn degrees_and_minutes(degrees: f64) -> (f64, f64) {
    let thousandths = (degrees.abs() * 60_000.0).round();
    let whole = (thousandths / 60_000.0).floor();
    (whole, (thousandths - whole * 60_000.0) / 1_000.0)
}

/// A place, or a way, in a local plane: metres east and north of its origin.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Metres {
    /// East positive.
    pub east: f64,
    /// North positive.
    pub north: f64,
}

impl Metres {
    /// From metres east and north.
    #[must_use]
    pub const fn new(east: f64, north: f64) -> Self {
        Self { east, north }
    }

    /// The way of `length` in direction `deg` true.
    #[must_use]
    pub fn towards(deg: f64, length: f64) -> Self {
        let (sin, cos) = deg.to_radians().sin_cos();
        Self::new(length * sin, length * cos)
    }

    /// Length from the origin.
    #[must_use]
    pub fn length(self) -> f64 {
        self.dot(self).sqrt()
    }

    /// Distance to `other`.
    #[must_use]
    pub fn distance(self, other: Self) -> f64 {
        (other - self).length()
    }

    /// Direction in degrees true, from 0 to below 360; north for a way without length.
    #[must_use]
    pub fn direction_deg(self) -> f64 {
        let turn = self.east.atan2(self.north).rem_euclid(TAU).to_degrees();
        if turn >= 360.0 { 0.0 } else { turn }
    }

    /// Inner product.
    #[must_use]
    pub fn dot(self, other: Self) -> f64 {
        self.east * other.east + self.north * other.north
    }

    /// Outer product: positive where `other` lies to the left.
    #[must_use]
    pub fn cross(self, other: Self) -> f64 {
        self.east * other.north - self.north * other.east
    }
}

impl std::ops::Add for Metres {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.east + other.east, self.north + other.north)
    }
}

impl std::ops::Sub for Metres {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::new(self.east - other.east, self.north - other.north)
    }
}

impl std::ops::Mul<f64> for Metres {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self::new(self.east * factor, self.north * factor)
    }
}

/// The plane that touches WGS 84 at an origin. Positions are dropped onto it at right angles:
/// within 20 km a distance from the origin is short by less than 4 cm (d³ / 6R²).
/// Nothing happens at the 180th meridian, as the reckoning is earth-centred.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LocalPlane {
    origin: Position,
    centre: [f64; 3],
    east: [f64; 3],
    north: [f64; 3],
    up: [f64; 3],
}

impl LocalPlane {
    /// The plane round `origin`.
    #[must_use]
    pub fn round(origin: Position) -> Self {
        let (sin_lat, cos_lat) = origin.lat_deg.to_radians().sin_cos();
        let (sin_lon, cos_lon) = origin.lon_deg.to_radians().sin_cos();
        Self {
            origin,
            centre: origin.earth_centred(),
            east: [-sin_lon, cos_lon, 0.0],
            north: [-sin_lat * cos_lon, -sin_lat * sin_lon, cos_lat],
            up: [cos_lat * cos_lon, cos_lat * sin_lon, sin_lat],
        }
    }

    /// Where the plane touches.
    #[must_use]
    pub fn origin(&self) -> Position {
        self.origin
    }

    /// A position in metres from the origin.
    #[must_use]
    pub fn metres(&self, position: Position) -> Metres {
        let [x, y, z] = position.earth_centred();
        let [ox, oy, oz] = self.centre;
        let way = [x - ox, y - oy, z - oz];
        Metres::new(dot3(way, self.east), dot3(way, self.north))
    }

    /// The position above or below a place of the plane. Beyond the plane's reach (the horizon
    /// of the ellipsoid, some 6,000 km) the nearest there is.
    #[must_use]
    pub fn position(&self, place: Metres) -> Position {
        let [px, py, pz] = add3(
            self.centre,
            add3(
                scale3(self.east, place.east),
                scale3(self.north, place.north),
            ),
        );
        let [ux, uy, uz] = self.up;
        // (p + s u) lies on (x² + y²)/a² + z²/b² = 1; with k = a²/b²: A s² + 2 B s + C = 0.
        let k = 1.0 / (1.0 - E2);
        let a = ux * ux + uy * uy + k * uz * uz;
        let b = px * ux + py * uy + k * pz * uz;
        let c = px * px + py * py + k * pz * pz - A * A;
        // The upper of the two points: s = (-B + sqrt(B² - A C)) / A, written without cancelling.
        let s = -c / (b + (b * b - a * c).max(0.0).sqrt());
        let (x, y, z) = (px + s * ux, py + s * uy, pz + s * uz);
        Position {
            lon_deg: y.atan2(x).to_degrees(),
            // On the ellipsoid tan(lat) = z / ((1 - e²) p).
            lat_deg: z.atan2((1.0 - E2) * x.hypot(y)).to_degrees(),
        }
    }
}

fn dot3(one: [f64; 3], other: [f64; 3]) -> f64 {
    one.iter().zip(other).map(|(a, b)| a * b).sum()
}

fn add3([x, y, z]: [f64; 3], more: [f64; 3]) -> [f64; 3] {
    let [more_x, more_y, more_z] = more;
    [x + more_x, y + more_y, z + more_z]
}

fn scale3(way: [f64; 3], factor: f64) -> [f64; 3] {
    way.map(|part| part * factor)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_position_is_told_in_degrees_and_minutes() {
        for (lon, lat, told) in [
            (56.1315, 12.576_116_7, "12° 34.567' N, 056° 07.890' E"),
            (-0.5, -33.0, "33° 00.000' S, 000° 30.000' W"),
            (179.999_999_9, 9.999_999_9, "10° 00.000' N, 180° 00.000' E"),
        ] {
            assert_eq!(Position::from_degrees(lon, lat).unwrap().to_string(), told);
        }
    }

    #[test]
    fn what_is_no_position_dies_at_the_door() {
        for (lon, lat) in [
            (181.0, 0.0),
            (0.0, 85.1),
            (f64::NAN, 0.0),
            (0.0, f64::INFINITY),
        ] {
            assert!(Position::from_degrees(lon, lat).is_err(), "{lon} {lat}");
        }
        assert!(serde_json::from_str::<Position>("[200.0, 1.0]").is_err());
    }

    #[test]
    fn plane_and_position_go_back_and_forth_across_the_180th_meridian() {
        let plane = LocalPlane::round(Position::from_degrees(179.99, -17.7).unwrap());
        let far = Metres::new(9_000.0, -4_000.0);
        let position = plane.position(far);
        assert!(position.lon_deg() < -179.0, "{position}");
        assert!(plane.metres(position).distance(far) < 1e-6);
    }
}
