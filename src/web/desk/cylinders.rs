//! The centre's cylinders: marking, volume, test, what was filled into each, and who analysed it.

use std::collections::BTreeMap;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::ToSpan;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use uuid::Uuid;

use crate::store::register::{Analysis, Content, Cylinder, CylinderSaved};
use crate::units::system::Measure;
use crate::units::{CylinderBar, CylinderLitres, OxygenFraction, bounds};
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::gas;
use crate::web::page::{Asked, answered};
use crate::web::view;
use crate::words::Words;

use super::csv::LONGEST_NAME;
use super::form::Shown;

/// How far ahead a test may be due, years.
const FARTHEST_YEARS: i64 = 20;
/// How far back analyses are looked for, days: a fill that is older is analysed anew.
const LOOK_BACK_DAYS: i64 = 90;

#[derive(Template)]
#[template(path = "desk/cylinders.html")]
struct CylindersPage {
    frame: Frame,
    f: Shown,
    rows: Vec<Row>,
}

struct Row {
    id: String,
    marking: String,
    litres: f64,
    test: String,
    untested: bool,
    content: String,
    analysed: String,
}

fn content_words(content: Option<&Content>, zone: &TimeZone, t: &Words) -> String {
    let Some(told) = content else {
        return t.say("cylinder-not-told");
    };
    let at = told.at.to_zoned_datetime(zone.clone());
    let when = format!(
        "{}, {}",
        view::day(at.date()),
        view::clock_time(told.at, zone)
    );
    let mut args = vec![("at", when.into()), ("by", told.by.as_str().into())];
    match told.fill {
        Some((oxygen, bar)) => {
            args.push(("oxygen", gas::percent(oxygen).into()));
            args.push(("bar", bar.bar().into()));
            t.say_with("cylinder-filled", &args)
        }
        None => t.say_with("cylinder-empty", &args),
    }
}

/// An analysis as the register tells it.
fn analysed_words(one: &Analysis, zone: &TimeZone, t: &Words) -> String {
    let at = one.at.to_zoned_datetime(zone.clone());
    let when = format!(
        "{}, {}",
        view::day(at.date()),
        view::clock_time(one.at, zone)
    );
    let args = [
        ("oxygen", gas::percent(one.oxygen).into()),
        ("bar", one.bar.bar().into()),
        ("name", one.signed_as.as_str().into()),
        ("at", when.into()),
    ];
    t.say_with("cylinder-analysed", &args)
}

/// What stands analysed, by cylinder.
async fn analysed(app: &App) -> Result<BTreeMap<Uuid, Analysis>, Error> {
    let days = jiff::SignedDuration::from_hours(24 * LOOK_BACK_DAYS);
    let now = app.clock().now();
    let from = now.saturating_sub(days).unwrap_or(now);
    let all = app.store().analyses_since(from).await?;
    let standing = all.into_iter().filter(|one| !one.is_past);
    Ok(standing
        .filter_map(|one| Some((one.cylinder?, one)))
        .collect())
}

async fn draw(app: &App, asked: &Asked, crew: &Crew, f: Shown) -> Result<Response, Error> {
    let mut frame = super::frame(app, asked, crew);
    f.mark(&mut frame);
    let (t, today) = (frame.t, super::today(app).await?);
    let zone = app.centre_zone().await?;
    let analysed = analysed(app).await?;
    let rows = app.store().cylinders().await?.into_iter().map(|one| Row {
        id: one.id.to_string(),
        litres: one.litres.l(),
        untested: one.is_untested(today),
        test: one
            .test_due
            .map_or_else(|| t.say("helm-not-known"), |day| day.to_string()),
        content: content_words(one.content.as_ref(), &zone, t),
        analysed: analysed
            .get(&one.id)
            .map_or_else(String::new, |of| analysed_words(of, &zone, t)),
        marking: one.marking,
    });
    let sound = f.faults.is_empty();
    let page = CylindersPage {
        rows: rows.collect(),
        frame,
        f,
    };
    answered(&page, sound)
}

/// The cylinders there are.
pub async fn page(State(app): State<App>, asked: Asked, crew: Crew) -> Result<Response, Error> {
    let (size, _, _) = super::groups::usual(crate::web::language::words());
    let f = Shown::plain(&app).with("litres", size);
    draw(&app, &asked, &crew, f).await
}

/// What a form says a cylinder is.
fn typed(fields: &Fields, today: Date) -> Option<(String, CylinderLitres, Option<Date>)> {
    let marking = fields.text("marking", LONGEST_NAME);
    let litres = fields.quantity("litres", &bounds::CYLINDER_L, CylinderLitres::from_l);
    let first = today.saturating_sub(FARTHEST_YEARS.years());
    let last = today.saturating_add(FARTHEST_YEARS.years());
    let due = fields.optional_day("test_due", first..=last, "fault-cylinder-test");
    Some((marking?, litres?, due?))
}

