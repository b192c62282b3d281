//! A group in words: plan, window, weakest limit, and what is to be looked at before it goes in.

use std::collections::BTreeSet;

use jiff::SignedDuration;

use crate::dive::analysed::Analysed;
use crate::trip::decide;
use crate::trip::dives::Entry;
use crate::trip::event::{GroupFormed, Mode, PersonId};
use crate::trip::forecast::{ends_at_night, window_at_drop};
use crate::trip::outlook::conflicts;
use crate::trip::state::{Group, Phase, plus};
use crate::units::Depth;
use crate::web::form::sentence;
use crate::web::gas;
use crate::web::sea::words::Told;
use crate::web::view;

use super::Here;

/// A group in one line, for lists and prints.
pub(super) struct Line {
    /// The group.
    pub id: String,
    /// Its letter.
    pub letter: String,
    /// Its marker.
    pub svg: String,
    /// Pairs and threes by name.
    pub units: Vec<String>,
    /// Who leads it.
    pub leader: String,
    /// Levels.
    pub plan: String,
    /// Minutes from leaving the surface to being back at it.
    pub run: String,
    /// Expected, latest and overdue as minutes from the drop.
    pub window: String,
    /// How it comes back, and to which zone.
    pub mode: String,
    /// The least depth limit of its members, with whose it is.
    pub weakest: String,
    /// What is to be looked at before it goes in.
    pub cautions: Vec<String>,
    /// It is in the water, or was.
    pub gone: bool,
}

/// The groups of a dive.
pub(super) fn lines(here: &Here, dive: u32) -> Vec<Line> {
    here.state()
        .groups_of(dive)
        .into_iter()
        .map(|group| line(here, group))
        .collect()
}

/// One group.
pub(super) fn line(here: &Here, group: &Group) -> Line {
    let mut line = line_beside_limits(here, group);
    if group.drop.is_none() {
        line.cautions.extend(beyond(here, group));
    }
    line
}

/// One group without what its plan breaks, for a page that says that person by person.
pub(super) fn line_beside_limits(here: &Here, group: &Group) -> Line {
    let state = here.state();
    let formed = &group.formed;
    let name = |id: &PersonId| state.name_of(*id).to_owned();
    let units = group
        .units()
        .iter()
        .map(|unit| unit.iter().map(name).collect::<Vec<_>>().join(" + "))
        .collect();
    let weakest = state
        .members(group)
        .map(|p| (p.card.depth_limit_m.map_or(0.0, Depth::m), p.name()))
        .min_by(|a, b| a.0.total_cmp(&b.0));
    Line {
        id: group.id.to_string(),
        letter: formed.letter.clone(),
        svg: view::mark(&formed.letter).map_or_else(String::new, |mark| mark.svg()),
        units,
        leader: formed.leader.as_ref().map_or_else(String::new, name),
        plan: view::levels(&formed.plan, here.t),
        run: here
            .t
            .say_with("minutes", &[("n", formed.plan.run_time_min.round().into())]),
        window: window_words(here, group),
        mode: mode_words(here, formed),
        weakest: weakest.map_or_else(String::new, |(limit, name)| {
            let args = [("limit", limit.into()), ("name", name.into())];
            here.t.say_with("group-weakest", &args)
        }),
        cautions: if group.drop.is_some() {
            Vec::new()
        } else {
            cautions(here, group)
        },
        gone: group.drop.is_some(),
    }
}

/// How the group comes back, with its zone.
fn mode_words(here: &Here, formed: &GroupFormed) -> String {
    let mode = match formed.mode {
        Mode::Return => here.t.say("mode-return"),
        Mode::Drift => here.t.say("mode-drift"),
        Mode::OneWay { course_deg } => here.t.say_with(
            "mode-one-way-course",
            &[("course", view::degrees(course_deg.deg()).into())],
        ),
    };
    match &formed.exit_zone {
        Some(zone) => format!("{mode}, {zone}"),
        None => mode,
    }
}

fn window_words(here: &Here, group: &Group) -> String {
    let members = group.members().clone();
    match window_at_drop(here.state(), group, &members, here.now) {
        Ok(frozen) => {
            let w = frozen.window;
            let minutes = |s: u32| -> crate::words::Arg { whole_minutes(s).into() };
            here.t.say_with(
                "group-window",
                &[
                    ("earliest", minutes(w.earliest_s)),
                    ("expected", minutes(w.expected_s)),
                    ("latest", minutes(w.latest_s)),
                    ("overdue", minutes(w.overdue_s)),
                    ("gas", minutes(w.endurance_s)),
                ],
            )
        }
        Err(faults) => faults.to_string(),
    }
}

