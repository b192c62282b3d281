//! Groups of a dive: people moved by buttons, pairs and threes in sight, and what the change
//! does to limits and windows before it is written.

use std::collections::BTreeMap;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use crate::trip::decide::{self, FormGroup};
use crate::trip::dives::Entry;
use crate::trip::event::{GroupFormed, Kit, LevelPlan, Mode, PersonId, PlanSheet, StopPlan};
use crate::trip::forecast::plan_sheet;
use crate::trip::state::Group;
use crate::trip::{GroupId, TripId};
use crate::units::system::{Measure, System};
use crate::units::{
    CylinderBar, CylinderLitres, Depth, LitresPerMinute, Minutes, OxygenFraction, bounds,
};
use crate::web::act::{Acted, act};
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::{Fields, TYPED_IN};
use crate::web::frame::Frame;
use crate::web::page::{Asked, html, refused};
use crate::web::parts::{Choice, FieldFault};
use crate::web::view;
use crate::words::Words;

use super::breathing::USUAL_L_MIN;
use super::draft::{Draft, Forming, divers};
use super::form::{Shown, lead, note};
use super::lines::{Line, line, lines};
use super::{Here, suggesting};

#[derive(Template)]
#[template(path = "desk/groups.html")]
struct GroupsPage {
    frame: Frame,
    title: String,
    url: String,
    dive: u32,
    site: String,
    dives: Vec<u32>,
    f: Shown,
    at: Vec<String>,
    free: Vec<Who>,
    cards: Vec<Card>,
    gone: Vec<Line>,
    modes: Vec<Choice>,
    has_new: bool,
    suggesting: suggesting::Shown,
    changed: bool,
    may_write: bool,
}

struct Who {
    id: String,
    name: String,
    note: String,
    ticked: bool,
}

struct Card {
    key: String,
    letter: String,
    svg: String,
    units: Vec<Vec<Who>>,
    line: Option<Line>,
    is_new: bool,
}

/// The way to the groups of the first dive.
pub async fn first(
    State(app): State<App>,
    _: Crew,
    Path(trip): Path<TripId>,
) -> Result<Redirect, Error> {
    let here = Here::load(&app, trip).await?;
    let state = here.state();
    let dive = state.dive.max(1);
    // Before a dive is planned there is nothing to put a group on.
    Ok(Redirect::to(&if state.dives.contains_key(&dive) {
        format!("/desk/{trip}/groups/{dive}")
    } else {
        format!("/desk/{trip}#add-dive")
    }))
}

/// Cylinder, pressure and depth of the stop that most dive with, as they are spoken of in each
/// system (common practice, no source).
pub(super) fn usual(t: &Words) -> (&'static str, &'static str, &'static str) {
    match t.system() {
        System::Metric => ("12", "200", "5"),
        System::Imperial => ("80 @ 3000", "3000", "15"),
    }
}

/// The groups of a dive as they stand.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, dive)): Path<(TripId, u32)>,
) -> Result<Response, Error> {
    let here = Here::to_plan(&app, trip).await?;
    let draft = Draft::of(here.state(), dive);
    let (cylinder, pressure, stop) = usual(here.t);
    let f = Shown::of_trip(&app, &here.snap)
        .with("cylinder", cylinder)
        .with("oxygen", "21")
        .with("bar", pressure)
        .with("breathing", here.t.field(Measure::Rate, USUAL_L_MIN))
        .with("mode", "return")
        .with("stop_depth", stop)
        .with("stop_minutes", "3");
    html(&draw(&app, &asked, &crew, &here, dive, &draft, f)?)
}

fn draw(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    here: &Here,
    dive: u32,
    draft: &Draft,
    f: Shown,
) -> Result<GroupsPage, Error> {
    draw_with(app, asked, crew, here, dive, (draft, Vec::new()), f)
}

