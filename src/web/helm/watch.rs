//! The watch list: who is down, who is late, whom nobody has seen, and the next right thing.

use askama::Template;
use axum::response::Response;
use jiff::SignedDuration;

use super::alerts::{answer_taps, waits};
use super::bridge::{Helm, Tap, lead_to};
use crate::trip::decide;
use crate::trip::event::{Entry, EventId, Fact, PersonId, Point};
use crate::trip::gate::{Block, gate};
use crate::trip::state::{Person, Phase, State, mends, plus};
use crate::web::act::Acted;
use crate::web::error::Error;
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::go_list;
use crate::web::page::answered;
use crate::web::parts::{Action, FieldFault, LedgerRow, Weight};
use crate::web::view;

/// For how long the last tap is offered back.
const UNDO: SignedDuration = SignedDuration::from_secs(60);

/// Somebody who is out and stands in no row.
pub(super) struct Lone {
    pub(super) name: String,
    pub(super) place: String,
    pub(super) since: String,
    pub(super) href: String,
}

/// The last tap, to be taken back.
pub(super) struct LastTap {
    pub(super) text: String,
    pub(super) action: Action,
    pub(super) until: String,
}

#[derive(Template)]
#[template(path = "helm/watch.html")]
struct WatchPage {
    frame: Frame,
    mast: Vec<(String, String)>,
    place: String,
    offered: Option<Tap>,
    last: Option<LastTap>,
    rows: Vec<LedgerRow>,
    lone: Vec<Lone>,
    empty: String,
    shelf: Vec<Tap>,
    faults: Vec<FieldFault>,
}

/// The page.
pub(super) async fn page(helm: Helm) -> Result<Response, Error> {
    draw(&helm, Vec::new())
}

pub(super) fn draw(helm: &Helm, mut faults: Vec<FieldFault>) -> Result<Response, Error> {
    lead_to(&mut faults, &[]);
    let state = helm.state();
    let watch = helm.trip.watch(helm.now);
    let mut rows = view::ledger(state, &watch, &helm.url("group"), helm.t);
    view::doubt(&mut rows, helm.app.clock());
    let lone: Vec<Lone> = state
        .not_accounted()
        .filter(|person| {
            !watch
                .rows
                .iter()
                .any(|row| row.members.iter().any(|member| member.id == person.id))
        })
        .map(|person| lone(helm, person))
        .collect();
    let empty = if rows.is_empty() && lone.is_empty() {
        helm.t.say("helm-nobody-out")
    } else {
        String::new()
    };
    let page = WatchPage {
        frame: helm.frame(),
        mast: helm.mast(),
        place: place(helm),
        offered: offered(helm),
        last: last_tap(helm),
        rows,
        lone,
        empty,
        shelf: shelf(helm),
        faults,
    };
    answered(&page, page.faults.is_empty())
}

pub(super) fn lone(helm: &Helm, person: &Person) -> Lone {
    Lone {
        name: person.name().to_owned(),
        place: helm.t.say(view::place_key(person.place)),
        since: helm.aged(person.since),
        href: helm.url(&format!("person/{}", person.id)),
    }
}

/// `Dive 2 · Sorrel Bank`, or where else the boat is.
pub(super) fn place(helm: &Helm) -> String {
    let state = helm.state();
    let key = match state.phase {
        Phase::AtQuay => "helm-at-quay",
        Phase::UnderWay => "helm-under-way",
        Phase::Back => "helm-in-harbour",
        // The mast says so already, on every page.
        Phase::Closed => return String::new(),
        Phase::OnSite => {
            let site = state
                .dives
                .get(&state.dive)
                .map_or("", |dive| dive.site.name.as_str());
            let args = [
                ("dive", i64::from(state.dive).into()),
                ("site", site.into()),
            ];
            return helm.say("helm-on-site", &args);
        }
    };
    helm.t.say(key)
}

