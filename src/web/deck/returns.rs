//! Returns of the dive: who is back with bar or depth still to be said, and everybody's line.

use askama::Template;
use axum::response::Response;

use super::aboard::known;
use super::frame::{Deck, Did, Logged, anchored, done};
use crate::trip::decide;
use crate::trip::event::{GroupId, PersonId, Return};
use crate::trip::state::{self, Person};
use crate::units::system::Measure;
use crate::units::{CylinderBar, Depth, bounds};
use crate::web::act::Acted;
use crate::web::error::Error;
use crate::web::extract::Query;
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::marker::Mark;
use crate::web::page::{self, html};
use crate::web::parts::FieldFault;
use crate::web::view;

#[derive(Template)]
#[template(path = "deck/returns.html")]
struct ReturnsPage {
    frame: Frame,
    faults: Vec<FieldFault>,
    logged: Option<Logged>,
    url: String,
    groups: Vec<Missing>,
    fields: Vec<(String, String)>,
    lines: Vec<DiveLine>,
}

/// A group with members who are back and of whom something is not known yet: one form, so that a
/// pair is entered in one go.
struct Missing {
    name: String,
    mark: Option<Mark>,
    people: Vec<One>,
}

/// One of them.
struct One {
    id: String,
    name: String,
    note: String,
    href: String,
    up: Cell,
    bar: Cell,
    depth: Cell,
}

/// A field of theirs.
struct Cell {
    id: String,
    value: String,
    /// What stands there while nothing is typed: what is logged, or was planned.
    hold: String,
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

/// What is typed of the people of a form is logged, all of it or nothing.
pub(super) async fn log(deck: Deck, fields: Fields) -> Result<Response, Error> {
    let people = fields.parsed_all::<PersonId>("person");
    let people = people.filter(|people| !people.is_empty());
    let people = people.ok_or(Error::NotFound)?;
    let mut told: Vec<(PersonId, Return)> = Vec::new();
    for id in &people {
        deck.person(*id)?;
        told.extend(detail(&deck, *id, &fields).map(|detail| (*id, detail)));
    }
    if told.is_empty()
        && fields.is_sound()
        && let Some(first) = people.first()
    {
        fields.fault(&format!("bar-{first}"), "refused-nothing-said", &[]);
    }
    let mut faults = fields.faults();
    if faults.is_empty() {
        let dive = dive(&deck);
        let acted = deck
            .act(&fields, move |state, _, now| {
                decide::note_returns(state, &told, dive, now)
            })
            .await?;
        match acted {
            Acted::Done(event) => return Ok(done(&deck.path("/returns"), event)),
            Acted::Refused(refused) => faults = refused,
        }
    }
    // Of a time the rules speak as of when it happened; here that is when somebody came up.
    for fault in &mut faults {
        if let Some(id) = fault.field.strip_prefix("at-") {
            fault.field = format!("up-{id}");
        }
    }
    page::refused(&draw(&deck, &Did::default(), &fields, faults))
}

/// What is typed of one person; none if it is nothing, or wrong, which then stands in the faults.
fn detail(deck: &Deck, id: PersonId, fields: &Fields) -> Option<Return> {
    let named = |what: &str| format!("{what}-{id}");
    let bar = fields.optional_quantity(&named("bar"), &bounds::CYLINDER_BAR, CylinderBar::from_bar);
    let depth = fields.optional_quantity(&named("depth"), &bounds::DEPTH_M, Depth::from_m);
    let up = fields.happened_at(&named("up"), &deck.zone, deck.now);
    let detail = Return {
        surfaced_at: up?,
        bar: bar?,
        greatest_depth_m: depth?,
        stop_done: None,
        problem: None,
    };
    let is_empty = (detail.surfaced_at, detail.bar, detail.greatest_depth_m) == (None, None, None);
    (!is_empty).then_some(detail)
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
    let groups = missing(deck, &divers, fields);
    let on_page: Vec<&str> = groups
        .iter()
        .flat_map(|group| &group.people)
        .flat_map(|one| [&one.up, &one.bar, &one.depth])
        .map(|cell| cell.id.as_str())
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
        groups,
        fields: deck.tokens(),
        lines,
    }
}

/// Groups with somebody back of whom bar or depth is not known, in the order of `divers`.
fn missing(deck: &Deck, divers: &[(&Person, &state::Logged)], fields: &Fields) -> Vec<Missing> {
    let mut groups: Vec<(Option<GroupId>, Missing)> = Vec::new();
    for (person, logged) in divers {
        let is_whole = logged.bar.is_some() && logged.greatest_depth_m.is_some();
        if is_whole || !person.place.is_accounted() {
            continue;
        }
        let one = one(deck, person, logged, fields);
        if let Some((_, group)) = groups.iter_mut().find(|(id, _)| *id == logged.group) {
            group.people.push(one);
            continue;
        }
        let formed = logged.group.and_then(|id| deck.state().groups.get(&id));
        let letter = formed.map_or("", |group| group.formed.letter.as_str());
        let group = Missing {
            name: view::spoken(letter),
            mark: view::mark(letter),
            people: vec![one],
        };
        groups.push((logged.group, group));
    }
    groups.into_iter().map(|(_, group)| group).collect()
}

fn one(deck: &Deck, person: &Person, logged: &state::Logged, fields: &Fields) -> One {
    let t = deck.t;
    let note = logged.aboard_at.map_or_else(String::new, |at| {
        t.say_with("deck-aboard-at", &[("at", deck.clock(at).into())])
    });
    let cell = |what: &str, known: Option<String>, hold: String| {
        let id = format!("{what}-{}", person.id);
        let typed = fields.typed(&id);
        let known = known.unwrap_or_default();
        Cell {
            value: if typed.is_empty() {
                known
            } else {
                typed.to_owned()
            },
            id,
            hold,
        }
    };
    let group = logged.group.and_then(|id| deck.state().groups.get(&id));
    let planned = group
        .into_iter()
        .flat_map(|group| &group.formed.plan.levels)
        .map(|level| level.depth_m.m())
        .reduce(f64::max);
    let planned = planned.map_or_else(String::new, |m| {
        let depth = Measure::Depth.figure(m, t.system());
        t.say_with("deck-planned-depth", &[("depth", depth.into())])
    });
    let up = logged.surfaced_at;
    let known = |measure: Measure, metric: Option<f64>| metric.map(|m| t.field(measure, m));
    One {
        id: person.id.to_string(),
        name: person.name().to_owned(),
        note,
        href: deck.path(&format!("/return/{}", person.id)),
        up: cell("up", None, up.map_or_else(String::new, |at| deck.clock(at))),
        bar: cell("bar", known(Measure::Pressure, logged.bar), String::new()),
        depth: cell(
            "depth",
            known(Measure::Depth, logged.greatest_depth_m),
            planned,
        ),
    }
}
