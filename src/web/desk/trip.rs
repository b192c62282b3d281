//! The trip at a glance: what keeps it from leaving, its dives and groups, and what happened.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::SignedDuration;

use crate::trip::decide;
use crate::trip::event::{Activity, DivePlanned, Point};
use crate::trip::gate::{Block, gate};
use crate::trip::state::{Phase, Verdict, plus};
use crate::trip::{SiteId, TripId};
use crate::web::act::{Acted, act};
use crate::web::app::App;
use crate::web::before_leaving;
use crate::web::carried::day_begins;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::minors::{self, Minor, OnTrip, Standing};
use crate::web::page::{Asked, html, refused};
use crate::web::parts::{Choice, LedgerRow};
use crate::web::view;

use super::Here;
use super::day::phase_key;
use super::form::{Shown, lead};
use super::lines::Line;
use super::log::{Told, told_entries};
use super::roster::not_known;

/// Entries of the log shown on the trip's own page.
const LAST_ENTRIES: usize = 8;
/// How long from the midnight before it a trip carries the tides of a site.
const TIDES_FOR: SignedDuration = SignedDuration::from_hours(48);

#[derive(Template)]
#[template(path = "desk/trip.html")]
struct TripPage {
    frame: Frame,
    title: String,
    url: String,
    /// Its day, as in addresses.
    date: String,
    phase: String,
    harbour: String,
    skipper: String,
    todo: Vec<Task>,
    /// Minors who come along, each with how they stand.
    minors: Vec<Task>,
    /// That nothing is listed as aboard; empty if something is.
    unlisted: String,
    /// That of some it is not known whether they are of age; empty if it is.
    not_known: String,
    before_launch: bool,
    roster: Option<String>,
    capacity: Option<u32>,
    dives: Vec<DiveLine>,
    rows: Vec<LedgerRow>,
    last: Vec<Told>,
    f: Shown,
    sites: Vec<Choice>,
    next: u32,
}

#[derive(Clone)]
struct Task {
    text: String,
    href: String,
}

struct DiveLine {
    number: u32,
    site: String,
    groups: Vec<Line>,
}

async fn draw(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    here: &Here,
    f: Shown,
) -> Result<TripPage, Error> {
    let state = &here.snap.state;
    let url = format!("/desk/{}", here.trip);
    let sites: Vec<(String, String)> = app
        .store()
        .sites()
        .await?
        .into_iter()
        .map(|site| (site.id.to_string(), site.name))
        .collect();
    let mut frame = here.frame_to_fill(app, asked, crew);
    f.mark(&mut frame);
    let ages = minors::on_trip(app, state).await?;
    let watch = here.snap.watch(here.now);
    let opened = state.opened.as_ref();
    let (mut checks, unlisted) = equipment(app, here).await?;
    checks.extend(gas(app, here, &url).await?);
    let last_dive = state.dives.keys().last().copied().unwrap_or(0);
    Ok(TripPage {
        title: here.title(),
        date: opened.map_or_else(String::new, |o| o.day.to_string()),
        phase: here.t.say(phase_key(state.phase)),
        harbour: opened.map_or_else(String::new, |o| o.harbour.clone()),
        skipper: state.command.name.clone(),
        todo: todo(here, &ages, &checks, &url, asked.transport.is_limited()),
        unlisted,
        minors: minor_tasks(here, &ages, &url, asked.transport.is_limited(), |_| true),
        not_known: not_known(&ages, here.is_counting(), here.t),
        before_launch: state.phase == Phase::AtQuay,
        roster: (!here.is_counting()).then(|| {
            let mut parts = counts(here);
            let all = [("n", state.coming().count().into())];
            parts.push(here.t.say_with("desk-in-all", &all));
            parts.join(" · ")
        }),
        capacity: opened.map(|o| o.boat.capacity),
        dives: state
            .dives
            .iter()
            .map(|(number, dive)| DiveLine {
                number: *number,
                site: dive.site.name.clone(),
                groups: super::lines::lines(here, *number),
            })
            .collect(),
        rows: {
            let mut rows = view::ledger(state, &watch, &format!("{url}/plan"), here.t);
            view::doubt(&mut rows, app.clock());
            rows
        },
        last: told_entries(app, here, LAST_ENTRIES).await?,
        sites: f.choose("site", &sites),
        next: last_dive + 1,
        frame,
        f,
        url,
    })
}

