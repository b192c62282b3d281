//! The desk: rosters, groups, plans and prints, ashore.

mod alerts;
mod audit;
mod boats;
mod breathing;
mod briefings;
mod chart;
mod consents;
mod copy;
mod crew;
mod csv;
mod cylinders;
mod day;
mod days;
mod doubles;
mod draft;
mod earlier;
mod equipment;
mod erase;
mod forecast;
mod form;
mod gas;
mod go_list;
mod groups;
mod import;
mod lines;
mod log;
mod new_trip;
mod people;
mod plan;
mod prints;
pub mod readers;
mod report;
mod retention;
mod roster;
mod roster_one;
mod season;
mod sheets;
mod sites;
mod suggesting;
mod tell;
mod tides;
mod trip;
pub(super) mod units;
mod waiting;

use std::sync::Arc;

use jiff::Timestamp;
use jiff::tz::TimeZone;
use uuid::Uuid;

use super::app::App;
use super::error::Error;
use super::extract::Crew;
use super::form::Fields;
use super::frame::{Frame, Place, Way};
use super::guard::{Needs, OFFICE, ON_BOARD, PLANNERS};
use super::live::Snapshot;
use super::page::{self, Asked};
use super::router::{Route, act, read};
use super::view;
use crate::store::crew::Doer;
use crate::trip::TripId;
use crate::trip::carried::Carried;
use crate::trip::state::State;
use crate::words::Words;

/// Certification levels to choose from, each with the key of its name: introductory diving
/// (ISO 11121), divers (ISO 24801-1 to -3) and instructors (ISO 24802-1 and -2).
pub(super) const LEVELS: [(&str, &str); 6] = [
    ("introductory dive", "level-introductory"),
    ("supervised diver", "level-supervised"),
    ("autonomous diver", "level-autonomous"),
    ("dive leader", "level-leader"),
    ("instructor level 1", "level-instructor-1"),
    ("instructor level 2", "level-instructor-2"),
];

/// Its routes.
pub(super) fn routes() -> Vec<Route> {
    let mut routes = of_people();
    routes.extend(registers());
    routes.extend(before_departure());
    routes.extend([
        read("/desk", Needs::Crew, day::page),
        read("/desk/month", Needs::Crew, days::month::this),
        read("/desk/month/{month}", Needs::Crew, days::month::page),
        read("/desk/day/{day}", Needs::Looker, days::one::page),
        read("/desk/season", PLANNERS, season::page),
        read(
            "/desk/season/{from}/{to}/{site}/{name}",
            PLANNERS,
            season::file,
        ),
        read("/desk/new", PLANNERS, new_trip::page),
        act("/desk/new", PLANNERS, new_trip::open),
        read("/desk/{trip}", Needs::Crew, trip::page),
        act("/desk/{trip}/dives", PLANNERS, trip::plan_dive),
        read("/desk/{trip}/copy", PLANNERS, copy::page),
        act("/desk/{trip}/copy", PLANNERS, copy::save),
        read("/desk/{trip}/roster", Needs::Crew, roster::page),
        act("/desk/{trip}/roster", PLANNERS, roster::add),
        read("/desk/{trip}/roster/csv", PLANNERS, import::page),
        act("/desk/{trip}/roster/csv", PLANNERS, import::preview),
        act("/desk/{trip}/roster/csv/confirm", PLANNERS, import::confirm),
        read("/desk/{trip}/roster/{person}", Needs::Crew, roster_one::one),
        act("/desk/{trip}/roster/{person}", PLANNERS, roster_one::change),
        act(
            "/desk/{trip}/roster/{person}/not-coming",
            PLANNERS,
            roster_one::not_coming,
        ),
        act(
            "/desk/{trip}/roster/{person}/coming",
            PLANNERS,
            roster_one::coming,
        ),
        act(
            "/desk/{trip}/roster/{person}/without-consent",
            PLANNERS,
            consents::go_without,
        ),
        read(
            "/desk/{trip}/roster/{person}/earlier",
            PLANNERS,
            earlier::page,
        ),
        act(
            "/desk/{trip}/roster/{person}/earlier",
            PLANNERS,
            earlier::save,
        ),
        read("/desk/{trip}/groups", Needs::Crew, groups::first),
        read("/desk/{trip}/groups/{dive}", Needs::Crew, groups::page),
        act("/desk/{trip}/groups/{dive}", PLANNERS, groups::arrange),
        read(
            "/desk/{trip}/briefings/{dive}",
            Needs::Crew,
            briefings::page,
        ),
        read("/desk/{trip}/plan/{group}", Needs::Crew, plan::page),
        act("/desk/{trip}/plan/{group}", PLANNERS, plan::save),
        act(
            "/desk/{trip}/plan/{group}/stand-down",
            PLANNERS,
            plan::stand_down,
        ),
        read(
            "/desk/{trip}/passenger-list",
            Needs::Crew,
            sheets::passenger_list,
        ),
        read("/desk/{trip}/boat-sheet", Needs::Crew, sheets::boat_sheet),
        read("/desk/{trip}/log", Needs::Crew, log::page),
        read("/desk/{trip}/log/{event}", PLANNERS, log::one),
        act("/desk/{trip}/log/{event}/void", PLANNERS, log::void),
        read("/desk/{trip}/report", Needs::Crew, report::page),
        act("/desk/{trip}/report/sign", ON_BOARD, report::sign::sign),
        act("/desk/{trip}/report/seal", ON_BOARD, report::sign::seal),
        read("/desk/{trip}/own-dives", Needs::Crew, report::cards::all),
        read(
            "/desk/{trip}/own-dives/{person}",
            Needs::Crew,
            report::cards::one,
        ),
        read("/desk/{trip}/incident", PLANNERS, report::incident::page),
        act("/desk/{trip}/incident", PLANNERS, report::incident::save),
        read("/desk/{trip}/alerts", Needs::Crew, alerts::page),
    ]);
    routes
}

