//! What is typed or pasted of the tides of a site, read into one document that the sea room then
//! judges; each fault goes to the field it is about.

use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::TimeZone;
use serde_json::{Value, json};

use crate::sea::stream::Tides;
use crate::sea::typed::plain_number;
use crate::units::bounds::{self, Bounds};
use crate::web::desk::csv::delimiter;
use crate::web::form::Fields;

/// Hours of a table, from before to after high water.
pub(super) const HOURS: std::ops::RangeInclusive<i8> = -6..=6;
/// Most lines of a text that are read.
const MOST_LINES: usize = 1_000;

/// The name of a field of an hour: `set-3` for the fourth.
pub(super) fn field(of: &str, hour: i8) -> String {
    format!("{of}-{}", i16::from(hour) + 6)
}

/// The tides a form tells, none where nothing is filled in; faults are noted in the form.
pub(in crate::web::desk) fn told(fields: &Fields, zone: &TimeZone) -> Option<Tides> {
    let pasted = fields.typed("table");
    let rows = if pasted.is_empty() {
        hours(fields)
    } else {
        table(fields, pasted)
    };
    let high_waters = high_waters(fields, zone);
    let is_blank = rows.is_empty()
        && high_waters.is_empty()
        && ["spring_range", "neap_range"]
            .iter()
            .all(|name| fields.typed(name).is_empty());
    if is_blank || !fields.is_sound() {
        return None;
    }
    let spring = fields.number("spring_range", &bounds::TIDE_RANGE_M);
    let neap = fields.number("neap_range", &bounds::TIDE_RANGE_M);
    let of_row: Vec<String> = rows.iter().map(|row| row.field.clone()).collect();
    let of_tide: Vec<usize> = high_waters.iter().map(|tide| tide.line).collect();
    let document = json!({
        "table": rows.into_iter().map(|row| row.value).collect::<Vec<_>>(),
        "high_water": high_waters.into_iter().map(|tide| tide.value).collect::<Vec<_>>(),
        "spring_range_m": spring?,
        "neap_range_m": neap?,
    });
    match Tides::try_from(document) {
        Ok(tides) => Some(tides),
        Err(faults) => {
            super::super::form::note(fields, &faults, |path| {
                let nth = path
                    .split_once('[')
                    .and_then(|(_, rest)| rest.split(']').next())
                    .and_then(|nth| nth.parse::<usize>().ok());
                let t = crate::web::language::words();
                if path.starts_with("table") {
                    let field = nth.and_then(|nth| of_row.get(nth));
                    let field = field.map_or("set-0", String::as_str);
                    (field.to_owned(), t.say("tides-table"))
                } else if path.starts_with("high_water") {
                    let line = nth.and_then(|nth| of_tide.get(nth)).copied().unwrap_or(1);
                    let called = t.say_with("tides-line", &[("line", line.into())]);
                    ("high_waters".to_owned(), called)
                } else {
                    ("spring_range".to_owned(), t.say("tides-spring-range"))
                }
            });
            None
        }
    }
}

struct Row {
    field: String,
    value: Value,
}

fn row(hour: i8, set: f64, spring: f64, neap: f64) -> Value {
    json!({"hour": hour, "set_deg": set, "spring_kn": spring, "neap_kn": neap})
}

/// The rows typed into the table, one for each hour that has anything in it.
fn hours(fields: &Fields) -> Vec<Row> {
    let mut rows = Vec::new();
    for hour in HOURS {
        let names = ["set", "spring", "neap"].map(|of| field(of, hour));
        if names.iter().all(|name| fields.typed(name).is_empty()) {
            continue;
        }
        let [set, spring, neap] = &names;
        let set_deg = fields.number(set, &bounds::DIRECTION_DEG);
        let spring_kn = fields.number(spring, &bounds::DRIFT_KN);
        let neap_kn = fields.number(neap, &bounds::DRIFT_KN);
        if let (Some(set_deg), Some(spring_kn), Some(neap_kn)) = (set_deg, spring_kn, neap_kn) {
            rows.push(Row {
                field: set.clone(),
                value: row(hour, set_deg, spring_kn, neap_kn),
            });
        }
    }
    rows
}

