//! The plan of one group: levels, stop, way back, what each member breathes, and whose limit it
//! passes.

use std::collections::{BTreeMap, BTreeSet};

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use serde::Deserialize;

use crate::trip::decide::{self, FormGroup};
use crate::trip::dives::{Entry, settings};
use crate::trip::event::{Fact, GroupFormed, Kit, LevelPlan, Mode, PersonId, PlanSheet};
use crate::trip::forecast::plan_sheet;
use crate::trip::state::Group;
use crate::trip::{GroupId, TripId};
use crate::units::system::Measure;
use crate::units::{
    CylinderBar, CylinderLitres, Depth, LitresPerMinute, Minutes, OxygenFraction, bounds,
};
use crate::web::act::{Acted, act};
use crate::web::app::App;
use crate::web::carried::day_begins;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path, Query};
use crate::web::form::{Fields, LONGEST_REASON, size_keys};
use crate::web::frame::Frame;
use crate::web::gas;
use crate::web::page::{Asked, answered, html, refused};
use crate::web::parts::{Choice, FieldFault};
use crate::web::reckoned::{self, Reckoned};
use crate::web::view;

use super::breathing::USUAL_L_MIN;
use super::form::{Shown, lead, note};
use super::groups;
use super::lines::{self, Line};
use super::{Here, figure};

/// Most levels of a plan.
const MOST_LEVELS: usize = 5;

#[derive(Template)]
#[template(path = "desk/plan.html")]
struct PlanPage {
    frame: Frame,
    title: String,
    url: String,
    dive: u32,
    line: Line,
    f: Shown,
    leaders: Vec<Choice>,
    modes: Vec<Choice>,
    zones: Vec<Choice>,
    levels: Vec<Level>,
    members: Vec<Member>,
    /// How the form stands to the gas that members analysed.
    gas: GasForm,
    may_write: bool,
    stood_down: Option<String>,
    checked: bool,
    reckoned: Option<Reckoned>,
}

/// Which gas a form has.
#[derive(PartialEq)]
enum GasForm {
    /// As planned; nobody analysed any.
    Planned,
    /// As planned; the gas as analysed can be filled in.
    Offered,
    /// As analysed, where somebody did.
    Taken,
}

struct Level {
    nth: String,
    number: usize,
    depth: String,
    minutes: String,
}

struct Member {
    id: String,
    name: String,
    limit: String,
    breathes: String,
    /// How the gas stands to what was analysed; empty if nothing was.
    analysed: String,
    cells: Vec<Cell>,
}

struct Cell {
    field: &'static str,
    label: String,
    value: String,
    keys: &'static str,
}

fn shown(app: &App, here: &Here, group: &Group) -> Shown {
    let (formed, t) = (&group.formed, here.t);
    let mode = match formed.mode {
        Mode::Return => "return",
        Mode::Drift => "drift",
        Mode::OneWay { .. } => "one-way",
    };
    let mut f = Shown::of_trip(app, &here.snap)
        .with("mode", mode)
        .with(
            "leader",
            formed.leader.map_or_else(String::new, |id| id.to_string()),
        )
        .with("zone", formed.exit_zone.clone().unwrap_or_default())
        .with(
            "enters",
            formed
                .enters_at
                .map_or_else(String::new, |at| view::clock_time(at, &here.zone)),
        )
        .with(
            "stop_depth",
            t.field(Measure::Stop, formed.plan.safety_stop.depth_m.m()),
        )
        .with(
            "stop_minutes",
            figure(formed.plan.safety_stop.minutes.min()),
        );
    if let Mode::OneWay { course_deg } = formed.mode {
        f = f.with("course", figure(course_deg.deg()));
    }
    for (nth, level) in formed.plan.levels.iter().enumerate() {
        f = f
            .with(
                &format!("depth-{nth}"),
                t.field(Measure::Depth, level.depth_m.m()),
            )
            .with(&format!("minutes-{nth}"), figure(level.minutes.min()));
    }
    for id in group
        .members()
        .iter()
        .filter(|id| !formed.kit.contains_key(id))
    {
        let rate = here.breathing.rate(*id);
        let rate = rate.map_or(USUAL_L_MIN, LitresPerMinute::l_min);
        let rate = t.field(Measure::Rate, rate);
        f = f.with(&format!("breathing-{id}"), rate);
    }
    for (id, kit) in &formed.kit {
        f = f
            .with(
                &format!("cylinder-{id}"),
                t.field(Measure::Size, kit.cylinder_l.l()),
            )
            .with(
                &format!("oxygen-{id}"),
                figure(kit.oxygen.fraction() * 100.0),
            )
            .with(
                &format!("bar-{id}"),
                t.field(Measure::Pressure, kit.start_bar.bar()),
            )
            .with(
                &format!("breathing-{id}"),
                t.field(Measure::Rate, kit.breathing_l_min.l_min()),
            );
    }
    f
}

