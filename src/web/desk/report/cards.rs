//! Every diver's own dives as a small page or a card on paper: planned and actual, site, gas, times
//! and what was noted of them. Of others nothing stands there but the names of the group.

use askama::Template;
use axum::extract::State;
use axum::response::Response;

use crate::trip::TripId;
use crate::trip::event::PersonId;
use crate::trip::state::{Group, Logged, Person};
use crate::units::system::Measure;
use crate::web::app::App;
use crate::web::desk::{Here, figure};
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::frame::Frame;
use crate::web::page::{Asked, html};
use crate::web::record::{DiveLine, dive_line};
use crate::web::view;

use super::dives::{AfterRow, after_row};
use super::incident;

#[derive(Template)]
#[template(path = "desk/own-dives.html")]
struct CardsPage {
    frame: Frame,
    title: String,
    url: String,
    /// Boat, day, harbour.
    of: String,
    cards: Vec<Card>,
}

/// One diver.
struct Card {
    id: String,
    name: String,
    dives: Vec<OwnDive>,
    after: AfterRow,
    /// Incidents that name this diver and nobody else.
    noted: Vec<String>,
    /// How many notes name others too: those stand in the report only.
    elsewhere: usize,
}

/// A dive of a diver.
struct OwnDive {
    heading: String,
    with: String,
    gas: String,
    plan: String,
    rows: Vec<(String, String, String)>,
    noted: String,
}

/// The cards of everybody who dived.
pub async fn all(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    let mut divers: Vec<&Person> = here
        .snap
        .state
        .people
        .values()
        .filter(|p| dived(p))
        .collect();
    divers.sort_by(|a, b| a.name().cmp(b.name()));
    draw(&app, &asked, &crew, &here, &divers)
}

/// The card of one.
pub async fn one(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, id)): Path<(TripId, PersonId)>,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    let person = here.snap.state.people.get(&id).filter(|p| dived(p));
    let person = person.ok_or(Error::NotFound)?;
    draw(&app, &asked, &crew, &here, &[person])
}

fn dived(person: &Person) -> bool {
    person.dives.values().any(|dive| dive.entered_at.is_some())
}

fn draw(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    here: &Here,
    divers: &[&Person],
) -> Result<Response, Error> {
    let harbour = here.snap.state.opened.as_ref().map(|o| o.harbour.clone());
    let title = here.title();
    html(&CardsPage {
        frame: here.frame_to_fill(app, asked, crew),
        of: format!("{title} · {}", harbour.unwrap_or_default()),
        title,
        url: format!("/desk/{}", here.trip),
        cards: divers.iter().map(|person| card(here, person)).collect(),
    })
}

fn card(here: &Here, person: &Person) -> Card {
    let incidents = &here.snap.state.incidents;
    let names = |one: &&_| -> bool {
        let one: &crate::trip::state::Known<crate::trip::state::Incident> = one;
        one.what.persons.contains(&person.id)
    };
    let (own, shared): (Vec<_>, Vec<_>) = incidents
        .iter()
        .filter(names)
        .partition(|one| one.what.persons.len() == 1);
    Card {
        id: person.id.to_string(),
        name: person.name().to_owned(),
        dives: person
            .dives
            .iter()
            .filter(|(_, logged)| logged.entered_at.is_some())
            .map(|(dive, logged)| own_dive(here, person, *dive, logged))
            .collect(),
        after: after_row(here, person),
        // The signs of a record are the diver's own, and still stay out of a paper that lies about.
        noted: own
            .into_iter()
            .map(|one| incident::card(here, one, true).text)
            .collect(),
        elsewhere: shared.len(),
    }
}

fn own_dive(here: &Here, person: &Person, dive: u32, logged: &Logged) -> OwnDive {
    let (t, state) = (here.t, &here.snap.state);
    let line = dive_line(state, person, dive, logged);
    let group = logged.group.and_then(|id| state.groups.get(&id));
    let args = [
        ("n", dive.to_string().into()),
        ("site", line.site.clone().into()),
    ];
    let heading = t.say_with("trip-dive", &args);
    OwnDive {
        heading,
        with: group.map_or_else(String::new, |group| with(here, person, group)),
        gas: group
            .and_then(|group| group.formed.kit.get(&person.id))
            .map_or_else(String::new, |kit| {
                t.say_with(
                    "sheet-gas",
                    &[
                        ("litres", kit.cylinder_l.l().into()),
                        ("oxygen", (kit.oxygen.fraction() * 100.0).round().into()),
                        ("bar", kit.start_bar.bar().into()),
                    ],
                )
            }),
        plan: group.map_or_else(String::new, |group| view::levels(&group.formed.plan, t)),
        rows: rows(here, &line),
        noted: line.noted.unwrap_or_default(),
    }
}

/// `Group B with Bo Cask`: names and nothing else.
fn with(here: &Here, person: &Person, group: &Group) -> String {
    let names: Vec<String> = here
        .snap
        .state
        .members(group)
        .filter(|other| other.id != person.id)
        .map(|other| other.name().to_owned())
        .collect();
    let args = [
        ("letter", (&group.formed.letter).into()),
        ("names", view::names(&names, here.t).into()),
    ];
    let key = if names.is_empty() {
        "card-alone"
    } else {
        "card-with"
    };
    here.t.say_with(key, &args)
}

/// What, planned, actual.
fn rows(here: &Here, line: &DiveLine) -> Vec<(String, String, String)> {
    let t = here.t;
    let (planned, actual) = (&line.planned, &line.actual);
    let time = |at: Option<jiff::Timestamp>| at.map_or_else(String::new, |at| here.time(at));
    let number = |of: Option<f64>| of.map_or_else(String::new, figure);
    let minutes = actual.run_time_min.map(|minutes| minutes.to_string());
    let stop_min = planned.stop_min.map(|minutes| {
        let args = [("n", figure(minutes).into())];
        t.say_with("card-stop-min", &args)
    });
    let stop = actual.stop_done.map(|done| {
        t.say(if done {
            "told-stop-done"
        } else {
            "told-stop-missed"
        })
    });
    let told = |measure: Measure, metric: Option<f64>| {
        metric.map_or_else(String::new, |m| measure.figure(m, t.system()))
    };
    [
        ("card-in", time(planned.entry_at), time(actual.entered_at)),
        ("card-up", String::new(), time(actual.surfaced_at)),
        (
            "card-minutes",
            number(planned.run_time_min.map(f64::ceil)),
            minutes.unwrap_or_default(),
        ),
        (
            "card-depth",
            told(Measure::Depth, planned.greatest_depth_m),
            told(Measure::Depth, actual.greatest_depth_m),
        ),
        (
            "card-bar",
            told(Measure::Pressure, planned.start_bar),
            told(Measure::Pressure, actual.end_bar),
        ),
        (
            "card-stop",
            stop_min.unwrap_or_default(),
            stop.unwrap_or_default(),
        ),
    ]
    .into_iter()
    .map(|(key, planned, actual)| (t.say(key), planned, actual))
    .collect()
}