/// What is agreed and printed before a trip leaves.
fn before_departure() -> Vec<Route> {
    vec![
        act(
            "/desk/{trip}/roster/waiting/{person}/up",
            PLANNERS,
            waiting::up,
        ),
        act(
            "/desk/{trip}/roster/waiting/{person}/off",
            PLANNERS,
            waiting::off,
        ),
        read("/desk/{trip}/gas", Needs::Crew, gas::page),
        act("/desk/{trip}/gas", PLANNERS, gas::sign),
        act("/desk/{trip}/printed", Needs::Crew, prints::note),
        read("/desk/{trip}/forecast", Needs::Crew, forecast::page),
        act("/desk/{trip}/forecast", PLANNERS, forecast::save),
        read("/desk/{trip}/go-list", Needs::Crew, go_list::page),
        act("/desk/{trip}/go-list", PLANNERS, go_list::answer),
        act("/desk/{trip}/go-list/lines", PLANNERS, go_list::lines),
    ]
}

fn of_people() -> Vec<Route> {
    vec![
        read("/desk/people", PLANNERS, people::page),
        act("/desk/people", PLANNERS, people::add),
        read("/desk/people/minors", PLANNERS, consents::page),
        act("/desk/people/minors", OFFICE, consents::save),
        act("/desk/people/{person}/consents", PLANNERS, consents::add),
        act(
            "/desk/people/{person}/consents/{consent}/withdraw",
            PLANNERS,
            consents::withdraw,
        ),
        read("/desk/people/doubles", OFFICE, doubles::page),
        read(
            "/desk/people/{person}/merge/{other}",
            OFFICE,
            doubles::side_by_side,
        ),
        act(
            "/desk/people/{person}/merge/{other}",
            OFFICE,
            doubles::merge,
        ),
        act(
            "/desk/people/{person}/merge/{other}/two",
            OFFICE,
            doubles::two,
        ),
        read("/desk/people/{person}", PLANNERS, people::one),
        act("/desk/people/{person}", PLANNERS, people::save),
        act(
            "/desk/people/{person}/contact",
            PLANNERS,
            people::save_contact,
        ),
        read(
            "/desk/people/{person}/contact/open",
            PLANNERS,
            people::closed_contact,
        ),
        act(
            "/desk/people/{person}/contact/open",
            PLANNERS,
            people::open_contact,
        ),
        read("/desk/people/{person}/data", Needs::Owner, erase::page),
        act("/desk/people/{person}/export", Needs::Owner, erase::export),
        act("/desk/people/{person}/erase", Needs::Owner, erase::erase),
    ]
}

