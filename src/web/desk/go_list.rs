//! The go/no-go list at the desk: answered from ashore, printed, and the centre's own lines.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use crate::store::register::key;
use crate::trip::TripId;
use crate::trip::decide::{self, LONGEST_OWN_LINE, MOST_OWN_LINES};
use crate::trip::event::Answer;
use crate::trip::state::Phase;
use crate::web::act::{Acted, act};
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::go_list::{self, own_lines};
use crate::web::page::{Asked, html, refused};
use crate::web::parts::Choice;
use crate::web::sea::words::Told;

use super::Here;
use super::form::Shown;

#[derive(Template)]
#[template(path = "desk/go-list.html")]
struct GoListPage {
    frame: Frame,
    title: String,
    url: String,
    verdict: String,
    rows: Vec<Row>,
    may_answer: bool,
    f: Shown,
}

struct Row {
    condition_id: String,
    answer_id: String,
    note_id: String,
    value: String,
    label: String,
    word: String,
    said: Vec<String>,
    hints: Vec<String>,
    note_label: String,
    note: String,
    choices: Vec<Choice>,
}

fn draw(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    here: &Here,
    own: &[String],
    f: Shown,
) -> GoListPage {
    let t = here.t;
    let told = Told {
        t,
        zone: &here.zone,
        now: here.now,
    };
    let rows = go_list::lines(&here.snap, own, told);
    let rows = rows.into_iter().zip(0..).map(|(line, nth)| {
        let typed = f.v(&format!("answer-{nth}"));
        let standing = match line.answer {
            Answer::Go => "go",
            Answer::NoGo => "no-go",
            Answer::Open => "open",
        };
        let chosen = if typed.is_empty() { standing } else { typed };
        let choices = go_list::ANSWERS.iter().map(|(value, answer)| Choice {
            value: (*value).to_owned(),
            label: t.say(go_list::answer_key(*answer)),
            note: String::new(),
            chosen: *value == chosen,
        });
        let note = f.v(&format!("note-{nth}"));
        Row {
            condition_id: format!("condition-{nth}"),
            answer_id: format!("answer-{nth}"),
            note_id: format!("note-{nth}"),
            choices: choices.collect(),
            note: if f.faults.is_empty() {
                line.note
            } else {
                note.to_owned()
            },
            note_label: t.say_with("go-note-of", &[("what", line.label.as_str().into())]),
            value: line.value,
            label: line.label,
            word: line.word,
            said: line.said,
            hints: line.hints,
        }
    });
    let mut frame = here.frame_to_fill(app, asked, crew);
    f.mark(&mut frame);
    GoListPage {
        frame,
        title: here.title(),
        url: format!("/desk/{}", here.trip),
        verdict: go_list::verdict(&here.snap.state, t),
        rows: rows.collect(),
        may_answer: here.snap.state.phase == Phase::AtQuay,
        f,
    }
}

/// The list.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    let own = own_lines(&app).await?;
    let f = Shown::of_trip(&app, &here.snap).with("lines", own.join("\n"));
    html(&draw(&app, &asked, &crew, &here, &own, f))
}

/// Answers conditions.
pub async fn answer(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
    fields: Fields,
) -> Result<Response, Error> {
    let own = own_lines(&app).await?;
    let here = Here::load(&app, trip).await?;
    let known = here.snap.state.go_list.conditions(&own);
    let mut faults = fields.faults();
    if let Some(answers) = go_list::read(&fields, &known) {
        let decided = move |state: &_, _: &[_], _| decide::answer_conditions(state, &answers);
        match act(&app, &crew, trip, &fields, decided).await? {
            Acted::Done(_) => {
                return Ok(Redirect::to(&format!("/desk/{trip}/go-list")).into_response());
            }
            Acted::Refused(why) => faults = why,
        }
    } else {
        faults.extend(fields.faults());
    }
    let here = Here::load(&app, trip).await?;
    let f = Shown::of_trip(&app, &here.snap)
        .refused(&fields, faults)
        .with("lines", own.join("\n"));
    refused(&draw(&app, &asked, &crew, &here, &own, f))
}

/// Keeps the centre's own lines, for this trip and those that come.
pub async fn lines(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
    fields: Fields,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    let typed = fields.optional_text("lines", MOST_OWN_LINES * (LONGEST_OWN_LINE + 2));
    let mut lines: Vec<String> = Vec::new();
    for line in typed.flatten().unwrap_or_default().lines().map(str::trim) {
        if !line.is_empty() && !lines.iter().any(|held| held == line) {
            lines.push(line.to_owned());
        }
    }
    let too_long = |line: &String| line.chars().count() > LONGEST_OWN_LINE;
    if lines.len() > MOST_OWN_LINES || lines.iter().any(too_long) {
        let args = [
            ("most", MOST_OWN_LINES.into()),
            ("longest", LONGEST_OWN_LINE.into()),
        ];
        fields.fault("lines", "fault-go-lines", &args);
    }
    if fields.is_sound() {
        app.store().set_setting(key::GO_LINES, &lines).await?;
        return Ok(Redirect::to(&format!("/desk/{trip}/go-list#lines")).into_response());
    }
    let own = own_lines(&app).await?;
    let f = Shown::of_trip(&app, &here.snap).refused(&fields, fields.faults());
    refused(&draw(&app, &asked, &crew, &here, &own, f))
}
