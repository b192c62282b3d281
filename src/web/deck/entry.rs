//! Taking back: one's own last tap at once, any entry later with a reason, and the wrong face
//! with the right one. Nothing is removed: the entry stays with the reason beside it.

use askama::Template;
use axum::extract::State;
use axum::response::Response;

use super::frame::{Deck, anchored, done};
use super::history::{self, Line};
use crate::trip::TripId;
use crate::trip::decide::{self, AboardTap, SurfaceTap};
use crate::trip::event::{Entry, EventId, Fact, GroupId, PersonId};
use crate::web::act::Acted;
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{self, Asked, html};
use crate::web::parts::{Choice, FieldFault};

/// Longest reason, characters.
const LONGEST: usize = 500;

#[derive(Template)]
#[template(path = "deck/entry.html")]
struct EntryPage {
    frame: Frame,
    faults: Vec<FieldFault>,
    line: Line,
    back: String,
    url: String,
    fields: Vec<(String, String)>,
    /// Who it may have been instead; empty where an entry is not about one person.
    others: Vec<Choice>,
    reason: String,
}

/// Takes back one's own last tap.
pub(super) async fn undo(deck: Deck, fields: Fields) -> Result<Response, Error> {
    let event = fields.parsed::<EventId>("event").ok_or(Error::NotFound)?;
    let held = entry(&deck, event)?;
    let device = deck.crew.0.device;
    let acted = deck
        .act(&fields, move |_, log, now| {
            decide::undo(log, event, device, now)
        })
        .await?;
    match acted {
        Acted::Done(event) => Ok(done(&back(&deck, held), event)),
        // Too late to undo: the page on which it is taken back with a reason.
        Acted::Refused(faults) => {
            let page = draw(&deck, held, &Fields::default(), faults).await?;
            page::refused(&page)
        }
    }
}

/// The page on which an entry is taken back.
pub(super) async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, event)): Path<(TripId, EventId)>,
) -> Result<Response, Error> {
    let deck = Deck::open(app, crew, asked, trip).await?;
    let held = entry(&deck, event)?;
    html(&draw(&deck, held, &Fields::default(), Vec::new()).await?)
}

/// Takes an entry back, and says whom it was about instead.
pub(super) async fn take_back(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, event)): Path<(TripId, EventId)>,
    fields: Fields,
) -> Result<Response, Error> {
    let deck = Deck::open(app, crew, asked, trip).await?;
    let held = entry(&deck, event)?;
    let reason = fields.text("reason", LONGEST);
    let right = match fields.typed("right") {
        "" | "nobody" => Some(None),
        _ => fields.parsed::<PersonId>("right").map(Some),
    };
    let (Some(reason), Some(right)) = (reason, right) else {
        return page::refused(&draw(&deck, held, &fields, fields.faults()).await?);
    };
    let by = deck.app.voiding(&deck.crew);
    let acted = deck
        .act(&fields, move |state, log, now| {
            let mut drafts = decide::void(log, event, &reason, by)?;
            if let Some(right) = right {
                let said = log.iter().find(|e| e.event.id == event);
                drafts.extend(instead(state, said, right, now)?);
            }
            Ok(drafts)
        })
        .await?;
    match acted {
        Acted::Done(event) => Ok(done(&back(&deck, held), event)),
        Acted::Refused(faults) => page::refused(&draw(&deck, held, &fields, faults).await?),
    }
}

/// The same statement about the right person.
fn instead(
    state: &crate::trip::state::State,
    said: Option<&Entry>,
    right: PersonId,
    now: jiff::Timestamp,
) -> decide::Decided {
    match said.map(|e| (&e.event.fact, e.event.at)) {
        Some((Fact::Aboard(aboard), at)) => {
            let tap = AboardTap {
                person: right,
                vessel: aboard.vessel.clone(),
                seen_by: aboard.seen_by.clone(),
                detail: aboard.detail.clone(),
                at: Some(at),
            };
            decide::aboard(state, tap, now)
        }
        Some((Fact::AtSurface(seen), at)) => {
            let tap = SurfaceTap {
                persons: [right].into(),
                signal: seen.signal,
                place: seen.place,
                from_boat: seen.from_boat.clone(),
                at: Some(at),
            };
            decide::surfaced(state, tap, now)
        }
        _ => Err(decide::Refusal::new("right", "refused-no-other-person").into()),
    }
}

fn entry(deck: &Deck, id: EventId) -> Result<&Entry, Error> {
    let found = deck.trip.entries.iter().find(|e| e.event.id == id);
    found.ok_or(Error::NotFound)
}

/// The page that shows what the entry is about.
fn back(deck: &Deck, entry: &Entry) -> String {
    let about = &entry.event.about;
    match (about.group, &entry.event.fact) {
        (_, Fact::LookoutPosted(_) | Fact::LookoutRelieved(_)) => deck.path("/lookout"),
        (_, Fact::ReturnNoted(_)) => deck.path("/returns"),
        (Some(group), _) => deck.group_path(group),
        (None, Fact::AtSurface(_) | Fact::Aboard(_)) => deck.path("/swim"),
        (None, _) => deck.path(""),
    }
}

async fn draw(
    deck: &Deck,
    held: &Entry,
    fields: &Fields,
    faults: Vec<FieldFault>,
) -> Result<EntryPage, Error> {
    let devices = history::devices(deck).await?;
    let faults = anchored(faults, &["reason", "right"]);
    Ok(EntryPage {
        frame: deck.frame_of(&faults),
        faults,
        line: history::line(deck, held, &devices),
        back: back(deck, held),
        url: deck.path(&format!("/entry/{}", held.event.id)),
        fields: deck.tokens(),
        others: others(deck, held, fields.typed("right")),
        reason: fields.typed("reason").to_owned(),
    })
}

/// Others of the group who are out: one of them it was, if the face was wrong.
fn others(deck: &Deck, held: &Entry, chosen: &str) -> Vec<Choice> {
    let event = &held.event;
    let about_one = event.about.persons.len() == 1;
    let faces = matches!(event.fact, Fact::Aboard(_) | Fact::AtSurface(_));
    if !about_one || !faces {
        return Vec::new();
    }
    let group: Option<GroupId> = event.about.group;
    let members = deck
        .state()
        .people
        .values()
        .filter(|p| !p.place.is_accounted() && !event.about.persons.contains(&p.id))
        .filter(|p| p.group == group);
    let nobody = Choice {
        value: "nobody".to_owned(),
        label: deck.t.say("deck-right-nobody"),
        note: String::new(),
        chosen: chosen.is_empty() || chosen == "nobody",
    };
    let mut others = vec![nobody];
    others.extend(members.map(|p| Choice {
        value: p.id.to_string(),
        label: p.name().to_owned(),
        note: String::new(),
        chosen: chosen == p.id.to_string(),
    }));
    others
}