fn registers() -> Vec<Route> {
    vec![
        read("/desk/audit", Needs::Owner, audit::page),
        read("/desk/audit.csv", Needs::Owner, audit::csv),
        read("/desk/retention", Needs::Owner, retention::page),
        act("/desk/retention", Needs::Owner, retention::save),
        act("/desk/retention/{trip}", Needs::Owner, retention::settle),
        read("/desk/units", Needs::Owner, units::page),
        act("/desk/units", Needs::Owner, units::save),
        read("/desk/boats", PLANNERS, boats::page),
        read("/desk/boats/{boat}", PLANNERS, boats::one),
        act("/desk/boats/{boat}", PLANNERS, boats::save),
        read("/desk/boats/{boat}/equipment", PLANNERS, equipment::page),
        act("/desk/boats/{boat}/equipment", PLANNERS, equipment::add),
        act(
            "/desk/boats/{boat}/equipment/{item}/checked",
            PLANNERS,
            equipment::checked,
        ),
        act(
            "/desk/boats/{boat}/equipment/{item}/remove",
            PLANNERS,
            equipment::remove,
        ),
        read("/desk/boats/{boat}/emergency", PLANNERS, equipment::card),
        act(
            "/desk/boats/{boat}/emergency",
            PLANNERS,
            equipment::save_card,
        ),
        read("/desk/cylinders", PLANNERS, cylinders::page),
        act("/desk/cylinders", PLANNERS, cylinders::add),
        read("/desk/cylinders/{cylinder}", PLANNERS, cylinders::one),
        act("/desk/cylinders/{cylinder}", PLANNERS, cylinders::save),
        act("/desk/cylinders/{cylinder}/fill", PLANNERS, cylinders::fill),
        act(
            "/desk/cylinders/{cylinder}/remove",
            OFFICE,
            cylinders::remove,
        ),
        read("/desk/sites", PLANNERS, sites::page),
        read("/desk/sites/{site}", PLANNERS, sites::one),
        act("/desk/sites/{site}", PLANNERS, sites::save),
        read("/desk/sites/{site}/chart", PLANNERS, chart::page),
        act("/desk/sites/{site}/chart", PLANNERS, chart::save),
        act(
            "/desk/sites/{site}/chart/import",
            PLANNERS,
            chart::files::import,
        ),
        read(
            "/desk/sites/{site}/chart.geojson",
            PLANNERS,
            chart::files::geojson,
        ),
        read("/desk/sites/{site}/chart.gpx", PLANNERS, chart::files::gpx),
        read("/desk/sites/{site}/picture", PLANNERS, chart::picture::page),
        act("/desk/sites/{site}/picture", PLANNERS, chart::picture::keep),
        act(
            "/desk/sites/{site}/picture/place",
            PLANNERS,
            chart::picture::place,
        ),
        act(
            "/desk/sites/{site}/picture/remove",
            PLANNERS,
            chart::picture::remove,
        ),
        read(
            "/desk/sites/{site}/picture/{hash}",
            PLANNERS,
            chart::picture::bytes,
        ),
        read("/desk/sites/{site}/tides", PLANNERS, tides::page),
        act("/desk/sites/{site}/tides", PLANNERS, tides::save),
        read("/desk/crew", PLANNERS, crew::page),
        act("/desk/crew", Needs::Trusted, crew::add),
        act("/desk/crew/{crew}/roles", Needs::Trusted, crew::roles),
        act("/desk/crew/{crew}/pin", Needs::Trusted, crew::pin),
        act(
            "/desk/crew/{crew}/passphrase",
            Needs::Crew,
            crew::passphrase,
        ),
        act("/desk/crew/{crew}/remove", Needs::Trusted, crew::remove),
        act("/desk/crew/code", Needs::Trusted, crew::code),
        act("/desk/crew/devices/{device}", Needs::Trusted, crew::revoke),
    ]
}

/// A trip as a page of the desk finds it.
pub(super) struct Here {
    /// The trip.
    pub trip: TripId,
    /// Its snapshot.
    pub snap: Arc<Snapshot>,
    /// Now.
    pub now: Timestamp,
    /// The zone of its times.
    pub zone: TimeZone,
    /// The words.
    pub t: &'static Words,
    /// What its divers breathe, on pages that plan.
    pub breathing: breathing::Breathing,
    /// What its divers dived on other trips, on pages that plan.
    pub carried: Carried,
    /// What its divers analysed, on pages that plan.
    pub gas: super::gas::OnTrip,
    /// The state with those dives, where the log does not tell them yet.
    planning: Option<Box<State>>,
}

