//! Sites of the register: where they are and what their chart says.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::tz::TimeZone;

use crate::dive::pressure::{Column, SEA_LEVEL_BAR, Water};
use crate::sea::chart::Chart;
use crate::store::register::{Site, key};
use crate::trip::SiteId;
use crate::units::system::{Measure, System};
use crate::units::{AmbientBar, Distance, bounds};
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{Asked, html, refused};
use crate::web::parts::Choice;

use super::chart::rows::fits;
use super::chart::svg::{self, Subject};
use super::form::Shown;
use super::tell;

/// A chart with nothing on it.
const EMPTY: &str = "{\"type\": \"FeatureCollection\", \"features\": []}";

#[derive(Template)]
#[template(path = "desk/sites.html")]
struct SitesPage {
    frame: Frame,
    heading: String,
    rows: Vec<Row>,
    new_id: String,
}

struct Row {
    id: String,
    name: String,
    place: String,
    stand_off: String,
}

/// The sites there are.
pub async fn page(State(app): State<App>, asked: Asked, crew: Crew) -> Result<Response, Error> {
    let t = crate::web::language::words();
    let rows = app
        .store()
        .sites()
        .await?
        .into_iter()
        .map(|site| Row {
            id: site.id.to_string(),
            name: site.name,
            place: tell::place(site.position),
            stand_off: t.told(Measure::Length, site.stand_off.m()),
        })
        .collect();
    let frame = super::frame(&app, &asked, &crew);
    html(&SitesPage {
        heading: frame.t.say("way-sites"),
        frame,
        rows,
        new_id: app.clock().new_uuid().to_string(),
    })
}

#[derive(Template)]
#[template(path = "desk/site.html")]
struct SitePage {
    frame: Frame,
    id: String,
    heading: String,
    waters: Vec<Choice>,
    f: Shown,
    preview: String,
    is_held: bool,
}

impl SitePage {
    /// The address of a page of this site.
    fn page_of(&self, what: &str) -> String {
        format!("/desk/sites/{}/{what}", self.id)
    }
}

async fn draw(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    id: SiteId,
    site: Option<&Site>,
    f: Shown,
) -> Result<SitePage, Error> {
    let mut frame = super::frame(app, asked, crew);
    f.mark(&mut frame);
    let preview = match site {
        Some(site) => {
            let chart = Chart::from_geojson(site.chart.as_bytes())?;
            let backdrop = app.store().backdrop(id).await?;
            let subject = Subject {
                site: id,
                position: site.position,
                chart: &chart,
                backdrop: backdrop.as_ref(),
            };
            svg::draw(&subject, frame.t).map_err(|_| Error::Internal("a chart was not drawn"))?
        }
        None => String::new(),
    };
    let waters = [Water::Salt, Water::Fresh].map(|water| {
        let key = match water {
            Water::Salt => "site-water-salt",
            Water::Fresh => "site-water-fresh",
        };
        (word(water).to_owned(), frame.t.say(key))
    });
    let waters = f.choose("water", &waters);
    Ok(SitePage {
        heading: site.map_or_else(|| frame.t.say("site-new"), |site| site.name.clone()),
        frame,
        id: id.to_string(),
        waters,
        f,
        preview,
        is_held: site.is_some(),
    })
}

fn word(water: Water) -> &'static str {
    match water {
        Water::Salt => "salt",
        Water::Fresh => "fresh",
    }
}

/// One site, or the form of a new one.
pub async fn one(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<SiteId>,
) -> Result<Response, Error> {
    let (f, t) = (Shown::plain(&app), crate::web::language::words());
    let Some(site) = app.store().site(id).await? else {
        let zone: Option<String> = app.store().setting(key::TIME_ZONE).await?;
        let usual = match t.system() {
            System::Metric => "50",
            System::Imperial => "150",
        };
        let f = f
            .with("stand_off", usual)
            .with("time_zone", zone.unwrap_or_else(|| "UTC".to_owned()))
            .with("water", "salt")
            .with("surface_bar", t.field(Measure::Ambient, SEA_LEVEL_BAR));
        return html(&draw(&app, &asked, &crew, id, None, f).await?);
    };
    let f = f
        .with("name", site.name.as_str())
        .with("lat", site.position.lat_deg().to_string())
        .with("lon", site.position.lon_deg().to_string())
        .with("stand_off", t.field(Measure::Length, site.stand_off.m()))
        .with("time_zone", site.time_zone.as_str())
        .with("notes", site.notes.as_str())
        .with("water", word(site.water.water()))
        .with(
            "surface_bar",
            t.field(Measure::Ambient, site.water.surface_bar()),
        );
    html(&draw(&app, &asked, &crew, id, Some(&site), f).await?)
}

/// Reads the form; chart and tides have pages of their own and stay what they are.
fn typed(fields: &Fields, id: SiteId, held: Option<&Site>) -> Option<Site> {
    let name = fields.text("name", 80);
    let position = fields.position("lat", "lon").and_then(|position| {
        if position.is_none() {
            fields.fault("lat", "fault-empty", &[]);
        }
        position
    });
    let stand_off = fields.quantity("stand_off", &bounds::STAND_OFF_M, Distance::from_m);
    let zone = fields.text("time_zone", 60).filter(|name| {
        let known = TimeZone::get(name).is_ok();
        if !known {
            fields.fault("time_zone", "fault-zone", &[]);
        }
        known
    });
    let notes = fields.optional_text("notes", 2_000);
    let surface = fields.quantity("surface_bar", &bounds::SURFACE_BAR, AmbientBar::from_bar);
    let water = match fields.typed("water") {
        "salt" => Some(Water::Salt),
        "fresh" => Some(Water::Fresh),
        _ => {
            fields.fault("water", "fault-choose", &[]);
            None
        }
    };
    Some(Site {
        id,
        name: name?,
        position: position?,
        chart: held.map_or_else(|| EMPTY.to_owned(), |site| site.chart.clone()),
        stand_off: stand_off?,
        time_zone: zone?,
        notes: notes?.unwrap_or_default(),
        water: Column::new(surface?, water?),
        tides: held.and_then(|site| site.tides.clone()),
    })
}

/// Writes a site, new or changed. Dives that are planned keep the chart they were planned on.
pub async fn save(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<SiteId>,
    fields: Fields,
) -> Result<Response, Error> {
    let held = app.store().site(id).await?;
    let site = typed(&fields, id, held.as_ref());
    if let (Some(site), Some(held)) = (&site, &held) {
        // Another stand-off or place can make a zone one that boats must not use.
        let chart = Chart::from_geojson(held.chart.as_bytes())?;
        let field = |_| "stand_off".to_owned();
        fits(&fields, site.position, site.stand_off.m(), &chart, field);
    }
    if let Some(site) = site.filter(|_| fields.is_sound()) {
        app.store().save_site(&site).await?;
        return Ok(Redirect::to(&format!("/desk/sites/{id}")).into_response());
    }
    let f = Shown::plain(&app).refused(&fields, fields.faults());
    refused(&draw(&app, &asked, &crew, id, held.as_ref(), f).await?)
}
