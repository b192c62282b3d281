//! The alerts as the desk sees them. They are acknowledged on board only.

use askama::Template;
use axum::extract::State;
use axum::response::Response;

use crate::trip::TripId;
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::frame::Frame;
use crate::web::notices::NoticeRow;
use crate::web::page::{Asked, html};
use crate::web::parts::AlertRow;

use super::Here;

#[derive(Template)]
#[template(path = "desk/alerts.html")]
struct AlertsPage {
    frame: Frame,
    title: String,
    alerts: Vec<AlertRow>,
    notices: Vec<NoticeRow>,
    skipper: String,
}

/// The page.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    let mut frame = here.frame(&app, &asked, &crew);
    let notices = std::mem::take(&mut frame.notices);
    // The strip shows the same alerts: here their elements have names of their own.
    let alerts = frame
        .alerts
        .iter()
        .flatten()
        .map(|alert| AlertRow {
            id: format!("listed-{}", alert.id),
            href: "#main".to_owned(),
            ..alert.clone()
        })
        .collect();
    html(&AlertsPage {
        title: here.title(),
        skipper: here.snap.state.command.name.clone(),
        alerts,
        notices,
        frame,
    })
}
