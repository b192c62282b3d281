//! The `daylight` document: a position and a local solar day in, four instants or words out.

use jiff::civil::Date;
use serde_json::{Value, json};

use super::{Crossing, daylight};
use crate::sea::chart::read_position;
use crate::units::document::{Reader, parse};
use crate::units::{Faults, bounds};

/// Answers `{position: [lon, lat], date}` with `{sunrise, sunset, civil_dawn, civil_dusk}`, each
/// an instant in UTC, `"always up"` or `"never up"`.
///
/// # Errors
/// Every fault of the document.
pub fn answer(document: &[u8]) -> Result<Value, Faults> {
    let document = parse(document)?;
    let reader = Reader::new();
    let asked = reader.object("", &document).and_then(|root| {
        let place = root.take("position", read_position);
        let date = root.take("date", date);
        root.close();
        Some((place?, date?))
    });
    let (place, date) = reader.finish(asked)?;
    let sun = daylight(place, date)
        .map_err(|cause| Faults::one("date", cause.to_string(), "a date the sun is known for"))?;
    Ok(json!({
        "sunrise": in_words(sun.sunrise),
        "sunset": in_words(sun.sunset),
        "civil_dawn": in_words(sun.civil_dawn),
        "civil_dusk": in_words(sun.civil_dusk),
    }))
}

fn in_words(crossing: Crossing) -> String {
    match crossing {
        Crossing::At(instant) => instant.to_string(),
        Crossing::AlwaysUp => "always up".to_owned(),
        Crossing::NeverUp => "never up".to_owned(),
    }
}

fn date(reader: &Reader, path: &str, value: &Value) -> Option<Date> {
    const ALLOWED: &str = "a date such as 2026-06-01";
    let Some(text) = value.as_str() else {
        reader.fault(path, "is not text", ALLOWED);
        return None;
    };
    // A Date of the library also reads a date with a time behind it and drops the time.
    let date = text
        .parse::<Date>()
        .ok()
        .filter(|date| date.to_string() == text);
    let Some(date) = date else {
        let head: String = text.chars().take(40).collect();
        reader.fault(path, format!("is '{}'", head.escape_debug()), ALLOWED);
        return None;
    };
    if !bounds::YEAR.holds(f64::from(date.year())) {
        let years = bounds::YEAR.in_words();
        reader.fault(
            path,
            format!("is {date}"),
            format!("a date in a year {years}"),
        );
        return None;
    }
    Some(date)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn paths(document: &str) -> Vec<String> {
        let faults = answer(document.as_bytes()).unwrap_err();
        faults.into_iter().map(|fault| fault.path).collect()
    }

    #[test]
    fn every_fault_is_named() {
        assert_eq!(
            paths(r#"{"position": [200, "x"], "date": "21 June", "place": 1}"#),
            ["position[0]", "position[1]", "date", "place"]
        );
        assert_eq!(paths("{}"), ["position", "date"]);
        assert_eq!(paths("[]"), [""]);
        assert_eq!(
            paths(r#"{"position": [1], "date": "2026-06-21T12:00"}"#),
            ["position", "date"]
        );
        assert_eq!(
            paths(r#"{"position": [1, 2, 3], "date": "1066-10-14"}"#),
            ["position", "date"]
        );
        assert_eq!(
            paths(r#"{"position": [1, 89], "date": "2026-02-30"}"#),
            ["position[1]", "date"]
        );
    }

    #[test]
    fn instants_are_in_utc_and_words_where_there_are_none() {
        let answer = answer(br#"{"position": [14.5, 68.2], "date": "2026-12-21"}"#).unwrap();
        assert_eq!(answer["sunrise"], "never up");
        assert!(answer["civil_dawn"].as_str().unwrap().ends_with('Z'));
    }
}
