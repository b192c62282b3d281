//! Counting: two crew count blind and independently; the tool compares, asks for one recount,
//! and at a second mismatch keeps the boat where it is or opens the emergency plan.
//!
//! A lone crew member counts twice, once by names. The rule is the strictest published one
//! (Queensland, Safety in Recreational Water Activities Regulation 2024, sections 13, 15
//! and 16: two independent counts, compared; recount; then the emergency plan).

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;
use serde::Serialize;

use super::event::{CrewId, Entry, Fact, Method, PersonId, Point};

/// One blind count.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Count {
    /// Who counted.
    pub crew: CrewId,
    /// The name.
    pub by: String,
    /// How.
    pub method: Method,
    /// How many.
    pub people: u32,
    /// How many the log held aboard then.
    pub log_aboard: u32,
    /// When.
    pub at: Timestamp,
}

/// How a count stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "is")]
pub enum Outcome {
    /// Waiting for a count of this round; figures are not shown.
    Open {
        /// 1, or 2 for the recount.
        round: u32,
    },
    /// Both counts and the log agree.
    Agreed {
        /// On this many people.
        people: u32,
    },
    /// They differed twice.
    Failed,
}

/// A count at a point: both rounds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Call {
    /// Where.
    pub point: Point,
    /// Of which dive; 0 at the quay.
    pub dive: u32,
    /// Its number at this point, from 1.
    pub number: u32,
    /// Counts of the first round and of the recount.
    pub rounds: [Vec<Count>; 2],
}

impl Call {
    /// How it stands.
    #[must_use]
    pub fn outcome(&self) -> Outcome {
        let [first, second] = &self.rounds;
        match (verdict(first), verdict(second)) {
            (None, _) => Outcome::Open { round: 1 },
            (Some(Ok(people)), _) | (Some(Err(())), Some(Ok(people))) => Outcome::Agreed { people },
            (Some(Err(())), None) => Outcome::Open { round: 2 },
            (Some(Err(())), Some(Err(()))) => Outcome::Failed,
        }
    }

    /// The alert key of this count.
    #[must_use]
    pub fn alert_key(&self) -> String {
        format!("count:{:?}:{}:{}", self.point, self.dive, self.number).to_lowercase()
    }

    /// When the last count was taken.
    #[must_use]
    pub fn last_at(&self) -> Option<Timestamp> {
        self.rounds.iter().flatten().map(|count| count.at).max()
    }

    /// Whether this crew member has still something to count in the open round, and how.
    #[must_use]
    pub fn may_count(&self, crew: CrewId, method: Method) -> bool {
        let Outcome::Open { round } = self.outcome() else {
            return false;
        };
        let counts = if round == 1 {
            &self.rounds[0]
        } else {
            &self.rounds[1]
        };
        !counts
            .iter()
            .any(|count| count.crew == crew && count.method == method)
    }
}

/// `None`: not complete. Complete are two counts by two people, or two ways of one.
fn verdict(counts: &[Count]) -> Option<Result<u32, ()>> {
    let first = counts.first()?;
    let independent = counts
        .iter()
        .any(|c| c.crew != first.crew || c.method != first.method);
    if !independent {
        return None;
    }
    let agree = counts
        .iter()
        .all(|c| c.people == first.people && c.log_aboard == c.people);
    Some(if agree { Ok(first.people) } else { Err(()) })
}

/// The roll as called.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Roll {
    /// Where.
    pub point: Point,
    /// Of which dive; 0 at the quay.
    pub dive: u32,
    /// Seen, each by name.
    pub present: BTreeSet<PersonId>,
    /// Called and not seen.
    pub not_seen: BTreeSet<PersonId>,
    /// Who called it.
    pub by: String,
    /// When.
    pub at: Timestamp,
}