impl Here {
    async fn load(app: &App, trip: TripId) -> Result<Self, Error> {
        let snap = app.live().snapshot(trip).await?.ok_or(Error::NoSuchTrip)?;
        let zone = view::zone(&snap.state);
        Ok(Self {
            trip,
            snap,
            now: app.clock().now(),
            zone,
            t: crate::web::language::words(),
            breathing: breathing::Breathing::default(),
            carried: Carried::default(),
            gas: super::gas::OnTrip::default(),
            planning: None,
        })
    }

    /// The state to plan on: the log's, with the dives of other trips that it does not tell yet.
    pub(super) fn state(&self) -> &State {
        self.planning.as_deref().unwrap_or(&self.snap.state)
    }

    /// The frame of a page that is only read: it renews itself.
    fn frame(&self, app: &App, asked: &Asked, crew: &Crew) -> Frame {
        page::trip_frame(app, asked, Place::Desk, crew, &self.snap, self.now)
    }

    /// The frame of a page that is filled in: it does not load itself over what is typed.
    fn frame_to_fill(&self, app: &App, asked: &Asked, crew: &Crew) -> Frame {
        let mut frame = self.frame(app, asked, crew);
        if let Some(live) = frame.live.as_mut() {
            live.refresh_s = None;
        }
        frame
    }

    /// `Boat, 4 May 2026`.
    fn title(&self) -> String {
        let Some(opened) = &self.snap.state.opened else {
            return self.trip.to_string();
        };
        format!("{} · {}", opened.boat.name, view::day(opened.day))
    }

    /// Whether somebody is counting blind: then no page shows how many there are.
    fn is_counting(&self) -> bool {
        self.snap.state.is_counting()
    }

    fn time(&self, at: Timestamp) -> String {
        view::clock_time(at, &self.zone)
    }

    /// `2 June 2026, 06:50`.
    fn day_and_time(&self, at: Timestamp) -> String {
        let day = at.to_zoned_datetime(self.zone.clone()).date();
        format!("{}, {}", view::day(day), self.time(at))
    }
}

/// Who acts here, as the audit names it.
fn doer(crew: &Crew) -> Doer {
    Doer {
        who: Some(crew.0.crew),
        device: Some(crew.0.device),
    }
}

/// Which day it is at the centre.
async fn today(app: &App) -> Result<jiff::civil::Date, Error> {
    let zone = app.centre_zone().await?;
    Ok(app.clock().now().to_zoned_datetime(zone).date())
}

/// The frame of a page of the desk outside any trip.
fn frame(app: &App, asked: &Asked, crew: &Crew) -> Frame {
    let mut frame = page::frame(app, asked, Place::Desk, Some(crew));
    let bare = asked.path.split('?').next().unwrap_or(&asked.path);
    let office = crew.owns();
    if !crew.works() {
        return frame;
    }
    frame.ways = [
        ("way-day", "/desk", true),
        ("way-month", "/desk/month", true),
        ("way-season", "/desk/season", true),
        ("way-people", "/desk/people", true),
        ("way-boats", "/desk/boats", true),
        ("way-cylinders", "/desk/cylinders", true),
        ("way-sites", "/desk/sites", true),
        ("way-crew", "/desk/crew", true),
        ("way-retention", "/desk/retention", office),
        ("way-units", "/desk/units", office),
        ("way-audit", "/desk/audit", office),
    ]
    .into_iter()
    .filter(|(_, _, shown)| *shown)
    .map(|(key, href, _)| Way {
        label: frame.t.say(key),
        here: bare == href || (href != "/desk" && bare.starts_with(&format!("{href}/"))),
        href: href.to_owned(),
    })
    .collect();
    frame
}

/// An identity that follows from a form's own number and what was typed, so that the same form
/// sent twice names the same thing, and the same page filled in anew another.
fn numbered(fields: &Fields, nth: usize) -> Result<Uuid, Error> {
    let form = super::act::identity(fields)?.uuid().as_u128();
    // The lowest bits tell the events of the form apart.
    let nth = u128::try_from(nth).unwrap_or(0) + 1;
    Ok(Uuid::from_u128(form ^ (nth << 16)))
}

/// A figure in its shortest form, to one decimal.
fn figure(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").unwrap_or(&text).to_owned()
}