/// The page; `told`: what was suggested, and why.
fn draw_with(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    here: &Here,
    dive: u32,
    (draft, told): (&Draft, Vec<suggesting::Told>),
    f: Shown,
) -> Result<GroupsPage, Error> {
    let state = here.state();
    let site = state
        .dives
        .get(&dive)
        .ok_or(Error::NotFound)?
        .site
        .name
        .clone();
    let who = |id: &PersonId| {
        let person = state.people.get(id);
        let limit = person.and_then(|p| p.card.depth_limit_m).map(Depth::m);
        let level = person.map_or("", |p| p.card.level.as_str());
        let limit = limit.map_or_else(
            || here.t.say("no-depth-limit"),
            |m| here.t.told(Measure::Limit, m),
        );
        Who {
            id: id.to_string(),
            name: person.map_or_else(String::new, |p| p.name().to_owned()),
            note: [limit, level.to_owned(), here.breathing.say(*id, here.t)]
                .into_iter()
                .filter(|part| !part.is_empty())
                .collect::<Vec<_>>()
                .join(" · "),
            ticked: f.is("who", &id.to_string()),
        }
    };
    let members = draft.members();
    let free_ids: Vec<PersonId> = divers(state, dive)
        .into_iter()
        .filter(|id| !members.contains(id))
        .collect();
    let mut free: Vec<Who> = free_ids.iter().map(who).collect();
    free.sort_by(|a, b| a.name.cmp(&b.name));
    let cards = draft
        .groups
        .iter()
        .map(|forming| Card {
            key: forming.key(),
            letter: forming.letter.clone(),
            svg: view::mark(&forming.letter).map_or_else(String::new, |mark| mark.svg()),
            units: forming
                .units
                .iter()
                .map(|unit| unit.iter().map(who).collect())
                .collect(),
            line: forming
                .id
                .and_then(|id| state.groups.get(&id))
                .filter(|_| !forming.units.is_empty())
                .map(|group| line(here, &as_drafted(here, group, forming, &f))),
            is_new: forming.id.is_none(),
        })
        .collect();
    let modes = modes(&f, here);
    let mut frame = here.frame_to_fill(app, asked, crew);
    f.mark(&mut frame);
    Ok(GroupsPage {
        title: here.title(),
        url: format!("/desk/{}", here.trip),
        dive,
        site,
        dives: state.dives.keys().copied().collect(),
        at: draft.fields(),
        free,
        cards,
        gone: lines(here, dive)
            .into_iter()
            .filter(|line| line.gone)
            .collect(),
        modes,
        has_new: draft.groups.iter().any(|group| group.id.is_none()),
        suggesting: suggesting::shown(here, &free_ids, &f, told),
        changed: *draft != Draft::of(state, dive),
        may_write: state.phase != crate::trip::state::Phase::Closed,
        frame,
        f,
    })
}

/// Choices of how a group comes back.
pub(super) fn modes(f: &Shown, here: &Here) -> Vec<Choice> {
    let choices = [
        ("return", "mode-return"),
        ("drift", "mode-drift"),
        ("one-way", "mode-one-way"),
    ]
    .map(|(word, key)| (word.to_owned(), here.t.say(key)));
    f.choose("mode", &choices)
}

/// A group as the draft would make it, for its limits and windows.
fn as_drafted(here: &Here, group: &Group, forming: &Forming, f: &Shown) -> Group {
    let mut drafted = group.clone();
    drafted.planned = forming.units.iter().flatten().copied().collect();
    drafted.formed.units.clone_from(&forming.units);
    let usual = kit_of(f, here.t);
    drafted.formed.kit = kits(here, group.dive, forming, usual.as_ref());
    let members = drafted.planned.clone();
    drafted.formed.leader = group
        .formed
        .leader
        .filter(|leader| members.contains(leader));
    if group.planned != drafted.planned {
        // Taken on for those who were in it then, not for who comes now.
        drafted.formed.limit_override = None;
    }
    drafted
}

/// Each member's kit: as it was in the group they come from, else the usual one with what the
/// person is known to breathe.
fn kits(here: &Here, dive: u32, forming: &Forming, usual: Option<&Kit>) -> BTreeMap<PersonId, Kit> {
    let held: BTreeMap<PersonId, &Kit> = here
        .state()
        .groups_of(dive)
        .into_iter()
        .flat_map(|group| group.formed.kit.iter().map(|(id, kit)| (*id, kit)))
        .collect();
    forming
        .units
        .iter()
        .flatten()
        .filter_map(|id| {
            if let Some(kit) = held.get(id) {
                return Some((*id, (*kit).clone()));
            }
            let mut kit = usual?.clone();
            kit.breathing_l_min = here.breathing.rate(*id).unwrap_or(kit.breathing_l_min);
            Some((*id, kit))
        })
        .collect()
}

/// The usual kit as it stands in the form, in the units that it was typed or is shown in.
fn kit_of(f: &Shown, t: &Words) -> Option<Kit> {
    let system = System::by_word(f.v(TYPED_IN)).unwrap_or(t.system());
    let figure = |name: &str, measure: Measure| measure.read(f.v(name), system);
    let oxygen_pct = f.v("oxygen").trim().replace(',', ".").parse::<f64>();
    Some(Kit {
        cylinder_l: CylinderLitres::from_l(figure("cylinder", Measure::Size)?).ok()?,
        oxygen: OxygenFraction::from_fraction(oxygen_pct.ok()? / 100.0).ok()?,
        start_bar: CylinderBar::from_bar(figure("bar", Measure::Pressure)?).ok()?,
        breathing_l_min: LitresPerMinute::from_l_min(figure("breathing", Measure::Rate)?).ok()?,
    })
}

