//! Keep-clear areas in the local plane: what lies inside, how far off they are, and when
//! something adrift would touch them.

use crate::sea::position::{LocalPlane, Metres};

use super::ring::Area;
use super::tree::Sides;

/// A straight side from `a` to `b`; what it bounds lies to its left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Side {
    pub(super) a: Metres,
    pub(super) b: Metres,
}

impl Side {
    /// How far along the side, from 0 to 1, the point nearest to `p` lies.
    pub(super) fn nearest_along(self, p: Metres) -> f64 {
        let way = self.b - self.a;
        let square = way.dot(way);
        if square <= 0.0 {
            return 0.0;
        }
        ((p - self.a).dot(way) / square).clamp(0.0, 1.0)
    }

    pub(super) fn at(self, along: f64) -> Metres {
        self.a + (self.b - self.a) * along
    }

    /// Whether the side and the line from `p` to `q` have a point in common.
    pub(super) fn meets(self, p: Metres, q: Metres) -> bool {
        let line = q - p;
        let a = line.cross(self.a - p);
        let b = line.cross(self.b - p);
        if a * b > 0.0 {
            return false;
        }
        let way = self.b - self.a;
        let c = way.cross(p - self.a);
        let d = way.cross(q - self.a);
        if c * d > 0.0 {
            return false;
        }
        if a == 0.0 && b == 0.0 && c == 0.0 && d == 0.0 {
            // All on one line: they meet where their boxes do.
            return Reach::of(self.a, self.b).overlaps(&Reach::of(p, q));
        }
        true
    }

    /// Where along the ray from `p` with `velocity` it crosses the side, in its own time.
    pub(super) fn crossed_at(self, p: Metres, velocity: Metres) -> Option<f64> {
        let way = self.b - self.a;
        let turn = velocity.cross(way);
        if turn == 0.0 {
            return None;
        }
        let to = self.a - p;
        let along = to.cross(velocity) / turn;
        let time = to.cross(way) / turn;
        ((0.0..=1.0).contains(&along) && time >= 0.0).then_some(time)
    }

    /// Whether a line from `p` eastward crosses the side: odd counts mean inside.
    pub(super) fn crossed_eastward(self, p: Metres) -> bool {
        (self.a.north > p.north) != (self.b.north > p.north)
            && p.east
                < self.a.east
                    + (p.north - self.a.north) / (self.b.north - self.a.north)
                        * (self.b.east - self.a.east)
    }
}

/// A box round something, to leave out quickly what is far off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Reach {
    low: Metres,
    high: Metres,
}

impl Reach {
    pub(super) fn of(a: Metres, b: Metres) -> Self {
        Self {
            low: Metres::new(a.east.min(b.east), a.north.min(b.north)),
            high: Metres::new(a.east.max(b.east), a.north.max(b.north)),
        }
    }

    pub(super) fn of_sides(sides: &[Side]) -> Self {
        let each: Vec<Self> = sides.iter().map(|side| Self::of(side.a, side.b)).collect();
        Self::about(&each)
    }

    /// A box round boxes.
    pub(super) fn about(boxes: &[Self]) -> Self {
        let nothing = Self {
            low: Metres::new(f64::INFINITY, f64::INFINITY),
            high: Metres::new(f64::NEG_INFINITY, f64::NEG_INFINITY),
        };
        boxes.iter().fold(nothing, |reach, own| Self {
            low: Metres::new(
                reach.low.east.min(own.low.east),
                reach.low.north.min(own.low.north),
            ),
            high: Metres::new(
                reach.high.east.max(own.high.east),
                reach.high.north.max(own.high.north),
            ),
        })
    }

    pub(super) fn overlaps(&self, other: &Self) -> bool {
        self.low.east <= other.high.east
            && other.low.east <= self.high.east
            && self.low.north <= other.high.north
            && other.low.north <= self.high.north
    }

    /// Whether a line from `p` eastward may meet something in the box.
    pub(super) fn is_east_of(&self, p: Metres) -> bool {
        self.low.north <= p.north && p.north <= self.high.north && p.east <= self.high.east
    }

    /// Whether the whole line through `p` along `way` may meet something in the box: its middle
    /// is no farther from the line than its half diagonal across it (separating axis). Written
    /// with slack: a box too many costs a look, one too few a crossing.
    fn is_met_by_line(&self, p: Metres, way: Metres) -> bool {
        let middle = (self.low + self.high) * 0.5 - p;
        let half = (self.high - self.low) * 0.5;
        let across = way.cross(middle).abs();
        let reach = way.east.abs() * half.north + way.north.abs() * half.east;
        across <= reach + 1e-9 * (1.0 + across)
    }

