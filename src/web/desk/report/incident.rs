//! Incidents: what the report shows of each, and the form of the desk with all fields of an incident
//! record. The quick note stays at the helm.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;

use crate::trip::TripId;
use crate::trip::decide;
use crate::trip::event::{IncidentRecord, IncidentSort, PersonId, Role};
use crate::trip::state::{Incident, Known};
use crate::units::system::Measure;
use crate::units::{Depth, Minutes, bounds};
use crate::web::act::{Acted, act};
use crate::web::app::App;
use crate::web::desk::form::Shown;
use crate::web::desk::{Here, figure, tell};
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{Asked, answered};
use crate::web::parts::{Choice, FieldFault};

/// What an incident can be about: its word in forms and its sentence.
const SORTS: [(&str, IncidentSort); 7] = [
    ("injury", IncidentSort::Injury),
    ("illness", IncidentSort::Illness),
    ("after-dive", IncidentSort::AfterDive),
    ("separation", IncidentSort::Separation),
    ("equipment", IncidentSort::Equipment),
    ("boat", IncidentSort::Boat),
    ("other", IncidentSort::Other),
];

/// Known, known not to be, not known.
const YES_OR_NO: [(&str, Option<bool>); 3] = [("", None), ("yes", Some(true)), ("no", Some(false))];

/// An incident as the report shows it.
pub(super) struct Card {
    /// What happened, who says so, when.
    pub text: String,
    /// Fields of its record: what, and what it says.
    pub fields: Vec<(String, String)>,
}

/// Every incident of the trip. `withheld`: what was seen of people is left out.
pub(super) fn cards(here: &Here, withheld: bool) -> Vec<Card> {
    let incidents = &here.snap.state.incidents;
    incidents
        .iter()
        .map(|one| card(here, one, withheld))
        .collect()
}

/// One incident.
pub(super) fn card(here: &Here, one: &Known<Incident>, withheld: bool) -> Card {
    let (t, state) = (here.t, &here.snap.state);
    let mut fields = Vec::new();
    let mut add = |key: &str, value: Option<String>| {
        fields.extend(value.map(|value| (t.say(key), value)));
    };
    let names: Vec<&str> = one
        .what
        .persons
        .iter()
        .map(|id| state.name_of(*id))
        .collect();
    add(
        "incident-persons",
        (!names.is_empty()).then(|| names.join(", ")),
    );
    if let Some(record) = &one.what.record {
        add("incident-sort", Some(t.say(sort_key(record.sort))));
        add("incident-where", record.whereabouts.clone());
        add("incident-place", record.place.map(tell::place));
        let metres = |depth: Depth| t.told(Measure::Depth, depth.m());
        add("incident-depth", record.greatest_depth_m.map(metres));
        let minutes = |under: Minutes| format!("{}\u{a0}min", figure(under.min()));
        add("incident-under", record.under_min.map(minutes));
        let missed = record.stops_missed.map(|missed| {
            t.say(if missed {
                "incident-yes"
            } else {
                "incident-no"
            })
        });
        add("incident-stops", missed);
        if !withheld {
            add("incident-signs", record.signs.clone());
            add(
                "incident-oxygen",
                record.oxygen_from.map(|at| here.time(at)),
            );
            add("incident-done", record.done.clone());
        }
        add("incident-called", record.called.clone());
        add("incident-witnesses", record.witnesses.clone());
        add("incident-outcome", record.outcome.clone());
    }
    Card {
        text: super::known(here, &one.what.text, one),
        fields,
    }
}

fn sort_key(sort: IncidentSort) -> &'static str {
    match sort {
        IncidentSort::Injury => "incident-injury",
        IncidentSort::Illness => "incident-illness",
        IncidentSort::AfterDive => "incident-after-dive",
        IncidentSort::Separation => "incident-separation",
        IncidentSort::Equipment => "incident-equipment",
        IncidentSort::Boat => "incident-boat",
        IncidentSort::Other => "incident-other",
    }
}

/// Whether the viewer may write a record, and comes by a way on which nobody listens.
pub(super) fn may_note(crew: &Crew, withheld: bool) -> bool {
    !withheld
        && [Role::Desk, Role::Divemaster, Role::Skipper]
            .into_iter()
            .any(|role| crew.is(role))
}

