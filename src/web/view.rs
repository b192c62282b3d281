//! The trip as pages show it: rows, alerts and reasons in words, times in the boat's zone.

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::marker::Mark;
use super::parts::{AlertRow, AlertState, Figure, Instants, LedgerRow, Phase, Urgency};
use super::rail::Rail;
use crate::clock::Clock;
use crate::dive::findings;
use crate::dive::plan::Stop;
use crate::trip::dives::ComingUp;
use crate::trip::event::{BeaconSort, Entry, EventId, LevelPlan, PlanSheet, PositionSource};
use crate::trip::state::{Place, State, waiting};
use crate::trip::watch::{self, Alert, Cause, Priority, Row, Standing, Watch, Why};
use crate::words::{Arg, Words};

/// The zone times are shown in.
#[must_use]
pub fn zone(state: &State) -> TimeZone {
    state
        .opened
        .as_ref()
        .and_then(|opened| TimeZone::get(&opened.time_zone).ok())
        .unwrap_or(TimeZone::UTC)
}

/// `18 m 20 min, 10 m 15 min`.
#[must_use]
pub fn levels(plan: &PlanSheet, t: &Words) -> String {
    let level = |level: &LevelPlan| {
        let args = [
            ("depth", level.depth_m.m().into()),
            ("minutes", level.minutes.min().into()),
        ];
        t.say_with("dive-level", &args)
    };
    let levels: Vec<String> = plan.levels.iter().map(level).collect();
    levels.join(", ")
}

/// `14:05`.
#[must_use]
pub fn clock_time(at: Timestamp, zone: &TimeZone) -> String {
    at.to_zoned_datetime(zone.clone())
        .strftime("%H:%M")
        .to_string()
}

/// RFC 3339 with the boat's offset.
#[must_use]
pub fn with_offset(at: Timestamp, zone: &TimeZone) -> String {
    at.to_zoned_datetime(zone.clone())
        .strftime("%Y-%m-%dT%H:%M:%S%:z")
        .to_string()
}

/// `4 May 2026`.
#[must_use]
pub fn day(date: jiff::civil::Date) -> String {
    let words = super::language::words();
    let args = [
        ("day", i64::from(date.day()).into()),
        (
            "month",
            words.say(&format!("month-{}", date.month())).into(),
        ),
        // A text: a number would be set with separators in some languages.
        ("year", date.year().to_string().into()),
    ];
    words.say_with("day-in-words", &args)
}

/// A course or bearing as it is spoken: three figures, degrees true.
#[must_use]
pub fn degrees(deg: f64) -> String {
    let whole = deg.rem_euclid(360.0).round() % 360.0;
    let args = [("degrees", format!("{whole:03.0}").into())];
    super::language::words().say_with("degrees-true", &args)
}

/// A distance on the water, rounded to what anybody can judge by eye.
#[must_use]
pub fn metres(m: f64) -> String {
    super::language::words().distance(m)
}

/// A distance that has to be kept: never told shorter than it is.
#[must_use]
pub fn metres_to_keep(m: f64) -> String {
    super::language::words().distance_to_keep(m)
}

/// The marker of a group letter.
#[must_use]
pub fn mark(letter: &str) -> Option<Mark> {
    letter.chars().next().and_then(Mark::by_letter)
}

/// `Delta`.
#[must_use]
pub fn spoken(letter: &str) -> String {
    mark(letter).map_or_else(|| letter.to_owned(), |mark| mark.spoken())
}

/// Names in a row: `Lind, Okoro and Sato`.
#[must_use]
pub fn names(names: &[String], t: &Words) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => t.say_with(
            "names-and",
            &[
                ("most", most.join(", ").into()),
                ("last", last.as_str().into()),
            ],
        ),
    }
}

/// A priority as the look names it.
#[must_use]
pub fn urgency(priority: Priority) -> Urgency {
    match priority {
        Priority::Emergency => Urgency::Emergency,
        Priority::Alarm => Urgency::Alarm,
        Priority::Warning => Urgency::Warning,
        Priority::Caution => Urgency::Caution,
    }
}

fn life(state: watch::AlertState) -> AlertState {
    match state {
        watch::AlertState::Active => AlertState::Active,
        watch::AlertState::Silenced => AlertState::Silenced,
        watch::AlertState::Acknowledged => AlertState::Acknowledged,
        watch::AlertState::ResolvedUnacknowledged => AlertState::Resolved,
    }
}

