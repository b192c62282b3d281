//! A new trip: boat, skipper, harbour, day, and the minutes of its watch.

use std::collections::BTreeMap;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::ToSpan;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::dive::settings::{PlanFigures, PlanSettings};
use crate::dive::window::{WindowFigures, WindowSettings};
use crate::store::register::key;
use crate::trip::decide::{self, OpenTrip};
use crate::trip::event::{Role, TripOpened};
use crate::trip::{BoatId, CrewId, TripId};
use crate::units::bounds;
use crate::units::system::Measure;
use crate::web::act::{self, Acted};
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::Crew;
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{Asked, html, refused};
use crate::web::parts::Choice;

use super::form::{Shown, note};

#[derive(Template)]
#[template(path = "desk/new-trip.html")]
struct NewTripPage {
    frame: Frame,
    f: Shown,
    boats: Vec<Choice>,
    skippers: Vec<Choice>,
}

async fn draw(app: &App, asked: &Asked, crew: &Crew, f: Shown) -> Result<NewTripPage, Error> {
    let boats: Vec<(String, String)> = app
        .store()
        .boats()
        .await?
        .into_iter()
        .map(|boat| (boat.sheet.id.to_string(), boat.sheet.name))
        .collect();
    let skippers: Vec<(String, String)> = skippers(app)
        .await?
        .into_iter()
        .map(|(id, name)| (id.to_string(), name))
        .collect();
    let mut frame = super::frame(app, asked, crew);
    f.mark(&mut frame);
    Ok(NewTripPage {
        boats: f.choose("boat", &boats),
        skippers: f.choose("skipper", &skippers),
        frame,
        f,
    })
}

pub(super) async fn skippers(app: &App) -> Result<BTreeMap<CrewId, String>, Error> {
    let crew = app.store().list_crew().await?;
    Ok(crew
        .into_iter()
        .filter(|account| account.active && account.allowed.roles.contains(&Role::Skipper))
        .map(|account| (account.id, account.name))
        .collect())
}

/// The form, with the centre's own figures in it.
pub async fn page(State(app): State<App>, asked: Asked, crew: Crew) -> Result<Response, Error> {
    let zone = app.centre_zone().await?;
    let name: Option<String> = app.store().setting(key::TIME_ZONE).await?;
    let windows: Option<WindowSettings> = app.store().setting(key::WINDOWS).await?;
    let figures = WindowFigures::from(windows.unwrap_or_default());
    let plans: Option<PlanSettings> = app.store().setting(key::PLANS).await?;
    let plans = PlanFigures::from(plans.unwrap_or_default());
    let today = app.clock().now().to_zoned_datetime(zone).date();
    let harbour: Option<String> = app.store().setting(key::PLACE).await?;
    let mut f = Shown::plain(&app)
        .with("day", today.to_string())
        .with("harbour", harbour.unwrap_or_default())
        .with("time_zone", name.unwrap_or_else(|| "UTC".to_owned()));
    for (name, value) in [
        ("earliest_share", figures.earliest_share),
        ("latest_after_min", figures.latest_after_min),
        ("grace_min", figures.grace_min),
        ("night_latest_after_min", figures.night_latest_after_min),
        ("night_grace_min", figures.night_grace_min),
        ("sight_nm", figures.sight_nm),
        ("gradient_low", plans.gradient_low),
        ("gradient_high", plans.gradient_high),
    ] {
        f = f.with(name, value.to_string());
    }
    let t = crate::web::language::words();
    let f = f.with("reserve_bar", t.field(Measure::Needed, plans.reserve_bar));
    html(&draw(&app, &asked, &crew, f).await?)
}

/// Opens the trip.
pub async fn open(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    fields: Fields,
) -> Result<Response, Error> {
    let trip = TripId::new(super::numbered(&fields, 0)?);
    let faults = match check(&app, &fields).await? {
        Some(opened) => {
            let opened = move |state: &_, _| decide::open_trip(state, OpenTrip { opened });
            match act::open(&app, &crew, trip, &fields, opened).await? {
                Acted::Done(_) => {
                    let there = Redirect::to(&format!("/desk/{trip}"));
                    // The lists show it from its first look-up on.
                    app.live().snapshot(trip).await?;
                    return Ok(there.into_response());
                }
                Acted::Refused(faults) => faults,
            }
        }
        None => fields.faults(),
    };
    let f = Shown::plain(&app).refused(&fields, faults);
    refused(&draw(&app, &asked, &crew, f).await?)
}