/// The cells of each line of a text that holds figures, with its number; a heading is passed
/// over.
fn lines<'t>(fields: &Fields, name: &str, text: &'t str) -> Vec<(usize, Vec<&'t str>)> {
    let count = text.lines().count();
    if count > MOST_LINES {
        fields.fault(name, "tides-lines-many", &[("most", MOST_LINES.into())]);
        return Vec::new();
    }
    let mark = char::from(delimiter(text));
    text.lines()
        .enumerate()
        .map(|(nth, line)| (nth + 1, line.trim()))
        .filter(|(_, line)| !line.is_empty())
        .map(|(number, line)| {
            let cells = line.split(mark).map(|cell| cell.trim().trim_matches('"'));
            (number, cells.collect::<Vec<_>>())
        })
        .filter(|(number, cells)| {
            // A heading has no figures; a line with any is somebody's, and told if it is odd.
            let holds_figure = |cell: &&str| cell.contains(|c: char| c.is_ascii_digit());
            *number > 1 || cells.iter().any(holds_figure)
        })
        .collect()
}

fn figure(cell: &str, bounds: &Bounds) -> Option<f64> {
    plain_number(cell).filter(|figure| bounds.holds(*figure))
}

/// A table pasted as CSV: hour, set, rate at springs, rate at neaps.
fn table(fields: &Fields, text: &str) -> Vec<Row> {
    let mut rows = Vec::new();
    for (line, cells) in lines(fields, "table", text) {
        let read = match cells.as_slice() {
            [hour, set, spring, neap] => (|| {
                let hour: i8 = hour.trim_start_matches('+').parse().ok()?;
                Some(row(
                    HOURS.contains(&hour).then_some(hour)?,
                    figure(set, &bounds::DIRECTION_DEG)?,
                    figure(spring, &bounds::DRIFT_KN)?,
                    figure(neap, &bounds::DRIFT_KN)?,
                ))
            })(),
            _ => None,
        };
        match read {
            Some(value) => rows.push(Row {
                field: "table".to_owned(),
                value,
            }),
            None => fields.fault("table", "tides-table-line", &[("line", line.into())]),
        }
    }
    rows
}

struct Tide {
    line: usize,
    value: Value,
}

/// High waters, one a line: time and range, or time and the heights of high and low water.
fn high_waters(fields: &Fields, zone: &TimeZone) -> Vec<Tide> {
    let mut tides = Vec::new();
    for (line, cells) in lines(fields, "high_waters", fields.typed("high_waters")) {
        let told = |key: &str| fields.fault("high_waters", key, &[("line", line.into())]);
        let (time, range) = match cells.as_slice() {
            [time, range] => (time, plain_number(range)),
            [time, high, low] => {
                let range = plain_number(high).zip(plain_number(low));
                (time, range.map(|(high, low)| high - low))
            }
            _ => {
                told("tides-water-line");
                continue;
            }
        };
        let Some(range) = range.filter(|range| bounds::TIDE_RANGE_M.holds(*range)) else {
            told("tides-water-range");
            continue;
        };
        match instant(time, zone) {
            Ok(at) => tides.push(Tide {
                line,
                value: json!({"at": at.to_string(), "range_m": range}),
            }),
            Err(key) => told(key),
        }
    }
    tides
}

