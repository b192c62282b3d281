//! The trip's own acts: on site, back in harbour, command, lookout, notes; and the ways to
//! devices and accounts.

use std::collections::BTreeSet;

use askama::Template;
use axum::response::Response;

use super::bridge::{Helm, Piece, Tap, is_crew, lead_to};
use super::watch::{LastTap, last_tap, offered, place};
use crate::trip::decide;
use crate::trip::event::{CrewId, PersonId, Role};
use crate::trip::state::Phase;
use crate::web::act::Acted;
use crate::web::error::Error;
use crate::web::form::{Fields, LONGEST_NAME};
use crate::web::frame::Frame;
use crate::web::go_list;
use crate::web::page::answered;
use crate::web::parts::{Choice, FieldFault, Weight};

#[derive(Template)]
#[template(path = "helm/trip.html")]
struct TripPage {
    frame: Frame,
    mast: Vec<(String, String)>,
    offered: Option<Tap>,
    last: Option<LastTap>,
    facts: Vec<(String, String)>,
    taps: Vec<Tap>,
    overrides: Vec<String>,
    incidents: Vec<String>,
    forecasts: Vec<String>,
    faults: Vec<FieldFault>,
}

/// The page.
pub(super) async fn page(helm: Helm) -> Result<Response, Error> {
    draw(&helm, Vec::new())
}

fn draw(helm: &Helm, mut faults: Vec<FieldFault>) -> Result<Response, Error> {
    lead_to(&mut faults, &[]);
    let state = helm.state();
    let none = || helm.t.say("helm-nobody");
    let lookout = state.lookout.as_ref().map_or_else(none, |lookout| {
        format!("{} · {}", lookout.name, helm.aged(lookout.since))
    });
    let where_we_are = if state.phase == Phase::Closed {
        helm.t.say("helm-closed")
    } else {
        place(helm)
    };
    let command = if state.command.name.is_empty() {
        none()
    } else {
        state.command.name.clone()
    };
    let noted =
        |by: &str, at: jiff::Timestamp, what: &str| format!("{what} · {by} · {}", helm.aged(at));
    let page = TripPage {
        frame: helm.frame(),
        mast: helm.mast(),
        offered: offered(helm),
        last: last_tap(helm),
        facts: vec![
            (helm.t.say("helm-where"), where_we_are),
            (helm.t.say("helm-command"), command),
            (helm.t.say("way-lookout"), lookout),
            (helm.t.say("go-title"), go_list::verdict(state, helm.t)),
        ],
        taps: taps(helm),
        overrides: state
            .overrides
            .iter()
            .map(|over| noted(&over.by, over.at, &over.what.1))
            .collect(),
        incidents: state
            .incidents
            .iter()
            .map(|note| noted(&note.by, note.at, &note.what.text))
            .collect(),
        forecasts: state
            .forecasts
            .iter()
            .rev()
            .map(|note| noted(&note.by, note.at, &go_list::forecast(&note.what, helm.t)))
            .collect(),
        faults,
    };
    answered(&page, page.faults.is_empty())
}

fn taps(helm: &Helm) -> Vec<Tap> {
    let state = helm.state();
    let mut taps = Vec::new();
    if state.phase == Phase::UnderWay {
        for (number, dive) in state.dives.range(state.dive.max(1)..) {
            let args = [("dive", i64::from(*number).into())];
            let mut tap = helm
                .tap("helm-log-on-site", "on-site", Weight::Plain)
                .with("dive", number.to_string())
                .noted(dive.site.name.clone());
            tap.action.label = helm.say("helm-on-site-of-dive", &args);
            taps.push(tap);
        }
        taps.push(helm.tap("helm-log-in-harbour", "in-harbour", Weight::Plain));
    }
    let gate = match state.phase {
        Phase::AtQuay => Some("helm-depart"),
        Phase::OnSite => Some("helm-leave-site"),
        Phase::Back => Some("helm-close-trip"),
        Phase::UnderWay | Phase::Closed => None,
    };
    taps.extend(gate.map(|key| helm.go(key, "gate", Weight::Plain)));
    let plain = |key: &str, page: &str| helm.go(key, page, Weight::Plain);
    if state.phase == Phase::AtQuay {
        let list = plain("go-title", "go-list");
        taps.push(list.noted(go_list::verdict(state, helm.t)));
    }
    let lookout = match &state.lookout {
        Some(lookout) => plain("way-lookout", "lookout").noted(lookout.name.clone()),
        None => plain("helm-post-lookout", "lookout"),
    };
    taps.push(lookout);
    taps.push(plain("arm-title", "arm"));
    taps.push(plain("helm-own-position", "position"));
    taps.push(plain("helm-instruments", "instruments"));
    taps.push(plain("logs-title", "logs"));
    taps.push(plain("helm-note-incident", "incident"));
    taps.push(plain("helm-handover", "handover"));
    if helm.is_skipper() {
        taps.push(plain("helm-hand-over-command", "command"));
        taps.push(plain("helm-devices", "devices"));
        taps.push(plain("helm-accounts", "crew"));
    }
    taps
}

