//! The watch: who needs attention first and why, and the alerts that follow from the log and
//! the time. A function of state and instant: extra calls are harmless.

mod alert;
mod history;
mod row;
mod sounded;

use jiff::{SignedDuration, Timestamp};

use super::event::GroupId;
use super::state::{Deadlines, Group, State, plus};
use crate::dive::window::WindowFigures;

pub(crate) use alert::causes;
pub(crate) use row::{concerned, surfaced_at};

pub use alert::{Acknowledged, Alert, AlertState, Cause, Priority, QUIET, alerts};
pub use history::{Episode, history};
pub use row::{Member, Recalled, Row, Standing, Why, recalled, up_if_recalled};
pub use sounded::{Told, sounded};

/// The watch at an instant.
#[derive(Debug, Clone, PartialEq)]
pub struct Watch {
    /// The instant.
    pub at: Timestamp,
    /// Groups of the dive, whoever needs attention first at the top.
    pub rows: Vec<Row>,
    /// Alerts, worst first.
    pub alerts: Vec<Alert>,
    /// How many people are in the water, at the surface, missing or unresolved.
    pub out: usize,
    /// How many of them are under water, as far as is known.
    pub under: usize,
    /// How many are aboard.
    pub aboard: usize,
    /// When, if nothing is logged before, the watch looks different.
    pub next_change: Option<Timestamp>,
}

/// The watch of a trip at `now`.
#[must_use]
pub fn watch(state: &State, now: Timestamp) -> Watch {
    let rows = row::rows(state, now);
    let alerts = alerts(state, now);
    let next_change = next_change(state, &alerts, now);
    let out = state.not_accounted().count();
    let under = state.not_accounted().filter(|p| !p.is_up()).count();
    Watch {
        at: now,
        rows,
        alerts,
        out,
        under,
        aboard: state.aboard(),
        next_change,
    }
}

/// When, if nothing is logged before, something changes that the time alone changes; `alerts`:
/// those at `now`.
#[must_use]
pub fn next_change(state: &State, alerts: &[Alert], now: Timestamp) -> Option<Timestamp> {
    instants(state, alerts)
        .into_iter()
        .filter(|at| *at > now)
        .min()
}

/// The deadlines of a group in the water: as frozen at the drop and extended by logged acts,
/// brought forward where a current seen since carries a head out of sight sooner. A slower
/// current seen later brings nothing back.
#[must_use]
pub fn deadlines(state: &State, group: &Group) -> Option<Deadlines> {
    let drop = group.drop.as_ref()?;
    let frozen = drop.deadlines();
    let mut now = frozen;
    if let Some(sight) = sight_limit(state, drop.strongest_drift_kn) {
        // Not before latest: until then the group is where its plan says.
        now.overdue = plus(frozen.expected, sight)
            .max(frozen.latest)
            .min(frozen.overdue);
    }
    Some(frozen.brought_forward(now))
}

/// In what time the current carries a head out of sight: 12 minutes at 1 knot for 0.2 nm.
fn sight_limit(state: &State, drift_kn: Option<f64>) -> Option<SignedDuration> {
    /// Slower than this the water counts as slack.
    const SLACK_KN: f64 = 0.05;
    let drift_kn = drift_kn?;
    let sight_nm = state
        .opened
        .as_ref()
        .map_or(0.2, |opened| WindowFigures::from(opened.windows).sight_nm);
    if drift_kn < SLACK_KN {
        return None;
    }
    #[expect(
        clippy::cast_possible_truncation,
        reason = "at most 5 nm at 0.05 knots: 100 h"
    )]
    let seconds = (sight_nm / drift_kn * 3600.0) as i64;
    Some(SignedDuration::from_secs(seconds))
}

fn instants(state: &State, alerts: &[Alert]) -> Vec<Timestamp> {
    let mut instants: Vec<Timestamp> = alerts.iter().flat_map(Alert::instants).collect();
    for group in state.groups_out() {
        if let Some(d) = deadlines(state, group) {
            instants.extend([d.earliest, d.expected, d.latest, d.overdue, d.endurance]);
        }
        instants.extend(
            row::partner_clocks(state, group)
                .into_iter()
                .map(|clock| clock.until),
        );
    }
    instants.extend(alert::standing_instants(state));
    instants
}

/// Minutes from `from` to `to`, rounded towards zero.
pub(crate) fn minutes_between(from: Timestamp, to: Timestamp) -> i64 {
    to.duration_since(from).as_mins()
}

/// The alert key of a group: one alert for one situation, rising in priority.
#[must_use]
pub fn group_key(group: GroupId) -> String {
    format!("group:{group}")
}
