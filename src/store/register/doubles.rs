//! Entries of the register that may be the same person. Only a likelihood: whoever knows them
//! decides, and nothing is ever merged by itself.

use std::collections::{BTreeMap, BTreeSet};

use super::people::{Person, fold_name};
use crate::trip::PersonId;

/// Why two entries look alike, the likeliest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Alike {
    /// One name, as folded.
    Name,
    /// The same words of a name in another order.
    Order,
    /// Born on one day, with a name alike.
    Born,
    /// All words of one name, two or more, stand in the other.
    Part,
    /// Names a slip or two apart.
    Slip,
}

/// Two entries that may be one person.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Double {
    /// One.
    pub one: PersonId,
    /// The other.
    pub other: PersonId,
    /// Why.
    pub why: Alike,
    /// Whether days of birth are known of both and differ.
    pub born_apart: bool,
}

/// Largest group of entries that share a word or a day of birth and are held against one another.
/// What a hundred people have in common says little.
const MOST_IN_COMMON: usize = 100;

struct Read {
    folded: String,
    words: Vec<String>,
}

/// Pairs that look alike, the likeliest first. `apart`: those of whom somebody said that they are
/// two. Names alike with days of birth apart are left out, unless it is the very same name.
#[must_use]
pub fn doubles(people: &[Person], apart: &[(PersonId, PersonId)]) -> Vec<Double> {
    let read: Vec<Read> = people
        .iter()
        .map(|person| {
            let folded = fold_name(&person.name);
            let mut words: Vec<String> = folded
                .split(|c: char| !c.is_alphanumeric())
                .filter(|word| !word.is_empty())
                .map(str::to_owned)
                .collect();
            words.sort_unstable();
            Read { folded, words }
        })
        .collect();
    let mut sharing: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for (nth, (person, read)) in people.iter().zip(&read).enumerate() {
        let mut keys: BTreeSet<String> = read.words.iter().cloned().collect();
        keys.insert(format!("all {}", read.folded));
        keys.extend(person.born.map(|born| format!("born {born}")));
        for key in keys {
            sharing.entry(key).or_default().push(nth);
        }
    }
    let mut seen = BTreeSet::new();
    let mut found = Vec::new();
    for group in sharing
        .values()
        .filter(|group| group.len() <= MOST_IN_COMMON)
    {
        for (at, a) in group.iter().enumerate() {
            for b in group.iter().skip(at + 1) {
                if !seen.insert((*a, *b)) {
                    continue;
                }
                let (Some(one), Some(other)) = (people.get(*a), people.get(*b)) else {
                    continue;
                };
                let (Some(first), Some(second)) = (read.get(*a), read.get(*b)) else {
                    continue;
                };
                let is_apart = |pair: &(PersonId, PersonId)| {
                    *pair == (one.id, other.id) || *pair == (other.id, one.id)
                };
                if apart.iter().any(is_apart) {
                    continue;
                }
                let born = one.born.zip(other.born).map(|(a, b)| a == b);
                if let Some(why) = alike(first, second, born) {
                    found.push(Double {
                        one: one.id,
                        other: other.id,
                        why,
                        born_apart: born == Some(false),
                    });
                }
            }
        }
    }
    found.sort_by_key(|double| (double.born_apart, double.why, double.one, double.other));
    found
}

fn alike(a: &Read, b: &Read, born: Option<bool>) -> Option<Alike> {
    if a.folded == b.folded {
        return Some(Alike::Name);
    }
    if a.words == b.words && !a.words.is_empty() {
        return Some(Alike::Order);
    }
    if born == Some(false) {
        return None;
    }
    let shorter = a.folded.chars().count().min(b.folded.chars().count());
    let apart = slips(&a.folded, &b.folded);
    let common = a.words.iter().filter(|word| b.words.contains(word)).count();
    if born == Some(true) && (common > 0 || apart * 3 <= shorter) {
        return Some(Alike::Born);
    }
    let fewer = a.words.len().min(b.words.len());
    if fewer >= 2 && common >= fewer {
        return Some(Alike::Part);
    }
    // In a short name one letter is another name: Bo, Bob.
    let allowed = match shorter {
        0..6 => 0,
        6..12 => 1,
        _ => 2,
    };
    (apart <= allowed).then_some(Alike::Slip)
}

