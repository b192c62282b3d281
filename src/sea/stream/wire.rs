//! The `stream` document: a table, high waters and an instant in; the stream then out. And the
//! tides of a site, which are the same without the instant.

use jiff::Timestamp;
use serde_json::{Value, json};

use super::{HighWater, Hour, StreamError, StreamTable, Tides};
use crate::units::document::{Object, Reader, parse};
use crate::units::{Faults, Knots, SetTowards, bounds};

/// One row for each hour from six before to six after high water.
const MOST_ROWS: usize = 13;

/// Most high waters: half a year of them.
const MOST_HIGH_WATERS: usize = 400;

/// Answers `{table: [{hour, set_deg, spring_kn, neap_kn}], high_water: [{at, range_m}],
/// spring_range_m, neap_range_m, at}` with `{set_deg, drift_kn, hour, factor}`.
///
/// # Errors
/// Every fault of the document, and an instant for which the table tells nothing.
pub fn answer(document: &[u8]) -> Result<Value, Faults> {
    let document = parse(document)?;
    let reader = Reader::new();
    let asked = reader.object("", &document).and_then(read);
    let (table, high_waters, at) = reader.finish(asked)?;
    let stream = table.at(&high_waters, at).map_err(|cause| {
        let path = match cause {
            StreamError::Ranges => "spring_range_m",
            StreamError::NoHighWater => "high_water",
            StreamError::NoRows { .. } => "table",
        };
        Faults::one(
            path,
            format!("does not tell the stream: {cause}"),
            "what covers the instant",
        )
    })?;
    Ok(json!({
        "set_deg": stream.velocity.course_deg(),
        "drift_kn": stream.velocity.speed_kn(),
        "hour": stream.hour,
        "factor": stream.factor,
    }))
}

fn read(root: Object<'_>) -> Option<(StreamTable, Vec<HighWater>, Timestamp)> {
    let table = table(&root);
    let high_waters = root.take("high_water", |r, path, v| {
        some(r, path, v)?;
        tides(r, path, v)
    });
    let at = root.take("at", Reader::instant);
    root.close();
    Some((table?, high_waters?, at?))
}

/// Reads the tides of a site: the document without the instant; high waters may be missing.
pub(super) fn read_tides(value: &Value) -> Result<Tides, Faults> {
    let reader = Reader::new();
    let read = reader.object("", value).and_then(|root| {
        let table = table(&root);
        let high_waters = root.take("high_water", tides);
        root.close();
        Some(Tides::new(table?, high_waters?))
    });
    reader.finish(read)
}

pub(super) fn tell_tides(tides: &Tides) -> Value {
    let table = tides.table();
    json!({
        "table": table.rows().iter().map(|row| json!({
            "hour": row.hour, "set_deg": row.set, "spring_kn": row.spring, "neap_kn": row.neap,
        })).collect::<Vec<_>>(),
        "high_water": tides.high_waters().iter().map(|tide| json!({
            "at": tide.at, "range_m": tide.range_m,
        })).collect::<Vec<_>>(),
        "spring_range_m": table.spring_range_m(),
        "neap_range_m": table.neap_range_m(),
    })
}

fn table(root: &Object<'_>) -> Option<StreamTable> {
    let rows = root.take("table", |r, path, v| rows(r, path, v, MOST_ROWS, hour));
    let spring_range_m = root.number("spring_range_m", &bounds::TIDE_RANGE_M);
    let neap_range_m = root.number("neap_range_m", &bounds::TIDE_RANGE_M);
    if let Some(rows) = &rows {
        let hours: Vec<i8> = rows.iter().map(|row| row.hour).collect();
        each_once(root.reader(), &root.path_of("table"), "hour", &hours);
    }
    let (spring_m, neap_m) = spring_range_m.zip(neap_range_m)?;
    let table = StreamTable::new(rows.clone().unwrap_or_default(), spring_m, neap_m);
    let table = table
        .map_err(|cause| {
            let path = root.path_of("spring_range_m");
            root.reader()
                .fault(path, cause.to_string(), "a range larger than at neaps");
        })
        .ok();
    rows.and(table)
}

fn tides(reader: &Reader, path: &str, value: &Value) -> Option<Vec<HighWater>> {
    let tides = each(reader, path, value, MOST_HIGH_WATERS, |row| {
        let at = row.take("at", Reader::instant);
        let range_m = row.number("range_m", &bounds::TIDE_RANGE_M);
        Some(HighWater {
            at: at?,
            range_m: range_m?,
        })
    })?;
    let instants: Vec<Timestamp> = tides.iter().map(|tide| tide.at).collect();
    each_once(reader, path, "at", &instants);
    Some(tides)
}

/// Holds that no two rows of a list tell the same hour or instant.
fn each_once<K: PartialEq + std::fmt::Display>(reader: &Reader, path: &str, of: &str, keys: &[K]) {
    for (nth, key) in keys.iter().enumerate() {
        if keys.iter().take(nth).any(|earlier| earlier == key) {
            let path = format!("{path}[{nth}].{of}");
            reader.fault(path, format!("is {key} again"), "each once");
        }
    }
}

