//! The gate: what still keeps the boat at the quay or on the site, or the trip open; and the
//! act itself once nothing does. The skipper may override by a stated reason, on a page of its
//! own.

use askama::Template;
use axum::response::Response;
use jiff::SignedDuration;

use super::bridge::{Helm, Piece, Tap, lead_to};
use crate::trip::decide;
use crate::trip::event::Point;
use crate::trip::gate::{Block, gate};
use crate::trip::state::{Phase, State};
use crate::web::act::Acted;
use crate::web::before_leaving;
use crate::web::error::Error;
use crate::web::form::{Fields, sentence};
use crate::web::frame::Frame;
use crate::web::go_list;
use crate::web::page::answered;
use crate::web::parts::{FieldFault, Weight};

struct Blocked {
    text: String,
    tap: Option<Tap>,
}

#[derive(Template)]
#[template(path = "helm/gate.html")]
struct GatePage {
    frame: Frame,
    title: String,
    blocks: Vec<Blocked>,
    /// Nothing keeps it closed, and nothing may be missing here.
    open: bool,
    /// What may be missing here though nothing keeps it closed.
    doubts: Vec<String>,
    /// What the register knows that is to be looked at, before departure.
    register: Vec<String>,
    /// Where the go/no-go list stands, before departure.
    go_list: Option<String>,
    faults: Vec<FieldFault>,
    shelf: Vec<Tap>,
}

/// Key of the act a gate is about.
pub(super) fn act_key(point: Point) -> &'static str {
    match point {
        Point::Departure => "helm-depart",
        Point::Leaving => "helm-leave-site",
        Point::Return => "helm-close-trip",
    }
}

const ACTS: [(&str, Point); 3] = [
    ("depart", Point::Departure),
    ("leave-site", Point::Leaving),
    ("close", Point::Return),
];

fn act_word(point: Point) -> &'static str {
    match point {
        Point::Departure => "depart",
        Point::Leaving => "leave-site",
        Point::Return => "close",
    }
}

/// The act's own button.
pub(super) fn act_tap(helm: &Helm, point: Point) -> Tap {
    helm.tap(act_key(point), "gate", Weight::Primary)
        .with("act", act_word(point))
}

/// The gate that stands before the boat now: none under way.
fn here(state: &State) -> Option<Point> {
    state.counts_at().filter(|_| state.phase != Phase::UnderWay)
}

/// The page.
pub(super) async fn page(helm: Helm) -> Result<Response, Error> {
    draw(&helm, Vec::new()).await
}

async fn draw(helm: &Helm, mut faults: Vec<FieldFault>) -> Result<Response, Error> {
    lead_to(&mut faults, &[]);
    let state = helm.state();
    let Some(point) = here(state) else {
        let page = GatePage {
            frame: helm.frame(),
            title: helm.t.say("helm-no-gate"),
            blocks: Vec::new(),
            open: false,
            doubts: Vec::new(),
            register: Vec::new(),
            go_list: None,
            faults,
            shelf: vec![helm.go("way-watch", "", Weight::Plain)],
        };
        return answered(&page, page.faults.is_empty());
    };
    let blocks: Vec<Blocked> = gate(state, point)
        .iter()
        .map(|block| Blocked {
            text: words(helm, block),
            tap: solve(helm, block),
        })
        .collect();
    let doubts = doubts(helm);
    let passes = blocks.is_empty();
    let open = passes && doubts.is_empty();
    let mut shelf = Vec::new();
    if passes {
        shelf.push(act_tap(helm, point));
        if point == Point::Departure {
            shelf.push(helm.go("go-title", "go-list", Weight::Plain));
        }
    } else {
        shelf.push(helm.go("way-watch", "", Weight::Plain));
        if helm.is_skipper() {
            shelf.push(helm.go("helm-override", "gate/override", Weight::Plain));
        }
    }
    let register = if point == Point::Departure {
        let limited = helm.asked.transport.is_limited();
        before_leaving::cautions(&helm.app, state, limited, helm.t).await?
    } else {
        Vec::new()
    };
    let page = GatePage {
        frame: helm.frame(),
        title: helm.t.say(act_key(point)),
        blocks,
        open,
        doubts: if passes { doubts } else { Vec::new() },
        register,
        go_list: (point == Point::Departure).then(|| go_list::verdict(state, helm.t)),
        faults,
        shelf,
    };
    answered(&page, page.faults.is_empty())
}

