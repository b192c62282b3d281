//! The desk's forms: the trip, its roster, its dives, its groups.

use std::collections::BTreeSet;

use super::{Decided, Draft, Refusal, Refused, group, open, person, said};
use crate::dive::findings::{Finding, Severity};
use crate::trip::dives;
use crate::trip::event::{
    About, Activity, DivePlanned, Fact, Fitness, GroupFormed, GroupId, GroupStoodDown, PersonCard,
    PersonChanged, PersonId, PersonJoined, PersonNotComing, TripOpened,
};
use crate::trip::state::{Group, Person, Phase, State};

/// Most people on one roster.
pub const MOST_PEOPLE: usize = 200;
/// Letters of group markers: no A (flag A), no I, O, Q.
pub const LETTERS: &str = "BCDEFGHJKLMNPRSTUVWXYZ";

/// A new trip.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenTrip {
    /// How it is opened.
    pub opened: TripOpened,
}

/// Opens a trip.
///
/// # Errors
/// If the trip is open already, or harbour or skipper have no name.
pub fn open_trip(state: &State, command: OpenTrip) -> Decided {
    if state.opened.is_some() {
        return Err(Refusal::new("", "refused-trip-exists").into());
    }
    said("harbour", &command.opened.harbour)?;
    said("skipper", &command.opened.skipper)?;
    Ok(vec![Draft::now(
        About::nobody(),
        Fact::TripOpened(command.opened),
    )])
}

/// Puts a person on the roster. A second person of the same name is refused unless `namesake`
/// says that both are meant.
///
/// # Errors
/// If the boat is full, the person is on the roster, or the name is.
pub fn join(state: &State, id: PersonId, card: PersonCard, namesake: bool) -> Decided {
    open(state)?;
    let mut refused = Refused::default();
    if let Err(empty) = said("name", &card.name) {
        refused.0.extend(empty.0);
    }
    if state.people.get(&id).is_some_and(|p| p.coming) {
        refused.add(Refusal::new("person", "refused-on-roster").with("name", &card.name));
    }
    let capacity = state.opened.as_ref().map_or(0, |o| o.boat.capacity) as usize;
    let coming = state.coming().filter(|p| p.id != id).count();
    if coming + 1 > capacity.min(MOST_PEOPLE) {
        refused.add(Refusal::new("person", "refused-full").with("capacity", capacity));
    }
    let folded = folded(&card.name);
    if !namesake
        && state
            .coming()
            .any(|p| p.id != id && self::folded(&p.card.name) == folded)
    {
        refused.add(Refusal::new("name", "refused-same-name").with("name", &card.name));
    }
    let fact = Fact::PersonJoined(PersonJoined { card });
    refused.or(vec![Draft::now(About::person(id), fact)])
}

/// Puts many people on the roster in one go: all, or nobody. `namesake`, beside each: a second
/// person of that name is meant.
///
/// # Errors
/// Every reason why not, its row the place in the list from 0.
pub fn join_all(state: &State, people: &[(PersonId, PersonCard, bool)]) -> Decided {
    open(state)?;
    let mut trial = state.clone();
    let mut refused = Refused::default();
    let mut drafts = Vec::new();
    for (nth, (id, card, namesake)) in people.iter().enumerate() {
        match join(&trial, *id, card.clone(), *namesake) {
            Ok(joined) => drafts.extend(joined),
            Err(why) => refused
                .0
                .extend(why.0.into_iter().map(|one| one.in_row(nth))),
        }
        // The next is held against those before it, whether they were refused or not.
        trial.people.insert(*id, Person::coming(*id, card.clone()));
    }
    refused.or(drafts)
}

/// Names are the same whatever their case and spacing.
pub(super) fn folded(name: &str) -> String {
    name.split_whitespace()
        .map(str::to_lowercase)
        .collect::<Vec<_>>()
        .join(" ")
}

/// Changes what is known of a person.
///
/// # Errors
/// If the person is not on the roster or the name is empty.
pub fn change_person(state: &State, id: PersonId, card: PersonCard) -> Decided {
    open(state)?;
    person(state, "person", id)?;
    said("name", &card.name)?;
    Ok(vec![Draft::now(
        About::person(id),
        Fact::PersonChanged(PersonChanged { card }),
    )])
}