/// The page.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    let f = Shown::of_trip(&app, &here.snap);
    html(&draw(&app, &asked, &crew, &here, f).await?)
}

/// Plans a dive on a site of the register.
pub async fn plan_dive(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
    fields: Fields,
) -> Result<Response, Error> {
    let site = match fields.parsed::<SiteId>("site") {
        Some(id) => app.store().site(id).await?,
        None => None,
    };
    let number = fields.whole("dive", 20);
    let mut faults = fields.faults();
    if let (Some(site), Some(number)) = (site, number) {
        let here = Here::load(&app, trip).await?;
        let state = &here.snap.state;
        let begins = day_begins(state, &view::zone(state), here.now);
        let ends = plus(begins, TIDES_FOR);
        let planned = DivePlanned {
            site: site.sheet(begins, ends)?,
        };
        let decided =
            move |state: &_, _: &[_], _| decide::plan_dive(state, number, planned.clone());
        match act(&app, &crew, trip, &fields, decided).await? {
            Acted::Done(_) => return Ok(Redirect::to(&format!("/desk/{trip}")).into_response()),
            Acted::Refused(why) => faults = lead(why, &[("dive", "site")]),
        }
    } else if faults.is_empty() {
        fields.fault("site", "fault-choose", &[]);
        faults = fields.faults();
    }
    let here = Here::load(&app, trip).await?;
    let f = Shown::of_trip(&app, &here.snap).refused(&fields, faults);
    refused(&draw(&app, &asked, &crew, &here, f).await?)
}

/// How many come along, by what they do, in words.
pub(super) fn counts(here: &Here) -> Vec<String> {
    let state = &here.snap.state;
    [
        ("desk-divers", Activity::Diver),
        ("desk-snorkellers", Activity::Snorkeller),
        ("desk-passengers", Activity::Passenger),
        ("desk-crew-aboard", Activity::Crew),
    ]
    .into_iter()
    .map(|(key, activity)| {
        let of = state
            .coming()
            .filter(|p| p.card.activity == activity)
            .count();
        here.t.say_with(key, &[("n", of.into())])
    })
    .collect()
}

/// What is to be done before the boat can leave, plans first, then the gate at the quay.
fn todo(here: &Here, ages: &OnTrip, checks: &[Task], url: &str, is_limited: bool) -> Vec<Task> {
    let state = &here.snap.state;
    if state.phase != Phase::AtQuay {
        return Vec::new();
    }
    let t = here.t;
    let mut todo = Vec::new();
    let mut task = |text: String, page: &str| {
        todo.push(Task {
            text,
            href: format!("{url}{page}"),
        });
    };
    if state.coming().next().is_none() {
        task(t.say("todo-roster"), "/roster");
    }
    if state.dives.is_empty() {
        task(t.say("todo-dive"), "#add-dive");
    }
    // Who counts blind must not read it off here.
    if let Some(first) = state.waiting.first()
        && !here.is_counting()
        && decide::places_left(state) > 0
    {
        let args = [("name", first.card.name.as_str().into())];
        task(t.say_with("todo-waiting", &args), "/roster#waiting");
    }
    for dive in state.dives.keys() {
        let page = format!("/groups/{dive}");
        let without = super::lines::without_group(here, *dive);
        if state.groups_of(*dive).is_empty() {
            let args = [("dive", i64::from(*dive).into())];
            task(t.say_with("todo-groups", &args), &page);
        } else if !without.is_empty() {
            let args = [
                ("dive", i64::from(*dive).into()),
                ("names", view::names(&without, t).into()),
            ];
            task(t.say_with("todo-without-group", &args), &page);
        }
        for line in super::lines::lines(here, *dive) {
            for caution in line.cautions {
                let args = [
                    ("letter", line.letter.as_str().into()),
                    ("what", caution.into()),
                ];
                let page = format!("/plan/{}", line.id);
                task(t.say_with("todo-group", &args), &page);
            }
        }
    }
    let blocks = gate(state, Point::Departure);
    // What keeps the gate closed is said below; a list that nobody has begun keeps it open.
    if state.go_list.verdict() == Verdict::NotBegun {
        task(t.say("go-verdict-not-begun"), "/go-list");
    }
    for block in blocks {
        let page = match block {
            Block::NotDecided | Block::ChangedSinceGo | Block::NoGo => "/go-list",
            Block::Out(_)
            | Block::NotAboard(_)
            | Block::NotCounted
            | Block::CountOpen { .. }
            | Block::CountFailed
            | Block::CountOld { .. }
            | Block::NoRoll
            | Block::RollOld(_)
            | Block::OverCapacity { .. } => "/roster",
        };
        task(block_words(here, &block), page);
    }
    todo.extend(checks.iter().cloned());
    let is_lacking = |one: &Minor| one.standing == Standing::Lacking;
    todo.extend(minor_tasks(here, ages, url, is_limited, is_lacking));
    todo
}

