//! Groups suggested: by examples, by a table of levels, and by what must hold of every suggestion.

use std::collections::{BTreeMap, BTreeSet};

use deckwatch::trip::PersonId;
use deckwatch::trip::suggest::{
    Because, Candidate, Grade, LeftOut, PER_LEADER, Suggestion, Unmet, suggest,
};
use proptest::prelude::*;

use super::scene::who;

fn diver(n: u128, name: &str, grade: Grade, limit_m: f64) -> Candidate {
    Candidate {
        id: who(n),
        name: name.to_owned(),
        grade,
        limit_m: Some(limit_m),
        restricted: false,
        minor: false,
        wishes: BTreeSet::new(),
    }
}

fn supervised(n: u128) -> Candidate {
    diver(n, &format!("S{n}"), Grade::Supervised, 12.0)
}

fn autonomous(n: u128) -> Candidate {
    diver(n, &format!("A{n}"), Grade::Autonomous, 20.0)
}

fn leader(n: u128) -> Candidate {
    diver(n, &format!("L{n}"), Grade::Leader, 30.0)
}

fn with(mut one: Candidate, wishes: &[u128]) -> Candidate {
    one.wishes = wishes.iter().map(|n| who(*n)).collect();
    one
}

fn minor(mut one: Candidate) -> Candidate {
    one.minor = true;
    one
}

fn set(of: &[u128]) -> BTreeSet<PersonId> {
    of.iter().map(|n| who(*n)).collect()
}

fn units(made: &Suggestion) -> Vec<Vec<BTreeSet<PersonId>>> {
    let sets = |units: &Vec<Vec<PersonId>>| {
        units
            .iter()
            .map(|unit| unit.iter().copied().collect())
            .collect()
    };
    made.groups.iter().map(|group| sets(&group.units)).collect()
}

/// Words of ISO 24801 (parts 1 to 3) and ISO 24802; what they do not name is not guessed.
#[test]
fn levels_are_read_in_the_words_of_the_standard() {
    for (level, grade) in [
        ("Supervised diver", Grade::Supervised),
        ("autonomous diver", Grade::Autonomous),
        ("DIVE LEADER", Grade::Leader),
        ("Instructor, level 2", Grade::Leader),
        ("", Grade::Unknown),
        ("many dives", Grade::Unknown),
        // Of two words the more careful one counts.
        ("supervised, to become autonomous", Grade::Supervised),
    ] {
        assert_eq!(Grade::of(level), grade, "{level}");
    }
}

#[test]
fn autonomous_divers_pair_by_limits_and_three_make_a_three() {
    let mut people: Vec<Candidate> = (1..=5).map(autonomous).collect();
    people[0].limit_m = Some(40.0);
    people[4].limit_m = Some(40.0);
    let made = suggest(&people, PER_LEADER, Some(18.0));
    assert_eq!(units(&made), [vec![set(&[1, 5])], vec![set(&[2, 3, 4])]]);
    assert!(made.groups.iter().all(|g| g.unmet.is_empty()));
    assert!(
        made.groups[0]
            .because
            .contains(&Because::Weakest(who(1), 40.0))
    );
}

#[test]
fn who_needs_a_leader_gets_one_up_to_the_ratio() {
    let people: Vec<Candidate> = (1..=6).map(supervised).chain([leader(10)]).collect();
    let made = suggest(&people, 4, None);
    assert_eq!(made.groups[0].leader, Some(who(10)));
    assert_eq!(made.groups[0].units.iter().flatten().count(), 5);
    assert!(made.groups[0].unmet.is_empty());
    // The two that are left have none, and that is said of each.
    assert_eq!(made.groups[1].leader, None);
    assert_eq!(
        made.groups[1].unmet,
        [Unmet::NoLeader(who(5)), Unmet::NoLeader(who(6))]
    );
    // A leader whom nobody needs dives in a pair.
    let made = suggest(&[autonomous(1), leader(2)], 4, None);
    assert_eq!(units(&made), [vec![set(&[1, 2])]]);
    assert_eq!(made.groups[0].because[0], Because::Autonomous);
}

#[test]
fn wishes_are_met_or_named() {
    let people = [
        with(autonomous(1), &[4]),
        autonomous(2),
        autonomous(3),
        with(autonomous(4), &[1]),
        with(autonomous(5), &[9]),
        autonomous(6),
    ];
    let made = suggest(&people, PER_LEADER, None);
    assert!(units(&made).contains(&vec![set(&[1, 4])]), "{made:?}");
    assert_eq!(made.wishes_unmet, [(who(5), who(9))]);
    // Four who wish for one another in a row make no team of four.
    let row = [
        with(autonomous(1), &[2]),
        with(autonomous(2), &[3]),
        with(autonomous(3), &[4]),
        autonomous(4),
    ];
    let made = suggest(&row, PER_LEADER, None);
    assert!(units(&made).iter().flatten().all(|unit| unit.len() <= 3));
    assert!(!made.wishes_unmet.is_empty());
}

#[test]
fn a_minor_dives_with_an_adult_or_it_is_said() {
    let people = [
        minor(supervised(1)),
        autonomous(2),
        autonomous(3),
        leader(4),
    ];
    let made = suggest(&people, PER_LEADER, None);
    let of_minor = units(&made)
        .into_iter()
        .flatten()
        .find(|u| u.contains(&who(1)));
    assert!(of_minor.unwrap().len() >= 2);
    let told: Vec<_> = made.groups.iter().flat_map(|g| &g.because).collect();
    assert!(
        told.iter()
            .any(|b| matches!(b, Because::MinorWith(id, _) if *id == who(1)))
    );
    let alone = suggest(
        &[minor(autonomous(1)), minor(autonomous(2))],
        PER_LEADER,
        None,
    );
    let unmet = &alone.groups[0].unmet;
    assert!(
        unmet.contains(&Unmet::MinorWithoutAdult(who(1))),
        "{unmet:?}"
    );
    assert!(unmet.contains(&Unmet::NoLeader(who(2))), "{unmet:?}");
}