/// The alerts of the strip, worst first.
#[must_use]
pub fn alert_rows(state: &State, watch: &Watch, url: &str, t: &Words) -> Vec<AlertRow> {
    watch
        .alerts
        .iter()
        .map(|alert| alert_row(state, alert, watch.at, url, t))
        .collect()
}

/// One alert.
#[must_use]
pub fn alert_row(state: &State, alert: &Alert, now: Timestamp, url: &str, t: &Words) -> AlertRow {
    let letter = alert
        .group
        .and_then(|id| state.groups.get(&id))
        .map(|group| group.formed.letter.clone());
    let zone = zone(state);
    let id: String = alert
        .key
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() { c } else { '-' })
        .collect();
    AlertRow {
        href: format!("{url}#alert-{id}"),
        id,
        urgency: urgency(alert.priority),
        state: life(alert.state),
        mark: letter.as_deref().and_then(mark),
        title: alert_title(state, alert, t),
        detail: alert_detail(alert, now, &zone, t),
        since_rfc3339: alert.since.to_string(),
        quiet_until_rfc3339: alert.quiet_until.map(|until| until.to_string()),
    }
}

/// What is the matter, in one short sentence.
#[must_use]
pub fn alert_title(state: &State, alert: &Alert, t: &Words) -> String {
    let group = alert
        .group
        .and_then(|id| state.groups.get(&id))
        .map_or_else(String::new, |group| spoken(&group.formed.letter));
    let people = |who: &[String]| people(who, &group, state.is_counting(), t);
    let say = |key: &str, args: &[(&str, Arg)]| t.say_with(key, args);
    match &alert.cause {
        Cause::Late => say("alert-late", &[("group", group.into())]),
        Cause::Overdue => say("alert-overdue", &[("group", group.into())]),
        Cause::OutOfGas => say("alert-out-of-gas", &[("group", group.into())]),
        Cause::Beacon {
            identity,
            sort,
            test,
        } => {
            let key = if *test {
                "alert-beacon-test"
            } else {
                "alert-beacon"
            };
            say(key, &[("beacon", beacon_name(*sort, identity, t).into())])
        }
        Cause::YellowBuoy => say("alert-yellow-buoy", &[("group", group.into())]),
        Cause::PartnerOverdue { down } => say(
            "alert-partner",
            &[("group", group.into()), ("names", names(down, t).into())],
        ),
        Cause::LostContact { with } => say(
            "alert-lost-contact",
            &[("group", group.into()), ("names", names(with, t).into())],
        ),
        Cause::Distress { names: who } => say("alert-distress", &[("names", people(who).into())]),
        Cause::Missing { names: who } => say("alert-missing", &[("names", people(who).into())]),
        Cause::Unresolved { name } => say("alert-unresolved", &[("name", name.into())]),
        Cause::Emergency { reason } => say("alert-emergency", &[("reason", reason.into())]),
        Cause::CountDiffers => t.say("alert-count-differs"),
        Cause::CountFailed { at_site: true } => t.say("alert-count-failed-site"),
        Cause::CountFailed { at_site: false } => t.say("alert-count-failed-quay"),
        Cause::Reopened => t.say("alert-reopened"),
        Cause::NoLookout => t.say("alert-no-lookout"),
        Cause::LookoutRelief { name } => say("alert-lookout-relief", &[("name", name.into())]),
        Cause::CurrentOld => t.say("alert-current-old"),
        Cause::Unread => t.say("alert-unread"),
        Cause::Gap => t.say("alert-gap"),
    }
}

/// One by name; more of a group by its letter and their number, to be read at a glance; while
/// others count blind, by name too.
fn people(who: &[String], group: &str, counting: bool, t: &Words) -> String {
    if counting || who.len() < 2 || group.is_empty() {
        return names(who, t);
    }
    let count = t.say_with("count-people", &[("n", who.len().into())]);
    format!("{group}, {count}")
}