/// On the site of a dive.
pub(super) async fn on_site(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let Some(dive) = fields.whole("dive", 1_000) else {
        return draw(&helm, fields.faults());
    };
    let acted = helm
        .act(&fields, move |state, _, _| decide::on_site(state, dive))
        .await?;
    after(helm, acted).await
}

/// Back in harbour.
pub(super) async fn in_harbour(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let acted = helm
        .act(&fields, move |state, _, _| decide::back_in_harbour(state))
        .await?;
    after(helm, acted).await
}

async fn after(helm: Helm, acted: Acted) -> Result<Response, Error> {
    match acted {
        Acted::Done(_) => Ok(helm.to("")),
        Acted::Refused(faults) => draw(&helm.again().await?, faults),
    }
}

/// Handing over command: the form.
pub(super) async fn command_page(helm: Helm) -> Result<Response, Error> {
    draw_command(&helm, &Fields::default(), Vec::new()).await
}

async fn draw_command(
    helm: &Helm,
    fields: &Fields,
    faults: Vec<FieldFault>,
) -> Result<Response, Error> {
    let t = helm.t;
    let others: Vec<Choice> = skippers(helm)
        .await?
        .into_iter()
        .map(|(id, name)| Choice {
            chosen: fields.typed("to") == id.to_string(),
            value: id.to_string(),
            label: name,
            note: String::new(),
        })
        .collect();
    let mut page = helm.form(
        t.say("helm-hand-over-command"),
        "command",
        "helm-offer-command",
        faults,
    );
    let name = &helm.state().command.name;
    page.said = vec![
        helm.say("helm-command-is", &[("name", name.into())]),
        t.say("helm-command-how"),
    ];
    if others.is_empty() {
        page.said.push(t.say("helm-no-other-skipper"));
    }
    page.pieces = vec![Piece::tiles("to", t.say("helm-to-whom"), others)];
    page.back = helm.url("trip");
    page.draw()
}

async fn skippers(helm: &Helm) -> Result<Vec<(CrewId, String)>, Error> {
    let crew = helm.app.store().list_crew().await?;
    Ok(crew
        .into_iter()
        .filter(|one| one.active && one.allowed.roles.contains(&Role::Skipper))
        .filter(|one| one.id != helm.crew.0.crew)
        .map(|one| (one.id, one.name))
        .collect())
}

/// Offers command.
pub(super) async fn hand_over(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let to = fields.parsed::<CrewId>("to");
    let name = skippers(&helm)
        .await?
        .into_iter()
        .find(|(id, _)| Some(*id) == to)
        .map(|(_, name)| name);
    let (Some(to), Some(name)) = (to, name) else {
        if fields.is_sound() {
            fields.fault("to", "fault-choose", &[]);
        }
        let faults = fields.faults();
        return draw_command(&helm, &fields, faults).await;
    };
    let from = helm.crew.0.crew;
    let acted = helm
        .act(&fields, move |state, _, _| {
            decide::hand_over(state, from, to, &name)
        })
        .await?;
    match acted {
        Acted::Done(_) => Ok(helm.to("trip")),
        Acted::Refused(faults) => draw_command(&helm.again().await?, &fields, faults).await,
    }
}

