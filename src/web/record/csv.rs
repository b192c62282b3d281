//! The record as one table (RFC 4180): a row for each thing that was planned, done or said, so that
//! what was planned stands beside what was. Every field is guarded as in `export`.

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::{BeforeLine, DiveLine, Record};
use crate::trip::event::{Condition, Point};
use crate::web::export::plain;
use crate::web::view;

const COLUMNS: [&str; 10] = [
    "part", "dive", "group", "name", "what", "planned", "actual", "at", "by", "detail",
];

/// One row, not guarded yet.
#[derive(Default)]
struct Row {
    part: &'static str,
    dive: Option<u32>,
    group: String,
    name: String,
    what: String,
    planned: String,
    actual: String,
    at: Option<Timestamp>,
    by: String,
    detail: String,
}

/// The record as CSV. Times are local, with their offset.
///
/// # Errors
/// If the writer fails, which it cannot into memory.
pub fn report_csv(record: &Record) -> Result<Vec<u8>, csv::Error> {
    let zone = TimeZone::get(&record.time_zone).unwrap_or(TimeZone::UTC);
    let mut writer = csv::WriterBuilder::new()
        .quote_style(csv::QuoteStyle::Always)
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    writer.write_record(COLUMNS)?;
    for row in rows(record, &zone) {
        let at = row.at.map(|at| view::with_offset(at, &zone));
        let dive = row.dive.filter(|dive| *dive > 0);
        writer.write_record([
            row.part.to_owned(),
            dive.map_or_else(String::new, |dive| dive.to_string()),
            plain(&row.group),
            plain(&row.name),
            plain(&row.what),
            plain(&row.planned),
            plain(&row.actual),
            at.unwrap_or_default(),
            plain(&row.by),
            plain(&row.detail),
        ])?;
    }
    writer
        .into_inner()
        .map_err(|failed| csv::Error::from(failed.into_error()))
}

fn rows(record: &Record, zone: &TimeZone) -> Vec<Row> {
    let mut rows = head(record);
    for dive in &record.dives {
        rows.extend(of_dive(dive, zone));
    }
    rows.extend(counted(record));
    rows.extend(record.alerts.all.iter().map(|one| Row {
        part: "alert",
        what: one.what.clone(),
        actual: number(one.answered_after_s),
        at: Some(one.since),
        by: one.acknowledged_by.clone().unwrap_or_default(),
        detail: match (one.until, one.ended_unseen) {
            (Some(until), true) => {
                format!("over at {}, unacknowledged", view::with_offset(until, zone))
            }
            (Some(until), false) => format!("over at {}", view::with_offset(until, zone)),
            (None, _) => "holds".to_owned(),
        },
        ..Row::default()
    }));
    rows.extend(record.overrides.iter().map(|one| Row {
        part: "override",
        what: one.what.to_owned(),
        at: Some(one.at),
        by: one.by.clone(),
        detail: one.reason.clone(),
        ..Row::default()
    }));
    rows.extend(incidents(record));
    rows.extend(record.before_departure.iter().map(before_departure));
    rows.extend(record.conditions.iter().map(|one| Row {
        part: "conditions",
        at: Some(one.at),
        by: one.by.clone(),
        detail: json(&one.seen),
        ..Row::default()
    }));
    rows.extend(signed(record));
    rows
}

fn before_departure(one: &BeforeLine) -> Row {
    let what = match (&one.condition, one.forecast_of) {
        (Some(Condition::Own(text)), _) => text.clone(),
        (Some(condition), _) => word(condition),
        (None, Some(of)) => format!("forecast {}", word(&of)),
        (None, None) => "decision".to_owned(),
    };
    let decided = one.go.map(|go| if go { "go" } else { "no-go" }.to_owned());
    Row {
        part: "before departure",
        what,
        actual: one
            .answer
            .map(|answer| word(&answer))
            .or(decided)
            .unwrap_or_default(),
        at: Some(one.at),
        by: one.by.clone(),
        detail: [one.text.as_deref(), one.source.as_deref()]
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join(" / "),
        ..Row::default()
    }
}

fn head(record: &Record) -> Vec<Row> {
    let of = |what: &str, actual: &str| Row {
        part: "trip",
        what: what.to_owned(),
        actual: actual.to_owned(),
        ..Row::default()
    };
    let mut rows = vec![
        of("trip", &record.trip.to_string()),
        of("day", &record.day),
        of("boat", &record.boat),
        of("call sign", &record.call_sign),
        of("harbour", &record.harbour),
        of("in command", &record.in_command),
        of(
            "everybody accounted for",
            yes_or_no(record.everybody_accounted_for),
        ),
        of("sealed", yes_or_no(record.sign_off.sealed)),
    ];
    if record.drill {
        rows.push(of("drill", "yes"));
    }
    rows.extend(record.out.iter().map(|out| Row {
        part: "out",
        name: out.name.clone(),
        actual: word(&out.place),
        ..Row::default()
    }));
    rows
}

