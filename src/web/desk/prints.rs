//! Prints: noted when somebody prints, and what changed since marked on page and next print.

use std::collections::BTreeSet;

use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use crate::trip::event::{GroupId, PersonId, Sheet};
use crate::trip::printed::{changed_since, last_print, touched};
use crate::trip::{TripId, decide};
use crate::web::act::{Acted, act};
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::page;

use super::{Here, tell};

/// The part of a sheet that says what changed since it was printed.
pub(super) struct Changes {
    /// Where a print is noted.
    pub url: String,
    /// Hidden fields of that form.
    pub tokens: Vec<(String, String)>,
    /// Which sheet, as the form says it.
    pub sheet: &'static str,
    /// The dive, where the sheet is of one.
    pub dive: String,
    /// Whether a print can be noted: not on a closed trip.
    pub may_note: bool,
    /// Since which print, in words; none was noted.
    pub since: Option<String>,
    /// What changed, a line each.
    pub lines: Vec<String>,
    /// Who changed.
    pub people: BTreeSet<PersonId>,
    /// Which groups changed.
    pub groups: BTreeSet<GroupId>,
}

const SHEETS: [(&str, Sheet); 3] = [
    ("boat-sheet", Sheet::BoatSheet),
    ("passenger-list", Sheet::PassengerList),
    ("briefings", Sheet::Briefings),
];

/// What changed since a sheet was printed last.
pub(super) fn changes(app: &App, here: &Here, sheet: Sheet, dive: Option<u32>) -> Changes {
    let log = &here.snap.entries;
    let print = last_print(log, sheet, dive);
    let changed = print
        .as_ref()
        .map(|print| changed_since(log, sheet, dive, print))
        .unwrap_or_default();
    let (people, groups) = touched(&changed);
    let line = |entry: &&crate::trip::event::Entry| {
        let event = &entry.event;
        let parts = [
            tell::title(here, &event.fact),
            tell::about(here, event),
            tell::detail(here, event),
        ];
        let text: Vec<String> = parts.into_iter().filter(|part| !part.is_empty()).collect();
        let args = [
            ("text", text.join(" · ").into()),
            ("by", event.by.name.as_str().into()),
            ("at", here.time(entry.time()).into()),
        ];
        here.t.say_with("report-said", &args)
    };
    let word = SHEETS.iter().find(|(_, one)| *one == sheet);
    Changes {
        url: format!("/desk/{}/printed", here.trip),
        tokens: page::tokens(app, &here.snap),
        sheet: word.map_or("", |(word, _)| *word),
        dive: dive.map_or_else(String::new, |dive| dive.to_string()),
        may_note: here.snap.state.phase != crate::trip::state::Phase::Closed,
        since: print.map(|print| {
            let args = [
                ("at", here.day_and_time(print.at).into()),
                ("by", print.by.into()),
                ("n", changed.len().into()),
            ];
            here.t.say_with("print-since", &args)
        }),
        lines: changed.iter().map(line).collect(),
        people,
        groups,
    }
}

/// Notes that a sheet was printed.
pub async fn note(
    State(app): State<App>,
    crew: Crew,
    Path(trip): Path<TripId>,
    fields: Fields,
) -> Result<Response, Error> {
    let sheet = fields.word("sheet", &SHEETS).ok_or(Error::NotFound)?;
    let dive = match sheet {
        Sheet::Briefings => Some(fields.whole("dive", 20).ok_or(Error::NotFound)?),
        Sheet::BoatSheet | Sheet::PassengerList => None,
    };
    let decided = move |state: &_, _: &[_], _| decide::note_print(state, sheet, dive);
    let there = match (sheet, dive) {
        (Sheet::BoatSheet, _) => "boat-sheet".to_owned(),
        (Sheet::PassengerList, _) => "passenger-list".to_owned(),
        (Sheet::Briefings, dive) => format!("briefings/{}", dive.unwrap_or(1)),
    };
    match act(&app, &crew, trip, &fields, decided).await? {
        Acted::Done(_) => Ok(Redirect::to(&format!("/desk/{trip}/{there}")).into_response()),
        // The page has nothing to fill in: a trip that was closed meanwhile shows itself so.
        Acted::Refused(_) => Err(Error::StalePage),
    }
}