/// A person stays ashore.
///
/// # Errors
/// If the person is not ashore, or no reason is given.
pub fn not_coming(state: &State, id: PersonId, reason: &str) -> Decided {
    open(state)?;
    let who = person(state, "person", id)?;
    if !who.place.is_accounted() || (state.phase != Phase::AtQuay && who.coming) {
        return Err(Refusal::new("person", "refused-not-ashore")
            .with("name", who.name())
            .into());
    }
    let reason = said("reason", reason)?;
    Ok(vec![Draft::now(
        About::person(id),
        Fact::PersonNotComing(PersonNotComing { reason }),
    )])
}

/// Plans a dive on a site.
///
/// # Errors
/// If a group of this dive is in the water already, or the number leaves a gap.
pub fn plan_dive(state: &State, dive: u32, planned: DivePlanned) -> Decided {
    open(state)?;
    let last = state.dives.keys().last().copied().unwrap_or(0);
    if dive == 0 || dive > last + 1 || dive > 20 {
        return Err(Refusal::new("dive", "refused-dive-number")
            .with("next", last + 1)
            .into());
    }
    if state
        .groups
        .values()
        .any(|g| g.dive == dive && g.drop.is_some())
    {
        return Err(Refusal::new("dive", "refused-dive-begun").into());
    }
    Ok(vec![Draft::now(
        About::nobody().on_dive(dive),
        Fact::DivePlanned(planned),
    )])
}

/// A group, formed or formed anew.
#[derive(Debug, Clone, PartialEq)]
pub struct FormGroup {
    /// Its identity.
    pub id: GroupId,
    /// The dive.
    pub dive: u32,
    /// How it is formed.
    pub formed: GroupFormed,
}

/// Forms a group.
///
/// # Errors
/// Every reason why not: letter, units, people of another group, levels, fitness, depth.
pub fn form_group(state: &State, command: FormGroup) -> Decided {
    open(state)?;
    let FormGroup {
        id,
        dive,
        mut formed,
    } = command;
    let mut refused = Refused::default();
    if !state.dives.contains_key(&dive) {
        refused.add(Refusal::new("dive", "refused-no-dive"));
    }
    if state
        .groups
        .get(&id)
        .is_some_and(|g| g.drop.is_some() || g.dive != dive)
    {
        refused.add(Refusal::new("group", "refused-group-in-water"));
    }
    let letter = formed.letter.as_str();
    if letter.chars().count() != 1 || !LETTERS.contains(letter) {
        refused.add(Refusal::new("letter", "refused-letter").with("letters", LETTERS));
    }
    if state
        .groups_of(dive)
        .iter()
        .any(|g| g.id != id && g.formed.letter == letter)
    {
        refused.add(Refusal::new("letter", "refused-letter-taken").with("letter", letter));
    }
    check_units(state, id, dive, &formed, &mut refused);
    // A plan that breaks a limit is kept, and marked wherever it is shown; it is not let into
    // the water before somebody releases it by name.
    match dives::answer(state, dive, &formed, dives::Entry::Planned) {
        Ok(answer) => formed.plan.run_time_min = answer.profile.run_time_min(),
        Err(faults) => refused.add(Refusal::unsound_plan("plan", &faults)),
    }
    let about = About::nobody().in_group(id, dive);
    refused.or(vec![Draft::now(about, Fact::GroupFormed(formed))])
}

/// Forms several groups anew in one act, and stands others down: a diver who changes from one
/// to the other is never in both, nor in neither.
///
/// # Errors
/// Every reason why not, each with the `letter` of its group.
pub fn form_groups(
    state: &State,
    commands: Vec<FormGroup>,
    emptied: &[GroupId],
    reason: &str,
) -> Decided {
    open(state)?;
    let mut trial = state.clone();
    let mut refused = Refused::default();
    let mut drafts = Vec::new();
    for id in emptied {
        match stand_down(state, *id, reason) {
            Ok(down) => drafts.extend(down),
            Err(why) => refused.0.extend(why.0),
        }
        trial.groups.remove(id);
    }
    for command in &commands {
        let planned = command.formed.units.iter().flatten().copied().collect();
        let formed = command.formed.clone();
        trial
            .groups
            .entry(command.id)
            .and_modify(|group| {
                group.planned.clone_from(&planned);
                group.formed.clone_from(&formed);
                group.stood_down = None;
            })
            .or_insert_with(|| Group::planned(command.id, command.dive, formed, planned));
    }
    for command in commands {
        let letter = command.formed.letter.clone();
        match form_group(&trial, command) {
            Ok(formed) => drafts.extend(formed),
            Err(why) => refused
                .0
                .extend(why.0.into_iter().map(|one| one.in_group(&letter))),
        }
    }
    refused.or(drafts)
}