/// Why the agreement of log and counts may not be the whole: a device of the crew is silent, and
/// what it saw has not arrived; or the box does not save.
fn doubts(helm: &Helm) -> Vec<String> {
    let clock = helm.app.clock();
    let speed = helm.app.reached().drill_speed.unwrap_or(1.0);
    let silent = helm.app.presence();
    let silent = silent.silent_on(helm.trip.trip, clock.uptime_ms(), speed);
    let mut doubts: Vec<String> = silent
        .into_iter()
        .map(|(name, ago_ms)| {
            let ago = SignedDuration::from_millis(i64::try_from(ago_ms).unwrap_or(i64::MAX));
            let since = helm.now.saturating_sub(ago).unwrap_or(helm.now);
            let args = [("name", name.into()), ("since", helm.time(since).into())];
            helm.say("helm-gate-silent", &args)
        })
        .collect();
    if helm.app.store().check().is_err() {
        doubts.push(helm.t.say("helm-gate-not-saving"));
    }
    doubts
}

/// What keeps the gate closed, in words; while others count blind, without the figure.
fn words(helm: &Helm, block: &Block) -> String {
    if matches!(block, Block::OverCapacity { .. }) && helm.state().is_counting() {
        return helm.t.say("helm-over-capacity");
    }
    sentence(&decide::refusal(block), helm.t).text
}

fn solve(helm: &Helm, block: &Block) -> Option<Tap> {
    match block {
        Block::Out(_) => Some(helm.go("helm-pickup", "pickup", Weight::Plain)),
        Block::NotAboard(_) | Block::NoRoll | Block::RollOld(_) => {
            Some(helm.go("helm-call-roll", "roll", Weight::Plain))
        }
        Block::NotCounted | Block::CountOpen { .. } => {
            Some(helm.go("helm-count", "count", Weight::Plain))
        }
        Block::CountOld { .. } | Block::CountFailed => {
            Some(helm.go("helm-count-again", "count?again=1", Weight::Plain))
        }
        Block::NotDecided | Block::ChangedSinceGo | Block::NoGo => {
            Some(helm.go("go-title", "go-list", Weight::Plain))
        }
        Block::OverCapacity { .. } => None,
    }
}

async fn go_through(
    helm: &Helm,
    fields: &Fields,
    point: Point,
    reason: Option<String>,
) -> Result<Acted, Error> {
    let skipper = helm.is_skipper();
    helm.act(fields, move |state, _, _| {
        let reason = reason.as_deref();
        match point {
            Point::Departure => decide::depart(state, reason, skipper),
            Point::Leaving => decide::leave_site(state, reason, skipper),
            Point::Return => decide::close(state, reason, skipper),
        }
    })
    .await
}

/// Departs, leaves the site or closes the trip, if nothing keeps the gate closed.
pub(super) async fn through(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let Some(point) = fields.word("act", &ACTS) else {
        return draw(&helm, fields.faults()).await;
    };
    match go_through(&helm, &fields, point, None).await? {
        Acted::Done(_) => Ok(helm.to("")),
        Acted::Refused(faults) => draw(&helm.again().await?, faults).await,
    }
}

/// The override: the form.
pub(super) async fn override_page(helm: Helm) -> Result<Response, Error> {
    draw_override(&helm, &Fields::default(), Vec::new()).await
}

async fn draw_override(
    helm: &Helm,
    fields: &Fields,
    faults: Vec<FieldFault>,
) -> Result<Response, Error> {
    let Some(point) = here(helm.state()) else {
        return draw(helm, faults).await;
    };
    let title = helm.say(
        "helm-override-title",
        &[("act", helm.t.say(act_key(point)).into())],
    );
    let mut page = helm.form(title, "gate/override", "helm-override", faults);
    page.send.weight = Weight::Grave;
    page.send = page.send.with("act", act_word(point));
    page.caution = helm.t.say("helm-override-caution");
    page.said = gate(helm.state(), point)
        .iter()
        .map(|block| words(helm, block))
        .collect();
    page.pieces = vec![Piece::lines(
        "override_reason",
        helm.t.say("helm-reason"),
        fields,
    )];
    page.back = helm.url("gate");
    page.draw()
}

/// Goes through a closed gate by a stated reason.
pub(super) async fn overriding(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let point = fields.word("act", &ACTS);
    let reason = fields.text("override_reason", 2_000);
    let (Some(point), Some(reason)) = (point, reason) else {
        return draw_override(&helm, &fields, fields.faults()).await;
    };
    match go_through(&helm, &fields, point, Some(reason)).await? {
        Acted::Done(_) => Ok(helm.to("")),
        Acted::Refused(faults) => draw_override(&helm.again().await?, &fields, faults).await,
    }
}