/// What to do, or who has seen it, and since when.
fn alert_detail(alert: &Alert, now: Timestamp, zone: &TimeZone, t: &Words) -> String {
    let since = clock_time(alert.since, zone);
    if let Some(seen) = &alert.acknowledged {
        let args = [("by", Arg::from(&seen.by)), ("since", since.into())];
        return t.say_with("alert-seen-by", &args);
    }
    if let Some(until) = alert.until {
        return t.say_with("alert-over-at", &[("at", clock_time(until, zone).into())]);
    }
    let minutes = watch_minutes(alert.since, now);
    let action = match &alert.cause {
        Cause::Late => "alert-do-late",
        Cause::Overdue
        | Cause::OutOfGas
        | Cause::PartnerOverdue { .. }
        | Cause::LostContact { .. } => "alert-do-overdue",
        Cause::Beacon { test: false, .. } => "alert-do-beacon",
        Cause::Beacon { test: true, .. } => "alert-do-beacon-test",
        Cause::YellowBuoy | Cause::Distress { .. } => "alert-do-distress",
        Cause::Missing { .. } | Cause::Emergency { .. } => "alert-do-emergency",
        Cause::Unresolved { .. } => "alert-do-unresolved",
        Cause::CountDiffers => "alert-do-recount",
        Cause::CountFailed { .. } => "alert-do-count-failed",
        Cause::Reopened => "alert-do-reopened",
        Cause::NoLookout | Cause::LookoutRelief { .. } => "alert-do-lookout",
        Cause::CurrentOld => "alert-do-current",
        Cause::Unread | Cause::Gap => "alert-do-doubt",
    };
    let action = t.say(action);
    t.say_with(
        "alert-since",
        &[
            ("since", since.into()),
            ("minutes", minutes.into()),
            ("do", action.into()),
        ],
    )
}

/// `Person-overboard beacon 972123456`.
#[must_use]
pub fn beacon_name(sort: BeaconSort, identity: &str, t: &Words) -> String {
    let key = match sort {
        BeaconSort::Locator => "beacon-locator",
        BeaconSort::Person => "beacon-person",
        BeaconSort::Epirb => "beacon-epirb",
    };
    t.say_with(key, &[("identity", identity.into())])
}

/// Key of the words for where a position came from.
#[must_use]
pub fn source_key(source: PositionSource) -> &'static str {
    match source {
        PositionSource::Typed => "position-typed",
        PositionSource::Instruments => "position-by-instruments",
        PositionSource::Device => "position-by-device",
    }
}

/// Minutes from one instant to another, rounded towards zero.
#[must_use]
pub fn watch_minutes(from: Timestamp, to: Timestamp) -> i64 {
    to.duration_since(from).as_mins()
}

/// The ledger: every group of the dive, whoever needs attention first at the top. `url`: what
/// stands before a group's identity.
#[must_use]
pub fn ledger(state: &State, watch: &Watch, url: &str, t: &Words) -> Vec<LedgerRow> {
    watch
        .rows
        .iter()
        .filter_map(|row| ledger_row(state, row, watch.at, url, t))
        .collect()
}

/// Marks what would be in time by a clock that nobody confirmed: to be checked now. What is late or
/// overdue by it stays so.
pub fn doubt(rows: &mut [LedgerRow], clock: &Clock) {
    if clock.is_confirmed() {
        return;
    }
    for row in rows {
        if matches!(row.phase, Phase::Down | Phase::Window | Phase::Due) {
            row.check_now = true;
            row.urgency = Urgency::Warning;
        }
    }
}

fn ledger_row(state: &State, row: &Row, now: Timestamp, url: &str, t: &Words) -> Option<LedgerRow> {
    let zone = zone(state);
    let phase = phase(row);
    let by_time_alone = matches!(
        phase,
        Phase::Down | Phase::Window | Phase::Due | Phase::Late | Phase::Overdue
    );
    let instants = row.deadlines.filter(|_| by_time_alone).map(|d| Instants {
        earliest: d.earliest.to_string(),
        expected: d.expected.to_string(),
        latest: d.latest.to_string(),
        overdue: d.overdue.to_string(),
    });
    Some(LedgerRow {
        id: row.group.to_string(),
        href: format!("{url}/{}", row.group),
        mark: mark(&row.letter)?,
        who: who(row, state.is_counting(), t),
        why: short_why(row, t),
        stops: stop_lines(row, &zone, t)
            .into_iter()
            .next()
            .unwrap_or_default(),
        phase,
        urgency: row_urgency(row.standing),
        figure: figure(row, phase, now, &zone, t),
        rail: rail(row, now),
        check_now: false,
        instants,
        now_rfc3339: with_offset(now, &zone),
    })
}