/// What a page of a plan says of it.
#[derive(Clone, Copy, PartialEq)]
enum Says {
    /// The plan as it was saved.
    Saved,
    /// The plan as it is typed, which is not saved.
    Checked,
    /// Nothing: what is typed makes no plan.
    Nothing,
}

/// What the plan is to those who go with it, or went.
fn reckon(here: &Here, group: &Group) -> Option<Reckoned> {
    let entry = group
        .drop
        .as_ref()
        .map_or(Entry::Planned, |drop| Entry::At(drop.at));
    let going = reckoned::in_order(group);
    Reckoned::of(
        here.state(),
        group.dive,
        &group.formed,
        &going,
        entry,
        here.t,
    )
}

fn draw(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    here: &Here,
    (group, says): (&Group, Says),
    f: Shown,
) -> PlanPage {
    let state = here.state();
    let people: Vec<_> = state.members(group).collect();
    let mut leaders = vec![(String::new(), here.t.say("no-leader"))];
    leaders.extend(
        people
            .iter()
            .map(|p| (p.id.to_string(), p.name().to_owned())),
    );
    // A chart that cannot be read offers no zones; the page of the site says why.
    let ground = here.snap.grounds.get(group.dive);
    let mut zones = vec![(String::new(), here.t.say("no-zone"))];
    zones.extend(
        ground
            .iter()
            .flat_map(|ground| &ground.zones)
            .map(|zone| (zone.name.clone(), zone.name.clone())),
    );
    let members: Vec<Member> = people
        .iter()
        .map(|person| {
            let cells = [
                ("cylinder", here.t.say("kit-cylinder")),
                ("oxygen", here.t.say("kit-oxygen")),
                ("bar", here.t.say("kit-bar")),
                ("breathing", here.t.say("kit-breathing")),
            ]
            .map(|(field, label)| Cell {
                value: f.v(&format!("{field}-{}", person.id)).to_owned(),
                keys: if field == "cylinder" {
                    size_keys()
                } else {
                    "decimal"
                },
                field,
                label,
            });
            Member {
                id: person.id.to_string(),
                name: person.name().to_owned(),
                limit: person.card.depth_limit_m.map_or_else(
                    || here.t.say("no-depth-limit"),
                    |d| here.t.told(Measure::Limit, d.m()),
                ),
                breathes: here.breathing.say(person.id, here.t),
                analysed: here
                    .gas
                    .of(group.dive, person.id)
                    .filter(|one| one.analysis.is_some())
                    .map_or_else(String::new, |one| gas::standing(one, here.t)),
                cells: cells.into(),
            }
        })
        .collect();
    let mut frame = here.frame_to_fill(app, asked, crew);
    f.mark(&mut frame);
    PlanPage {
        title: here.title(),
        url: format!("/desk/{}", here.trip),
        dive: group.dive,
        line: lines::line_beside_limits(here, group),
        leaders: f.choose("leader", &leaders),
        modes: groups::modes(&f, here),
        zones: f.choose("zone", &zones),
        levels: (0..MOST_LEVELS)
            .map(|nth| Level {
                nth: nth.to_string(),
                number: nth + 1,
                depth: f.v(&format!("depth-{nth}")).to_owned(),
                minutes: f.v(&format!("minutes-{nth}")).to_owned(),
            })
            .collect(),
        gas: if members.iter().any(|one| !one.analysed.is_empty()) {
            GasForm::Offered
        } else {
            GasForm::Planned
        },
        members,
        may_write: group.drop.is_none() && group.stood_down.is_none(),
        stood_down: group.stood_down.clone(),
        checked: says == Says::Checked,
        reckoned: reckon(here, group).filter(|_| says != Says::Nothing),
        frame,
        f,
    }
}

fn group(here: &Here, id: GroupId) -> Result<Group, Error> {
    here.state().groups.get(&id).cloned().ok_or(Error::NotFound)
}

/// The plan as it stands.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, id)): Path<(TripId, GroupId)>,
    Query(asked_gas): Query<AskedGas>,
) -> Result<Response, Error> {
    let here = Here::to_plan(&app, trip).await?;
    let group = group(&here, id)?;
    let mut f = shown(&app, &here, &group);
    if asked_gas.gas.is_some() {
        f = with_analysed(f, &here, &group);
    }
    let drawn = (&group, Says::Saved);
    let mut page = draw(&app, &asked, &crew, &here, drawn, f);
    if asked_gas.gas.is_some() {
        page.gas = GasForm::Taken;
    }
    html(&page)
}

