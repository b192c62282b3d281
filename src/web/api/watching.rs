//! Devices say whether they watch: before somebody's eyes, armed, kept awake; and how far their
//! clocks are off.

use axum::extract::State;
use axum::http::StatusCode;

use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Document};
use crate::web::presence::{Report, Watcher};

/// Takes a report.
pub(super) async fn report(
    State(app): State<App>,
    crew: Crew,
    Document(document): Document,
) -> Result<StatusCode, Error> {
    let report = Report::read(&document)?;
    app.live()
        .snapshot(report.trip)
        .await?
        .ok_or(Error::NoSuchTrip)?;
    let watcher = Watcher {
        name: crew.0.device_name.clone(),
        who: crew.0.name.clone(),
        report,
        at_ms: app.clock().uptime_ms(),
    };
    app.presence().report(crew.0.device, watcher);
    Ok(StatusCode::NO_CONTENT)
}
