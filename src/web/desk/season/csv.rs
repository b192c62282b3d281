//! The figures behind the season as CSV (RFC 4180): dives of groups, gas that came back, alarms.
//! No names of people: the season is about the boat's work.

use crate::dive::window::Light;
use crate::trip::season::{Season, Up};
use crate::trip::watch::Priority;
use crate::web::export::{self, plain};

/// The files, with the keys of their names.
pub(super) const FILES: [(&str, &str); 3] = [
    ("dives.csv", "season-file-dives"),
    ("gas.csv", "season-file-gas"),
    ("alarms.csv", "season-file-alarms"),
];

/// One of [`FILES`].
///
/// # Errors
/// If the writer fails, which it cannot into memory.
pub(super) fn table(name: &str, season: &Season) -> Result<Vec<u8>, csv::Error> {
    let (head, rows) = match name {
        "dives.csv" => (DIVES, dives(season)),
        "gas.csv" => (GAS, gas(season)),
        _ => (ALARMS, alarms(season)),
    };
    let mut writer = export::table();
    writer.write_record(head)?;
    for row in rows {
        writer.write_record(row)?;
    }
    writer
        .into_inner()
        .map_err(|failed| csv::Error::from(failed.into_error()))
}

const DIVES: &[&str] = &[
    "day",
    "boat",
    "dive",
    "site",
    "group",
    "entered_at",
    "people",
    "planned_run_time_min",
    "given_min",
    "actual_run_time_min",
    "after_latest_min",
    "end_known",
    "light",
    "current_kn",
];

fn number(figure: Option<f64>) -> String {
    figure.map_or_else(String::new, |figure| format!("{figure:.2}"))
}

fn name(at: Option<&crate::trip::season::At>) -> String {
    plain(at.map_or("", |at| &at.name))
}

fn dives(season: &Season) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    for trip in &season.trips {
        for dive in &trip.dives {
            let (actual, late, known) = match dive.up {
                Up::Seen {
                    actual_min,
                    late_min,
                } => (Some(actual_min), Some(late_min), "yes"),
                Up::OnlyAboard => (None, None, "only-aboard"),
                Up::NotKnown => (None, None, "no"),
            };
            rows.push(vec![
                trip.day.to_string(),
                plain(&trip.boat),
                dive.dive.to_string(),
                name(dive.at.as_ref()),
                plain(&dive.letter),
                dive.entered.to_string(),
                dive.people.to_string(),
                number(Some(dive.planned_min)),
                number(Some(dive.given_min)),
                number(actual),
                number(late),
                known.to_owned(),
                match dive.light {
                    Light::Day => "day",
                    Light::Night => "night",
                }
                .to_owned(),
                number(dive.current_kn),
            ]);
        }
    }
    rows
}

const GAS: &[&str] = &["day", "boat", "dive", "site", "bar_left", "reserve_bar"];

fn gas(season: &Season) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    for trip in &season.trips {
        for one in &trip.returns {
            rows.push(vec![
                trip.day.to_string(),
                plain(&trip.boat),
                one.dive.to_string(),
                name(one.at.as_ref()),
                number(one.bar),
                number(Some(one.reserve_bar)),
            ]);
        }
    }
    rows
}

const ALARMS: &[&str] = &[
    "day",
    "boat",
    "cause",
    "priority",
    "since",
    "until",
    "acknowledged_at",
    "by_late_word",
];

fn alarms(season: &Season) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    for trip in &season.trips {
        for one in &trip.alarms {
            let at = |at: Option<jiff::Timestamp>| at.map_or_else(String::new, |at| at.to_string());
            // Of a cause only its word: what follows it are names.
            let (episode, word) = (&one.episode, one.episode.cause.word());
            let cause = word.split(' ').next().unwrap_or_default();
            rows.push(vec![
                trip.day.to_string(),
                plain(&trip.boat),
                cause.to_owned(),
                match episode.priority {
                    Priority::Emergency => "emergency",
                    Priority::Alarm => "alarm",
                    Priority::Warning => "warning",
                    Priority::Caution => "caution",
                }
                .to_owned(),
                episode.since.to_string(),
                at(episode.until),
                at(episode.acknowledged.as_ref().map(|seen| seen.at)),
                if one.by_late_word { "yes" } else { "no" }.to_owned(),
            ]);
        }
    }
    rows
}
