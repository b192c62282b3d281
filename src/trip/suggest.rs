//! Groups suggested from certification levels, limits and wishes: a draft for the desk, with the
//! reason for each group and each rule that it could not meet. Somebody accepts it or changes it;
//! nothing is applied by itself, and nothing here says that a group is safe.
//!
//! # Source
//! Buddy teams of two or three: ISO 24803. Who needs a leader: the levels of ISO 24801, of which a
//! supervised diver (part 1) dives under direct supervision and an autonomous diver (part 2) with
//! others of that level. How many one leader takes, and that a minor dives with an adult: common
//! practice, no source; the local code and the centre's rules come first.

use std::collections::{BTreeMap, BTreeSet};

use super::event::{Fitness, PersonId};
use super::state::Person;
use crate::units::Depth;

/// How many divers one leader takes, if nobody says otherwise (common practice, no source).
pub const PER_LEADER: usize = 4;

/// What a diver may do by the level, in the order of care it asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Grade {
    /// The words of the level say nothing of it: taken as supervised.
    Unknown,
    /// Supervised diver (ISO 24801-1): dives with a leader.
    Supervised,
    /// Autonomous diver (ISO 24801-2).
    Autonomous,
    /// Dive leader (ISO 24801-3) or instructor (ISO 24802): may lead others.
    Leader,
}

impl Grade {
    /// By the words of a level.
    #[must_use]
    pub fn of(level: &str) -> Self {
        let level = level.to_lowercase();
        let says = |word| level.contains(word);
        if says("supervised") {
            Self::Supervised
        } else if says("autonomous") {
            Self::Autonomous
        } else if says("leader") || says("instructor") {
            Self::Leader
        } else {
            Self::Unknown
        }
    }
}

/// Somebody to be put into a group.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// Who.
    pub id: PersonId,
    /// Name: what ties are broken by, before the identity.
    pub name: String,
    /// By the level.
    pub grade: Grade,
    /// Greatest depth of the level, metres; none: not known.
    pub limit_m: Option<f64>,
    /// Restricted: somebody looks first.
    pub restricted: bool,
    /// Under age, as the desk says.
    pub minor: bool,
    /// Whom the person wishes to dive with.
    pub wishes: BTreeSet<PersonId>,
}

impl Candidate {
    /// A person of the roster, without wishes.
    #[must_use]
    pub fn of(person: &Person) -> Self {
        Self {
            id: person.id,
            name: person.name().to_owned(),
            grade: Grade::of(&person.card.level),
            limit_m: person.card.depth_limit_m.map(Depth::m),
            restricted: person.card.fitness == Fitness::Restricted,
            minor: false,
            wishes: BTreeSet::new(),
        }
    }

    fn is_led(&self) -> bool {
        self.grade < Grade::Autonomous || self.minor
    }

    fn leads(&self) -> bool {
        self.grade == Grade::Leader && !self.minor
    }
}

/// Why a group is as it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Because {
    /// It has a leader for those who need one.
    LedBy(PersonId),
    /// All are autonomous, with limits next to each other.
    Autonomous,
    /// One wished to dive with the other.
    Wished(PersonId, PersonId),
    /// A minor dives with an adult.
    MinorWith(PersonId, PersonId),
    /// Its depth is that of its weakest member, metres.
    Weakest(PersonId, f64),
}

/// A rule that a group does not meet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Unmet {
    /// Somebody needs a leader, and there is none left.
    NoLeader(PersonId),
    /// More than one leader takes.
    OverRatio {
        /// Divers beside the leader.
        led: usize,
    },
    /// The planned depth is beyond the limit of a member.
    TooDeep {
        /// Whose.
        who: PersonId,
        /// The limit, metres.
        limit_m: f64,
    },
    /// No limit is known of a member.
    NoLimit(PersonId),
    /// A minor dives without an adult in the pair or three.
    MinorWithoutAdult(PersonId),
}

/// Why somebody is in no group.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LeftOut {
    /// Restricted: somebody looks first.
    Restricted,
    /// There is nobody to make a pair with.
    Alone,
}

/// A group as suggested.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Suggested {
    /// Who leads it.
    pub leader: Option<PersonId>,
    /// Pairs and threes.
    pub units: Vec<Vec<PersonId>>,
    /// Why it is so.
    pub because: Vec<Because>,
    /// What it does not meet.
    pub unmet: Vec<Unmet>,
}

/// The whole suggestion: everybody stands in one group, or is left out with a reason.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Suggestion {
    /// The groups.
    pub groups: Vec<Suggested>,
    /// Who is in none.
    pub left_out: Vec<(PersonId, LeftOut)>,
    /// Wishes that are not met: who, with whom.
    pub wishes_unmet: Vec<(PersonId, PersonId)>,
}