/// Takes command that was offered.
pub(super) async fn accept(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let crew = helm.crew.0.crew;
    let acted = helm
        .act(&fields, move |state, _, now| {
            decide::accept_command(state, crew, now)
        })
        .await?;
    after(helm, acted).await
}

/// The lookout: the form.
pub(super) async fn lookout_page(helm: Helm) -> Result<Response, Error> {
    draw_lookout(&helm, &Fields::default(), Vec::new())
}

fn draw_lookout(helm: &Helm, fields: &Fields, faults: Vec<FieldFault>) -> Result<Response, Error> {
    let t = helm.t;
    let mut page = helm.form(t.say("way-lookout"), "lookout", "helm-post-lookout", faults);
    page.said = vec![t.say("helm-lookout-how")];
    if let Some(lookout) = &helm.state().lookout {
        let args = [
            ("name", (&lookout.name).into()),
            ("at", helm.aged(lookout.since).into()),
        ];
        page.said.push(helm.say("helm-lookout-is", &args));
        // With people out, another is posted instead: somebody looks all the time.
        if !helm.state().anybody_out() {
            let relieve = helm.tap("helm-relieve-lookout", "lookout/relieve", Weight::Plain);
            page.other = Some(relieve.noted(helm.t.say("helm-nobody-looks-then")));
        }
    }
    let crew: Vec<Choice> = helm
        .state()
        .coming()
        .filter(|person| is_crew(person))
        .map(|person| Choice {
            value: person.name().to_owned(),
            label: person.name().to_owned(),
            note: String::new(),
            chosen: fields.typed("who") == person.name(),
        })
        .collect();
    page.pieces = vec![
        Piece::tiles("who", t.say("helm-lookout-who"), crew),
        Piece::text("lookout", t.say("helm-lookout-other"), fields),
    ];
    page.back = helm.url("trip");
    page.draw()
}

/// Posts a lookout.
pub(super) async fn lookout(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let named = |field| fields.or_empty(field, LONGEST_NAME);
    let (Some(typed), Some(chosen)) = (named("lookout"), named("who")) else {
        return draw_lookout(&helm, &fields, fields.faults());
    };
    let name = if typed.is_empty() { chosen } else { typed };
    let acted = helm
        .act(&fields, move |state, _, _| {
            decide::post_lookout(state, &name)
        })
        .await?;
    match acted {
        Acted::Done(_) => Ok(helm.to("")),
        Acted::Refused(faults) => draw_lookout(&helm.again().await?, &fields, faults),
    }
}

/// Relieves the lookout without another.
pub(super) async fn relieve(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let acted = helm
        .act(&fields, move |state, _, _| decide::relieve_lookout(state))
        .await?;
    after(helm, acted).await
}

/// A note: the form.
pub(super) async fn incident_page(helm: Helm) -> Result<Response, Error> {
    draw_incident(&helm, &Fields::default(), Vec::new())
}

fn draw_incident(helm: &Helm, fields: &Fields, faults: Vec<FieldFault>) -> Result<Response, Error> {
    let t = helm.t;
    let mut page = helm.form(
        t.say("helm-note-incident"),
        "incident",
        "helm-log-it",
        faults,
    );
    page.caution = t.say("helm-nothing-medical");
    page.pieces = vec![
        Piece::lines("text", t.say("helm-what-happened"), fields),
        Piece::checks(
            "persons",
            t.say("helm-whom-it-concerns"),
            helm.people_choices(helm.state().coming(), "persons", fields),
        ),
    ];
    page.back = helm.url("trip");
    page.draw()
}

/// Logs a note.
pub(super) async fn incident(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let persons: Option<BTreeSet<PersonId>> = fields.parsed_all("persons");
    let text = fields.text("text", 2_000);
    let (Some(persons), Some(text)) = (persons, text) else {
        return draw_incident(&helm, &fields, fields.faults());
    };
    let acted = helm
        .act(&fields, move |state, _, _| {
            decide::incident(state, persons.clone(), &text)
        })
        .await?;
    match acted {
        Acted::Done(_) => Ok(helm.to("trip")),
        Acted::Refused(faults) => draw_incident(&helm.again().await?, &fields, faults),
    }
}
