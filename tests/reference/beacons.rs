//! Sentences of receivers and locator beacons from outside: public examples, sample files, and
//! messages generated with pyais 3.3.1. Each row says what it holds.

use deckwatch::instruments::{Refused, Report, Said, read, report};
use deckwatch::trip::event::BeaconSort;
use jiff::Timestamp;

use crate::table::{Row, rows};

fn at(time: &str) -> Timestamp {
    time.parse().unwrap()
}

/// A clock under which a row is of today.
fn clock_of(sentence: &str) -> Timestamp {
    // T. Igoe's example is of 20 April 2007; the others say no date, or have no fix.
    if sentence.contains("200407") {
        at("2007-04-20T16:00:00Z")
    } else {
        at("2026-06-01T10:00:00Z")
    }
}

/// `lon -123.395383` out of a row's content.
fn figure(row: &Row, name: &str) -> Option<f64> {
    let content = row.text("content");
    let (_, after) = content.split_once(&format!("{name} "))?;
    let text: String = after
        .chars()
        .take_while(|c| c.is_ascii_digit() || matches!(c, '-' | '.'))
        .collect();
    Some(
        text.parse()
            .unwrap_or_else(|_| panic!("{name} in '{content}'")),
    )
}

/// The message of an AIS row, by the third last field and the last before the checksum.
fn message(sentence: &str) -> Report {
    let fields: Vec<&str> = sentence.split(',').collect();
    let fill = fields[6].split('*').next().unwrap();
    report(fields[5], fill.parse().unwrap()).expect(sentence)
}

#[test]
fn checksums_hold_where_the_source_is_right_and_not_where_it_is_wrong() {
    for row in rows("nmea_ais_sentences.csv") {
        let sentence = row.text("sentence");
        let sound = row.text("checksum_ok") == "yes";
        let refused = read(sentence.as_bytes(), clock_of(sentence)).err();
        assert_eq!(
            refused == Some(Refused::Checksum),
            !sound,
            "{sentence}: {refused:?}"
        );
    }
}

#[test]
fn positions_of_receivers_are_read_and_one_without_a_fix_is_not() {
    // By hand from the sentences: whole degrees and minutes over sixty.
    let expected = [
        (
            "$GPGGA,092750",
            Some([-(6.0 + 30.3372 / 60.0), 53.0 + 21.6802 / 60.0]),
        ),
        (
            "$GPRMC,155123",
            Some([-(73.0 + 59.7653 / 60.0), 40.0 + 43.8432 / 60.0]),
        ),
        ("$GPRMC,000004,V", None),
        (
            "$GPGGA,045104",
            Some([-(97.0 + 49.2873 / 60.0), 30.0 + 14.1985 / 60.0]),
        ),
    ];
    for (start, place) in expected {
        let row = rows("nmea_ais_sentences.csv");
        let row = row
            .iter()
            .find(|row| row.text("sentence").starts_with(start));
        let sentence = row.expect(start).text("sentence").to_owned();
        let said = read(sentence.as_bytes(), clock_of(&sentence));
        match (place, said) {
            (Some([lon, lat]), Ok(Said::Fixed(fixed))) => {
                assert!((fixed.position.lon_deg() - lon).abs() < 1e-9, "{sentence}");
                assert!((fixed.position.lat_deg() - lat).abs() < 1e-9, "{sentence}");
            }
            (None, Err(Refused::NoFix)) => {}
            (_, other) => panic!("{sentence}: {other:?}"),
        }
    }
    // The same sentence nineteen years later.
    let old = b"$GPRMC,155123.000,A,4043.8432,N,07359.7653,W,0.15,83.25,200407,,*28";
    let said = read(old, at("2026-06-01T10:00:00Z"));
    let expected = at("2007-04-20T15:51:23Z");
    assert_eq!(said, Err(Refused::DateOff { said: expected }));
}

/// Longitude and latitude come in a ten-thousandth of a minute: compared to 1e-5 degrees.
#[test]
fn every_message_says_what_the_row_says() {
    let mut messages = 0;
    for row in rows("nmea_ais_sentences.csv") {
        let sentence = row.text("sentence");
        if !sentence.starts_with("!AIVDM") {
            continue;
        }
        messages += 1;
        let message = message(sentence);
        let is = |ours: f64, name| (ours - figure(&row, name).unwrap()).abs() < 0.5;
        assert!(is(message.message.into(), "AIS message"), "{sentence}");
        assert!(is(message.identity.into(), "MMSI"), "{sentence}");
        if let Some(status) = figure(&row, ", status") {
            assert_eq!(message.status.map(f64::from), Some(status), "{sentence}");
        }
        if let (Some(lon), Some(lat)) = (figure(&row, "lon"), figure(&row, "lat")) {
            let [ours_lon, ours_lat] = message.place.expect(sentence);
            assert!((ours_lon - lon).abs() < 1e-5, "{ours_lon}, not {lon}");
            assert!((ours_lat - lat).abs() < 1e-5, "{ours_lat}, not {lat}");
        }
        if let Some(second) = figure(&row, "second") {
            assert_eq!(message.second.map(f64::from), Some(second), "{sentence}");
        }
        if let Some((_, text)) = row.text("content").split_once("text ") {
            assert_eq!(message.text.as_deref(), Some(text), "{sentence}");
        }
    }
    assert_eq!(messages, 10, "rows of AIS");
}

/// `ais_devices.csv`: identities after ITU-R M.585, status and texts after ITU-R M.1371-5; that a
/// test has status 15 is from memory there.
#[test]
fn locator_beacons_are_told_from_ships_and_tests_from_earnest() {
    let prefixes: Vec<String> = rows("ais_devices.csv")
        .iter()
        .filter(|row| row.text("topic") == "MMSI prefix" && row.text("value").starts_with("97"))
        .map(|row| row.text("value").to_owned())
        .collect();
    assert_eq!(prefixes, ["970", "972", "974"]);
    let (mut beacons, mut tests) = (0, 0);
    for row in rows("nmea_ais_sentences.csv") {
        let sentence = row.text("sentence");
        if !sentence.starts_with("!AIVDM") {
            continue;
        }
        let content = row.text("content");
        let said = read(sentence.as_bytes(), at("2026-06-01T10:00:00Z")).unwrap();
        let Said::Beacon(burst) = said else {
            assert!(!content.contains("MMSI 97"), "{sentence}");
            continue;
        };
        assert!(prefixes.contains(&burst.identity[..3].to_owned()));
        beacons += 1;
        let in_test = content.contains("test:") || content.contains("TEST");
        assert_eq!(burst.test, in_test, "{content}");
        tests += u32::from(in_test);
        let sort = match &burst.identity[..3] {
            "970" => BeaconSort::Locator,
            "972" => BeaconSort::Person,
            _ => BeaconSort::Epirb,
        };
        assert_eq!(burst.sort, sort);
    }
    assert_eq!((beacons, tests), (7, 2), "rows of beacons, and of tests");
}