/// All counts in the order of points, dives and numbers.
pub(super) fn calls(entries: &[&Entry]) -> Vec<Call> {
    let mut calls: BTreeMap<(Point, u32, u32), Call> = BTreeMap::new();
    for entry in entries {
        let Fact::HeadCounted(counted) = &entry.event.fact else {
            continue;
        };
        let dive = entry.event.about.dive.unwrap_or(0);
        let call = calls
            .entry((counted.point, dive, counted.call))
            .or_insert_with(|| Call {
                point: counted.point,
                dive,
                number: counted.call,
                rounds: [Vec::new(), Vec::new()],
            });
        let [first, second] = &mut call.rounds;
        let round = if counted.round == 1 { first } else { second };
        round.push(Count {
            crew: entry.event.by.crew,
            by: entry.event.by.name.clone(),
            method: counted.method,
            people: counted.people,
            log_aboard: counted.log_aboard,
            at: entry.time(),
        });
    }
    calls.into_values().collect()
}

/// All rolls in the one order.
pub(super) fn rolls(entries: &[&Entry]) -> Vec<Roll> {
    entries
        .iter()
        .filter_map(|entry| {
            let Fact::RollCalled(roll) = &entry.event.fact else {
                return None;
            };
            Some(Roll {
                point: roll.point,
                dive: entry.event.about.dive.unwrap_or(0),
                present: entry.event.about.persons.clone(),
                not_seen: roll.not_seen.iter().copied().collect(),
                by: entry.event.by.name.clone(),
                at: entry.time(),
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use uuid::Uuid;

    fn count(crew: u128, method: Method, people: u32) -> Count {
        Count {
            crew: CrewId::new(Uuid::from_u128(crew)),
            by: format!("Crew {crew}"),
            method,
            people,
            log_aboard: 18,
            at: Timestamp::UNIX_EPOCH,
        }
    }

    fn call(first: Vec<Count>, second: Vec<Count>) -> Call {
        Call {
            point: Point::Departure,
            dive: 0,
            number: 1,
            rounds: [first, second],
        }
    }

    #[test]
    fn two_counts_that_agree_with_the_log_pass() {
        let both = vec![count(1, Method::Heads, 18), count(2, Method::Heads, 18)];
        assert_eq!(call(both, vec![]).outcome(), Outcome::Agreed { people: 18 });
    }

    #[test]
    fn counts_that_agree_with_each_other_but_not_with_the_log_do_not_pass() {
        let both = vec![count(1, Method::Heads, 17), count(2, Method::Heads, 17)];
        assert_eq!(call(both, vec![]).outcome(), Outcome::Open { round: 2 });
    }

    /// Queensland regulation of 2024, section 16: a mismatch means a recount, a second one the
    /// emergency plan.
    #[test]
    fn a_mismatch_asks_for_one_recount_and_a_second_one_fails() {
        let differ = || vec![count(1, Method::Heads, 18), count(2, Method::Heads, 17)];
        assert_eq!(call(differ(), vec![]).outcome(), Outcome::Open { round: 2 });
        assert_eq!(call(differ(), differ()).outcome(), Outcome::Failed);
        let agree = vec![count(1, Method::Heads, 18), count(2, Method::Heads, 18)];
        assert_eq!(
            call(differ(), agree).outcome(),
            Outcome::Agreed { people: 18 }
        );
    }

    /// Section 15: one crew member alone counts twice, by two methods.
    #[test]
    fn one_alone_counts_twice_by_two_methods() {
        let once = call(vec![count(1, Method::Heads, 18)], vec![]);
        assert_eq!(once.outcome(), Outcome::Open { round: 1 });
        let again = vec![count(1, Method::Heads, 18), count(1, Method::Heads, 18)];
        assert_eq!(call(again, vec![]).outcome(), Outcome::Open { round: 1 });
        let twice = vec![count(1, Method::Heads, 18), count(1, Method::Names, 18)];
        assert_eq!(
            call(twice, vec![]).outcome(),
            Outcome::Agreed { people: 18 }
        );
    }
}