/// Letters put in, left out, mistaken or swapped with the next between two names.
///
/// # Source
/// Damerau 1964 and Levenshtein 1966, as the optimal string alignment distance.
fn slips(a: &str, b: &str) -> usize {
    let a: Vec<char> = a.chars().collect();
    let b: Vec<char> = b.chars().collect();
    let mut before: Vec<usize> = Vec::new();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.iter().enumerate() {
        let mut next = vec![i + 1];
        for (j, y) in b.iter().enumerate() {
            let at = |row: &[usize], nth: usize| row.get(nth).copied().unwrap_or(usize::MAX / 2);
            let mut least = (at(&row, j) + usize::from(x != y))
                .min(at(&row, j + 1) + 1)
                .min(at(&next, j) + 1);
            if i > 0 && j > 0 && a.get(i - 1) == Some(y) && b.get(j - 1) == Some(x) {
                least = least.min(at(&before, j - 1) + 1);
            }
            next.push(least);
        }
        before = std::mem::replace(&mut row, next);
    }
    row.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use uuid::Uuid;

    use super::*;
    use crate::trip::event::Fitness;

    fn person(n: u128, name: &str, born: Option<jiff::civil::Date>) -> Person {
        Person {
            id: PersonId::new(Uuid::from_u128(n)),
            name: name.to_owned(),
            level: String::new(),
            depth_limit: None,
            last_dive: None,
            fitness: Fitness::Cleared,
            breathing: None,
            born,
            archived: false,
        }
    }

    fn why(a: &str, b: &str) -> Option<Alike> {
        let people = [person(1, a, None), person(2, b, None)];
        doubles(&people, &[]).first().map(|double| double.why)
    }

    /// The first pairs are worked examples of the definitions; CA and ABC is the pair by which
    /// the alignment distance (3) is told from the unrestricted one (2).
    #[test]
    fn slips_are_counted_as_defined() {
        for (a, b, n) in [
            ("kitten", "sitting", 3),
            ("saturday", "sunday", 3),
            ("ca", "abc", 3),
            ("noor", "noro", 1),
            ("", "abc", 3),
            ("same", "same", 0),
        ] {
            assert_eq!(slips(a, b), n, "{a} {b}");
            assert_eq!(slips(b, a), n, "{b} {a}");
        }
    }

    #[test]
    fn names_alike_are_found_and_others_are_not() {
        for (a, b, found) in [
            ("José García", "JOSE  GARCIA", Some(Alike::Name)),
            ("Garcia, Jose", "José García", Some(Alike::Order)),
            ("José García Moor", "Jose Garcia", Some(Alike::Part)),
            ("Noor Adan", "Noro Adan", Some(Alike::Slip)),
            ("Юлия Ёлкина", "Юлия Елкина", Some(Alike::Name)),
            ("Noor Adan", "Pavel Adan", None),
            ("Bo Li", "Bo Lu", None),
            ("Ada", "Ada Moor", None),
        ] {
            assert_eq!(why(a, b), found, "{a} / {b}");
            assert_eq!(why(b, a), found, "{b} / {a}");
        }
    }

    #[test]
    fn a_day_of_birth_speaks_for_or_against() {
        let (day, other) = (date(2011, 4, 2), date(1980, 4, 2));
        let alike = |a: &str, b: &str, born| {
            let people = [person(1, a, Some(day)), person(2, b, Some(born))];
            let found = doubles(&people, &[]);
            found.first().map(|double| (double.why, double.born_apart))
        };
        assert_eq!(
            alike("Liv Aas", "Lif Ås", day),
            Some((Alike::Born, false)),
            "too far for a slip, but born on one day"
        );
        assert_eq!(
            alike("Liv Aas", "Live Aasen", day),
            None,
            "more than a third"
        );
        assert_eq!(alike("Noor Adan", "Pavel Strand", day), None);
        assert_eq!(alike("Noor Adan", "Noro Adan", other), None);
        assert_eq!(
            alike("Noor Adan", "Noor Adan", other),
            Some((Alike::Name, true)),
            "parent and child, or a slip in the day: told as what it is"
        );
    }

    #[test]
    fn who_was_said_to_be_two_is_left_out() {
        let people = [person(1, "Noor Adan", None), person(2, "Noor Adan", None)];
        let apart = [(people[1].id, people[0].id)];
        assert!(doubles(&people, &apart).is_empty());
        assert_eq!(doubles(&people, &[]).len(), 1);
    }
}
