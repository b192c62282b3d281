//! What leaves the box as a file: a trip's log as JSON Lines, and its returns as CSV.

use std::fmt::Write as _;

use jiff::Timestamp;
use jiff::tz::TimeZone;
use serde_json::json;

use super::view;
use crate::store::LogEntry;
use crate::trip::after;
use crate::trip::event::Activity;
use crate::trip::state::{Logged, Person, Place, State};
use crate::units::LitresPerMinute;

/// A log as JSON Lines, oldest entry first: `event` byte for byte as it was hashed, its SHA-256,
/// the chain up to and with it, and how it came to the box that had it first; `relayed_by` names
/// who brought it here, if that was not who made it. Whoever keeps these lines can prove
/// that nothing was changed: chain 0 is the SHA-256 of the trip's sixteen bytes, each next one
/// that of the chain before and the hash.
#[must_use]
pub fn log_lines(log: &[LogEntry]) -> String {
    let mut lines = String::new();
    for kept in log {
        let mut receipt = json!({
            "entry": kept.receipt.entry,
            "recorded_at": kept.receipt.recorded_at,
            "wall_age_ms": kept.receipt.wall_age_ms,
            "mono_age_ms": kept.receipt.mono_age_ms,
            "boot": kept.boot,
            "uptime_ms": kept.uptime_ms,
        });
        if let (Some(name), Some(receipt)) = (&kept.relayed_by, receipt.as_object_mut()) {
            receipt.insert("relayed_by".to_owned(), json!(name));
        }
        lines.push_str("{\"event\":");
        // JSON text already: it is set in as it is, so that its hash can be reckoned from it.
        lines.push_str(&kept.content);
        lines.push_str(",\"hash\":\"");
        push_hex(&mut lines, &kept.hash);
        lines.push_str("\",\"chain\":\"");
        push_hex(&mut lines, &kept.chain);
        lines.push_str("\",\"receipt\":");
        lines.push_str(&receipt.to_string());
        lines.push_str("}\n");
    }
    lines
}

/// Bytes as hexadecimal digits.
#[must_use]
pub fn hex(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(2 * bytes.len());
    push_hex(&mut text, bytes);
    text
}

fn push_hex(text: &mut String, bytes: &[u8]) {
    for byte in bytes {
        // Writing into a String cannot fail; a digit short would be seen by whoever checks.
        if write!(text, "{byte:02x}").is_err() {
            text.push('-');
        }
    }
}

const COLUMNS: [&str; 23] = [
    "day",
    "boat",
    "dive",
    "site",
    "group",
    "name",
    "activity",
    "place_now",
    "entered_at",
    "surfaced_at",
    "aboard_at",
    "bar_left",
    "greatest_depth_m",
    "stop_done",
    "problem",
    "seen_by",
    "taken_to",
    "planned_run_time_min",
    "planned_greatest_depth_m",
    "surface_rate_l_min",
    "next_entry_from",
    "no_fly_hours",
    "no_fly_until",
];

/// A table that is written: every field quoted, lines ended as RFC 4180 says.
pub(super) fn table() -> csv::Writer<Vec<u8>> {
    csv::WriterBuilder::new()
        .quote_style(csv::QuoteStyle::Always)
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new())
}

/// The returns of a trip as CSV (RFC 4180): a row for each dive of each person, and one for
/// each person who made none. Times are local, with their offset.
///
/// Every field is quoted, and text that a spreadsheet would take for a formula gets an
/// apostrophe before it. Source: OWASP ASVS 5.0, 1.2.10.
///
/// # Errors
/// If the writer fails, which it cannot into memory.
pub fn returns_csv(state: &State) -> Result<Vec<u8>, csv::Error> {
    let mut writer = table();
    writer.write_record(COLUMNS)?;
    let zone = view::zone(state);
    let none = Logged::default();
    for person in state.people.values() {
        for (dive, logged) in &person.dives {
            writer.write_record(row(state, &zone, person, Some(*dive), logged))?;
        }
        if person.dives.is_empty() {
            writer.write_record(row(state, &zone, person, None, &none))?;
        }
    }
    writer
        .into_inner()
        .map_err(|failed| csv::Error::from(failed.into_error()))
}