/// Command offered to whoever looks, while the offer stands.
pub(super) fn offered(helm: &Helm) -> Option<Tap> {
    let command = &helm.state().command;
    let offer = command.offered.as_ref()?;
    let stands = offer.to == helm.crew.0.crew && offer.stands(helm.now);
    stands.then(|| {
        let from = helm.say("helm-offered-by", &[("name", (&command.name).into())]);
        helm.tap("helm-accept-command", "command/accept", Weight::Primary)
            .noted(from)
    })
}

/// One's own last tap of the last minute.
pub(super) fn last_tap(helm: &Helm) -> Option<LastTap> {
    let entry = helm
        .trip
        .entries
        .iter()
        .rev()
        .find(|entry| entry.event.device == helm.crew.0.device)?;
    let key = tap_key(&entry.event.fact)?;
    let until = plus(entry.event.at.max(entry.receipt.made_at()), UNDO);
    let mended = helm
        .trip
        .entries
        .iter()
        .any(|other| mends(&other.event) == Some(entry.event.id));
    if until <= helm.now || mended {
        return None;
    }
    let who = persons(helm.state(), entry);
    let text = helm.say(key, &[("names", view::names(&who, helm.t).into())]);
    let action = helm
        .tap("undo", "undo", Weight::Plain)
        .with("event", entry.event.id.to_string())
        .action;
    Some(LastTap {
        text,
        action,
        until: until.to_string(),
    })
}

fn persons(state: &State, entry: &Entry) -> Vec<String> {
    let name = |id: &PersonId| state.people.get(id).map(|p| p.name().to_owned());
    entry.event.about.persons.iter().filter_map(name).collect()
}

/// What a tap of the helm that can be taken back says.
#[expect(
    clippy::wildcard_enum_match_arm,
    reason = "only what the helm logs by a tap is offered back there"
)]
fn tap_key(fact: &Fact) -> Option<&'static str> {
    match fact {
        Fact::Aboard(_) => Some("helm-logged-aboard"),
        Fact::AtSurface(_) => Some("helm-logged-surface"),
        Fact::PersonFound(_) => Some("helm-logged-found"),
        Fact::PersonMissing(_) => Some("helm-logged-missing"),
        Fact::BuoySeen(_) => Some("helm-logged-buoy"),
        Fact::OthersWell(_) | Fact::LostContact(_) => Some("helm-logged-word"),
        Fact::MoreTime(_) => Some("helm-logged-more-time"),
        Fact::OnSite(_) => Some("helm-logged-on-site"),
        Fact::BackInHarbour(_) => Some("helm-logged-in-harbour"),
        Fact::ConditionsObserved(_) => Some("helm-logged-conditions"),
        Fact::BoatPositioned(_) => Some("helm-logged-position"),
        Fact::RecallSounded(_) => Some("helm-logged-recall"),
        Fact::EmergencyDeclared(_) => Some("helm-logged-emergency"),
        Fact::EmergencyStep(_) => Some("helm-logged-step"),
        Fact::LookoutPosted(_) | Fact::LookoutRelieved(_) => Some("helm-logged-lookout"),
        Fact::PickupArranged(_) => Some("helm-logged-pickup"),
        _ => None,
    }
}

/// Takes back one's own last tap.
pub(super) async fn undo(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let Some(event) = fields.parsed::<EventId>("event") else {
        return draw(&helm, fields.faults());
    };
    let device = helm.crew.0.device;
    let acted = helm
        .act(&fields, move |_, log, now| {
            decide::undo(log, event, device, now)
        })
        .await?;
    match acted {
        Acted::Done(_) => Ok(helm.to("")),
        Acted::Refused(faults) => draw(&helm.again().await?, faults),
    }
}

