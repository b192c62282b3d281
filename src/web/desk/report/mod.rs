//! The end of the day: everyone accounted for or not, who signed for it, each dive of each person
//! beside its plan, counts, alerts, what was overridden, and what is still missing from the record.

pub(super) mod cards;
mod counts;
mod dives;
mod gaps;
pub(super) mod incident;
pub(super) mod sign;
mod watch;

use std::sync::Arc;

use askama::Template;
use axum::extract::State;
use axum::response::Response;

use crate::trip::TripId;
use crate::trip::event::{Entry, Fact};
use crate::trip::state::{Known, Phase, effective};
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::go_list;
use crate::web::page::{Asked, answered};
use crate::web::parts::FieldFault;
use crate::web::record::{self, Record};
use crate::web::sea::words::Told;
use crate::web::view;

use super::day::phase_key;
use super::form::Shown;
use super::{Here, tell};

#[derive(Template)]
#[template(path = "desk/report.html")]
struct ReportPage {
    frame: Frame,
    title: String,
    phase: String,
    trip: TripId,
    url: String,
    verdict: String,
    all_well: bool,
    out: Vec<String>,
    sign: sign::Block,
    f: Shown,
    dives: Vec<dives::DiveRow>,
    afters: Vec<dives::AfterRow>,
    sites: Vec<String>,
    counts: Vec<counts::CountRow>,
    rolls: Vec<String>,
    alerts: watch::AlertsShown,
    acts: Vec<String>,
    overrides: Vec<String>,
    conditions: Vec<String>,
    forecasts: Vec<String>,
    go_verdict: String,
    go_lines: Vec<String>,
    incidents: Vec<incident::Card>,
    /// Whether what was seen of people is left out on this way here.
    withheld: bool,
    gaps: Vec<String>,
    may_note: bool,
}

/// The page.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    draw(&app, &asked, &crew, &here, &Fields::default(), Vec::new()).await
}

/// The record, gathered where nobody else waits for it.
async fn gathered(app: &App, here: &Here) -> Result<Record, Error> {
    record::made(app, Arc::clone(&here.snap)).await
}

async fn draw(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    here: &Here,
    fields: &Fields,
    faults: Vec<FieldFault>,
) -> Result<Response, Error> {
    let record = gathered(app, here).await?;
    let state = &here.snap.state;
    let out: Vec<String> = state
        .not_accounted()
        .map(|p| {
            let place = here.t.say(view::place_key(p.place));
            format!("{} · {place}", p.name())
        })
        .collect();
    let is_ended = matches!(state.phase, Phase::Back | Phase::Closed);
    let verdict = if !out.is_empty() {
        "report-out"
    } else if !is_ended {
        "report-under-way"
    } else if record.everybody_accounted_for {
        "report-all"
    } else {
        "report-not-counted"
    };
    let sign = sign::block(here, crew, &record);
    let mut frame = if sign.can_act() {
        here.frame_to_fill(app, asked, crew)
    } else {
        here.frame(app, asked, crew)
    };
    let mut f = Shown::of_trip(app, &here.snap);
    if !faults.is_empty() {
        f = f.refused(fields, faults);
    }
    f.mark(&mut frame);
    // What was seen of people is not sent where it can be overheard.
    let withheld = asked.transport.is_limited();
    let page = ReportPage {
        frame,
        title: here.title(),
        phase: here.t.say(phase_key(state.phase)),
        trip: here.trip,
        url: format!("/desk/{}", here.trip),
        verdict: here.t.say(verdict),
        all_well: record.everybody_accounted_for,
        out,
        sign,
        sites: dives::sites(here, &record),
        dives: dives::dives(here, &record),
        afters: dives::afters(here),
        counts: state
            .calls
            .iter()
            .map(|call| counts::count(here, call))
            .collect(),
        rolls: counts::rolls(here),
        alerts: watch::shown(here, &record),
        acts: acts(here),
        overrides: state
            .overrides
            .iter()
            .map(|one| {
                known(
                    here,
                    &format!("{}: {}", here.t.say(override_key(one.what.0)), one.what.1),
                    one,
                )
            })
            .collect(),
        conditions: told(here, |fact| matches!(fact, Fact::ConditionsObserved(_))),
        forecasts: go_list::forecasts(
            state,
            Told {
                t: here.t,
                zone: &here.zone,
                now: here.now,
            },
        ),
        go_verdict: go_list::verdict(state, here.t),
        go_lines: go_list::told_lines(
            &here.snap,
            &[],
            Told {
                t: here.t,
                zone: &here.zone,
                now: here.now,
            },
        ),
        incidents: incident::cards(here, withheld),
        withheld,
        gaps: gaps::gaps(here, is_ended),
        may_note: incident::may_note(crew, withheld),
        f,
    };
    answered(&page, page.f.faults.is_empty())
}

/// What was done in trouble: the recall, who was missing and found, the emergency and its plan, more
/// time given.
fn acts(here: &Here) -> Vec<String> {
    told(here, |fact| {
        matches!(
            fact,
            Fact::RecallSounded(_)
                | Fact::PersonMissing(_)
                | Fact::PersonFound(_)
                | Fact::LostContact(_)
                | Fact::EmergencyDeclared(_)
                | Fact::EmergencyStep(_)
                | Fact::EmergencyEnded(_)
                | Fact::MoreTime(_)
                | Fact::BeaconHeard(_)
                | Fact::BeaconDismissed(_)
        )
    })
}

/// Entries of these kinds that nobody took back, a line each, in the order in which they happened.
fn told(here: &Here, is: impl Fn(&Fact) -> bool) -> Vec<String> {
    let log: Vec<&Entry> = here.snap.entries.iter().collect();
    effective(&log)
        .into_iter()
        .filter(|entry| is(&entry.event.fact))
        .map(|entry| {
            let event = &entry.event;
            let parts = [
                tell::title(here, &event.fact),
                tell::about(here, event),
                tell::detail(here, event),
            ];
            let text: Vec<String> = parts.into_iter().filter(|part| !part.is_empty()).collect();
            said(here, &text.join(" · "), &event.by.name, entry.time())
        })
        .collect()
}

fn override_key(what: &str) -> &'static str {
    match what {
        "departed" => "told-departed",
        "left-site" => "told-left-site",
        "trip-closed" => "told-trip-closed",
        _ => "told-group-formed",
    }
}

fn known<T>(here: &Here, text: &str, known: &Known<T>) -> String {
    said(here, text, &known.by, known.at)
}

/// `Text (who, when)`.
fn said(here: &Here, text: &str, by: &str, at: jiff::Timestamp) -> String {
    here.t.say_with(
        "report-said",
        &[
            ("text", text.into()),
            ("by", by.into()),
            ("at", here.time(at).into()),
        ],
    )
}
