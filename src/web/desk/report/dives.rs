//! Each dive of each person, planned beside dived, and what follows from it for the person's day.

use crate::trip::after::{self, Ground};
use crate::trip::event::PlanSheet;
use crate::trip::state::{Logged, Person};
use crate::web::desk::{Here, figure};
use crate::web::view;

/// A dive of a person.
pub(super) struct DiveRow {
    pub name: String,
    pub dive: u32,
    pub group: String,
    pub entered: String,
    pub surfaced: String,
    pub aboard: String,
    /// As dived, of what was planned.
    pub minutes: String,
    /// Left, of what was there at the start.
    pub bar: String,
    pub stop: String,
    pub depth: String,
    pub rate: String,
    pub seen_by: String,
    pub problem: String,
}

/// What follows for a person from the dives of the day.
pub(super) struct AfterRow {
    pub name: String,
    pub next: String,
    pub hours: String,
    pub until: String,
    pub why: String,
}

/// Every dive that was made, by dive, group and name.
pub(super) fn dives(here: &Here) -> Vec<DiveRow> {
    let state = &here.snap.state;
    let mut rows: Vec<DiveRow> = state
        .people
        .values()
        .flat_map(|person| {
            person
                .dives
                .iter()
                .filter(|(_, logged)| logged.entered_at.is_some())
                .map(move |(dive, logged)| dive_row(here, person, *dive, logged))
        })
        .collect();
    rows.sort_by(|a, b| (a.dive, &a.group, &a.name).cmp(&(b.dive, &b.group, &b.name)));
    rows
}

fn dive_row(here: &Here, person: &Person, dive: u32, logged: &Logged) -> DiveRow {
    let state = &here.snap.state;
    let time = |at: Option<jiff::Timestamp>| at.map_or_else(String::new, |at| here.time(at));
    let minutes = logged.entered_at.zip(logged.surfaced_at);
    let minutes = minutes.map(|(entered, up)| view::watch_minutes(entered, up).to_string());
    // What was planned is no word of what was dived: that is not known, or stands beside it.
    let of_plan = |dived: Option<String>, planned: Option<String>| match planned {
        Some(planned) => {
            let dived = dived.unwrap_or_else(|| here.t.say("report-not-known"));
            let args = [("dived", dived.into()), ("planned", planned.into())];
            here.t.say_with("report-of-plan", &args)
        }
        None => dived.unwrap_or_default(),
    };
    let group = logged.group.and_then(|id| state.groups.get(&id));
    let plan = group.map(|group| &group.formed.plan);
    let planned_m = plan
        .into_iter()
        .flat_map(|plan| &plan.levels)
        .map(|level| level.depth_m.m())
        .reduce(f64::max);
    let rate = after::surface_rate(state, person, dive);
    let kit = group.and_then(|group| group.formed.kit.get(&person.id));
    DiveRow {
        name: person.name().to_owned(),
        dive,
        group: group.map_or_else(String::new, |g| g.formed.letter.clone()),
        entered: time(logged.entered_at),
        surfaced: time(logged.surfaced_at),
        aboard: time(logged.aboard_at),
        minutes: of_plan(minutes, plan.map(|plan| figure(plan.run_time_min.ceil()))),
        bar: of_plan(
            logged.bar.map(figure),
            kit.map(|kit| figure(kit.start_bar.bar())),
        ),
        stop: stop(here, logged, plan),
        depth: of_plan(logged.greatest_depth_m.map(figure), planned_m.map(figure)),
        rate: rate.map_or_else(String::new, |rate| figure(rate.l_min())),
        seen_by: logged.seen_by.clone().unwrap_or_default(),
        problem: logged.problem.clone().unwrap_or_default(),
    }
}

/// Whether the stop was done, beside its minutes by the plan.
fn stop(here: &Here, logged: &Logged, plan: Option<&PlanSheet>) -> String {
    let t = here.t;
    let dived = t.say(match logged.stop_done {
        Some(true) => "record-stop-done",
        Some(false) => "record-stop-missed",
        None => "report-not-known",
    });
    match plan {
        Some(plan) => {
            let planned = figure(plan.safety_stop.minutes.min());
            let args = [("dived", dived.into()), ("planned", planned.into())];
            t.say_with("record-stop-of", &args)
        }
        None => dived,
    }
}

/// Earliest next entry and time on the ground of everybody who dived.
pub(super) fn afters(here: &Here) -> Vec<AfterRow> {
    let state = &here.snap.state;
    let mut divers: Vec<&Person> = state
        .people
        .values()
        .filter(|person| person.dives.values().any(|dive| dive.entered_at.is_some()))
        .collect();
    divers.sort_by(|a, b| a.name().cmp(b.name()));
    divers
        .into_iter()
        .map(|person| after_row(here, person))
        .collect()
}

pub(super) fn after_row(here: &Here, person: &Person) -> AfterRow {
    let (state, t) = (&here.snap.state, here.t);
    let last = person
        .dives
        .iter()
        .filter(|(_, logged)| logged.entered_at.is_some())
        .map(|(dive, _)| *dive)
        .max()
        .unwrap_or(0);
    let is_up = person
        .dives
        .get(&last)
        .is_some_and(|d| d.surfaced_at.is_some());
    let next = match after::next_entry(state, person, last) {
        Some(next) => {
            let key = if next.is_planned {
                "report-next-planned"
            } else {
                "report-next-again"
            };
            t.say_with(key, &[("at", here.time(next.at).into())])
        }
        None if is_up => t.say("report-next-none"),
        None => t.say("report-not-up"),
    };
    // Before the last dive is over nobody can say from when the hours run.
    match after::no_fly(state, person).filter(|_| is_up) {
        Some(no_fly) => AfterRow {
            name: person.name().to_owned(),
            next,
            hours: t.say_with(
                "report-hours",
                &[("n", i64::from(no_fly.ground.hours()).into())],
            ),
            until: here.day_and_time(no_fly.until),
            why: t.say(match no_fly.ground {
                Ground::WithStops => "report-fly-stops",
                Ground::Single => "report-fly-single",
                Ground::Repeated => "report-fly-repeated",
            }),
        },
        None => AfterRow {
            name: person.name().to_owned(),
            next,
            hours: t.say("report-not-up"),
            until: String::new(),
            why: String::new(),
        },
    }
}
