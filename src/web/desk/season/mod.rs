//! The season: run times, lateness, alarms and gas of the trips between two days, drawn and told,
//! and what the dives say beside the minutes of the watch.

mod asked;
mod csv;
mod figures;
mod gather;
mod windows;

use askama::Template;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};

use crate::store::register::key;
use crate::trip::season::{LEAST_FOR_MIDDLE, LEAST_FOR_TAILS, Season};
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path, Query};
use crate::web::frame::Frame;
use crate::web::page::{Asked, html, refused};
use crate::web::parts::Choice;
use crate::web::view;

use super::form::Shown;
use asked::Chosen;
use figures::Part;
pub(in crate::web::desk) use gather::off_thread;
use gather::{Gathered, MOST_TRIPS, gather};

/// A table of words, its first column the name of the row.
struct Sheet {
    id: &'static str,
    caption: String,
    head: Vec<String>,
    rows: Vec<Vec<String>>,
}

#[derive(Template)]
#[template(path = "desk/season.html")]
struct SeasonPage {
    frame: Frame,
    f: Shown,
    sites: Vec<Choice>,
    /// What was read, in sentences; none if nothing was asked for soundly.
    read: Vec<String>,
    printed: String,
    rules: String,
    windows: Option<windows::Beside>,
    parts: Vec<Part>,
    files: Vec<(String, String)>,
}

/// The page.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Query(query): Query<Vec<(String, String)>>,
) -> Result<Response, Error> {
    let chosen = asked::of_query(&app, query).await?;
    let sites = asked::sites(&app).await?;
    let season = match &chosen.sound {
        Some(sound) => match gather(&app, sound.from, sound.to).await? {
            Gathered::Trips(trips) => Some(Season::of(trips, sound.site)),
            Gathered::TooMany(trips) => {
                let args = [("n", trips.into()), ("most", MOST_TRIPS.into())];
                chosen.fields.fault("from", "season-too-many", &args);
                None
            }
        },
        None => None,
    };
    let faults = chosen.fields.faults();
    let is_sound = faults.is_empty();
    let mut frame = super::frame(&app, &asked, &crew);
    let f = Shown::default().refused(&chosen.fields, faults);
    f.mark(&mut frame);
    let t = frame.t;
    let windows = match &season {
        Some(season) => {
            let set = app.store().setting(key::WINDOWS).await?;
            Some(windows::beside(season, set, t))
        }
        None => None,
    };
    let zone = app.centre_zone().await?;
    let now = app.clock().now().to_zoned_datetime(zone);
    let page = SeasonPage {
        sites: f.choose("site", &sites),
        read: season
            .as_ref()
            .map_or_else(Vec::new, |season| figures::read_words(season, t)),
        printed: t.say_with(
            "season-printed",
            &[("at", now.strftime("%Y-%m-%d %H:%M %:z").to_string().into())],
        ),
        rules: t.say_with(
            "season-rules",
            &[
                ("middle", LEAST_FOR_MIDDLE.into()),
                ("tails", LEAST_FOR_TAILS.into()),
            ],
        ),
        parts: season
            .as_ref()
            .map(|season| figures::parts(season, t))
            .transpose()
            .map_err(|_| Error::Internal("a plot could not be written"))?
            .unwrap_or_default(),
        files: files(&chosen, t),
        windows,
        f,
        frame,
    };
    if is_sound {
        html(&page)
    } else {
        refused(&page)
    }
}

/// Addresses of the files of what is chosen, with their names.
fn files(chosen: &Chosen, t: &crate::words::Words) -> Vec<(String, String)> {
    let Some(sound) = &chosen.sound else {
        return Vec::new();
    };
    let site = sound
        .site
        .map_or_else(|| "all".to_owned(), |s| s.to_string());
    csv::FILES
        .iter()
        .map(|(name, key)| {
            let at = format!("/desk/season/{}/{}/{site}/{name}", sound.from, sound.to);
            (at, t.say(key))
        })
        .collect()
}

/// A file of the figures behind the page.
pub async fn file(
    State(app): State<App>,
    _: Crew,
    Path((from, to, site, name)): Path<(String, String, String, String)>,
) -> Result<Response, Error> {
    if !csv::FILES.iter().any(|(known, _)| *known == name) {
        return Err(Error::NotFound);
    }
    let site = if site == "all" { String::new() } else { site };
    let query = [("from", from), ("to", to), ("site", site)];
    let query = query.map(|(name, value)| (name.to_owned(), value)).to_vec();
    let chosen = asked::of_query(&app, query).await?;
    // An address that no page of ours leads to names nothing that is here.
    let sound = chosen.sound.ok_or(Error::NotFound)?;
    let Gathered::Trips(trips) = gather(&app, sound.from, sound.to).await? else {
        return Err(Error::TooLarge);
    };
    let season = Season::of(trips, sound.site);
    let table = csv::table(&name, &season)
        .map_err(|_| Error::Internal("the season could not be written"))?;
    let named = format!(
        "attachment; filename=\"season-{}-{}-{name}\"",
        sound.from, sound.to
    );
    let headers = [
        (
            header::CONTENT_TYPE,
            "text/csv; charset=utf-8; header=present".to_owned(),
        ),
        (header::CONTENT_DISPOSITION, named),
    ];
    Ok((headers, table).into_response())
}

/// A day in the words of the desk.
fn day(date: jiff::civil::Date) -> String {
    view::day(date)
}