    /// Whether the line from `a` to `b` may meet something in the box.
    pub(super) fn is_met(&self, a: Metres, b: Metres) -> bool {
        self.overlaps(&Self::of(a, b)) && self.is_met_by_line(a, b - a)
    }

    /// Whether a ray from `p` with `velocity` may meet something in the box.
    pub(super) fn is_met_by_ray(&self, p: Metres, velocity: Metres) -> bool {
        let farthest = Metres::new(
            if velocity.east >= 0.0 {
                self.high.east
            } else {
                self.low.east
            },
            if velocity.north >= 0.0 {
                self.high.north
            } else {
                self.low.north
            },
        );
        let ahead = velocity.dot(farthest - p);
        ahead >= -1e-9 * (1.0 + ahead.abs()) && self.is_met_by_line(p, velocity)
    }

    /// Least square of a distance from `p` to anything in the box.
    pub(super) fn square_from(&self, p: Metres) -> f64 {
        let east = (self.low.east - p.east)
            .max(p.east - self.high.east)
            .max(0.0);
        let north = (self.low.north - p.north)
            .max(p.north - self.high.north)
            .max(0.0);
        east * east + north * north
    }
}

/// One area: its rings, the outer one counter-clockwise, holes clockwise.
#[derive(Debug, Clone)]
pub(super) struct Polygon {
    pub(super) rings: Vec<Vec<Metres>>,
    sides: Sides,
}

/// The keep-clear areas of a site in its plane.
#[derive(Debug, Clone, Default)]
pub struct KeepClear {
    pub(super) polygons: Vec<Polygon>,
    sides: Sides,
}

impl KeepClear {
    /// The areas laid into `plane`.
    #[must_use]
    pub fn new(plane: &LocalPlane, areas: &[Area]) -> Self {
        let sides_in = |rings: &[Vec<Metres>]| rings.iter().flat_map(|r| sides_of(r)).collect();
        let polygons: Vec<Polygon> = areas
            .iter()
            .map(|area| {
                let rings = area.in_plane(plane);
                Polygon {
                    sides: Sides::new(sides_in(&rings)),
                    rings,
                }
            })
            .collect();
        let all = polygons.iter().flat_map(|one| one.sides.all()).copied();
        Self {
            sides: Sides::new(all.collect()),
            polygons,
        }
    }

    /// Whether there is nothing to keep clear of.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.polygons.is_empty()
    }

    /// Whether `p` lies in an area. Areas may overlap, so each is asked for itself.
    #[must_use]
    pub fn holds(&self, p: Metres) -> bool {
        self.polygons.iter().any(|polygon| polygon.sides.holds(p))
    }

    pub(super) fn sides(&self) -> impl Iterator<Item = Side> {
        self.sides.all().iter().copied()
    }

    /// The nearest point of an area, `p` itself inside one. `None` without areas.
    #[must_use]
    pub fn nearest(&self, p: Metres) -> Option<Metres> {
        if self.holds(p) {
            return Some(p);
        }
        let (nth, along) = self.sides.nearest(p)?;
        self.sides.all().get(nth).map(|side| side.at(along))
    }

    /// Metres to the nearest area, 0 inside one. `None` without areas.
    #[must_use]
    pub fn distance_m(&self, p: Metres) -> Option<f64> {
        self.nearest(p).map(|nearest| nearest.distance(p))
    }

    /// Seconds until something that moves from `p` with `velocity` (m/s) touches an area; 0 if
    /// it lies in one. `None`: never.
    #[must_use]
    pub fn touched_after_s(&self, p: Metres, velocity: Metres) -> Option<f64> {
        if self.holds(p) {
            return Some(0.0);
        }
        let times = self.sides.crossed_at(p, velocity);
        times.into_iter().min_by(f64::total_cmp)
    }

    /// Whether the straight line from `a` to `b` touches an area.
    #[must_use]
    pub fn lies_between(&self, a: Metres, b: Metres) -> bool {
        self.holds(a) || self.holds(b) || self.sides.are_met(a, b)
    }
}

/// The sides of an open ring, the last corner joined to the first.
pub(super) fn sides_of(ring: &[Metres]) -> Vec<Side> {
    ring.iter()
        .zip(ring.iter().cycle().skip(1))
        .map(|(&a, &b)| Side { a, b })
        .collect()
}
