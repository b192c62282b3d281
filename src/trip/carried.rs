//! Dives that people of a trip made on other trips of the same box: looked up in their logs,
//! reckoned with, and told in this trip's own log, so that it can be read alone.

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};

use super::dives::{self, DayDive, of_log, told_plan};
use super::event::{PersonId, ToldDive};
use super::same::Same;
use super::state::{State, plus};
use crate::dive::mix::Mix;
use crate::dive::plan::Profile;
use crate::dive::pressure::Column;
use crate::dive::tissue::Tissues;
use crate::units::{Depth, Minutes, OxygenFraction, bounds};

/// How far back a dive counts as one of the day: from the beginning of the trip's day, or from
/// now once that has begun.
const REACH: SignedDuration = SignedDuration::from_hours(24);

/// Slack of a comparison of figures that were written and read again.
const SLACK: f64 = 1e-6;

/// Dives of other trips, person by person.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Carried(BTreeMap<PersonId, Vec<ToldDive>>);

/// The time within which dives of other trips are carried over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reach {
    from: Timestamp,
    to: Timestamp,
}

impl Reach {
    /// For a trip whose day begins at `day_begins`, as of `now`.
    #[must_use]
    pub fn of(day_begins: Timestamp, now: Timestamp) -> Self {
        Self {
            from: plus(day_begins.max(now), -REACH),
            to: now,
        }
    }

    fn holds(self, at: Timestamp) -> bool {
        self.from <= at && at <= self.to
    }
}

impl Carried {
    /// Takes in what the log of another trip says about people of `roster`.
    ///
    /// `zone`: of the times in the source of each dive. `same`: identities that are one person,
    /// so that nobody comes rested from a dive that was logged under another.
    pub fn take_in(
        &mut self,
        other: &State,
        roster: &State,
        reach: Reach,
        zone: &TimeZone,
        same: &Same,
    ) {
        for id in roster.people.keys() {
            let theirs = same
                .all_of(*id)
                .filter_map(|known| other.people.get(&known));
            for (person, (dive, logged)) in
                theirs.flat_map(|person| person.dives.iter().map(move |dive| (person.id, dive)))
            {
                let Some(of_day) = of_log(other, person, *dive, logged) else {
                    continue;
                };
                let column = dives::model(other, *dive).column;
                if let Some(told) = told(&of_day, other, column, zone)
                    && reach.holds(told.surfaced_at)
                {
                    self.0.entry(*id).or_default().push(told);
                }
            }
        }
        for dives in self.0.values_mut() {
            dives.sort_by_key(|dive| dive.surfaced_at);
        }
    }

    /// All dives before the trip of those of whom this trip's log does not tell everything yet.
    #[must_use]
    pub fn untold(&self, state: &State) -> BTreeMap<PersonId, Vec<ToldDive>> {
        self.0
            .iter()
            .filter_map(|(id, carried)| {
                let person = state.people.get(id)?;
                let all = together(&person.earlier, carried)?;
                Some((*id, all))
            })
            .collect()
    }

    /// The state with these dives told; the very state where it tells them all.
    #[must_use]
    pub fn with<'a>(&self, state: &'a State) -> Cow<'a, State> {
        let untold = self.untold(state);
        if untold.is_empty() {
            return Cow::Borrowed(state);
        }
        let mut with = state.clone();
        for (id, dives) in untold {
            if let Some(person) = with.people.get_mut(&id) {
                person.earlier = dives;
            }
        }
        Cow::Owned(with)
    }

    /// The same dives of these people only.
    #[must_use]
    pub fn of(&self, people: &BTreeSet<PersonId>) -> Self {
        let of = self.0.iter().filter(|(id, _)| people.contains(id));
        Self(of.map(|(id, dives)| (*id, dives.clone())).collect())
    }
}

/// What is told with what was logged elsewhere; `None` where nothing is new.
///
/// Nobody makes two dives at once: where one told and one logged overlap in time they are one,
/// and the worse of each figure counts. Each told dive stands for one logged dive at most.
fn together(told: &[ToldDive], logged: &[ToldDive]) -> Option<Vec<ToldDive>> {
    let mut all = told.to_vec();
    let mut taken: BTreeSet<usize> = BTreeSet::new();
    let mut is_new = false;
    for dive in logged {
        let held = all
            .iter_mut()
            .enumerate()
            .take(told.len())
            .find(|(nth, held)| !taken.contains(nth) && overlap(held, dive));
        if let Some((nth, held)) = held {
            taken.insert(nth);
            is_new |= worsen(held, dive);
        } else {
            all.push(dive.clone());
            is_new = true;
        }
    }
    is_new.then_some(all)
}

