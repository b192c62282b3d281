//! Keep-clear areas in the local plane: what lies inside, how far off they are, and when
//! something adrift would touch them.

use crate::sea::position::{LocalPlane, Metres};

use super::ring::Area;

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
        let nothing = Self {
            low: Metres::new(f64::INFINITY, f64::INFINITY),
            high: Metres::new(f64::NEG_INFINITY, f64::NEG_INFINITY),
        };
        sides.iter().fold(nothing, |reach, side| {
            let own = Self::of(side.a, side.b);
            Self {
                low: Metres::new(
                    reach.low.east.min(own.low.east),
                    reach.low.north.min(own.low.north),
                ),
                high: Metres::new(
                    reach.high.east.max(own.high.east),
                    reach.high.north.max(own.high.north),
                ),
            }
        })
    }

    pub(super) fn overlaps(&self, other: &Self) -> bool {
        self.low.east <= other.high.east
            && other.low.east <= self.high.east
            && self.low.north <= other.high.north
            && other.low.north <= self.high.north
    }

    pub(super) fn holds(&self, p: Metres) -> bool {
        self.low.east <= p.east
            && p.east <= self.high.east
            && self.low.north <= p.north
            && p.north <= self.high.north
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

/// One area: its sides, outer ring counter-clockwise, holes clockwise.
#[derive(Debug, Clone)]
pub(super) struct Polygon {
    pub(super) rings: Vec<Vec<Metres>>,
    sides: Vec<Side>,
    reach: Reach,
}

impl Polygon {
    fn holds(&self, p: Metres) -> bool {
        self.reach.holds(p)
            && self
                .sides
                .iter()
                .filter(|side| side.crossed_eastward(p))
                .count()
                % 2
                == 1
    }
}

/// The keep-clear areas of a site in its plane.
#[derive(Debug, Clone, Default)]
pub struct KeepClear {
    pub(super) polygons: Vec<Polygon>,
}

impl KeepClear {
    /// The areas laid into `plane`.
    #[must_use]
    pub fn new(plane: &LocalPlane, areas: &[Area]) -> Self {
        Self {
            polygons: areas
                .iter()
                .map(|area| {
                    let rings = area.in_plane(plane);
                    let sides: Vec<Side> = rings.iter().flat_map(|ring| sides_of(ring)).collect();
                    let reach = Reach::of_sides(&sides);
                    Polygon {
                        rings,
                        sides,
                        reach,
                    }
                })
                .collect(),
        }
    }

    /// Whether there is nothing to keep clear of.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.polygons.is_empty()
    }

    /// Whether `p` lies in an area.
    #[must_use]
    pub fn holds(&self, p: Metres) -> bool {
        self.polygons.iter().any(|polygon| polygon.holds(p))
    }

    pub(super) fn sides(&self) -> impl Iterator<Item = Side> {
        self.polygons
            .iter()
            .flat_map(|polygon| polygon.sides.iter().copied())
    }

    /// The nearest point of an area, `p` itself inside one. `None` without areas.
    #[must_use]
    pub fn nearest(&self, p: Metres) -> Option<Metres> {
        if self.holds(p) {
            return Some(p);
        }
        self.sides()
            .map(|side| side.at(side.nearest_along(p)))
            .min_by(|a, b| a.distance(p).total_cmp(&b.distance(p)))
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
        self.sides()
            .filter_map(|side| side.crossed_at(p, velocity))
            .min_by(f64::total_cmp)
    }

    /// Whether the straight line from `a` to `b` touches an area.
    #[must_use]
    pub fn lies_between(&self, a: Metres, b: Metres) -> bool {
        self.holds(a) || self.holds(b) || self.sides().any(|side| side.meets(a, b))
    }
}

/// The sides of an open ring, the last corner joined to the first.
pub(super) fn sides_of(ring: &[Metres]) -> Vec<Side> {
    ring.iter()
        .zip(ring.iter().cycle().skip(1))
        .map(|(&a, &b)| Side { a, b })
        .collect()
}
