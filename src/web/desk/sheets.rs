//! What is printed: the passenger list and the boat sheet, at most two pages of A4 each.

use askama::Template;
use axum::extract::State;
use axum::response::Response;

use crate::trip::TripId;
use crate::trip::event::{Fitness, Sheet};
use crate::trip::forecast::window_at_drop;
use crate::trip::state::Group;
use crate::units::system::Measure;
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::frame::Frame;
use crate::web::go_list;
use crate::web::page::{Asked, html};
use crate::web::sea::words::Told;
use crate::web::view;

use super::Here;
use super::lines::{self, Line};
use super::prints::{Changes, changes};
use super::roster::activity_key;

/// Head of a print: what it is of, and how old it is.
struct Head {
    boat: String,
    call_sign: String,
    day: String,
    harbour: String,
    skipper: String,
    printed: String,
    entry: u64,
}

fn head(here: &Here) -> Head {
    let opened = here.snap.state.opened.as_ref();
    Head {
        boat: opened.map_or_else(String::new, |o| o.boat.name.clone()),
        call_sign: opened.map_or_else(String::new, |o| o.boat.call_sign.clone()),
        day: opened.map_or_else(String::new, |o| view::day(o.day)),
        harbour: opened.map_or_else(String::new, |o| o.harbour.clone()),
        skipper: here.snap.state.command.name.clone(),
        printed: here
            .now
            .to_zoned_datetime(here.zone.clone())
            .strftime("%Y-%m-%d %H:%M %:z")
            .to_string(),
        entry: here.snap.head.entry,
    }
}

#[derive(Template)]
#[template(path = "desk/passenger-list.html")]
struct PassengerList {
    frame: Frame,
    title: String,
    head: Head,
    rows: Vec<Passenger>,
    changes: Changes,
    people: Option<usize>,
    counts: Vec<String>,
}

struct Passenger {
    changed: bool,
    number: usize,
    name: String,
    activity: String,
    level: String,
    limit: String,
}

/// Who is aboard when the boat sails; no contact stands here.
pub async fn passenger_list(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    let state = &here.snap.state;
    let mut people: Vec<_> = state.coming().collect();
    people.sort_by_key(|p| crate::store::register::fold_name(p.name()));
    let changes = changes(&app, &here, Sheet::PassengerList, None);
    let rows: Vec<Passenger> = people
        .iter()
        .zip(1..)
        .map(|(person, number)| Passenger {
            changed: changes.people.contains(&person.id),
            number,
            name: person.name().to_owned(),
            activity: here.t.say(activity_key(person.card.activity)),
            level: person.card.level.clone(),
            limit: person
                .card
                .depth_limit_m
                .map_or_else(String::new, |d| here.t.told(Measure::Limit, d.m())),
        })
        .collect();
    let is_counting = here.is_counting();
    let counts = if is_counting {
        Vec::new()
    } else {
        super::trip::counts(&here)
    };
    html(&PassengerList {
        frame: here.frame_to_fill(&app, &asked, &crew),
        title: here.title(),
        head: head(&here),
        changes,
        people: (!is_counting).then_some(rows.len()),
        rows,
        counts,
    })
}

#[derive(Template)]
#[template(path = "desk/boat-sheet.html")]
struct BoatSheetPage {
    frame: Frame,
    title: String,
    head: Head,
    dives: Vec<DiveBlock>,
    plan: Vec<String>,
    /// Whom to call and where to go: what is called what, and its lines.
    card: Vec<(String, Vec<String>)>,
    dry: Vec<String>,
    changes: Changes,
    forecasts: Vec<String>,
    go_verdict: String,
    go_lines: Vec<String>,
}

struct DiveBlock {
    number: u32,
    site: String,
    groups: Vec<GroupBlock>,
}

struct GroupBlock {
    changed: bool,
    line: Line,
    cut_off: String,
    members: Vec<MemberRow>,
}

struct MemberRow {
    changed: bool,
    name: String,
    leads: bool,
    restricted: bool,
    gas: String,
}

/// The sheet that goes along on paper.
pub async fn boat_sheet(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    let state = &here.snap.state;
    let changes = changes(&app, &here, Sheet::BoatSheet, None);
    let dives = state
        .dives
        .iter()
        .map(|(number, dive)| DiveBlock {
            number: *number,
            site: dive.site.name.clone(),
            groups: state
                .groups_of(*number)
                .into_iter()
                .map(|group| block(&here, group, &changes))
                .collect(),
        })
        .collect();
    let mut dry: Vec<String> = state
        .coming()
        .filter(|p| !state.groups.values().any(|g| g.members().contains(&p.id)))
        .map(|p| p.name().to_owned())
        .collect();
    dry.sort();
    let told = Told {
        t: here.t,
        zone: &here.zone,
        now: here.now,
    };
    let card = match state.opened.as_ref() {
        Some(opened) => super::equipment::printed(&app, opened.boat.id, here.t).await?,
        None => Vec::new(),
    };
    html(&BoatSheetPage {
        card,
        frame: here.frame_to_fill(&app, &asked, &crew),
        title: here.title(),
        head: head(&here),
        dives,
        plan: state
            .opened
            .as_ref()
            .map_or_else(Vec::new, |o| o.boat.emergency_plan.clone()),
        dry,
        changes,
        forecasts: go_list::forecasts(state, told),
        go_verdict: go_list::verdict(state, here.t),
        go_lines: go_list::told_lines(&here.snap, &go_list::own_lines(&app).await?, told),
    })
}

fn block(here: &Here, group: &Group, changes: &Changes) -> GroupBlock {
    let state = &here.snap.state;
    let members = state
        .members(group)
        .map(|person| MemberRow {
            changed: changes.people.contains(&person.id),
            name: person.name().to_owned(),
            leads: group.formed.leader == Some(person.id),
            restricted: person.card.fitness == Fitness::Restricted,
            gas: group
                .formed
                .kit
                .get(&person.id)
                .map_or_else(String::new, |kit| {
                    here.t.say_with(
                        "sheet-gas",
                        &[
                            ("litres", kit.cylinder_l.l().into()),
                            ("oxygen", (kit.oxygen.fraction() * 100.0).round().into()),
                            ("bar", kit.start_bar.bar().into()),
                        ],
                    )
                }),
        })
        .collect();
    GroupBlock {
        changed: changes.groups.contains(&group.id),
        cut_off: cut_off(here, group),
        line: lines::line(here, group),
        members,
    }
}

/// By when the group must be up: as instants once it is in, else as minutes from its drop.
fn cut_off(here: &Here, group: &Group) -> String {
    if let Some(d) = crate::trip::watch::deadlines(&here.snap.state, group) {
        let args = [
            ("due", here.time(d.expected).into()),
            ("late", here.time(d.latest).into()),
            ("overdue", here.time(d.overdue).into()),
        ];
        return here.t.say_with("sheet-cut-off-at", &args);
    }
    let members = group.members().clone();
    match window_at_drop(&here.snap.state, group, &members, here.now) {
        Ok(frozen) => {
            let w = frozen.window;
            let minutes = |s: u32| -> crate::words::Arg { lines::whole_minutes(s).into() };
            let args = [
                ("due", minutes(w.expected_s)),
                ("late", minutes(w.latest_s)),
                ("overdue", minutes(w.overdue_s)),
            ];
            here.t.say_with("sheet-cut-off", &args)
        }
        Err(faults) => faults.to_string(),
    }
}
