//! GPX in and out, against the published schema and against files that mean harm.

use serde_json::json;

use super::*;
use crate::sea::chart::{Chart, Kind, collection, drawn};

fn document(inner: &str) -> String {
    format!(
        "<?xml version=\"1.0\"?><gpx version=\"1.1\" creator=\"x\" xmlns=\"{NAMESPACE}\">{inner}</gpx>"
    )
}

fn ring(lon: f64, lat: f64, side: f64) -> serde_json::Value {
    // As many decimals as a file has, so that nothing is lost to rounding.
    let side = |from: f64| ((from + side) * 1e7).round() / 1e7;
    let (east, north) = (side(lon), side(lat));
    json!([
        [lon, lat],
        [east, lat],
        [east, north],
        [lon, north],
        [lon, lat]
    ])
}

fn chart() -> Chart {
    let polygon = |rings| json!({"type": "Polygon", "coordinates": rings});
    let feature = |kind: &str, name: &str, geometry| json!({"type": "Feature", "properties": {"kind": kind, "name": name}, "geometry": geometry});
    let document = json!({"type": "FeatureCollection", "features": [
        feature("keep-clear", "Reef <& \"Co\">", json!({"type": "MultiPolygon", "coordinates": [
            [ring(10.0, 5.0, 0.01), ring(10.002, 5.002, 0.002)], [ring(10.02, 5.0, 0.005)]]})),
        feature("pickup-zone", "North", polygon(json!([ring(10.0, 5.02, 0.005)]))),
        feature("mooring", "Old buoy", json!({"type": "Point", "coordinates": [10.0, 5.0]})),
        feature("shot-line", "Shot", json!({"type": "Point", "coordinates": [10.001, 5.0]})),
        feature("entry-point", "Entry", json!({"type": "Point", "coordinates": [10.0, 5.001]})),
    ]});
    Chart::from_geojson(document.to_string().as_bytes()).unwrap()
}

#[test]
fn what_is_written_reads_back_as_the_same_chart() {
    let chart = chart();
    let mut read = read(written("Site", &chart).as_bytes()).unwrap();
    // Waypoints come first in GPX.
    read.sort_by_key(|one| one.kind.map(|kind| kind as u8));
    assert_eq!(read, drawn(&chart));
    let document = collection(&read).to_string();
    assert_eq!(Chart::from_geojson(document.as_bytes()).unwrap(), chart);
}

/// The general-purpose reader of the georust project (crate gpx 0.10), which stops at an element it
/// does not know, reads what is written, with the same names, kinds, places and closed rings.
#[test]
fn another_reader_finds_the_same() {
    let chart = chart();
    let read = gpx::read(written("Site", &chart).as_bytes()).unwrap();
    assert_eq!(read.version, gpx::GpxVersion::Gpx11);
    assert_eq!(read.metadata.unwrap().name.as_deref(), Some("Site"));
    let places: Vec<_> = read
        .waypoints
        .iter()
        .map(|one| (one.name.as_deref().unwrap(), one.type_.as_deref().unwrap()))
        .collect();
    let told = [
        ("Old buoy", "mooring"),
        ("Shot", "shot-line"),
        ("Entry", "entry-point"),
    ];
    assert_eq!(places, told);
    let at = read.waypoints[1].point();
    assert_eq!((at.x(), at.y()), (10.001, 5.0));
    assert_eq!(read.tracks.len(), 3, "two reefs and a zone");
    assert_eq!(read.tracks[0].segments.len(), 2, "an outline and a hole");
    for segment in read.tracks.iter().flat_map(|track| &track.segments) {
        let ends = (segment.points.first(), segment.points.last());
        assert_eq!(ends.0.unwrap().point(), ends.1.unwrap().point(), "closed");
    }
}

