//! The blind count: each crew member alone, no figure shown until both counts are in; one
//! recount; a lone crew member counts twice, the second time by names.

use askama::Template;
use axum::response::Response;

use super::bridge::{FormPage, Helm, Piece, Tap, point_key};
use crate::trip::decide::{self, HeadCount};
use crate::trip::event::{Method, PersonId, Point};
use crate::trip::roll::{Call, Outcome};
use crate::trip::state::State;
use crate::web::act::Acted;
use crate::web::error::Error;
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::answered;
use crate::web::parts::{FieldFault, Weight};

/// Most people a count may give.
const MOST: u32 = 1_000;

const POINTS: [(&str, Point); 3] = [
    ("departure", Point::Departure),
    ("leaving", Point::Leaving),
    ("return", Point::Return),
];

fn point_word(point: Point) -> &'static str {
    match point {
        Point::Departure => "departure",
        Point::Leaving => "leaving",
        Point::Return => "return",
    }
}

#[derive(Template)]
#[template(path = "helm/count.html")]
struct CountPage {
    frame: Frame,
    title: String,
    said: Vec<String>,
    taps: Vec<Tap>,
}

/// The count under way at a point: number and round, and the round's counts.
fn current(state: &State, point: Point) -> (u32, u32, Option<&Call>) {
    let (number, call) = state.current_call(point);
    let round = match call.map(Call::outcome) {
        Some(Outcome::Open { round }) => round,
        Some(Outcome::Agreed { .. } | Outcome::Failed) | None => 1,
    };
    (number, round, call)
}

/// The page.
pub(super) async fn page(helm: Helm) -> Result<Response, Error> {
    let Some(point) = helm.state().counts_at() else {
        return answered(&nothing(&helm), true);
    };
    let (_, round, call) = current(helm.state(), point);
    let crew = helm.crew.0.crew;
    if call.is_some_and(|call| !call.may_count(crew, Method::Heads)) {
        return waiting(&helm, point, round);
    }
    // A count that is over is told before another is begun.
    let again = helm.asked.path.contains("again");
    match helm.state().last_call(point).map(Call::outcome) {
        Some(outcome) if call.is_none() && !again => over(&helm, point, outcome),
        Some(_) | None => draw(&helm, point, &Fields::default(), Vec::new()),
    }
}

fn title(helm: &Helm, point: Point) -> String {
    helm.say(
        "helm-count-title",
        &[("point", helm.t.say(point_key(point)).into())],
    )
}

fn nothing(helm: &Helm) -> CountPage {
    CountPage {
        frame: helm.frame(),
        title: helm.t.say("way-count"),
        said: vec![helm.t.say("helm-nothing-to-count")],
        taps: vec![helm.go("way-watch", "", Weight::Plain)],
    }
}

fn waiting(helm: &Helm, point: Point, round: u32) -> Result<Response, Error> {
    let page = CountPage {
        frame: helm.frame(),
        title: title(helm, point),
        said: vec![
            helm.say("helm-count-in", &[("round", i64::from(round).into())]),
            helm.t.say("helm-count-waits"),
        ],
        taps: vec![
            helm.go("way-watch", "", Weight::Plain),
            helm.go("helm-alone-by-names", "count/names", Weight::Plain),
        ],
    };
    answered(&page, true)
}

fn over(helm: &Helm, point: Point, outcome: Outcome) -> Result<Response, Error> {
    let roll = || helm.go("helm-call-roll", "roll", Weight::Primary);
    let again = helm.go("helm-count-again", "count?again=1", Weight::Plain);
    let (said, taps) = match outcome {
        Outcome::Agreed { people } => (
            helm.say("helm-count-agreed", &[("n", i64::from(people).into())]),
            vec![helm.go("helm-what-blocks", "gate", Weight::Primary), again],
        ),
        Outcome::Failed if point == Point::Leaving => (
            helm.t.say("helm-count-failed-site"),
            vec![
                helm.go("helm-emergency-plan", "emergency", Weight::Grave),
                roll(),
                again,
            ],
        ),
        Outcome::Failed | Outcome::Open { .. } => {
            (helm.t.say("helm-count-failed-quay"), vec![roll(), again])
        }
    };
    let page = CountPage {
        frame: helm.frame(),
        title: title(helm, point),
        said: vec![said],
        taps,
    };
    answered(&page, true)
}

