//! The end of the day: everyone accounted for or not, each dive of each person, the counts, what
//! was overridden, and what is still missing from the record.

use askama::Template;
use axum::extract::State;
use axum::response::Response;

use crate::trip::TripId;
use crate::trip::after::{self, Ground};
use crate::trip::event::Point;
use crate::trip::gate::gate;
use crate::trip::roll::{Call, Outcome};
use crate::trip::state::{Known, Logged, Person, Phase};
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::frame::Frame;
use crate::web::page::{Asked, html};
use crate::web::view;

use super::day::phase_key;
use super::{Here, figure, tell};

#[derive(Template)]
#[template(path = "desk/report.html")]
struct ReportPage {
    frame: Frame,
    title: String,
    phase: String,
    verdict: String,
    all_well: bool,
    out: Vec<String>,
    dives: Vec<DiveRow>,
    afters: Vec<AfterRow>,
    counts: Vec<CountRow>,
    rolls: Vec<String>,
    overrides: Vec<String>,
    incidents: Vec<String>,
    gaps: Vec<String>,
}

struct DiveRow {
    name: String,
    dive: u32,
    group: String,
    entered: String,
    surfaced: String,
    aboard: String,
    /// As dived, of what was planned.
    minutes: String,
    bar: String,
    depth: String,
    rate: String,
    seen_by: String,
    problem: String,
}

/// What follows for a person from the dives of the day.
struct AfterRow {
    name: String,
    next: String,
    hours: String,
    until: String,
    why: String,
}

struct CountRow {
    point: String,
    number: u32,
    counts: Vec<String>,
    outcome: String,
}

/// The page.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    let state = &here.snap.state;
    let out: Vec<String> = state
        .not_accounted()
        .map(|p| {
            let place = here.t.say(view::place_key(p.place));
            format!("{} · {place}", p.name())
        })
        .collect();
    let is_ended = matches!(state.phase, Phase::Back | Phase::Closed);
    // Only a count, a roll and the log together say that everybody is back.
    let blocks = gate(state, Point::Return);
    let all_well = is_ended && out.is_empty() && blocks.is_empty();
    let verdict = if !out.is_empty() {
        "report-out"
    } else if !is_ended {
        "report-under-way"
    } else if all_well {
        "report-all"
    } else {
        "report-not-counted"
    };
    html(&ReportPage {
        frame: here.frame(&app, &asked, &crew),
        title: here.title(),
        phase: here.t.say(phase_key(state.phase)),
        verdict: here.t.say(verdict),
        all_well,
        out,
        dives: dives(&here),
        afters: afters(&here),
        counts: state.calls.iter().map(|call| count(&here, call)).collect(),
        rolls: rolls(&here),
        overrides: state
            .overrides
            .iter()
            .map(|one| {
                known(
                    &here,
                    &format!("{}: {}", here.t.say(override_key(one.what.0)), one.what.1),
                    one,
                )
            })
            .collect(),
        incidents: state
            .incidents
            .iter()
            .map(|one| known(&here, &one.what.text, one))
            .collect(),
        gaps: gaps(&here, is_ended),
    })
}

fn override_key(what: &str) -> &'static str {
    match what {
        "departed" => "told-departed",
        "left-site" => "told-left-site",
        "trip-closed" => "told-trip-closed",
        _ => "told-group-formed",
    }
}

fn known<T>(here: &Here, text: &str, known: &Known<T>) -> String {
    here.t.say_with(
        "report-said",
        &[
            ("text", text.into()),
            ("by", (&known.by).into()),
            ("at", here.time(known.at).into()),
        ],
    )
}

