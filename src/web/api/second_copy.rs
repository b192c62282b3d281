//! The second copy for programs: what the box holds of a trip, in one small answer, and the door
//! by which it takes in what devices kept.

use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::{Map, Value, json};

use crate::store::Taken;
use crate::trip::TripId;
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::export::hex;
use crate::web::extract::{Crew, Document, Path, Query};
use crate::web::second_copy::{holds, take_in};

/// At which entry the chain is asked for.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct At {
    /// The entry.
    entry: Option<u64>,
}

/// What this box holds of a trip. `chain_at` tells whether the asker's entries are of this box's
/// log: after a loss the numbers start anew.
pub(super) async fn digest(
    State(app): State<App>,
    Path(trip): Path<TripId>,
    Query(at): Query<At>,
) -> Result<Response, Error> {
    let held = holds(&app, trip).await?;
    let head = app.store().head(trip).await?.ok_or(Error::NoSuchTrip)?;
    let chain_at = match at.entry {
        Some(entry) => app.store().chain_at(trip, entry).await?,
        None => None,
    };
    let devices: Map<String, Value> = held
        .devices
        .into_iter()
        .map(|(device, numbers)| {
            let told = json!({
                "through": numbers.through, "highest": numbers.highest, "missing": numbers.missing,
            });
            (device.to_string(), told)
        })
        .collect();
    Ok(json_answer(&json!({
        "trip": trip,
        "entry": head.entry,
        "chain": hex(&head.chain),
        "chain_at": chain_at.map(|chain| hex(&chain)),
        "entries": held.entries,
        "digest": hex(&held.digest),
        "devices": devices,
    })))
}

/// Takes in lines of the log: those that are new by one commit, whatever becomes of the others.
pub(super) async fn refill(
    State(app): State<App>,
    crew: Crew,
    Path(trip): Path<TripId>,
    Document(text): Document,
) -> Result<Response, Error> {
    let taken = take_in(&app, &crew, trip, &text).await?;
    let (new, repeats, clashes) = taken.refilled.counts();
    let lines: Vec<Value> = taken
        .lines
        .iter()
        .zip(&taken.refilled.lines)
        .map(|((number, id), became)| match became {
            Taken::New { entry } => {
                json!({"line": number, "id": id, "outcome": "new", "entry": entry})
            }
            Taken::Repeat { entry } => {
                json!({"line": number, "id": id, "outcome": "repeat", "entry": entry})
            }
            Taken::Clash {
                stands_in,
                stands_at,
            } => json!({
                "line": number, "id": id, "outcome": "clash",
                "stands_in": stands_in, "stands_at": stands_at,
            }),
        })
        .collect();
    let held = app.store().holds(trip).await?;
    Ok(json_answer(&json!({
        "trip": trip,
        "new": new, "repeats": repeats, "clashes": clashes, "earlier": taken.refilled.earlier,
        "entries": held.entries,
        "digest": hex(&held.digest),
        "lines": lines,
    })))
}

fn json_answer(value: &Value) -> Response {
    (
        [(header::CONTENT_TYPE, "application/json")],
        value.to_string(),
    )
        .into_response()
}