/// When a told dive began. What cannot be reckoned began at least its minutes before.
fn began(dive: &ToldDive) -> Timestamp {
    let profile = told_plan(dive.depth_m, dive.minutes).and_then(|plan| plan.profile(&[]));
    let run = profile.map_or_else(
        |_| {
            let least = SignedDuration::try_from_secs_f64(dive.minutes.min() * 60.0);
            least.unwrap_or(SignedDuration::ZERO)
        },
        |profile| profile.run_time(),
    );
    plus(dive.surfaced_at, -run)
}

/// Whether two told dives were made at one time.
#[must_use]
pub fn overlap(one: &ToldDive, other: &ToldDive) -> bool {
    began(one) < other.surfaced_at && began(other) < one.surfaced_at
}

/// Takes the worse of each figure; whether any was worse than what was held.
fn worsen(held: &mut ToldDive, by: &ToldDive) -> bool {
    let before = held.clone();
    if by.depth_m.m() > held.depth_m.m() + SLACK {
        held.depth_m = by.depth_m;
    }
    if by.minutes.min() > held.minutes.min() + SLACK {
        held.minutes = by.minutes;
    }
    if by.oxygen.fraction() < held.oxygen.fraction() - SLACK {
        held.oxygen = by.oxygen;
    }
    held.surfaced_at = held.surfaced_at.max(by.surfaced_at);
    let is_worse = *held != before;
    if is_worse && !held.source.contains(&by.source) {
        held.source = format!("{}; {}", held.source, by.source);
    }
    is_worse
}

/// A dive of a log as it is told elsewhere: its greatest depth, and so many minutes there that
/// nobody carries less from it than from the dive as it was made.
fn told(of_day: &DayDive, other: &State, column: Column, zone: &TimeZone) -> Option<ToldDive> {
    let (entered, up) = of_day.times?;
    let greatest_m = of_day.profile.greatest_depth_m();
    // A hundredth more is as much as nothing, a hundredth less would be too little.
    let depth_m = (greatest_m * 10.0 - SLACK).ceil() / 10.0;
    let depth = Depth::from_m(depth_m.clamp(bounds::DEPTH_M.min, bounds::DEPTH_M.max)).ok()?;
    let minutes = minutes_as_bad(&of_day.profile, of_day.mix, column, depth)?;
    let boat = other.opened.as_ref().map_or("?", |o| o.boat.name.as_str());
    let began = entered
        .to_zoned_datetime(zone.clone())
        .strftime("%Y-%m-%d %H:%M");
    Some(ToldDive {
        depth_m: depth,
        minutes,
        oxygen: OxygenFraction::from_fraction(of_day.mix.oxygen()).ok()?,
        surfaced_at: up,
        source: format!("{boat}, {began}"),
    })
}

/// The fewest whole minutes at a depth that leave no compartment with less nitrogen than a
/// profile does; all of its bottom time where none up to the longest level do.
fn minutes_as_bad(profile: &Profile, mix: Mix, column: Column, depth: Depth) -> Option<Minutes> {
    let rested = Tissues::at_rest(column);
    let after = rested.after_all(profile.legs(), mix, column);
    let is_as_bad = |minutes: Minutes| {
        let told = told_plan(depth, minutes).and_then(|plan| plan.profile(&[]));
        told.is_ok_and(|told| {
            let told = rested.after_all(told.legs(), mix, column);
            told.loads()
                .iter()
                .zip(after.loads())
                .all(|(told, made)| told.n2_bar >= made.n2_bar - SLACK)
        })
    };
    let longest = Minutes::from_min(
        profile
            .bottom_time_min()
            .ceil()
            .clamp(bounds::LEVEL_MIN.min, bounds::LEVEL_MIN.max),
    );
    (1..=300_u32)
        .filter_map(|whole| Minutes::from_min(f64::from(whole)).ok())
        .find(|minutes| is_as_bad(*minutes))
        .or(longest.ok())
}
