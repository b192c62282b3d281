//! Reads the rings of a polygon (RFC 7946, section 3.1.6) and refuses what encloses no area
//! in a plain way, naming the place of the fault.

use serde_json::Value;

use crate::sea::position::{LocalPlane, Metres, Position};
use crate::units::bounds;
use crate::units::document::Reader;

use super::areas::{Side, sides_of};

/// Most positions in all areas together: an hour's tracing of a reef, yet quickly reckoned with.
pub const MOST_POSITIONS: usize = 2_000;
/// Most polygons in all.
pub const MOST_AREAS: usize = 100;
/// Least enclosed area, square metres; less is a slip of the pen.
const LEAST_AREA_M2: f64 = 1.0;

/// A sound polygon: closed rings, the first the outline, the others holes in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Area {
    rings: Vec<Vec<Position>>,
}

impl Area {
    /// The rings as they were read, each closed.
    #[must_use]
    pub fn rings(&self) -> &[Vec<Position>] {
        &self.rings
    }

    /// All positions of all rings.
    pub fn positions(&self) -> impl Iterator<Item = Position> {
        self.rings.iter().flatten().copied()
    }

    /// The rings in a plane, open, without repeated positions, what they bound on their left.
    #[must_use]
    pub fn in_plane(&self, plane: &LocalPlane) -> Vec<Vec<Metres>> {
        self.rings
            .iter()
            .enumerate()
            .map(|(nth, ring)| {
                let mut corners = corners(plane, ring);
                if (enclosed_m2(&corners) > 0.0) != (nth == 0) {
                    corners.reverse();
                }
                corners
            })
            .collect()
    }
}

/// Reads one polygon; takes what it needs from the `left` number of positions.
pub fn read_area(reader: &Reader, path: &str, value: &Value, left: &mut usize) -> Option<Area> {
    let list = reader.list(path, value, MOST_POSITIONS)?;
    if list.is_empty() {
        reader.fault(path, "has no ring", "an outline, then holes in it");
        return None;
    }
    let rings: Vec<Vec<Position>> = list
        .iter()
        .enumerate()
        .filter_map(|(nth, ring)| read_ring(reader, &format!("{path}[{nth}]"), ring, left))
        .collect();
    if rings.len() != list.len() {
        return None;
    }
    let area = Area { rings };
    let plane = LocalPlane::round(area.positions().next()?);
    is_plain(reader, path, &plane, &area).then_some(area)
}

/// Reads `[lon, lat]`; an altitude, which RFC 7946 permits, is refused, as nothing here has one.
pub fn read_position(reader: &Reader, path: &str, value: &Value) -> Option<Position> {
    let list = reader.list(path, value, 3)?;
    let [lon, lat] = list else {
        reader.fault(
            path,
            format!("has {} numbers", list.len()),
            "[longitude, latitude] in degrees",
        );
        return None;
    };
    let figures = lon.as_f64().zip(lat.as_f64());
    if let Some((east, north)) = figures
        && !bounds::LATITUDE_DEG.holds(north)
        && bounds::LONGITUDE_DEG.holds(north)
        && bounds::LATITUDE_DEG.holds(east)
    {
        reader.fault(
            format!("{path}[1]"),
            format!("is {north}, as if latitude and longitude were swapped"),
            "[longitude, latitude] in degrees",
        );
        return None;
    }
    let lon = reader.number(&format!("{path}[0]"), lon, &bounds::LONGITUDE_DEG);
    let lat = reader.number(&format!("{path}[1]"), lat, &bounds::LATITUDE_DEG);
    match Position::from_degrees(lon?, lat?) {
        Ok(position) => Some(position),
        Err(refusal) => {
            reader.fault(
                path,
                refusal.to_string(),
                "[longitude, latitude] in degrees",
            );
            None
        }
    }
}

fn read_ring(
    reader: &Reader,
    path: &str,
    value: &Value,
    left: &mut usize,
) -> Option<Vec<Position>> {
    let list = reader.list(path, value, MOST_POSITIONS)?;
    let Some(after) = left.checked_sub(list.len()) else {
        reader.fault(
            path,
            "brings the positions of all areas over the limit",
            format!("at most {MOST_POSITIONS} positions in all areas"),
        );
        *left = 0;
        return None;
    };
    *left = after;
    if list.len() < 4 {
        reader.fault(
            path,
            format!("has {} positions", list.len()),
            "four or more, the last equal to the first",
        );
        return None;
    }
    let ring: Vec<Position> = list
        .iter()
        .enumerate()
        .filter_map(|(nth, position)| read_position(reader, &format!("{path}[{nth}]"), position))
        .collect();
    if ring.len() != list.len() {
        return None;
    }
    if ring.first() != ring.last() {
        reader.fault(path, "is not closed", "a last position equal to the first");
        return None;
    }
    Some(ring)
}