/// To the nearest minute: run time and deadlines are told alike.
pub(super) fn whole_minutes(seconds: u32) -> i64 {
    (i64::from(seconds) + 30) / 60
}

/// Sunset, the turn of the stream and a current that outgrows the plan, if the group goes in when
/// it means to, or now on the day of the trip.
fn meets(here: &Here, group: &Group) -> Vec<String> {
    let state = here.state();
    let now_counts = state.phase == Phase::OnSite;
    let enters = group.formed.enters_at.or(now_counts.then_some(here.now));
    let (Some(enters), Some(sea)) = (enters, here.snap.grounds.sea(state, group.dive)) else {
        return Vec::new();
    };
    let Ok(frozen) = window_at_drop(state, group, group.members(), enters) else {
        // What does not hold is said where the window is.
        return Vec::new();
    };
    let latest = SignedDuration::from_secs(i64::from(frozen.window.latest_s));
    let told = Told {
        t: here.t,
        zone: &here.zone,
        now: here.now,
    };
    conflicts(group.formed.mode, &sea, enters, plus(enters, latest))
        .iter()
        .map(|conflict| told.conflict(conflict))
        .collect()
}

/// What is to be looked at before a group goes in.
fn cautions(here: &Here, group: &Group) -> Vec<String> {
    let state = here.state();
    let (t, formed) = (here.t, &group.formed);
    let mut cautions = Vec::new();
    if group.formed_apart {
        cautions.push(t.say("why-formed-apart"));
    }
    cautions.extend(meets(here, group));
    if formed.leader.is_none() {
        cautions.push(t.say("caution-no-leader"));
    }
    for unit in group.units().iter().filter(|unit| unit.len() < 2) {
        for person in unit.iter().filter_map(|id| state.people.get(id)) {
            cautions.push(t.say_with("caution-alone", &[("name", person.name().into())]));
        }
    }
    for person in state.members(group).filter(|p| !p.coming) {
        cautions.push(t.say_with("refused-not-coming", &[("name", person.name().into())]));
    }
    cautions.extend(apart_from_analysis(here, group));
    let minutes = std::time::Duration::from_secs_f64(formed.plan.run_time_min.max(0.0) * 60.0);
    let until = here.now.checked_add(minutes).unwrap_or(here.now);
    if ends_at_night(state, group.dive, until) {
        cautions.push(t.say("caution-night"));
    }
    cautions
}

/// Whose plan does not agree with the gas they analysed. Who analysed nothing is told before the
/// boat leaves: a day ahead nobody has.
fn apart_from_analysis(here: &Here, group: &Group) -> Vec<String> {
    let members = group.members().iter();
    let apart = members.filter_map(|id| {
        let one = here.gas.of(group.dive, *id)?;
        matches!(one.held, Analysed::Short(_) | Analysed::Differs(_)).then(|| {
            let args = [
                ("name", here.state().name_of(*id).into()),
                ("planned", gas::planned(one, here.t).into()),
                ("what", gas::standing(one, here.t).into()),
            ];
            here.t.say_with("caution-gas", &args)
        })
    });
    apart.collect()
}

/// What the plan breaks, and who took that on: released or not, it stays in sight.
fn beyond(here: &Here, group: &Group) -> Vec<String> {
    let (t, formed) = (here.t, &group.formed);
    let taken_on = formed.limit_override.iter();
    let mut beyond: Vec<String> = taken_on
        .map(|why| t.say_with("caution-override", &[("why", why.into())]))
        .collect();
    beyond.extend(
        decide::beyond_limits(here.state(), group.dive, formed, Entry::Planned)
            .iter()
            .map(|refusal| sentence(refusal, t).text),
    );
    beyond
}

/// Names of divers who are in no group of a dive.
pub(super) fn without_group(here: &Here, dive: u32) -> Vec<String> {
    let state = here.state();
    let held: BTreeSet<PersonId> = state
        .groups_of(dive)
        .into_iter()
        .flat_map(|group| group.members().iter().copied())
        .collect();
    state
        .coming()
        .filter(|p| p.card.activity == crate::trip::event::Activity::Diver)
        .filter(|p| !held.contains(&p.id))
        .map(|p| p.name().to_owned())
        .collect()
}
