//! The tides of a site: its stream table and high waters, and what they tell of a day.

pub(super) mod read;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::sea::stream::Tides;
use crate::store::register::Site;
use crate::trip::SiteId;
use crate::units::{Faults, Knots, SetTowards};
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::frame::Frame;
use crate::web::page::{Asked, answered, html};
use crate::web::view;
use crate::words::Words;

use super::form::Shown;
use crate::web::upload::{Sent, Upload};
use read::{HOURS, field};

/// Largest file, bytes: half a year of high waters needs a twentieth of it.
const LARGEST: usize = 512 * 1024;

#[derive(Template)]
#[template(path = "desk/tides.html")]
struct TidesPage {
    frame: Frame,
    heading: String,
    url: String,
    zone: String,
    f: Shown,
    hours: Vec<HourRow>,
    day: String,
    preview: Vec<Told>,
}

/// One hour of the table as its fields.
struct HourRow {
    nth: i16,
    label: String,
}

impl HourRow {
    /// The name of one of its fields.
    fn field(&self, of: &str) -> String {
        format!("{of}-{}", self.nth)
    }

    /// What a field of it is called.
    fn of(&self, what: &str) -> String {
        format!("{} {what}", self.label)
    }
}

/// The stream at one hour of the day.
struct Told {
    time: String,
    set: String,
    rate: String,
}

fn zone_of(site: &Site) -> Result<TimeZone, Error> {
    // Held against the zone database when it was saved, which may have been another's.
    TimeZone::get(&site.time_zone).map_err(|cause| {
        Faults::one(
            "time_zone",
            cause.to_string(),
            "a time zone of the zone database",
        )
        .into()
    })
}

/// The stream hour by hour over a day of the site.
fn over(tides: &Tides, day: Date, zone: &TimeZone, t: &Words) -> Vec<Told> {
    (0..24_i8)
        .filter_map(|hour| {
            let local = day.at(hour, 0, 0, 0);
            let at = zone
                .to_ambiguous_zoned_datetime(local)
                .unambiguous()
                .ok()?
                .timestamp();
            let (set, rate) = match tides.at(at) {
                Ok(stream) => (
                    view::degrees(stream.velocity.course_deg()),
                    format!("{:.1}\u{a0}kn", stream.velocity.speed_kn()),
                ),
                Err(why) => (
                    t.say_with("tides-not-told", &[("why", why.to_string().into())]),
                    String::new(),
                ),
            };
            Some(Told {
                time: view::clock_time(at, zone),
                set,
                rate,
            })
        })
        .collect()
}

fn filled(f: Shown, tides: &Tides, zone: &TimeZone) -> Shown {
    let table = tides.table();
    let mut f = f
        .with("spring_range", table.spring_range_m().to_string())
        .with("neap_range", table.neap_range_m().to_string());
    for row in table.rows() {
        f = f
            .with(
                &field("set", row.hour),
                SetTowards::deg(row.set).to_string(),
            )
            .with(
                &field("spring", row.hour),
                Knots::kn(row.spring).to_string(),
            )
            .with(&field("neap", row.hour), Knots::kn(row.neap).to_string());
    }
    let lines: Vec<String> = tides
        .high_waters()
        .iter()
        .map(|tide| {
            let at = view::with_offset(tide.at, zone);
            format!("{at}; {}", tide.range_m)
        })
        .collect();
    f.with("high_waters", lines.join("\n"))
}

struct Shows<'a> {
    site: &'a Site,
    zone: &'a TimeZone,
    tides: Option<&'a Tides>,
    day: Date,
    f: Shown,
}

fn draw(app: &App, asked: &Asked, crew: &Crew, shows: Shows<'_>) -> TidesPage {
    let mut frame = super::frame(app, asked, crew);
    let Shows {
        site,
        zone,
        tides,
        day,
        f,
    } = shows;
    f.mark(&mut frame);
    let t = frame.t;
    let hours = HOURS.map(|hour| HourRow {
        nth: i16::from(hour) + 6,
        label: match hour {
            0 => t.say("tides-at-high-water"),
            before if before < 0 => t.say_with("tides-before", &[("n", i64::from(-before).into())]),
            after => t.say_with("tides-after", &[("n", i64::from(after).into())]),
        },
    });
    TidesPage {
        heading: t.say_with("tides-title", &[("site", site.name.as_str().into())]),
        url: format!("/desk/sites/{}", site.id),
        zone: site.time_zone.clone(),
        hours: hours.collect(),
        day: view::day(day),
        preview: tides.map_or_else(Vec::new, |tides| over(tides, day, zone, t)),
        frame,
        f,
    }
}

/// The day that is looked at first: that of the first high water to come, else of the last.
fn first_day(app: &App, tides: Option<&Tides>, zone: &TimeZone) -> Date {
    let now = app.clock().now();
    let waters = tides.map_or(&[][..], Tides::high_waters);
    let next = waters.iter().find(|tide| tide.at >= now);
    let at = next.or(waters.last()).map_or(now, |tide| tide.at);
    at.to_zoned_datetime(zone.clone()).date()
}

/// The tides as they are held.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<SiteId>,
) -> Result<Response, Error> {
    let site = super::chart::site(&app, id).await?;
    let zone = zone_of(&site)?;
    let tides = site.tides.as_ref();
    let f = Shown::plain(&app);
    let f = match tides {
        Some(tides) => filled(f, tides, &zone),
        None => f,
    };
    let shows = Shows {
        site: &site,
        zone: &zone,
        tides,
        day: first_day(&app, tides, &zone),
        f,
    };
    html(&draw(&app, &asked, &crew, shows))
}

/// Keeps the tides, whole or not at all; `do=check` only shows what they tell of a day.
pub async fn save(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<SiteId>,
    form: Sent,
) -> Result<Response, Error> {
    let mut site = super::chart::site(&app, id).await?;
    let zone = zone_of(&site)?;
    let sent = Upload::read(form, LARGEST).await?;
    let fields = sent.fields(&[("table_file", "table"), ("high_waters_file", "high_waters")])?;
    let tides = read::told(&fields, &zone);
    let day = match fields.typed("day") {
        "" => first_day(&app, tides.as_ref(), &zone),
        text => text.parse().unwrap_or_else(|_| {
            fields.fault("day", "tides-day", &[]);
            first_day(&app, tides.as_ref(), &zone)
        }),
    };
    let checks = fields.typed("do") == "check";
    if fields.is_sound() && !checks {
        site.tides = tides;
        app.store().save_site(&site).await?;
        return Ok(Redirect::to(&format!("/desk/sites/{id}/tides")).into_response());
    }
    let is_sound = fields.is_sound();
    let shown = Shown::plain(&app).refused(&fields, fields.faults());
    let shows = Shows {
        site: &site,
        zone: &zone,
        tides: tides.as_ref(),
        day,
        f: shown,
    };
    let page = draw(&app, &asked, &crew, shows);
    answered(&page, is_sound)
}
