//! The units of the centre: what pages tell and forms are typed in. What is kept stays metric.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use crate::store::crew::AuditKind;
use crate::units::system::System;
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::Crew;
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{Asked, answered};
use crate::web::parts::Choice;
use crate::words::Words;

use super::form::Shown;

#[derive(Template)]
#[template(path = "desk/units.html")]
struct UnitsPage {
    frame: Frame,
    f: Shown,
    units: Vec<Choice>,
}

/// The systems to choose from.
pub(in crate::web) fn choices(chosen: &str, t: &Words) -> Vec<Choice> {
    let keys = |system: System| match system {
        System::Metric => ("units-metric", "units-metric-note"),
        System::Imperial => ("units-imperial", "units-imperial-note"),
    };
    System::ALL
        .into_iter()
        .map(|system| Choice {
            value: system.word().to_owned(),
            label: t.say(keys(system).0),
            note: t.say(keys(system).1),
            chosen: system.word() == chosen,
        })
        .collect()
}

/// The system that was chosen in a form.
pub(in crate::web) fn typed(fields: &Fields) -> Option<System> {
    fields.word("units", &System::ALL.map(|system| (system.word(), system)))
}

fn draw(app: &App, asked: &Asked, crew: &Crew, f: Shown) -> Result<Response, Error> {
    let mut frame = super::frame(app, asked, crew);
    f.mark(&mut frame);
    let sound = f.faults.is_empty();
    let page = UnitsPage {
        units: choices(f.v("units"), frame.t),
        frame,
        f,
    };
    answered(&page, sound)
}

/// The page.
pub async fn page(State(app): State<App>, asked: Asked, crew: Crew) -> Result<Response, Error> {
    let f = Shown::plain(&app).with("units", app.units().word());
    draw(&app, &asked, &crew, f)
}

/// Sets them.
pub async fn save(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    fields: Fields,
) -> Result<Response, Error> {
    let Some(units) = typed(&fields) else {
        let f = Shown::plain(&app).refused(&fields, fields.faults());
        return draw(&app, &asked, &crew, f);
    };
    let what = format!("set the units of the centre to {}", units.word());
    app.store()
        .audit_of(super::doer(&crew), AuditKind::Box, &what)
        .await?;
    app.set_units(units).await?;
    Ok(Redirect::to("/desk/units").into_response())
}