/// Minors of a kind, each with how they stand. Where others may listen in it says only that there
/// are some: age and guardian are data of the register.
fn minor_tasks(
    here: &Here,
    ages: &OnTrip,
    url: &str,
    is_limited: bool,
    of: impl Fn(&Minor) -> bool,
) -> Vec<Task> {
    let mut minors = ages.minors.iter().filter(|one| of(one));
    if !is_limited {
        return minors.map(|one| minor_task(one, here, url)).collect();
    }
    let is_any = minors.next().is_some();
    let some = is_any.then(|| Task {
        text: here.t.say("minors-over-https"),
        href: format!("{url}/roster"),
    });
    some.into_iter().collect()
}

/// What of the boat is to be looked at before the day of the trip, or that nothing is listed. A
/// boat that is not in the register any more has no list to be held to.
async fn equipment(app: &App, here: &Here) -> Result<(Vec<Task>, String), Error> {
    let state = &here.snap.state;
    let known = match state.opened.as_ref() {
        Some(opened) => app.store().boat(opened.boat.id).await?.map(|_| opened),
        None => None,
    };
    let Some(opened) = known.filter(|_| state.phase == Phase::AtQuay) else {
        return Ok((Vec::new(), String::new()));
    };
    let id = opened.boat.id;
    if app.store().equipment(id).await?.is_empty() {
        return Ok((Vec::new(), here.t.say("equipment-trip-none")));
    }
    let due = before_leaving::due_checks(app, id, opened.day, here.t).await?;
    let tasks = due.into_iter().map(|text| Task {
        text,
        href: format!("/desk/boats/{id}/equipment"),
    });
    Ok((tasks.collect(), String::new()))
}

/// What of the gas is to be looked at before the boat leaves.
async fn gas(app: &App, here: &Here, url: &str) -> Result<Vec<Task>, Error> {
    let state = &here.snap.state;
    if state.phase != Phase::AtQuay {
        return Ok(Vec::new());
    }
    let gas = crate::web::gas::on_trip(app, state).await?;
    let told = before_leaving::open_gas(&gas, state, here.t).into_iter();
    let tasks = told.map(|text| Task {
        text,
        href: format!("{url}/gas"),
    });
    Ok(tasks.collect())
}

/// A minor with how they stand, and where that is decided.
fn minor_task(one: &Minor, here: &Here, url: &str) -> Task {
    let (what, _) = minors::words(one, here.t);
    let args = [("name", one.name.as_str().into()), ("what", what.into())];
    Task {
        text: here.t.say_with("todo-consent", &args),
        href: format!("{url}/roster/{}#consent", one.person),
    }
}

/// What keeps a gate closed, in words.
pub(super) fn block_words(here: &Here, block: &Block) -> String {
    let t = here.t;
    let named =
        |key: &str, names: &[String]| t.say_with(key, &[("names", view::names(names, t).into())]);
    match block {
        Block::Out(names) => named("block-out", names),
        Block::NotAboard(names) => named("block-not-aboard", names),
        Block::NotCounted => t.say("block-not-counted"),
        Block::CountOpen { round } => {
            t.say_with("block-count-open", &[("round", i64::from(*round).into())])
        }
        Block::CountFailed => t.say("block-count-failed"),
        Block::CountOld { .. } => t.say("block-count-old"),
        Block::NoRoll => t.say("block-no-roll"),
        Block::RollOld(names) => named("block-roll-old", names),
        Block::OverCapacity { capacity, .. } => t.say_with(
            "block-over-capacity",
            &[("capacity", i64::from(*capacity).into())],
        ),
        Block::NotDecided | Block::ChangedSinceGo | Block::NoGo => {
            crate::web::go_list::verdict(&here.snap.state, here.t)
        }
    }
}