/// The usual kit as typed, every fault beside its field.
fn usual_kit(fields: &Fields) -> Option<Kit> {
    let cylinder = fields.quantity("cylinder", &bounds::CYLINDER_L, CylinderLitres::from_l);
    let oxygen = fields.quantity("oxygen", &bounds::OXYGEN_PCT, |pct| {
        OxygenFraction::from_fraction(pct / 100.0)
    });
    let bar = fields.quantity("bar", &bounds::CYLINDER_BAR, CylinderBar::from_bar);
    let breathing = fields.quantity(
        "breathing",
        &bounds::BREATHING_L_MIN,
        LitresPerMinute::from_l_min,
    );
    Some(Kit {
        cylinder_l: cylinder?,
        oxygen: oxygen?,
        start_bar: bar?,
        breathing_l_min: breathing?,
    })
}

/// Moves people in the draft, or writes it.
pub async fn arrange(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, dive)): Path<(TripId, u32)>,
    fields: Fields,
) -> Result<Response, Error> {
    let here = Here::to_plan(&app, trip).await?;
    let mut draft = Draft::read(&fields, here.state(), dive);
    let step = fields.typed("do").to_owned();
    if step == "save" {
        return write(&app, &asked, &crew, &here, dive, &draft, &fields).await;
    }
    let people = fields.parsed_all::<PersonId>("who").unwrap_or_default();
    let mut told = Vec::new();
    let mut leads = Vec::new();
    if step == "suggest" {
        if let Some(suggested) = suggesting::suggested(&here, &mut draft, dive, &people, &fields) {
            (told, leads) = suggested;
        }
    } else if people.is_empty() {
        fields.fault("move", "fault-nobody-ticked", &[]);
    } else if step == "new" {
        let taken = here
            .state()
            .groups_of(dive)
            .into_iter()
            .map(|group| group.formed.letter.clone())
            .collect();
        let before = draft.groups.len();
        draft.new_group(&people, &taken);
        if draft.groups.len() == before && !draft.members().is_superset(&people) {
            fields.fault("move", "fault-no-letter", &[]);
        }
    } else if step == "out" {
        draft.out(&people);
    } else if step == "unit" {
        if !draft.unit(&people) {
            fields.fault("move", "fault-unit", &[]);
        }
    } else if let Some(key) = step.strip_prefix("to-") {
        draft.to(key, &people);
    }
    let faults = fields.faults();
    let wrong = !faults.is_empty();
    let kept: Vec<(String, String)> = fields
        .pairs()
        .iter()
        // After a move nobody is ticked any more, so that the next move starts clean.
        .filter(|(name, _)| name != "at" && (wrong || name != "who"))
        .cloned()
        .chain(leads.into_iter().map(|lead| ("lead".to_owned(), lead)))
        .collect();
    let f = Shown::of_trip(&app, &here.snap).refused(&Fields::of(kept), faults);
    let page = draw_with(&app, &asked, &crew, &here, dive, (&draft, told), f)?;
    if wrong { refused(&page) } else { html(&page) }
}

async fn write(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    here: &Here,
    dive: u32,
    draft: &Draft,
    fields: &Fields,
) -> Result<Response, Error> {
    let emptied: Vec<GroupId> = draft
        .groups
        .iter()
        .filter(|group| group.units.is_empty())
        .filter_map(|group| group.id)
        .collect();
    let commands = commands(here, dive, draft, fields, crew)?;
    let mut faults = fields.faults();
    if let Some(commands) = commands.filter(|_| faults.is_empty()) {
        if commands.is_empty() && emptied.is_empty() {
            return Ok(Redirect::to(&format!("/desk/{}/groups/{dive}", here.trip)).into_response());
        }
        let reason = here.t.say("group-emptied");
        let going = commands
            .iter()
            .flat_map(|command| command.formed.units.iter().flatten().copied())
            .collect();
        let carried = here.carried.of(&going);
        let decided = move |state: &_, _: &[_], _| {
            decide::carrying(state, &carried, |state| {
                decide::form_groups(state, commands.clone(), &emptied, &reason)
            })
        };
        match act(app, crew, here.trip, fields, decided).await? {
            Acted::Done(_) => {
                let there = format!("/desk/{}/groups/{dive}", here.trip);
                return Ok(Redirect::to(&there).into_response());
            }
            Acted::Refused(why) => faults = lead_groups(why),
        }
    }
    let here = Here::to_plan(app, here.trip).await?;
    let f = Shown::of_trip(app, &here.snap).refused(fields, faults);
    refused(&draw(app, asked, crew, &here, dive, draft, f)?)
}