/// Elements, order, attributes and types as the schema of GPX 1.1 has them
/// (topografix.com/GPX/1/1/gpx.xsd), put down from memory: `gpxType`, `metadataType`, `wptType`,
/// `trkType`, `trksegType`, `latitudeType`, `longitudeType`.
const SCHEMA: &[(&str, &[&str], &[&str])] = &[
    (
        "gpx",
        &["version", "creator", "xmlns"],
        &["metadata", "wpt", "rte", "trk", "extensions"],
    ),
    (
        "metadata",
        &[],
        &[
            "name",
            "desc",
            "author",
            "copyright",
            "link",
            "time",
            "keywords",
            "bounds",
            "extensions",
        ],
    ),
    (
        "wpt",
        &["lat", "lon"],
        &[
            "ele",
            "time",
            "magvar",
            "geoidheight",
            "name",
            "cmt",
            "desc",
            "src",
            "link",
            "sym",
            "type",
            "fix",
            "sat",
            "hdop",
            "vdop",
            "pdop",
            "ageofdgpsdata",
            "dgpsid",
            "extensions",
        ],
    ),
    (
        "trk",
        &[],
        &[
            "name",
            "cmt",
            "desc",
            "src",
            "link",
            "number",
            "type",
            "extensions",
            "trkseg",
        ],
    ),
    ("trkseg", &[], &["trkpt", "extensions"]),
    ("trkpt", &["lat", "lon"], &[]),
    ("name", &[], &[]),
    ("desc", &[], &[]),
    ("type", &[], &[]),
];
/// Elements that may stand there more than once.
const REPEATED: &[&str] = &["wpt", "trk", "trkseg", "trkpt"];

fn hold_to_schema(text: &str) {
    use quick_xml::events::Event;
    let mut reader = quick_xml::reader::Reader::from_str(text);
    let mut open: Vec<(String, usize, Option<String>)> = Vec::new();
    loop {
        match reader.read_event().unwrap() {
            Event::Start(tag) => {
                let name = tag.name().into_inner().to_owned();
                let (_, attributes, _) = SCHEMA
                    .iter()
                    .find(|(known, ..)| *known == name)
                    .unwrap_or_else(|| panic!("{name}"));
                let held: Vec<_> = tag.attributes().map(|a| a.unwrap()).collect();
                assert_eq!(held.len(), attributes.len(), "{name}");
                for attribute in held {
                    let (key, value) = (attribute.key.into_inner(), attribute.value.as_ref());
                    assert!(attributes.contains(&key), "{key} of {name}");
                    match key {
                        "lat" => assert!((-90.0..=90.0).contains(&value.parse::<f64>().unwrap())),
                        "lon" => assert!(
                            (-180.0..180.0).contains(&value.parse::<f64>().unwrap()),
                            "{value}"
                        ),
                        "version" => assert_eq!(value, "1.1"),
                        "xmlns" => assert_eq!(value, NAMESPACE),
                        _ => assert!(!value.is_empty()),
                    }
                }
                if let Some((parent, at, before)) = open.last_mut() {
                    let (_, _, order) = SCHEMA.iter().find(|(known, ..)| known == parent).unwrap();
                    let place = order
                        .iter()
                        .position(|one| *one == name)
                        .unwrap_or_else(|| panic!("{name} in {parent}"));
                    assert!(place >= *at, "{name} after {before:?} in {parent}");
                    if before.as_deref() == Some(&name) {
                        assert!(REPEATED.contains(&name.as_str()), "{name} twice");
                    }
                    (*at, *before) = (place, Some(name.clone()));
                } else {
                    assert_eq!(name, "gpx");
                }
                open.push((name, 0, None));
            }
            Event::End(_) => {
                open.pop();
            }
            Event::Text(text) => {
                let is_text = open
                    .last()
                    .is_some_and(|(name, ..)| ["name", "desc", "type"].contains(&name.as_str()));
                assert!(is_text || text.trim().is_empty(), "{}", &*text);
            }
            Event::Decl(_) | Event::GeneralRef(_) => {}
            Event::Eof => break,
            other @ (Event::Empty(_)
            | Event::CData(_)
            | Event::Comment(_)
            | Event::PI(_)
            | Event::DocType(_)) => panic!("{other:?}"),
        }
    }
    assert!(open.is_empty());
}

#[test]
fn what_is_written_holds_to_the_schema() {
    let text = written("Reef & \"wall\" <1>", &chart());
    hold_to_schema(&text);
    assert!(text.contains("Not for navigation"));
    hold_to_schema(&written("", &Chart::default()));
    // longitudeType ends below 180.
    let east = json!({"type": "FeatureCollection", "features": [{"type": "Feature",
        "properties": {"kind": "mooring", "name": "Edge"}, "geometry": {"type": "Point", "coordinates": [180.0, 5.0]}}]});
    hold_to_schema(&written(
        "x",
        &Chart::from_geojson(east.to_string().as_bytes()).unwrap(),
    ));
}

