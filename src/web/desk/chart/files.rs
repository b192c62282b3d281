//! Charts from files and as files: GeoJSON and GPX. What a file brings is shown in the form of the
//! chart and kept only when that is saved.

use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};

use crate::sea::chart::{Chart, Drawn, drawn, gpx as gpx_file};
use crate::store::register::Site;
use crate::trip::SiteId;
use crate::units::Faults;
use crate::web::app::App;
use crate::web::desk::form::{Shown, note};
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::page::{Asked, answered};
use crate::web::upload::{Sent, Upload};

use super::{Shows, held, rows};

/// Largest file, bytes: 10,000 points in GPX need half of it.
const LARGEST: usize = 2 * 1024 * 1024;

/// The features of a file, by what it begins with.
pub(in crate::web::desk) fn features(bytes: &[u8]) -> Result<Vec<Drawn>, Faults> {
    let first = bytes
        .iter()
        .find(|byte| !byte.is_ascii_whitespace() && !b"\xef\xbb\xbf".contains(byte));
    match first {
        Some(b'<') => gpx_file::read(bytes),
        Some(b'{') => Ok(drawn(&Chart::from_geojson(bytes)?)),
        Some(_) => Err(Faults::one(
            "",
            "is neither GeoJSON nor GPX",
            "a .geojson or .gpx file",
        )),
        None => Err(Faults::one("", "is empty", "a .geojson or .gpx file")),
    }
}

/// Shows the chart with what a file brings, added or instead; nothing is kept yet.
pub async fn import(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<SiteId>,
    form: Sent,
) -> Result<Response, Error> {
    let site = super::site(&app, id).await?;
    let sent = Upload::read(form, LARGEST).await?;
    let fields = Fields::default();
    let held = held(&site)?;
    let brought = match features(sent.file_or("file", "text")) {
        Ok(brought) => brought,
        Err(faults) => {
            let t = crate::web::language::words();
            note(&fields, &faults, |path| {
                let called = if path.is_empty() {
                    t.say("chart-file")
                } else {
                    path.to_owned()
                };
                ("file".to_owned(), called)
            });
            Vec::new()
        }
    };
    let count = brought.len();
    let replaces = sent.bytes("how") == b"replace" && fields.is_sound();
    let mut all = if replaces { Vec::new() } else { drawn(&held) };
    all.extend(brought);
    let said = if fields.is_sound() {
        crate::web::language::words().say_with("chart-brought", &[("n", count.into())])
    } else {
        String::new()
    };
    let told = rows::judged(&fields, &site, rows::rows_of(&all));
    let mut f = Shown::plain(&app);
    f.faults = fields.faults();
    let shows = Shows {
        site: &site,
        chart: told.chart.as_ref().unwrap_or(&held),
        rows: told.rows,
        f,
        said,
    };
    let page = super::draw(&app, &asked, &crew, shows).await?;
    answered(&page, fields.is_sound())
}

fn file(site: &Site, kind: &'static str, ending: &str, text: String) -> Response {
    let name: String = site
        .name
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() { c } else { '-' })
        .collect();
    let disposition = format!("attachment; filename=\"{name}.{ending}\"");
    let headers = [
        (header::CONTENT_TYPE, kind.to_owned()),
        (header::CONTENT_DISPOSITION, disposition),
    ];
    (headers, text).into_response()
}

/// The chart as GeoJSON (RFC 7946).
pub async fn geojson(
    State(app): State<App>,
    _: Crew,
    Path(id): Path<SiteId>,
) -> Result<Response, Error> {
    let site = super::site(&app, id).await?;
    let text = held(&site)?.to_rfc7946().to_string();
    Ok(file(&site, "application/geo+json", "geojson", text))
}

/// The chart as GPX 1.1.
pub async fn gpx(
    State(app): State<App>,
    _: Crew,
    Path(id): Path<SiteId>,
) -> Result<Response, Error> {
    let site = super::site(&app, id).await?;
    let text = gpx_file::written(&site.name, &held(&site)?);
    Ok(file(&site, "application/gpx+xml", "gpx", text))
}
