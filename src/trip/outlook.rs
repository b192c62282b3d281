//! What is ahead of a group: the keep-clear areas it would drift to, the turn of the stream, a
//! current that outgrows its way of diving, and sunset.

use jiff::{SignedDuration, Timestamp};

use super::event::Mode;
use super::ground::Sea;
use super::likely::{Basis, last_seen, likely_at};
use super::state::{Group, plus};
use super::waters::{in_plane, knots};
use crate::sea::daylight::{is_night, last_sunset};
use crate::sea::drift::{Adrift, FIN_M_S};
use crate::sea::position::Metres;

/// How long a drift is looked ahead.
const AHEAD: SignedDuration = SignedDuration::from_mins(120);
/// In steps of this.
const STEP: SignedDuration = SignedDuration::from_mins(5);

/// A group that drifts towards a keep-clear area if nobody fetches it.
#[derive(Debug, Clone, PartialEq)]
pub struct Ashore {
    /// The area's name.
    pub area: String,
    /// When the middle of its likely area comes within the stand-off; before `now` if it lies
    /// there already.
    pub near_at: Timestamp,
    /// When that touches the area itself; none within two hours.
    pub touches_at: Option<Timestamp>,
    /// The group holds on to a line: this holds if it lets go.
    pub if_adrift: bool,
}

/// Whether and when a group that is adrift from now on would come to a keep-clear area, within
/// two hours.
#[must_use]
pub fn ashore(group: &Group, sea: &Sea<'_>, now: Timestamp) -> Option<Ashore> {
    let Sea { ground, waters } = sea;
    if ground.ways.areas().is_empty() {
        return None;
    }
    let from = likely_at(group, sea, now)?;
    let seen = from.basis == Basis::Seen;
    let what = if seen { Adrift::Person } else { Adrift::Water };
    let mut place = ground.plane.metres(from.position);
    let mut at = now;
    let end = plus(now, AHEAD);
    let mut near: Option<(Timestamp, Metres)> = None;
    let mut touches_at = None;
    while at < end && touches_at.is_none() {
        let next = plus(at, STEP);
        let middle = plus(at, STEP / 2);
        let velocity = in_plane(waters.adrift(what, middle));
        let step_s = next.duration_since(at).as_secs_f64();
        let reached = |after_s: f64| plus(at, seconds(after_s));
        if near.is_none()
            && let Some(after_s) = ground.ways.entered_after_s(place, velocity)
            && after_s <= step_s
        {
            near = Some((reached(after_s), place + velocity * after_s));
        }
        touches_at = ground
            .ways
            .areas()
            .touched_after_s(place, velocity)
            .filter(|after_s| *after_s <= step_s)
            .map(reached);
        place = place + velocity * step_s;
        at = next;
    }
    let (near_at, where_near) = near?;
    Some(Ashore {
        area: ground.nearest_area(where_near)?.to_owned(),
        near_at,
        touches_at,
        if_adrift: matches!(group.formed.mode, Mode::Return) && last_seen(group).is_none(),
    })
}

fn seconds(seconds: f64) -> SignedDuration {
    SignedDuration::try_from_secs_f64(seconds.round()).unwrap_or(AHEAD)
}

/// A stream slower than this has no direction to speak of, knots.
const SLACK_KN: f64 = 0.2;
/// A stream has turned when it runs this far from where it ran, degrees.
const TURNED_DEG: f64 = 60.0;

/// What the window of a group runs into.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Conflict {
    /// It ends after sunset: lights, a shorter threshold for being late, and a boat that sees
    /// little.
    AfterSunset {
        /// Sunset; `None` where the sun does not rise that day, or no almanac tells.
        sunset: Option<Timestamp>,
    },
    /// The stream turns within it.
    Turns {
        /// When it is found running another way.
        at: Timestamp,
        /// Where to then, degrees true.
        set_deg: f64,
        /// How fast then, knots.
        drift_kn: f64,
    },
    /// A group that is to come back to its line cannot make way against it.
    Outgrows {
        /// From when.
        at: Timestamp,
        /// How fast, knots.
        drift_kn: f64,
    },
}

/// What a group meets that is in the water from `enters` to `leaves`.
///
/// # Source
/// Sunset is the border, as in [`is_night`]. How far a stream must run from where it ran to have
/// turned: common practice, no source.
#[must_use]
pub fn conflicts(mode: Mode, sea: &Sea<'_>, enters: Timestamp, leaves: Timestamp) -> Vec<Conflict> {
    let mut found = Vec::new();
    let place = sea.ground.site.position;
    // A date beyond the almanac is treated as night: the stricter rule.
    if is_night(place, leaves).unwrap_or(true) {
        let sunset = last_sunset(place, leaves).unwrap_or(None);
        found.push(Conflict::AfterSunset { sunset });
    }
    let current = |at| in_plane(sea.waters.current(at).velocity);
    let first = current(enters);
    let looks = || {
        let next = |at: &Timestamp| {
            let next = plus(*at, STEP);
            (*at < leaves && next > *at).then_some(next.min(leaves))
        };
        std::iter::successors(Some(enters), next).take_while(|at| *at <= leaves)
    };
    let turned = |at: &Timestamp| {
        let then = current(*at);
        knots(first) >= SLACK_KN && knots(then) >= SLACK_KN && turn_deg(first, then) >= TURNED_DEG
    };
    if let Some(at) = looks().find(turned) {
        found.push(Conflict::Turns {
            at,
            set_deg: current(at).direction_deg(),
            drift_kn: knots(current(at)),
        });
    }
    let outgrows = |at: &Timestamp| current(*at).length() > FIN_M_S;
    if matches!(mode, Mode::Return)
        && let Some(at) = looks().find(outgrows)
    {
        found.push(Conflict::Outgrows {
            at,
            drift_kn: knots(current(at)),
        });
    }
    found
}

/// The angle between two ways, degrees from 0 to 180.
fn turn_deg(one: Metres, other: Metres) -> f64 {
    one.cross(other).atan2(one.dot(other)).abs().to_degrees()
}
