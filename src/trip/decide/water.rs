//! The deck's forms: into the water, seen at the surface, aboard, person by person.

use std::collections::BTreeSet;

use jiff::{SignedDuration, Timestamp};

use super::roster::{beyond_limits, is_released};
use super::{Decided, Draft, Refusal, Refused, group, happened, open, person, said};
use crate::sea::position::Position;
use crate::trip::dives::Entry as DiveEntry;
use crate::trip::event::{
    Aboard, About, Activity, AtSurface, Bearing, BuoyColour, BuoySeen, CrewId, DeviceId,
    DropChecked, Entry, Event, EventId, Fact, GroupFormed, GroupId, IncidentNoted, LeftSurface,
    LostContact, MoreTime, Offsets, OthersWell, PersonId, Return, ReturnNoted, Role, Signal,
    StopPlan, Vessel, Voided,
};
use crate::trip::state::{Group, Phase, Place, State, is_own_slip, may_mend, mends, says_danger};
use crate::units::Minutes;

/// Undo takes back one's own tap within a minute.
const UNDO_S: i64 = 60;

/// The checks before a drop.
///
/// # Errors
/// If the engine is not in neutral, no lookout is posted, or lights are not recorded by night.
pub fn check_drop(
    state: &State,
    id: GroupId,
    check: DropChecked,
    night: bool,
    now: Timestamp,
) -> Decided {
    open(state)?;
    let group = on_deck(state, id)?;
    let mut refused = Refused::default();
    if !check.engine_neutral {
        refused.add(Refusal::new("engine_neutral", "refused-engine"));
    }
    if !check.flag_shown {
        refused.add(Refusal::new("flag_shown", "refused-flag"));
    }
    if state.lookout.is_none() {
        refused.add(Refusal::new("lookout", "refused-no-lookout"));
    }
    if night && check.lights != Some(true) {
        refused.add(Refusal::new("lights", "refused-no-lights"));
    }
    refused.0.extend(unreleased(state, group, now));
    let about = About::nobody().in_group(id, group.dive);
    refused.or(vec![Draft::now(about, Fact::DropChecked(check))])
}

/// What keeps a plan that breaks a limit out of the water: nobody has released it by name.
fn unreleased(state: &State, group: &Group, at: Timestamp) -> Vec<Refusal> {
    if is_released(&group.formed) {
        return Vec::new();
    }
    let beyond = beyond_limits(state, group.dive, &group.formed, DiveEntry::At(at));
    if beyond.is_empty() {
        return Vec::new();
    }
    let mut why = vec![Refusal::new("release", "refused-not-released")];
    why.extend(beyond);
    why
}

/// Releases a plan that breaks a limit: who and why stand with the group.
///
/// # Errors
/// If the group cannot go in any more, no limit is broken, or no reason is given.
pub fn release(state: &State, id: GroupId, by: &str, reason: &str, now: Timestamp) -> Decided {
    open(state)?;
    let group = group(state, id)?;
    if group.drop.is_some() {
        return Err(Refusal::new("release", "refused-group-in-water").into());
    }
    let reason = said("release", reason)?;
    if beyond_limits(state, group.dive, &group.formed, DiveEntry::At(now)).is_empty() {
        return Err(Refusal::new("release", "refused-nothing-to-release").into());
    }
    let formed = GroupFormed {
        limit_override: Some(format!("{by}: {reason}")),
        ..group.formed.clone()
    };
    let about = About::nobody().in_group(id, group.dive);
    Ok(vec![Draft::now(about, Fact::GroupFormed(formed))])
}

/// A group that can still go in: on the site of its dive, not in the water.
fn on_deck(state: &State, id: GroupId) -> Result<&Group, Refused> {
    let group = group(state, id)?;
    if group.stood_down.is_some() {
        return Err(Refusal::new("group", "refused-stood-down").into());
    }
    if state.phase != Phase::OnSite || group.dive != state.dive {
        return Err(Refusal::new("group", "refused-not-on-site").into());
    }
    if group.drop.is_some() {
        let letter = &group.formed.letter;
        return Err(Refusal::new("group", "refused-in-water-twice")
            .with("letter", letter)
            .into());
    }
    Ok(group)
}

