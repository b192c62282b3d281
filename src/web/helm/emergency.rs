//! The emergency: any crew member declares it in one more tap, names who is missing, and takes
//! the steps of the boat's own plan, each with its time and who took it.

use std::collections::BTreeSet;

use askama::Template;
use axum::response::Response;

use super::bridge::{Helm, Piece, Tap, lead_to};
use super::instruments::beacon_place;
use super::watch::{LastTap, last_tap, place};
use crate::sea::position::Position;
use crate::trip::decide;
use crate::trip::event::{PersonId, Role};
use crate::trip::state::{Place, State};
use crate::web::act::Acted;
use crate::web::error::Error;
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::answered;
use crate::web::parts::{Action, Choice, FieldFault, Weight};
use crate::web::view;

struct Step {
    text: String,
    taken: Vec<String>,
    tap: Option<Tap>,
}

#[derive(Template)]
#[template(path = "helm/emergency.html")]
struct EmergencyPage {
    frame: Frame,
    mast: Vec<(String, String)>,
    place: String,
    last: Option<LastTap>,
    declared: String,
    datum: String,
    beacons: Vec<String>,
    declare: Vec<Tap>,
    people: Vec<Choice>,
    missing: Action,
    steps: Vec<Step>,
    end: Option<Tap>,
    faults: Vec<FieldFault>,
    shelf: Vec<Tap>,
}

/// What a tap declares: the reason as it stands in the log.
const REASONS: [(&str, &str); 5] = [
    ("beacon", "helm-reason-beacon"),
    ("missing", "helm-reason-missing"),
    ("distress", "helm-reason-distress"),
    ("injury", "helm-reason-injury"),
    ("boat", "helm-reason-boat"),
];

/// The page.
pub(super) async fn page(helm: Helm) -> Result<Response, Error> {
    draw(&helm, &Fields::default(), Vec::new())
}

fn draw(helm: &Helm, fields: &Fields, mut faults: Vec<FieldFault>) -> Result<Response, Error> {
    lead_to(&mut faults, &["persons"]);
    let state = helm.state();
    let declared = state.emergency.as_ref().map_or_else(String::new, |e| {
        let args = [
            ("reason", (&e.declared.what).into()),
            ("by", (&e.declared.by).into()),
            ("at", helm.aged(e.declared.at).into()),
        ];
        helm.say("helm-emergency-declared", &args)
    });
    let datum = state
        .emergency
        .as_ref()
        .and_then(|e| e.datum)
        .map_or_else(String::new, |datum| {
            helm.say("helm-datum", &[("place", datum.to_string().into())])
        });
    let beacons: Vec<String> = state
        .beacons
        .iter()
        .filter(|(_, beacon)| beacon.calls_for_help())
        .map(|(identity, beacon)| {
            let name = view::beacon_name(beacon.sort, identity, helm.t);
            format!("{name}: {}", beacon_place(helm, beacon))
        })
        .collect();
    let declare = if state.emergency.is_some() {
        Vec::new()
    } else {
        REASONS
            .iter()
            // Only who hears one declares for it.
            .filter(|(word, _)| *word != "beacon" || !beacons.is_empty())
            .map(|(word, key)| {
                helm.tap(key, "emergency", Weight::Grave)
                    .with("what", *word)
            })
            .collect()
    };
    let on_board = helm.crew.is(Role::Skipper) || helm.crew.is(Role::Divemaster);
    let end = (state.emergency.is_some() && helm.is_skipper())
        .then(|| helm.go("helm-end-emergency", "emergency/end", Weight::Plain));
    // Those who are out come first; anybody can be missed.
    let (out, rest): (Vec<_>, Vec<_>) = state
        .people
        .values()
        .filter(|p| p.coming && p.place != Place::Missing)
        .partition(|p| !p.place.is_accounted());
    let page = EmergencyPage {
        frame: helm.still_frame(&faults),
        mast: helm.mast(),
        place: place(helm),
        last: last_tap(helm),
        declared,
        datum,
        beacons,
        declare,
        people: helm.people_choices(out.into_iter().chain(rest), "persons", fields),
        missing: helm
            .tap("helm-declare-missing", "emergency/missing", Weight::Grave)
            .action,
        steps: steps(helm, on_board),
        end,
        faults,
        shelf: vec![
            helm.go("helm-handover", "handover", Weight::Primary),
            helm.go("helm-recall", "recall", Weight::Plain),
        ],
    };
    answered(&page, page.faults.is_empty())
}

