//! The readers of what people and programs bring to the desk, each under one name and without a
//! page around it. They stand here for `fuzz/`, which sends them whatever it can think of, and for
//! the replay of its corpus; pages go through their own handlers.

use axum::extract::FromRequest as _;
use axum::extract::multipart::Multipart;
use axum::http::{Request, header};
use futures_util::FutureExt as _;
use jiff::tz::TimeZone;

use crate::sea::chart::{Chart, Drawn};
use crate::sea::stream::Tides;
use crate::store::register::{Picture, Site};
use crate::trip::TripId;
use crate::trip::event::PersonCard;
use crate::trip::state::fold;
use crate::units::Faults;
use crate::web::form::Fields;
use crate::web::upload::Upload;
use crate::words::{Language, Words};

use super::{chart, csv, draft, tides};

/// The people of a roster in CSV, or what is wrong with it: the number of the line, and why.
///
/// # Errors
/// Every fault; line 0 is the file as a whole.
pub fn roster(text: &str) -> Result<Vec<PersonCard>, Vec<(u64, String)>> {
    match csv::read(text, Words::of(Language::English)) {
        Ok(lines) => Ok(lines.into_iter().map(|line| line.card).collect()),
        Err(bad) => Err(bad.into_iter().map(|bad| (bad.number, bad.why)).collect()),
    }
}

/// The features of a file, GeoJSON or GPX.
///
/// # Errors
/// Every fault.
pub fn chart_file(bytes: &[u8]) -> Result<Vec<Drawn>, Faults> {
    chart::files::features(bytes)
}

/// A picture to lie under a chart, or the names of the fields with faults.
///
/// # Errors
/// The fields with faults.
pub fn picture(bytes: &[u8]) -> Result<Picture, Vec<String>> {
    let fields = Fields::default();
    let read = chart::picture::picture(&fields, bytes);
    read.ok_or_else(|| faulty(&fields))
}

/// The fields of a form as a browser sends them; none if there are too many.
#[must_use]
pub fn form(body: &[u8]) -> Option<Fields> {
    Fields::read(body).ok()
}

/// The fields of a form that carries a file; none if it is not sent whole.
#[must_use]
pub fn upload(boundary: &str, body: &[u8]) -> Option<Fields> {
    let kind = format!("multipart/form-data; boundary={boundary}");
    let request = Request::post("/").header(header::CONTENT_TYPE, kind);
    let request = request.body(body.to_vec().into()).ok()?;
    // All of it is there already, so nothing is waited for.
    let form = Multipart::from_request(request, &()).now_or_never()?;
    let sent = Upload::read(form, body.len()).now_or_never()?.ok()?;
    sent.fields(&[("file", "text")]).ok()
}

/// What a form says of the tides of a site; none where it is blank or has faults.
#[must_use]
pub fn tides_of(fields: &Fields) -> Option<Tides> {
    tides::read::told(fields, &TimeZone::UTC)
}

/// What a form says of the chart of a site; none where it has faults.
#[must_use]
pub fn chart_of(fields: &Fields, site: &Site) -> Option<Chart> {
    chart::told(fields, site)
}

/// How many groups a form carries, on a trip without any.
#[must_use]
pub fn groups_of(fields: &Fields, trip: TripId) -> usize {
    let state = fold(trip, &[]);
    draft::Draft::read(fields, &state, 1).groups.len()
}

/// The fields with faults so far.
#[must_use]
pub fn faulty(fields: &Fields) -> Vec<String> {
    let faults = fields.faults();
    faults.into_iter().map(|fault| fault.field).collect()
}
