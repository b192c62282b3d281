//! What the program can say beside a condition of the go/no-go list: sunset and the stream against
//! the latest surfacing, who is crew, what was seen. A hint with its source, never an answer.

use jiff::Timestamp;

use super::event::{Activity, Condition, ForecastNoted, ForecastOf, PersonId, Sea as SeaState};
use super::forecast::window_at_drop;
use super::ground::Grounds;
use super::outlook::{Conflict, conflicts};
use super::state::{Group, Known, State, plus};
use super::waters::CurrentAt;
use crate::sea::daylight::{Crossing, daylight, is_night};

/// Something that bears on a condition.
#[derive(Debug, Clone, PartialEq)]
pub enum Hint {
    /// A forecast that somebody noted.
    Forecast(Known<ForecastNoted>),
    /// The wind as it was seen last: from, degrees true, and knots.
    Wind(Known<(f64, f64)>),
    /// The sea as it was seen last.
    Sea(Known<SeaState>),
    /// The current at the latest surfacing of a group.
    Current {
        /// Its letter.
        letter: String,
        /// The dive.
        dive: u32,
        /// The latest surfacing.
        latest: Timestamp,
        /// The current then, and what it rests on.
        current: CurrentAt,
    },
    /// What the window of a group meets.
    Meets {
        /// Its letter.
        letter: String,
        /// The dive.
        dive: u32,
        /// What.
        conflict: Conflict,
    },
    /// Sunset on the site of a dive, of the trip's day.
    Sunset {
        /// The dive.
        dive: u32,
        /// Its site.
        site: String,
        /// Sunset, or why there is none; none where no almanac tells.
        sunset: Option<Crossing>,
        /// The latest surfacing of the dive's groups that say when they go in.
        latest: Option<Timestamp>,
        /// Whether that is after sunset, or may be.
        after: bool,
    },
    /// Groups that do not say when they go in: their latest surfacing is not known.
    NoEntryTime {
        /// The dive.
        dive: u32,
        /// Their letters.
        letters: Vec<String>,
    },
    /// No group is planned yet: there is no latest surfacing.
    NoGroups,
    /// Crew on the roster, by name.
    Crew(Vec<String>),
    /// Who keeps the lookout; nobody yet.
    Lookout(Option<String>),
    /// The boat's call sign.
    CallSign(String),
    /// How many steps the boat's emergency plan has.
    PlanSteps(usize),
    /// The boat's recall signal; none is written down.
    RecallSignal(Option<String>),
    /// How many come along, and how many the boat may carry, crew included.
    Roster {
        /// On the roster.
        coming: usize,
        /// Allowed.
        capacity: u32,
    },
}

/// The hints for a condition.
#[must_use]
pub fn hints(state: &State, grounds: &Grounds, condition: &Condition) -> Vec<Hint> {
    let boat = state.opened.as_ref().map(|opened| &opened.boat);
    match condition {
        Condition::Weather => {
            let wind = state.conditions.wind.iter().cloned().map(Hint::Wind);
            wind.chain(foretold(state, ForecastOf::Weather)).collect()
        }
        Condition::SeaState => {
            let sea = state.conditions.sea.iter().cloned().map(Hint::Sea);
            sea.chain(foretold(state, ForecastOf::Sea)).collect()
        }
        Condition::Stream => {
            let mut found = stream(state, grounds);
            found.extend(foretold(state, ForecastOf::Tide));
            found
        }
        Condition::Daylight => sunsets(state),
        Condition::CrewComplete => {
            let crew = state.coming().filter(|p| p.card.activity == Activity::Crew);
            vec![Hint::Crew(crew.map(|p| p.name().to_owned()).collect())]
        }
        Condition::LookoutNamed => {
            vec![Hint::Lookout(
                state.lookout.as_ref().map(|l| l.name.clone()),
            )]
        }
        Condition::Radio => boat
            .filter(|boat| !boat.call_sign.is_empty())
            .map(|boat| Hint::CallSign(boat.call_sign.clone()))
            .into_iter()
            .collect(),
        Condition::EmergencyPlan => boat
            .map(|boat| Hint::PlanSteps(boat.emergency_plan.len()))
            .into_iter()
            .collect(),
        Condition::RecallSignal => boat
            .map(|boat| Hint::RecallSignal(boat.recall_signal.clone()))
            .into_iter()
            .collect(),
        Condition::ListAshore => boat
            .map(|boat| Hint::Roster {
                coming: state.coming().count(),
                capacity: boat.capacity,
            })
            .into_iter()
            .collect(),
        Condition::OxygenFirstAid | Condition::Own(_) => Vec::new(),
    }
}

fn foretold(state: &State, of: ForecastOf) -> impl Iterator<Item = Hint> {
    let notes = state.forecasts.iter().rev();
    notes
        .filter(move |known| known.what.of == of)
        .cloned()
        .map(Hint::Forecast)
}

/// When a group goes in as planned, and its latest surfacing; none without a planned entry.
fn times(state: &State, group: &Group) -> Option<(Timestamp, Timestamp)> {
    let enters = group.formed.enters_at?;
    let members: &std::collections::BTreeSet<PersonId> = group.members();
    let window = window_at_drop(state, group, members, enters).ok()?.window;
    let latest = jiff::SignedDuration::from_secs(i64::from(window.latest_s));
    Some((enters, plus(enters, latest)))
}

/// Letters of groups whose latest surfacing nobody can tell.
fn untimed(state: &State, dive: u32) -> Option<Hint> {
    let groups = state.groups_of(dive);
    let letters: Vec<String> = groups
        .iter()
        .filter(|group| times(state, group).is_none())
        .map(|group| group.formed.letter.clone())
        .collect();
    (!letters.is_empty()).then_some(Hint::NoEntryTime { dive, letters })
}

fn stream(state: &State, grounds: &Grounds) -> Vec<Hint> {
    let mut found = Vec::new();
    for dive in state.dives.keys().copied() {
        let Some(sea) = grounds.sea(state, dive) else {
            continue;
        };
        for group in state.groups_of(dive) {
            let Some((enters, latest)) = times(state, group) else {
                continue;
            };
            let letter = || group.formed.letter.clone();
            found.push(Hint::Current {
                letter: letter(),
                dive,
                latest,
                current: sea.waters.current(latest),
            });
            let met = conflicts(group.formed.mode, &sea, enters, latest);
            found.extend(
                met.into_iter()
                    .filter(|conflict| !matches!(conflict, Conflict::AfterSunset { .. }))
                    .map(|conflict| Hint::Meets {
                        letter: letter(),
                        dive,
                        conflict,
                    }),
            );
        }
        found.extend(untimed(state, dive));
    }
    if found.is_empty() {
        found.push(Hint::NoGroups);
    }
    found
}

fn sunsets(state: &State) -> Vec<Hint> {
    let Some(day) = state.opened.as_ref().map(|opened| opened.day) else {
        return Vec::new();
    };
    let mut found = Vec::new();
    for (dive, planned) in &state.dives {
        let place = planned.site.position;
        let groups = state.groups_of(*dive);
        let latest = groups.iter().filter_map(|group| times(state, group));
        let latest = latest.map(|(_, latest)| latest).max();
        found.push(Hint::Sunset {
            dive: *dive,
            site: planned.site.name.clone(),
            sunset: daylight(place, day).ok().map(|light| light.sunset),
            latest,
            // Where no almanac tells, it counts as night: the stricter rule.
            after: latest.is_some_and(|at| is_night(place, at).unwrap_or(true)),
        });
        found.extend(untimed(state, *dive));
    }
    if found.is_empty() {
        found.push(Hint::NoGroups);
    }
    found
}
