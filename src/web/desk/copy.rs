//! The same trip on another day: boat, crew and dives, and if asked for everybody else with the
//! groups and their plans; no time, and nothing that happened.

use std::collections::{BTreeMap, BTreeSet};

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::civil::Date;
use jiff::{SignedDuration, ToSpan};

use crate::dive::settings::{PlanFigures, PlanSettings};
use crate::dive::window::WindowSettings;
use crate::store::register::key;
use crate::trip::decide::{self, CopyTrip, FormGroup};
use crate::trip::event::{Activity, DivePlanned, GroupFormed, PersonCard, SiteSheet, TripOpened};
use crate::trip::same::Same;
use crate::trip::state::{Group, plus};
use crate::trip::{BoatId, CrewId, GroupId, PersonId, TripId};
use crate::web::act::{self, Acted};
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{Asked, html, refused};
use crate::web::parts::Choice;
use crate::web::view;

use super::Here;
use super::form::Shown;
use super::new_trip::{day as day_field, skippers};

/// How long from the midnight before it a trip carries the tides of a site.
const TIDES_FOR: SignedDuration = SignedDuration::from_hours(48);

#[derive(Template)]
#[template(path = "desk/copy.html")]
struct CopyPage {
    frame: Frame,
    title: String,
    url: String,
    f: Shown,
    boats: Vec<Choice>,
    skippers: Vec<Choice>,
    people: Vec<Choice>,
    /// What would be copied.
    takes: Vec<String>,
}

async fn draw(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    here: &Here,
    f: Shown,
) -> Result<CopyPage, Error> {
    let t = here.t;
    let boats = app.store().boats().await?.into_iter();
    let boats: Vec<(String, String)> = boats
        .map(|boat| (boat.sheet.id.to_string(), boat.sheet.name))
        .collect();
    let known = skippers(app).await?.into_iter();
    let known: Vec<(String, String)> = known.map(|(id, name)| (id.to_string(), name)).collect();
    let mut frame = here.frame_to_fill(app, asked, crew);
    f.mark(&mut frame);
    let state = &here.snap.state;
    let groups: usize = state.dives.keys().map(|n| state.groups_of(*n).len()).sum();
    let (coming, others) = (
        state.coming().filter(|p| is_crew(p.card.activity)).count(),
        state.coming().filter(|p| !is_crew(p.card.activity)).count(),
    );
    // A count that is open stays blind here as well.
    let people = if here.is_counting() {
        t.say("hidden-while-counting")
    } else {
        t.say_with(
            "copy-people",
            &[
                ("crew", coming.into()),
                ("others", others.into()),
                ("groups", groups.into()),
            ],
        )
    };
    let dives = [
        ("dives", state.dives.len().into()),
        ("groups", groups.into()),
    ];
    Ok(CopyPage {
        title: here.title(),
        url: format!("/desk/{}", here.trip),
        boats: f.choose("boat", &boats),
        skippers: f.choose("skipper", &known),
        people: f.choose("people", &[("yes".to_owned(), t.say("copy-with-people"))]),
        takes: vec![t.say_with("copy-dives", &dives), people],
        frame,
        f,
    })
}

fn is_crew(activity: Activity) -> bool {
    activity == Activity::Crew
}

/// The form.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    let opened = here.snap.state.opened.as_ref().ok_or(Error::NoSuchTrip)?;
    let zone = app.centre_zone().await?;
    let today = app.clock().now().to_zoned_datetime(zone).date();
    let next = opened.day.max(today).saturating_add(1.day());
    let f = Shown::plain(&app)
        .with("day", next.to_string())
        .with("boat", opened.boat.id.to_string())
        .with("skipper", opened.skipper_account.to_string())
        .with("harbour", opened.harbour.clone());
    html(&draw(&app, &asked, &crew, &here, f).await?)
}

/// Opens the copy.
pub async fn save(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
    fields: Fields,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    let new = TripId::new(super::numbered(&fields, 0)?);
    let faults = match check(&app, &here, &fields).await? {
        Some(command) => {
            let decided = move |state: &_, _| decide::copy_trip(state, command);
            match act::open(&app, &crew, new, &fields, decided).await? {
                Acted::Done(_) => {
                    // The lists show it from its first look-up on.
                    app.live().snapshot(new).await?;
                    return Ok(Redirect::to(&format!("/desk/{new}")).into_response());
                }
                Acted::Refused(faults) => faults,
            }
        }
        None => fields.faults(),
    };
    let f = Shown::plain(&app).refused(&fields, faults);
    refused(&draw(&app, &asked, &crew, &here, f).await?)
}