/// Reads a list of at least one object, each with `read`.
fn rows<T>(
    reader: &Reader,
    path: &str,
    value: &Value,
    most: usize,
    read: impl Fn(&Object<'_>) -> Option<T>,
) -> Option<Vec<T>> {
    some(reader, path, value)?;
    each(reader, path, value, most, read)
}

/// Holds that a list has a row.
fn some(reader: &Reader, path: &str, value: &Value) -> Option<()> {
    if value.as_array().is_some_and(Vec::is_empty) {
        reader.fault(path, "is empty", "at least one row");
        return None;
    }
    Some(())
}

/// Reads a list of objects, each with `read`.
fn each<T>(
    reader: &Reader,
    path: &str,
    value: &Value,
    most: usize,
    read: impl Fn(&Object<'_>) -> Option<T>,
) -> Option<Vec<T>> {
    let list = reader.list(path, value, most)?;
    // Every row is read before any is missed, so that each fault is noted.
    let rows: Vec<Option<T>> = list
        .iter()
        .enumerate()
        .map(|(nth, row)| {
            let row = reader.object(&format!("{path}[{nth}]"), row)?;
            let read = read(&row);
            row.close();
            read
        })
        .collect();
    rows.into_iter().collect()
}

fn hour(row: &Object<'_>) -> Option<Hour> {
    let hour = row.number("hour", &bounds::TIDE_HOUR);
    let set = row.quantity("set_deg", &bounds::DIRECTION_DEG, SetTowards::from_deg);
    let spring = row.quantity("spring_kn", &bounds::DRIFT_KN, Knots::from_kn);
    let neap = row.quantity("neap_kn", &bounds::DRIFT_KN, Knots::from_kn);
    let hour = hour.and_then(|hour| {
        let whole = (-6..=6_i8).find(|whole| (f64::from(*whole) - hour).abs() < f64::EPSILON);
        if whole.is_none() {
            let path = row.path_of("hour");
            row.reader()
                .fault(path, format!("is {hour}"), "a whole hour from -6 to 6");
        }
        whole
    });
    Some(Hour {
        hour: hour?,
        set: set?,
        spring: spring?,
        neap: neap?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn document(at: &str) -> String {
        format!(
            r#"{{"table": [
                {{"hour": -1, "set_deg": 350, "spring_kn": 2.0, "neap_kn": 1.0}},
                {{"hour": 0, "set_deg": 20, "spring_kn": 2.0, "neap_kn": 1.0}},
                {{"hour": 5, "set_deg": 90, "spring_kn": 1.0, "neap_kn": 0.5}},
                {{"hour": 6, "set_deg": 90, "spring_kn": 2.0, "neap_kn": 1.0}}],
              "high_water": [
                {{"at": "2026-06-01T12:00:00Z", "range_m": 3.0}},
                {{"at": "2026-06-02T00:00:00Z", "range_m": 3.0}}],
              "spring_range_m": 4.0, "neap_range_m": 2.0, "at": "{at}"}}"#
        )
    }

    fn at(instant: &str) -> Result<Value, Faults> {
        answer(document(instant).as_bytes())
    }

    /// Half way between neaps and springs every rate is the mean; half way between 350 and 20
    /// degrees lies 5 degrees, at 1.5 kn x cos 15.
    #[test]
    fn it_goes_between_hours_as_a_vector_and_between_ranges_on_a_line() {
        let answer = at("2026-06-01T11:30:00Z").unwrap();
        let number = |field: &str| answer[field].as_f64().unwrap();
        assert!((number("factor") - 0.5).abs() < 1e-12);
        assert!((number("hour") + 0.5).abs() < 1e-12);
        assert!((number("set_deg") - 5.0).abs() < 1e-9);
        assert!((number("drift_kn") - 1.5 * 15_f64.to_radians().cos()).abs() < 1e-9);
    }

    #[test]
    fn what_the_table_does_not_tell_is_refused() {
        for (instant, path) in [
            ("2026-06-01T14:30:00Z", "table"),
            ("2026-06-01T10:00:00Z", "table"),
            ("2026-06-03T00:00:00Z", "high_water"),
        ] {
            let faults = at(instant).unwrap_err();
            assert_eq!(faults.iter().next().unwrap().path, path, "{instant}");
        }
        assert!(at("2026-06-02T06:20:00Z").is_ok(), "the last hour holds on");
        assert!(at("2026-06-02T06:29:00Z").is_err(), "but not for long");
    }

    #[test]
    fn every_fault_is_named() {
        let paths = |text: &str| -> Vec<String> {
            answer(text.as_bytes())
                .unwrap_err()
                .into_iter()
                .map(|fault| fault.path)
                .collect()
        };
        assert_eq!(
            paths(
                r#"{"table": [{"hour": 0.5, "set_deg": -1, "spring_kn": 1, "neap_kn": 1, "z": 0}],
                    "high_water": [], "spring_range_m": 2, "neap_range_m": 2, "at": 5, "x": 1}"#
            ),
            [
                "table[0].set_deg",
                "table[0].hour",
                "table[0].z",
                "spring_range_m",
                "high_water",
                "at",
                "x"
            ]
        );
        let twice = r#"{"hour": 1, "set_deg": 1, "spring_kn": 1, "neap_kn": 1}"#;
        let tide = r#"{"at": "2026-06-01T12:00:00Z", "range_m": 3}"#;
        assert_eq!(
            paths(&format!(
                r#"{{"table": [{twice}, {twice}], "high_water": [{tide}, {tide}],
                     "spring_range_m": 3, "neap_range_m": 2, "at": "2026-06-01T12:00:00Z"}}"#
            )),
            ["table[1].hour", "high_water[1].at"]
        );
    }
}
