//! The suggestion of groups on the groups page: who is asked for, what they wish, and the answer as
//! a draft with its reasons.

use std::collections::BTreeSet;

use crate::trip::event::{Activity, PersonId};
use crate::trip::suggest::{
    Because, Candidate, LeftOut, PER_LEADER, Suggested, Suggestion, Unmet, suggest,
};
use crate::units::bounds;
use crate::web::form::Fields;
use crate::web::parts::Choice;

use super::Here;
use super::draft::{Draft, Forming, divers};
use super::form::Shown as Form;

/// Most divers to one leader that can be asked for.
const MOST_PER_LEADER: u32 = 12;

/// What the page shows of it.
pub(super) struct Shown {
    /// Divers to one leader.
    pub ratio: String,
    /// Who can have a wish.
    pub wishers: Vec<Wisher>,
    /// The suggestion just made.
    pub told: Vec<Told>,
    /// Leaders of suggested groups, as the form carries them.
    pub leads: Vec<String>,
}

/// Somebody who can have a wish.
pub(super) struct Wisher {
    pub id: String,
    pub name: String,
    pub label: String,
    pub wish_id: String,
    pub minor: bool,
    pub choices: Vec<Choice>,
}

/// A suggested group in words, or what is left.
pub(super) struct Told {
    pub title: String,
    pub because: Vec<String>,
    pub unmet: Vec<String>,
}

/// The part of the page. `free`: who is in no group.
pub(super) fn shown(here: &Here, free: &[PersonId], f: &Form, told: Vec<Told>) -> Shown {
    let state = here.state();
    let mut names: Vec<(String, PersonId)> = free
        .iter()
        .map(|id| (state.name_of(*id).to_owned(), *id))
        .collect();
    names.sort();
    let wisher = |(name, id): &(String, PersonId)| {
        let wish_id = format!("wish-{id}");
        let others = names.iter().filter(|(_, other)| other != id);
        let none = (String::new(), here.t.say("suggest-wish-none"));
        let list: Vec<(String, String)> = std::iter::once(none)
            .chain(others.map(|(name, id)| (id.to_string(), name.clone())))
            .collect();
        Wisher {
            label: here.t.say_with("suggest-wish", &[("name", name.into())]),
            minor: f.is("minor", &id.to_string()),
            choices: f.choose(&wish_id, &list),
            id: id.to_string(),
            name: name.clone(),
            wish_id,
        }
    };
    let ratio = f.v("ratio");
    Shown {
        ratio: if ratio.is_empty() {
            PER_LEADER.to_string()
        } else {
            ratio.to_owned()
        },
        wishers: names.iter().map(wisher).collect(),
        told,
        leads: f.all("lead"),
    }
}

/// Who leads a new group: as the form carries it, if still one of its members.
pub(super) fn leader(fields: &Fields, forming: &Forming) -> Option<PersonId> {
    let key = format!("{}/", forming.key());
    let mut named = fields
        .all("lead")
        .filter_map(|lead| lead.strip_prefix(&*key)?.parse().ok());
    named.find(|leader| forming.units.iter().flatten().any(|one| one == leader))
}