/// An instant with its offset, or the site's own time, which must be there once that day.
fn instant(text: &str, zone: &TimeZone) -> Result<Timestamp, &'static str> {
    if let Ok(at) = text.parse::<Timestamp>() {
        return Ok(at);
    }
    let local: DateTime = text.parse().map_err(|_| "tides-water-time")?;
    // A day without an hour would be midnight.
    if !text.contains(':') {
        return Err("tides-water-time");
    }
    zone.to_ambiguous_zoned_datetime(local)
        .unambiguous()
        .map(|zoned| zoned.timestamp())
        .map_err(|_| "tides-water-twice")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn form(pairs: &[(&str, &str)]) -> Fields {
        Fields::of(
            pairs
                .iter()
                .map(|(n, v)| ((*n).to_owned(), (*v).to_owned()))
                .collect(),
        )
    }

    fn zone() -> TimeZone {
        TimeZone::get("Europe/Lisbon").unwrap()
    }

    #[test]
    fn a_table_is_the_same_typed_or_pasted() {
        let ranges = [("spring_range", "3,2"), ("neap_range", "1.4")];
        let typed = [
            &ranges[..],
            &[
                ("set-0", "10"),
                ("spring-0", "1.5"),
                ("neap-0", "0,7"),
                ("set-12", "190"),
                ("spring-12", "1"),
                ("neap-12", "0.5"),
            ],
        ]
        .concat();
        let fields = form(&typed);
        let typed = told(&fields, &zone()).unwrap();
        for text in [
            "hour;set;spring;neap\n-6;10;1,5;0,7\n6;190;1;0,5",
            "-6,10,1.5,0.7\n+6,190,1,0.5",
            "Hour\tSet\tS\tN\r\n-6\t10\t1.5\t0.7\r\n\r\n6\t190\t1\t0.5",
        ] {
            let pasted = [&ranges[..], &[("table", text)]].concat();
            assert_eq!(told(&form(&pasted), &zone()), Some(typed.clone()), "{text}");
        }
        assert_eq!(told(&form(&[]), &zone()), None);
    }

    /// Lisbon keeps UTC+1 in June and UTC in winter (zone database).
    #[test]
    fn high_waters_are_told_in_local_time_or_with_an_offset() {
        let base = [
            ("spring_range", "3"),
            ("neap_range", "1"),
            ("table", "0;10;1;1"),
        ];
        let waters = "time; high; low\n2026-06-01 12:04; 3,6; 0,4\n2026-06-02T01:00:00+02:00; 3.1\n2026-12-01T12:00;2";
        let fields = form(&[&base[..], &[("high_waters", waters)]].concat());
        let tides = told(&fields, &zone()).unwrap();
        let held: Vec<(String, f64)> = tides
            .high_waters()
            .iter()
            .map(|t| (t.at.to_string(), t.range_m))
            .collect();
        assert_eq!(
            held.iter().map(|(at, _)| at.as_str()).collect::<Vec<_>>(),
            [
                "2026-06-01T11:04:00Z",
                "2026-06-01T23:00:00Z",
                "2026-12-01T12:00:00Z"
            ]
        );
        assert!((held[0].1 - 3.2).abs() < 1e-9);
    }

    #[test]
    fn each_line_that_does_not_hold_is_told() {
        for (field, text, faults) in [
            ("table", "0;10;1\n0;400;1;1\n7;10;1;1\n0;10;NaN;1", 4),
            (
                "high_waters",
                "soon;3\n2026-06-01;3\n2026-06-01 12:00;x\n2026-06-01 12:00;99\n2026-06-01 12:00",
                5,
            ),
            // Put forward at 01:00 on 29 March 2026, back at 02:00 on 25 October.
            ("high_waters", "2026-03-29 01:30;3\n2026-10-25 01:30;3", 2),
            ("high_waters", "2026-06-01 12:00;3\n2026-06-01 12:00;3", 1),
            ("table", "0;10;1;1\n0;20;1;1", 1),
        ] {
            let base = [("spring_range", "3"), ("neap_range", "1")];
            let mut pairs = base.to_vec();
            if field != "table" {
                pairs.push(("table", "0;10;1;1"));
            }
            pairs.push((field, text));
            let fields = form(&pairs);
            assert_eq!(told(&fields, &zone()), None, "{text}");
            let named = fields.faults();
            assert_eq!(named.len(), faults, "{named:?}");
            assert!(named.iter().all(|fault| fault.field == field), "{named:?}");
        }
        let ranges = form(&[
            ("spring_range", "1"),
            ("neap_range", "3"),
            ("table", "0;10;1;1"),
        ]);
        assert_eq!(told(&ranges, &zone()), None);
        assert_eq!(ranges.faults()[0].field, "spring_range");
    }
}
