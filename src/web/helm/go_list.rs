//! The go/no-go list at the helm and on deck: each condition answered by who looked, and the
//! skipper's decision on a page of its own.

use axum::response::Response;

use super::bridge::{Helm, Piece, choices};
use crate::trip::decide;
use crate::trip::event::Answer;
use crate::trip::state::Phase;
use crate::web::act::Acted;
use crate::web::error::Error;
use crate::web::form::Fields;
use crate::web::go_list::{self, own_lines};
use crate::web::parts::{FieldFault, Weight};

/// The list.
pub(super) async fn page(helm: Helm) -> Result<Response, Error> {
    let own = own_lines(&helm.app).await?;
    draw(&helm, &own, &Fields::default(), Vec::new())
}

fn draw(
    helm: &Helm,
    own: &[String],
    fields: &Fields,
    faults: Vec<FieldFault>,
) -> Result<Response, Error> {
    let t = helm.t;
    let zone = helm.zone();
    let mut page = helm.form(t.say("go-title"), "go-list", "go-send", faults);
    page.said = vec![go_list::verdict(helm.state(), t), t.say("go-how")];
    page.caution = t.say("go-caution");
    let list = [
        ("go", "go-go"),
        ("no-go", "go-no-go"),
        ("open", "go-leave-open"),
    ];
    let lines = go_list::lines(&helm.trip, own, helm.told(&zone));
    for (line, nth) in lines.into_iter().zip(0..) {
        let answer = format!("answer-{nth}");
        let first = match line.answer {
            Answer::Go => "go",
            Answer::NoGo => "no-go",
            Answer::Open => "open",
        };
        let beside: Vec<String> = line.said.into_iter().chain(line.hints).collect();
        let tiles = choices(t, fields, &answer, first, &list);
        page.send = page.send.with(&format!("condition-{nth}"), line.value);
        page.pieces
            .push(Piece::tiles(&answer, line.label.clone(), tiles).hinted(beside.join(" · ")));
        let args = [("what", line.label.into())];
        let note = helm.say("go-note-of", &args);
        let note = Piece::text(&format!("note-{nth}"), note, fields);
        page.pieces.push(note.or(&line.note));
    }
    if helm.is_skipper() && helm.state().phase == Phase::AtQuay {
        let decide = helm.go("go-decide", "go-list/decide", Weight::Plain);
        page.other = Some(decide);
    }
    page.draw()
}

/// Answers conditions.
pub(super) async fn answer(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let own = own_lines(&helm.app).await?;
    let known = helm.state().go_list.conditions(&own);
    let Some(answers) = go_list::read(&fields, &known) else {
        return draw(&helm, &own, &fields, fields.faults());
    };
    let acted = helm
        .act(&fields, move |state, _, _| {
            decide::answer_conditions(state, &answers)
        })
        .await?;
    match acted {
        Acted::Done(_) => Ok(helm.to("go-list")),
        Acted::Refused(faults) => draw(&helm.again().await?, &own, &fields, faults),
    }
}

/// The decision: the form.
pub(super) async fn decide_page(helm: Helm) -> Result<Response, Error> {
    let own = own_lines(&helm.app).await?;
    draw_decision(&helm, &own, &Fields::default(), Vec::new())
}

fn draw_decision(
    helm: &Helm,
    own: &[String],
    fields: &Fields,
    faults: Vec<FieldFault>,
) -> Result<Response, Error> {
    let t = helm.t;
    let mut page = helm.form(
        t.say("go-decide"),
        "go-list/decide",
        "go-decide-send",
        faults,
    );
    let list = &helm.state().go_list;
    page.said = vec![go_list::verdict(helm.state(), t)];
    for condition in list.not_go(own) {
        let word = t.say(go_list::answer_key(list.standing(&condition)));
        page.said
            .push(format!("{}: {word}", go_list::label(&condition, t)));
    }
    page.caution = t.say("go-caution");
    let go = [("go", "go-go"), ("no-go", "go-no-go")];
    page.pieces = vec![
        Piece::tiles(
            "go",
            t.say("go-decision"),
            choices(t, fields, "go", "", &go),
        ),
        Piece::lines("reason", t.say("go-reason"), fields).hinted(t.say("go-reason-hint")),
    ];
    page.back = helm.url("go-list");
    page.draw()
}

/// Decides.
pub(super) async fn decide(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let own = own_lines(&helm.app).await?;
    let go = fields.word("go", &[("go", true), ("no-go", false)]);
    let reason = fields.optional_text("reason", 2_000);
    let (Some(go), Some(reason)) = (go, reason) else {
        return draw_decision(&helm, &own, &fields, fields.faults());
    };
    let (skipper, asked) = (helm.is_skipper(), own.clone());
    let acted = helm
        .act(&fields, move |state, _, _| {
            decide::decide_trip(state, go, reason.as_deref(), &asked, skipper)
        })
        .await?;
    match acted {
        Acted::Done(_) => Ok(helm.to("go-list")),
        Acted::Refused(faults) => draw_decision(&helm.again().await?, &own, &fields, faults),
    }
}
