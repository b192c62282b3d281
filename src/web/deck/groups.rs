//! The groups of the dive by what to do next with each; people who are out stand on top.

use askama::Template;
use axum::response::Response;

use super::frame::{Deck, Did, Logged};
use crate::trip::event::Activity;
use crate::trip::watch::Standing;
use crate::web::error::Error;
use crate::web::extract::Query;
use crate::web::frame::Frame;
use crate::web::page::html;
use crate::web::parts::LedgerRow;
use crate::web::view;
use crate::words::Arg;

#[derive(Template)]
#[template(path = "deck/groups.html")]
struct GroupsPage {
    frame: Frame,
    logged: Option<Logged>,
    /// How many are out and how many of them under water; none while a count is open.
    out: Option<(usize, usize)>,
    parts: Vec<Part>,
    swimmers: Option<String>,
    lookout: Option<String>,
    lookout_url: String,
    swim_url: String,
    seen_url: String,
    logs_url: String,
    emergency_url: String,
}

/// Groups with the same thing to do next.
struct Part {
    id: &'static str,
    title: String,
    rows: Vec<LedgerRow>,
}

/// The page.
pub(super) async fn page(deck: Deck, Query(did): Query<Did>) -> Result<Response, Error> {
    let watch = deck.trip.watch(deck.now);
    let logged = deck.logged(&did);
    let out = (!deck.state().is_counting()).then_some((watch.out, watch.under));
    html(&GroupsPage {
        frame: deck.frame(),
        logged,
        out,
        parts: parts(&deck),
        swimmers: swimmers(&deck),
        lookout: deck.state().lookout.as_ref().map(|l| {
            let args = [
                ("name", Arg::from(&l.name)),
                ("since", deck.clock(l.since).into()),
            ];
            deck.t.say_with("deck-lookout-is", &args)
        }),
        lookout_url: deck.path("/lookout"),
        swim_url: deck.path("/swim"),
        seen_url: deck.path("/lookout#see"),
        logs_url: deck.path("/logs"),
        emergency_url: deck.path("/emergency"),
    })
}

fn parts(deck: &Deck) -> Vec<Part> {
    let watch = deck.trip.watch(deck.now);
    let mut rows = view::ledger(deck.state(), &watch, &deck.path("/group"), deck.t);
    view::doubt(&mut rows, deck.app.clock());
    let mut parts = vec![
        Part::new("fetch", deck.t.say("deck-part-fetch")),
        Part::new("down", deck.t.say("deck-part-down")),
        Part::new("drop", deck.t.say("deck-part-drop")),
        Part::new("check", deck.t.say("deck-part-check")),
        Part::new("back", deck.t.say("deck-part-back")),
    ];
    for row in rows {
        let standing = watch
            .rows
            .iter()
            .find(|r| r.group.to_string() == row.id)
            .map_or(Standing::Unresolved, |r| r.standing);
        let next = part_of(standing);
        if let Some(part) = parts.iter_mut().find(|part| part.id == next) {
            part.rows.push(row);
        }
    }
    parts.retain(|part| !part.rows.is_empty());
    parts
}

impl Part {
    fn new(id: &'static str, title: String) -> Self {
        Self {
            id,
            title,
            rows: Vec::new(),
        }
    }
}

/// What to do next with a group that stands so.
fn part_of(standing: Standing) -> &'static str {
    match standing {
        Standing::Distress
        | Standing::Missing
        | Standing::LostContact
        | Standing::OutOfGas
        | Standing::Overdue
        | Standing::PartnerOverdue
        | Standing::Unresolved
        | Standing::Late
        | Standing::PartnerClock
        | Standing::AtSurface
        | Standing::BuoyUp => "fetch",
        Standing::Due | Standing::InWindow | Standing::InWater => "down",
        Standing::Ready => "drop",
        Standing::Planned => "check",
        Standing::Back => "back",
    }
}

/// A line on the snorkellers, where there are any.
fn swimmers(deck: &Deck) -> Option<String> {
    let state = deck.state();
    let names: Vec<String> = state.swimmers().map(|p| p.name().to_owned()).collect();
    if !names.is_empty() {
        let names = view::names(&names, deck.t);
        return Some(deck.t.say_with("deck-swimming", &[("names", names.into())]));
    }
    state
        .coming()
        .any(|p| p.card.activity == Activity::Snorkeller)
        .then(|| deck.t.say("deck-nobody-swims"))
}