/// Puts the suggestion into the draft, and says why; none where the form has faults.
pub(super) fn suggested(
    here: &Here,
    draft: &mut Draft,
    dive: u32,
    ticked: &BTreeSet<PersonId>,
    fields: &Fields,
) -> Option<(Vec<Told>, Vec<String>)> {
    let state = here.state();
    let ratio = if fields.typed("ratio").is_empty() {
        Some(PER_LEADER)
    } else {
        let most = fields.whole("ratio", MOST_PER_LEADER);
        let ratio = most.and_then(|n| usize::try_from(n).ok());
        if ratio == Some(0) {
            fields.fault("ratio", "fault-capacity", &[]);
        }
        ratio.filter(|n| *n > 0)
    };
    let depth_m = fields.optional_number("to_depth", &bounds::DEPTH_M);
    let minors: BTreeSet<PersonId> = fields.parsed_all("minor")?;
    let held = draft.members();
    let is_asked = |id: &PersonId| {
        let dives = |activity| {
            state
                .people
                .get(id)
                .is_some_and(|p| p.card.activity == activity)
        };
        !held.contains(id)
            && if ticked.is_empty() {
                dives(Activity::Diver)
            } else {
                ticked.contains(id)
            }
    };
    let mut people = Vec::new();
    for person in divers(state, dive).iter().filter(|id| is_asked(id)) {
        let Some(person) = state.people.get(person) else {
            continue;
        };
        let wish = format!("wish-{}", person.id);
        let mut candidate = Candidate::of(person);
        candidate.minor = minors.contains(&person.id);
        if !fields.typed(&wish).is_empty() {
            candidate.wishes.extend(fields.parsed::<PersonId>(&wish));
        }
        people.push(candidate);
    }
    if people.is_empty() {
        fields.fault("move", "fault-suggest-nobody", &[]);
    }
    let (ratio, depth_m) = (ratio?, depth_m?);
    if !fields.is_sound() {
        return None;
    }
    let suggestion = suggest(&people, ratio, depth_m);
    let taken = state
        .groups_of(dive)
        .into_iter()
        .map(|group| group.formed.letter.clone())
        .collect();
    let mut told = Vec::new();
    let mut leads = Vec::new();
    for group in &suggestion.groups {
        let Some(key) = draft.take(group.units.clone(), &taken) else {
            fields.fault("move", "fault-no-letter", &[]);
            return None;
        };
        leads.extend(group.leader.map(|leader| format!("{key}/{leader}")));
        let letter = key.strip_prefix("new-").unwrap_or(&key);
        told.push(words(here, letter, group));
    }
    draft.groups.sort_by(|a, b| a.letter.cmp(&b.letter));
    told.extend(rest(here, &suggestion));
    Some((told, leads))
}

fn words(here: &Here, letter: &str, group: &Suggested) -> Told {
    let t = here.t;
    let name = |id: &PersonId| ("name", here.state().name_of(*id).into());
    let with = |id: &PersonId| ("with", here.state().name_of(*id).into());
    let because = group.because.iter().map(|why| match why {
        Because::LedBy(who) => t.say_with("suggest-led", &[name(who)]),
        Because::Autonomous => t.say("suggest-autonomous"),
        Because::Wished(who, other) => t.say_with("suggest-wished", &[name(who), with(other)]),
        Because::MinorWith(who, other) => {
            t.say_with("suggest-minor-with", &[name(who), with(other)])
        }
        Because::Weakest(who, limit) => {
            t.say_with("suggest-weakest", &[name(who), ("limit", (*limit).into())])
        }
    });
    let unmet = group.unmet.iter().map(|why| match why {
        Unmet::NoLeader(who) => t.say_with("suggest-no-leader", &[name(who)]),
        Unmet::OverRatio { led } => t.say_with("suggest-over", &[("n", (*led).into())]),
        Unmet::TooDeep { who, limit_m } => t.say_with(
            "suggest-too-deep",
            &[name(who), ("limit", (*limit_m).into())],
        ),
        Unmet::NoLimit(who) => t.say_with("suggest-no-limit", &[name(who)]),
        Unmet::MinorWithoutAdult(who) => t.say_with("suggest-minor-alone", &[name(who)]),
    });
    Told {
        title: t.say_with("told-group", &[("letter", letter.into())]),
        because: because.collect(),
        unmet: unmet.collect(),
    }
}

fn rest(here: &Here, suggestion: &Suggestion) -> Vec<Told> {
    let t = here.t;
    let name = |id: PersonId| here.state().name_of(id).to_owned();
    let left = suggestion.left_out.iter().map(|(who, why)| {
        let key = match why {
            LeftOut::Restricted => "suggest-restricted",
            LeftOut::Alone => "suggest-alone",
        };
        t.say_with(key, &[("name", name(*who).into())])
    });
    let wishes = suggestion.wishes_unmet.iter().map(|(who, with)| {
        let args = [("name", name(*who).into()), ("with", name(*with).into())];
        t.say_with("suggest-wish-unmet", &args)
    });
    [
        ("suggest-left-out", left.collect::<Vec<_>>()),
        ("suggest-wishes", wishes.collect()),
    ]
    .into_iter()
    .filter(|(_, unmet)| !unmet.is_empty())
    .map(|(key, unmet)| Told {
        title: t.say(key),
        because: Vec::new(),
        unmet,
    })
    .collect()
}
