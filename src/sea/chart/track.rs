//! Where a boat would meet something that lies still and then drifts: straight pieces, one
//! for each stretch of open water or side of a buffer.

use crate::sea::position::Metres;

use super::buffer::Foot;
use super::ways::Ways;

/// Least drift between two looks at the nearest side, metres.
const LOOK_M: f64 = 0.5;
/// Most looks in one crossing of a buffer.
const MOST_LOOKS: f64 = 4_000.0;
/// Changes of the nearest side are found to this many seconds.
const FINE_S: f64 = 1e-6;

/// Something adrift: it lies at `at` until `from_s`, then moves with `velocity`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Adrift {
    /// Where it lies at first.
    pub at: Metres,
    /// When it begins to move, seconds.
    pub from_s: f64,
    /// How it moves, m/s.
    pub velocity: Metres,
}

impl Adrift {
    /// Its place at an instant.
    #[must_use]
    pub fn place(&self, time_s: f64) -> Metres {
        self.at + self.velocity * (time_s - self.from_s).max(0.0)
    }
}

/// A stretch of time over which the meeting point moves straight and evenly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// From this second.
    pub from_s: f64,
    /// To this second; the last one never ends.
    pub to_s: f64,
    /// Meeting point at `from_s`.
    pub at: Metres,
    /// Its velocity, m/s.
    pub velocity: Metres,
    /// Whether the thing itself is inside a buffer, so that the meeting point is not its place.
    pub is_inside: bool,
}

impl Piece {
    /// The meeting point at an instant of the piece.
    #[must_use]
    pub fn meet(&self, time_s: f64) -> Metres {
        self.at + self.velocity * (time_s - self.from_s)
    }
}

/// The meeting points of something adrift from an instant on, without end.
#[must_use]
pub fn track(ways: &Ways, thing: Adrift, start_s: f64) -> Vec<Piece> {
    let mut pieces = Vec::new();
    let moves = thing.velocity.length() > 0.0;
    let still_until = if moves { thing.from_s } else { f64::INFINITY };
    if start_s < still_until {
        let foot = ways.foot(thing.at);
        pieces.push(Piece {
            from_s: start_s,
            to_s: still_until,
            at: foot.map_or(thing.at, |(_, at)| at),
            velocity: Metres::default(),
            is_inside: foot.is_some(),
        });
    }
    if !moves {
        return pieces;
    }
    let from = start_s.max(still_until);
    let origin = thing.place(from);
    let mut bounds = vec![from];
    for time in ways.crossings(origin, thing.velocity) {
        let time = from + time;
        if bounds.last().is_some_and(|&last| time > last + FINE_S) {
            bounds.push(time);
        }
    }
    let ends = bounds.iter().skip(1).copied().chain([f64::INFINITY]);
    for (&low, high) in bounds.iter().zip(ends) {
        // A last stretch without end lies outside: areas are bounded.
        if high.is_finite() && ways.is_inside(thing.place(f64::midpoint(low, high))) {
            inside(ways, &thing, low, high, &mut pieces);
        } else {
            pieces.push(Piece {
                from_s: low,
                to_s: high,
                at: thing.place(low),
                velocity: thing.velocity,
                is_inside: false,
            });
        }
    }
    pieces
}

/// Pieces of a crossing of a buffer: the nearest point runs along one side after another.
fn inside(ways: &Ways, thing: &Adrift, low: f64, high: f64, pieces: &mut Vec<Piece>) {
    let speed = thing.velocity.length();
    let least_s = ((high - low) / MOST_LOOKS).max(LOOK_M / speed);
    // The ends of the crossing lie on the outline, where inside and outside cannot be told.
    let hair = (high - low) * 1e-6;
    let (first, last) = (low + hair, high - hair);
    let mut bounds = Vec::new();
    let mut at = (first, ways.foot(thing.place(first)));
    while at.0 < last {
        // Over open stretches the nearest side cannot change; there is nothing to look at.
        let keeps_m = |foot| ways.keeps_for_m(thing.place(at.0), foot);
        let sure_s = at.1.map_or(0.0, |(foot, _)| keeps_m(foot)) / speed;
        let next_s = (at.0 + sure_s.max(least_s)).min(last);
        let next = (next_s, ways.foot(thing.place(next_s)));
        changes(ways, thing, at, next, &mut bounds);
        at = next;
    }
    bounds.push(high);
    let mut from = low;
    for to in bounds {
        let (early, late) = (from + (to - from) * 0.25, from + (to - from) * 0.75);
        let meet = |time| ways.nearest_outside(thing.place(time));
        let (one, two) = (meet(early), meet(late));
        let span = late - early;
        let velocity = if span > 0.0 {
            (two - one) * (1.0 / span)
        } else {
            Metres::default()
        };
        pieces.push(Piece {
            from_s: from,
            to_s: to,
            at: one - velocity * (early - from),
            velocity,
            is_inside: true,
        });
        from = to;
    }
}

/// An instant with the nearest point of the outline then.
type Look = (f64, Option<(Foot, Metres)>);

/// Adds the instants between `low` and `high` at which the nearest point changes sides.
fn changes(ways: &Ways, thing: &Adrift, low: Look, high: Look, bounds: &mut Vec<f64>) {
    let key = |look: Look| look.1.map(|(foot, _)| (foot.side, foot.end));
    if key(low) == key(high) {
        return;
    }
    let middle_s = f64::midpoint(low.0, high.0);
    if high.0 - low.0 < FINE_S {
        bounds.push(middle_s);
        return;
    }
    let middle = (middle_s, ways.foot(thing.place(middle_s)));
    changes(ways, thing, low, middle, bounds);
    changes(ways, thing, middle, high, bounds);
}
