//! Groups being formed, before anything is written: who is with whom, moved by buttons. The
//! draft lives in the form of its page, so that half-made pairs harm nobody.

use std::collections::{BTreeMap, BTreeSet};

use crate::trip::decide::LETTERS;
use crate::trip::event::{Activity, GroupId, PersonId};
use crate::trip::state::State;
use crate::web::form::Fields;

/// Groups of one dive as they are being formed.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Draft {
    /// The groups, by letter.
    pub groups: Vec<Forming>,
}

/// A group being formed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Forming {
    /// The group it changes; none for a new one.
    pub id: Option<GroupId>,
    /// Its letter.
    pub letter: String,
    /// Pairs and threes, and who is alone for the moment.
    pub units: Vec<Vec<PersonId>>,
}

impl Forming {
    /// Its name in the form.
    pub(super) fn key(&self) -> String {
        self.id
            .map_or_else(|| format!("new-{}", self.letter), |id| id.to_string())
    }

    fn leave(&mut self, people: &BTreeSet<PersonId>) {
        for unit in &mut self.units {
            unit.retain(|person| !people.contains(person));
        }
        self.units.retain(|unit| !unit.is_empty());
    }

    /// Newcomers join whoever is alone, then make pairs of their own, the last three of them a
    /// three; one who is left over joins a pair.
    fn arrive(&mut self, people: &BTreeSet<PersonId>) {
        let mut coming: Vec<PersonId> = people.iter().rev().copied().collect();
        for unit in self.units.iter_mut().filter(|unit| unit.len() == 1) {
            unit.extend(coming.pop());
        }
        while coming.len() >= 2 {
            let size = if coming.len() == 3 { 3 } else { 2 };
            let unit = coming.split_off(coming.len() - size);
            self.units.push(unit);
        }
        let Some(last) = coming.pop() else { return };
        match self.units.iter_mut().find(|unit| unit.len() == 2) {
            Some(pair) => pair.push(last),
            None => self.units.push(vec![last]),
        }
    }
}

impl Draft {
    /// The groups of a dive as they stand, but for those in the water.
    pub(super) fn of(state: &State, dive: u32) -> Self {
        let groups = state
            .groups_of(dive)
            .into_iter()
            .filter(|group| group.drop.is_none())
            .map(|group| Forming {
                id: Some(group.id),
                letter: group.formed.letter.clone(),
                units: group
                    .units()
                    .into_iter()
                    .map(|unit| unit.into_iter().collect())
                    .collect(),
            })
            .collect();
        Self { groups }
    }

    /// The draft a form carries. What it names and the trip does not know is left out.
    pub(super) fn read(fields: &Fields, state: &State, dive: u32) -> Self {
        let letters: BTreeMap<GroupId, String> = Self::of(state, dive)
            .groups
            .into_iter()
            .filter_map(|group| group.id.map(|id| (id, group.letter)))
            .collect();
        let free: BTreeSet<PersonId> = divers(state, dive);
        let mut held: BTreeMap<(String, String), BTreeMap<usize, Vec<PersonId>>> = BTreeMap::new();
        let mut seen = BTreeSet::new();
        for at in fields.all("at") {
            let parts: Vec<&str> = at.split('/').collect();
            let [key, unit, person] = parts.as_slice() else {
                continue;
            };
            let letter = match key.strip_prefix("new-") {
                Some(letter) => Some(letter.to_owned()),
                None => key.parse().ok().and_then(|id| letters.get(&id).cloned()),
            };
            let (Some(letter), Ok(unit), Ok(person)) =
                (letter, unit.parse::<usize>(), person.parse::<PersonId>())
            else {
                continue;
            };
            if free.contains(&person) && seen.insert(person) {
                held.entry((letter, (*key).to_owned()))
                    .or_default()
                    .entry(unit)
                    .or_default()
                    .push(person);
            }
        }
        let mut groups: Vec<Forming> = held
            .into_iter()
            .map(|((letter, key), units)| Forming {
                id: key.parse().ok(),
                letter,
                units: units.into_values().collect(),
            })
            .collect();
        // A group whose last member was taken out is still there, to be stood down.
        for (id, letter) in letters {
            if !groups.iter().any(|group| group.id == Some(id)) {
                groups.push(Forming {
                    id: Some(id),
                    letter,
                    units: Vec::new(),
                });
            }
        }
        groups.sort_by(|a, b| a.letter.cmp(&b.letter));
        Self { groups }
    }

    /// Where everybody is, as the form's hidden fields.
    pub(super) fn fields(&self) -> Vec<String> {
        self.groups
            .iter()
            .flat_map(|group| {
                let key = group.key();
                group.units.iter().enumerate().flat_map(move |(nth, unit)| {
                    let key = key.clone();
                    unit.iter()
                        .map(move |person| format!("{key}/{nth}/{person}"))
                })
            })
            .collect()
    }

    /// Takes people out of their groups.
    pub(super) fn out(&mut self, people: &BTreeSet<PersonId>) {
        for group in &mut self.groups {
            group.leave(people);
        }
        self.groups
            .retain(|group| group.id.is_some() || !group.units.is_empty());
    }

    /// Moves people to a group, whatever they were in.
    pub(super) fn to(&mut self, key: &str, people: &BTreeSet<PersonId>) {
        let stays = |group: &Forming| group.key() == key;
        for group in self.groups.iter_mut().filter(|group| !stays(group)) {
            group.leave(people);
        }
        if let Some(group) = self.groups.iter_mut().find(|group| stays(group)) {
            let new: BTreeSet<PersonId> = people
                .iter()
                .filter(|person| !group.units.iter().flatten().any(|held| held == *person))
                .copied()
                .collect();
            group.arrive(&new);
        }
        self.groups
            .retain(|group| group.id.is_some() || !group.units.is_empty());
    }

