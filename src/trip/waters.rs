//! The waters of the dive under way: what current and wind are reckoned with at an instant, and
//! what that rests on.

use jiff::{SignedDuration, Timestamp};

use crate::sea::chart::KNOT_M_S;
use crate::sea::drift::flow::between;
use crate::sea::drift::{Adrift, Flow, Side, Velocity};
use crate::sea::position::Metres;
use crate::sea::zones::Moving;

use super::event::SiteSheet;
use super::state::{CURRENT_COUNTS, Conditions, plus};

/// Step in which the current is laid out over time.
const STEP: SignedDuration = SignedDuration::from_mins(5);
/// Longest time over which it is laid out, steps.
const MOST_STEPS: usize = 288;

/// What a current rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum CurrentBasis {
    /// Observed within the hour.
    Observed,
    /// The stream table of the site.
    Table,
    /// Observed more than an hour ago, and no table tells more.
    Old,
    /// Nothing is known: reckoned as slack.
    Unknown,
}

/// The current at an instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurrentAt {
    /// How the water moves.
    pub velocity: Velocity,
    /// What that rests on.
    pub basis: CurrentBasis,
    /// When it was observed, if it was.
    pub seen_at: Option<Timestamp>,
}

/// Current and wind of a dive.
#[derive(Debug, Clone)]
pub struct Waters {
    observed: Vec<(Timestamp, Velocity)>,
    tides: Option<crate::sea::stream::Tides>,
    wind: Velocity,
}

impl Waters {
    /// What is known of the waters of a site.
    #[must_use]
    pub fn of(site: &SiteSheet, conditions: &Conditions) -> Self {
        let mut observed: Vec<(Timestamp, Velocity)> = conditions
            .currents
            .iter()
            .map(|seen| (seen.at, Velocity::towards_kn(seen.what.0, seen.what.1)))
            .collect();
        // What was said last of one instant counts.
        observed.reverse();
        observed.sort_by_key(|(at, _)| *at);
        observed.dedup_by_key(|(at, _)| *at);
        let wind = conditions
            .wind
            .as_ref()
            .map_or_else(Velocity::default, |seen| {
                Velocity::towards_kn(seen.what.0 + 180.0, seen.what.1)
            });
        Self {
            observed,
            tides: site.tides.clone(),
            wind,
        }
    }

    /// The current at `at`: as observed within the hour before, between two such observations as
    /// a vector; else by the table; else the nearest observation there is.
    #[must_use]
    pub fn current(&self, at: Timestamp) -> CurrentAt {
        let after = self.observed.partition_point(|(seen_at, _)| *seen_at <= at);
        let next = self.observed.get(after);
        let last = after.checked_sub(1).and_then(|nth| self.observed.get(nth));
        let told = |velocity, basis, seen_at| CurrentAt {
            velocity,
            basis,
            seen_at,
        };
        let gone = last.map(|(seen_at, _)| at.duration_since(*seen_at));
        if let (Some((seen_at, seen)), Some(gone)) = (last, gone)
            && gone <= CURRENT_COUNTS
        {
            let between_two = next
                .map(|(next_at, then)| (next_at.duration_since(*seen_at), *then))
                .filter(|(whole, _)| *whole <= CURRENT_COUNTS);
            let velocity = between_two.map_or(*seen, |(whole, then)| {
                between(*seen, then, gone.as_secs_f64() / whole.as_secs_f64())
            });
            return told(velocity, CurrentBasis::Observed, Some(*seen_at));
        }
        if let Some(Ok(stream)) = self.tides.as_ref().map(|tides| tides.at(at)) {
            return told(stream.velocity, CurrentBasis::Table, None);
        }
        last.or(next).map_or_else(
            || told(Velocity::default(), CurrentBasis::Unknown, None),
            |(seen_at, seen)| told(*seen, CurrentBasis::Old, Some(*seen_at)),
        )
    }

    /// The current laid out from `from` to `to`, at most a day.
    #[must_use]
    pub fn flow(&self, from: Timestamp, to: Timestamp) -> Flow {
        let steady = Flow::steady(self.current(from).velocity);
        if self.observed.len() <= 1 && self.tides.is_none() {
            return steady;
        }
        let instants = self.instants(from, to);
        let rows: Vec<_> = instants
            .into_iter()
            .map(|at| (at, self.current(at).velocity))
            .collect();
        // Instants in order make a flow; without any it is steady.
        Flow::of(&rows).unwrap_or(steady)
    }

    /// The instants at which the current is asked for between two, at most a day: both, steps, and
    /// what was observed between.
    fn instants(&self, from: Timestamp, to: Timestamp) -> Vec<Timestamp> {
        let mut instants: Vec<Timestamp> = std::iter::successors(Some(from), |at| {
            let next = plus(*at, STEP);
            (*at < to && next > *at).then_some(next)
        })
        .take(MOST_STEPS)
        .chain(
            self.observed
                .iter()
                .map(|(at, _)| *at)
                .filter(|at| *at > from && *at < to),
        )
        .collect();
        instants.sort_unstable();
        instants.dedup();
        instants
    }

    /// The strongest current between two instants that anything known gives, knots; the last
    /// observation counts however old it is, as doubt never makes a window longer.
    #[must_use]
    pub fn strongest_kn(&self, from: Timestamp, to: Timestamp) -> Option<f64> {
        let told = self
            .instants(from, to)
            .into_iter()
            .map(|at| self.current(at));
        let told = told.filter(|current| current.basis != CurrentBasis::Unknown);
        let last = self.observed.iter().rfind(|(at, _)| *at <= to);
        told.map(|current| current.velocity)
            .chain(last.map(|(_, velocity)| *velocity))
            .map(Velocity::speed_kn)
            .reduce(f64::max)
    }

    /// How something adrift moves at `at`, m/s.
    #[must_use]
    pub fn adrift(&self, what: Adrift, at: Timestamp) -> Velocity {
        what.velocity(Side::None, self.current(at).velocity, self.wind)
    }

    /// The wind, m/s, towards where it blows.
    #[must_use]
    pub fn wind(&self) -> Velocity {
        self.wind
    }

    /// Water and wind at `at`, in the plane.
    #[must_use]
    pub fn moving(&self, at: Timestamp) -> Moving {
        Moving {
            water: in_plane(self.current(at).velocity),
            wind: in_plane(self.wind),
        }
    }
}

/// A velocity as a way a second.
#[must_use]
pub fn in_plane(velocity: Velocity) -> Metres {
    Metres::new(velocity.east_m_s, velocity.north_m_s)
}

/// Knots of a speed in the plane, m/s.
#[must_use]
pub fn knots(velocity: Metres) -> f64 {
    velocity.length() / KNOT_M_S
}
