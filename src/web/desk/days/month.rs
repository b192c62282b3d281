//! A month of days with their trips: boat, where it stands, people booked against what the boat
//! carries. Each day leads to all its boats.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::ToSpan;
use jiff::civil::{Date, Weekday};

use super::glance::glance;
use crate::store::TripRow;
use crate::web::app::App;
use crate::web::desk::day::phase_key;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::frame::Frame;
use crate::web::page::{Asked, html};
use crate::words::Words;

#[derive(Template)]
#[template(path = "desk/month.html")]
struct MonthPage {
    frame: Frame,
    title: String,
    before: Option<String>,
    after: Option<String>,
    weekdays: Vec<String>,
    weeks: Vec<Vec<Option<Day>>>,
}

struct Day {
    number: i8,
    /// Weekday and day, for lists without columns.
    named: String,
    href: String,
    today: bool,
    trips: Vec<Booked>,
}

struct Booked {
    href: String,
    boat: String,
    phase: String,
    places: String,
    notes: Vec<String>,
    urgent: bool,
}

/// The way to this month.
pub async fn this(State(app): State<App>, _: Crew) -> Result<Response, Error> {
    let zone = app.centre_zone().await?;
    let today = app.clock().now().to_zoned_datetime(zone).date();
    let to = format!("/desk/month/{}", today.strftime("%Y-%m"));
    Ok(Redirect::to(&to).into_response())
}

/// The page.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(month): Path<String>,
) -> Result<Response, Error> {
    let first = first_of(&month).ok_or(Error::NotFound)?;
    let last = first.last_of_month();
    let frame = crate::web::desk::frame(&app, &asked, &crew);
    let t = frame.t;
    let zone = app.centre_zone().await?;
    let today = app.clock().now().to_zoned_datetime(zone).date();
    let rows = app.store().trips().await?;
    let mut weeks: Vec<Vec<Option<Day>>> = Vec::new();
    let blank = usize::try_from(first.weekday().to_monday_zero_offset()).unwrap_or(0);
    let mut week: Vec<Option<Day>> = (0..blank).map(|_| None).collect();
    for date in first.series(1.day()).take_while(|date| *date <= last) {
        let mut trips = Vec::new();
        for row in rows.iter().filter(|row| row.day == Some(date)) {
            trips.extend(booked(&app, row, t).await?);
        }
        let weekday = t.say(weekday_key(date.weekday()));
        week.push(Some(Day {
            number: date.day(),
            named: format!("{weekday} {}", date.day()),
            href: format!("/desk/day/{date}"),
            today: date == today,
            trips,
        }));
        if date.weekday() == Weekday::Sunday || date == last {
            let rest = 7_usize.saturating_sub(week.len());
            week.extend((0..rest).map(|_| None));
            weeks.push(std::mem::take(&mut week));
        }
    }
    let to =
        |date: Option<Date>| date.map(|date| format!("/desk/month/{}", date.strftime("%Y-%m")));
    html(&MonthPage {
        title: title(first, t),
        before: to(first.checked_sub(1.month()).ok()),
        after: to(first.checked_add(1.month()).ok()),
        weekdays: [
            Weekday::Monday,
            Weekday::Tuesday,
            Weekday::Wednesday,
            Weekday::Thursday,
            Weekday::Friday,
            Weekday::Saturday,
            Weekday::Sunday,
        ]
        .map(|day| t.say(weekday_key(day)))
        .to_vec(),
        weeks,
        frame,
    })
}

/// The first day of a month as addresses write it: `2026-06`.
fn first_of(month: &str) -> Option<Date> {
    let plain = month.len() == 7 && month.is_ascii();
    plain.then(|| format!("{month}-01").parse().ok()).flatten()
}

fn title(first: Date, t: &Words) -> String {
    let name = t.say_with("month-name", &[("n", i64::from(first.month()).into())]);
    let year = first.year().to_string();
    t.say_with(
        "month-title",
        &[("month", name.into()), ("year", year.into())],
    )
}

fn weekday_key(day: Weekday) -> &'static str {
    match day {
        Weekday::Monday => "weekday-monday",
        Weekday::Tuesday => "weekday-tuesday",
        Weekday::Wednesday => "weekday-wednesday",
        Weekday::Thursday => "weekday-thursday",
        Weekday::Friday => "weekday-friday",
        Weekday::Saturday => "weekday-saturday",
        Weekday::Sunday => "weekday-sunday",
    }
}

async fn booked(app: &App, row: &TripRow, t: &Words) -> Result<Option<Booked>, Error> {
    let Some(seen) = glance(app, row).await? else {
        return Ok(None);
    };
    let mut notes = Vec::new();
    if row.drill {
        notes.push(t.say("day-drill"));
    }
    if let Some(out) = seen.out.filter(|out| *out > 0) {
        notes.push(t.say_with("month-out", &[("n", out.into())]));
    }
    let over = seen
        .coming
        .zip(seen.capacity)
        .is_some_and(|(coming, capacity)| coming > capacity as usize);
    if over {
        notes.push(t.say("month-over"));
    }
    let places = seen.coming.zip(seen.capacity).map_or_else(
        || t.say("hidden-while-counting"),
        |(coming, capacity)| {
            let args = [
                ("n", coming.into()),
                ("capacity", i64::from(capacity).into()),
            ];
            t.say_with("month-booked", &args)
        },
    );
    Ok(Some(Booked {
        href: format!("/desk/{}", row.trip),
        boat: row.boat.clone().unwrap_or_default(),
        phase: t.say(phase_key(seen.phase)),
        places,
        notes,
        urgent: seen.alarm,
    }))
}
