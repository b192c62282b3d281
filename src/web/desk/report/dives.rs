//! Each dive of each person, planned beside dived, and what follows from it for the person's day.

use crate::trip::after::{self, Ground};
use crate::trip::state::Person;
use crate::units::system::Measure;
use crate::web::desk::{Here, figure};
use crate::web::record::{DiveLine, Record};

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

/// Where each dive was made.
pub(super) fn sites(here: &Here, record: &Record) -> Vec<String> {
    // They come by dive.
    let mut dives: Vec<(u32, &str)> = record.dives.iter().map(|l| (l.dive, &*l.site)).collect();
    dives.dedup();
    dives
        .into_iter()
        .map(|(dive, site)| {
            let args = [("n", dive.to_string().into()), ("site", site.into())];
            here.t.say_with("trip-dive", &args)
        })
        .collect()
}

/// Every dive that was made, in the words of the page.
pub(super) fn dives(here: &Here, record: &Record) -> Vec<DiveRow> {
    let lines = record.dives.iter();
    lines.map(|line| dive_row(here, line)).collect()
}

fn dive_row(here: &Here, line: &DiveLine) -> DiveRow {
    let (planned, actual) = (&line.planned, &line.actual);
    let time = |at: Option<jiff::Timestamp>| at.map_or_else(String::new, |at| here.time(at));
    // What was planned is no word of what was dived: that is not known, or stands beside it.
    let of_plan = |dived: Option<String>, planned: Option<String>| match planned {
        Some(planned) => {
            let dived = dived.unwrap_or_else(|| here.t.say("report-not-known"));
            let args = [("dived", dived.into()), ("planned", planned.into())];
            here.t.say_with("report-of-plan", &args)
        }
        None => dived.unwrap_or_default(),
    };
    let minutes = actual.run_time_min.map(|minutes| minutes.to_string());
    let system = here.t.system();
    let told = |measure: Measure, metric: Option<f64>| metric.map(|m| measure.figure(m, system));
    DiveRow {
        name: line.name.clone(),
        dive: line.dive,
        group: line.group.clone(),
        entered: time(actual.entered_at),
        surfaced: time(actual.surfaced_at),
        aboard: time(actual.aboard_at),
        minutes: of_plan(minutes, planned.run_time_min.map(|min| figure(min.ceil()))),
        bar: of_plan(
            told(Measure::Pressure, actual.end_bar),
            told(Measure::Pressure, planned.start_bar),
        ),
        stop: stop(here, actual.stop_done, planned.stop_min),
        depth: of_plan(
            told(Measure::Depth, actual.greatest_depth_m),
            told(Measure::Depth, planned.greatest_depth_m),
        ),
        rate: told(Measure::Rate, actual.breathing_l_min).unwrap_or_default(),
        seen_by: line.seen_by.clone().unwrap_or_default(),
        problem: line.noted.clone().unwrap_or_default(),
    }
}

/// Whether the stop was done, beside its minutes by the plan.
fn stop(here: &Here, done: Option<bool>, planned_min: Option<f64>) -> String {
    let t = here.t;
    let dived = t.say(match done {
        Some(true) => "record-stop-done",
        Some(false) => "record-stop-missed",
        None => "report-not-known",
    });
    match planned_min {
        Some(planned) => {
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