/// A group leaves the surface.
#[derive(Debug, Clone, PartialEq)]
pub struct DropTap {
    /// Which group.
    pub group: GroupId,
    /// Who went in: each named.
    pub members: BTreeSet<PersonId>,
    /// Deadlines to freeze.
    pub window: Offsets,
    /// Stops that are owed, deepest first.
    pub owes: Vec<StopPlan>,
    /// Where.
    pub place: Option<Position>,
    /// When, if not now.
    pub at: Option<Timestamp>,
    /// It is night.
    pub night: bool,
}

/// A group left the surface.
///
/// # Errors
/// If the checks are missing, a member is not aboard, or one stays alone.
pub fn left_surface(state: &State, tap: DropTap, now: Timestamp) -> Decided {
    open(state)?;
    let group = on_deck(state, tap.group)?;
    let opened_at = state
        .people
        .values()
        .flat_map(|p| &p.statements)
        .map(|s| s.at)
        .min();
    happened(tap.at, now, opened_at)?;
    let mut refused = Refused::default();
    match &group.checked {
        None => refused.add(Refusal::new("group", "refused-not-checked")),
        Some(checked) if tap.night && checked.lights != Some(true) => {
            refused.add(Refusal::new("group", "refused-no-lights"));
        }
        Some(_) => {}
    }
    refused
        .0
        .extend(unreleased(state, group, tap.at.unwrap_or(now)));
    if tap.members.is_empty() {
        refused.add(Refusal::new("members", "refused-nobody"));
    }
    for id in &tap.members {
        match state.people.get(id) {
            Some(who) if !group.planned.contains(id) => {
                refused
                    .add(Refusal::new("members", "refused-not-in-group").with("name", who.name()));
            }
            Some(who) if who.place != Place::Aboard => {
                refused.add(Refusal::new("members", "refused-not-aboard").with("name", who.name()));
            }
            Some(_) => {}
            None => refused.add(Refusal::new("members", "refused-not-on-roster")),
        }
    }
    for unit in &group.formed.units {
        let going: Vec<_> = unit.iter().filter(|p| tap.members.contains(p)).collect();
        if let [alone] = going.as_slice() {
            let name = state.people.get(alone).map_or("", |p| p.name());
            refused.add(Refusal::new("members", "refused-alone").with("name", name));
        }
    }
    let about = About::people(tap.members).in_group(tap.group, group.dive);
    let fact = Fact::LeftSurface(LeftSurface {
        window: tap.window,
        place: tap.place,
        owes: tap.owes,
    });
    refused.or(vec![Draft::now(about, fact).at(tap.at)])
}

/// A group left the surface at another time than was logged, for a reason.
///
/// An earlier time is a second statement, and the earlier counts. A later one would make the
/// group look safer: it is the skipper's, who takes back what was said and states the drop
/// anew in one act, so that nobody is out of the water between.
///
/// # Errors
/// If no reason is given, the time does not fit or is later and the author no skipper, or
/// somebody of the group is up already: then the drop's time is history and stays with a note.
pub fn restate_drop(
    state: &State,
    log: &[Entry],
    tap: DropTap,
    reason: &str,
    role: Role,
    now: Timestamp,
) -> Decided {
    let group = in_water(state, tap.group)?;
    let reason = said("why", reason)?;
    happened(tap.at, now, None)?;
    let up: Vec<_> = state
        .members(group)
        .filter(|p| p.place != Place::InWater)
        .collect();
    if !up.is_empty() {
        return Err(Refusal::new("at", "refused-drop-is-past")
            .with("names", super::names(up))
            .into());
    }
    let dropped_at = group.drop.as_ref().map(|d| d.at);
    let is_later = dropped_at.is_some_and(|held| tap.at.unwrap_or(now) > held);
    if is_later && role != Role::Skipper {
        return Err(Refusal::new("at", "refused-drop-later").into());
    }
    let about = About::people(group.members().clone()).in_group(tap.group, group.dive);
    let drop = Fact::LeftSurface(LeftSurface {
        window: tap.window,
        place: tap.place,
        owes: tap.owes,
    });
    let drop = Draft::now(about, drop).at(tap.at);
    if !is_later {
        let about = About::nobody().in_group(tap.group, group.dive);
        let note = Fact::IncidentNoted(IncidentNoted {
            text: reason,
            record: None,
        });
        return Ok(vec![drop, Draft::now(about, note)]);
    }
    let is_its_drop = |e: &&Entry| {
        matches!(e.event.fact, Fact::LeftSurface(_)) && e.event.about.group == Some(tap.group)
    };
    let mut drafts: Vec<Draft> = log
        .iter()
        .filter(is_its_drop)
        .filter(|e| entry(log, e.event.id).is_ok())
        .map(|e| voiding(e, &reason))
        .collect();
    drafts.push(drop);
    Ok(drafts)
}