fn steps(helm: &Helm, on_board: bool) -> Vec<Step> {
    let state = helm.state();
    let plan = state
        .opened
        .as_ref()
        .map(|opened| opened.boat.emergency_plan.as_slice())
        .unwrap_or_default();
    plan.iter()
        .zip(0_u32..)
        .map(|(text, number)| {
            let taken: Vec<String> = state
                .emergency
                .iter()
                .flat_map(|e| &e.steps)
                .filter(|step| step.step == number)
                .map(|step| {
                    let args = [
                        ("by", (&step.taken.by).into()),
                        ("at", helm.aged(step.taken.at).into()),
                    ];
                    helm.say("helm-step-taken", &args)
                })
                .collect();
            let open = taken.is_empty() && on_board && state.emergency.is_some();
            Step {
                text: text.clone(),
                taken,
                tap: open.then(|| {
                    helm.tap("helm-step-done", "emergency/step", Weight::Plain)
                        .with("step", number.to_string())
                        .noted(text.clone())
                }),
            }
        })
        .collect()
}

/// The best known place of whoever is in trouble: of a beacon that calls, of a group that is out,
/// else of the boat.
fn datum(helm: &Helm) -> Option<Position> {
    let state = helm.state();
    let calling = state.beacons.values().filter(|b| b.calls_for_help());
    if let Some(place) = calling.filter_map(|b| b.place).max_by_key(|p| p.at) {
        return Some(place.position);
    }
    helm.trip
        .watch(helm.now)
        .rows
        .iter()
        .filter_map(|row| state.groups.get(&row.group))
        .filter(|group| !state.out_of(group).is_empty())
        .find_map(|group| helm.trip.likely(group, helm.now))
        .map(|likely| likely.last_known().0)
        .or(state.boat.as_ref().map(|boat| boat.position))
}

/// Those in trouble by the log, to be named with the declaration.
fn in_trouble(state: &State) -> BTreeSet<PersonId> {
    state
        .people
        .values()
        .filter(|p| p.distress || p.place == Place::Missing)
        .map(|p| p.id)
        .collect()
}

/// Declares an emergency.
pub(super) async fn declare(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let Some(key) = fields.word("what", &REASONS) else {
        return draw(&helm, &fields, fields.faults());
    };
    let reason = helm.t.say(key);
    let datum = datum(&helm);
    let acted = helm
        .act(&fields, move |state, _, _| {
            decide::declare_emergency(state, in_trouble(state), &reason, datum)
        })
        .await?;
    after(helm, &fields, acted).await
}

/// Declares people missing, each ticked by name.
pub(super) async fn missing(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let Some(persons) = fields.parsed_all::<PersonId>("persons") else {
        return draw(&helm, &fields, fields.faults());
    };
    let acted = helm
        .act(&fields, move |state, _, _| {
            decide::missing(state, &persons, "")
        })
        .await?;
    after(helm, &fields, acted).await
}

/// Takes a step of the plan.
pub(super) async fn step(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let Some(step) = fields.whole("step", 1_000) else {
        return draw(&helm, &fields, fields.faults());
    };
    let acted = helm
        .act(&fields, move |state, _, _| {
            decide::take_step(state, step, None)
        })
        .await?;
    after(helm, &fields, acted).await
}

async fn after(helm: Helm, fields: &Fields, acted: Acted) -> Result<Response, Error> {
    match acted {
        Acted::Done(_) => Ok(helm.to("emergency")),
        Acted::Refused(faults) => draw(&helm.again().await?, fields, faults),
    }
}

/// Ending it: the form.
pub(super) async fn end_page(helm: Helm) -> Result<Response, Error> {
    draw_end(&helm, &Fields::default(), Vec::new())
}

fn draw_end(helm: &Helm, fields: &Fields, faults: Vec<FieldFault>) -> Result<Response, Error> {
    let t = helm.t;
    let mut page = helm.form(
        t.say("helm-end-emergency"),
        "emergency/end",
        "helm-end-emergency",
        faults,
    );
    page.caution = t.say("helm-end-caution");
    page.pieces = vec![Piece::lines("reason", t.say("helm-how-it-ended"), fields)];
    page.back = helm.url("emergency");
    page.draw()
}

/// Ends the emergency.
pub(super) async fn end(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let Some(reason) = fields.text("reason", 2_000) else {
        return draw_end(&helm, &fields, fields.faults());
    };
    let role = helm.crew.by().role;
    let acted = helm
        .act(&fields, move |state, _, _| {
            decide::end_emergency(state, &reason, role)
        })
        .await?;
    match acted {
        Acted::Done(_) => Ok(helm.to("")),
        Acted::Refused(faults) => draw_end(&helm.again().await?, &fields, faults),
    }
}