#[test]
fn limits_and_restrictions_are_named() {
    let mut unknown = autonomous(2);
    unknown.limit_m = None;
    let mut held = autonomous(3);
    held.restricted = true;
    let made = suggest(&[autonomous(1), unknown, held], PER_LEADER, Some(25.0));
    assert_eq!(made.left_out, [(who(3), LeftOut::Restricted)]);
    let too_deep = Unmet::TooDeep {
        who: who(1),
        limit_m: 20.0,
    };
    assert!(made.groups[0].unmet.contains(&too_deep));
    assert!(made.groups[0].unmet.contains(&Unmet::NoLimit(who(2))));
    let one = suggest(&[autonomous(1)], PER_LEADER, None);
    assert_eq!(one.left_out, [(who(1), LeftOut::Alone)]);
    assert_eq!(suggest(&[], PER_LEADER, None), Suggestion::default());
}

fn anybody() -> impl Strategy<Value = Candidate> {
    let grades = prop::sample::select(vec![
        Grade::Unknown,
        Grade::Supervised,
        Grade::Autonomous,
        Grade::Leader,
    ]);
    let limits = prop::option::of(prop::sample::select(vec![12.0, 20.0, 30.0, 40.0]));
    let wishes = prop::collection::btree_set((1_u128..16).prop_map(who), 0..3);
    // Some share a name, so that the identity must break the tie.
    let name = 0_u8..6;
    let chances = (prop::bool::weighted(0.1), prop::bool::weighted(0.2));
    (grades, limits, wishes, name, chances).prop_map(
        |(grade, limit_m, wishes, name, (restricted, minor))| Candidate {
            id: who(0),
            name: format!("Guest {name}"),
            grade,
            limit_m,
            restricted,
            minor,
            wishes,
        },
    )
}

proptest! {
    #[test]
    fn everybody_once_and_every_rule_met_or_named(
        mut people in prop::collection::vec(anybody(), 0..15),
        per_leader in 1_usize..6,
        depth in prop::option::of(10.0_f64..45.0),
        seed in any::<prop::sample::Index>(),
    ) {
        for (one, n) in people.iter_mut().zip(1..) {
            one.id = who(n);
        }
        let made = suggest(&people, per_leader, depth);
        let known: BTreeMap<PersonId, &Candidate> = people.iter().map(|p| (p.id, p)).collect();
        // Everybody once.
        let grouped = made.groups.iter().flat_map(|g| g.units.iter().flatten().copied());
        let mut all: Vec<PersonId> =
            grouped.chain(made.left_out.iter().map(|(id, _)| *id)).collect();
        all.sort_unstable();
        prop_assert_eq!(&all, &known.keys().copied().collect::<Vec<_>>());
        for (id, why) in &made.left_out {
            prop_assert_eq!(known[id].restricted, *why == LeftOut::Restricted);
        }
        for group in &made.groups {
            let members: Vec<&Candidate> =
                group.units.iter().flatten().map(|id| known[id]).collect();
            // Pairs or threes (ISO 24803).
            prop_assert!(group.units.iter().all(|unit| (2..=3).contains(&unit.len())));
            // Nobody goes beyond a limit without being named.
            for one in &members {
                match one.limit_m {
                    None => prop_assert!(group.unmet.contains(&Unmet::NoLimit(one.id))),
                    Some(limit_m) => {
                        let named = Unmet::TooDeep { who: one.id, limit_m };
                        let beyond = depth.is_some_and(|d| d > limit_m);
                        prop_assert_eq!(group.unmet.contains(&named), beyond);
                    }
                }
            }
            // Who needs a leader has one within the ratio, or it is said.
            let led = |p: &&&Candidate| p.grade < Grade::Autonomous || p.minor;
            let is_over = |w: &Unmet| matches!(w, Unmet::OverRatio { .. });
            for one in members.iter().filter(led) {
                prop_assert_eq!(
                    group.leader.is_none(),
                    group.unmet.contains(&Unmet::NoLeader(one.id))
                );
            }
            if let Some(leader) = group.leader {
                prop_assert!(known[&leader].grade == Grade::Leader && !known[&leader].minor);
                let over = members.len() - 1 > per_leader && members.iter().any(|p| led(&p));
                prop_assert_eq!(group.unmet.iter().any(is_over), over);
            }
            for unit in &group.units {
                let minors: Vec<_> = unit.iter().filter(|id| known[*id].minor).collect();
                let alone = minors.len() == unit.len();
                for id in minors {
                    let named = group.unmet.contains(&Unmet::MinorWithoutAdult(*id));
                    prop_assert_eq!(named, alone);
                }
            }
        }
        // A wish is met within a pair or three, or named.
        for one in &people {
            for with in one.wishes.iter().filter(|with| **with != one.id) {
                let met = made.groups.iter().flat_map(|g| &g.units)
                    .any(|unit| unit.contains(&one.id) && unit.contains(with));
                prop_assert_eq!(!met, made.wishes_unmet.contains(&(one.id, *with)));
            }
        }
        // The same whatever order they come in, and every time.
        let mut turned = people.clone();
        turned.reverse();
        if !turned.is_empty() {
            let by = seed.index(turned.len());
            turned.rotate_left(by);
        }
        prop_assert_eq!(suggest(&turned, per_leader, depth), made);
    }
}