/// How far a group is, in the look's words.
#[must_use]
pub fn phase(row: &Row) -> Phase {
    match row.standing {
        Standing::Distress => Phase::Distress,
        Standing::Missing => Phase::Missing,
        Standing::LostContact | Standing::OutOfGas | Standing::Overdue => Phase::Overdue,
        Standing::PartnerOverdue | Standing::PartnerClock => Phase::Split,
        Standing::Unresolved => Phase::Unresolved,
        Standing::Late => Phase::Late,
        Standing::AtSurface if row.up < row.members.len() => Phase::Split,
        Standing::AtSurface => Phase::Surface,
        Standing::BuoyUp => Phase::Buoy,
        Standing::Due => Phase::Due,
        Standing::InWindow => Phase::Window,
        Standing::InWater => Phase::Down,
        Standing::Ready | Standing::Planned => Phase::Ready,
        Standing::Back => Phase::Aboard,
    }
}

/// The inked area of a row follows its worst alert.
#[must_use]
pub fn row_urgency(standing: Standing) -> Urgency {
    match standing {
        Standing::Distress | Standing::Missing => Urgency::Emergency,
        Standing::LostContact
        | Standing::OutOfGas
        | Standing::Overdue
        | Standing::PartnerOverdue => Urgency::Alarm,
        Standing::Unresolved | Standing::Late => Urgency::Warning,
        Standing::PartnerClock
        | Standing::AtSurface
        | Standing::BuoyUp
        | Standing::Due
        | Standing::InWindow
        | Standing::InWater
        | Standing::Ready
        | Standing::Planned
        | Standing::Back => Urgency::None,
    }
}

/// What the row's word and figure do not say already, in a few words; the group's page has all.
fn short_why(row: &Row, t: &Words) -> String {
    let families = |who: &[String]| -> String {
        let who: Vec<String> = who.iter().map(|name| family(name).to_owned()).collect();
        names(&who, t)
    };
    let short = |why: &Why| match why {
        Why::Distress { names: who } if who.len() == row.members.len() => {
            Some(t.say("short-distress-all"))
        }
        Why::Distress { names: who } => {
            Some(t.say_with("why-distress", &[("names", families(who).into())]))
        }
        Why::Missing { names: who } => {
            Some(t.say_with("why-missing", &[("names", families(who).into())]))
        }
        Why::LostContact { with, .. } => {
            Some(t.say_with("short-lost-contact", &[("names", families(with).into())]))
        }
        Why::PartnerUp { up, down, .. } => Some(t.say_with(
            "short-partner",
            &[("up", families(up).into()), ("down", families(down).into())],
        )),
        Why::Unresolved { name, said } => {
            let mut places: Vec<String> = said
                .iter()
                .map(|(place, _, _)| t.say(place_key(*place)))
                .collect();
            places.dedup();
            let args = [
                ("name", family(name).into()),
                ("places", places.join(" / ").into()),
            ];
            Some(t.say_with("short-unresolved", &args))
        }
        Why::BuoyOnly { .. }
        | Why::YellowBuoy
        | Why::OthersWell { .. }
        | Why::CurrentShortens { .. }
        | Why::ExtensionIgnored
        | Why::FormedApart
        | Why::GivenMoreTime { .. } => Some(why_words(why, t)),
        Why::OutOfGas { .. } => Some(t.say("short-out-of-gas")),
        Why::Overdue { .. }
        | Why::Late { .. }
        | Why::AtSurface { .. }
        | Why::Due { .. }
        | Why::Expected { .. }
        | Why::InWindow { .. } => None,
    };
    row.why.iter().find_map(short).unwrap_or_default()
}

/// What is reckoned of a group's way up, whatever matters most first: since a recall, if it
/// stays longer than planned, as its plan was.
#[must_use]
pub fn stop_lines(row: &Row, zone: &TimeZone, t: &Words) -> Vec<String> {
    let recalled = row.recalled.as_ref().map(|since| {
        let at = ("at", clock_time(since.at, zone).into());
        let up = ("up", coming_time(&since.coming, zone).into());
        let stops = held_words(&since.coming, t);
        if stops.is_empty() {
            t.say_with("stops-recalled-none", &[at, up])
        } else {
            t.say_with("stops-recalled", &[at, up, ("stops", stops.into())])
        }
    });
    let longer = row.longer.as_ref().map(|coming| {
        let up = ("up", coming_time(coming, zone).into());
        match owed_words(coming, t) {
            Some(owed) => t.say_with("stops-longer", &[up, ("stops", owed.into())]),
            None => t.say_with("stops-longer-none", &[up]),
        }
    });
    let owes = stops_owed(row, t).map(|owed| t.say_with("stops-owed", &[("stops", owed.into())]));
    // Past the expected time what a recall brought is history, if it is over by then.
    let (first, second) = if row.longer.is_some() {
        (longer, recalled)
    } else {
        (recalled, longer)
    };
    [first, second, owes].into_iter().flatten().collect()
}

