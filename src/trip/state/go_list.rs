//! The go/no-go list of before departure: what each condition was answered, by whom, and what the
//! skipper decided. It goes by knowledge as everything does; of words that did not know of each
//! other the least safe one counts, and what nobody answered is open, never go.

use std::collections::BTreeMap;

use jiff::Timestamp;

use super::knowledge::undominated;
use crate::trip::event::{Answer, Author, Condition, Entry, EventId, Fact, Mark, Role};

/// An answer that nobody who knew it has replaced.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answered {
    /// The event.
    pub event: EventId,
    /// Its mark.
    pub mark: Mark,
    /// Who.
    pub by: String,
    /// When.
    pub at: Timestamp,
    /// What.
    pub answer: Answer,
    /// A note.
    pub note: Option<String>,
}

/// A decision that nobody who knew it has replaced.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Decision {
    /// The event.
    pub event: EventId,
    /// What its author had before him.
    pub author: Author,
    /// Who.
    pub by: String,
    /// When.
    pub at: Timestamp,
    /// Go or not.
    pub go: bool,
    /// What did not stand at go, as the author saw it.
    pub not_go: Vec<Condition>,
    /// Why.
    pub reason: Option<String>,
}

/// Where the list stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Nobody has answered or decided anything.
    NotBegun,
    /// Begun, and nobody has decided.
    Open,
    /// Decided: go.
    Go,
    /// Decided: go, for a stated reason over what did not stand at go.
    GoOver,
    /// Decided: go; since then something was answered otherwise that who decided had not seen.
    ChangedSince,
    /// Decided: no go.
    NoGo,
}

impl Verdict {
    /// Whether it keeps the boat at the quay without a stated reason. A list that nobody has begun
    /// is told at the gate, and asks for none.
    #[must_use]
    pub fn asks_for_reason(self) -> bool {
        matches!(self, Self::Open | Self::ChangedSince | Self::NoGo)
    }
}

/// The list.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct GoList {
    /// By condition, every answer that stands; several that differ were given apart.
    pub answers: BTreeMap<Condition, Vec<Answered>>,
    /// Every decision that stands.
    pub decisions: Vec<Decision>,
}

impl GoList {
    /// How a condition stands: no go if anybody says so, go only if all who answered say that.
    #[must_use]
    pub fn standing(&self, condition: &Condition) -> Answer {
        let said = self.answers.get(condition).map_or(&[][..], Vec::as_slice);
        let says = |answer| said.iter().any(|one| one.answer == answer);
        if says(Answer::NoGo) {
            Answer::NoGo
        } else if said.is_empty() || says(Answer::Open) {
            Answer::Open
        } else {
            Answer::Go
        }
    }

    /// The conditions of the list in its order: the usual ones, the centre's own, and what else was
    /// answered or decided over.
    #[must_use]
    pub fn conditions(&self, own: &[String]) -> Vec<Condition> {
        let mut all = Condition::USUAL.to_vec();
        let asked = own.iter().map(|line| Condition::Own(line.clone()));
        let decided = self.decisions.iter().flat_map(|d| &d.not_go).cloned();
        for one in asked.chain(self.answers.keys().cloned()).chain(decided) {
            if !all.contains(&one) {
                all.push(one);
            }
        }
        all
    }

    /// What does not stand at go.
    #[must_use]
    pub fn not_go(&self, own: &[String]) -> Vec<Condition> {
        let mut all = self.conditions(own);
        all.retain(|condition| self.standing(condition) != Answer::Go);
        all
    }

    /// The decision that counts: of several, one of no go.
    #[must_use]
    pub fn decision(&self) -> Option<&Decision> {
        let no_go = self.decisions.iter().find(|decision| !decision.go);
        no_go.or_else(|| self.decisions.last())
    }

    /// What was answered otherwise than go without the decision's author having seen it.
    #[must_use]
    pub fn since(&self) -> Vec<&Condition> {
        let Some(decision) = self.decision().filter(|decision| decision.go) else {
            return Vec::new();
        };
        let unseen = |said: &[Answered]| {
            said.iter()
                .any(|one| one.answer != Answer::Go && !decision.author.saw(one.mark))
        };
        self.answers
            .iter()
            .filter(|(_, said)| unseen(said))
            .map(|(condition, _)| condition)
            .collect()
    }

    /// Where the list stands.
    #[must_use]
    pub fn verdict(&self) -> Verdict {
        match self.decision() {
            None if self.answers.is_empty() => Verdict::NotBegun,
            None => Verdict::Open,
            Some(decision) if !decision.go => Verdict::NoGo,
            Some(_) if !self.since().is_empty() => Verdict::ChangedSince,
            Some(decision) if decision.not_go.is_empty() => Verdict::Go,
            Some(_) => Verdict::GoOver,
        }
    }
}

pub(super) fn fold(entries: &[&Entry]) -> GoList {
    let mut said: BTreeMap<&Condition, Vec<&Entry>> = BTreeMap::new();
    let mut decided = Vec::new();
    for entry in entries {
        match &entry.event.fact {
            Fact::ConditionAnswered(answered) => {
                said.entry(&answered.condition).or_default().push(entry);
            }
            // That she goes is the skipper's word.
            Fact::TripDecided(_) if entry.event.by.role == Role::Skipper => decided.push(*entry),
            _ => {}
        }
    }
    GoList {
        answers: said
            .into_iter()
            .map(|(condition, said)| {
                let standing = undominated(&said);
                let standing = standing.into_iter().filter_map(answered).collect();
                (condition.clone(), standing)
            })
            .collect(),
        decisions: undominated(&decided)
            .into_iter()
            .filter_map(decision)
            .collect(),
    }
}

fn answered(entry: &Entry) -> Option<Answered> {
    let Fact::ConditionAnswered(said) = &entry.event.fact else {
        return None;
    };
    Some(Answered {
        event: entry.event.id,
        mark: entry.event.mark(),
        by: entry.event.by.name.clone(),
        at: entry.time(),
        answer: said.answer,
        note: said.note.clone(),
    })
}

fn decision(entry: &Entry) -> Option<Decision> {
    let Fact::TripDecided(said) = &entry.event.fact else {
        return None;
    };
    Some(Decision {
        event: entry.event.id,
        author: entry.event.author(),
        by: entry.event.by.name.clone(),
        at: entry.time(),
        go: said.go,
        not_go: said.not_go.clone(),
        reason: said.reason.clone(),
    })
}