fn pinned(helm: &Helm, mut page: FormPage, point: Point) -> FormPage {
    let (number, round, _) = current(helm.state(), point);
    page.send = page
        .send
        .with("point", point_word(point))
        .with("call", number.to_string())
        .with("round", round.to_string());
    page
}

fn draw(
    helm: &Helm,
    point: Point,
    fields: &Fields,
    faults: Vec<FieldFault>,
) -> Result<Response, Error> {
    let page = helm.form(title(helm, point), "count", "helm-count-send", faults);
    let mut page = pinned(helm, page, point);
    let (_, round, _) = current(helm.state(), point);
    if round == 2 {
        page.caution = helm.t.say("helm-recount");
    }
    page.said = vec![helm.t.say("helm-count-how")];
    page.pieces = vec![Piece::number(
        "people",
        helm.t.say("helm-people-aboard"),
        "",
        fields,
    )];
    page.draw()
}

/// One blind count by heads.
pub(super) async fn heads(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let Some(pin) = pin(&fields) else {
        return Err(Error::StalePage);
    };
    let Some(people) = fields.whole("people", MOST) else {
        return draw(&helm, pin.0, &fields, fields.faults());
    };
    let acted = count(&helm, &fields, pin, Method::Heads, people).await?;
    match acted {
        Acted::Done(_) => Ok(helm.to("count")),
        Acted::Refused(faults) => draw(&helm.again().await?, pin.0, &fields, faults),
    }
}

type Pin = (Point, u32, u32);

fn pin(fields: &Fields) -> Option<Pin> {
    Some((
        fields.word("point", &POINTS)?,
        fields.whole("call", u32::MAX)?,
        fields.whole("round", 2)?,
    ))
}

async fn count(
    helm: &Helm,
    fields: &Fields,
    (point, call, round): Pin,
    method: Method,
    people: u32,
) -> Result<Acted, Error> {
    let crew = helm.crew.0.crew;
    helm.act(fields, move |state, _, _| {
        let counted = HeadCount {
            point,
            call,
            round,
            method,
            people,
        };
        decide::count(state, counted, crew)
    })
    .await
}

/// The second way of a lone crew member: everybody seen is ticked, and the ticks are the count.
pub(super) async fn names_page(helm: Helm) -> Result<Response, Error> {
    match helm.state().counts_at() {
        Some(point) => draw_names(&helm, point, &Fields::default(), Vec::new()),
        None => answered(&nothing(&helm), true),
    }
}

fn draw_names(
    helm: &Helm,
    point: Point,
    fields: &Fields,
    faults: Vec<FieldFault>,
) -> Result<Response, Error> {
    let page = helm.form(title(helm, point), "count/names", "helm-count-send", faults);
    let mut page = pinned(helm, page, point);
    page.said = vec![helm.t.say("helm-count-names-how")];
    let mut choices = helm.people_choices(helm.state().coming(), "persons", fields);
    for choice in &mut choices {
        // Where the log has somebody would be the answer.
        choice.note = String::new();
    }
    page.pieces = vec![Piece::checks(
        "persons",
        helm.t.say("helm-seen-now"),
        choices,
    )];
    page.back = helm.url("count");
    page.draw()
}

/// One count by names.
pub(super) async fn names(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let Some(pin) = pin(&fields) else {
        return Err(Error::StalePage);
    };
    let Some(ticked) = fields.parsed_all::<PersonId>("persons") else {
        return draw_names(&helm, pin.0, &fields, fields.faults());
    };
    let known = ticked.iter().all(|id| helm.state().people.contains_key(id));
    if !known {
        fields.fault("persons", "fault-choose", &[]);
        return draw_names(&helm, pin.0, &fields, fields.faults());
    }
    let people = u32::try_from(ticked.len()).unwrap_or(u32::MAX);
    let acted = count(&helm, &fields, pin, Method::Names, people).await?;
    match acted {
        Acted::Done(_) => Ok(helm.to("count")),
        Acted::Refused(faults) => draw_names(&helm.again().await?, pin.0, &fields, faults),
    }
}