/// A buoy is seen. It counts nobody.
///
/// # Errors
/// If the group is not in the water, or the time does not fit.
pub fn buoy(
    state: &State,
    id: GroupId,
    seen: (BuoyColour, Option<Position>, Option<Bearing>),
    at: Option<Timestamp>,
    now: Timestamp,
) -> Decided {
    let group = in_water(state, id)?;
    happened(at, now, group.drop.as_ref().map(|d| d.at))?;
    let (colour, place, from_boat) = seen;
    let about = About::nobody().in_group(id, group.dive);
    Ok(vec![
        Draft::now(
            about,
            Fact::BuoySeen(BuoySeen {
                colour,
                place,
                from_boat,
            }),
        )
        .at(at),
    ])
}

fn in_water(state: &State, id: GroupId) -> Result<&Group, Refused> {
    open(state)?;
    let group = group(state, id)?;
    if group.drop.is_none() {
        let letter = &group.formed.letter;
        return Err(Refusal::new("group", "refused-not-in-water")
            .with("letter", letter)
            .into());
    }
    Ok(group)
}

/// People seen at the surface.
#[derive(Debug, Clone, PartialEq)]
pub struct SurfaceTap {
    /// Who: each named.
    pub persons: BTreeSet<PersonId>,
    /// The signal.
    pub signal: Signal,
    /// Where, if known.
    pub place: Option<Position>,
    /// As taken from the boat.
    pub from_boat: Option<Bearing>,
    /// When, if not now.
    pub at: Option<Timestamp>,
}

/// People are seen at the surface.
///
/// # Errors
/// If one of them never left the surface, is back already, or the time lies before the entry.
pub fn surfaced(state: &State, tap: SurfaceTap, now: Timestamp) -> Decided {
    open(state)?;
    let mut refused = Refused::default();
    if tap.persons.is_empty() {
        refused.add(Refusal::new("persons", "refused-nobody"));
    }
    let mut groups = BTreeSet::new();
    for id in &tap.persons {
        match seen_at_surface(state, *id, &tap, now) {
            Ok(group) => {
                groups.insert(group);
            }
            Err(why) => refused.0.extend(why.0),
        }
    }
    if groups.len() > 1 {
        refused.add(Refusal::new("persons", "refused-two-groups"));
    }
    let mut about = About::people(tap.persons);
    if let Some(Some((group, dive))) = groups.first() {
        about = about.in_group(*group, *dive);
    }
    let seen = AtSurface {
        signal: tap.signal,
        place: tap.place,
        from_boat: tap.from_boat,
    };
    refused.or(vec![Draft::now(about, Fact::AtSurface(seen)).at(tap.at)])
}

