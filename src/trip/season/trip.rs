//! The figures of one trip, read from its log once: small, so that many trips fit in memory.

use jiff::Timestamp;
use jiff::civil::Date;

use crate::dive::settings::PlanFigures;
use crate::dive::window::Light;
use crate::trip::event::{Entry, Fact};
use crate::trip::forecast::ends_at_night;
use crate::trip::state::{Group, Person, State, fold, mends};
use crate::trip::watch::{Told, deadlines, sounded};
use crate::trip::waters::{CurrentBasis, Waters};
use crate::trip::{SiteId, TripId};

/// A trip in figures.
#[derive(Debug, Clone, PartialEq)]
pub struct TripFigures {
    /// The trip.
    pub trip: TripId,
    /// Its day.
    pub day: Date,
    /// Name of its boat.
    pub boat: String,
    /// Nothing of it is real.
    pub drill: bool,
    /// Left the quay; none if that is not on its log.
    pub departed: Option<Timestamp>,
    /// Hours from there to being back; none unless both are on its log.
    pub hours: Option<f64>,
    /// Dives of groups that left the surface.
    pub dives: Vec<GroupDive>,
    /// Dives of people.
    pub returns: Vec<Return>,
    /// What sounded.
    pub alarms: Vec<Told>,
}

/// The site of a dive.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct At {
    /// Its name on the trip's log.
    pub name: String,
    /// In the register.
    pub site: SiteId,
}

/// A dive of a group that left the surface.
#[derive(Debug, Clone, PartialEq)]
pub struct GroupDive {
    /// Of which dive.
    pub dive: u32,
    /// The group's letter.
    pub letter: String,
    /// Where.
    pub at: Option<At>,
    /// When it left the surface.
    pub entered: Timestamp,
    /// How many went in.
    pub people: usize,
    /// Minutes from the drop to the expected time, with the time that was given.
    pub planned_min: f64,
    /// Minutes of that which were given.
    pub given_min: f64,
    /// Whether the expected time lay in darkness.
    pub light: Light,
    /// When the last of it came up.
    pub up: Up,
    /// Current at the drop, knots: observed within the hour or by the stream table; none if
    /// neither tells.
    pub current_kn: Option<f64>,
}

/// When the last of a group came up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Up {
    /// Seen or said.
    Seen {
        /// Minutes from the drop.
        actual_min: f64,
        /// Minutes after the latest time of the window; negative before it.
        late_min: f64,
    },
    /// Only coming aboard is on the log: they came up before that, nobody says when.
    OnlyAboard,
    /// Not on the log, or in doubt.
    NotKnown,
}

/// A dive of a person who went in.
#[derive(Debug, Clone, PartialEq)]
pub struct Return {
    /// Of which dive.
    pub dive: u32,
    /// Where.
    pub at: Option<At>,
    /// Bar left in the cylinder; none if nobody wrote it down.
    pub bar: Option<f64>,
    /// The reserve that the trip planned with, bar.
    pub reserve_bar: f64,
}

/// Reads a trip. `None` for a log that opens no trip, and while somebody counts blind on it: then
/// no figure of it is told anywhere.
///
/// Whose word of where a person is in doubt gives no time of surfacing: the group counts as not
/// known.
#[must_use]
pub fn read(trip: TripId, entries: &[Entry], now: Timestamp) -> Option<TripFigures> {
    let state = fold(trip, entries);
    let opened = state.opened.as_ref().filter(|_| !state.is_counting())?;
    let reserve_bar = PlanFigures::from(opened.plans).reserve_bar;
    let (departed, hours) = under_way(entries);
    Some(TripFigures {
        trip,
        day: opened.day,
        boat: opened.boat.name.clone(),
        drill: opened.drill,
        departed,
        hours,
        dives: state
            .groups
            .values()
            .filter_map(|group| group_dive(&state, group))
            .collect(),
        returns: state
            .people
            .values()
            .flat_map(|person| returns(&state, person, reserve_bar))
            .collect(),
        alarms: sounded(&state, entries, now),
    })
}