fn of_dive(dive: &DiveLine, zone: &TimeZone) -> Vec<Row> {
    let (planned, actual) = (&dive.planned, &dive.actual);
    let time =
        |at: Option<Timestamp>| at.map_or_else(String::new, |at| view::with_offset(at, zone));
    let stop = actual.stop_done.map_or("", yes_or_no).to_owned();
    let measures = [
        (
            "left surface",
            time(planned.entry_at),
            time(actual.entered_at),
        ),
        ("up", String::new(), time(actual.surfaced_at)),
        ("aboard", String::new(), time(actual.aboard_at)),
        (
            "run time, min",
            number(planned.run_time_min),
            number(actual.run_time_min),
        ),
        (
            "greatest depth, m",
            number(planned.greatest_depth_m),
            number(actual.greatest_depth_m),
        ),
        (
            "pressure, bar",
            number(planned.start_bar),
            number(actual.end_bar),
        ),
        ("stop, min", number(planned.stop_min), stop),
        ("oxygen", number(dive.oxygen), String::new()),
        ("cylinder, l", number(dive.cylinder_l), String::new()),
        (
            "breathing, l/min",
            String::new(),
            number(actual.breathing_l_min),
        ),
    ];
    let noted = dive
        .noted
        .clone()
        .map(|noted| ("noted", String::new(), noted));
    measures
        .into_iter()
        .chain(noted)
        .map(|(what, planned, actual)| Row {
            part: "dive",
            dive: Some(dive.dive),
            group: dive.group.clone(),
            name: dive.name.clone(),
            what: what.to_owned(),
            planned,
            actual,
            by: dive.seen_by.clone().unwrap_or_default(),
            detail: dive.site.clone(),
            ..Row::default()
        })
        .collect()
}

fn counted(record: &Record) -> Vec<Row> {
    let counts = record.counts.iter().flat_map(|call| {
        call.counts.iter().map(move |count| Row {
            part: "count",
            dive: Some(call.dive),
            what: point(call.point).to_owned(),
            planned: number(count.log_aboard),
            actual: number(count.people),
            at: Some(count.at),
            by: count.by.clone(),
            detail: format!(
                "count {}, round {}: {}",
                call.number, count.round, call.outcome
            ),
            ..Row::default()
        })
    });
    let rolls = record.rolls.iter().map(|roll| Row {
        part: "roll",
        dive: Some(roll.dive),
        what: point(roll.point).to_owned(),
        actual: roll.seen.join("; "),
        at: Some(roll.at),
        by: roll.by.clone(),
        detail: roll.not_seen.join("; "),
        ..Row::default()
    });
    counts.chain(rolls).collect()
}

fn incidents(record: &Record) -> Vec<Row> {
    record
        .incidents
        .iter()
        .map(|one| Row {
            part: "incident",
            name: one.persons.join("; "),
            what: one.text.clone(),
            at: Some(one.at),
            by: one.by.clone(),
            detail: one.record.as_ref().map_or_else(String::new, json),
            ..Row::default()
        })
        .collect()
}

fn signed(record: &Record) -> Vec<Row> {
    let of = &record.sign_off;
    let held = |holds: bool| if holds { "holds" } else { "does not hold" };
    let signatures = of.signatures.iter().map(|one| Row {
        part: "signature",
        what: word(&one.role),
        at: Some(one.at),
        by: one.by.clone(),
        actual: one.over_entry.to_string(),
        detail: format!("{}, {}", one.chain, held(one.holds)),
        ..Row::default()
    });
    let seals = of.seals.iter().map(|one| Row {
        part: "seal",
        what: one.lacks.join("; "),
        at: Some(one.at),
        by: one.by.clone(),
        actual: one.over_entry.to_string(),
        detail: format!("{}, {}", one.chain, held(one.holds)),
        ..Row::default()
    });
    let missing = of.missing.iter().map(|role| Row {
        part: "signature missing",
        what: word(role),
        ..Row::default()
    });
    let after = of.after.iter().map(|one| Row {
        part: "after the seal",
        what: one.kind.clone(),
        at: Some(one.at),
        by: one.by.clone(),
        actual: one.entry.to_string(),
        ..Row::default()
    });
    signatures
        .chain(seals)
        .chain(missing)
        .chain(after)
        .collect()
}

fn number(of: Option<impl ToString>) -> String {
    of.map_or_else(String::new, |of| of.to_string())
}

fn yes_or_no(is: bool) -> &'static str {
    if is { "yes" } else { "no" }
}

fn point(point: Point) -> &'static str {
    match point {
        Point::Departure => "departure",
        Point::Leaving => "leaving",
        Point::Return => "return",
    }
}

/// The word of an enum as it stands on the wire.
fn word(of: &impl serde::Serialize) -> String {
    match serde_json::to_value(of) {
        Ok(serde_json::Value::String(word)) => word,
        Ok(other) => other.to_string(),
        // Plain words cannot fail to be written.
        Err(cause) => cause.to_string(),
    }
}

/// A group of fields as JSON in one cell: it begins with a brace and is no formula.
fn json(of: &impl serde::Serialize) -> String {
    // Plain data cannot fail to be written; were it to, the cell would say why.
    serde_json::to_string(of).unwrap_or_else(|cause| cause.to_string())
}