/// Somebody seen at the surface. A signal for help is never refused for what the log holds:
/// the person may have been ticked aboard by mistake.
fn seen_at_surface(
    state: &State,
    id: PersonId,
    tap: &SurfaceTap,
    now: Timestamp,
) -> Result<Option<(GroupId, u32)>, Refused> {
    let who = person(state, "persons", id)?;
    if tap.signal == Signal::Help && who.place.is_accounted() {
        happened(tap.at, now, None)?;
        return Ok(who.group.zip(who.dive));
    }
    out_person(state, id, tap.at, now)
}

/// Somebody who is not accounted for, with the group and dive the person is out with.
fn out_person(
    state: &State,
    id: PersonId,
    at: Option<Timestamp>,
    now: Timestamp,
) -> Result<Option<(GroupId, u32)>, Refused> {
    let who = person(state, "persons", id)?;
    if who.place.is_accounted() {
        return Err(Refusal::new("persons", "refused-not-out")
            .with("name", who.name())
            .into());
    }
    let dive = who.dive.unwrap_or(state.dive);
    let entered = who.dives.get(&dive).and_then(|d| d.entered_at);
    happened(at, now, entered)?;
    let group = who.dives.get(&dive).and_then(|d| d.group).or(who.group);
    Ok(group.map(|group| (group, dive)))
}

/// A named diver at the surface says that the others are well.
///
/// # Errors
/// If that diver is not up, or nobody of the group is down.
pub fn others_well(state: &State, id: GroupId, said_by: PersonId) -> Decided {
    let group = word_of(state, id, said_by)?;
    let about = About::nobody().in_group(id, group.dive);
    Ok(vec![Draft::now(
        about,
        Fact::OthersWell(OthersWell { said_by }),
    )])
}

/// A named diver at the surface has lost contact with the others: alarms at once.
///
/// # Errors
/// As [`others_well`].
pub fn lost_contact(state: &State, id: GroupId, said_by: PersonId) -> Decided {
    let group = word_of(state, id, said_by)?;
    let about = About::nobody().in_group(id, group.dive);
    Ok(vec![Draft::now(
        about,
        Fact::LostContact(LostContact { said_by }),
    )])
}

fn word_of(state: &State, id: GroupId, said_by: PersonId) -> Result<&Group, Refused> {
    let group = in_water(state, id)?;
    let who = person(state, "said_by", said_by)?;
    if !group.members().contains(&said_by) || !who.is_up() {
        return Err(Refusal::new("said_by", "refused-not-up")
            .with("name", who.name())
            .into());
    }
    if state.down_of(group).is_empty() {
        return Err(Refusal::new("group", "refused-nobody-down").into());
    }
    Ok(group)
}

/// One person is out of the water.
#[derive(Debug, Clone, PartialEq)]
pub struct AboardTap {
    /// Who.
    pub person: PersonId,
    /// Where to.
    pub vessel: Vessel,
    /// Who saw the person; for another vessel, its named person.
    pub seen_by: String,
    /// The rest.
    pub detail: Return,
    /// When, if not now.
    pub at: Option<Timestamp>,
}

/// One person is out of the water, seen by a named person.
///
/// # Errors
/// If the person was never in, is back already, or the times do not fit.
pub fn aboard(state: &State, tap: AboardTap, now: Timestamp) -> Decided {
    open(state)?;
    let group = out_person(state, tap.person, tap.at, now)?;
    let seen_by = said("seen_by", &tap.seen_by)?;
    check_return(state, tap.person, &tap.detail, now)?;
    if let Vessel::Other { name } | Vessel::Shore { place: name } = &tap.vessel {
        said("vessel", name)?;
    }
    let mut about = About::person(tap.person);
    if let Some((group, dive)) = group {
        about = about.in_group(group, dive);
    }
    let fact = Fact::Aboard(Aboard {
        vessel: tap.vessel,
        seen_by,
        detail: tap.detail,
    });
    Ok(vec![Draft::now(about, fact).at(tap.at)])
}