async fn keep(app: &App, fields: &Fields, id: Uuid) -> Result<bool, Error> {
    let today = super::today(app).await?;
    let Some((marking, litres, due)) = typed(fields, today) else {
        return Ok(false);
    };
    match app.store().save_cylinder(id, &marking, litres, due).await? {
        CylinderSaved::Saved => Ok(true),
        CylinderSaved::Marked => {
            fields.fault("marking", "fault-cylinder-marking", &[]);
            Ok(false)
        }
    }
}

/// Puts a cylinder into the register.
pub async fn add(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    fields: Fields,
) -> Result<Response, Error> {
    let id = super::numbered(&fields, 0)?;
    if keep(&app, &fields, id).await? {
        return Ok(Redirect::to("/desk/cylinders").into_response());
    }
    let f = Shown::plain(&app).refused(&fields, fields.faults());
    draw(&app, &asked, &crew, f).await
}

#[derive(Template)]
#[template(path = "desk/cylinder.html")]
struct CylinderPage {
    frame: Frame,
    f: Shown,
    url: String,
    marking: String,
    content: String,
    /// Analyses of it, the latest first: what each says, and whether it is past.
    analyses: Vec<(String, bool)>,
    office: bool,
}

fn shown(app: &App, one: &Cylinder) -> Shown {
    let t = crate::web::language::words();
    let due = one.test_due.map_or_else(String::new, |day| day.to_string());
    Shown::plain(app)
        .with("marking", one.marking.as_str())
        .with("litres", t.field(Measure::Size, one.litres.l()))
        .with("test_due", due)
}

async fn held(app: &App, id: Uuid) -> Result<Cylinder, Error> {
    app.store().cylinder(id).await?.ok_or(Error::NotFound)
}

async fn draw_one(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    one: &Cylinder,
    f: Shown,
) -> Result<Response, Error> {
    let mut frame = super::frame(app, asked, crew);
    f.mark(&mut frame);
    let (t, zone) = (frame.t, app.centre_zone().await?);
    let days = jiff::SignedDuration::from_hours(24 * LOOK_BACK_DAYS);
    let now = app.clock().now();
    let from = now.saturating_sub(days).unwrap_or(now);
    let all = app.store().analyses_since(from).await?;
    let of = all.iter().filter(|of| of.cylinder == Some(one.id));
    let sound = f.faults.is_empty();
    let page = CylinderPage {
        url: format!("/desk/cylinders/{}", one.id),
        marking: one.marking.clone(),
        content: content_words(one.content.as_ref(), &zone, t),
        analyses: of
            .map(|of| (analysed_words(of, &zone, t), of.is_past))
            .collect(),
        office: crew.is(crate::trip::event::Role::Desk),
        frame,
        f,
    };
    answered(&page, sound)
}

/// One cylinder.
pub async fn one(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<Uuid>,
) -> Result<Response, Error> {
    let one = held(&app, id).await?;
    draw_one(&app, &asked, &crew, &one, shown(&app, &one)).await
}

/// Changes what it is.
pub async fn save(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Result<Response, Error> {
    let one = held(&app, id).await?;
    if keep(&app, &fields, id).await? {
        return Ok(Redirect::to("/desk/cylinders").into_response());
    }
    let f = Shown::plain(&app).refused(&fields, fields.faults());
    draw_one(&app, &asked, &crew, &one, f).await
}

/// Says what is in it now.
pub async fn fill(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Result<Response, Error> {
    let one = held(&app, id).await?;
    let fill = if fields.typed("do") == "empty" {
        Some(None)
    } else {
        let oxygen = fields.quantity("oxygen", &bounds::OXYGEN_PCT, |pct| {
            OxygenFraction::from_fraction(pct / 100.0)
        });
        let bar = fields.quantity("bar", &bounds::CYLINDER_BAR, CylinderBar::from_bar);
        oxygen.zip(bar).map(Some)
    };
    if let Some(fill) = fill {
        let content = Content {
            fill,
            at: app.clock().now(),
            by: crew.0.name.clone(),
        };
        if !app.store().fill_cylinder(id, &content).await? {
            return Err(Error::NotFound);
        }
        return Ok(Redirect::to(&format!("/desk/cylinders/{id}")).into_response());
    }
    let mut f = shown(&app, &one);
    for name in ["oxygen", "bar"] {
        f = f.with(name, fields.typed(name));
    }
    f.faults = fields.faults();
    draw_one(&app, &asked, &crew, &one, f).await
}

/// Takes it out of the register.
pub async fn remove(
    State(app): State<App>,
    crew: Crew,
    Path(id): Path<Uuid>,
) -> Result<Response, Error> {
    // Twice taken out is out.
    app.store().remove_cylinder(id, super::doer(&crew)).await?;
    Ok(Redirect::to("/desk/cylinders").into_response())
}
