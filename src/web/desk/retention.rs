//! How long what is kept of people: the rule, what will be deleted and when, what is held and why.

use std::collections::{BTreeMap, BTreeSet};

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};

use crate::store::crew::AuditKind;
use crate::store::register::{Item, key};
use crate::trip::TripId;
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{Asked, answered};
use crate::web::retention::{Confirmed, Held, Outlook, Rule, is_open, outlook, rule};
use crate::web::view;
use crate::words::Words;

use super::form::Shown;

#[derive(Template)]
#[template(path = "desk/retention.html")]
struct RetentionPage {
    frame: Frame,
    f: Shown,
    /// Who checked the rule, and when; none if nobody did.
    confirmed: Option<String>,
    clock_confirmed: bool,
    looked: Option<String>,
    going: Vec<Going>,
    staying: Vec<(String, String)>,
    asking: Vec<Asking>,
    past: Vec<String>,
}

/// Something on the list.
struct Going {
    name: String,
    what: String,
    over: String,
    not_before: String,
}

/// A trip about which something is open.
struct Asking {
    id: String,
    title: String,
    fault: String,
}

/// The key of the word for a thing that is kept.
pub(super) fn item_key(item: Item) -> &'static str {
    match item {
        Item::Contact => "item-contact",
        Item::Fitness => "item-fitness",
        Item::Entry => "item-entry",
    }
}

/// A trip by boat and day, as far as that is known.
pub(super) fn titled(found: &Outlook, trip: TripId) -> String {
    let known = found.attendance.trips.iter().find(|one| one.trip == trip);
    let named = known.and_then(|one| Some((one.boat.as_str(), one.day?)));
    named.map_or_else(
        || trip.to_string(),
        |(boat, on)| format!("{boat} · {}", view::day(on)),
    )
}

/// What holds something, in words.
pub(super) fn held_words(found: &Outlook, held: Held, t: &Words) -> String {
    let (key, trip) = match held {
        Held::NotOver(trip) => ("held-not-over", trip),
        Held::Asks(trip) => ("held-asks", trip),
        Held::Unread(trip) => ("held-unread", trip),
    };
    t.say_with(key, &[("trip", titled(found, trip).into())])
}

fn shown(app: &App, rule: &Rule) -> Shown {
    Shown::plain(app)
        .with("named", rule.named.as_str())
        .with("contact", rule.contact_days.to_string())
        .with("fitness", rule.fitness_days.to_string())
        .with("entry", rule.entry_days.to_string())
        .with("records", rule.records_years.to_string())
        .with("notice", rule.notice_days.to_string())
}

async fn draw(app: &App, asked: &Asked, crew: &Crew, f: Shown) -> Result<Response, Error> {
    let zone = app.centre_zone().await?;
    let found = outlook(app).await?;
    let mut frame = super::frame(app, asked, crew);
    f.mark(&mut frame);
    let t = frame.t;
    let looked: Option<Timestamp> = app.store().setting(key::RETENTION_RUN).await?;
    let now = app.clock().now();
    let sound = f.faults.is_empty();
    let page = RetentionPage {
        confirmed: found.rule.confirmed.as_ref().map(|confirmed| {
            let args = [
                ("by", confirmed.by.as_str().into()),
                ("day", view::day(confirmed.on).into()),
            ];
            t.say_with("retention-confirmed", &args)
        }),
        clock_confirmed: app.clock().is_confirmed(),
        looked: looked.map(|at| day_and_time(at, &zone)),
        going: going(app, &found, &zone, t).await?,
        staying: staying(&found, t),
        asking: found
            .attendance
            .trips
            .iter()
            .filter(|trip| trip.ended.is_some() && is_open(trip, &found.settled))
            .map(|trip| Asking {
                id: trip.trip.to_string(),
                title: titled(&found, trip.trip),
                fault: f.fault("settle", &trip.trip.to_string()),
            })
            .collect(),
        past: past(&found, now, &zone),
        frame,
        f,
    };
    answered(&page, sound)
}

fn day_and_time(at: Timestamp, zone: &TimeZone) -> String {
    let day = at.to_zoned_datetime(zone.clone()).date();
    format!("{}, {}", view::day(day), view::clock_time(at, zone))
}

/// What stands on the list, and the earliest at which the duty deletes it.
async fn going(
    app: &App,
    found: &Outlook,
    zone: &TimeZone,
    t: &Words,
) -> Result<Vec<Going>, Error> {
    let notice = SignedDuration::from_hours(24 * i64::from(found.rule.notice_days));
    let mut going = Vec::new();
    for one in app.store().listed().await? {
        let ahead = found
            .ahead
            .iter()
            .find(|ahead| (ahead.person, ahead.item) == (one.person, one.item));
        let Some(ahead) = ahead else {
            continue;
        };
        let told = one
            .listed_at
            .saturating_add(notice)
            .unwrap_or(Timestamp::MAX);
        going.push(Going {
            name: ahead.name.clone(),
            what: t.say(item_key(one.item)),
            over: day_and_time(ahead.due_at, zone),
            not_before: match ahead.held {
                Some(held) => held_words(found, held, t),
                None if !found.rule.deletes(one.item) => t.say("retention-unchecked-entry"),
                None => day_and_time(told.max(ahead.due_at), zone),
            },
        });
    }
    Ok(going)
}