#[derive(Template)]
#[template(path = "desk/incident.html")]
struct IncidentPage {
    frame: Frame,
    title: String,
    url: String,
    sorts: Vec<Choice>,
    stops: Vec<Choice>,
    people: Vec<Choice>,
    f: Shown,
}

/// The form.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    draw(&app, &asked, &crew, &here, &Fields::default(), Vec::new())
}

fn draw(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    here: &Here,
    fields: &Fields,
    faults: Vec<FieldFault>,
) -> Result<Response, Error> {
    let t = here.t;
    let mut f = Shown::of_trip(app, &here.snap);
    if !faults.is_empty() {
        f = f.refused(fields, faults);
    }
    let mut frame = here.frame_to_fill(app, asked, crew);
    f.mark(&mut frame);
    let worded = |word: &str, key: &str| (word.to_owned(), t.say(key));
    let sorts: Vec<(String, String)> = std::iter::once(worded("", "incident-choose"))
        .chain(
            SORTS
                .iter()
                .map(|(word, sort)| worded(word, sort_key(*sort))),
        )
        .collect();
    let stops = [
        worded("", "incident-not-known"),
        worded("yes", "incident-yes"),
        worded("no", "incident-no"),
    ];
    let mut people: Vec<Choice> = here
        .snap
        .state
        .people
        .values()
        .map(|person| {
            let id = person.id.to_string();
            Choice {
                chosen: f.is("persons", &id),
                value: id,
                label: person.name().to_owned(),
                note: String::new(),
            }
        })
        .collect();
    people.sort_by(|a, b| a.label.cmp(&b.label));
    let page = IncidentPage {
        frame,
        title: here.title(),
        url: format!("/desk/{}", here.trip),
        sorts: f.choose("sort", &sorts),
        stops: f.choose("stops_missed", &stops),
        people,
        f,
    };
    answered(&page, page.f.faults.is_empty())
}

/// Logs an incident with its record.
pub async fn save(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
    fields: Fields,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    let mut faults = Vec::new();
    match read(&here, &fields) {
        Some(typed) => {
            let decided = move |state: &_, _: &[_], now: Timestamp| {
                let Typed {
                    text,
                    persons,
                    at,
                    record,
                } = typed.clone();
                decide::incident_record(state, persons, &text, record, (at, now))
            };
            match act(&app, &crew, trip, &fields, decided).await? {
                Acted::Done(_) => {
                    let there = format!("/desk/{trip}/report#incidents");
                    return Ok(Redirect::to(&there).into_response());
                }
                Acted::Refused(why) => faults.extend(why),
            }
        }
        None => faults.extend(fields.faults()),
    }
    let here = Here::load(&app, trip).await?;
    draw(&app, &asked, &crew, &here, &fields, faults)
}

/// A record as it is typed.
#[derive(Clone)]
struct Typed {
    text: String,
    persons: std::collections::BTreeSet<PersonId>,
    at: Option<Timestamp>,
    record: IncidentRecord,
}

/// Reads every field before any is missed, so that each fault is named.
fn read(here: &Here, fields: &Fields) -> Option<Typed> {
    const LONGEST: usize = 2_000;
    let line = |name: &str| fields.optional_text(name, LONGEST);
    let time = |name: &str| fields.happened_at(name, &here.zone, here.now);
    let text = fields.text("text", LONGEST);
    let persons = fields.parsed_all::<PersonId>("persons");
    let at = time("at");
    let sort = fields.word("sort", &SORTS);
    let whereabouts = line("whereabouts");
    let place = fields.position("lat", "lon");
    let depth = fields.optional_quantity("depth", &bounds::DEPTH_M, Depth::from_m);
    let under = fields.optional_quantity("under", &bounds::LEVEL_MIN, Minutes::from_min);
    let stops_missed = fields.word("stops_missed", &YES_OR_NO);
    let signs = line("signs");
    let oxygen_from = time("oxygen_from");
    let done = line("done");
    let called = line("called");
    let witnesses = line("witnesses");
    let outcome = line("outcome");
    Some(Typed {
        text: text?,
        persons: persons?,
        at: at?,
        record: IncidentRecord {
            sort: sort?,
            whereabouts: whereabouts?,
            place: place?,
            greatest_depth_m: depth?,
            under_min: under?,
            stops_missed: stops_missed?,
            signs: signs?,
            oxygen_from: oxygen_from?,
            done: done?,
            called: called?,
            witnesses: witnesses?,
            outcome: outcome?,
        },
    })
}
