//! Ways round: the shortest run between two places that never comes nearer to a keep-clear
//! area than the stand-off.
//!
//! A shortest way bends only at convex corners of the buffered outline and touches them
//! without cutting in, so the corners that see each other along such lines make a graph that
//! is laid once; a query adds its two ends.

use std::cmp::Reverse;
use std::collections::BinaryHeap;
use std::sync::OnceLock;

use crate::sea::position::Metres;

use super::areas::{KeepClear, Side};
use super::buffer::{Buffer, Foot, HAIR_M, hair_out};

/// A line may cut in at a corner by this much, metres: corners stand a hair outside.
const TOUCH_M: f64 = 3.0 * HAIR_M;

/// Corners are looked at in circles about the start, metres: most runs are short, and end in the
/// first.
const CIRCLES_M: [f64; 3] = [400.0, 1_600.0, f64::INFINITY];

/// A corner of the outline, a hair outside of it.
#[derive(Debug, Clone, Copy)]
struct Corner {
    at: Metres,
    before: Metres,
    after: Metres,
}

impl Corner {
    /// Whether a way to or from `p` can bend here: both neighbours on one side of the line.
    fn is_touched_from(&self, p: Metres) -> bool {
        let line = self.at - p;
        let touch = TOUCH_M * line.length();
        let before = line.cross(self.before - p);
        let after = line.cross(self.after - p);
        (before >= -touch && after >= -touch) || (before <= touch && after <= touch)
    }
}

/// Lengths of the shortest ways from one corner to all, and the corner before each.
#[derive(Debug, Clone)]
struct Row {
    length_m: Vec<f64>,
    before: Vec<usize>,
}

/// The waters of a site for a boat that keeps its stand-off.
#[derive(Debug)]
pub struct Ways {
    areas: KeepClear,
    stand_off_m: f64,
    buffer: Buffer,
    corners: Vec<Corner>,
    links: OnceLock<Vec<Vec<(usize, f64)>>>,
    rows: Vec<OnceLock<Row>>,
}

/// A corner that can be reached.
#[derive(Debug, Clone, Copy)]
struct Reached {
    /// Number of the corner.
    corner: usize,
    /// Length of the shortest way to it.
    length: f64,
    /// The first corner on it.
    first: usize,
}

/// Where a boat sets out, with what was found out about it.
#[derive(Debug)]
pub struct Start {
    at: Metres,
    out: Option<Metres>,
    lead_m: f64,
    reach: [OnceLock<Vec<Reached>>; CIRCLES_M.len()],
}

impl Start {
    /// Where the boat lies.
    #[must_use]
    pub fn at(&self) -> Metres {
        self.at
    }

    /// Where it is outside every buffer: its own place, or the end of its way out.
    /// `None`: it cannot get out by a straight line.
    #[must_use]
    pub fn out(&self) -> Option<Metres> {
        self.out
    }

    /// Metres of the way out, 0 if it lies outside.
    #[must_use]
    pub fn lead_m(&self) -> f64 {
        self.lead_m
    }
}

/// A run: its length and the last corner it goes round.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Run {
    /// Length, metres; infinite if there is none.
    pub length_m: f64,
    /// The last bend and the length up to it; the start if the run is straight.
    pub last: (Metres, f64),
}

impl Ways {
    /// The waters outside `areas` by `stand_off_m`.
    #[must_use]
    pub fn new(areas: KeepClear, stand_off_m: f64) -> Self {
        let buffer = Buffer::new(&areas, stand_off_m);
        let corners: Vec<Corner> = buffer
            .rings
            .iter()
            .flat_map(|ring| corners_of(ring))
            .collect();
        Self {
            areas,
            stand_off_m,
            rows: corners.iter().map(|_| OnceLock::new()).collect(),
            buffer,
            corners,
            links: OnceLock::new(),
        }
    }

    /// The areas themselves.
    #[must_use]
    pub fn areas(&self) -> &KeepClear {
        &self.areas
    }

    /// The distance kept, metres.
    #[must_use]
    pub fn stand_off_m(&self) -> f64 {
        self.stand_off_m
    }

    /// The outline of all areas with the stand-off round them: open rings.
    #[must_use]
    pub fn outline(&self) -> &[Vec<Metres>] {
        &self.buffer.rings
    }

    /// How many corners a way may go round: a measure of the work that a run takes.
    #[must_use]
    pub fn corners(&self) -> usize {
        self.corners.len()
    }

    /// Whether `p` is nearer to an area than the stand-off.
    #[must_use]
    pub fn is_inside(&self, p: Metres) -> bool {
        self.buffer.holds(p)
    }

