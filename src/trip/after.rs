//! After a dive: how much a diver breathes, when the next dive may begin, how long not to fly.
//!
//! Planning aids: they replace no dive computer, training or local code.

use jiff::{SignedDuration, Timestamp};

use super::dives::{self, Entry, answer_for, has_owed_stops, of_log};
use super::event::{GroupFormed, PersonId};
use super::state::{Logged, Person, State, plus};
use crate::dive::cylinder::content_litre_bar;
use crate::units::LitresPerMinute;

/// Shortest surface interval: with less, two dives count as one (U.S. Navy tables; NOAA Diving
/// Center slides).
const SHORTEST_INTERVAL_MIN: i64 = 10;

/// Longest interval that is looked at: a day.
const LONGEST_INTERVAL_MIN: i64 = 24 * 60;

/// Litres a minute at the surface that a diver breathed on a logged dive: what the cylinder
/// lost, over the pressure and time of the dive as it was logged.
///
/// `None` where start, end, times or group are not known, or where they give a figure that
/// nobody breathes.
#[must_use]
pub fn surface_rate(state: &State, person: &Person, dive: u32) -> Option<LitresPerMinute> {
    let logged = person.dives.get(&dive)?;
    // Without both times nobody knows for how long it was breathed.
    logged
        .surfaced_at
        .filter(|up| Some(*up) > logged.entered_at)?;
    let group = state.groups.get(&logged.group?)?;
    let kit = group.formed.kit.get(&person.id)?;
    let left = logged.bar?;
    let profile = of_log(state, person.id, dive, logged)?.profile;
    let used = content_litre_bar(kit.cylinder_l, kit.start_bar.bar())
        - content_litre_bar(kit.cylinder_l, left);
    let column = dives::model(state, dive).column;
    let at_one_l_min: f64 = profile
        .legs()
        .iter()
        .map(|leg| column.used_litre_bar(leg, 1.0))
        .sum();
    let l_min = used / at_one_l_min;
    LitresPerMinute::from_l_min(l_min).ok()
}

/// How many of the last dives the learned rate rests on.
pub const LAST_DIVES: u32 = 5;

/// What a diver breathed on a dive that was logged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rate {
    /// Who.
    pub person: PersonId,
    /// On which dive of the trip.
    pub dive: u32,
    /// When it ended.
    pub at: Timestamp,
    /// Litres a minute at the surface.
    pub l_min: LitresPerMinute,
}

/// Every surface rate that the log of a trip gives, by person and dive.
#[must_use]
pub fn surface_rates(state: &State) -> Vec<Rate> {
    let of = |person: &Person| -> Vec<Rate> {
        let dives = person.dives.iter();
        dives
            .filter_map(|(dive, logged)| {
                Some(Rate {
                    person: person.id,
                    dive: *dive,
                    at: logged.surfaced_at?,
                    l_min: surface_rate(state, person, *dive)?,
                })
            })
            .collect()
    };
    state.people.values().flat_map(of).collect()
}

/// A rate learned from dives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Learned {
    /// Litres a minute at the surface, the median.
    pub l_min: LitresPerMinute,
    /// Of so many dives.
    pub dives: usize,
}

/// What is learned from the rates of some dives; nothing from none.
#[must_use]
pub fn learned(rates: &[LitresPerMinute]) -> Option<Learned> {
    Some(Learned {
        l_min: median_rate(rates)?,
        dives: rates.len(),
    })
}

/// The middle of some surface rates; of an even number the greater of the two in the middle, as
/// more gas is the safer guess.
#[must_use]
pub fn median_rate(rates: &[LitresPerMinute]) -> Option<LitresPerMinute> {
    let mut sorted: Vec<f64> = rates.iter().map(|rate| rate.l_min()).collect();
    sorted.sort_by(f64::total_cmp);
    let middle = *sorted.get(sorted.len() / 2)?;
    LitresPerMinute::from_l_min(middle).ok()
}

/// When somebody may go in again, and for what.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NextEntry {
    /// From this instant on.
    pub at: Timestamp,
    /// For the next dive that is planned for the person, rather than for the last one again.
    pub is_planned: bool,
}