/// Whether the rings enclose one plain area; notes why not.
fn is_plain(reader: &Reader, path: &str, plane: &LocalPlane, area: &Area) -> bool {
    let rings: Vec<Vec<Metres>> = area.rings.iter().map(|ring| corners(plane, ring)).collect();
    let mut sound = true;
    for (nth, ring) in rings.iter().enumerate() {
        let whole = format!("{path}[{nth}]");
        let far = ring.iter().any(|at| at.length() > bounds::DISTANCE_M.max);
        if far {
            let allowed = format!("an area within {} m", bounds::DISTANCE_M.max);
            reader.fault(&whole, "reaches too far", allowed);
        }
        let empty = ring.len() < 3;
        if empty {
            reader.fault(
                &whole,
                "encloses no area",
                "three corners or more, not in a line",
            );
        }
        sound &= !far && !empty;
    }
    if !sound {
        return false;
    }
    for (nth, ring) in rings.iter().enumerate() {
        let whole = format!("{path}[{nth}]");
        if let Some(at) = crosses_itself(ring) {
            let at = plane.position(at);
            reader.fault(
                &whole,
                format!("crosses or touches itself near {at}"),
                "a plain ring",
            );
            sound = false;
        } else if enclosed_m2(ring).abs() < LEAST_AREA_M2 {
            reader.fault(&whole, "encloses less than a square metre", "an area");
            sound = false;
        }
    }
    if !sound {
        return false;
    }
    let sides: Vec<Vec<Side>> = rings.iter().map(|ring| sides_of(ring)).collect();
    for (nth, (ring, own)) in rings.iter().zip(&sides).enumerate().skip(1) {
        let whole = format!("{path}[{nth}]");
        let inside = |other: &[Side]| {
            ring.first().is_some_and(|&p| {
                other.iter().filter(|side| side.crossed_eastward(p)).count() % 2 == 1
            })
        };
        let what = if sides
            .iter()
            .take(nth)
            .any(|other| other.iter().any(|s| own.iter().any(|o| s.meets(o.a, o.b))))
        {
            "crosses another ring"
        } else if !sides.first().is_some_and(|outline| inside(outline)) {
            "lies outside the outline"
        } else if sides.iter().skip(1).take(nth - 1).any(|hole| inside(hole)) {
            "lies in another hole"
        } else {
            continue;
        };
        reader.fault(
            &whole,
            what,
            "a hole inside the outline, clear of the others",
        );
        sound = false;
    }
    sound
}

/// Where a ring first meets itself other than at the corner between neighbours.
fn crosses_itself(ring: &[Metres]) -> Option<Metres> {
    let sides = sides_of(ring);
    let last = sides.len().checked_sub(1)?;
    for (nth, side) in sides.iter().enumerate() {
        for (other, against) in sides.iter().enumerate().skip(nth + 1) {
            let crossed = if other == nth + 1 {
                folds_back(*side, *against)
            } else if nth == 0 && other == last {
                folds_back(*against, *side)
            } else {
                side.meets(against.a, against.b)
            };
            if crossed {
                return Some(against.a);
            }
        }
    }
    None
}

/// Whether the side after a corner runs back along the side before it.
fn folds_back(before: Side, after: Side) -> bool {
    let (come, go) = (before.b - before.a, after.b - after.a);
    come.dot(go) < 0.0 && come.cross(go).abs() < 1e-9 * come.length() * go.length()
}

fn corners(plane: &LocalPlane, ring: &[Position]) -> Vec<Metres> {
    let mut corners: Vec<Metres> = ring
        .iter()
        .map(|&position| plane.metres(position))
        .collect();
    corners.dedup_by(|a, b| a.distance(*b) < 1e-6);
    corners.pop();
    corners
}

/// Area to the left of the ring, square metres: negative if it runs clockwise.
fn enclosed_m2(ring: &[Metres]) -> f64 {
    let Some(&first) = ring.first() else {
        return 0.0;
    };
    sides_of(ring)
        .iter()
        .map(|side| (side.a - first).cross(side.b - first) / 2.0)
        .sum()
}