/// What the form of a plan is to start from.
#[derive(Debug, Default, Deserialize)]
pub struct AskedGas {
    /// Anything: the gas as it was analysed.
    gas: Option<String>,
}

/// The form with each member's gas as it was analysed, where somebody did.
fn with_analysed(mut f: Shown, here: &Here, group: &Group) -> Shown {
    for id in group.members() {
        let planned = here.gas.of(group.dive, *id);
        let Some(analysis) = planned.and_then(|one| one.analysis.as_ref()) else {
            continue;
        };
        f = f
            .instead(
                &format!("cylinder-{id}"),
                here.t.field(Measure::Size, analysis.litres.l()),
            )
            .instead(
                &format!("oxygen-{id}"),
                figure(analysis.oxygen.fraction() * 100.0),
            )
            .instead(
                &format!("bar-{id}"),
                here.t.field(Measure::Pressure, analysis.bar.bar()),
            );
    }
    f
}

/// Checks a plan, or writes it.
pub async fn save(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, id)): Path<(TripId, GroupId)>,
    fields: Fields,
) -> Result<Response, Error> {
    let here = Here::to_plan(&app, trip).await?;
    let group = group(&here, id)?;
    let formed = typed(&here, &group, &fields, &crew);
    let mut faults = fields.faults();
    let is_check = fields.typed("do") == "check";
    if let Some(formed) = formed.filter(|_| faults.is_empty()) {
        let dive = group.dive;
        let command = FormGroup { id, dive, formed };
        if is_check {
            let mut checked = group.clone();
            checked.formed.clone_from(&command.formed);
            let mut faults = Vec::new();
            match decide::form_group(here.state(), command) {
                Ok(drafts) => {
                    // With the stops that it owes in its run time.
                    for draft in drafts {
                        if let Fact::GroupFormed(formed) = draft.fact {
                            checked.formed = formed;
                        }
                    }
                }
                Err(why) => {
                    let why = crate::web::form::sentences(&why, here.t);
                    faults = lead_plan(why, &here, &group);
                }
            }
            let is_wrong = !faults.is_empty();
            let f = Shown::of_trip(&app, &here.snap).refused(&fields, faults);
            let drawn = (&checked, Says::Checked);
            let page = draw(&app, &asked, &crew, &here, drawn, f);
            return answered(&page, !is_wrong);
        }
        let carried = here.carried.of(group.members());
        let decided = move |state: &_, _: &[_], _| {
            decide::carrying(state, &carried, |state| {
                decide::form_group(state, command.clone())
            })
        };
        match act(&app, &crew, trip, &fields, decided).await? {
            Acted::Done(_) => {
                let there = format!("/desk/{trip}/groups/{dive}");
                return Ok(Redirect::to(&there).into_response());
            }
            Acted::Refused(why) => faults = lead_plan(why, &here, &group),
        }
    }
    let here = Here::to_plan(&app, trip).await?;
    let f = Shown::of_trip(&app, &here.snap).refused(&fields, faults);
    let drawn = (&group, Says::Nothing);
    refused(&draw(&app, &asked, &crew, &here, drawn, f))
}

fn lead_plan(faults: Vec<FieldFault>, here: &Here, group: &Group) -> Vec<FieldFault> {
    let first = here
        .state()
        .members(group)
        .next()
        .map_or_else(String::new, |p| format!("bar-{}", p.id));
    lead(
        faults,
        &[
            ("depth", "depth-0"),
            ("members", "override"),
            ("kit", first.as_str()),
            ("units", "main"),
            ("group", "main"),
            ("letter", "main"),
        ],
    )
}

/// The group as typed, or nothing, with every fault beside its field.
fn typed(here: &Here, group: &Group, fields: &Fields, crew: &Crew) -> Option<GroupFormed> {
    let members: BTreeSet<PersonId> = group.members().clone();
    let leader = match fields.typed("leader") {
        "" => Some(None),
        _ => fields
            .parsed::<PersonId>("leader")
            .filter(|id| members.contains(id))
            .map(Some),
    };
    if leader.is_none() && fields.is_sound() {
        fields.fault("leader", "fault-choose", &[]);
    }
    let plan = plan(fields);
    let mode = groups::mode(fields);
    let exit_zone = fields.optional_text("zone", 100);
    let begins = day_begins(here.state(), &here.zone, here.now);
    let enters_at = fields.time_of_day("enters", &here.zone, begins);
    let kit = kits(here, fields, &members);
    let mut formed = GroupFormed {
        leader: leader?,
        plan: plan?,
        mode: mode?,
        exit_zone: exit_zone?,
        enters_at: enters_at?,
        kit: kit?,
        limit_override: None,
        ..group.formed.clone()
    };
    if !decide::beyond_limits(here.state(), group.dive, &formed, Entry::Planned).is_empty() {
        formed.limit_override = groups::taken_on(fields, crew);
    }
    Some(formed)
}

