//! The day: the trips of today as they stand, other days, and the way to a new one.

use askama::Template;
use axum::extract::State;
use axum::response::Response;

use crate::trip::state::Phase;
use crate::trip::watch::Standing;
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::Crew;
use crate::web::frame::Frame;
use crate::web::page::{Asked, html};
use crate::web::view;

use super::Here;

/// Trips of other days that are listed.
const MOST_LISTED: usize = 60;

#[derive(Template)]
#[template(path = "desk/day.html")]
struct DayPage {
    frame: Frame,
    today: String,
    /// The same as in addresses.
    date: String,
    now: Vec<Live>,
    others: Vec<Other>,
    still: bool,
    /// Checks of equipment that are due: where, and of what.
    checks: Vec<(String, String)>,
}

struct Live {
    id: String,
    boat: String,
    harbour: String,
    day: Option<String>,
    phase: String,
    coming: Option<usize>,
    out: Option<usize>,
    late: usize,
    worst: Option<String>,
    urgent: bool,
}

struct Other {
    id: String,
    boat: String,
    harbour: String,
    day: String,
    closed: bool,
}

/// The page.
pub async fn page(State(app): State<App>, asked: Asked, crew: Crew) -> Result<Response, Error> {
    let frame = super::frame(&app, &asked, &crew);
    let zone = app.centre_zone().await?;
    let today = app.clock().now().to_zoned_datetime(zone).date();
    let mut now = Vec::new();
    let mut others = Vec::new();
    for row in app.store().trips().await? {
        let of_today = row.day == Some(today);
        let is_past = row.day.is_some_and(|day| day < today);
        // A trip of yesterday that nobody closed may still have people out.
        if of_today || (is_past && !row.closed) {
            let here = Here::load(&app, row.trip).await?;
            now.push(live(&here, row.day.filter(|_| !of_today)));
        } else if others.len() < MOST_LISTED {
            others.push(Other {
                id: row.trip.to_string(),
                boat: row.boat.unwrap_or_default(),
                harbour: row.harbour.unwrap_or_default(),
                day: row
                    .day
                    .map_or_else(|| frame.t.say("day-unknown"), view::day),
                closed: row.closed,
            });
        }
    }
    let boats = app.store().boats().await?;
    html(&DayPage {
        checks: super::equipment::of_all(&app, &boats).await?,
        frame,
        today: view::day(today),
        date: today.to_string(),
        now,
        others,
        still: asked.path.contains("still"),
    })
}

fn live(here: &Here, day: Option<jiff::civil::Date>) -> Live {
    let state = &here.snap.state;
    let watch = here.snap.watch(here.now);
    let late = watch
        .rows
        .iter()
        .filter(|row| {
            matches!(
                row.standing,
                Standing::Late | Standing::Overdue | Standing::OutOfGas
            )
        })
        .count();
    let worst = view::alert_rows(state, &watch, "", here.t)
        .into_iter()
        .next();
    Live {
        id: here.trip.to_string(),
        boat: state
            .opened
            .as_ref()
            .map_or_else(String::new, |o| o.boat.name.clone()),
        harbour: state
            .opened
            .as_ref()
            .map_or_else(String::new, |o| o.harbour.clone()),
        day: day.map(view::day),
        phase: here.t.say(phase_key(state.phase)),
        coming: (!here.is_counting()).then(|| state.coming().count()),
        out: (!here.is_counting()).then_some(watch.out),
        late,
        urgent: worst
            .as_ref()
            .is_some_and(|w| w.urgency >= crate::web::parts::Urgency::Alarm),
        worst: worst.map(|w| w.title),
    }
}

/// Key of the word for where a trip stands.
pub(super) fn phase_key(phase: Phase) -> &'static str {
    match phase {
        Phase::AtQuay => "trip-at-quay",
        Phase::UnderWay => "trip-under-way",
        Phase::OnSite => "trip-on-site",
        Phase::Back => "trip-back",
        Phase::Closed => "trip-closed",
    }
}