/// At most two: what has not been acknowledged, and the next right thing.
fn shelf(helm: &Helm) -> Vec<Tap> {
    let watch = helm.trip.watch(helm.now);
    let mut shelf: Vec<Tap> = watch
        .alerts
        .iter()
        .find(|alert| waits(alert))
        .map(|alert| answer_taps(helm, alert).0)
        .into_iter()
        .collect();
    shelf.extend(next(helm));
    shelf.truncate(2);
    // One of two is the one to do.
    for tap in shelf.iter_mut().skip(1) {
        if tap.action.weight == Weight::Primary {
            tap.action.weight = Weight::Plain;
        }
    }
    shelf
}

fn next(helm: &Helm) -> Vec<Tap> {
    let state = helm.state();
    if state.emergency.is_some() {
        return vec![
            helm.go("helm-emergency-plan", "emergency", Weight::Grave),
            helm.go("helm-pickup", "pickup", Weight::Plain),
        ];
    }
    match state.phase {
        Phase::AtQuay | Phase::Back => gate_taps(helm),
        Phase::UnderWay => under_way(helm),
        Phase::OnSite => on_site(helm),
        Phase::Closed => Vec::new(),
    }
}

fn under_way(helm: &Helm) -> Vec<Tap> {
    let state = helm.state();
    if state.anybody_out() {
        return vec![helm.go("helm-emergency", "emergency", Weight::Grave)];
    }
    let mut taps = Vec::new();
    if let Some((number, dive)) = state.dives.iter().find(|(number, _)| **number > state.dive) {
        let site = dive.site.name.clone();
        let tap = helm
            .tap("helm-log-on-site", "on-site", Weight::Primary)
            .with("dive", number.to_string())
            .noted(site);
        taps.push(tap);
    }
    taps.push(helm.tap("helm-log-in-harbour", "in-harbour", Weight::Primary));
    taps
}

fn on_site(helm: &Helm) -> Vec<Tap> {
    let state = helm.state();
    if state.anybody_out() {
        return vec![
            helm.go("helm-pickup", "pickup", Weight::Primary),
            helm.go("helm-recall", "recall", Weight::Plain),
        ];
    }
    let groups = state.groups_of(state.dive);
    let before_drops = groups.iter().any(|group| group.drop.is_none());
    if !before_drops {
        return gate_taps(helm);
    }
    let looked = state.conditions.current().is_some();
    let first = match (&state.lookout, looked) {
        (None, _) => helm.go("helm-post-lookout", "lookout", Weight::Primary),
        (Some(_), false) => helm.go("helm-observe", "conditions", Weight::Primary),
        (Some(_), true) => helm.go("helm-observe", "conditions", Weight::Plain),
    };
    vec![first, helm.go("helm-leave-site", "gate", Weight::Plain)]
}

/// The first thing that keeps the gate closed, and the gate itself.
fn gate_taps(helm: &Helm) -> Vec<Tap> {
    let state = helm.state();
    let Some(point) = state.counts_at() else {
        return Vec::new();
    };
    let label = super::gate::act_key(point);
    let blocks = gate(state, point);
    let blocking = helm.go("helm-what-blocks", "gate", Weight::Plain);
    match blocks.first() {
        None if point == Point::Departure => {
            let list = helm.go("go-title", "go-list", Weight::Plain);
            let list = list.noted(go_list::verdict(state, helm.t));
            vec![super::gate::act_tap(helm, point), list]
        }
        None => vec![super::gate::act_tap(helm, point)],
        Some(Block::NotDecided | Block::ChangedSinceGo | Block::NoGo) => {
            let list = helm.go("go-title", "go-list", Weight::Primary);
            vec![list, blocking]
        }
        Some(Block::NotAboard(_) | Block::NoRoll | Block::RollOld(_)) => {
            vec![helm.go("helm-call-roll", "roll", Weight::Primary), blocking]
        }
        Some(
            Block::NotCounted
            | Block::CountOpen { .. }
            | Block::CountFailed
            | Block::CountOld { .. },
        ) => vec![helm.go("helm-count", "count", Weight::Primary), blocking],
        Some(Block::Out(_) | Block::OverCapacity { .. }) => {
            vec![helm.go(label, "gate", Weight::Primary)]
        }
    }
}