/// The earliest entry after a dive with which the next one needs no stops: the one planned for
/// the person, else the same dive once more. `None` while the dive is not over, or if no
/// interval within a day does.
#[must_use]
pub fn next_entry(state: &State, person: &Person, dive: u32) -> Option<NextEntry> {
    let logged = person.dives.get(&dive)?;
    let up = logged.surfaced_at?;
    let planned = state
        .groups_of(dive + 1)
        .into_iter()
        .find(|group| group.members().contains(&person.id));
    let formed = match planned {
        Some(group) => &group.formed,
        None => &state.groups.get(&logged.group?)?.formed,
    };
    let holds = |minutes: i64| needs_no_stops(state, dive + 1, formed, person.id, up, minutes);
    if !holds(LONGEST_INTERVAL_MIN) {
        return None;
    }
    // A longer interval never makes it worse, so halving finds the shortest.
    let (mut short, mut enough) = (SHORTEST_INTERVAL_MIN - 1, LONGEST_INTERVAL_MIN);
    while enough - short > 1 {
        let middle = i64::midpoint(short, enough);
        if holds(middle) {
            enough = middle;
        } else {
            short = middle;
        }
    }
    Some(NextEntry {
        at: plus(up, SignedDuration::from_mins(enough)),
        is_planned: planned.is_some(),
    })
}

fn needs_no_stops(
    state: &State,
    dive: u32,
    formed: &GroupFormed,
    id: PersonId,
    up: Timestamp,
    minutes: i64,
) -> bool {
    let entry = Entry::At(plus(up, SignedDuration::from_mins(minutes)));
    answer_for(state, dive, formed, &[id], entry)
        .is_ok_and(|answer| answer.members.iter().all(|m| m.reckoned.within_no_stop))
}

/// What the hours on the ground rest on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ground {
    /// One dive without stops.
    Single,
    /// Several dives, or a dive on the day before.
    Repeated,
    /// A dive that owed stops, or of which nobody knows that it did not.
    WithStops,
}

impl Ground {
    /// Hours before flying.
    ///
    /// # Source
    /// DAN, Flying After Recreational Diving workshop, 2002: 12 h, 18 h, and substantially
    /// longer than 18 h after stops, for which 24 h are common practice.
    #[must_use]
    pub fn hours(self) -> u32 {
        match self {
            Self::Single => 12,
            Self::Repeated => 18,
            Self::WithStops => 24,
        }
    }
}

/// How long somebody stays on the ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NoFly {
    /// What it rests on.
    pub ground: Ground,
    /// Until then, counted from the last surfacing.
    pub until: Timestamp,
    /// Dives of the day.
    pub dives: usize,
}

/// The time before flying after the dives of the day. `None` for who has not dived.
///
/// A last dive on the day before counts as repeated diving, as does any doubt about it.
#[must_use]
pub fn no_fly(state: &State, person: &Person) -> Option<NoFly> {
    let logged: Vec<&Logged> = person
        .dives
        .values()
        .filter(|logged| logged.entered_at.is_some())
        .collect();
    let of_trip = logged.iter().filter_map(|logged| logged.surfaced_at);
    let told = person.earlier.iter().map(|dive| dive.surfaced_at);
    let last = of_trip.chain(told).max()?;
    let dives = logged.len() + person.earlier.len();
    let froze_stops = |logged: &&Logged| {
        let group = logged.group.and_then(|id| state.groups.get(&id));
        let drop = group.and_then(|group| group.drop.as_ref());
        drop.is_some_and(|drop| !drop.owes.is_empty())
    };
    let day = state.opened.as_ref().map(|opened| opened.day);
    let day_before = person
        .card
        .last_dive
        .zip(day)
        .is_some_and(|(last, day)| last < day && day.yesterday().is_ok_and(|y| last >= y));
    let ground = if logged.iter().any(froze_stops) || has_owed_stops(state, person) {
        Ground::WithStops
    } else if dives > 1 || day_before {
        Ground::Repeated
    } else {
        Ground::Single
    };
    Some(NoFly {
        ground,
        until: plus(last, SignedDuration::from_hours(i64::from(ground.hours()))),
        dives,
    })
}