fn check_return(
    state: &State,
    id: PersonId,
    detail: &Return,
    now: Timestamp,
) -> Result<(), Refused> {
    let who = person(state, "person", id)?;
    let dive = who.dive.unwrap_or(state.dive);
    let logged = who.dives.get(&dive);
    happened(detail.surfaced_at, now, logged.and_then(|d| d.entered_at))?;
    let started = logged
        .and_then(|d| d.group)
        .and_then(|g| state.groups.get(&g))
        .and_then(|g| g.formed.kit.get(&id))
        .map(|kit| kit.start_bar.bar());
    if let (Some(left), Some(start)) = (detail.bar, started)
        && left.bar() > start
    {
        return Err(Refusal::new("bar", "refused-more-gas")
            .with("start", start)
            .into());
    }
    Ok(())
}

/// Adds what a return left to say.
///
/// # Errors
/// If the person has not been in the water on this dive, or nothing is said.
pub fn note_return(
    state: &State,
    id: PersonId,
    dive: u32,
    detail: Return,
    now: Timestamp,
) -> Decided {
    open(state)?;
    let who = person(state, "person", id)?;
    let Some(logged) = who.dives.get(&dive) else {
        return Err(Refusal::new("person", "refused-never-in")
            .with("name", who.name())
            .into());
    };
    check_return(state, id, &detail, now)?;
    let mut about = About::person(id).on_dive(dive);
    about.group = logged.group;
    Ok(vec![Draft::now(
        about,
        Fact::ReturnNoted(ReturnNoted { detail }),
    )])
}

/// Adds what several returns left to say: all of it or nothing.
///
/// # Errors
/// As [`note_return`], each with the person as its row.
pub fn note_returns(
    state: &State,
    told: &[(PersonId, Return)],
    dive: u32,
    now: Timestamp,
) -> Decided {
    let mut refused = Refused::default();
    let mut drafts = Vec::new();
    for (id, detail) in told {
        match note_return(state, *id, dive, detail.clone(), now) {
            Ok(noted) => drafts.extend(noted),
            Err(why) => refused
                .0
                .extend(why.0.into_iter().map(|one| one.in_row(id))),
        }
    }
    refused.or(drafts)
}

/// Gives a group more time: the one act that moves its deadlines later.
///
/// # Errors
/// If nobody of it is down, or the page showed another sum of time granted.
pub fn more_time(
    state: &State,
    id: GroupId,
    minutes: Minutes,
    granted_before_min: f64,
    reason: &str,
) -> Decided {
    let group = in_water(state, id)?;
    if state.down_of(group).is_empty() {
        return Err(Refusal::new("group", "refused-nobody-down").into());
    }
    let granted = group.drop.as_ref().map_or(0.0, |d| d.granted_min);
    if (granted - granted_before_min).abs() > 0.05 {
        return Err(Refusal::new("minutes", "refused-granted")
            .with("granted", granted)
            .into());
    }
    let reason = said("reason", reason)?;
    let about = About::nobody().in_group(id, group.dive);
    Ok(vec![Draft::now(
        about,
        Fact::MoreTime(MoreTime {
            minutes,
            granted_before_min,
            reason,
        }),
    )])
}

/// Snorkellers go in: they are at the surface until seen aboard.
///
/// # Errors
/// If one of them is no snorkeller or not aboard, or the boat is not on a site.
pub fn swim(state: &State, persons: BTreeSet<PersonId>) -> Decided {
    open(state)?;
    let mut refused = Refused::default();
    if persons.is_empty() {
        refused.add(Refusal::new("persons", "refused-nobody"));
    }
    if state.phase != Phase::OnSite {
        refused.add(Refusal::new("persons", "refused-not-on-site"));
    }
    if state.lookout.is_none() {
        refused.add(Refusal::new("lookout", "refused-no-lookout"));
    }
    for id in &persons {
        let who = person(state, "persons", *id)?;
        if who.place != Place::Aboard || who.card.activity != Activity::Snorkeller {
            refused.add(Refusal::new("persons", "refused-no-snorkeller").with("name", who.name()));
        }
    }
    let about = About::people(persons).on_dive(state.dive);
    let seen = AtSurface {
        signal: Signal::NoSignal,
        place: None,
        from_boat: None,
    };
    refused.or(vec![Draft::now(about, Fact::AtSurface(seen))])
}