    /// Makes a new group of people, with the first letter that is free. Without effect once all
    /// letters are taken. `taken`: letters of groups that are not in the draft.
    pub(super) fn new_group(&mut self, people: &BTreeSet<PersonId>, taken: &BTreeSet<String>) {
        let letter = LETTERS
            .chars()
            .map(|letter| letter.to_string())
            .find(|l| !taken.contains(l) && !self.groups.iter().any(|g| g.letter == *l));
        let Some(letter) = letter.filter(|_| !people.is_empty()) else {
            return;
        };
        let group = Forming {
            id: None,
            letter,
            units: Vec::new(),
        };
        let key = group.key();
        self.groups.push(group);
        self.to(&key, people);
        self.groups.sort_by(|a, b| a.letter.cmp(&b.letter));
    }

    /// Takes pairs and threes in as a new group with the first letter that is free, and gives its
    /// name in the form; none once all letters are taken. Whoever is in a group already stays there.
    pub(super) fn take(
        &mut self,
        mut units: Vec<Vec<PersonId>>,
        taken: &BTreeSet<String>,
    ) -> Option<String> {
        let held = self.members();
        for unit in &mut units {
            unit.retain(|person| !held.contains(person));
        }
        units.retain(|unit| !unit.is_empty());
        let letter = LETTERS
            .chars()
            .map(|letter| letter.to_string())
            .find(|l| !taken.contains(l) && !self.groups.iter().any(|g| g.letter == *l))?;
        let group = Forming {
            id: None,
            letter,
            units,
        };
        let key = group.key();
        self.groups.push(group);
        Some(key)
    }

    /// Makes a pair or a three of people of one group. False if they are not two or three of one.
    pub(super) fn unit(&mut self, people: &BTreeSet<PersonId>) -> bool {
        let group = self.groups.iter_mut().find(|group| {
            let members: BTreeSet<PersonId> = group.units.iter().flatten().copied().collect();
            people.is_subset(&members)
        });
        let Some(group) = group.filter(|_| (2..=3).contains(&people.len())) else {
            return false;
        };
        group.leave(people);
        group.units.push(people.iter().copied().collect());
        true
    }

    /// People in any group of the draft.
    pub(super) fn members(&self) -> BTreeSet<PersonId> {
        self.groups
            .iter()
            .flat_map(|group| group.units.iter().flatten().copied())
            .collect()
    }
}

/// People who can be put into groups of a dive: divers and crew who come along and are not in
/// the water on it.
pub(super) fn divers(state: &State, dive: u32) -> BTreeSet<PersonId> {
    let gone: BTreeSet<PersonId> = state
        .groups_of(dive)
        .into_iter()
        .filter(|group| group.drop.is_some())
        .flat_map(|group| group.members().iter().copied())
        .collect();
    state
        .coming()
        .filter(|p| matches!(p.card.activity, Activity::Diver | Activity::Crew))
        .map(|p| p.id)
        .filter(|id| !gone.contains(id))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn p(n: u128) -> PersonId {
        PersonId::new(uuid::Uuid::from_u128(n))
    }

    fn people(numbers: &[u128]) -> BTreeSet<PersonId> {
        numbers.iter().map(|n| p(*n)).collect()
    }

    fn sizes(group: &Forming) -> Vec<usize> {
        group.units.iter().map(Vec::len).collect()
    }

    #[test]
    fn people_come_in_pairs_and_one_three() {
        for (count, units) in [(2, vec![2]), (3, vec![3]), (4, vec![2, 2]), (5, vec![2, 3])] {
            let mut draft = Draft::default();
            draft.new_group(&(0..count).map(p).collect(), &BTreeSet::new());
            assert_eq!(sizes(&draft.groups[0]), units, "{count}");
        }
    }

    #[test]
    fn two_groups_swap_a_diver_in_two_moves() {
        let mut draft = Draft::default();
        draft.new_group(&people(&[1, 2]), &BTreeSet::new());
        draft.new_group(&people(&[3, 4]), &BTreeSet::new());
        draft.to("new-C", &people(&[2]));
        draft.to("new-B", &people(&[4]));
        assert_eq!(draft.groups[0].units, [vec![p(1), p(4)]]);
        assert_eq!(draft.groups[1].units, [vec![p(3), p(2)]]);
        assert_eq!(draft.members(), people(&[1, 2, 3, 4]));
    }

    #[test]
    fn letters_are_given_once_and_a_group_of_nobody_goes() {
        let mut draft = Draft::default();
        let taken = BTreeSet::from(["B".to_owned()]);
        draft.new_group(&people(&[1, 2]), &taken);
        assert_eq!(draft.groups[0].letter, "C");
        draft.out(&people(&[1, 2]));
        assert!(draft.groups.is_empty());
    }

    #[test]
    fn a_pair_is_made_within_one_group_only() {
        let mut draft = Draft::default();
        draft.new_group(&people(&[1, 2, 3, 4]), &BTreeSet::new());
        draft.new_group(&people(&[5, 6]), &BTreeSet::new());
        assert!(draft.unit(&people(&[1, 3])));
        assert!(draft.groups[0].units.contains(&vec![p(1), p(3)]));
        assert!(!draft.unit(&people(&[1, 5])));
        assert!(!draft.unit(&people(&[1])));
    }
}
