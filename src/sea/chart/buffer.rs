//! Keep-clear areas with the stand-off laid round them. Round corners become the sides of a
//! polygon *about* the circle, so no point outside it is ever nearer than the stand-off
//! (and on a chart of few positions none is further off than it must be by more than 0.13 %).

use std::f64::consts::TAU;

use geo::{ConvexHull as _, Coord, LineString, MultiPolygon, Polygon, unary_union};

use crate::sea::position::Metres;

use super::areas::{KeepClear, Side, sides_of};
use super::tree::Sides;

/// What lies outside does so by this much, so that touching never counts as crossing.
pub(super) const HAIR_M: f64 = 1e-3;
/// Stand-offs below this are none.
const NO_STAND_OFF_M: f64 = 1e-6;

/// The outline of all buffered areas; it keeps the areas on its left.
#[derive(Debug, Clone)]
pub(super) struct Buffer {
    pub(super) rings: Vec<Vec<Metres>>,
    sides: Sides,
    /// Number of the side before and after each.
    joined: Vec<(usize, usize)>,
}

/// The nearest point of the outline: on which side, and whether at an end of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Foot {
    /// Number of the side; the two that share a corner both stand for it.
    pub(super) side: usize,
    /// At the first end, between, or at the last end.
    pub(super) end: std::cmp::Ordering,
    /// The point.
    pub(super) at: Metres,
}

impl Buffer {
    pub(super) fn new(areas: &KeepClear, stand_off_m: f64) -> Self {
        let about = about_circle(
            stand_off_m,
            circle_sides(areas.polygons.len(), areas.sides().count()),
        );
        let mut pieces: Vec<Polygon> = Vec::new();
        for polygon in &areas.polygons {
            let mut rings = polygon.rings.iter().map(|ring| line(ring));
            let outline = rings.next().unwrap_or_else(|| LineString::new(Vec::new()));
            if stand_off_m > NO_STAND_OFF_M {
                for side in polygon.rings.iter().flat_map(|ring| sides_of(ring)) {
                    pieces.push(drawn_along(side, &about));
                }
            }
            pieces.push(Polygon::new(outline, rings.collect()));
        }
        let outline: MultiPolygon = unary_union(&pieces);
        let rings: Vec<Vec<Metres>> = outline
            .iter()
            .flat_map(|polygon| {
                std::iter::once((polygon.exterior(), true))
                    .chain(polygon.interiors().iter().map(|hole| (hole, false)))
            })
            .filter_map(|(ring, outer)| open_ring(ring, outer))
            .collect();
        let sides = rings.iter().flat_map(|ring| sides_of(ring));
        let mut joined = Vec::new();
        for ring in &rings {
            let (first, many) = (joined.len(), ring.len());
            joined.extend(
                (0..many).map(|nth| (first + (nth + many - 1) % many, first + (nth + 1) % many)),
            );
        }
        Self {
            joined,
            sides: Sides::new(sides.collect()),
            rings,
        }
    }

    /// Whether `p` is nearer to an area than the stand-off.
    pub(super) fn holds(&self, p: Metres) -> bool {
        self.sides.holds(p)
    }

    /// Whether the straight line from `a` to `b`, both outside, stays outside.
    pub(super) fn is_clear(&self, a: Metres, b: Metres) -> bool {
        !self.sides.are_met(a, b)
    }

    /// The point of the outline nearest to `p`; `None` without areas.
    pub(super) fn nearest(&self, p: Metres) -> Option<Foot> {
        let (nth, along) = self.sides.nearest(p)?;
        let end = if along <= 0.0 {
            std::cmp::Ordering::Less
        } else if along >= 1.0 {
            std::cmp::Ordering::Greater
        } else {
            std::cmp::Ordering::Equal
        };
        let at = self.sides.all().get(nth)?.at(along);
        Some(Foot { side: nth, end, at })
    }

    /// How far `p`, whose nearest point is `foot`, may move before another side, another end or
    /// the way between takes over, metres; a lower bound.
    pub(super) fn keeps_for_m(&self, p: Metres, foot: Foot) -> f64 {
        let sides = self.sides.all();
        let Some(own) = sides.get(foot.side) else {
            return 0.0;
        };
        let off_m = foot.at.distance(p);
        let neighbour = match foot.end {
            std::cmp::Ordering::Less => self.joined.get(foot.side).map(|joined| joined.0),
            std::cmp::Ordering::Equal => None,
            std::cmp::Ordering::Greater => self.joined.get(foot.side).map(|joined| joined.1),
        };
        // At a corner both its sides have the same nearest point until `p` passes the line
        // across one of them.
        let across_m = |side: &Side| {
            let way = side.b - side.a;
            ((p - foot.at).dot(way) / way.length()).abs()
        };
        let corner_m = neighbour.map_or(f64::INFINITY, |other| {
            let other_m = sides.get(other).map_or(0.0, across_m);
            across_m(own).min(other_m)
        });
        let but = [foot.side, neighbour.unwrap_or(foot.side)];
        // Either distance changes by no more than `p` moves.
        let others_m = self
            .sides
            .nearest_but(p, but)
            .and_then(|(nth, along)| sides.get(nth).map(|side| side.at(along).distance(p)))
            .map_or(f64::INFINITY, |other_m| (other_m - off_m) / 2.0);
        corner_m.min(others_m).max(0.0)
    }

