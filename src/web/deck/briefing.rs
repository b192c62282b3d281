//! The briefing card of a group on the phone.

use askama::Template;
use axum::response::Response;

use super::frame::Deck;
use crate::trip::TripId;
use crate::trip::event::GroupId;
use crate::web::error::Error;
use crate::web::extract::Path;
use crate::web::frame::Frame;
use crate::web::page::html;
use crate::web::sea::briefing::{Card, card};
use crate::web::sea::words::Told;
use crate::web::view;

#[derive(Template)]
#[template(path = "deck/briefing.html")]
struct BriefingPage {
    frame: Frame,
    title: String,
    card: Option<Card>,
    back: String,
}

/// The page.
pub(super) async fn page(
    deck: Deck,
    Path((_, id)): Path<(TripId, GroupId)>,
) -> Result<Response, Error> {
    let group = deck.group(id)?;
    let told = Told {
        t: deck.t,
        zone: &deck.zone,
        now: deck.now,
    };
    let letter = view::spoken(&group.formed.letter);
    html(&BriefingPage {
        frame: deck.frame(),
        title: deck
            .t
            .say_with("briefing-title", &[("group", letter.into())]),
        card: card(&deck.trip, group, told),
        back: deck.group_path(id),
    })
}