async fn check(app: &App, here: &Here, fields: &Fields) -> Result<Option<CopyTrip>, Error> {
    let state = &here.snap.state;
    let old = state.opened.as_ref().ok_or(Error::NoSuchTrip)?;
    let boat = match fields.parsed::<BoatId>("boat") {
        Some(id) => app.store().boat(id).await?,
        None => None,
    };
    let known = skippers(app).await?;
    let skipper = fields
        .parsed::<CrewId>("skipper")
        .and_then(|id| known.get(&id).map(|name| (id, name.clone())));
    let harbour = fields.text("harbour", 80);
    let day = day_field(app, fields, "day").await?;
    for (name, missing) in [("boat", boat.is_none()), ("skipper", skipper.is_none())] {
        if missing && !fields.faults().iter().any(|fault| fault.field == name) {
            fields.fault(name, "fault-choose", &[]);
        }
    }
    let (Some(boat), Some((skipper_account, skipper)), Some(harbour), Some(day)) =
        (boat, skipper, harbour, day)
    else {
        return Ok(None);
    };
    let people = people(app, here, fields.ticked("people")).await?;
    let windows: Option<WindowSettings> = app.store().setting(key::WINDOWS).await?;
    let plans: Option<PlanSettings> = app.store().setting(key::PLANS).await?;
    let opened = TripOpened {
        day,
        harbour,
        time_zone: old.time_zone.clone(),
        boat: boat.sheet,
        skipper,
        skipper_account,
        // What the centre has tightened since holds for the copy as well.
        windows: windows.map_or(old.windows, |set| old.windows.tightened_by(set)),
        plans: plans.map_or(Ok(old.plans), |set| strictest(old.plans, set))?,
        drill: app.reached().drill_speed.is_some(),
    };
    let joined: BTreeSet<PersonId> = people.iter().map(|(id, _)| *id).collect();
    let same = app.store().same().await?;
    Ok(Some(CopyTrip {
        dives: dives(app, here, day).await?,
        groups: groups(app, here, &joined, &same),
        opened,
        people,
    }))
}

/// The stricter figure of each pair.
fn strictest(a: PlanSettings, b: PlanSettings) -> Result<PlanSettings, Error> {
    let (a, b) = (PlanFigures::from(a), PlanFigures::from(b));
    Ok(PlanSettings::try_from(PlanFigures {
        gradient_low: a.gradient_low.min(b.gradient_low),
        gradient_high: a.gradient_high.min(b.gradient_high),
        reserve_bar: a.reserve_bar.max(b.reserve_bar),
    })?)
}

/// The crew, and everybody else if asked for; what the register says of them now counts, as
/// somebody may have been restricted since.
async fn people(
    app: &App,
    here: &Here,
    everybody: bool,
) -> Result<Vec<(PersonId, PersonCard)>, Error> {
    let same = app.store().same().await?;
    let mut people: Vec<(PersonId, PersonCard)> = Vec::new();
    for person in here.snap.state.coming() {
        if !everybody && !is_crew(person.card.activity) {
            continue;
        }
        // Who was merged since comes as who remained, once.
        let id = same.remaining(person.id);
        if people.iter().any(|(known, _)| *known == id) {
            continue;
        }
        let mut card = person.card.clone();
        if let Some(known) = app.store().person(id).await? {
            card.name = known.name;
            card.level = known.level;
            card.depth_limit_m = known.depth_limit;
            card.fitness = known.fitness;
            card.last_dive = known.last_dive.max(card.last_dive);
        }
        people.push((id, card));
    }
    Ok(people)
}

/// The dives, each on its site as the register has it now, with the tides of the new day. A site
/// that is no longer there is taken as the trip had it, without tides: those were of its day.
async fn dives(app: &App, here: &Here, day: Date) -> Result<Vec<DivePlanned>, Error> {
    let state = &here.snap.state;
    let zone = view::zone(state);
    let begins = day
        .to_zoned_datetime(zone)
        .map_or(here.now, |midnight| midnight.timestamp());
    let mut dives = Vec::new();
    for planned in state.dives.values() {
        let known = app.store().site(planned.site.id).await?;
        let now = known.map(|site| site.sheet(begins, plus(begins, TIDES_FOR)));
        let site = now.transpose()?.unwrap_or_else(|| SiteSheet {
            tides: None,
            ..planned.site.clone()
        });
        dives.push(DivePlanned { site });
    }
    Ok(dives)
}

/// The groups of which somebody comes along: the log holds no group without members.
fn groups(app: &App, here: &Here, joined: &BTreeSet<PersonId>, same: &Same) -> Vec<FormGroup> {
    let state = &here.snap.state;
    let mut groups = Vec::new();
    for (dive, number) in state.dives.keys().zip(1..) {
        for group in state.groups_of(*dive) {
            let formed = again(group, joined, same);
            if !formed.units.is_empty() {
                groups.push(FormGroup {
                    id: GroupId::new(app.clock().new_uuid()),
                    dive: number,
                    formed,
                });
            }
        }
    }
    groups
}

/// A group as it was planned. Who released a limit, and when it meant to go in, were of that day.
/// Of a pair or three of which one is left, that one stands in no group: nobody is paired anew
/// by a copy.
fn again(group: &Group, joined: &BTreeSet<PersonId>, same: &Same) -> GroupFormed {
    let mut formed = group.formed.clone();
    for unit in &mut formed.units {
        *unit = unit.iter().map(|id| same.remaining(*id)).collect();
        unit.retain(|id| joined.contains(id));
    }
    formed.units.retain(|unit| unit.len() >= 2);
    let members: BTreeSet<PersonId> = formed.units.iter().flatten().copied().collect();
    let kit: BTreeMap<_, _> = formed
        .kit
        .into_iter()
        .map(|(id, kit)| (same.remaining(id), kit))
        .filter(|(id, _)| members.contains(id))
        .collect();
    GroupFormed {
        leader: formed
            .leader
            .map(|leader| same.remaining(leader))
            .filter(|leader| members.contains(leader)),
        kit,
        limit_override: None,
        enters_at: None,
        ..formed
    }
}
