//! Flow: a current or a wind over time, as vectors between which one goes in a straight line.

use jiff::{SignedDuration, Timestamp};

use super::{Shift, Velocity};

/// Why rows make no flow.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum FlowError {
    /// No row at all.
    #[error("a flow needs a row")]
    Empty,
    /// A row that is not later than the one before it.
    #[error("row {row} is not later than the one before it")]
    NotLater {
        /// Its place, counted from 0.
        row: usize,
    },
}

/// A current or a wind over time: each row holds from its instant and changes in a straight
/// line, as a vector, to the next. The last one holds on, the first one held before.
///
/// Vectors and not angles: between 350 and 10 degrees lies north, not south.
#[derive(Debug, Clone, PartialEq)]
pub struct Flow {
    first: (Timestamp, Velocity),
    later: Vec<(Timestamp, Velocity)>,
}

impl Flow {
    /// The same at all times.
    #[must_use]
    pub fn steady(velocity: Velocity) -> Self {
        Self {
            first: (Timestamp::UNIX_EPOCH, velocity),
            later: Vec::new(),
        }
    }

    /// Of rows in order of time.
    ///
    /// # Errors
    /// [`FlowError`] for no row or one that is not later than the one before it.
    pub fn of(rows: &[(Timestamp, Velocity)]) -> Result<Self, FlowError> {
        let (first, later) = rows.split_first().ok_or(FlowError::Empty)?;
        let mut before = first.0;
        for (nth, (at, _)) in later.iter().enumerate() {
            if *at <= before {
                return Err(FlowError::NotLater { row: nth + 1 });
            }
            before = *at;
        }
        Ok(Self {
            first: *first,
            later: later.to_vec(),
        })
    }

    /// Instants of the rows.
    pub fn instants(&self) -> impl Iterator<Item = Timestamp> {
        std::iter::once(self.first.0).chain(self.later.iter().map(|(at, _)| *at))
    }

    /// The vector at an instant.
    #[must_use]
    pub fn at(&self, instant: Timestamp) -> Velocity {
        let after = self.later.partition_point(|(at, _)| *at <= instant);
        let last = after.checked_sub(1).and_then(|nth| self.later.get(nth));
        let (before, velocity) = *last.unwrap_or(&self.first);
        let Some((at, next)) = self.later.get(after) else {
            return velocity;
        };
        let gone = instant.duration_since(before).as_secs_f64();
        let whole = at.duration_since(before).as_secs_f64();
        between(velocity, *next, (gone / whole).clamp(0.0, 1.0))
    }

    /// What it carries from one instant to a later one; nothing if that is not later.
    #[must_use]
    pub fn carry(&self, from: Timestamp, to: Timestamp) -> Shift {
        carry(from, to, self.instants(), |instant| self.at(instant))
    }
}

/// The vector at `part` (0 to 1) of the way from one to the other.
#[must_use]
pub fn between(from: Velocity, to: Velocity, part: f64) -> Velocity {
    from.times(1.0 - part).and(to.times(part))
}

/// Adds up a velocity that is a straight line between the instants of `bends`: the mean of both
/// ends of a piece is then exact.
pub(super) fn carry(
    from: Timestamp,
    to: Timestamp,
    bends: impl Iterator<Item = Timestamp>,
    velocity: impl Fn(Timestamp) -> Velocity,
) -> Shift {
    let mut ends: Vec<Timestamp> = bends.filter(|at| *at > from && *at < to).collect();
    ends.sort_unstable();
    ends.dedup();
    ends.push(to);
    let mut shift = Shift::default();
    let mut start = from;
    for end in ends {
        let length = end.duration_since(start);
        if length > SignedDuration::ZERO {
            let mean = between(velocity(start), velocity(end), 0.5);
            shift = shift.then(mean.over(length.as_secs_f64()));
        }
        start = end;
    }
    shift
}

#[cfg(test)]
mod tests {
    use super::*;

    fn instant(minutes: i64) -> Timestamp {
        Timestamp::from_second(1_780_000_000 + minutes * 60).unwrap()
    }

    fn north(m_s: f64) -> Velocity {
        Velocity {
            north_m_s: m_s,
            east_m_s: 0.0,
        }
    }

    #[test]
    fn rows_must_be_there_and_in_order() {
        assert_eq!(Flow::of(&[]), Err(FlowError::Empty));
        let rows = [
            (instant(0), north(1.0)),
            (instant(5), north(1.0)),
            (instant(5), north(2.0)),
        ];
        assert_eq!(Flow::of(&rows), Err(FlowError::NotLater { row: 2 }));
    }

    /// From 1 to 3 m/s over an hour makes 2 m/s in the mean; before and after the ends hold.
    #[test]
    fn a_flow_changes_in_a_straight_line_and_holds_beyond_its_ends() {
        let flow = Flow::of(&[(instant(0), north(1.0)), (instant(60), north(3.0))]).unwrap();
        assert!((flow.at(instant(15)).north_m_s - 1.5).abs() < 1e-12);
        assert!((flow.at(instant(-9)).north_m_s - 1.0).abs() < 1e-12);
        assert!((flow.at(instant(99)).north_m_s - 3.0).abs() < 1e-12);
        assert!((flow.carry(instant(0), instant(60)).north_m - 7200.0).abs() < 1e-9);
        let longer = flow.carry(instant(-10), instant(70)).north_m;
        assert!((longer - (600.0 + 7200.0 + 1800.0)).abs() < 1e-9);
        assert_eq!(flow.carry(instant(60), instant(0)), Shift::default());
    }

    /// Whole minutes add up to the whole: no piece is counted twice or left out.
    #[test]
    fn pieces_add_up() {
        let flow = Flow::of(&[
            (instant(3), north(1.0)),
            (instant(17), north(-2.0)),
            (instant(40), north(0.5)),
        ])
        .unwrap();
        let pieces: f64 = (0..60)
            .map(|m| flow.carry(instant(m), instant(m + 1)).north_m)
            .sum();
        assert!((flow.carry(instant(0), instant(60)).north_m - pieces).abs() < 1e-6);
    }
}
