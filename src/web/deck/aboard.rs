//! Out of the water: one person at a time, in one tap with the rest later, or with all of it.

use askama::Template;
use axum::extract::State;
use axum::response::Response;

use super::frame::{Deck, anchored, done};
use crate::trip::TripId;
use crate::trip::decide::{self, AboardTap};
use crate::trip::event::{PersonId, Return, Vessel};
use crate::trip::state::Person;
use crate::units::{CylinderBar, Depth, bounds};
use crate::web::act::Acted;
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{self, Asked, html};
use crate::web::parts::{Choice, FieldFault};
use crate::web::view;
use crate::words::Arg;

/// Longest name of a vessel, a place or who saw somebody, characters.
const LONGEST_NAME: usize = 80;
/// Longest note of trouble, characters.
const LONGEST_NOTE: usize = 500;
const ON_PAGE: &[&str] = &[
    "bar",
    "depth",
    "stop",
    "surfaced_at",
    "at",
    "trouble",
    "vessel",
    "vessel_name",
    "seen_by",
];

/// Nothing said of a return yet.
const NO_DETAIL: Return = Return {
    surfaced_at: None,
    bar: None,
    greatest_depth_m: None,
    stop_done: None,
    problem: None,
};

#[derive(Template)]
#[template(path = "deck/return.html")]
struct ReturnPage {
    frame: Frame,
    faults: Vec<FieldFault>,
    name: String,
    /// Where the person is, and since when.
    place: String,
    /// Still to be logged out of the water.
    out: bool,
    /// Breathes from a cylinder, so that bar, depth and stop are asked.
    dived: bool,
    /// What is logged already.
    known: String,
    back: String,
    url: String,
    fields: Vec<(String, String)>,
    bar: String,
    depth: String,
    stops: Vec<Choice>,
    surfaced_at: String,
    at: String,
    problem: String,
    vessels: Vec<Choice>,
    vessel_name: String,
    seen_by: String,
    crew: String,
}

/// A person is aboard this boat, seen by who taps; bar and depth can follow.
pub(super) async fn now(deck: Deck, fields: Fields) -> Result<Response, Error> {
    let person = fields.parsed::<PersonId>("person").ok_or(Error::NotFound)?;
    deck.person(person)?;
    let tap = AboardTap {
        person,
        vessel: Vessel::Own,
        seen_by: deck.crew.0.name.clone(),
        detail: NO_DETAIL,
        at: None,
    };
    let acted = deck
        .act(&fields, move |state, _, now| {
            decide::aboard(state, tap.clone(), now)
        })
        .await?;
    match acted {
        Acted::Done(event) => Ok(done(&back(&deck, person)?, event)),
        Acted::Refused(faults) => page::refused(&draw(&deck, person, &fields, faults)?),
    }
}

/// The page of a return.
pub(super) async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, person)): Path<(TripId, PersonId)>,
) -> Result<Response, Error> {
    let deck = Deck::open(app, crew, asked, trip).await?;
    html(&draw(&deck, person, &Fields::default(), Vec::new())?)
}

/// A return is logged: out of the water, or what was still to be said of it.
pub(super) async fn log(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, person)): Path<(TripId, PersonId)>,
    fields: Fields,
) -> Result<Response, Error> {
    let deck = Deck::open(app, crew, asked, trip).await?;
    let who = deck.person(person)?;
    let acted = if who.place.is_accounted() {
        note(&deck, who, &fields).await?
    } else {
        board(&deck, person, &fields).await?
    };
    match acted {
        Acted::Done(event) => Ok(done(&back(&deck, person)?, event)),
        Acted::Refused(faults) => page::refused(&draw(&deck, person, &fields, faults)?),
    }
}

async fn board(deck: &Deck, person: PersonId, fields: &Fields) -> Result<Acted, Error> {
    let detail = detail(deck, fields);
    let at = fields.happened_at("at", &deck.zone, deck.now);
    let vessel = vessel(fields);
    let seen_by = fields.optional_text("seen_by", LONGEST_NAME);
    let (Some(detail), Some(at), Some(vessel), Some(seen_by)) = (detail, at, vessel, seen_by)
    else {
        return Ok(Acted::Refused(fields.faults()));
    };
    let seen_by = match (seen_by, &vessel) {
        (Some(name), _) => name,
        (None, Vessel::Own | Vessel::Tender) => deck.crew.0.name.clone(),
        // Another boat's word counts by the name of who sees the person there.
        (None, Vessel::Other { .. } | Vessel::Shore { .. }) => {
            fields.fault("seen_by", "deck-fault-seen-by", &[]);
            return Ok(Acted::Refused(fields.faults()));
        }
    };
    let tap = AboardTap {
        person,
        vessel,
        seen_by,
        detail,
        at,
    };
    deck.act(fields, move |state, _, now| {
        decide::aboard(state, tap.clone(), now)
    })
    .await
}

async fn note(deck: &Deck, who: &Person, fields: &Fields) -> Result<Acted, Error> {
    let Some(detail) = detail(deck, fields) else {
        return Ok(Acted::Refused(fields.faults()));
    };
    if detail == NO_DETAIL {
        fields.fault("bar", "refused-nothing-said", &[]);
        return Ok(Acted::Refused(fields.faults()));
    }
    let (person, dive) = (who.id, dive_of(deck, who));
    deck.act(fields, move |state, _, now| {
        decide::note_return(state, person, dive, detail.clone(), now)
    })
    .await
}

