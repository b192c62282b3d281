//! Where each group is thought to be, with an area of likelihood that grows with time: from the
//! drop by its way of diving, or from where it was seen last.

use jiff::Timestamp;

use super::event::{GroupFormed, Mode};
use super::ground::{Ground, Sea};
use super::state::{Group, Seen, State};
use super::watch;
use super::waters::Waters;
use crate::sea::drift::{self, Adrift, FIN_M_S, SPREAD_M_S, Shift, Side};
use crate::sea::position::Position;

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
    let drop = group.drop.as_ref()?;
    if let Some(seen) = last_seen(group) {
        return drifted(seen, &sea.waters, at);
    }
    reckoned(&group.formed, sea, (drop.at, drop.place), at)
}

/// Where a group that leaves the surface at an instant, at a place if one is known, will likely
/// be at `at`.
#[must_use]
pub fn reckoned(
    formed: &GroupFormed,
    sea: &Sea<'_>,
    (enters, place): (Timestamp, Option<Position>),
    at: Timestamp,
) -> Option<Likely> {
    let Sea { ground, waters } = sea;
    let known = place.or(formed.entry_place);
    let start = known.unwrap_or(ground.site.position);
    let (origin, mode) = mode_from(formed, ground, start);
    let flow = waters.flow(enters, at);
    let area = drift::likely_place(mode, &flow, enters, at, SPREAD_M_S);
    let carried = origin
        .along(area.centre.course_deg(), area.centre.distance_m())
        .ok()?;
    let fix_m = if known.is_some() { FIX_M } else { SITE_M };
    Some(Likely {
        position: swum_to_zone(formed, ground, carried),
        spread_m: area.spread_m.hypot(fix_m),
        at,
        basis: Basis::Reckoned,
        since: enters,
        from: origin,
    })
}

/// How the group dives, and from where.
fn mode_from(formed: &GroupFormed, ground: &Ground, start: Position) -> (Position, drift::Mode) {
    let none = Shift::default();
    match formed.mode {
        Mode::Return => {
            let line = formed.entry_place.or_else(|| ground.line_near(start));
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
fn swum_to_zone(formed: &GroupFormed, ground: &Ground, carried: Position) -> Position {
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
