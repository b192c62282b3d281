//! Seen at the surface: a buoy, heads with their signal, and what those who are up say of the
//! others. A call for help is one tap and is never refused for want of a name.

use askama::Template;
use axum::extract::State;
use axum::response::Response;

use super::drop::answer;
use super::frame::{Deck, Spot, anchored, done};
use super::group;
use crate::trip::TripId;
use crate::trip::decide::{self, Decided, SurfaceTap};
use crate::trip::event::{BuoyColour, GroupId, PersonId, Signal};
use crate::trip::state::{self, Place};
use crate::web::act::Acted;
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{self, Asked, html};
use crate::web::parts::{Choice, FieldFault};
use crate::web::view;
use crate::words::Words;

const SIGNALS: &[(&str, Signal)] = &[
    ("well", Signal::Well),
    ("none", Signal::NoSignal),
    ("help", Signal::Help),
];
const COLOURS: &[(&str, BuoyColour)] = &[
    ("orange", BuoyColour::Orange),
    ("yellow", BuoyColour::Yellow),
    ("other", BuoyColour::Other),
];

/// Heads are seen, each named; or somebody of the group calls for help.
pub(super) async fn heads(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, id)): Path<(TripId, GroupId)>,
    fields: Fields,
) -> Result<Response, Error> {
    let deck = Deck::open(app, crew, asked, trip).await?;
    deck.group(id)?;
    let persons = fields.parsed_all::<PersonId>("persons");
    let signal = fields.word("signal", SIGNALS);
    let at = fields.happened_at("at", &deck.zone, deck.now);
    let spot = Spot::read(&fields);
    let help = signal == Some(Signal::Help);
    let (tap, spot) = match (persons, signal, at, spot) {
        (Some(persons), Some(signal), Some(at), Some(spot)) => {
            let tap = SurfaceTap {
                persons,
                signal,
                place: None,
                from_boat: spot.from_boat.clone(),
                at,
            };
            (tap, Some(spot))
        }
        // A slip in a field beside it must not hold up a call for help.
        (Some(persons), Some(signal), _, _) if help => {
            let tap = SurfaceTap {
                persons,
                signal,
                place: None,
                from_boat: None,
                at: None,
            };
            (tap, None)
        }
        _ => return group::refused(&deck, id, &fields, fields.faults()).await,
    };
    let acted = deck
        .act(&fields, move |state, _, now| {
            let mut tap = tap.clone();
            tap.place = spot.as_ref().and_then(|spot| spot.place(state));
            if help && tap.persons.is_empty() {
                return call_for_help(state, id, tap, now);
            }
            decide::surfaced(state, tap, now)
        })
        .await?;
    answer(&deck, id, &fields, acted).await
}

/// Help is signalled and nobody was named. Whoever is at the surface signals; is nobody known
/// to be there, the emergency is declared for all who are out, and nobody is counted up by it.
fn call_for_help(
    state: &state::State,
    id: GroupId,
    tap: SurfaceTap,
    now: jiff::Timestamp,
) -> Decided {
    let out = state.groups.get(&id).map(|g| state.out_of(g));
    let out = out.unwrap_or_default();
    let up = out.iter().filter(|p| p.place == Place::AtSurface);
    let persons: std::collections::BTreeSet<PersonId> = up.map(|p| p.id).collect();
    if persons.is_empty() {
        let letter = state.groups.get(&id).map_or("", |g| &g.formed.letter);
        let reason = Words::english().say_with(
            "deck-help-reason",
            &[("group", view::spoken(letter).into())],
        );
        let out = out.iter().map(|p| p.id).collect();
        return decide::declare_emergency(state, out, &reason, tap.place);
    }
    decide::surfaced(state, SurfaceTap { persons, ..tap }, now)
}

/// What somebody who is up says of the others.
pub(super) async fn word(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, id)): Path<(TripId, GroupId)>,
    fields: Fields,
) -> Result<Response, Error> {
    let deck = Deck::open(app, crew, asked, trip).await?;
    deck.group(id)?;
    let said_by = fields.parsed::<PersonId>("said_by");
    let lost = fields.word("word", &[("well", false), ("lost", true)]);
    let (Some(said_by), Some(lost)) = (said_by, lost) else {
        return group::refused(&deck, id, &fields, fields.faults()).await;
    };
    let acted = deck
        .act(&fields, move |state, _, _| {
            if lost {
                decide::lost_contact(state, id, said_by)
            } else {
                decide::others_well(state, id, said_by)
            }
        })
        .await?;
    answer(&deck, id, &fields, acted).await
}

#[derive(Template)]
#[template(path = "deck/buoy.html")]
struct BuoyPage {
    frame: Frame,
    faults: Vec<FieldFault>,
    name: String,
    back: String,
    url: String,
    fields: Vec<(String, String)>,
    colours: Vec<Choice>,
    at: String,
    bearing: String,
    range: String,
    lat: String,
    lon: String,
}

/// The page of a buoy with its place.
pub(super) async fn buoy_page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, id)): Path<(TripId, GroupId)>,
) -> Result<Response, Error> {
    let deck = Deck::open(app, crew, asked, trip).await?;
    html(&draw_buoy(&deck, id, &Fields::default(), Vec::new())?)
}

/// A buoy is seen: it counts nobody.
pub(super) async fn buoy(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, id)): Path<(TripId, GroupId)>,
    fields: Fields,
) -> Result<Response, Error> {
    let deck = Deck::open(app, crew, asked, trip).await?;
    deck.group(id)?;
    let colour = fields.word("colour", COLOURS);
    let at = fields.happened_at("at", &deck.zone, deck.now);
    let spot = Spot::read(&fields);
    let (Some(colour), Some(at), Some(spot)) = (colour, at, spot) else {
        return page::refused(&draw_buoy(&deck, id, &fields, fields.faults())?);
    };
    let acted = deck
        .act(&fields, move |state, _, now| {
            let seen = (colour, spot.place(state), spot.from_boat.clone());
            decide::buoy(state, id, seen, at, now)
        })
        .await?;
    match acted {
        Acted::Done(event) => Ok(done(&deck.group_path(id), event)),
        Acted::Refused(faults) => page::refused(&draw_buoy(&deck, id, &fields, faults)?),
    }
}

fn draw_buoy(
    deck: &Deck,
    id: GroupId,
    fields: &Fields,
    faults: Vec<FieldFault>,
) -> Result<BuoyPage, Error> {
    let group = deck.group(id)?;
    let on_page = ["colour", "at", "lat", "lon", "bearing", "range"];
    let faults = anchored(faults, &on_page);
    let t = deck.t;
    let colour = |value: &str, label: String, note: String| Choice {
        value: value.to_owned(),
        label,
        note,
        chosen: fields.typed("colour") == value,
    };
    Ok(BuoyPage {
        frame: deck.frame_of(&faults),
        faults,
        name: view::spoken(&group.formed.letter),
        back: deck.group_path(id),
        url: format!("{}/buoy", deck.group_path(id)),
        fields: deck.tokens(),
        colours: vec![
            colour("orange", t.say("deck-orange"), String::new()),
            colour("yellow", t.say("deck-yellow"), t.say("deck-yellow-note")),
            colour("other", t.say("deck-other-colour"), String::new()),
        ],
        at: fields.typed("at").to_owned(),
        bearing: fields.typed("bearing").to_owned(),
        range: fields.typed("range").to_owned(),
        lat: fields.typed("lat").to_owned(),
        lon: fields.typed("lon").to_owned(),
    })
}