fn check_units(state: &State, id: GroupId, dive: u32, formed: &GroupFormed, refused: &mut Refused) {
    let reserve = dives::settings(state).reserve();
    let members: Vec<PersonId> = formed.units.iter().flatten().copied().collect();
    let once: BTreeSet<PersonId> = members.iter().copied().collect();
    if members.is_empty() {
        refused.add(Refusal::new("members", "refused-nobody"));
    }
    if once.len() != members.len() {
        refused.add(Refusal::new("members", "refused-twice-in-group"));
    }
    if formed
        .units
        .iter()
        .any(|unit| !(2..=3).contains(&unit.len()))
    {
        refused.add(Refusal::new("units", "refused-pairs-or-threes"));
    }
    if formed.leader.is_some_and(|leader| !once.contains(&leader)) {
        refused.add(Refusal::new("leader", "refused-leader"));
    }
    for member in &once {
        let Some(who) = state.people.get(member) else {
            refused.add(Refusal::new("members", "refused-not-on-roster"));
            continue;
        };
        let name = who.name();
        if !who.coming {
            refused.add(Refusal::new("members", "refused-not-coming").with("name", name));
        }
        if !matches!(who.card.activity, Activity::Diver | Activity::Crew) {
            refused.add(Refusal::new("members", "refused-does-not-dive").with("name", name));
        }
        let other = state
            .groups_of(dive)
            .into_iter()
            .find(|g| g.id != id && g.members().contains(member));
        if let Some(other) = other {
            let refusal = Refusal::new("members", "refused-in-another-group");
            refused.add(
                refusal
                    .with("name", name)
                    .with("letter", &other.formed.letter),
            );
        }
        match formed.kit.get(member) {
            None => refused.add(Refusal::new("kit", "refused-no-gas").with("name", name)),
            Some(kit) if kit.start_bar < reserve => refused.add(
                Refusal::new("kit", "refused-below-reserve")
                    .with("name", name)
                    .with("bar", kit.start_bar.bar())
                    .with("reserve", reserve.bar()),
            ),
            Some(_) => {}
        }
    }
}

/// Whether somebody released a plan by name.
pub(super) fn is_released(formed: &GroupFormed) -> bool {
    let by_name = formed.limit_override.as_ref();
    by_name.is_some_and(|why| !why.trim().is_empty())
}

/// What a named release takes on: who is restricted, whose limit of certification is passed or
/// not known, and what stands against the gas, the stops or the oxygen of somebody.
#[must_use]
pub fn beyond_limits(
    state: &State,
    dive: u32,
    formed: &GroupFormed,
    entry: dives::Entry,
) -> Vec<Refusal> {
    let answer = match dives::answer(state, dive, formed, entry) {
        Ok(answer) => answer,
        Err(faults) => return vec![Refusal::unsound_plan("plan", &faults)],
    };
    let deepest_m = answer.profile.greatest_depth_m();
    let of_member = |member: &dives::Member| -> Vec<Refusal> {
        let who = state.people.get(&member.id);
        let name = state.name_of(member.id);
        let restricted = who.is_some_and(|who| who.card.fitness == Fitness::Restricted);
        let restricted = restricted.then(|| Refusal::new("members", "refused-restricted"));
        let limits = member
            .findings
            .iter()
            .filter(|finding| finding.severity() == Severity::Limit)
            .map(|finding| {
                if let Finding::NoCertifiedDepth = finding {
                    Refusal::new("depth", "refused-no-depth-limit")
                } else if let Finding::DeeperThanCertified { limit_m } = finding {
                    Refusal::new("depth", "refused-too-deep")
                        .with("limit", limit_m)
                        .with("depth", deepest_m)
                } else {
                    Refusal {
                        finding: Some(*finding),
                        ..Refusal::new("plan", "refused-breaks-limit")
                    }
                }
            });
        restricted
            .into_iter()
            .chain(limits)
            .map(|refusal| refusal.with("name", name))
            .collect()
    };
    answer.members.iter().flat_map(of_member).collect()
}

/// A group does not dive.
///
/// # Errors
/// If it is in the water, or no reason is given.
pub fn stand_down(state: &State, id: GroupId, reason: &str) -> Decided {
    open(state)?;
    let group = group(state, id)?;
    if group.drop.is_some() {
        return Err(Refusal::new("group", "refused-group-in-water").into());
    }
    let reason = said("reason", reason)?;
    let about = About::nobody().in_group(id, group.dive);
    Ok(vec![Draft::now(
        about,
        Fact::GroupStoodDown(GroupStoodDown { reason }),
    )])
}