/// When a group is up at the earliest: the minute that has then begun, never the one before.
#[must_use]
pub fn coming_time(coming: &ComingUp, zone: &TimeZone) -> String {
    clock_time(coming.up_by_minute(), zone)
}

/// Stops of a way up: those owed, else the safety stop.
#[must_use]
pub fn held_words(coming: &ComingUp, t: &Words) -> String {
    owed_words(coming, t).map_or_else(
        || {
            let held: Vec<Stop> = coming.stops.iter().map(|held| held.stop).collect();
            findings::say_stops(&held, t)
        },
        |owed| t.say_with("stops-owed", &[("stops", owed.into())]),
    )
}

/// Stops that the plan owed at the drop, while members are down.
#[must_use]
pub fn stops_owed(row: &Row, t: &Words) -> Option<String> {
    let each = row.owes.iter().map(|s| (s.depth_m.m(), s.minutes.min()));
    (!row.owes.is_empty()).then(|| findings::say_each_stop(each, t))
}

fn owed_words(coming: &ComingUp, t: &Words) -> Option<String> {
    let owed = coming.owed();
    (!owed.is_empty()).then(|| findings::say_stops(&owed, t))
}

/// `3 of 4 at the surface · Lind, Okoro, Sato, Weiss`: persons are counted, not groups; while
/// others count blind, the names alone.
fn who(row: &Row, counting: bool, t: &Words) -> String {
    let all: Vec<&str> = row.members.iter().map(|m| family(&m.name)).collect();
    if counting {
        return all.join(", ");
    }
    let of = row.members.len();
    let count = if row.at_surface > 0 {
        t.say_with(
            "count-at-surface",
            &[("n", row.at_surface.into()), ("of", of.into())],
        )
    } else if row.accounted > 0 && row.accounted < of {
        t.say_with(
            "count-aboard",
            &[("n", row.accounted.into()), ("of", of.into())],
        )
    } else {
        t.say_with("count-people", &[("n", of.into())])
    };
    format!("{count} · {}", all.join(", "))
}

/// The last word of a name, to keep a row short; the group's page has the whole.
fn family(name: &str) -> &str {
    name.rsplit(char::is_whitespace).next().unwrap_or(name)
}

fn figure(row: &Row, phase: Phase, now: Timestamp, zone: &TimeZone, t: &Words) -> Figure {
    let still = |caption: &str, value: String| Figure {
        caption: t.say(caption),
        value,
        unit: String::new(),
        counts_to: None,
    };
    let Some(d) = row.deadlines else {
        return still(
            "run-time",
            format!("{:.0}\u{a0}min", row.run_time_min.ceil()),
        );
    };
    let counting = |caption: &str, to: Timestamp| {
        let minutes = watch_minutes(now, to).abs();
        Figure {
            caption: t.say(caption),
            value: minutes.to_string(),
            unit: t.say("minutes-short"),
            counts_to: Some(to.to_string()),
        }
    };
    match phase {
        Phase::Aboard => {
            let up = row.members.iter().map(|m| m.since).max().unwrap_or(now);
            still("back-at", clock_time(up, zone))
        }
        Phase::Down | Phase::Window => counting("due-in", d.expected),
        Phase::Due => counting("late-in", d.latest),
        Phase::Late => counting("overdue-in", d.overdue),
        Phase::Split if row.partner_until.is_some() => {
            let until = row.partner_until.unwrap_or(d.overdue);
            let caption = if until <= now {
                "partner-over"
            } else {
                "partner-in"
            };
            counting(caption, until)
        }
        Phase::Surface | Phase::Split | Phase::Distress => {
            let up = row
                .members
                .iter()
                .filter(|m| m.place == Place::AtSurface)
                .map(|m| m.since)
                .min();
            counting("waiting-for", up.unwrap_or(now))
        }
        Phase::Overdue => counting("overdue-for", d.overdue),
        Phase::Buoy | Phase::Unresolved | Phase::Missing | Phase::Ready => {
            if now < d.expected {
                counting("due-in", d.expected)
            } else if now < d.overdue {
                counting("overdue-in", d.overdue)
            } else {
                counting("overdue-for", d.overdue)
            }
        }
    }
}

