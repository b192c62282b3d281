//! All boats of a day on one page: the alerts of each on top, then its groups. It renews itself
//! with the pictures of the trips under way.

use askama::Template;
use axum::extract::State;
use axum::response::Response;
use jiff::ToSpan;
use jiff::civil::Date;

use crate::trip::TripId;
use crate::trip::state::Phase;
use crate::web::app::App;
use crate::web::desk::Here;
use crate::web::desk::day::phase_key;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::frame::Frame;
use crate::web::page::{Asked, html};
use crate::web::parts::{AlertRow, LedgerRow};
use crate::web::view;

use super::glance::glance;

/// Most trips that a page listens to at once: over HTTP/1.1 a browser opens six connections, and
/// forms and other pages need some. The page renews itself for the others every 15 s.
const MOST_STREAMS: usize = 3;

#[derive(Template)]
#[template(path = "desk/one-day.html")]
struct OneDayPage {
    frame: Frame,
    title: String,
    before: Option<String>,
    after: Option<String>,
    month: String,
    boats: Vec<Boat>,
    streams: Vec<String>,
    /// What is said once nothing comes from the box any more.
    old: String,
    still: bool,
    path: String,
    /// It is drawn for a screen that only shows: nothing on it leads anywhere.
    display: bool,
}

/// One boat of the day.
struct Boat {
    id: TripId,
    name: String,
    harbour: String,
    skipper: String,
    phase: String,
    drill: bool,
    booked: String,
    out: Option<usize>,
    alerts: Vec<AlertRow>,
    rows: Vec<LedgerRow>,
}

/// The page.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(day): Path<String>,
) -> Result<Response, Error> {
    let day: Date = day.parse().map_err(|_| Error::NotFound)?;
    let mut frame = crate::web::desk::frame(&app, &asked, &crew);
    let mut boats = Vec::new();
    let mut streams = Vec::new();
    for row in app.store().trips().await? {
        if row.day != Some(day) {
            continue;
        }
        if row.closed {
            boats.extend(closed(&app, &row, &frame, crew.works()).await?);
            continue;
        }
        let here = Here::load(&app, row.trip).await?;
        streams.push(format!("/api/trips/{}/live", row.trip));
        boats.push(under_way(&app, &here, crew.works()));
    }
    // A display is told nothing but its page, which asks for itself.
    let listened = if crew.works() { MOST_STREAMS } else { 0 };
    streams.truncate(listened);
    // Whose people are nearest to danger stands first.
    boats.sort_by_cached_key(|boat| {
        let worst = boat.alerts.first().map(|alert| alert.urgency);
        (std::cmp::Reverse(worst), boat.name.clone(), boat.id)
    });
    frame.alerts = Some(every_alert(&boats));
    "#boats".clone_into(&mut frame.alerts_url);
    let zone = app.centre_zone().await?;
    frame.notices = app.notices().rows("#boats", &zone, frame.t);
    let now = app.clock().now().to_zoned_datetime(zone);
    let to = |date: Result<Date, jiff::Error>| date.ok().map(|date| format!("/desk/day/{date}"));
    html(&OneDayPage {
        title: view::day(day),
        before: to(day.checked_sub(1.day())),
        after: to(day.checked_add(1.day())),
        month: format!("/desk/month/{}", day.strftime("%Y-%m")),
        old: frame.t.say_with(
            "day-not-renewed",
            &[
                ("at", now.strftime("%H:%M:%S").to_string().into()),
                ("zone", now.strftime("%Z").to_string().into()),
            ],
        ),
        streams,
        still: asked.path.contains("still"),
        path: format!("/desk/day/{day}"),
        display: !crew.works(),
        boats,
        frame,
    })
}

/// The alerts of all boats for the strip, worst first, each told with its boat.
fn every_alert(boats: &[Boat]) -> Vec<AlertRow> {
    let of = |boat: &Boat| -> Vec<AlertRow> {
        let told = boat.alerts.iter().map(|alert| AlertRow {
            id: format!("strip-{}", alert.id),
            title: format!("{}: {}", boat.name, alert.title),
            ..alert.clone()
        });
        told.collect()
    };
    let mut all: Vec<AlertRow> = boats.iter().flat_map(of).collect();
    all.sort_by_key(|alert| std::cmp::Reverse(alert.urgency));
    all
}

/// `works`: whether who looks may go on to the trip's own pages.
fn under_way(app: &App, here: &Here, works: bool) -> Boat {
    let (state, t) = (&here.snap.state, here.t);
    let watch = here.snap.watch(here.now);
    let url = |page: &str| {
        if works {
            format!("/desk/{}/{page}", here.trip)
        } else {
            "#boats".to_owned()
        }
    };
    let mut rows = view::ledger(state, &watch, &url("plan"), t);
    view::doubt(&mut rows, app.clock());
    let alerts = view::alert_rows(state, &watch, &url("alerts"), t)
        .into_iter()
        // The same situation may stand on two boats: their elements have names of their own.
        .map(|alert| AlertRow {
            id: format!("{}-{}", here.trip, alert.id),
            ..alert
        });
    let opened = state.opened.as_ref();
    let coming = (!here.is_counting()).then(|| state.coming().count());
    Boat {
        id: here.trip,
        name: opened.map_or_else(String::new, |o| o.boat.name.clone()),
        harbour: opened.map_or_else(String::new, |o| o.harbour.clone()),
        skipper: state.command.name.clone(),
        phase: t.say(phase_key(state.phase)),
        drill: opened.is_some_and(|o| o.drill),
        booked: booked(coming, opened.map(|o| o.boat.capacity), t),
        out: (!here.is_counting()).then_some(watch.out),
        alerts: alerts.collect(),
        rows,
    }
}

fn booked(coming: Option<usize>, capacity: Option<u32>, t: &crate::words::Words) -> String {
    coming.zip(capacity).map_or_else(
        || t.say("hidden-while-counting"),
        |(coming, capacity)| {
            let args = [
                ("n", coming.into()),
                ("capacity", i64::from(capacity).into()),
            ];
            t.say_with("month-booked", &args)
        },
    )
}

/// A closed trip: whoever is still out would have opened it again.
async fn closed(
    app: &App,
    row: &crate::store::TripRow,
    frame: &Frame,
    works: bool,
) -> Result<Option<Boat>, Error> {
    let Some(seen) = glance(app, row).await? else {
        return Ok(None);
    };
    if seen.phase != Phase::Closed {
        // A late word opened it again, and the list does not know yet: look at it as it is.
        let here = Here::load(app, row.trip).await?;
        return Ok(Some(under_way(app, &here, works)));
    }
    Ok(Some(Boat {
        id: row.trip,
        name: row.boat.clone().unwrap_or_default(),
        harbour: row.harbour.clone().unwrap_or_default(),
        skipper: String::new(),
        phase: frame.t.say(phase_key(seen.phase)),
        drill: row.drill,
        booked: booked(seen.coming, seen.capacity, frame.t),
        out: seen.out,
        alerts: Vec::new(),
        rows: Vec::new(),
    }))
}