fn lead_groups(faults: Vec<FieldFault>) -> Vec<FieldFault> {
    lead(
        faults,
        &[
            ("members", "move"),
            ("units", "move"),
            ("letter", "move"),
            ("leader", "move"),
            ("group", "move"),
            ("dive", "move"),
            ("kit", "cylinder"),
            ("depth", "override"),
        ],
    )
}

/// The groups that change, as they are to be formed.
fn commands(
    here: &Here,
    dive: u32,
    draft: &Draft,
    fields: &Fields,
    crew: &Crew,
) -> Result<Option<Vec<FormGroup>>, Error> {
    let state = here.state();
    let now = Draft::of(state, dive);
    let usual = usual_kit(fields);
    let has_new = draft.groups.iter().any(|group| group.id.is_none());
    let new_plan = if has_new { new_plan(fields) } else { None };
    let taken_on = taken_on(fields, crew);
    let mut commands = Vec::new();
    for (nth, forming) in draft.groups.iter().enumerate() {
        if forming.units.is_empty() || now.groups.contains(forming) {
            continue;
        }
        let base = match forming.id.and_then(|id| state.groups.get(&id)) {
            Some(group) => as_drafted(here, group, forming, &Shown::default()).formed,
            None => match &new_plan {
                Some((plan, mode)) => GroupFormed {
                    letter: forming.letter.clone(),
                    leader: suggesting::leader(fields, forming),
                    units: forming.units.clone(),
                    plan: plan.clone(),
                    mode: *mode,
                    exit_zone: None,
                    entry_place: None,
                    kit: BTreeMap::new(),
                    limit_override: None,
                    enters_at: None,
                },
                None => return Ok(None),
            },
        };
        let mut formed = GroupFormed {
            kit: kits(here, dive, forming, usual.as_ref()),
            ..base
        };
        if formed.limit_override.is_none()
            && !decide::beyond_limits(state, dive, &formed, Entry::Planned).is_empty()
        {
            formed.limit_override.clone_from(&taken_on);
        }
        let id = match forming.id {
            Some(id) => id,
            None => GroupId::new(super::numbered(fields, nth)?),
        };
        commands.push(FormGroup { id, dive, formed });
    }
    Ok(Some(commands))
}

/// Who takes a limit on, and why.
pub(super) fn taken_on(fields: &Fields, crew: &Crew) -> Option<String> {
    fields
        .optional_text("override", 300)?
        .map(|why| format!("{}: {why}", crew.0.name))
}

fn new_plan(fields: &Fields) -> Option<(PlanSheet, Mode)> {
    let depth = fields.quantity("depth", &bounds::DEPTH_M, Depth::from_m);
    let minutes = fields.quantity("minutes", &bounds::LEVEL_MIN, Minutes::from_min);
    let stop = stop(fields);
    let mode = mode(fields);
    let levels = vec![LevelPlan {
        depth_m: depth?,
        minutes: minutes?,
    }];
    match plan_sheet(levels, stop?) {
        Ok(sheet) => Some((sheet, mode?)),
        Err(faults) => {
            let called = crate::web::language::words().say("plan-minutes");
            note(fields, &faults, |_| ("minutes".to_owned(), called.clone()));
            None
        }
    }
}

/// The safety stop as typed.
pub(super) fn stop(fields: &Fields) -> Option<StopPlan> {
    let depth_m = fields.quantity("stop_depth", &bounds::STOP_DEPTH_M, Depth::from_m);
    let minutes = fields.quantity("stop_minutes", &bounds::SAFETY_STOP_MIN, Minutes::from_min);
    Some(StopPlan {
        depth_m: depth_m?,
        minutes: minutes?,
    })
}

/// How the group comes back, as chosen.
pub(super) fn mode(fields: &Fields) -> Option<Mode> {
    let is_one_way = fields.word(
        "mode",
        &[
            ("return", None),
            ("drift", Some(false)),
            ("one-way", Some(true)),
        ],
    )?;
    match is_one_way {
        None => Some(Mode::Return),
        Some(false) => Some(Mode::Drift),
        Some(true) => {
            let from = crate::units::SetTowards::from_deg;
            let course = fields.quantity("course", &bounds::DIRECTION_DEG, from);
            course.map(|course_deg| Mode::OneWay { course_deg })
        }
    }
}