    /// Seconds until something that moves from `p` with `velocity` (m/s) comes nearer to an area
    /// than the stand-off; 0 if it is. `None`: never.
    #[must_use]
    pub fn entered_after_s(&self, p: Metres, velocity: Metres) -> Option<f64> {
        if self.buffer.holds(p) {
            return Some(0.0);
        }
        self.buffer.crossings(p, velocity).first().copied()
    }

    /// `p` itself, or, inside a buffer, the nearest point outside.
    #[must_use]
    pub fn nearest_outside(&self, p: Metres) -> Metres {
        self.foot(p).map_or(p, |(_, at)| at)
    }

    /// Inside a buffer: the nearest point of the outline, and the same a hair outside.
    pub(super) fn foot(&self, p: Metres) -> Option<(Foot, Metres)> {
        if !self.buffer.holds(p) {
            return None;
        }
        let foot = self.buffer.nearest(p)?;
        Some((foot, self.buffer.outside_of(foot)))
    }

    /// How far something at `p`, inside a buffer with its nearest point at `foot`, may move
    /// before that lies on another side, metres; a lower bound.
    pub(super) fn keeps_for_m(&self, p: Metres, foot: Foot) -> f64 {
        self.buffer.keeps_for_m(p, foot)
    }

    pub(super) fn crossings(&self, p: Metres, velocity: Metres) -> Vec<f64> {
        self.buffer.crossings(p, velocity)
    }

    /// A boat that sets out from `at`. Inside a buffer it first leaves by the shortest straight
    /// line that is clear of the areas themselves.
    #[must_use]
    pub fn start(&self, at: Metres) -> Start {
        let out = if self.buffer.holds(at) {
            self.buffer.way_out(&self.areas, at)
        } else {
            Some(at)
        };
        Start {
            at,
            out,
            lead_m: out.map_or(f64::INFINITY, |out| out.distance(at)),
            reach: Default::default(),
        }
    }

    /// The shortest run to `to`, which lies outside every buffer.
    #[must_use]
    pub fn run(&self, start: &Start, to: Metres) -> Run {
        let none = Run {
            length_m: f64::INFINITY,
            last: (start.at, f64::INFINITY),
        };
        let Some(out) = start.out else {
            return none;
        };
        if self.buffer.is_clear(out, to) {
            return Run {
                length_m: start.lead_m + out.distance(to),
                last: (out, start.lead_m),
            };
        }
        let straight_m = out.distance(to);
        let mut best = none;
        for (circle, within_m) in CIRCLES_M.into_iter().enumerate() {
            if straight_m > within_m {
                continue;
            }
            best = self.run_within(start, out, circle, to);
            // A way round a corner outside of the circle is longer than to its edge.
            if best.length_m - start.lead_m <= within_m {
                break;
            }
        }
        best
    }

    /// The shortest run round corners in a circle about the start.
    fn run_within(&self, start: &Start, out: Metres, circle: usize, to: Metres) -> Run {
        let mut best = Run {
            length_m: f64::INFINITY,
            last: (start.at, f64::INFINITY),
        };
        for &Reached { corner, length, .. } in self.reach(start, out, circle) {
            // Whatever comes after is farther off by itself.
            if length >= best.length_m {
                break;
            }
            let Some(corner) = self.corners.get(corner) else {
                continue;
            };
            let through = length + corner.at.distance(to);
            if through < best.length_m
                && corner.is_touched_from(to)
                && self.buffer.is_clear(corner.at, to)
            {
                best = Run {
                    length_m: through,
                    last: (corner.at, length),
                };
            }
        }
        best
    }

    /// The places of the shortest run to `to`, start and end among them. `None`: closed in.
    #[must_use]
    pub fn way(&self, start: &Start, to: Metres) -> Option<Vec<Metres>> {
        let run = self.run(start, to);
        let out = start.out?;
        if run.length_m.is_infinite() {
            return None;
        }
        let mut back = vec![to];
        let last = self
            .corners
            .iter()
            .position(|corner| corner.at == run.last.0);
        if let Some(last) = last.filter(|_| run.last.0 != out) {
            let is_it = |reached: &&Reached| {
                reached.corner == last && reached.length.total_cmp(&run.last.1).is_eq()
            };
            let first = (0..CIRCLES_M.len())
                .find_map(|circle| self.reach(start, out, circle).iter().find(is_it))
                .map_or(last, |reached| reached.first);
            let mut at = Some(last);
            while let Some(nth) = at {
                back.extend(self.corners.get(nth).map(|corner| corner.at));
                at = if nth == first {
                    None
                } else {
                    self.row(first).and_then(|row| row.before.get(nth).copied())
                };
            }
        }
        back.push(out);
        if out != start.at {
            back.push(start.at);
        }
        back.reverse();
        Some(back)
    }

