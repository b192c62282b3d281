//! Sunrise, sunset and civil twilight.

use deckwatch::sea::daylight::wire;
use jiff::Timestamp;
use serde_json::json;

use crate::table::rows;

/// `sun_times.csv`: generated with the astronomy library `PyEphem` 4.2.1 (VSOP87), held against
/// the NOAA algorithm of Astral 3.2 by its maker. Tolerance 60 s, 2 min above 60 degrees, where
/// the sun crosses the horizon at a slant and small differences of height are long ones of time.
#[test]
fn the_sun_keeps_the_times_of_an_astronomy_library() {
    for row in rows("sun_times.csv") {
        let document = json!({
            "position": [row.number("lon_deg"), row.number("lat_deg")],
            "date": row.text("date"),
        });
        let answer = wire::answer(document.to_string().as_bytes()).unwrap();
        let tolerance_s = if row.number("lat_deg").abs() > 60.0 {
            120
        } else {
            60
        };
        for (column, field) in [
            ("sunrise_utc", "sunrise"),
            ("sunset_utc", "sunset"),
            ("civil_dawn_utc", "civil_dawn"),
            ("civil_dusk_utc", "civil_dusk"),
        ] {
            let (theirs, ours) = (row.text(column), answer[field].as_str().unwrap());
            let case = format!("{} {} {field}", row.text("place"), row.text("date"));
            match theirs.parse::<Timestamp>() {
                Ok(theirs) => {
                    let ours: Timestamp = ours.parse().unwrap();
                    let off_s = ours.duration_since(theirs).as_secs().abs();
                    assert!(
                        off_s <= tolerance_s,
                        "{case}: {ours} is {off_s} s from {theirs}"
                    );
                }
                Err(_) => assert_eq!(ours, theirs, "{case}"),
            }
        }
    }
}

/// Almanac for Computers 1990 (U.S. Naval Observatory), worked example: Wayne NJ, 40.9 N
/// 74.3 W, 25 June 1990, sunrise 09:26 UT. The case was read, the result is from memory.
#[test]
fn the_sun_rises_as_the_almanac_works_it_out() {
    let answer = wire::answer(br#"{"position": [-74.3, 40.9], "date": "1990-06-25"}"#).unwrap();
    let ours: Timestamp = answer["sunrise"].as_str().unwrap().parse().unwrap();
    let theirs: Timestamp = "1990-06-25T09:26:00Z".parse().unwrap();
    assert!(ours.duration_since(theirs).as_secs().abs() <= 60, "{ours}");
}
