//! Returns of the dive: who is back with bar or depth still to be said, and everybody's line.

use askama::Template;
use axum::response::Response;

use super::aboard::known;
use super::frame::{Deck, Did, Logged, anchored, done};
use crate::trip::decide;
use crate::trip::event::{PersonId, Return};
use crate::trip::state::{self, Person};
use crate::units::{CylinderBar, Depth, bounds};
use crate::web::act::Acted;
use crate::web::error::Error;
use crate::web::extract::Query;
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{self, html};
use crate::web::parts::FieldFault;
use crate::web::view;
use crate::words::Arg;

#[derive(Template)]
#[template(path = "deck/returns.html")]
struct ReturnsPage {
    frame: Frame,
    faults: Vec<FieldFault>,
    logged: Option<Logged>,
    url: String,
    missing: Vec<Missing>,
    lines: Vec<DiveLine>,
}

/// Somebody who is back and of whom something is not known yet.
struct Missing {
    id: String,
    name: String,
    note: String,
    bar_id: String,
    depth_id: String,
    bar: String,
    depth: String,
    href: String,
    fields: Vec<(String, String)>,
}

/// A person's dive.
struct DiveLine {
    name: String,
    place: String,
    known: String,
    href: String,
}

/// The page.
pub(super) async fn page(deck: Deck, Query(did): Query<Did>) -> Result<Response, Error> {
    html(&draw(&deck, &did, &Fields::default(), Vec::new()))
}

/// Bar and depth of one person are logged.
pub(super) async fn log(deck: Deck, fields: Fields) -> Result<Response, Error> {
    let id = fields.parsed::<PersonId>("person").ok_or(Error::NotFound)?;
    deck.person(id)?;
    let (bar_id, depth_id) = (format!("bar-{id}"), format!("depth-{id}"));
    let bar = fields.optional_quantity(&bar_id, &bounds::CYLINDER_BAR, CylinderBar::from_bar);
    let depth = fields.optional_quantity(&depth_id, &bounds::DEPTH_M, Depth::from_m);
    if (bar, depth) == (Some(None), Some(None)) {
        fields.fault(&bar_id, "refused-nothing-said", &[]);
    }
    let (Some(bar), Some(greatest_depth_m), true) = (bar, depth, fields.is_sound()) else {
        let faults = fields.faults();
        return page::refused(&draw(&deck, &Did::default(), &fields, faults));
    };
    let dive = dive(&deck);
    let detail = Return {
        surfaced_at: None,
        bar,
        greatest_depth_m,
        stop_done: None,
        problem: None,
    };
    let acted = deck
        .act(&fields, move |state, _, now| {
            decide::note_return(state, id, dive, detail.clone(), now)
        })
        .await?;
    match acted {
        Acted::Done(event) => Ok(done(&deck.path("/returns"), event)),
        Acted::Refused(mut faults) => {
            for fault in &mut faults {
                if fault.field == "bar" {
                    fault.field.clone_from(&bar_id);
                }
            }
            page::refused(&draw(&deck, &Did::default(), &fields, faults))
        }
    }
}

fn dive(deck: &Deck) -> u32 {
    deck.state().dive.max(1)
}

/// Who has been under water on this dive.
fn divers(deck: &Deck) -> Vec<(&Person, &state::Logged)> {
    let dive = dive(deck);
    deck.state()
        .people
        .values()
        .filter_map(|p| Some((p, p.dives.get(&dive)?)))
        .filter(|(_, logged)| logged.entered_at.is_some())
        .collect()
}

fn draw(deck: &Deck, did: &Did, fields: &Fields, faults: Vec<FieldFault>) -> ReturnsPage {
    let t = deck.t;
    let mut divers = divers(deck);
    // Who came back last stands on top: the gauge is still in the hand.
    divers.sort_by_key(|(p, logged)| (std::cmp::Reverse(logged.aboard_at), p.name().to_owned()));
    let missing: Vec<Missing> = divers
        .iter()
        .filter(|(p, logged)| {
            p.place.is_accounted() && (logged.bar.is_none() || logged.greatest_depth_m.is_none())
        })
        .map(|(p, logged)| missing(deck, p, logged, fields))
        .collect();
    let on_page: Vec<&str> = missing
        .iter()
        .flat_map(|m| [m.bar_id.as_str(), m.depth_id.as_str()])
        .collect();
    let faults = anchored(faults, &on_page);
    divers.sort_by_key(|(p, _)| (p.place.is_accounted(), p.name().to_owned()));
    let lines = divers
        .into_iter()
        .map(|(p, logged)| DiveLine {
            name: p.name().to_owned(),
            place: t.say(view::place_key(p.place)),
            known: known(deck, logged),
            href: deck.path(&format!("/return/{}", p.id)),
        })
        .collect();
    ReturnsPage {
        frame: deck.frame_of(&faults),
        faults,
        logged: deck.logged(did),
        url: deck.path("/returns"),
        missing,
        lines,
    }
}

fn missing(deck: &Deck, person: &Person, logged: &state::Logged, fields: &Fields) -> Missing {
    let id = person.id;
    let (bar_id, depth_id) = (format!("bar-{id}"), format!("depth-{id}"));
    let letter = logged
        .group
        .and_then(|g| deck.state().groups.get(&g))
        .map_or_else(String::new, |g| view::spoken(&g.formed.letter));
    let note = logged.aboard_at.map_or_else(String::new, |at| {
        let args = [("group", Arg::from(letter)), ("at", deck.clock(at).into())];
        deck.t.say_with("deck-back-at", &args)
    });
    let held = |name: &str, known: Option<f64>| match fields.typed(name) {
        "" => known.map_or_else(String::new, |v| v.to_string()),
        typed => typed.to_owned(),
    };
    Missing {
        id: id.to_string(),
        name: person.name().to_owned(),
        note,
        bar: held(&bar_id, logged.bar),
        depth: held(&depth_id, logged.greatest_depth_m),
        bar_id,
        depth_id,
        href: deck.path(&format!("/return/{id}")),
        fields: deck.tokens(),
    }
}