/// Why things are held, each with everybody whose they are.
fn staying(found: &Outlook, t: &Words) -> Vec<(String, String)> {
    let mut staying: BTreeMap<String, BTreeSet<&str>> = BTreeMap::new();
    for one in &found.ahead {
        if let Some(held) = one.held {
            let why = held_words(found, held, t);
            staying.entry(why).or_default().insert(&one.name);
        }
    }
    let names = |names: BTreeSet<&str>| names.into_iter().collect::<Vec<_>>().join(", ");
    staying
        .into_iter()
        .map(|(why, of)| (why, names(of)))
        .collect()
}

/// Trips whose records the rule no longer asks for. The box does not take logs out by itself.
fn past(found: &Outlook, now: Timestamp, zone: &TimeZone) -> Vec<String> {
    let today = now.to_zoned_datetime(zone.clone()).date();
    let years = i64::from(found.rule.records_years);
    found
        .attendance
        .trips
        .iter()
        .filter(|trip| {
            let until = trip
                .day
                .and_then(|day| day.checked_add(jiff::Span::new().years(years)).ok());
            until.is_some_and(|until| until < today)
        })
        .map(|trip| titled(found, trip.trip))
        .collect()
}

/// The page.
pub async fn page(State(app): State<App>, asked: Asked, crew: Crew) -> Result<Response, Error> {
    let f = shown(&app, &rule(&app).await?);
    draw(&app, &asked, &crew, f).await
}

/// Changes the rule. What that brings to an end is listed anew before it is deleted.
pub async fn save(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    fields: Fields,
) -> Result<Response, Error> {
    let named = fields.optional_text("named", 120);
    let contact = fields.whole("contact", Rule::MOST_DAYS);
    let fitness = fields.whole("fitness", Rule::MOST_DAYS);
    let entry = fields.whole("entry", Rule::MOST_DAYS);
    let records = fields.whole("records", Rule::MOST_YEARS);
    let notice = fields.whole("notice", Rule::MOST_NOTICE);
    if notice == Some(0) {
        fields.fault("notice", "fault-notice", &[]);
    }
    if let (Some(entry), Some(contact), Some(fitness)) = (entry, contact, fitness)
        && entry < contact.max(fitness)
    {
        // The entry takes both along.
        fields.fault("entry", "fault-entry-first", &[]);
    }
    let checked = fields.ticked("checked");
    if checked && fields.typed("named").is_empty() {
        fields.fault("named", "fault-rule-named", &[]);
    }
    let (Some(named), Some(contact), Some(fitness), Some(entry), Some(records), Some(notice), true) = (
        named,
        contact,
        fitness,
        entry,
        records,
        notice,
        fields.is_sound(),
    ) else {
        let f = Shown::plain(&app).refused(&fields, fields.faults());
        return draw(&app, &asked, &crew, f).await;
    };
    let today = {
        let zone = app.centre_zone().await?;
        app.clock().now().to_zoned_datetime(zone).date()
    };
    let rule = Rule {
        named: one_line(&named.unwrap_or_default()),
        contact_days: contact,
        fitness_days: fitness,
        entry_days: entry,
        records_years: records,
        notice_days: notice,
        confirmed: checked.then(|| Confirmed {
            by: crew.0.name.clone(),
            on: today,
        }),
    };
    let what = format!(
        "set the rule '{}': contacts {contact} days, fitness {fitness} days, entries {entry} days, \
         records {records} years, notice {notice} days, {}",
        rule.named,
        if checked {
            "checked against the local code"
        } else {
            "not checked"
        }
    );
    app.store()
        .audit_of(super::doer(&crew), AuditKind::Retention, &what)
        .await?;
    app.store().set_setting(key::RETENTION, &rule).await?;
    Ok(Redirect::to("/desk/retention").into_response())
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Says that nothing is open any more about a trip.
pub async fn settle(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
    fields: Fields,
) -> Result<Response, Error> {
    let found = outlook(&app).await?;
    let known = found.attendance.trips.iter().find(|one| one.trip == trip);
    let known = known.ok_or(Error::NoSuchTrip)?;
    if known.ended.is_none() {
        fields.fault("reason", "fault-trip-not-over", &[]);
    }
    let why = fields.text("reason", 200).map(|why| one_line(&why));
    let (Some(why), true) = (why, fields.is_sound()) else {
        let mut faults = fields.faults();
        for fault in &mut faults {
            fault.field = format!("settle-{trip}");
        }
        let mut f = shown(&app, &found.rule);
        f.faults = faults;
        return draw(&app, &asked, &crew, f).await;
    };
    app.store()
        .settle_incident(trip, known.entry, super::doer(&crew), &why)
        .await?;
    Ok(Redirect::to("/desk/retention").into_response())
}