/// Takes back one's own tap within a minute.
///
/// # Errors
/// If it was another device's, is older, or does not count any more; or if it says danger and
/// the device has said something since or somebody has acted on it: then it is the skipper's.
pub fn undo(
    log: &[Entry],
    event: EventId,
    device: crate::trip::DeviceId,
    now: Timestamp,
) -> Decided {
    let entry = entry(log, event)?;
    // By the box's clock and by the stated time: a device's clock may be ahead.
    let age = |since: Timestamp| now.duration_since(since);
    let latest = entry.event.at.max(entry.receipt.made_at());
    if entry.event.device != device || age(latest) > SignedDuration::from_secs(UNDO_S) {
        return Err(Refusal::new("", "refused-undo").into());
    }
    let slip = age(entry.event.at) <= SignedDuration::from_secs(UNDO_S)
        && !age(entry.event.at).is_negative()
        && is_own_slip(&entry.event, device, log.iter().map(|e| &*e.event));
    if says_danger(&entry.event) && !slip {
        return Err(Refusal::new("", "refused-void-danger").into());
    }
    Ok(vec![voiding(entry, "taken back")])
}

/// Who takes an entry back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Voiding {
    /// In this role.
    pub role: Role,
    /// Who.
    pub crew: CrewId,
    /// On this device.
    pub device: DeviceId,
    /// Nobody else is in touch who could second it.
    pub alone: bool,
}

/// Voids an event, with a reason. What says danger is the skipper's to take back; while another
/// crew member's device is in touch, it counts only once that one takes it back too.
///
/// # Errors
/// If the event is not known or does not count any more, no reason is given, or it says danger
/// and neither is the author a skipper nor did one on another device take it back before; or
/// the author did so already and a second is waited for.
pub fn void(log: &[Entry], event: EventId, reason: &str, by: Voiding) -> Decided {
    let entry = entry(log, event)?;
    let reason = said("reason", reason)?;
    let mut draft = voiding(entry, &reason);
    if !says_danger(&entry.event) {
        return Ok(vec![draft]);
    }
    let is_second = voids_of(log, event).any(|first| {
        first.by.role == Role::Skipper && first.device != by.device && first.by.crew != by.crew
    });
    if by.role != Role::Skipper && !is_second {
        return Err(Refusal::new("", "refused-void-danger").into());
    }
    let waits = voids_of(log, event).any(|own| own.by.crew == by.crew);
    if waits && !by.alone {
        return Err(Refusal::new("", "refused-void-waits").into());
    }
    if let Fact::Voided(voided) = &mut draft.fact {
        voided.alone = by.alone && !is_second;
    }
    Ok(vec![draft])
}

/// Words that take this event back, whether they count or wait for a second.
fn voids_of(log: &[Entry], event: EventId) -> impl Iterator<Item = &Event> {
    log.iter()
        .map(|e| &*e.event)
        .filter(move |e| matches!(&e.fact, Fact::Voided(voided) if voided.of == event))
}

fn entry(log: &[Entry], event: EventId) -> Result<&Entry, Refused> {
    let found = log.iter().find(|e| e.event.id == event);
    let Some(entry) = found.filter(|e| !matches!(e.event.fact, Fact::Voided(_))) else {
        return Err(Refusal::new("", "refused-no-event").into());
    };
    let mended = log
        .iter()
        .filter(|e| mends(&e.event) == Some(event))
        .any(|e| may_mend(&e.event, &entry.event, log.iter().map(|e| &*e.event)));
    if mended {
        return Err(Refusal::new("", "refused-voided").into());
    }
    Ok(entry)
}

fn voiding(entry: &Entry, reason: &str) -> Draft {
    let voided = Voided {
        of: entry.event.id,
        reason: reason.to_owned(),
        alone: false,
    };
    Draft::now(entry.event.about.clone(), Fact::Voided(voided))
}
