//! Weather and tide notes of a trip: what a forecast says, with who read it and when.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use crate::trip::event::{ForecastNoted, ForecastOf};
use crate::trip::state::Phase;
use crate::trip::{TripId, decide};
use crate::web::act::{Acted, act};
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::go_list;
use crate::web::page::{Asked, html, refused};
use crate::web::parts::Choice;
use crate::web::sea::words::Told;

use super::Here;
use super::form::Shown;

const OF: [(&str, ForecastOf, &str); 3] = [
    ("weather", ForecastOf::Weather, "forecast-weather"),
    ("sea", ForecastOf::Sea, "forecast-sea"),
    ("tide", ForecastOf::Tide, "forecast-tide"),
];

#[derive(Template)]
#[template(path = "desk/forecast.html")]
struct ForecastPage {
    frame: Frame,
    title: String,
    url: String,
    notes: Vec<String>,
    of: Vec<Choice>,
    may_note: bool,
    f: Shown,
}

fn draw(app: &App, asked: &Asked, crew: &Crew, here: &Here, f: Shown) -> ForecastPage {
    let told = Told {
        t: here.t,
        zone: &here.zone,
        now: here.now,
    };
    let mut frame = here.frame_to_fill(app, asked, crew);
    f.mark(&mut frame);
    let of = OF.map(|(word, _, key)| (word.to_owned(), here.t.say(key)));
    ForecastPage {
        title: here.title(),
        url: format!("/desk/{}", here.trip),
        notes: go_list::forecasts(&here.snap.state, told),
        of: f.choose("of", &of),
        may_note: here.snap.state.phase != Phase::Closed,
        frame,
        f,
    }
}

/// The notes.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    let f = Shown::of_trip(&app, &here.snap);
    html(&draw(&app, &asked, &crew, &here, f))
}

/// Logs a note.
pub async fn save(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
    fields: Fields,
) -> Result<Response, Error> {
    let of = fields.word("of", &OF.map(|(word, of, _)| (word, of)));
    let text = fields.text("text", 1_000);
    let source = fields.optional_text("source", 200);
    let mut faults = fields.faults();
    if let (Some(of), Some(text), Some(source)) = (of, text, source) {
        let note = ForecastNoted { of, text, source };
        let decided = move |state: &_, _: &[_], _| decide::forecast(state, &note);
        match act(&app, &crew, trip, &fields, decided).await? {
            Acted::Done(_) => {
                return Ok(Redirect::to(&format!("/desk/{trip}/forecast")).into_response());
            }
            Acted::Refused(why) => faults = why,
        }
    }
    let here = Here::load(&app, trip).await?;
    let f = Shown::of_trip(&app, &here.snap).refused(&fields, faults);
    refused(&draw(&app, &asked, &crew, &here, f))
}