/// People who stay together.
type Team = Vec<PersonId>;
/// What people are put in order by: the name, then the identity.
type Named = (String, PersonId);

/// Suggests groups. `depth_m`: the planned depth, where one is known. The same people give the same
/// groups whatever order they come in.
#[must_use]
pub fn suggest(people: &[Candidate], per_leader: usize, depth_m: Option<f64>) -> Suggestion {
    let known: BTreeMap<PersonId, &Candidate> = people.iter().map(|one| (one.id, one)).collect();
    let mut made = Making {
        known,
        per_leader: per_leader.max(1),
    };
    let mut left_out: Vec<(PersonId, LeftOut)> = Vec::new();
    made.known.retain(|id, one| {
        if one.restricted {
            left_out.push((*id, LeftOut::Restricted));
        }
        !one.restricted
    });
    let teams = made.with_adults(made.wished());
    let (led, own): (Vec<Team>, Vec<Team>) = teams.into_iter().partition(|team| made.is_led(team));
    let (mut own, mut leaders) = made.apart(own, &led);
    let mut groups: Vec<Vec<Team>> = Vec::new();
    made.lead(led, &mut leaders, &mut groups);
    // Leaders whom nobody needs dive as autonomous divers do.
    own.extend(leaders.into_iter().map(|leader| vec![leader]));
    groups.extend(made.pairs(own).into_iter().map(|team| vec![team]));
    let groups = made.settle(groups, &mut left_out);
    let mut suggestion = Suggestion {
        groups: groups
            .into_iter()
            .map(|units| made.told(units, depth_m))
            .collect(),
        left_out,
        wishes_unmet: Vec::new(),
    };
    let together = |a: PersonId, b: PersonId| {
        let mut units = suggestion.groups.iter().flat_map(|group| &group.units);
        units.any(|unit| unit.contains(&a) && unit.contains(&b))
    };
    let mut unmet: Vec<(PersonId, PersonId)> = people
        .iter()
        .flat_map(|one| one.wishes.iter().map(|with| (one.id, *with)))
        .filter(|(one, with)| one != with && !together(*one, *with))
        .collect();
    unmet.sort_unstable();
    unmet.dedup();
    suggestion.wishes_unmet = unmet;
    suggestion.left_out.sort_unstable_by_key(|(id, _)| *id);
    suggestion
}

struct Making<'c> {
    known: BTreeMap<PersonId, &'c Candidate>,
    per_leader: usize,
}

