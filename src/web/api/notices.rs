//! What is wrong with the box itself, as programs read it.

use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use serde_json::json;

use crate::web::app::App;

/// All notices that hold.
pub(super) async fn all(State(app): State<App>) -> Response {
    let notices = app.notices().told(crate::web::language::words());
    let body = json!({"now": app.clock().now(), "notices": notices});
    let kind = [(header::CONTENT_TYPE, "application/json")];
    (kind, body.to_string()).into_response()
}
