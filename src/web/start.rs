//! The start: the trips there are, each with the places of work that the role has there.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse as _, Redirect, Response};

use super::app::App;
use super::error::Error;
use super::extract::Crew;
use super::frame::{Frame, Place};
use super::page::{Asked, frame, html};
use super::view;
use crate::trip::event::Role;

#[derive(Template)]
#[template(path = "start.html")]
struct StartPage {
    frame: Frame,
    trips: Vec<TripLine>,
    on_board: bool,
    plans: bool,
}

struct TripLine {
    id: String,
    day: String,
    harbour: String,
    boat: String,
    closed: bool,
}

/// The start page.
pub async fn page(State(app): State<App>, asked: Asked, crew: Crew) -> Result<Response, Error> {
    if !crew.works() {
        // A display has one page: the boats of today.
        let zone = app.centre_zone().await?;
        let today = app.clock().now().to_zoned_datetime(zone).date();
        return Ok(Redirect::to(&format!("/desk/day/{today}")).into_response());
    }
    let t = crate::web::language::words();
    let trips = app
        .store()
        .trips()
        .await?
        .into_iter()
        .map(|row| TripLine {
            id: row.trip.to_string(),
            day: row.day.map_or_else(|| t.say("day-unknown"), view::day),
            harbour: row.harbour.unwrap_or_default(),
            boat: row.boat.unwrap_or_default(),
            closed: row.closed,
        })
        .collect();
    html(&StartPage {
        frame: frame(&app, &asked, Place::None, Some(&crew)),
        trips,
        on_board: crew.is(Role::Skipper) || crew.is(Role::Divemaster),
        plans: crew.is(Role::Desk) || crew.is(Role::Skipper),
    })
}