#[test]
fn kinds_of_others_are_left_open() {
    let read = read(document("<wpt lat=\"5\" lon=\"10\"><name>A &amp; B&#33;</name><type>Anchor</type></wpt>\
        <wpt lat=\"5\" lon=\"10\"><name><![CDATA[<C>]]></name><type>keep-clear</type></wpt>\
        <wpt lat=\"5\" lon=\"10\"><extensions><name>no</name></extensions><name>D</name><type> MOORING </type></wpt>").as_bytes()).unwrap();
    let told: Vec<_> = read
        .iter()
        .map(|one| (one.kind, one.name.as_str()))
        .collect();
    assert_eq!(
        told,
        [(None, "A & B!"), (None, "<C>"), (Some(Kind::Mooring), "D")]
    );
}

#[test]
fn what_means_harm_or_is_broken_is_refused_with_a_reason() {
    let many = "<trkpt lat=\"5\" lon=\"10\"/>".repeat(MOST_POINTS + 1);
    let deep = "<extensions>".repeat(200);
    let long = "x".repeat(5_000);
    for (text, why) in [
        (
            format!(
                "<!DOCTYPE gpx [<!ENTITY x SYSTEM \"file:///etc/hostname\">]>{}",
                document("<wpt lat=\"5\" lon=\"10\"><name>&x;</name></wpt>")
            ),
            "document type",
        ),
        (
            format!(
                "<!DOCTYPE gpx SYSTEM \"http://elsewhere.test/gpx.dtd\">{}",
                document("")
            ),
            "document type",
        ),
        (
            document("<wpt lat=\"5\" lon=\"10\"><name>&lol9;</name></wpt>"),
            "entity",
        ),
        (
            document(&format!("<trk><trkseg>{many}</trkseg></trk>")),
            "10000 points",
        ),
        (document(&deep), "nested too deep"),
        (
            document(&format!(
                "<wpt lat=\"5\" lon=\"10\"><name>{long}</name></wpt>"
            )),
            "too long",
        ),
        (document("<wpt lat=\"103\" lon=\"5\"/>"), "swapped"),
        (document("<wpt lat=\"90\" lon=\"170\"/>"), "90 is not"),
        (document("<wpt lat=\"NaN\" lon=\"5\"/>"), "NaN is not"),
        (document("<wpt lat=\"5\"/>"), "no latitude and longitude"),
        (
            document(
                "<rte><rtept lat=\"5\" lon=\"5\"/><rtept lat=\"5\" lon=\"6\"/><rtept lat=\"6\" lon=\"5\"/></rte>",
            ),
            "not closed",
        ),
        (document("<trk><name>T</name></trk>"), "no points"),
        (document(""), "no waypoint"),
        (document("<wpt lat=\"5\" lon=\"10\"></rte>"), "well formed"),
        (
            document("<wpt lat=\"5\" lon=\"10\"/>").replace("</gpx>", ""),
            "ends too early",
        ),
        (
            document("<wpt lat=\"5\" lon=\"10\"/>").replace("version=\"1.1\"", "version=\"1.0\""),
            "'1.0'",
        ),
        (
            document("<wpt lat=\"5\" lon=\"10\"/>").replace("GPX/1/1", "GPX/1/0"),
            "namespace",
        ),
        ("<kml/>".to_owned(), "not GPX"),
        (String::new(), "ends too early"),
    ] {
        let faults = read(text.as_bytes()).unwrap_err();
        assert!(faults.to_string().contains(why), "{why}: {faults}");
    }
    assert!(read(b"\xff\xfe").is_err());
}

proptest::proptest! {
    #[test]
    fn nothing_makes_it_stumble(inner in "[<>/a-z&;\"= !\\[\\]]{0,60}") {
        // Whatever comes: an answer.
        let answer = read(document(&inner).as_bytes());
        proptest::prop_assert!(answer.is_ok() || answer.is_err());
    }
}