impl Making<'_> {
    fn is(&self, id: PersonId, what: impl Fn(&Candidate) -> bool) -> bool {
        self.known.get(&id).is_some_and(|one| what(one))
    }

    fn is_led(&self, team: &[PersonId]) -> bool {
        team.iter().any(|id| self.is(*id, Candidate::is_led))
    }

    fn leader_of(&self, team: &[PersonId]) -> Option<PersonId> {
        let leads = team.iter().filter(|id| self.is(**id, Candidate::leads));
        leads.min_by_key(|id| self.named(**id)).copied()
    }

    fn named(&self, id: PersonId) -> Named {
        let name = self.known.get(&id).map_or("", |one| one.name.as_str());
        (name.to_lowercase(), id)
    }

    /// The limit of the weakest, in tenths of a metre; one that is not known is the weakest of all.
    fn limit(&self, team: &[PersonId]) -> i64 {
        let limits = team.iter().filter_map(|id| self.known.get(id));
        #[expect(
            clippy::cast_possible_truncation,
            reason = "depths of at most some hundred metres"
        )]
        let tenths = |one: &&Candidate| one.limit_m.map_or(0, |m| (m * 10.0).round() as i64);
        limits.map(tenths).min().unwrap_or(0)
    }

    /// Deepest first, then by name: people of like limits stand side by side.
    fn sort(&self, teams: &mut [Team]) {
        for team in teams.iter_mut() {
            team.sort_by_key(|id| self.named(*id));
        }
        teams.sort_by_key(|team| {
            let first = team.first().map(|id| self.named(*id));
            (std::cmp::Reverse(self.limit(team)), first)
        });
    }

    /// Teams of those who wish to dive together, wishes on both sides first; the rest alone.
    fn wished(&self) -> Vec<Team> {
        let mut pairs: Vec<(bool, Named, Named)> = Vec::new();
        for (id, one) in &self.known {
            for with in one.wishes.iter().filter(|with| *with != id) {
                let Some(other) = self.known.get(with) else {
                    continue;
                };
                let one_sided = !other.wishes.contains(id);
                let (a, b) = (self.named(*id), self.named(*with));
                pairs.push(if a < b {
                    (one_sided, a, b)
                } else {
                    (one_sided, b, a)
                });
            }
        }
        pairs.sort();
        pairs.dedup();
        let mut teams: Vec<Team> = self.known.keys().map(|id| vec![*id]).collect();
        for (_, (_, a), (_, b)) in pairs {
            let of = |id: PersonId| teams.iter().position(|team| team.contains(&id));
            let (Some(first), Some(second)) = (of(a), of(b)) else {
                continue;
            };
            let size = |nth: usize| teams.get(nth).map_or(0, Vec::len);
            if first != second && size(first) + size(second) <= 3 {
                let (keep, give) = (first.min(second), first.max(second));
                let given = teams.remove(give);
                if let Some(kept) = teams.get_mut(keep) {
                    kept.extend(given);
                }
            }
        }
        self.sort(&mut teams);
        teams
    }

    /// Each minor gets an adult into the pair or three, the most experienced who is alone; but not a
    /// leader while somebody else is there, as leaders are for groups.
    fn with_adults(&self, mut teams: Vec<Team>) -> Vec<Team> {
        let lacks = |team: &Team| {
            team.len() < 3
                && team.iter().any(|id| self.is(*id, |one| one.minor))
                && team.iter().all(|id| self.is(*id, |one| one.minor))
        };
        while let Some(nth) = teams.iter().position(lacks) {
            let rank = |team: &Team| {
                let id = *team.first()?;
                let one = self.known.get(&id)?;
                let fit = match one.grade {
                    Grade::Autonomous => 0,
                    Grade::Leader => 1,
                    Grade::Supervised | Grade::Unknown => 2,
                };
                (team.len() == 1 && !one.minor).then(|| (fit, self.named(id)))
            };
            let best = teams.iter().filter_map(rank).min();
            let Some((_, (_, adult))) = best else { break };
            teams.retain(|team| team != &[adult]);
            // Taking one out moves those behind it.
            let minors = teams.iter().position(lacks).unwrap_or(nth);
            if let Some(team) = teams.get_mut(minors) {
                team.push(adult);
            }
        }
        self.sort(&mut teams);
        teams
    }

    /// Takes single leaders out of those who need nobody, as far as there is anybody to lead.
    fn apart(&self, own: Vec<Team>, led: &[Team]) -> (Vec<Team>, Vec<PersonId>) {
        let mut leaders: Vec<PersonId> = Vec::new();
        let mut rest = Vec::new();
        for team in own {
            match team.as_slice() {
                [one] if !led.is_empty() && self.is(*one, Candidate::leads) => leaders.push(*one),
                _ => rest.push(team),
            }
        }
        leaders.sort_by_key(|id| self.named(*id));
        (rest, leaders)
    }

    /// Groups of teams that need a leader, each with one as long as there are any.
    fn lead(&self, led: Vec<Team>, leaders: &mut Vec<PersonId>, groups: &mut Vec<Vec<Team>>) {
        let mut waiting = led;
        while !waiting.is_empty() {
            let first = waiting.remove(0);
            let mut leader = self.leader_of(&first);
            let mut teams = vec![first];
            if leader.is_none() && !leaders.is_empty() {
                let one = leaders.remove(0);
                leader = Some(one);
                teams.push(vec![one]);
            }
            let mut later = Vec::new();
            for team in waiting {
                let size: usize = teams.iter().map(Vec::len).sum();
                let room = self.per_leader + usize::from(leader.is_some());
                if size + team.len() <= room && self.leader_of(&team).is_none() {
                    teams.push(team);
                } else {
                    later.push(team);
                }
            }
            waiting = later;
            groups.push(self.units(teams));
        }
    }

    /// Teams of one group as pairs and threes: who is alone goes with who is alone, leaders first.
    fn units(&self, teams: Vec<Team>) -> Vec<Team> {
        let (single, mut units): (Vec<Team>, Vec<Team>) =
            teams.into_iter().partition(|team| team.len() == 1);
        let mut single: Vec<PersonId> = single.into_iter().flatten().collect();
        single.sort_by_key(|id| (!self.is(*id, Candidate::leads), self.named(*id)));
        let mut single = single.into_iter();
        while let Some(one) = single.next() {
            match single.next() {
                Some(other) => units.push(vec![one, other]),
                // A third joins the last pair made of singles, else any pair.
                None => {
                    if let Some(pair) = units.iter_mut().rev().find(|unit| unit.len() == 2) {
                        pair.push(one);
                    } else {
                        let leads = self.is(one, Candidate::leads);
                        let with = leads.then(|| self.spared(&mut units)).flatten();
                        units.push(std::iter::once(one).chain(with).collect());
                    }
                }
            }
        }
        units
    }

    /// One of a three who goes with its leader, a minor first: the leader is an adult.
    fn spared(&self, units: &mut [Team]) -> Option<PersonId> {
        let three = units.iter_mut().find(|unit| unit.len() == 3)?;
        let minor = three.iter().position(|id| self.is(*id, |one| one.minor));
        Some(three.remove(minor.unwrap_or(2)))
    }

    /// Pairs of those who need nobody, neighbours by limit, the last three of them a three.
    fn pairs(&self, mut teams: Vec<Team>) -> Vec<Team> {
        self.sort(&mut teams);
        let (single, whole): (Vec<Team>, Vec<Team>) =
            teams.into_iter().partition(|team| team.len() == 1);
        let mut single: Vec<PersonId> = single.into_iter().flatten().collect();
        let mut made = whole;
        while single.len() >= 2 {
            let size = if single.len() == 3 { 3 } else { 2 };
            made.push(single.drain(..size).collect());
        }
        if let Some(last) = single.pop() {
            let pair = made
                .iter_mut()
                .rev()
                .find(|team| team.len() == 2 && !team.iter().any(|id| self.is(*id, |p| p.minor)));
            match pair {
                Some(pair) => pair.push(last),
                None => made.push(vec![last]),
            }
        }
        made
    }

    /// Who is alone in a group joins a pair of another, those with a leader first; else is left out.
    fn settle(
        &self,
        groups: Vec<Vec<Team>>,
        left_out: &mut Vec<(PersonId, LeftOut)>,
    ) -> Vec<Vec<Team>> {
        let mut alone = Vec::new();
        let mut kept: Vec<Vec<Team>> = Vec::new();
        for mut group in groups {
            group.retain(|unit| match unit.as_slice() {
                [one] => {
                    alone.push(*one);
                    false
                }
                _ => true,
            });
            if !group.is_empty() {
                kept.push(group);
            }
        }
        // Two who are alone make a pair: each for want of the other.
        alone.sort_by_key(|id| self.named(*id));
        while alone.len() >= 2 {
            let size = if alone.len() == 3 { 3 } else { 2 };
            kept.push(vec![alone.drain(..size).collect()]);
        }
        for one in alone {
            let led = self.is(one, Candidate::is_led);
            let takes = |group: &Vec<Team>| group.iter().any(|unit| unit.len() == 2);
            let has_leader = |group: &Vec<Team>| {
                let people: Vec<PersonId> = group.iter().flatten().copied().collect();
                self.leader_of(&people).is_some() == led
            };
            let place = kept
                .iter()
                .position(|group| takes(group) && has_leader(group))
                .or_else(|| kept.iter().position(takes));
            let pair = place
                .and_then(|nth| kept.get_mut(nth))
                .and_then(|group| group.iter_mut().find(|unit| unit.len() == 2));
            match pair {
                Some(pair) => pair.push(one),
                None => left_out.push((one, LeftOut::Alone)),
            }
        }
        kept
    }

    /// A group with its reasons and what it does not meet.
    fn told(&self, units: Vec<Team>, depth_m: Option<f64>) -> Suggested {
        let members: Vec<PersonId> = units.iter().flatten().copied().collect();
        let needs: Vec<PersonId> = members
            .iter()
            .filter(|id| self.is(**id, Candidate::is_led))
            .copied()
            .collect();
        let leader = self.leader_of(&members);
        let mut because = Vec::new();
        let mut unmet = Vec::new();
        match leader.filter(|_| !needs.is_empty()) {
            Some(leader) => {
                because.push(Because::LedBy(leader));
                if members.len() - 1 > self.per_leader {
                    let led = members.len() - 1;
                    unmet.push(Unmet::OverRatio { led });
                }
            }
            None if needs.is_empty() => because.push(Because::Autonomous),
            None => unmet.extend(needs.iter().map(|id| Unmet::NoLeader(*id))),
        }
        for unit in &units {
            for id in unit {
                let Some(one) = self.known.get(id) else {
                    continue;
                };
                let wished = unit
                    .iter()
                    .filter(|with| one.wishes.contains(with) && *with != id);
                because.extend(wished.map(|with| Because::Wished(*id, *with)));
                if one.minor {
                    let adult = unit.iter().find(|with| self.is(**with, |p| !p.minor));
                    match adult {
                        Some(adult) => because.push(Because::MinorWith(*id, *adult)),
                        None => unmet.push(Unmet::MinorWithoutAdult(*id)),
                    }
                }
                match one.limit_m {
                    None => unmet.push(Unmet::NoLimit(*id)),
                    Some(limit_m) if depth_m.is_some_and(|depth| depth > limit_m) => {
                        unmet.push(Unmet::TooDeep { who: *id, limit_m });
                    }
                    Some(_) => {}
                }
            }
        }
        let limits = members
            .iter()
            .filter_map(|id| Some((*id, self.known.get(id)?.limit_m?)));
        let weakest = limits.min_by(|a, b| a.1.total_cmp(&b.1).then_with(|| a.0.cmp(&b.0)));
        because.extend(weakest.map(|(id, limit_m)| Because::Weakest(id, limit_m)));
        Suggested {
            leader,
            units,
            because,
            unmet,
        }
    }
}
