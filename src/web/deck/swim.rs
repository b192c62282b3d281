//! Snorkellers: into the water by name, and back aboard one by one.

use std::collections::BTreeSet;

use askama::Template;
use axum::response::Response;

use super::frame::{Deck, Did, Logged, anchored, done};
use crate::trip::decide::{self, SurfaceTap};
use crate::trip::event::{Activity, PersonId, Signal};
use crate::trip::state::Place;
use crate::web::act::Acted;
use crate::web::error::Error;
use crate::web::extract::Query;
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{self, html};
use crate::web::parts::{Action, Choice, FieldFault, Weight};
use crate::web::view;
use crate::words::Arg;

#[derive(Template)]
#[template(path = "deck/swim.html")]
struct SwimPage {
    frame: Frame,
    faults: Vec<FieldFault>,
    logged: Option<Logged>,
    swimmers: Vec<Swimmer>,
    waiting: Vec<Choice>,
    url: String,
    lookout_url: String,
    has_lookout: bool,
    fields: Vec<(String, String)>,
}

/// Somebody in the water.
struct Swimmer {
    name: String,
    place: String,
    distress: bool,
    href: String,
    aboard: Action,
    help: Action,
}

/// The page.
pub(super) async fn page(deck: Deck, Query(did): Query<Did>) -> Result<Response, Error> {
    html(&draw(&deck, &did, &Fields::default(), Vec::new()))
}

/// Snorkellers go in, each named.
pub(super) async fn enter(deck: Deck, fields: Fields) -> Result<Response, Error> {
    let Some(persons) = fields.parsed_all::<PersonId>("persons") else {
        let faults = fields.faults();
        return page::refused(&draw(&deck, &Did::default(), &fields, faults));
    };
    let acted = deck
        .act(&fields, move |state, _, _| {
            decide::swim(state, persons.clone())
        })
        .await?;
    answer(&deck, &fields, acted)
}

/// A snorkeller signals for help: alarms at once.
pub(super) async fn help(deck: Deck, fields: Fields) -> Result<Response, Error> {
    let person = fields.parsed::<PersonId>("person").ok_or(Error::NotFound)?;
    deck.person(person)?;
    let tap = SurfaceTap {
        persons: BTreeSet::from([person]),
        signal: Signal::Help,
        place: None,
        from_boat: None,
        at: None,
    };
    let acted = deck
        .act(&fields, move |state, _, now| {
            decide::surfaced(state, tap.clone(), now)
        })
        .await?;
    answer(&deck, &fields, acted)
}

fn answer(deck: &Deck, fields: &Fields, acted: Acted) -> Result<Response, Error> {
    match acted {
        Acted::Done(event) => Ok(done(&deck.path("/swim"), event)),
        Acted::Refused(faults) => page::refused(&draw(deck, &Did::default(), fields, faults)),
    }
}

fn draw(deck: &Deck, did: &Did, fields: &Fields, faults: Vec<FieldFault>) -> SwimPage {
    let state = deck.state();
    let t = deck.t;
    let faults = anchored(faults, &["persons", "lookout"]);
    let mut swimmers: Vec<_> = state.swimmers().collect();
    swimmers.sort_by_key(|p| (!p.distress, p.since, p.id));
    let swimmers = swimmers
        .into_iter()
        .map(|p| {
            let since = [
                ("place", Arg::from(t.say(view::place_key(p.place)))),
                ("since", deck.clock(p.since).into()),
            ];
            let person = p.id.to_string();
            Swimmer {
                name: p.name().to_owned(),
                place: t.say_with("deck-since", &since),
                distress: p.distress,
                href: deck.path(&format!("/return/{person}")),
                aboard: deck
                    .action(
                        t.say("deck-aboard-now"),
                        deck.path("/aboard"),
                        Weight::Plain,
                    )
                    .with("person", person.clone()),
                help: deck
                    .action(
                        t.say("deck-needs-help"),
                        deck.path("/swim/help"),
                        Weight::Plain,
                    )
                    .with("person", person),
            }
        })
        .collect();
    let waiting = state
        .coming()
        .filter(|p| p.card.activity == Activity::Snorkeller && p.place == Place::Aboard)
        .map(|p| Choice {
            value: p.id.to_string(),
            label: p.name().to_owned(),
            note: String::new(),
            chosen: fields.all("persons").any(|v| v == p.id.to_string()),
        })
        .collect();
    SwimPage {
        frame: deck.frame_of(&faults),
        faults,
        logged: deck.logged(did),
        swimmers,
        waiting,
        url: deck.path("/swim"),
        lookout_url: deck.path("/lookout"),
        has_lookout: state.lookout.is_some(),
        fields: deck.tokens(),
    }
}