async fn check(app: &App, fields: &Fields) -> Result<Option<TripOpened>, Error> {
    let boat = match fields.parsed::<BoatId>("boat") {
        Some(id) => app.store().boat(id).await?,
        None => None,
    };
    let skippers = skippers(app).await?;
    let skipper = fields
        .parsed::<CrewId>("skipper")
        .and_then(|id| skippers.get(&id).map(|name| (id, name.clone())));
    let harbour = fields.text("harbour", 80);
    let zone = fields.text("time_zone", 60);
    let zone = zone.filter(|name| {
        let known = TimeZone::get(name).is_ok();
        if !known {
            fields.fault("time_zone", "fault-zone", &[]);
        }
        known
    });
    let day = day(app, fields, "day").await?;
    let windows = windows(fields);
    let plans = plans(fields);
    for (name, missing) in [("boat", boat.is_none()), ("skipper", skipper.is_none())] {
        if missing && !fields.faults().iter().any(|fault| fault.field == name) {
            fields.fault(name, "fault-choose", &[]);
        }
    }
    if !fields.is_sound() {
        return Ok(None);
    }
    let (Some(boat), Some((skipper_account, skipper)), Some(harbour), Some(time_zone)) =
        (boat, skipper, harbour, zone)
    else {
        return Ok(None);
    };
    let (Some(day), Some(windows), Some(plans)) = (day, windows, plans) else {
        return Ok(None);
    };
    Ok(Some(TripOpened {
        day,
        harbour,
        time_zone,
        boat: boat.sheet,
        skipper,
        skipper_account,
        windows,
        plans,
        drill: app.reached().drill_speed.is_some(),
    }))
}

pub(super) async fn day(app: &App, fields: &Fields, name: &str) -> Result<Option<Date>, Error> {
    let zone = app.centre_zone().await?;
    let today = app.clock().now().to_zoned_datetime(zone).date();
    let first = today.saturating_sub(1.day());
    let last = today.saturating_add(400.days());
    let day = fields
        .typed(name)
        .parse::<Date>()
        .ok()
        .filter(|day| (first..=last).contains(day));
    if day.is_none() {
        let args = [
            ("first", first.to_string().into()),
            ("last", last.to_string().into()),
        ];
        fields.fault(name, "fault-day", &args);
    }
    Ok(day)
}

fn windows(fields: &Fields) -> Option<WindowSettings> {
    let minutes = |name: &str| fields.number(name, &bounds::WINDOW_MIN);
    let earliest_share = fields.number("earliest_share", &bounds::EARLIEST_SHARE);
    let latest_after_min = minutes("latest_after_min");
    let grace_min = minutes("grace_min");
    let night_latest_after_min = minutes("night_latest_after_min");
    let night_grace_min = minutes("night_grace_min");
    let sight_nm = fields.number("sight_nm", &bounds::SIGHT_NM);
    let figures = WindowFigures {
        earliest_share: earliest_share?,
        latest_after_min: latest_after_min?,
        grace_min: grace_min?,
        night_latest_after_min: night_latest_after_min?,
        night_grace_min: night_grace_min?,
        sight_nm: sight_nm?,
    };
    match WindowSettings::try_from(figures) {
        Ok(settings) => Some(settings),
        Err(faults) => {
            note(fields, &faults, |path| (path.to_owned(), called(path)));
            None
        }
    }
}

fn plans(fields: &Fields) -> Option<PlanSettings> {
    let factor = |name: &str| fields.number(name, &bounds::GRADIENT_FACTOR);
    let gradient_low = factor("gradient_low");
    let gradient_high = factor("gradient_high");
    let reserve_bar = fields.number("reserve_bar", &bounds::RESERVE_BAR);
    let figures = PlanFigures {
        gradient_low: gradient_low?,
        gradient_high: gradient_high?,
        reserve_bar: reserve_bar?,
    };
    match PlanSettings::try_from(figures) {
        Ok(settings) => Some(settings),
        Err(faults) => {
            note(fields, &faults, |path| (path.to_owned(), called(path)));
            None
        }
    }
}

/// What people call a figure of the watch or of a plan.
fn called(path: &str) -> String {
    crate::web::language::words().say(match path {
        "earliest_share" => "window-earliest-share",
        "latest_after_min" => "window-latest",
        "grace_min" => "window-grace",
        "night_latest_after_min" => "window-night-latest",
        "night_grace_min" => "window-night-grace",
        "gradient_low" => "plan-gradient-low",
        "gradient_high" => "plan-gradient-high",
        "reserve_bar" => "plan-reserve",
        _ => "window-sight",
    })
}
