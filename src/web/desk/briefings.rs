//! The briefing cards of a dive, one a page, to be printed.

use askama::Template;
use axum::extract::State;
use axum::response::Response;

use crate::trip::TripId;
use crate::trip::event::Sheet;
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::frame::Frame;
use crate::web::page::{Asked, html};
use crate::web::sea::briefing::{Card, card};
use crate::web::sea::words::Told;

use super::Here;
use super::prints::{Changes, changes};

#[derive(Template)]
#[template(path = "desk/briefings.html")]
struct BriefingsPage {
    frame: Frame,
    title: String,
    heading: String,
    cards: Vec<Card>,
    changes: Changes,
}

/// The page.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, dive)): Path<(TripId, u32)>,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    let state = &here.snap.state;
    let planned = state.dives.get(&dive).ok_or(Error::NotFound)?;
    let told = Told {
        t: here.t,
        zone: &here.zone,
        now: here.now,
    };
    let groups = state.groups_of(dive).into_iter();
    let going = groups.filter(|group| group.stood_down.is_none());
    let args = [
        ("n", dive.to_string().into()),
        ("site", planned.site.name.as_str().into()),
    ];
    html(&BriefingsPage {
        frame: here.frame(&app, &asked, &crew),
        title: here.title(),
        heading: here.t.say_with("trip-dive", &args),
        changes: changes(&app, &here, Sheet::Briefings, Some(dive)),
        cards: going
            .filter_map(|group| card(&here.snap, group, told))
            .collect(),
    })
}
