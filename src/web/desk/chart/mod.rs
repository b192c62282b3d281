//! The chart of a site as it is drawn and typed: one form for all of its features, which the
//! script of the page fills by drawing and asks of the server while it does.

pub(super) mod files;
pub(super) mod picture;
pub(super) mod rows;
pub(super) mod svg;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use sha2::{Digest, Sha256};

use crate::sea::chart::{Chart, drawn};
use crate::store::register::Site;
use crate::trip::SiteId;
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{Asked, answered, html};

use super::form::Shown;
use rows::Row;

#[derive(Template)]
#[template(path = "desk/chart.html")]
struct ChartPage {
    frame: Frame,
    heading: String,
    url: String,
    f: Shown,
    svg: String,
    rows: Vec<Row>,
    blank: Row,
    seen: String,
    said: String,
}

/// A site of the register, or what an address that names none gets.
pub(super) async fn site(app: &App, id: SiteId) -> Result<Site, Error> {
    app.store().site(id).await?.ok_or(Error::NotFound)
}

/// The chart that a form says, where nothing of it is wrong.
pub(super) fn told(fields: &Fields, site: &Site) -> Option<Chart> {
    rows::told(fields, site).chart
}

/// A chart as it was accepted; what the register holds was sound when it was saved.
fn held(site: &Site) -> Result<Chart, Error> {
    Ok(Chart::from_geojson(site.chart.as_bytes())?)
}

/// What a form saw of the chart, so that two people do not write over each other.
fn seen(site: &Site) -> String {
    let hash = Sha256::digest(site.chart.as_bytes());
    let first = hash.first_chunk().copied().map(u64::from_be_bytes);
    format!("{:016x}", first.unwrap_or_default())
}

/// What a page of the chart shows.
struct Shows<'a> {
    site: &'a Site,
    /// The chart that is drawn.
    chart: &'a Chart,
    rows: Vec<Row>,
    f: Shown,
    said: String,
}

async fn draw(app: &App, asked: &Asked, crew: &Crew, shows: Shows<'_>) -> Result<ChartPage, Error> {
    let mut frame = super::frame(app, asked, crew);
    let Shows {
        site,
        chart,
        rows,
        f,
        said,
    } = shows;
    f.mark(&mut frame);
    let backdrop = app.store().backdrop(site.id).await?;
    let subject = svg::Subject {
        site: site.id,
        position: site.position,
        chart,
        backdrop: backdrop.as_ref(),
    };
    let svg = svg::draw(&subject, frame.t).map_err(|_| Error::Internal("a chart was not drawn"))?;
    let next = rows.iter().map(|row| row.n).max().unwrap_or(0) + 1;
    Ok(ChartPage {
        heading: frame
            .t
            .say_with("chart-title", &[("site", site.name.as_str().into())]),
        frame,
        url: format!("/desk/sites/{}", site.id),
        svg,
        rows,
        blank: Row {
            n: next,
            ..Row::default()
        },
        seen: seen(site),
        f,
        said,
    })
}

/// The chart as it is held.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<SiteId>,
) -> Result<Response, Error> {
    let site = site(&app, id).await?;
    let chart = held(&site)?;
    // A site can have been moved, and an older chart been kept under other rules.
    let fields = Fields::default();
    let told = rows::judged(&fields, &site, rows::rows_of(&drawn(&chart)));
    let mut f = Shown::plain(&app);
    f.faults = fields.faults();
    let shows = Shows {
        site: &site,
        chart: &chart,
        rows: told.rows,
        f,
        said: String::new(),
    };
    html(&draw(&app, &asked, &crew, shows).await?)
}

/// Keeps what was drawn and typed, whole or not at all; `do=check` only judges it.
pub async fn save(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<SiteId>,
    fields: Fields,
) -> Result<Response, Error> {
    let mut site = site(&app, id).await?;
    let told = rows::told(&fields, &site);
    let checks = fields.typed("do") == "check";
    if !checks && fields.typed("seen") != seen(&site) {
        fields.fault("", "chart-changed", &[]);
    }
    if let Some(chart) = told.chart.as_ref().filter(|_| !checks && fields.is_sound()) {
        site.chart = chart.to_geojson().to_string();
        app.store().save_site(&site).await?;
        return Ok(Redirect::to(&format!("/desk/sites/{id}/chart")).into_response());
    }
    let t = crate::web::language::words();
    let held = held(&site)?;
    let is_sound = fields.is_sound();
    let shows = Shows {
        site: &site,
        chart: told.chart.as_ref().unwrap_or(&held),
        rows: told.rows,
        f: Shown::plain(&app).refused(&fields, fields.faults()),
        said: t.say("chart-checked"),
    };
    let page = draw(&app, &asked, &crew, shows).await?;
    answered(&page, is_sound)
}
