//! The record of a trip for programs and spreadsheets.

use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};

use crate::trip::TripId;
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::Path;
use crate::web::record::{Record, made, report_csv};

async fn record(app: &App, trip: TripId) -> Result<Record, Error> {
    let snapshot = app.live().snapshot(trip).await?.ok_or(Error::NoSuchTrip)?;
    made(app, snapshot).await
}

/// The record as JSON.
pub(super) async fn json(
    State(app): State<App>,
    Path(trip): Path<TripId>,
) -> Result<Response, Error> {
    let record = record(&app, trip).await?;
    let body = serde_json::to_string(&record)
        .map_err(|_| Error::Internal("the record could not be written"))?;
    Ok(([(header::CONTENT_TYPE, "application/json")], body).into_response())
}

/// The record as CSV.
pub(super) async fn csv(
    State(app): State<App>,
    Path(trip): Path<TripId>,
) -> Result<Response, Error> {
    let record = record(&app, trip).await?;
    let table =
        report_csv(&record).map_err(|_| Error::Internal("the record could not be written"))?;
    let name = format!("attachment; filename=\"report-{trip}.csv\"");
    let headers = [
        (
            header::CONTENT_TYPE,
            "text/csv; charset=utf-8; header=present".to_owned(),
        ),
        (header::CONTENT_DISPOSITION, name),
    ];
    Ok((headers, table).into_response())
}