    /// The point a hair outside the outline at `foot`.
    pub(super) fn outside_of(&self, foot: Foot) -> Metres {
        let Some(&side) = self.sides.all().get(foot.side) else {
            return foot.at;
        };
        let other = match foot.end {
            std::cmp::Ordering::Less => self.joined.get(foot.side).map(|joined| joined.0),
            std::cmp::Ordering::Equal => None,
            std::cmp::Ordering::Greater => self.joined.get(foot.side).map(|joined| joined.1),
        };
        let other = other
            .and_then(|other| self.sides.all().get(other))
            .unwrap_or(&side);
        foot.at + hair_out(side, *other)
    }

    /// Times at which a ray from `p` with `velocity` crosses the outline, in order.
    pub(super) fn crossings(&self, p: Metres, velocity: Metres) -> Vec<f64> {
        let mut times = self.sides.crossed_at(p, velocity);
        times.sort_by(f64::total_cmp);
        times
    }

    /// Where a boat at `p`, inside, gets out by the shortest straight line that keeps off the
    /// areas themselves. `None`: no straight line does.
    pub(super) fn way_out(&self, areas: &KeepClear, p: Metres) -> Option<Metres> {
        let nearest = self.nearest(p).map(|foot| self.outside_of(foot))?;
        // Inside an area there is nothing to keep off any more: the shortest line it is.
        if areas.holds(p) || !areas.lies_between(p, nearest) {
            return Some(nearest);
        }
        let mut ways: Vec<Metres> = self
            .sides
            .all()
            .iter()
            .flat_map(|side| [side.nearest_along(p), 0.0, 1.0].map(|along| side.at(along)))
            .collect();
        // The shortest clear line may graze a corner of an area.
        for corner in areas.sides().map(|side| side.a) {
            let sight = corner - p;
            let aside =
                Metres::new(sight.north, -sight.east) * (HAIR_M / sight.length().max(HAIR_M));
            for line in [sight + aside, sight - aside] {
                let hits = self.crossings(p, line);
                ways.extend(hits.first().map(|&time| p + line * time));
            }
        }
        ways.sort_by(|a, b| a.distance(p).total_cmp(&b.distance(p)));
        ways.into_iter()
            .map(|at| p + (at - p) * (1.0 + 2.0 * HAIR_M / at.distance(p).max(HAIR_M)))
            .find(|&at| !self.holds(at) && !areas.lies_between(p, at))
    }
}

/// A hair out from the corner between two sides, clear of both by as much; areas lie on their left.
pub(super) fn hair_out(one: Side, other: Side) -> Metres {
    let right = |side: Side| {
        let way = side.b - side.a;
        Metres::new(way.north, -way.east) * (1.0 / way.length())
    };
    let bisector = right(one) + right(other);
    let half = bisector.length() / 2.0;
    // In a needle or a crack the hair along the bisector would be long: cap it.
    bisector * (HAIR_M / (2.0 * half * half.max(0.05)))
}

/// Fewer sides where there are many areas or a reef is traced in many positions, so that a
/// hostile chart is reckoned in time and a surveyed one at once. With 24 no point is further off
/// than it must be by more than 0.9 %: half a metre of a stand-off of 50 m.
fn circle_sides(areas: usize, sides: usize) -> u32 {
    let by_areas = match areas {
        0..=12 => 64,
        13..=40 => 32,
        _ => 16,
    };
    let by_sides = match sides {
        0..=400 => 64,
        401..=1_000 => 32,
        _ => 24,
    };
    by_areas.min(by_sides)
}

/// A regular polygon about the circle of `radius`: corners at radius / cos(pi / n).
fn about_circle(radius: f64, sides: u32) -> Vec<Metres> {
    let step = TAU / f64::from(sides);
    let corner = radius / (step / 2.0).cos();
    (0..sides)
        .map(|nth| {
            let (sin, cos) = ((f64::from(nth) + 0.5) * step).sin_cos();
            Metres::new(corner * cos, corner * sin)
        })
        .collect()
}

/// What the polygon `about` covers when it is drawn along a side.
fn drawn_along(side: Side, about: &[Metres]) -> Polygon {
    let corners: Vec<Metres> = [side.a, side.b]
        .iter()
        .flat_map(|&end| about.iter().map(move |&corner| end + corner))
        .collect();
    line(&corners).convex_hull()
}

fn line(corners: &[Metres]) -> LineString {
    let mut coords: Vec<Coord> = corners
        .iter()
        .map(|at| Coord {
            x: at.east,
            y: at.north,
        })
        .collect();
    coords.extend(coords.first().copied());
    LineString::new(coords)
}

/// The corners of a ring without the closing one, turned so that the area is on the left.
fn open_ring(ring: &LineString, outer: bool) -> Option<Vec<Metres>> {
    let mut corners: Vec<Metres> = ring.coords().map(|c| Metres::new(c.x, c.y)).collect();
    corners.dedup_by(|a, b| a.distance(*b) < 1e-6);
    corners.pop();
    if corners.len() < 3 {
        return None;
    }
    let twice: f64 = sides_of(&corners)
        .iter()
        .map(|side| side.a.cross(side.b))
        .sum();
    if (twice > 0.0) != outer {
        corners.reverse();
    }
    Some(corners)
}