fn rail(row: &Row, now: Timestamp) -> Option<Rail> {
    let (entered, d) = (row.entered_at?, row.deadlines?);
    let minutes = |at: Timestamp| at.duration_since(now).as_secs_f64() / 60.0;
    let all_up = row.up == row.members.len();
    let last = row.members.iter().map(|m| m.since).max().filter(|_| all_up);
    Some(Rail {
        entry_min: minutes(entered),
        earliest_min: minutes(d.earliest),
        expected_min: minutes(d.expected),
        latest_min: minutes(d.latest),
        overdue_min: minutes(d.overdue),
        surfaced_min: last.map(minutes),
    })
}

/// A reason in words.
#[must_use]
pub fn why_words(why: &Why, t: &Words) -> String {
    let say = |key: &str, args: &[(&str, Arg)]| t.say_with(key, args);
    match why {
        Why::Distress { names: who } => say("why-distress", &[("names", names(who, t).into())]),
        Why::Missing { names: who } => say("why-missing", &[("names", names(who, t).into())]),
        Why::LostContact { said_by, with } => say(
            "why-lost-contact",
            &[("by", said_by.into()), ("names", names(with, t).into())],
        ),
        Why::OutOfGas { minutes } => say("why-out-of-gas", &[("minutes", minutes.into())]),
        Why::Overdue { minutes } => say("why-overdue", &[("minutes", minutes.into())]),
        Why::Late {
            minutes,
            overdue_in,
        } => say(
            "why-late",
            &[("minutes", minutes.into()), ("overdue", overdue_in.into())],
        ),
        Why::PartnerUp { up, down, left } if *left < 0 => say(
            "why-partner-over",
            &[("up", names(up, t).into()), ("down", names(down, t).into())],
        ),
        Why::PartnerUp { up, down, left } => say(
            "why-partner",
            &[
                ("up", names(up, t).into()),
                ("down", names(down, t).into()),
                ("left", left.into()),
            ],
        ),
        Why::OthersWell { said_by } => say("why-others-well", &[("by", said_by.into())]),
        Why::Unresolved { name, said } => {
            let said: Vec<String> = said
                .iter()
                .map(|(place, by, minutes)| {
                    let place = t.say(place_key(*place));
                    let args = [
                        ("place", place.into()),
                        ("by", by.into()),
                        ("minutes", minutes.into()),
                    ];
                    say("why-said", &args)
                })
                .collect();
            say(
                "why-unresolved",
                &[("name", name.into()), ("said", said.join("; ").into())],
            )
        }
        Why::AtSurface {
            at_surface,
            of,
            minutes,
        } => say(
            "why-at-surface",
            &[
                ("n", at_surface.into()),
                ("of", of.into()),
                ("minutes", minutes.into()),
            ],
        ),
        Why::BuoyOnly { minutes } => say("why-buoy-only", &[("minutes", minutes.into())]),
        Why::YellowBuoy => t.say("why-yellow-buoy"),
        Why::Due { minutes } => say("why-due", &[("minutes", minutes.into())]),
        Why::Expected { minutes } => say("why-expected", &[("minutes", minutes.into())]),
        Why::InWindow { minutes } => say("why-in-window", &[("minutes", minutes.into())]),
        Why::CurrentShortens { minutes } => {
            say("why-current-shortens", &[("minutes", minutes.into())])
        }
        Why::ExtensionIgnored => t.say("why-extension-ignored"),
        Why::FormedApart => t.say("why-formed-apart"),
        Why::GivenMoreTime { minutes } => say("why-given-more", &[("minutes", minutes.into())]),
    }
}

/// Who takes an entry back with which reason, if that waits for a second.
#[must_use]
pub fn waits_for_second(log: &[Entry], of: EventId, t: &Words) -> Option<String> {
    let (by, reason) = waiting(log, of)?;
    let args = [("by", (&by.name).into()), ("reason", reason.into())];
    Some(t.say_with("void-waits", &args))
}

/// Key of the word for a place.
#[must_use]
pub fn place_key(place: Place) -> &'static str {
    match place {
        Place::Ashore => "place-ashore",
        Place::Aboard => "place-aboard",
        Place::OtherVessel => "place-other-vessel",
        Place::Landed => "place-landed",
        Place::InWater => "place-in-water",
        Place::AtSurface => "place-at-surface",
        Place::Missing => "place-missing",
        Place::Unresolved => "place-unresolved",
    }
}
