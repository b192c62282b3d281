//! Trips as programs read them: the list, the picture, the chart, the log, the returns.

use axum::extract::State;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::{Value, json};

use crate::trip::TripId;
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::export::{log_lines, returns_csv};
use crate::web::extract::{Path, Query};
use crate::web::live::hash_of;

const JSON: &str = "application/json";
const GEOJSON: &str = "application/geo+json";
const KEPT_FOR_EVER: &str = "private, max-age=31536000, immutable";

/// All trips, the latest day first.
pub(super) async fn list(State(app): State<App>) -> Result<Response, Error> {
    let trips: Vec<Value> = app
        .store()
        .trips()
        .await?
        .into_iter()
        .map(|row| {
            json!({
                "trip": row.trip, "day": row.day, "harbour": row.harbour, "boat": row.boat,
                "drill": row.drill, "opened_at": row.opened_at, "closed": row.closed,
                "entry": row.head.entry,
            })
        })
        .collect();
    Ok(typed(JSON, json!({ "trips": trips }).to_string()))
}

/// The picture: what a device needs to go on alone, and the server's clock.
pub(super) async fn picture(
    State(app): State<App>,
    Path(trip): Path<TripId>,
) -> Result<Response, Error> {
    let snapshot = app.live().snapshot(trip).await?.ok_or(Error::NoSuchTrip)?;
    let body = json!({
        "now": app.clock().now(),
        "entry": snapshot.head.entry,
        "picture": snapshot.picture,
    });
    Ok(typed(JSON, body.to_string()))
}

/// The chart of the dive under way or to come. Not for navigation.
pub(super) async fn chart(
    State(app): State<App>,
    Path(trip): Path<TripId>,
) -> Result<Response, Error> {
    let snapshot = app.live().snapshot(trip).await?.ok_or(Error::NoSuchTrip)?;
    let dive = snapshot.state.dives.get(&snapshot.state.dive.max(1));
    let chart = &dive.ok_or(Error::NotFound)?.site.chart;
    Ok(typed(GEOJSON, chart.to_string()))
}

/// The chart under its hash, as the picture names it: it never changes, so it is kept.
pub(super) async fn chart_of(
    State(app): State<App>,
    Path((trip, hash)): Path<(TripId, String)>,
    headers: HeaderMap,
) -> Result<Response, Error> {
    let snapshot = app.live().snapshot(trip).await?.ok_or(Error::NoSuchTrip)?;
    let mut charts = snapshot
        .state
        .dives
        .values()
        .map(|d| d.site.chart.to_string());
    let chart = charts
        .find(|chart| hash_of(chart) == hash)
        .ok_or(Error::NotFound)?;
    let tag = format!("\"{hash}\"");
    let held = headers
        .get(header::IF_NONE_MATCH)
        .is_some_and(|held| held.as_bytes() == tag.as_bytes());
    let kept = [
        (header::CACHE_CONTROL, KEPT_FOR_EVER.to_owned()),
        (header::ETAG, tag),
    ];
    if held {
        return Ok((StatusCode::NOT_MODIFIED, kept).into_response());
    }
    Ok((kept, typed(GEOJSON, chart)).into_response())
}

/// From where on.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct From {
    /// The last entry that is held already.
    after: Option<u64>,
}

/// The log as JSON Lines.
pub(super) async fn log(
    State(app): State<App>,
    Path(trip): Path<TripId>,
    Query(from): Query<From>,
) -> Result<Response, Error> {
    app.store().head(trip).await?.ok_or(Error::NoSuchTrip)?;
    let log = app.store().log(trip, from.after.unwrap_or(0)).await?;
    let name = format!("attachment; filename=\"trip-{trip}.jsonl\"");
    let body = typed("application/jsonl", log_lines(&log));
    Ok(([(header::CONTENT_DISPOSITION, name)], body).into_response())
}

/// The returns as CSV.
pub(super) async fn returns(
    State(app): State<App>,
    Path(trip): Path<TripId>,
) -> Result<Response, Error> {
    let snapshot = app.live().snapshot(trip).await?.ok_or(Error::NoSuchTrip)?;
    let table = returns_csv(&snapshot.state)
        .map_err(|_| Error::Internal("the returns could not be written"))?;
    let name = format!("attachment; filename=\"returns-{trip}.csv\"");
    let headers = [
        (
            header::CONTENT_TYPE,
            "text/csv; charset=utf-8; header=present".to_owned(),
        ),
        (header::CONTENT_DISPOSITION, name),
    ];
    Ok((headers, table).into_response())
}

fn typed(kind: &'static str, body: String) -> Response {
    ([(header::CONTENT_TYPE, kind)], body).into_response()
}
