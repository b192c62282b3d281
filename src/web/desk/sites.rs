//! Sites of the register: where they are and what their chart says.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::tz::TimeZone;

use crate::dive::pressure::{Column, SEA_LEVEL_BAR, Water};
use crate::sea::chart::Chart;
use crate::sea::stream::Tides;
use crate::store::register::{Site, key};
use crate::trip::SiteId;
use crate::units::{AmbientBar, Distance, bounds};
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{Asked, html, refused};
use crate::web::parts::Choice;

use super::form::{Shown, note};
use super::{chart_svg, figure, tell};

/// A chart with nothing on it.
const EMPTY: &str = "{\"type\": \"FeatureCollection\", \"features\": []}";
/// Longest chart, characters.
const LONGEST_CHART: usize = 1_000_000;

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
    let rows = app
        .store()
        .sites()
        .await?
        .into_iter()
        .map(|site| Row {
            id: site.id.to_string(),
            name: site.name,
            place: tell::place(site.position),
            stand_off: format!("{}\u{a0}m", figure(site.stand_off.m())),
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
}

fn draw(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    id: SiteId,
    site: Option<&Site>,
    f: Shown,
) -> SitePage {
    let mut frame = super::frame(app, asked, crew);
    f.mark(&mut frame);
    let preview = site
        .and_then(|site| {
            let chart = Chart::from_geojson(site.chart.as_bytes()).ok()?;
            chart_svg::draw(site.position, &chart, frame.t)
        })
        .unwrap_or_default();
    let waters = [Water::Salt, Water::Fresh].map(|water| {
        let key = match water {
            Water::Salt => "site-water-salt",
            Water::Fresh => "site-water-fresh",
        };
        (word(water).to_owned(), frame.t.say(key))
    });
    let waters = f.choose("water", &waters);
    SitePage {
        heading: site.map_or_else(|| frame.t.say("site-new"), |site| site.name.clone()),
        frame,
        id: id.to_string(),
        waters,
        f,
        preview,
    }
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
    let f = Shown::plain(&app);
    let Some(site) = app.store().site(id).await? else {
        let zone: Option<String> = app.store().setting(key::TIME_ZONE).await?;
        let f = f
            .with("stand_off", "50")
            .with("time_zone", zone.unwrap_or_else(|| "UTC".to_owned()))
            .with("water", "salt")
            .with("surface_bar", SEA_LEVEL_BAR.to_string())
            .with("chart", EMPTY);
        return html(&draw(&app, &asked, &crew, id, None, f));
    };
    let f = f
        .with("name", site.name.as_str())
        .with("lat", site.position.lat_deg().to_string())
        .with("lon", site.position.lon_deg().to_string())
        .with("stand_off", figure(site.stand_off.m()))
        .with("time_zone", site.time_zone.as_str())
        .with("notes", site.notes.as_str())
        .with("water", word(site.water.water()))
        .with("surface_bar", site.water.surface_bar().to_string())
        .with("chart", site.chart.as_str());
    html(&draw(&app, &asked, &crew, id, Some(&site), f))
}

/// What a fault of the chart is about: the path of its feature, or the chart as a whole.
fn called(path: &str) -> String {
    if path.is_empty() {
        crate::words::Words::english().say("site-chart")
    } else {
        path.to_owned()
    }
}

/// Reads the form; the tides have a page of their own and stay what they are.
fn typed(fields: &Fields, id: SiteId, tides: Option<Tides>) -> Option<Site> {
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
    let chart = fields
        .optional_text("chart", LONGEST_CHART)
        .and_then(|text| {
            let text = text.unwrap_or_else(|| EMPTY.to_owned());
            match Chart::from_geojson(text.as_bytes()) {
                Ok(_) => Some(text),
                Err(faults) => {
                    note(fields, &faults, |path| ("chart".to_owned(), called(path)));
                    None
                }
            }
        });
    Some(Site {
        id,
        name: name?,
        position: position?,
        chart: chart?,
        stand_off: stand_off?,
        time_zone: zone?,
        notes: notes?.unwrap_or_default(),
        water: Column::new(surface?, water?),
        tides,
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
    let tides = held.as_ref().and_then(|site| site.tides.clone());
    let site = typed(&fields, id, tides);
    if let Some(site) = site.filter(|_| fields.is_sound()) {
        app.store().save_site(&site).await?;
        return Ok(Redirect::to(&format!("/desk/sites/{id}")).into_response());
    }
    let f = Shown::plain(&app).refused(&fields, fields.faults());
    refused(&draw(&app, &asked, &crew, id, held.as_ref(), f))
}