/// From the first departure to the last return to the quay; what was taken back does not count.
fn under_way(entries: &[Entry]) -> (Option<Timestamp>, Option<f64>) {
    let taken_back = |entry: &Entry| {
        let mut events = entries.iter().map(|e| &e.event);
        events.any(|by| mends(by) == Some(entry.event.id))
    };
    let standing = |is: fn(&Fact) -> bool| {
        let of = entries.iter().filter(move |e| is(&e.event.fact));
        of.filter(|e| !taken_back(e)).map(Entry::time)
    };
    let departed = standing(|fact| matches!(fact, Fact::Departed(_))).min();
    let back = standing(|fact| matches!(fact, Fact::BackInHarbour(_))).max();
    let hours = departed
        .zip(back)
        .map(|(from, to)| to.duration_since(from).as_secs_f64() / 3600.0)
        .filter(|hours| *hours > 0.0);
    (departed, hours)
}

fn site_of(state: &State, dive: u32) -> Option<At> {
    let site = &state.dives.get(&dive)?.site;
    Some(At {
        name: site.name.clone(),
        site: site.id,
    })
}

fn group_dive(state: &State, group: &Group) -> Option<GroupDive> {
    let drop = group.drop.as_ref()?;
    let deadlines = deadlines(state, group)?;
    let from_drop = |at: Timestamp| at.duration_since(drop.at).as_secs_f64() / 60.0;
    let planned = state.dives.get(&group.dive);
    let current = planned.map(|dive| Waters::of(&dive.site, &state.conditions).current(drop.at));
    let current_kn = current.and_then(|current| match current.basis {
        CurrentBasis::Observed | CurrentBasis::Table => Some(current.velocity.speed_kn()),
        CurrentBasis::Old | CurrentBasis::Unknown => None,
    });
    let up = last_up(state, group).map_or_else(
        |why| why,
        |at| Up::Seen {
            actual_min: from_drop(at),
            late_min: at.duration_since(deadlines.latest).as_secs_f64() / 60.0,
        },
    );
    Some(GroupDive {
        dive: group.dive,
        letter: group.formed.letter.clone(),
        at: site_of(state, group.dive),
        entered: drop.at,
        people: drop.members.len(),
        planned_min: from_drop(deadlines.expected),
        given_min: drop.granted_min,
        light: if ends_at_night(state, group.dive, deadlines.expected) {
            Light::Night
        } else {
            Light::Day
        },
        up,
        current_kn,
    })
}

/// When the last of a group came up, or why nobody can say.
fn last_up(state: &State, group: &Group) -> Result<Timestamp, Up> {
    let mut last: Option<(Timestamp, bool)> = None;
    for id in group.members() {
        let person = state.people.get(id).ok_or(Up::NotKnown)?;
        let of_this_dive = person.dive.is_none_or(|dive| dive <= group.dive);
        if of_this_dive && !person.place.is_accounted() && !person.place.is_up() {
            return Err(Up::NotKnown);
        }
        let logged = person.dives.get(&group.dive).ok_or(Up::NotKnown)?;
        let up = logged.surfaced_at.ok_or(Up::NotKnown)?;
        let only_aboard = logged.aboard_at == Some(up);
        if last.is_none_or(|(at, _)| up > at) {
            last = Some((up, only_aboard));
        }
    }
    match last {
        Some((at, false)) => Ok(at),
        Some((_, true)) => Err(Up::OnlyAboard),
        None => Err(Up::NotKnown),
    }
}

fn returns(state: &State, person: &Person, reserve_bar: f64) -> Vec<Return> {
    let dives = person.dives.iter();
    dives
        .filter(|(_, logged)| logged.entered_at.is_some() && logged.group.is_some())
        .map(|(dive, logged)| Return {
            dive: *dive,
            at: site_of(state, *dive),
            bar: logged.bar,
            reserve_bar,
        })
        .collect()
}
