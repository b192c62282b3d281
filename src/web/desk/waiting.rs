//! The waiting list below the roster: who waits, moved up when a place is free, or taken off.

use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use crate::trip::TripId;
use crate::trip::decide;
use crate::trip::event::PersonId;
use crate::web::act::{Acted, act};
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::page::Asked;
use crate::web::parts::FieldFault;

use super::Here;
use super::form::lead;

/// Somebody who waits, as shown.
pub(super) struct Row {
    pub id: String,
    pub name: String,
    pub level: String,
    pub limit: String,
    pub wish: String,
    pub since: String,
    pub reason_id: String,
}

/// Who waits, in order.
pub(super) fn rows(here: &Here) -> Vec<Row> {
    let waiting = here.snap.state.waiting.iter();
    waiting
        .map(|one| Row {
            id: one.id.to_string(),
            reason_id: format!("reason-{}", one.id),
            name: one.card.name.clone(),
            level: one.card.level.clone(),
            limit: super::roster::limit_words(one.card.depth_limit_m),
            wish: one.wish.clone().unwrap_or_default(),
            since: here.t.say_with(
                "waiting-since",
                &[
                    ("at", here.day_and_time(one.since).into()),
                    ("by", one.by.as_str().into()),
                ],
            ),
        })
        .collect()
}

/// Moves somebody up to the roster.
pub async fn up(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, id)): Path<(TripId, PersonId)>,
    fields: Fields,
) -> Result<Response, Error> {
    let both = fields.ticked("both");
    let decided = move |state: &_, _: &[_], _| decide::move_up(state, id, both);
    let acted = act(&app, &crew, trip, &fields, decided).await?;
    answer(&app, &asked, &crew, trip, &fields, acted, "main").await
}

/// Takes somebody off the list.
pub async fn off(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, id)): Path<(TripId, PersonId)>,
    fields: Fields,
) -> Result<Response, Error> {
    let field = format!("reason-{id}");
    let reason = fields.typed(&field).to_owned();
    let decided = move |state: &_, _: &[_], _| decide::leave_waiting(state, id, &reason);
    let acted = act(&app, &crew, trip, &fields, decided).await?;
    answer(&app, &asked, &crew, trip, &fields, acted, &field).await
}

async fn answer(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    trip: TripId,
    fields: &Fields,
    acted: Acted,
    reason: &str,
) -> Result<Response, Error> {
    let faults: Vec<FieldFault> = match acted {
        Acted::Done(_) => {
            return Ok(Redirect::to(&format!("/desk/{trip}/roster#waiting")).into_response());
        }
        Acted::Refused(why) => lead(
            why,
            &[("person", "main"), ("name", "main"), ("reason", reason)],
        ),
    };
    super::roster::refuse(app, asked, crew, trip, fields, faults).await
}
