//! A group's times: more time for a reason, and the drop stated anew when its time was wrong.

use askama::Template;
use axum::extract::State;
use axum::response::Response;

use super::drop::window;
use super::frame::{Deck, anchored, done};
use crate::trip::TripId;
use crate::trip::decide::{self, DropTap, Refusal};
use crate::trip::event::GroupId;
use crate::units::{Minutes, bounds};
use crate::web::act::Acted;
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{self, Asked, html};
use crate::web::parts::FieldFault;
use crate::web::view;
use crate::words::Arg;

/// Longest reason, characters.
const LONGEST: usize = 500;

#[derive(Template)]
#[template(path = "deck/time.html")]
struct TimePage {
    frame: Frame,
    faults: Vec<FieldFault>,
    name: String,
    back: String,
    more_url: String,
    restate_url: String,
    fields: Vec<(String, String)>,
    granted: String,
    /// When it left the surface and by when it must be up, in words.
    times: Vec<String>,
    minutes: String,
    reason: String,
    at: String,
    why: String,
}

/// The page.
pub(super) async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, id)): Path<(TripId, GroupId)>,
) -> Result<Response, Error> {
    let deck = Deck::open(app, crew, asked, trip).await?;
    html(&draw(&deck, id, &Fields::default(), Vec::new())?)
}

fn draw(
    deck: &Deck,
    id: GroupId,
    fields: &Fields,
    faults: Vec<FieldFault>,
) -> Result<TimePage, Error> {
    let group = deck.group(id)?;
    let drop = group.drop.as_ref().ok_or(Error::NotFound)?;
    let faults = anchored(faults, &["minutes", "reason", "left_at", "why"]);
    let url = deck.group_path(id);
    let says = |key: &str, at: jiff::Timestamp| {
        let args = [("at", Arg::from(deck.clock(at)))];
        deck.t.say_with(key, &args)
    };
    let mut times = vec![says("deck-left-at", drop.at)];
    if let Some(d) = crate::trip::watch::deadlines(deck.state(), group) {
        times.push(says("deck-expected-at", d.expected));
        times.push(says("deck-late-at", d.latest));
        times.push(says("deck-overdue-at", d.overdue));
    }
    Ok(TimePage {
        frame: deck.frame_of(&faults),
        faults,
        name: view::spoken(&group.formed.letter),
        more_url: format!("{url}/more"),
        restate_url: format!("{url}/restate"),
        back: url,
        fields: deck.tokens(),
        granted: drop.granted_min.to_string(),
        times,
        minutes: fields.typed("minutes").to_owned(),
        reason: fields.typed("reason").to_owned(),
        at: fields.typed("left_at").to_owned(),
        why: fields.typed("why").to_owned(),
    })
}

/// More time is given, for a reason.
pub(super) async fn more(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, id)): Path<(TripId, GroupId)>,
    fields: Fields,
) -> Result<Response, Error> {
    let deck = Deck::open(app, crew, asked, trip).await?;
    deck.group(id)?;
    let minutes = fields.quantity("minutes", &bounds::LEVEL_MIN, Minutes::from_min);
    let granted = fields.number("granted", &bounds::GRACE_MIN);
    let reason = fields.text("reason", LONGEST);
    let (Some(minutes), Some(granted), Some(reason)) = (minutes, granted, reason) else {
        return page::refused(&draw(&deck, id, &fields, fields.faults())?);
    };
    let acted = deck
        .act(&fields, move |state, _, _| {
            decide::more_time(state, id, minutes, granted, &reason)
        })
        .await?;
    answer(&deck, id, &fields, acted)
}

/// The group left the surface at another time than was logged.
pub(super) async fn restate(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, id)): Path<(TripId, GroupId)>,
    fields: Fields,
) -> Result<Response, Error> {
    let deck = Deck::open(app, crew, asked, trip).await?;
    deck.group(id)?;
    let at = fields.happened_at("left_at", &deck.zone, deck.now);
    if at == Some(None) {
        fields.fault("left_at", "fault-time", &[]);
    }
    let why = fields.text("why", LONGEST);
    let (Some(Some(at)), Some(why)) = (at, why) else {
        return page::refused(&draw(&deck, id, &fields, fields.faults())?);
    };
    let role = deck.crew.by().role;
    let acted = deck
        .act(&fields, move |state, log, now| {
            let drop = state.groups.get(&id).and_then(|g| g.drop.as_ref());
            let drop = drop.ok_or_else(|| Refusal::new("", "refused-nobody-down"))?;
            let (frozen, night) = window(state, id, &drop.members, at)?;
            let tap = DropTap {
                group: id,
                members: drop.members.clone(),
                window: frozen.window,
                owes: frozen.owes,
                place: drop.place,
                at: Some(at),
                night,
            };
            decide::restate_drop(state, log, tap, &why, role, now)
        })
        .await?;
    answer(&deck, id, &fields, acted)
}

fn answer(deck: &Deck, id: GroupId, fields: &Fields, acted: Acted) -> Result<Response, Error> {
    match acted {
        Acted::Done(event) => Ok(done(&deck.group_path(id), event)),
        Acted::Refused(mut faults) => {
            // The rule speaks of the time; on this page that is the time of the drop.
            for fault in &mut faults {
                if fault.field == "at" {
                    "left_at".clone_into(&mut fault.field);
                }
            }
            page::refused(&draw(deck, id, fields, faults)?)
        }
    }
}
