//! Whether the box runs and saves, and what its interface looks like.

use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde_json::json;

use crate::web::app::App;

/// The description of the interface (OpenAPI 3.1).
const OPENAPI: &str = include_str!("openapi.json");

/// Whether the box answers, and whether it saves: 503 while it does not.
///
/// It is for watchdogs and says no more than they need: why it does not save stands in the log
/// and on the pages of the crew.
pub(super) async fn health(State(app): State<App>) -> Response {
    let storing = app.store().check().is_ok();
    let status = if storing {
        StatusCode::OK
    } else {
        StatusCode::SERVICE_UNAVAILABLE
    };
    let body = json!({"ok": storing, "storing": storing, "now": app.clock().now()});
    (
        status,
        [(header::CONTENT_TYPE, "application/json")],
        body.to_string(),
    )
        .into_response()
}

/// The description of the interface.
pub(super) async fn openapi() -> Response {
    ([(header::CONTENT_TYPE, "application/json")], OPENAPI).into_response()
}