fn plan(fields: &Fields) -> Option<PlanSheet> {
    let mut levels = Vec::new();
    let mut is_whole = true;
    for nth in 0..MOST_LEVELS {
        let (depth, minutes) = (format!("depth-{nth}"), format!("minutes-{nth}"));
        let is_empty = fields.typed(&depth).is_empty() && fields.typed(&minutes).is_empty();
        if nth > 0 && is_empty {
            continue;
        }
        let depth = fields.quantity(&depth, &bounds::DEPTH_M, Depth::from_m);
        let minutes = fields.quantity(&minutes, &bounds::LEVEL_MIN, Minutes::from_min);
        match (depth, minutes) {
            (Some(depth_m), Some(minutes)) => levels.push(LevelPlan { depth_m, minutes }),
            _ => is_whole = false,
        }
    }
    let stop = groups::stop(fields)?;
    if !is_whole {
        return None;
    }
    match plan_sheet(levels, stop) {
        Ok(sheet) => Some(sheet),
        Err(faults) => {
            note(fields, &faults, place_of_level);
            None
        }
    }
}

/// `levels[1].minutes` stands in the field `minutes-1` of level 2.
fn place_of_level(path: &str) -> (String, String) {
    let t = crate::web::language::words();
    let nth: String = path.chars().filter(char::is_ascii_digit).collect();
    let level = |nth: usize| t.say_with("plan-level", &[("n", (nth + 1).into())]);
    match nth.parse::<usize>() {
        Ok(nth) if path.ends_with("minutes") => (format!("minutes-{nth}"), level(nth)),
        Ok(nth) => (format!("depth-{nth}"), level(nth)),
        Err(_) if path.contains("stop") => ("stop_depth".to_owned(), t.say("plan-stop-depth")),
        Err(_) => ("minutes-0".to_owned(), t.say("plan-levels")),
    }
}

fn kits(
    here: &Here,
    fields: &Fields,
    members: &BTreeSet<PersonId>,
) -> Option<BTreeMap<PersonId, Kit>> {
    let reserve = settings(here.state()).reserve();
    let mut kits = BTreeMap::new();
    for id in members {
        let named = |name: &str| format!("{name}-{id}");
        let cylinder = fields.quantity(
            &named("cylinder"),
            &bounds::CYLINDER_L,
            CylinderLitres::from_l,
        );
        let oxygen = fields.quantity(&named("oxygen"), &bounds::OXYGEN_PCT, |pct| {
            OxygenFraction::from_fraction(pct / 100.0)
        });
        let bar = fields.quantity(&named("bar"), &bounds::CYLINDER_BAR, CylinderBar::from_bar);
        if let Some(bar) = bar.filter(|bar| *bar < reserve) {
            let args = [
                ("name", here.state().name_of(*id).into()),
                ("bar", bar.bar().into()),
                ("reserve", reserve.bar().into()),
            ];
            fields.fault(&named("bar"), "refused-below-reserve", &args);
        }
        let breathing = fields.quantity(
            &named("breathing"),
            &bounds::BREATHING_L_MIN,
            LitresPerMinute::from_l_min,
        );
        if let (Some(cylinder_l), Some(oxygen), Some(start_bar), Some(breathing_l_min)) =
            (cylinder, oxygen, bar, breathing)
        {
            kits.insert(
                *id,
                Kit {
                    cylinder_l,
                    oxygen,
                    start_bar,
                    breathing_l_min,
                },
            );
        }
    }
    (kits.len() == members.len()).then_some(kits)
}

/// The group does not dive.
pub async fn stand_down(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, id)): Path<(TripId, GroupId)>,
    fields: Fields,
) -> Result<Response, Error> {
    let here = Here::to_plan(&app, trip).await?;
    let group = group(&here, id)?;
    let acted = match fields.or_empty("reason", LONGEST_REASON) {
        Some(reason) => {
            let decided = move |state: &_, _: &[_], _| decide::stand_down(state, id, &reason);
            act(&app, &crew, trip, &fields, decided).await?
        }
        None => Acted::Refused(fields.faults()),
    };
    match acted {
        Acted::Done(_) => {
            let there = format!("/desk/{trip}/groups/{}", group.dive);
            Ok(Redirect::to(&there).into_response())
        }
        Acted::Refused(why) => {
            let here = Here::to_plan(&app, trip).await?;
            let mut f = shown(&app, &here, &group).with("reason", fields.typed("reason"));
            f.faults = lead(why, &[("group", "reason"), ("", "reason")]);
            let drawn = (&group, Says::Saved);
            refused(&draw(&app, &asked, &crew, &here, drawn, f))
        }
    }
}