    /// The corners of a circle about the start that can be reached, by the length of the
    /// shortest way to each round such corners first.
    fn reach<'s>(&self, start: &'s Start, out: Metres, circle: usize) -> &'s [Reached] {
        let (Some(cell), Some(&within_m)) = (start.reach.get(circle), CIRCLES_M.get(circle)) else {
            return &[];
        };
        cell.get_or_init(|| {
            let mut reached: Vec<Reached> = self
                .corners
                .iter()
                .enumerate()
                .filter(|(_, corner)| corner.at.distance(out) <= within_m)
                .map(|(corner, _)| Reached {
                    corner,
                    length: f64::INFINITY,
                    first: corner,
                })
                .collect();
            let seen: Vec<(usize, f64)> = reached
                .iter()
                .filter_map(|one| Some((one.corner, self.corners.get(one.corner)?)))
                .filter(|(_, corner)| corner.is_touched_from(out))
                .filter(|(_, corner)| self.buffer.is_clear(out, corner.at))
                .map(|(nth, corner)| (nth, start.lead_m + out.distance(corner.at)))
                .collect();
            for (first, lead) in seen {
                let Some(row) = self.row(first) else {
                    continue;
                };
                for known in &mut reached {
                    let length = row.length_m.get(known.corner).copied();
                    let length = lead + length.unwrap_or(f64::INFINITY);
                    if length < known.length {
                        (known.length, known.first) = (length, first);
                    }
                }
            }
            reached.retain(|one| one.length.is_finite());
            reached.sort_by(|a, b| a.length.total_cmp(&b.length).then(a.corner.cmp(&b.corner)));
            reached
        })
    }

    /// Shortest ways from corner `from` to all others (Dijkstra 1959).
    fn row(&self, from: usize) -> Option<&Row> {
        let cell = self.rows.get(from)?;
        Some(cell.get_or_init(|| {
            let links = self.links();
            let mut row = Row {
                length_m: vec![f64::INFINITY; self.corners.len()],
                before: (0..self.corners.len()).collect(),
            };
            let mut heap = BinaryHeap::new();
            if let Some(length) = row.length_m.get_mut(from) {
                *length = 0.0;
                heap.push((Reverse(Far(0.0)), from));
            }
            while let Some((Reverse(Far(length)), nth)) = heap.pop() {
                if row.length_m.get(nth).is_none_or(|&known| length > known) {
                    continue;
                }
                for &(next, leg) in links.get(nth).into_iter().flatten() {
                    let through = length + leg;
                    if let (Some(known), Some(before)) =
                        (row.length_m.get_mut(next), row.before.get_mut(next))
                        && through < *known
                    {
                        *known = through;
                        *before = nth;
                        heap.push((Reverse(Far(through)), next));
                    }
                }
            }
            row
        }))
    }

    /// The corners that see each other along lines on which a way can bend.
    fn links(&self) -> &[Vec<(usize, f64)>] {
        self.links.get_or_init(|| {
            let mut links = vec![Vec::new(); self.corners.len()];
            for (nth, one) in self.corners.iter().enumerate() {
                for (other, two) in self.corners.iter().enumerate().skip(nth + 1) {
                    if one.is_touched_from(two.at)
                        && two.is_touched_from(one.at)
                        && self.buffer.is_clear(one.at, two.at)
                    {
                        let length = one.at.distance(two.at);
                        if let Some(from) = links.get_mut(nth) {
                            from.push((other, length));
                        }
                        if let Some(from) = links.get_mut(other) {
                            from.push((nth, length));
                        }
                    }
                }
            }
            links
        })
    }
}

/// A length that can be put in order.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Far(f64);

impl Eq for Far {}

impl PartialOrd for Far {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Far {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.0.total_cmp(&other.0)
    }
}

/// The convex corners of a ring, moved a hair out along the bisector.
fn corners_of(ring: &[Metres]) -> Vec<Corner> {
    let length = ring.len();
    let before = ring.iter().cycle().skip(length.saturating_sub(1));
    let after = ring.iter().cycle().skip(1);
    ring.iter()
        .zip(before)
        .zip(after)
        .filter_map(|((&at, &before), &after)| {
            let (come, go) = (at - before, after - at);
            if come.cross(go) <= 0.0 {
                return None;
            }
            let out = hair_out(Side { a: before, b: at }, Side { a: at, b: after });
            Some(Corner {
                at: at + out,
                before,
                after,
            })
        })
        .collect()
}