fn row(
    state: &State,
    zone: &TimeZone,
    person: &Person,
    dive: Option<u32>,
    logged: &Logged,
) -> [String; 23] {
    let opened = state.opened.as_ref();
    let site = dive.and_then(|dive| state.dives.get(&dive));
    let group = logged.group.and_then(|group| state.groups.get(&group));
    let time =
        |at: Option<Timestamp>| at.map_or_else(String::new, |at| view::with_offset(at, zone));
    let figure = |figure: Option<f64>| figure.map_or_else(String::new, |f| f.to_string());
    let plan = group.map(|group| &group.formed.plan);
    let levels = plan.into_iter().flat_map(|plan| &plan.levels);
    let planned_m = levels.map(|level| level.depth_m.m()).reduce(f64::max);
    let rate = dive.and_then(|dive| after::surface_rate(state, person, dive));
    let next = dive.and_then(|dive| after::next_entry(state, person, dive));
    // The hours run from the last surfacing of the day: they stand beside the last dive.
    let is_last = dive.is_some() && dive == person.dives.keys().max().copied();
    let no_fly = after::no_fly(state, person).filter(|_| is_last && logged.surfaced_at.is_some());
    [
        opened.map_or_else(String::new, |o| o.day.to_string()),
        plain(opened.map_or("", |o| &o.boat.name)),
        dive.map_or_else(String::new, |dive| dive.to_string()),
        plain(site.map_or("", |planned| &planned.site.name)),
        plain(group.map_or("", |group| &group.formed.letter)),
        plain(&person.card.name),
        activity(person.card.activity).to_owned(),
        place(person.place).to_owned(),
        time(logged.entered_at),
        time(logged.surfaced_at),
        time(logged.aboard_at),
        figure(logged.bar),
        figure(logged.greatest_depth_m),
        logged.stop_done.map_or("", yes_or_no).to_owned(),
        plain(logged.problem.as_deref().unwrap_or_default()),
        plain(logged.seen_by.as_deref().unwrap_or_default()),
        plain(logged.whither.as_deref().unwrap_or_default()),
        figure(plan.map(|plan| plan.run_time_min)),
        figure(planned_m),
        figure(rate.map(LitresPerMinute::l_min)),
        time(next.map(|next| next.at)),
        no_fly.map_or_else(String::new, |no_fly| no_fly.ground.hours().to_string()),
        time(no_fly.map(|no_fly| no_fly.until)),
    ]
}

/// Words for programs: the same as in the picture.
fn place(place: Place) -> &'static str {
    match place {
        Place::Ashore => "ashore",
        Place::Aboard => "aboard",
        Place::OtherVessel => "other-vessel",
        Place::Landed => "landed",
        Place::InWater => "in-water",
        Place::AtSurface => "at-surface",
        Place::Missing => "missing",
        Place::Unresolved => "unresolved",
    }
}

fn yes_or_no(done: bool) -> &'static str {
    if done { "yes" } else { "no" }
}

fn activity(activity: Activity) -> &'static str {
    match activity {
        Activity::Diver => "diver",
        Activity::Snorkeller => "snorkeller",
        Activity::Passenger => "passenger",
        Activity::Crew => "crew",
    }
}

/// Text that no spreadsheet takes for a formula, also behind white space, which some cut off.
pub(in crate::web) fn plain(text: &str) -> String {
    let start = text.trim_start().chars().next();
    let risky = start.is_some_and(|c| "=+-@＝＋－＠".contains(c))
        || text.starts_with(['\t', '\r', '\n', '\0']);
    if risky {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::plain;

    /// The characters of OWASP ASVS 5.0, 1.2.10; white space before them and full-width forms
    /// from memory of how spreadsheets read them.
    #[test]
    fn nothing_typed_is_a_formula() {
        for text in [
            "=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\0", "\r=1", "\n=1", "  =1", "＝1",
        ] {
            assert_eq!(plain(text), format!("'{text}"));
        }
        for text in ["", "Mara Lind", "O'Neil", "Anne-Marie", "a=b", "中村 葵"] {
            assert_eq!(plain(text), text);
        }
    }
}
