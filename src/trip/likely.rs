//! Where each group is thought to be, with an area of likelihood that grows with time: from the
//! drop by its way of diving, or from where it was seen last.

use jiff::{SignedDuration, Timestamp};

use super::event::Mode;
use super::ground::{Ground, Sea};
use super::state::{Group, Seen, State, plus};
use super::watch;
use super::waters::{Waters, in_plane};
use crate::sea::drift::{self, Adrift, FIN_M_S, SPREAD_M_S, Shift, Side};
use crate::sea::position::{Metres, Position};

/// One standard deviation of a place taken by bearing and range, or from the boat's own place,
/// metres (no source; a tool's assumption).
const FIX_M: f64 = 20.0;
/// The same where the reference position of the site stands in for an unknown drop, metres (no
/// source; a tool's assumption).
const SITE_M: f64 = 100.0;

/// Where a group is thought to be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Likely {
    /// The middle.
    pub position: Position,
    /// One standard deviation about it, metres.
    pub spread_m: f64,
    /// At which instant.
    pub at: Timestamp,
    /// What it rests on.
    pub basis: Basis,
    /// When it was seen last, or dropped.
    pub since: Timestamp,
    /// Where that was.
    pub from: Position,
}

impl Likely {
    /// Where something of it was seen last and when; of a group not seen since its drop, where
    /// it will likely come up.
    #[must_use]
    pub fn last_known(&self) -> (Position, Timestamp) {
        match self.basis {
            Basis::Seen | Basis::Buoy => (self.from, self.since),
            Basis::Reckoned => (self.position, self.at),
        }
    }
}

/// What a likely place rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Basis {
    /// Seen there.
    Seen,
    /// A buoy was seen there.
    Buoy,
    /// Reckoned from the drop, the mode and the current.
    Reckoned,
}

/// The last place at which something of a group was seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LastSeen {
    /// Where.
    pub position: Position,
    /// When.
    pub at: Timestamp,
    /// Its heads, or a buoy alone.
    pub basis: Basis,
}

/// Where something of the group was seen last.
#[must_use]
pub fn last_seen(group: &Group) -> Option<LastSeen> {
    let seen = group.sightings.iter().filter_map(|seen| {
        Some(LastSeen {
            position: seen.place?,
            at: seen.at,
            basis: match seen.what {
                Seen::Buoy(_) => Basis::Buoy,
                Seen::Heads(..) => Basis::Seen,
            },
        })
    });
    seen.max_by_key(|seen| seen.at)
}

/// When who is not seen yet is expected: by the plan, sooner where a recall brings the group up,
/// or any moment now. Deadlines are not moved by a recall, as nobody may have heard it.
#[must_use]
pub fn expected_at(state: &State, group: &Group, now: Timestamp) -> Timestamp {
    let planned = watch::deadlines(state, group).map_or(now, |d| d.expected);
    let recalled = watch::recalled(state, group).map_or(planned, |since| since.coming.up_at);
    planned.min(recalled).max(now)
}

/// Where the group will likely come up, at the time it is expected; seen, where it has drifted
/// to by now.
#[must_use]
pub fn likely(state: &State, group: &Group, sea: &Sea<'_>, now: Timestamp) -> Option<Likely> {
    let at = match last_seen(group) {
        // To the minute: what follows is noise, and would travel with every change.
        Some(seen) => whole_minute(now).max(seen.at),
        None => expected_at(state, group, now),
    };
    likely_at(group, sea, at)
}

fn whole_minute(at: Timestamp) -> Timestamp {
    let second = at.as_second();
    Timestamp::from_second(second - second.rem_euclid(60)).unwrap_or(at)
}

/// Where the group likely is at `at`.
#[must_use]
pub fn likely_at(group: &Group, sea: &Sea<'_>, at: Timestamp) -> Option<Likely> {
    let Sea { ground, waters } = sea;
    let drop = group.drop.as_ref()?;
    if let Some(seen) = last_seen(group) {
        return drifted(seen, waters, at);
    }
    let site = ground.site.position;
    let known = drop.place.or(group.formed.entry_place);
    let start = known.unwrap_or(site);
    let (origin, mode) = mode_from(group, ground, start);
    let flow = waters.flow(drop.at, at);
    let area = drift::likely_place(mode, &flow, drop.at, at, SPREAD_M_S);
    let carried = origin
        .along(area.centre.course_deg(), area.centre.distance_m())
        .ok()?;
    let fix_m = if known.is_some() { FIX_M } else { SITE_M };
    Some(Likely {
        position: swum_to_zone(group, ground, carried),
        spread_m: area.spread_m.hypot(fix_m),
        at,
        basis: Basis::Reckoned,
        since: drop.at,
        from: origin,
    })
}

/// How the group dives, and from where.
fn mode_from(group: &Group, ground: &Ground, start: Position) -> (Position, drift::Mode) {
    let none = Shift::default();
    match group.formed.mode {
        Mode::Return => {
            let line = group.formed.entry_place.or_else(|| ground.line_near(start));
            (line.unwrap_or(start), drift::Mode::Return { place: none })
        }
        Mode::Drift => (start, drift::Mode::Drift { drop: none }),
        Mode::OneWay { course_deg } => {
            let mode = drift::Mode::OneWay {
                drop: none,
                course_deg: course_deg.deg(),
                fin_m_s: FIN_M_S,
            };
            (start, mode)
        }
    }
}

/// A group that is briefed to a zone swims towards it during its safety stop; one that returns
/// to a line holds on to that.
fn swum_to_zone(group: &Group, ground: &Ground, carried: Position) -> Position {
    let formed = &group.formed;
    if matches!(formed.mode, Mode::Return) {
        return carried;
    }
    let zone = formed.exit_zone.as_ref().and_then(|name| ground.zone(name));
    let place = ground.plane.metres(carried);
    let Some(to) = zone.and_then(|zone| zone.area.nearest(place)) else {
        return carried;
    };
    let reach_m = FIN_M_S * 60.0 * formed.plan.safety_stop.minutes.min();
    let way = to - place;
    let swum = if way.length() <= reach_m {
        to
    } else {
        place + way * (reach_m / way.length())
    };
    ground.plane.position(swum)
}

/// A buoy goes with the water, heads with the wind on them as well.
fn drifted(seen: LastSeen, waters: &Waters, at: Timestamp) -> Option<Likely> {
    let at = at.max(seen.at);
    let what = match seen.basis {
        Basis::Seen => Adrift::Person,
        Basis::Buoy | Basis::Reckoned => Adrift::Water,
    };
    let flow = waters.flow(seen.at, at);
    let wind = drift::Flow::steady(waters.wind());
    let way = what.carry(Side::None, &flow, Some(&wind), seen.at, at);
    let seconds = at.duration_since(seen.at).as_secs_f64();
    Some(Likely {
        position: seen
            .position
            .along(way.course_deg(), way.distance_m())
            .ok()?,
        spread_m: (SPREAD_M_S * seconds).hypot(FIX_M),
        at,
        basis: seen.basis,
        since: seen.at,
        from: seen.position,
    })
}

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