fn dives(here: &Here) -> Vec<DiveRow> {
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
    DiveRow {
        name: person.name().to_owned(),
        dive,
        group: group.map_or_else(String::new, |g| g.formed.letter.clone()),
        entered: time(logged.entered_at),
        surfaced: time(logged.surfaced_at),
        aboard: time(logged.aboard_at),
        minutes: of_plan(minutes, plan.map(|plan| figure(plan.run_time_min.ceil()))),
        bar: logged.bar.map_or_else(String::new, figure),
        depth: of_plan(logged.greatest_depth_m.map(figure), planned_m.map(figure)),
        rate: rate.map_or_else(String::new, |rate| figure(rate.l_min())),
        seen_by: logged.seen_by.clone().unwrap_or_default(),
        problem: logged.problem.clone().unwrap_or_default(),
    }
}

/// Earliest next entry and time on the ground of everybody who dived.
fn afters(here: &Here) -> Vec<AfterRow> {
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

fn after_row(here: &Here, person: &Person) -> AfterRow {
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

fn count(here: &Here, call: &Call) -> CountRow {
    let outcome = call.outcome();
    // While one is open, an earlier count's figure would be read as this one's.
    let is_hidden = here.is_counting() || matches!(outcome, Outcome::Open { .. });
    CountRow {
        point: tell::point(here, call.point),
        number: call.number,
        counts: call
            .rounds
            .iter()
            .flatten()
            .map(|count| {
                let by = [
                    ("by", (&count.by).into()),
                    ("at", here.time(count.at).into()),
                    ("n", i64::from(count.people).into()),
                ];
                let key = if is_hidden {
                    "report-count-hidden"
                } else {
                    "report-count"
                };
                here.t.say_with(key, &by)
            })
            .collect(),
        outcome: match outcome {
            Outcome::Open { round } => here
                .t
                .say_with("report-open", &[("round", i64::from(round).into())]),
            Outcome::Agreed { .. } if is_hidden => here.t.say("report-agreed-hidden"),
            Outcome::Agreed { people } => here
                .t
                .say_with("report-agreed", &[("n", i64::from(people).into())]),
            Outcome::Failed => here.t.say("report-failed"),
        },
    }
}

fn rolls(here: &Here) -> Vec<String> {
    let is_counting = here.is_counting();
    here.snap
        .state
        .rolls
        .iter()
        .map(|roll| {
            let args = [
                ("point", tell::point(here, roll.point).into()),
                ("by", (&roll.by).into()),
                ("at", here.time(roll.at).into()),
                ("n", roll.present.len().into()),
                ("absent", roll.not_seen.len().into()),
            ];
            let key = if is_counting {
                "report-roll-hidden"
            } else {
                "report-roll"
            };
            here.t.say_with(key, &args)
        })
        .collect()
}

/// What the record still lacks.
fn gaps(here: &Here, is_ended: bool) -> Vec<String> {
    let state = &here.snap.state;
    let t = here.t;
    let mut gaps = Vec::new();
    for person in state.people.values() {
        for (dive, logged) in &person.dives {
            if logged.entered_at.is_none() {
                continue;
            }
            let missing: Vec<String> = [
                ("report-lacks-up", logged.surfaced_at.is_none()),
                ("report-lacks-aboard", logged.aboard_at.is_none()),
                ("report-lacks-bar", logged.bar.is_none()),
                ("report-lacks-depth", logged.greatest_depth_m.is_none()),
                ("report-lacks-stop", logged.stop_done.is_none()),
            ]
            .into_iter()
            .filter(|(_, lacks)| *lacks)
            .map(|(key, _)| t.say(key))
            .collect();
            if !missing.is_empty() {
                let args = [
                    ("name", person.name().into()),
                    ("dive", i64::from(*dive).into()),
                    ("what", missing.join(", ").into()),
                ];
                gaps.push(t.say_with("report-lacks", &args));
            }
        }
    }
    for unread in &state.unread {
        gaps.push(known(here, &t.say("log-unread"), unread));
    }
    for missing in state.gaps.values() {
        gaps.push(t.say_with("report-gap", &[("n", missing.len().into())]));
    }
    if is_ended {
        gaps.extend(
            gate(state, Point::Return)
                .iter()
                .map(|block| super::trip::block_words(here, block)),
        );
    }
    gaps
}