/// The dive a person's return belongs to: the last one made.
fn dive_of(deck: &Deck, who: &Person) -> u32 {
    let last = who.dives.keys().max().copied();
    last.or(who.dive).unwrap_or(deck.state().dive)
}

fn detail(deck: &Deck, fields: &Fields) -> Option<Return> {
    let bar = fields.optional_quantity("bar", &bounds::CYLINDER_BAR, CylinderBar::from_bar);
    let depth = fields.optional_quantity("depth", &bounds::DEPTH_M, Depth::from_m);
    let surfaced_at = fields.happened_at("surfaced_at", &deck.zone, deck.now);
    let problem = fields.optional_text("trouble", LONGEST_NOTE);
    let stop = if fields.typed("stop").is_empty() {
        Some(None)
    } else {
        fields
            .word("stop", &[("done", true), ("missed", false)])
            .map(Some)
    };
    Some(Return {
        surfaced_at: surfaced_at?,
        bar: bar?,
        greatest_depth_m: depth?,
        stop_done: stop?,
        problem: problem?,
    })
}

fn vessel(fields: &Fields) -> Option<Vessel> {
    let kind = match fields.typed("vessel") {
        "" => "own",
        typed => typed,
    };
    match kind {
        "own" => Some(Vessel::Own),
        "tender" => Some(Vessel::Tender),
        "other" => fields
            .text("vessel_name", LONGEST_NAME)
            .map(|name| Vessel::Other { name }),
        "shore" => fields
            .text("vessel_name", LONGEST_NAME)
            .map(|place| Vessel::Shore { place }),
        _ => {
            fields.fault("vessel", "fault-choose", &[]);
            None
        }
    }
}

/// The page that shows a person's group, or the swimmers.
fn back(deck: &Deck, person: PersonId) -> Result<String, Error> {
    let who = deck.person(person)?;
    let dive = dive_of(deck, who);
    let group = who.dives.get(&dive).and_then(|d| d.group).or(who.group);
    Ok(group.map_or_else(|| deck.path("/swim"), |group| deck.group_path(group)))
}

fn draw(
    deck: &Deck,
    id: PersonId,
    fields: &Fields,
    faults: Vec<FieldFault>,
) -> Result<ReturnPage, Error> {
    let who = deck.person(id)?;
    let t = deck.t;
    let faults = anchored(faults, ON_PAGE);
    let dive = dive_of(deck, who);
    let logged = who.dives.get(&dive);
    let typed = |name: &str| fields.typed(name).to_owned();
    let choice = |field: &str, value: &str, label: String, default: bool| Choice {
        value: value.to_owned(),
        label,
        note: String::new(),
        chosen: match fields.typed(field) {
            "" => default,
            chosen => chosen == value,
        },
    };
    let since = [
        ("place", Arg::from(t.say(view::place_key(who.place)))),
        ("since", deck.clock(who.since).into()),
    ];
    Ok(ReturnPage {
        frame: deck.frame_of(&faults),
        faults,
        name: who.name().to_owned(),
        place: t.say_with("deck-since", &since),
        out: !who.place.is_accounted(),
        dived: logged.is_some_and(|d| d.entered_at.is_some()),
        known: logged.map_or_else(String::new, |d| known(deck, d)),
        back: back(deck, id)?,
        url: deck.path(&format!("/return/{id}")),
        fields: deck.tokens(),
        bar: typed("bar"),
        depth: typed("depth"),
        stops: vec![
            choice("stop", "done", t.say("deck-stop-done"), false),
            choice("stop", "missed", t.say("deck-stop-missed"), false),
        ],
        surfaced_at: typed("surfaced_at"),
        at: typed("at"),
        problem: typed("trouble"),
        vessels: vec![
            choice("vessel", "own", t.say("deck-vessel-own"), true),
            choice("vessel", "tender", t.say("deck-vessel-tender"), false),
            choice("vessel", "other", t.say("deck-vessel-other"), false),
            choice("vessel", "shore", t.say("deck-vessel-shore"), false),
        ],
        vessel_name: typed("vessel_name"),
        seen_by: typed("seen_by"),
        crew: deck.crew.0.name.clone(),
    })
}

/// What is logged of a dive already.
pub(super) fn known(deck: &Deck, logged: &crate::trip::state::Logged) -> String {
    let t = deck.t;
    let mut parts = Vec::new();
    let times = [
        ("deck-left-at", logged.entered_at),
        ("deck-up-at", logged.surfaced_at),
        ("deck-aboard-at", logged.aboard_at),
    ];
    for (key, at) in times {
        if let Some(at) = at {
            parts.push(t.say_with(key, &[("at", deck.clock(at).into())]));
        }
    }
    if let Some(bar) = logged.bar {
        parts.push(t.say_with("deck-bar", &[("bar", bar.into())]));
    }
    if let Some(depth) = logged.greatest_depth_m {
        parts.push(t.say_with("deck-depth", &[("depth", depth.into())]));
    }
    match logged.stop_done {
        Some(true) => parts.push(t.say("deck-stop-done")),
        Some(false) => parts.push(t.say("deck-stop-missed")),
        None => {}
    }
    if let Some(seen_by) = &logged.seen_by {
        parts.push(t.say_with("deck-seen-by-is", &[("by", seen_by.into())]));
    }
    parts.extend(logged.problem.clone());
    parts.join(", ")
}
